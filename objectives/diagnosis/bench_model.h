/// A design on the bench: what the meter shows when tubes, parts and mains lie so and so within their scatter
/// and a fault is, or is not, in the box. The meter's own resistance is part of the circuit that is solved.
///
/// The unknowns are standard normal deviates, one for each thing that scatters (as BuildModel has it) and one
/// for each size of the fault: a share of the distribution below, turned into a normal deviate. So the prior
/// of every unknown is exactly the standard normal, whatever the scatter's shape, and the scatter exactly
/// what is stated.
#pragma once

#include <array>
#include <optional>
#include <span>
#include <vector>

#include "objectives/builds/build_model.h"
#include "objectives/diagnosis/bench_readings.h"
#include "objectives/diagnosis/faults.h"

namespace antiphase {

inline constexpr int kMostUnknowns = 40;
using Deviates = std::array<double, kMostUnknowns>;
using Shown = std::array<double, kMostBenchReadings>;

/// What a card's law may be off in plate current at the voltages of a stage's rest, as a standard deviation
/// of the natural logarithm: of all tubes of the type alike. Printed currents of 36 resistance-coupled stages
/// (Philips ECC83, 1970; ECC82, 1959) lie 0.26, 0.28, 0.14 and 0.10 rms from what the cards' credible laws
/// say at the voltages that follow from them; the laws being unknowns of their own, each is left with this.
inline constexpr double kLawOff = 0.15;

/// One state of the bench.
struct BenchPoint {
  NodeVolts volts{};  ///< without the meter
  Shown shown{};      ///< what it shows at each reading of the model's list, V; of signals, V rms
};

/// By how much each reading moves with each unknown, V a deviation.
using Moves = std::array<std::array<double, kMostUnknowns>, kMostBenchReadings>;

class BenchModel {
 public:
  /// meter_ohm: of the meter, > 0. law: which credible law of its tubes the design is solved with. more:
  /// readings beside the direct ones (signals, the mains), with which there are at most kMostBenchReadings.
  /// The tubes must outlive this. Cost: one rest point; allocates.
  BenchModel(const Design& design, const Tolerances& tolerances, int law, double meter_ohm,
             std::span<const BenchReading> more = {});

  const std::vector<BenchReading>& readings() const { return readings_; }
  /// A bit for each of them.
  unsigned everything() const { return (1u << readings_.size()) - 1; }
  /// Those things of BuildModel that direct voltages hang on; their unknowns stand first. Then one for each
  /// type of tube: how far its law is off.
  std::span<const Varied> varied() const { return varied_; }
  int scattered() const { return static_cast<int>(varied_.size() + laws_.size()); }
  /// True if the unknown lies evenly between two ends.
  bool even(std::size_t unknown) const;
  int unknowns(const Fault& f) const { return scattered() + f.magnitudes; }
  const Design& nominal() const { return model_.nominal(); }

  /// The build with these deviates, with what the fault does to its tubes.
  Design build(const Fault&, const Deviates&) const;
  /// Size m of the fault: times, ohm.
  static double size_of(const Fault&, int m, double deviate);

  /// Solves the bench and reads every reading of which `wanted` has the bit; near: `point` holds voltages
  /// from near by to begin with. @return false: no rest point. Cost: 10 to 40 us; allocates nothing. Threads:
  /// safe.
  bool read(const Fault&, const Deviates&, bool near, unsigned wanted, BenchPoint& point) const;

  /// The same, and by how much the readings move. Cost: some 3 us an unknown more.
  bool read_with_moves(const Fault&, const Deviates&, bool near, unsigned wanted, BenchPoint& point,
                       Moves& moves) const;

 private:
  struct Altered;
  struct Stand;
  bool move_sizes(const Fault&, const Deviates&, unsigned wanted, const BenchPoint&, Moves&) const;
  static void scale_current(Design&, unsigned sections, double times);
  Design with(const Fault&, std::span<const double> deviation, const Deviates&) const;
  std::optional<double> shown_beside(const Altered&, const Design&, const NodeVolts& rest,
                                     const BenchReading&) const;
  double mains_share(const Design&) const;
  void deviations(const Deviates&, std::span<double> all) const;
  double deviation(std::size_t unknown, double deviate) const;

  BuildModel model_;
  std::vector<std::size_t> place_;  ///< of each unknown among all that BuildModel varies
  std::vector<Varied> varied_;
  std::vector<unsigned> laws_;  ///< of each type: the sections that have it, a bit for each
  std::vector<BenchReading> readings_;
  double meter_ohm_;
};

}  // namespace antiphase
