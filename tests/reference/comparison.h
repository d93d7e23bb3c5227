/// Two sets of figures of one design, side by side: what is compared and how close it must be.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"

namespace antiphase::reference {

/// The figures of one design, from the solver or from the independent library.
struct Figures {
  OperatingPoint rest;
  SmallSignal small_signal;
  SteadyState state;  ///< at one drive, the same in both
  FrequencyFigures frequency;
};

/// Allowed difference: the larger of the two.
struct Tolerance {
  double absolute = 0;
  double relative = 0;  ///< of the independent figure
};

/// How close two figures must be.
enum class Closeness {
  promised,        ///< what the solver promises against the truth (fine instants on the other side)
  same_equations,  ///< both sides solve the same equations at the same instants: solver errors only
};

struct Quantity {
  const char* name;
  Tolerance promised, same_equations;
  bool pair_only;
  /// One number or one per section (and harmonic).
  std::vector<double> (*of)(const Figures&, std::size_t sections);
};

/// One line per kind of figure.
const std::vector<Quantity>& quantities();

/// The worst case of each quantity over many designs.
class Tally {
 public:
  explicit Tally(Closeness closeness);

  /// Compares and keeps the worst. Returns what lies outside its tolerance, one line each; empty if nothing.
  std::string compare(const std::string& design_name, CircuitKind circuit, const Figures& solver,
                      const Figures& independent);

  /// One line per quantity whose name starts so: worst difference, what was allowed, where.
  std::string table(std::string_view only = "") const;

 private:
  Closeness closeness_;
  struct Worst {
    double share = -1;  ///< of the allowed difference
    double solver = 0, independent = 0, allowed = 0;
    std::string design_name;
    long compared = 0;
  };
  std::vector<Worst> worst_;
};

}  // namespace antiphase::reference
