/// The bridge: a space of designs and what is asked of them, as problems that the engine can search. The
/// families of each circuit (circuit_problem.h) are a group of the engine's, side by side.
#pragma once

#include <array>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "objectives/circuit_problem.h"
#include "stagemodels/circuits/catalogue.h"

namespace antiphase {

/// A brief's own demands, its low frequency among them: what every build is held to. Ranges of solved
/// quantities are not, which count for the design as drawn.
Demands with_low_frequency(const DesignSpace&, Demands);

class DesignProblem {
 public:
  /// Copies both; the tubes they point to must outlive this. Ranges of solved quantities (as far as a circuit
  /// has them: share of the tail, plate currents, ratio of the plate resistors; behind a main supply, the
  /// stage's own) become limits on the solved figures, and so does the low frequency.
  DesignProblem(DesignSpace space, Demands demands);
  DesignProblem(const DesignProblem&) = delete;  // the families' judges point here
  DesignProblem& operator=(const DesignProblem&) = delete;

  const std::vector<engine::Family>& families() const { return families_; }
  const DesignSpace& space() const { return space_; }  ///< of all circuits, as it was asked for
  /// With the limits that come from the space, each for the circuits that are held to it.
  const Demands& demands() const { return demands_; }
  Depth depth() const;  ///< how far a judgement solves, of the circuit for which that is farthest

  /// What is given in every design of a circuit. Allowed: one of the space.
  const Design& given(CircuitKind kind) const { return of(kind).space().given; }

  /// The design at a lattice point of a family.
  Design design_at(int family, std::span<const double> parts_x) const;

  /// The members of a design that the axes of a family's lattice set, in the order of the axes.
  std::span<const DesignField* const> part_fields(int family) const;

  /// The lattice point that gives such a design, judged as yet by nobody; empty if there is none.
  std::optional<engine::Point> lattice_point(const Design& design) const;

  /// The design with the capacitors that the low frequency asks for and that are not given; as it is without
  /// such a demand or without a rest point. Judgements do the same where capacitors have a say in them.
  /// Designs here and below are of a circuit of the space.
  Design with_capacitors(Design design) const { return of(design.circuit).with_capacitors(design); }

  /// Limits that what is given breaks in every family, and that no axis moves: whatever is chosen stands
  /// outside them. demands() takes them as given: their rows turn no design away. One row a limit, that of
  /// the first section that breaks it.
  const std::vector<LimitResult>& outside_as_given() const { return outside_as_given_; }

  /// Families that were left out, and why, in words.
  const std::vector<std::string>& left_out() const { return left_out_; }

  /// Judges one design: solves it as far as needed. Never NaN. Allocates nothing.
  engine::Judged judge(const Design& design, Evaluation& scratch) const {
    return of(design.circuit).judge(design, scratch);
  }

  /// The same, ended at the first step that shows a limit broken: families()[...].parts.stages names the
  /// steps.
  engine::StagedJudgement judge_staged(const Design& design, Evaluation& scratch) const {
    return of(design.circuit).judge_staged(design, scratch);
  }

  /// True only if no point of a family's lattice with low <= x <= high is feasible (objectives/block_test.h).
  bool none_feasible(int family, std::span<const double> low, std::span<const double> high, double points,
                     Evaluation& scratch) const;

 private:
  /// A family as a circuit counts it.
  struct Place {
    const CircuitProblem* circuit;
    int family;
  };
  const Place& place(int family) const { return places_[static_cast<std::size_t>(family)]; }
  const CircuitProblem& of(CircuitKind kind) const { return *circuits_[static_cast<std::size_t>(kind)]; }
  /// `groups`: what is compared, a group each; those of the circuit are added.
  void add_circuit(CircuitKind kind, std::vector<Compared>& groups);

  DesignSpace space_;
  Demands demands_;
  std::array<std::unique_ptr<CircuitProblem>, kCircuitKinds> circuits_;  ///< null: not in the space
  std::vector<engine::Family> families_;
  std::vector<Place> places_;
  std::vector<LimitResult> outside_as_given_;
  std::vector<std::string> left_out_;
};

}  // namespace antiphase
