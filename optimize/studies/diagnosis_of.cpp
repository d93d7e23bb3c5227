#include "optimize/studies/diagnosis_of.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "optimize/engine/run_tasks.h"

namespace antiphase {

namespace {

/// What a generator and a meter could read beside direct voltages: each output at 1 kHz, at a tenth of the
/// swing that it is made for.
std::vector<BenchReading> signals_to_take(const Design& design, const Tolerances& tolerances,
                                          double meter_ohm) {
  constexpr double kShare = 0.1, kHz = 1e3;
  std::vector<BenchReading> all;
  for (int i = 0; i < circuit_of(design).outputs; ++i) {
    BenchReading r = signal_reading(design, i, kHz, 1, 0);
    const BenchModel model(design, tolerances, 0, meter_ohm, {&r, 1});
    BenchPoint point;
    const std::size_t last = model.readings().size() - 1;
    if (!model.read({}, {}, false, 1u << last, point) || !(point.shown[last] > 0)) continue;
    const double exact_v = kShare * design.swing_peak_v / std::numbers::sqrt2 / point.shown[last];
    const double decade = std::pow(10, std::floor(std::log10(exact_v)));
    r.input_v = std::max(1.0, std::round(exact_v / decade)) * decade;
    all.push_back(r);
  }
  return all;
}

bool is_there(const BenchReading& r, const std::vector<BenchReading>& list) {
  return std::any_of(list.begin(), list.end(), [&](const BenchReading& other) {
    return other.name == r.name && other.hz == r.hz && other.load_ohm == r.load_ohm;
  });
}

}  // namespace

DiagnosisReport diagnosis_of(const Design& design, const Tolerances& tolerances, MeterFile file,
                             const ReadingsAsk& ask) {
  if (!file.accuracy_pct) file.accuracy_pct = ask.accuracy_pct;
  DiagnosisReport report;
  report.design = design;
  report.tolerances = tolerances;
  report.pairs = ask.pairs;
  report.meter_ohm = file.meter_ohm.value_or(ask.meter_ohm);
  report.accuracy_pct = *file.accuracy_pct;
  DiagnosisAsk of_work;
  of_work.meter_ohm = report.meter_ohm;
  of_work.pairs = ask.pairs;
  of_work.draws = ask.draws;
  of_work.seed = ask.seed;
  of_work.more = file.more;
  for (const BenchReading& r : signals_to_take(design, tolerances, report.meter_ohm))
    if (of_work.more.size() + bench_readings(design).size() < kMostBenchReadings && !is_there(r, file.more))
      of_work.more.push_back(r);
  Diagnosing work(design, tolerances, taken_of(file, design), of_work);
  engine::run_tasks(work.screenings(), ask.threads, [&](int piece) { work.screen(piece); });
  work.choose();
  engine::run_tasks(work.drawings(), ask.threads, [&](int piece) { work.draw(piece); });
  report.diagnosis = work.finish();
  report.change = what_to_change(design, work, report.diagnosis);
  return report;
}

}  // namespace antiphase
