/// The bridge for one circuit: a space of designs and what is asked of them, as problems that the engine can
/// search (design_problem.h puts those of several circuits side by side).
///
/// Each choice of tube, bias form and tail form is a family. Its ideal problem has the designer's
/// continuous unknowns (share of the tail, current, plate resistors); its lattice has the parts that can
/// be bought. This is also the door where bad numbers stop: what cannot be solved becomes a violation.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "objectives/block_test.h"
#include "objectives/demands.h"
#include "objectives/design_space.h"
#include "objectives/part_levels.h"
#include "optimize/engine/problem.h"
#include "stagemodels/linear/choose_capacitors.h"
#include "stagemodels/sizing.h"

namespace antiphase {

/// -3 dB of each output at or below `low_frequency_hz`.
FigureLimit low_corner_limit(double low_frequency_hz);

class CircuitProblem {
 public:
  /// Copies both; the tubes they point to must outlive this. `space` has one circuit; `demands`: on it, with
  /// the limits that come from ranges. What is on hand and the low frequency become limits here.
  CircuitProblem(DesignSpace space, Demands demands);
  CircuitProblem(const CircuitProblem&) = delete;  // the families' judges point here
  CircuitProblem& operator=(const CircuitProblem&) = delete;

  const std::vector<engine::Family>& families() const { return families_; }
  /// What all designs of a family have: circuit, forms, tubes and what is given.
  const Design& base_of(int family) const { return forms_[static_cast<std::size_t>(family)].base; }
  const DesignSpace& space() const { return space_; }
  const Demands& demands() const { return demands_; }  ///< with the limits that come from the space
  Depth depth() const { return depth_; }               ///< how far a judgement solves

  /// The design at a lattice point of a family.
  Design design_at(int family, std::span<const double> parts_x) const;

  /// The members of a design that the axes of a family's lattice set, in the order of the axes.
  std::span<const DesignField* const> part_fields(int family) const;

  /// The lattice point that gives such a design, judged as yet by nobody; empty if there is none.
  std::optional<engine::Point> lattice_point(const Design& design) const;

  /// The design with the capacitors that the low frequency asks for and that are not given; as it is without
  /// such a demand or without a rest point. Judgements do the same where capacitors have a say in them.
  Design with_capacitors(Design design) const;

  /// Rows of this limit turn no design away any more.
  void take_as_given(const Limit& limit);

  /// Families that were left out, and why, in words.
  const std::vector<std::string>& left_out() const { return left_out_; }

  /// Judges one design: solves it as far as needed. Never NaN. Allocates nothing.
  engine::Judged judge(const Design& design, Evaluation& scratch) const;

  /// The same, ended at the first step that shows a limit broken: families()[...].parts.stages names the
  /// steps.
  engine::StagedJudgement judge_staged(const Design& design, Evaluation& scratch) const;

  /// True only if no point of a family's lattice with low <= x <= high is feasible (objectives/block_test.h).
  bool none_feasible(int family, std::span<const double> low, std::span<const double> high, double points,
                     Evaluation& scratch) const;

 private:
  /// One number of a design that the search sets: an axis, or a fixed value.
  struct Slot {
    double& (*at)(Design&);
    int axis;      ///< -1: fixed
    double value;  ///< if fixed
  };
  /// A part's own range, as an ideal design keeps it.
  struct Held {
    double& (*at)(Design&);
    double low, high;
    std::vector<double> levels;  ///< a list, steps, or one value; empty: anything from low to high
    bool logarithmic;
  };
  struct Form {
    Design base;
    std::vector<Held> own;
    std::vector<Slot> ideal;  ///< of SizingInputs, in the order of kSizingInputRows
    std::vector<Slot> parts;
    std::vector<const DesignField*> part_fields;  ///< of those parts that are axes
  };
  static Held held(const PartAxis&);
  static void hold(const Form& form, Design& design);
  void know_parts_to_choose();
  void add_family(const Design& base);
  /// The inputs that parts give as they are, and the supply that is left behind a dropping resistor.
  void take_from_parts(const Design& parts, SizingInputs& inputs) const;
  /// size_stage() of a design of the form that keeps the parts' own ranges: what they give is put in its
  /// place, and the rest is sized again to suit it.
  double size_within(const Form& form, SizingInputs inputs, Design& design) const;
  SizingInputs sizing_inputs_at(const Form& form, std::span<const double> ideal_x) const;
  std::vector<double> round_to_parts(std::size_t family, std::span<const double> ideal_x) const;

  void choose_feedback(Design& design, const OperatingPoint& rest) const;
  void choose(Design& design, const OperatingPoint& rest) const;
  /// What an evaluation to depth_ is worth.
  engine::Judged verdict(const Design& design, Evaluation& scratch) const;

  DesignSpace space_;
  Demands demands_;
  Demands judged_;  ///< demands_ without what the choice of capacitors settles by itself
  Depth depth_ = Depth::full;
  FrequencyParts parts_ = 0;  // of Depth::with_frequency
  BlockTest blocks_{judged_};
  std::vector<double> capacitor_levels_;
  std::vector<std::pair<const DesignField*, std::vector<double>>> own_capacitor_levels_;
  std::vector<OwnCapacitorLevels> own_capacitors_;  ///< those that have any; into own_capacitor_levels_
  double most_ripple_ = 0;                          ///< that the demands allow, per volt; infinite: any
  std::vector<double> feedback_levels_;             ///< ascending; empty: any of the resistors' series
  std::vector<engine::Family> families_;
  std::vector<Form> forms_;
  std::vector<std::string> left_out_;
};

}  // namespace antiphase
