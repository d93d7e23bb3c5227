/// Boxes as they come off the bench in simulation: a design, tubes, parts and mains drawn from the stated
/// scatter, a fault in some, and what a meter with its own error reads.
#pragma once

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <string>
#include <vector>

#include "configs/read_design.h"
#include "objectives/diagnosis/diagnosis.h"
#include "optimize/engine/random_numbers.h"
#include "optimize/engine/sampling/statistics.h"
#include "tests/support/shipped.h"

namespace antiphase::testing {

/// The designs that the project ships, by name of file; not those with an output stage, which no reading of a
/// front end touches, and whose front ends stand here already.
inline std::vector<Design> shipped_designs() {
  std::vector<std::string> files;
  for (const auto& entry : std::filesystem::directory_iterator(ANTIPHASE_SOURCE "/configs/designs"))
    if (entry.path().extension() == ".json") files.push_back(entry.path().string());
  std::sort(files.begin(), files.end());
  std::vector<Design> designs;
  for (const std::string& file : files) {
    const auto read = read_design(file, shipped());
    if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
    if (const auto& design = std::get<Design>(read); !has_output_stage(design)) designs.push_back(design);
  }
  return designs;
}

/// One of them, by the name of its file without its ending.
inline Design shipped_design(const std::string& name) {
  const auto read = read_design(ANTIPHASE_SOURCE "/configs/designs/" + name + ".json", shipped());
  if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
  return std::get<Design>(read);
}

struct Box {
  std::size_t fault = 0;
  int law = 0;
  Deviates z{};
  BenchPoint truth;
  Taken taken;
  double most_moved = 0;  ///< by the fault, in standard deviations of the meter, beside the same box without
  bool known = false;
};

/// `models`: one for each law. wanted: the readings that are taken.
inline Box draw_box(const std::vector<BenchModel>& models, const std::vector<Fault>& faults,
                    double fault_share, unsigned wanted, std::uint64_t seed) {
  engine::RandomNumbers random(seed);
  const auto deviate = [&] {
    double u = random.unit();
    while (!(u > 0)) u = random.unit();
    return engine::normal_quantile(u);
  };
  Box box;
  box.law = random.below(static_cast<int>(models.size()));
  const BenchModel& model = models[static_cast<std::size_t>(box.law)];
  if (random.unit() < fault_share) {
    double all = 0;
    for (const Fault& f : faults) all += f.rate;
    double place = random.unit() * all;
    for (std::size_t k = 1; k < faults.size(); ++k) {
      box.fault = k;
      place -= faults[k].rate;
      if (place < 0) break;
    }
  }
  const Fault& fault = faults[box.fault];
  for (int u = 0; u < model.unknowns(fault); ++u) box.z[static_cast<std::size_t>(u)] = deviate();
  const unsigned everything = (1u << model.readings().size()) - 1;
  if (!model.read(fault, box.z, false, everything, box.truth)) return box;
  BenchPoint sound;
  if (!model.read(faults[0], box.z, false, everything, sound)) return box;
  box.known = true;
  box.taken.wanted = wanted;
  for (std::size_t k = 0; k < model.readings().size(); ++k) {
    const double deviation_v = meter_deviation_v(box.truth.shown[k], kMeterAccuracy_pct, 0.1);
    box.taken.volts[k] = box.truth.shown[k] + deviation_v * deviate();
    box.taken.deviation_v[k] = meter_deviation_v(box.taken.volts[k], kMeterAccuracy_pct, 0.1);
    if (box.taken.has(k))
      box.most_moved = std::max(box.most_moved, std::abs(box.truth.shown[k] - sound.shown[k]) / deviation_v);
  }
  return box;
}

}  // namespace antiphase::testing
