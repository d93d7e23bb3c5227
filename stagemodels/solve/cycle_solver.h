/// One circuit in one kind of surroundings, as the analyses see it: its equations can be solved, followed and
/// described. All that depends on the circuit is behind this interface (circuits/list_solver.h).
#pragma once

#include <cstddef>

#include "stagemodels/circuits/circuit.h"
#include "stagemodels/evaluation.h"
#include "stagemodels/solve/cycle.h"

namespace antiphase {

enum class NewtonEnd { settled, step_limit, singular };

/// The equations at rest, linearised: amperes into each row per volt of each unknown node, and per volt of
/// the source (the first `nodes` rows and columns count).
struct LinearisedCycle {
  static constexpr int kMost = CycleState::kMostNodes;
  int nodes = 0;
  double by_node[kMost][kMost], by_source[kMost];
};

using SectionCurrents = std::array<TriodeCurrents, Circuit::kMostSections>;

class CycleSolver {
 public:
  /// Improves `state` until it satisfies the circuit and the drive condition; see bordered_newton.h.
  virtual NewtonEnd solve(const Instants&, const DriveCondition&, CycleState& state, int& steps) = 0;
  /// Moves `state` along the tangent of the last solve, for a change of its drive condition's value.
  /// Allowed: right after a settled solve.
  virtual void predict(const Instants&, double change, CycleState& state) const = 0;
  /// How much the drive moves along that tangent for a change of 1.
  virtual double drive_per_change() const = 0;
  /// Holds the voltage from grid to cathode of a section, by its number, at an instant.
  virtual DriveCondition grid_to_cathode_at(int section, int instant, double wanted_v) const = 0;
  /// Voltages and currents at every instant.
  virtual void describe(const Instants&, const CycleState& state, Waveforms& out) const = 0;
  /// The same of the sections and outputs alone: no tail, no screen, no sum of what a first stage takes.
  virtual void describe_sections(const Instants&, const CycleState& state, Waveforms& out) const = 0;
  /// `at_rest`: the currents of each section of the circuit, by its number (Element::section).
  virtual void linearise(const SectionCurrents& at_rest, LinearisedCycle& out) const = 0;

  /// A start for the rest point; false if no current fits. `exactly`: by the general solver of the list,
  /// which always ends at the rest point and takes ten times as long.
  virtual bool start_rest(bool exactly, CycleState& rest) const = 0;
  /// Where the output stage's grid leaks end, at rest.
  virtual double leak_foot_v(const CycleState& rest) const = 0;
  /// What the resistors at the driven grid take per volt there at mid-band, given the signal of the solved
  /// nodes per volt of the source; what lies towards the source left out.
  virtual double leak_siemens(const std::array<double, CycleState::kMostNodes>& signal) const = 0;
  /// Conductance of what hangs on an output.
  virtual double load_siemens(int output) const = 0;

  struct Form {
    int nodes = 0, still = 0, sections = 0, outputs = 0;  ///< sections: of the output stage
    int instants = 0;                                     ///< of a cycle
    bool first_stage = false, driver = false;
    std::array<bool, Circuit::kMostSections> has{};  ///< which sections, by their numbers
    std::array<int, 2> output_row{};                 ///< of x
    std::array<double, 2> sign{};                    ///< of the gain of each output
    int driven_section = 0;                          ///< 0, or 2 if there is a first stage
    int driven_grid_row = -1;     ///< of x; -1: the source itself, or behind a capacitor only
    int driven_cathode_row = -1;  ///< of x; -1: it stands still
    int first_output_row = -1;    ///< of x: where the first stage gives out
  };
  const Form& form() const { return form_; }

 protected:
  ~CycleSolver() = default;  // lives in a SolverRoom, which has nothing to give back
  Form form_;
};

/// Room for the solver of any circuit, so that none has to be allocated.
struct SolverRoom {
  static constexpr std::size_t kBytes = 64 * 1024;
  alignas(64) std::byte bytes[kBytes];
};

}  // namespace antiphase
