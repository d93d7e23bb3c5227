#include "objectives/circuit_problem.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <functional>
#include <memory>

#include "objectives/figures/frequency.h"
#include "objectives/part_levels.h"
#include "objectives/sizing_inputs.h"
#include "stagemodels/circuits/catalogue.h"
#include "stagemodels/design_fields.h"
#include "stagemodels/linear/choose_capacitors.h"
#include "stagemodels/linear/feedback.h"
#include "stagemodels/linear/frequency_figures.h"
#include "stagemodels/members.h"
#include "stagemodels/sizing.h"

namespace antiphase {
namespace {

/// Steps of judge_staged().
constexpr std::array<const char*, 4> kStages{"by its parts alone", "at rest", "in small signal",
                                             "at the target"};
constexpr double kUnsolvedCost = 1e6;      // finite, and worse than any score
constexpr double kUnsolvedViolation = 10;  // more than any design that can be solved
constexpr double kHopeless = 0.25;         // ratings overrun by this share at rest: not worth a full solve
constexpr double kSamePart = 1e-9;         // two values that differ by rounding only
constexpr double kBlockForCorners = 48;    // points that are worth solving for the corners of their block
constexpr double kNotSolvedFurther = 1;    // so that a hopeless design never looks better than a solved one

/// The most ripple between the outputs that the demands allow, per volt on the supply.
double most_ripple(const Demands& demands) {
  double most = INFINITY;
  for (const FigureLimit& limit : demands.limits)
    if (limit.figure == find_figure(kRippleDifferenceVPerV.name))
      most = std::min(most, limit.at_most.value_or(INFINITY));
  return most;
}

/// True if some capacitor is given, so that choosing the others may not be enough.
bool gives_a_capacitor(const Design& given) {
  return std::any_of(design_fields().begin(), design_fields().end(), [&](const DesignField& field) {
    return field.role == FieldRole::capacitor && field.value(given) > 0;
  });
}

/// How far a stage falls short of its target: leads the search back. Allowed: solved to Depth::full.
double shortfall(const Design& design, const Evaluation& solved) {
  const double reach = solved.clean.solved == Solved::yes ? solved.clean.swing_peak_v : 0.0;
  return 1 + std::fmax(0.0, 1 - reach / design.swing_peak_v);
}

/// Takes an evaluation from Depth::full to Depth::with_frequency.
void add_frequency(const Design& design, FrequencyParts parts, Evaluation& solved) {
  solved.frequency_known = frequency_figures(design, solved.operating_point, parts, solved.frequency);
  if (has_feedback(design))
    feedback_figures(design, solved.operating_point, solved.at_target, parts, solved.feedback);
}

double nearest_level(std::span<const double> levels, double value, bool logarithmic) {
  double best = levels.front(), least = INFINITY;
  for (double level : levels) {
    const double distance = logarithmic ? std::fabs(std::log(level / value)) : std::fabs(level - value);
    if (distance < least) {
      least = distance;
      best = level;
    }
  }
  return best;
}

/// Why no design of a family keeps both a part's own range and what is asked for at rest.
std::string in_words(const OverDetermined& clash) {
  std::string by;
  for (const SizingInput input : clash.by) by.append(by.empty() ? "" : ", ").append(row_of(input).name);
  return "the " + std::string(clash.part->label) + " that the brief allows is not what its " + by +
         " lead to; widen one of them or leave one out";
}

}  // namespace

FigureLimit low_corner_limit(double low_frequency_hz) {
  FigureLimit limit;
  limit.figure = find_figure("low_corner_hz");
  limit.at_most = low_frequency_hz;
  return limit;
}

CircuitProblem::CircuitProblem(DesignSpace space, Demands demands)
    : space_(std::move(space)), demands_(std::move(demands)) {
  space_.given = given_in(space_);
  demands_.parts.on_hand = space_.on_hand;
  demands_.parts.plate_2 = plate_2_parts(space_);
  std::erase_if(demands_.parts.plate_2, [](const engine::TwoPart& part) { return part.second <= 0; });
  judged_ = demands_;
  most_ripple_ = most_ripple(demands_);
  know_parts_to_choose();
  if (space_.low_frequency_hz) {
    demands_.limits.push_back(low_corner_limit(*space_.low_frequency_hz));
    const bool from_hand = space_.on_hand && !space_.on_hand->capacitors.empty();
    if (from_hand || gives_a_capacitor(space_.given) || !own_capacitors_.empty()) judged_ = demands_;
  }
  depth_ = needed_depth(judged_);
  parts_ = needed_parts(judged_);
  for (const Design& base : bases_of(space_)) add_family(base);
}

void CircuitProblem::take_as_given(const Limit& limit) {
  antiphase::take_as_given(limit, demands_.factors);
  antiphase::take_as_given(limit, judged_.factors);
}

void CircuitProblem::know_parts_to_choose() {
  capacitor_levels_ = capacitors_to_be_had(space_);
  for (const DesignSpace::OwnRange& own : space_.own_ranges) {
    if (own.range.fixed()) continue;  // given
    if (own.part->role == FieldRole::capacitor)
      own_capacitor_levels_.push_back({own.part, own_levels(space_, own.range, *own.part, space_.given)});
    if (own.part == &member::feedback_resistor_ohm)
      feedback_levels_ = own_levels(space_, own.range, *own.part, space_.given);
  }
  for (const auto& [part, levels] : own_capacitor_levels_)
    if (!levels.empty()) own_capacitors_.push_back({part, levels});
  if (feedback_levels_.empty() && space_.on_hand)
    feedback_levels_ = resistors_to_be_had(space_, member::feedback_resistor_ohm, member::kOhmLow,
                                           member::feedback_resistor_ohm.high);
}

void CircuitProblem::add_family(const Design& base) {
  const CircuitEntry& entry = circuit(space_.circuit());
  std::string name = base.tube[0]->name;
  if (base.first_stage.tube) name += " behind " + base.first_stage.tube->name;
  if (base.first_stage.form != GainForm::triode) name.append(" ").append(name_of(base.first_stage.form));
  if (base.first_stage.second_tube) name += " with " + base.first_stage.second_tube->name;
  if (!entry.bias_forms.empty()) name.append(", ").append(name_of(base.bias.form));
  if (!entry.tail_forms.empty()) name.append(", ").append(name_of(base.tail.form));

  if (has_driver(base))
    name.append(", ").append(name_of(base.driver.form)).append(" ").append(base.driver.tube->name);

  Form form;
  form.base = base;

  engine::Family family;
  family.name = name;
  for (const SizingInputRow& input : kSizingInputRows) {
    if (!is_free(input.input, form.base)) continue;
    const Range& range = space_.*input.range;
    Slot slot{nullptr, -1, range.low};
    if (!range.fixed()) {
      slot.axis = static_cast<int>(family.ideal.axes.size());
      family.ideal.axes.push_back({std::string(input.name), range.low, range.high, input.logarithmic, {}});
    }
    form.ideal.push_back(slot);
  }

  const std::vector<PartAxis> axes = part_axes(space_, form.base);
  if (axes.empty()) {
    left_out_.push_back(name +
                        ": no current and plate resistor in the ranges leaves the tube a plate voltage");
    return;
  }
  if (!space_.own_ranges.empty())
    if (const auto clash = over_determined(space_, form.base)) {
      left_out_.push_back(name + ": " + in_words(*clash));
      return;
    }
  for (const PartAxis& part : axes) {
    if (part.levels.empty()) {
      left_out_.push_back(name + ": " + (space_.on_hand ? "nothing on hand" : "no standard value") +
                          " for the " + std::string(part.field->label) + " in its range");
      return;
    }
    if (part.own) form.own.push_back(held(part));
    Slot slot{part.field->at, -1, part.levels.front()};
    // A lattice has one axis at least, where every part is fixed too.
    const bool last = &part == &axes.back() && family.parts.axes.empty();
    if (part.levels.size() > 1 || last) {
      slot.axis = static_cast<int>(family.parts.axes.size());
      form.part_fields.push_back(part.field);
      family.parts.axes.push_back({std::string(part.field->pointer), part.levels.front(), part.levels.back(),
                                   part.logarithmic, part.levels});
    }
    form.parts.push_back(slot);
  }

  const std::size_t index = families_.size();
  family.ideal.objectives = family.parts.objectives = static_cast<int>(demands_.objectives.size());
  family.ideal.make_judge = [this, index]() -> engine::Judge {
    return [this, index, scratch = Evaluation{}](std::span<const double> x) mutable {
      Design design = forms_[index].base;
      const double shortage_v = size_within(forms_[index], sizing_inputs_at(forms_[index], x), design);
      if (shortage_v > 0) {
        engine::Judged refused{
            .cost = kUnsolvedCost, .violation = kUnsolvedViolation + shortage_v / 100, .objective = {}};
        refused.objective.fill(kUnsolvedCost);
        return refused;
      }
      if (design.driver.bias_v == 0) set_driver_bias(design);
      return judge(design, scratch);
    };
  };
  family.parts.make_judge = [this, index]() -> engine::Judge {
    return [this, index, scratch = Evaluation{}](std::span<const double> x) mutable {
      return judge(design_at(static_cast<int>(index), x), scratch);
    };
  };
  family.parts.stages = {kStages.begin(), kStages.end()};
  family.parts.make_staged_judge = [this, index]() -> engine::StagedJudge {
    // Both functions use it, and a std::function has to be copyable: hence shared and not owned by one.
    const auto scratch = std::make_shared<Evaluation>();
    return {[this, index, scratch](std::span<const double> low, std::span<const double> high, double points) {
              return none_feasible(static_cast<int>(index), low, high, points, *scratch);
            },
            [this, index, scratch](std::span<const double> x) {
              return judge_staged(design_at(static_cast<int>(index), x), *scratch);
            }};
  };
  family.round_to_parts = [this, index](std::span<const double> x) { return round_to_parts(index, x); };
  forms_.push_back(std::move(form));
  families_.push_back(std::move(family));
}

SizingInputs CircuitProblem::sizing_inputs_at(const Form& form, std::span<const double> ideal_x) const {
  SizingInputs inputs;
  std::size_t n = 0;
  for (const SizingInputRow& input : kSizingInputRows) {
    if (!is_free(input.input, form.base)) continue;
    const Slot& slot = form.ideal[n++];
    inputs.*input.member = slot.axis < 0 ? slot.value : ideal_x[slot.axis];
  }
  return inputs;
}

std::span<const DesignField* const> CircuitProblem::part_fields(int family) const {
  return forms_[static_cast<std::size_t>(family)].part_fields;
}

Design CircuitProblem::design_at(int family, std::span<const double> parts_x) const {
  const Form& form = forms_[family];
  Design design = form.base;
  for (const Slot& slot : form.parts) slot.at(design) = slot.axis < 0 ? slot.value : parts_x[slot.axis];
  if (design.driver.bias_v == 0) set_driver_bias(design);
  return design;
}

std::optional<engine::Point> CircuitProblem::lattice_point(const Design& design) const {
  for (std::size_t f = 0; f < forms_.size(); ++f) {
    const Form& form = forms_[f];
    const Design& base = form.base;
    if (design.circuit != base.circuit || design.tube[0] != base.tube[0] ||
        design.first_stage.tube != base.first_stage.tube ||
        design.first_stage.form != base.first_stage.form ||
        design.first_stage.second_tube != base.first_stage.second_tube ||
        design.bias.form != base.bias.form || design.driver.form != base.driver.form ||
        design.driver.tube != base.driver.tube || design.tail.form != base.tail.form)
      continue;
    engine::Point point{std::vector<double>(families_[f].parts.axes.size()), {}, static_cast<int>(f)};
    bool on_it = true;
    for (const Slot& slot : form.parts) {
      const double value = slot.at(const_cast<Design&>(design));
      const double level =
          slot.axis < 0 ? slot.value : nearest_level(families_[f].parts.axes[slot.axis].levels, value, false);
      on_it &= std::fabs(value - level) <= kSamePart * std::fabs(level);
      if (slot.axis >= 0) point.x[slot.axis] = level;
    }
    if (on_it) return point;
  }
  return std::nullopt;
}

CircuitProblem::Held CircuitProblem::held(const PartAxis& part) {
  const Range& own = *part.own;
  const bool any_between = !own.fixed() && own.values.empty() && !(own.step > 0);
  return {part.field->at, part.levels.front(), part.levels.back(),
          any_between ? std::vector<double>{} : part.levels, part.logarithmic};
}

/// Puts what the brief gives, lists or ranges by itself in the place of what sizing found.
void CircuitProblem::hold(const Form& form, Design& design) {
  for (const Held& held : form.own) {
    double& value = held.at(design);
    value = held.levels.empty() ? std::clamp(value, held.low, held.high)
                                : nearest_level(held.levels, value, held.logarithmic);
  }
}

void CircuitProblem::take_from_parts(const Design& parts, SizingInputs& inputs) const {
  for (const SizingInputRow& row : kSizingInputRows) {
    if (!row.part || !has_sizing_input(space_.circuit(), row.input) || !row.part->applies(parts)) continue;
    const double one = row.times ? inputs.*row_of(*row.times).member : 1;
    inputs.*row.member = row.part->value(parts) / one;
  }
  if (parts.main_supply_v > 0)
    inputs.supply_v = parts.main_supply_v - parts.dropping_ohm * asked_current_a(inputs, space_.circuit());
}

double CircuitProblem::size_within(const Form& form, SizingInputs inputs, Design& design) const {
  const double short_v = size_stage(inputs, design);
  if (short_v > 0 || form.own.empty()) return short_v;
  hold(form, design);
  take_from_parts(design, inputs);
  Design again = form.base;
  again.bias.rail_v = design.bias.rail_v;  // sizing keeps one that is there
  const double then_short_v = size_stage(inputs, again);
  if (then_short_v > 0) return then_short_v;
  hold(form, again);
  design = again;
  return 0;
}

std::vector<double> CircuitProblem::round_to_parts(std::size_t family,
                                                   std::span<const double> ideal_x) const {
  const Form& form = forms_[family];
  const std::vector<engine::Axis>& axes = families_[family].parts.axes;
  SizingInputs inputs = sizing_inputs_at(form, ideal_x);
  Design design = form.base;
  if (size_within(form, inputs, design) > 0) return {};
  const auto snapped = [&](const Slot& slot) {
    if (slot.axis < 0) return slot.value;
    const engine::Axis& axis = axes[slot.axis];
    return nearest_level(axis.levels, slot.at(design), axis.logarithmic);
  };
  // Supply (or dropping resistor) and plate resistors first; then bias and tail are sized again to suit
  // those.
  Design standard = design;
  for (const Slot& slot : form.parts) slot.at(standard) = snapped(slot);
  take_from_parts(standard, inputs);
  Design sized = form.base;
  if (space_.own_range(member::bias_rail_v)) sized.bias.rail_v = standard.bias.rail_v;
  if (size_stage(inputs, sized) == 0) {
    hold(form, sized);
    design = sized;
  }

  std::vector<double> x(axes.size());
  for (const Slot& slot : form.parts)
    if (slot.axis >= 0) x[slot.axis] = snapped(slot);
  return x;
}

/// The feedback resistor nearest to the one that the feedback asked for needs.
void CircuitProblem::choose_feedback(Design& design, const OperatingPoint& rest) const {
  if (!has_feedback(design) || design.feedback.resistor_ohm > 0 || rest.solved != Solved::yes) return;
  if (const std::optional<double> ohm = feedback_resistor(design, rest))
    design.feedback.resistor_ohm = feedback_levels_.empty() ? engine::nearest(space_.resistor_series, *ohm)
                                                            : nearest_level(feedback_levels_, *ohm, true);
}

void CircuitProblem::choose(Design& design, const OperatingPoint& rest) const {
  choose_feedback(design, rest);
  if (space_.low_frequency_hz && rest.solved == Solved::yes)
    choose_capacitors(design, rest, *space_.low_frequency_hz, capacitor_levels_, own_capacitors_,
                      most_ripple_);
}

Design CircuitProblem::with_capacitors(Design design) const {
  if (!space_.low_frequency_hz && !has_feedback(design)) return design;
  Evaluation at_rest;
  evaluate(design, Depth::rest, at_rest);
  choose(design, at_rest.operating_point);
  return design;
}

engine::Judged CircuitProblem::judge(const Design& asked, Evaluation& scratch) const {
  Design design = asked;
  double at_rest = 0;
  const auto hopeful = [&](Depth reached) {
    if (reached == Depth::rest) at_rest = total_violation(design, scratch, demands_.factors);
    return at_rest <= kHopeless;
  };
  const auto not_solved_further = [](double violation) {
    engine::Judged out{.cost = kUnsolvedCost, .violation = kNotSolvedFurther + violation, .objective = {}};
    out.objective.fill(kUnsolvedCost);
    return out;
  };
  // What is at mid-band does not hang on capacitors; they are chosen from the rest point after it.
  evaluate(design, std::min(depth_, Depth::full), scratch, std::cref(hopeful));
  if (at_rest > kHopeless) return not_solved_further(at_rest);
  if (depth_ < Depth::with_frequency || scratch.operating_point.solved != Solved::yes)
    return verdict(design, scratch);
  if (has_feedback(design)) {  // the loop takes longer than all the rest
    const double so_far = demand_violation(judged_, design, scratch, Depth::full);
    const double short_of_target = scratch.at_target.solved == Solved::yes ? 0 : shortfall(design, scratch);
    if (so_far + short_of_target > kHopeless) return not_solved_further(so_far + short_of_target);
  }
  choose(design, scratch.operating_point);
  if (depth_ == Depth::with_frequency)
    add_frequency(design, parts_, scratch);
  else
    evaluate(design, depth_, scratch);
  return verdict(design, scratch);
}

engine::StagedJudgement CircuitProblem::judge_staged(const Design& asked, Evaluation& scratch) const {
  Design design = asked;
  enum { parts_alone, at_rest, small_signal, at_target, whole };
  static_assert(whole == kStages.size());
  int stage = whole;
  if (blocks_.none_feasible(design, design, BlockTest::Corners::left_out, scratch)) return {parts_alone, {}};
  const auto may_be_feasible = [&](Depth reached) {
    const bool target_met = reached < Depth::at_target || scratch.at_target.solved == Solved::yes;
    if (target_met && may_be_met(judged_, design, scratch, reached)) return true;
    stage = reached == Depth::rest ? at_rest : reached == Depth::small_signal ? small_signal : at_target;
    return false;
  };
  if (depth_ >= Depth::with_frequency) {
    evaluate(design, Depth::rest, scratch);
    if (scratch.operating_point.solved != Solved::yes) return {at_rest, {}};
    choose(design, scratch.operating_point);
  }
  const bool judged_in_parts = depth_ == Depth::with_frequency;
  evaluate(design, judged_in_parts ? Depth::full : depth_, scratch, std::cref(may_be_feasible));
  if (scratch.operating_point.solved != Solved::yes) return {at_rest, {}};
  if (stage < whole) return {stage, {}};
  if (judged_in_parts) add_frequency(design, parts_, scratch);
  return {whole, verdict(design, scratch)};
}

bool CircuitProblem::none_feasible(int family, std::span<const double> low, std::span<const double> high,
                                   double points, Evaluation& scratch) const {
  const BlockTest::Corners corners =
      points >= kBlockForCorners ? BlockTest::Corners::solved : BlockTest::Corners::left_out;
  return blocks_.none_feasible(design_at(family, low), design_at(family, high), corners, scratch);
}

engine::Judged CircuitProblem::verdict(const Design& design, Evaluation& scratch) const {
  engine::Judged out;
  if (scratch.operating_point.solved != Solved::yes) {
    out.cost = kUnsolvedCost;
    out.violation = kUnsolvedViolation;
    out.objective.fill(kUnsolvedCost);
    return out;
  }
  out.violation = demand_violation(judged_, design, scratch);
  const auto short_of_target = [&] {
    if (depth_ < Depth::full) evaluate(design, Depth::full, scratch);
    return shortfall(design, scratch);
  };
  bool whole = true;  // every figure of the score is there
  for (std::size_t i = 0; i < demands_.objectives.size(); ++i) {
    const Objective& o = demands_.objectives[i];
    const std::optional<double> value = o.figure->measure(design, scratch);
    if (!value || !std::isfinite(*value)) {
      whole = false;
      out.violation += short_of_target();
      out.objective[i] = kUnsolvedCost;
      out.cost = kUnsolvedCost;
      continue;
    }
    out.objective[i] = as_cost(*o.figure, *value);
    if (out.cost < kUnsolvedCost) out.cost += o.weight * out.objective[i] / o.scale;
  }
  if (whole && scratch.at_target.solved != Solved::yes)
    out.violation += short_of_target();  // even if no figure tells
  if (!std::isfinite(out.cost) || !std::isfinite(out.violation)) {
    out.cost = kUnsolvedCost;
    out.violation = kUnsolvedViolation;
  }
  return out;
}

}  // namespace antiphase
