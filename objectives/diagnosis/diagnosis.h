/// What is in the box, from what the meter read: the probability of every fault beside "only scatter", what
/// tubes and parts are, each reading against what the others say, and what to read next.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "objectives/diagnosis/expectation.h"
#include "objectives/diagnosis/posterior.h"

namespace antiphase {

/// Share of boxes on a bench that have a fault. Common practice (no published source): somebody who takes
/// readings because something seems wrong is right as often as not.
inline constexpr double kFaultShare = 0.5;
/// Share of those that have two at once, where pairs are asked for (common practice).
inline constexpr double kPairShare = 0.1;

struct DiagnosisAsk {
  double meter_ohm = 10e6;
  double fault_share = kFaultShare;
  bool pairs = false;
  std::vector<BenchReading> more;  ///< readings beside the direct ones, by whose places they may be taken
  int draws = 3000;                ///< of the posterior, all faults together
  std::uint64_t seed = 1;
};

struct FaultTold {
  std::size_t fault = 0;  ///< in Diagnosis::faults
  double probability = 0, before = 0;
  /// True if the readings say neither for nor against it beside "only scatter".
  bool unseen = false;
  std::array<double, 2> size{};  ///< most probable sizes
  // How good the figure is, over the tubes' laws: even draws and worst Pareto k; 0 draws: by Laplace alone.
  int draws = 0;
  double effective = 0, tail = 0;
};

struct Diagnosis {
  bool known = false;  ///< false: the design itself has no rest point
  /// False: not even the most probable fault gives these readings, with tubes and parts that could be; then
  /// the probabilities compare what is all wrong.
  bool explained = false;
  std::vector<BenchReading> readings;
  Shown drawn_v{};              ///< what the meter shows at each in the design as drawn
  std::vector<Fault> faults;    ///< all that were weighed
  std::vector<FaultTold> told;  ///< those with a chance, the most probable first; "only scatter" among them
  std::vector<ReadingTold> taken;
  std::vector<Quantity> quantities;
  std::vector<QuantityTold> quantity;
  std::vector<NextTold> next;  ///< readings not taken yet, the most telling first
  std::vector<PosteriorDraw> draws;
  double doubt_bits = 0;  ///< of which fault it is, entropy of `told`
  /// The first faults that together have nine tenths.
  std::size_t first_set = 0;
  double probability(std::string_view fault) const;
};

/// The work in numbered pieces, which may run on any threads; steps one after another: screen all, then
/// `choose`, then draw all, then finish. Answers depend on the seed, never on threads.
class Diagnosing {
 public:
  Diagnosing(const Design&, const Tolerances&, const Taken&, const DiagnosisAsk&);
  ~Diagnosing();
  Diagnosing(const Diagnosing&) = delete;
  Diagnosing& operator=(const Diagnosing&) = delete;

  int screenings() const;
  void screen(int piece);
  void choose();
  int drawings() const;
  void draw(int piece);
  Diagnosis finish();

  const BenchModel& model(int law) const;
  int laws() const;

 private:
  struct Parts;
  std::unique_ptr<Parts> p_;
};

/// All at once, on one thread. Cost: some 0.1 to 0.5 s with single faults; allocates.
Diagnosis diagnose(const Design&, const Tolerances&, const Taken&, const DiagnosisAsk&);

}  // namespace antiphase
