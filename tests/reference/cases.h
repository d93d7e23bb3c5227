/// Random designs with everything that both sides say about them.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "stagemodels/evaluate.h"
#include "tests/reference/analyses.h"
#include "tests/reference/comparison.h"

namespace antiphase::reference {

/// Steps of the half cycle on the independent side when it stands for the truth: more than the solver uses.
inline constexpr int kFineSteps = 64;

struct Case {
  std::string name;
  Design design;
  Rest rest;                ///< independent
  Evaluation evaluation;    ///< the solver's, Depth::everything
  double input_peak_v = 0;  ///< drive of all states
  Figures solver;
  Figures independent;     ///< its state at the solver's own instants
  Figures fine;            ///< its state at kFineSteps
  double kirchhoff_a = 0;  ///< left over by the independent side

  /// Of the stage that drives the outputs.
  std::size_t sections() const { return is_split_load(design) ? 1 : outputs(); }
  std::size_t outputs() const { return design.circuit != CircuitKind::common_cathode ? 2 : 1; }
  /// No section below the cut-off limit of the clean swing (1 % of its rest current) at any instant.
  bool conducts_all_the_time() const;
  /// Some grid above its card's conduction voltage at some instant.
  bool grid_conducts() const;
};

/// True if the library finds a rest point at which every section works; fills `rest`.
bool works_at_rest(const Design& design, Rest& rest);

/// The solver's figures, with its drive for the target swing; where it says that the target is out
/// of reach, a share of the grid bias is the drive.
void solve(Case& c);

/// All independent figures at the case's drive. Throws CircuitError if the library finds nothing.
void solve_independently(Case& c);
/// The cycles alone: no small signal, no frequencies.
void solve_cycles(Case& c);

struct Independent {
  Figures figures;
  SteadyState fine;        ///< the same drive at kFineSteps
  double kirchhoff_a = 0;  ///< largest current sum left over
};
/// The independent figures of one design (such as a changed one).
Independent independent_figures(const Design& design, double input_peak_v, int steps);

/// Steps of the half cycle that the solver uses.
int solver_steps(const Design& design, double input_peak_v);

struct Cases {
  std::vector<Case> all;  ///< with name, design and rest
  int rejected = 0;       ///< drawn, but not working at rest
};

/// `each` pairs for each of the six bias and tail forms.
Cases draw_pairs(std::uint64_t seed, int each);
/// Gain stages, their cathodes bypassed in all three ways.
Cases draw_gain_stages(std::uint64_t seed, int count);

/// `each` chains for each bias and tail form of the pair, the first cathodes bypassed in turn.
Cases draw_chains(std::uint64_t seed, int each);

/// `each` split-load splitters for each way to hold the grid.
Cases draw_split_loads(std::uint64_t seed, int each);
/// The same behind gain stages, the first cathodes bypassed in turn.
Cases draw_split_load_chains(std::uint64_t seed, int each);

/// `each` paraphases for each way to bypass the common cathode resistor.
Cases draw_paraphases(std::uint64_t seed, int each, bool floating, bool behind_first_stage);

/// `each` pairs and as many split loads with followers behind them.
Cases draw_followers(std::uint64_t seed, int each);

/// The netlist, for messages.
std::string drawing_text(const Case& c);

}  // namespace antiphase::reference
