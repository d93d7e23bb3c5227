#include "objectives/part_levels.h"

#include <algorithm>
#include <cmath>

#include "objectives/demands.h"
#include "objectives/sizing_inputs.h"
#include "stagemodels/circuits/questions.h"

namespace antiphase {
namespace {

constexpr double kMargin = 1.25;     // how far the parts may go beyond what sizing finds
constexpr double kSupplyStep_v = 5;  // of a supply range without a step
constexpr double kGridStep_v = 1;    // a grid voltage is set by the stage before, to the volt
constexpr double kRailStep_v = 5;

std::vector<double> stepped(double low, double high, double step) {
  std::vector<double> levels;
  const auto count = static_cast<long>(std::floor((high - low) / step + 1e-9));
  for (long n = 0; n <= count; ++n) levels.push_back(low + static_cast<double>(n) * step);
  return levels;
}

/// Whole multiples of `step` inside, and the ends themselves if there is none.
std::vector<double> multiples(double low, double high, double step) {
  std::vector<double> levels;
  for (double k = std::ceil(low / step - 1e-9); k * step <= high + 1e-9 * std::fabs(high); ++k)
    levels.push_back(k * step);
  if (levels.empty()) levels.push_back(low);
  return levels;
}

bool inside(double v, double low, double high) {
  return v >= low * (1 - 1e-9) && v <= high * (1 + 1e-9);
}

/// Values of a part that a sizing input gives as it is.
std::vector<double> asked_levels(const DesignSpace& space, const SizingInputRow& row, const Element& part) {
  Range range = space.*row.range;
  if (row.times) {
    const Range& whole = space.*row_of(*row.times).range;
    range = {whole.low * range.low, whole.high * range.high, whole.step, whole.values};
  }
  if (range.fixed()) return {range.low};
  if (part.member == &member::plate_ohm_1 && space.plate_2_of_two) {
    std::vector<double> levels;
    for (const engine::TwoPart& two : plate_2_parts(space)) levels.push_back(two.value);
    return levels;
  }
  if (!range.values.empty()) {  // the brief's own list
    std::vector<double> levels;
    for (double v : range.values)
      if (inside(v, range.low, range.high)) levels.push_back(v);
    return levels;
  }
  if (range.step > 0) return stepped(range.low, range.high, range.step);
  if (part.kind == ElementKind::resistor)
    return resistors_to_be_had(space, *part.member, range.low, range.high);
  return multiples(range.low, range.high, kSupplyStep_v);
}

struct Span {
  double low = INFINITY, high = -INFINITY;
  void add(double v) {
    low = std::min(low, v);
    high = std::max(high, v);
  }
};

/// Values of a part that sizing fills; `span`: those that it was found to have.
std::vector<double> found_levels(const DesignSpace& space, const Design& base, const Element& part,
                                 const Span& span) {
  switch (part.kind) {
    case ElementKind::driven:
      return multiples(std::max(1.0, span.low), span.high, kGridStep_v);
    case ElementKind::held:
      if (const double given_v = part.member->value(base); given_v != 0) return {given_v};
      return multiples(span.low, std::min(span.high, -kRailStep_v), kRailStep_v);
    case ElementKind::sink:  // it is set by one resistor, so its current comes in the same steps
      return engine::members(space.resistor_series, span.low / kMargin, span.high * kMargin);
    default: {
      // What the member has beyond the part itself is a resistor of its own, and given.
      const double rest_ohm = part.member->value(base) - part.value(base);
      std::vector<double> levels =
          resistors_to_be_had(space, *part.member, std::max(1.0, span.low / kMargin), span.high * kMargin);
      for (double& ohm : levels) ohm += rest_ohm;
      return levels;
    }
  }
}

/// The elements of `base` that sizing fills, in the order in which a search varies them.
std::vector<const Element*> filled_parts(const Design& base) {
  std::vector<const Element*> parts;
  for (const DesignField* field : sizing_of(base.circuit).fills)
    for (const Element& e : circuit_of(base))
      if (e.member == field && e.there(base)) {
        parts.push_back(&e);
        break;  // where two elements share a member it is one choice
      }
  return parts;
}

bool fills(CircuitKind kind, const DesignField& part) {
  const auto& all = sizing_of(kind).fills;
  return std::find(all.begin(), all.end(), &part) != all.end();
}

/// The element that takes its value from a member, or null.
const Element* element_of(const Design& base, const DesignField& part) {
  for (const Element& e : circuit_of(base))
    if (e.member == &part && e.there(base)) return &e;
  return nullptr;
}

/// Whether some form of the circuit has the member in this role.
bool has_in_role(CircuitKind kind, const DesignField& part, Role role) {
  bool has = false;
  for_each_form(kind, [&](const Design&, const Circuit& list) {
    for (const Element& e : list) has = has || (e.member == &part && e.role == role);
  });
  return has;
}

/// Whether the member is a resistor that no sizing fills and no wish gives, and that a search may vary by
/// itself.
bool may_be_an_axis_of_its_own(CircuitKind kind, const DesignField& part) {
  return has_in_role(kind, part, Role::grid_leak) || has_in_role(kind, part, Role::divider) ||
         has_in_role(kind, part, Role::grid_feed) || has_in_role(kind, part, Role::decoupling) ||
         has_in_role(kind, part, Role::driver_cathode) || has_in_role(kind, part, Role::driver_load) ||
         has_in_role(kind, part, Role::driver_leak);
}

/// Sizes the stage over a grid of the space, and adds to the spans of `parts` the values of those that it
/// fills. @return false if no point of the grid fits the supply.
bool add_spans(const DesignSpace& space, const Design& base, const Sizing& sizing,
               const std::vector<const Element*>& parts, std::vector<Span>& spans) {
  struct Digit {
    const SizingInputRow* row;
    int samples;
    int n = 0;
  };
  std::vector<Digit> grid;
  for (const CircuitSizingInput& own : sizing.inputs) {
    if (own.follows && own.follows(base)) continue;
    const SizingInputRow& row = row_of(own.input);
    grid.push_back({&row, (space.*row.range).fixed() ? 1 : own.samples});
  }
  const auto value_at = [&](const Digit& digit) {
    const Range& range = space.*digit.row->range;
    if (range.fixed()) return range.low;
    const bool logarithmic = digit.row->logarithmic;
    if (digit.samples == 1)
      return logarithmic ? std::sqrt(range.low * range.high) : 0.5 * (range.low + range.high);
    const double share = static_cast<double>(digit.n) / (digit.samples - 1);
    return logarithmic ? range.low * std::pow(range.high / range.low, share)
                       : range.low + share * (range.high - range.low);
  };
  bool any = false;
  for (bool more = true; more;) {
    SizingInputs inputs;
    for (const Digit& digit : grid) inputs.*digit.row->member = value_at(digit);
    Design d = base;
    if (!(sizing.size(inputs, d) > 0)) {
      any = true;
      for (std::size_t i = 0; i < parts.size(); ++i)
        if (std::find(sizing.fills.begin(), sizing.fills.end(), parts[i]->member) != sizing.fills.end())
          spans[i].add(parts[i]->value(d));
    }
    more = false;
    for (Digit& digit : grid) {  // count on
      if (++digit.n < digit.samples) {
        more = true;
        break;
      }
      digit.n = 0;
    }
  }
  return any;
}

}  // namespace

std::vector<double> resistors_to_be_had(const DesignSpace& space, const DesignField& resistor, double low,
                                        double high) {
  std::vector<double> levels;
  if (space.on_hand && !space.on_hand->resistors.empty()) {
    for (const Stock::Item& item : space.on_hand->resistors)
      if (item.pieces > 0 && inside(item.value, low, high)) levels.push_back(item.value);
    return levels;
  }
  engine::Series series = space.resistor_series;
  for (const DesignSpace::OwnSeries& own : space.own_series)
    if (own.part == &resistor) series = own.series;
  return engine::members(series, low, high);
}

std::vector<double> capacitors_to_be_had(const DesignSpace& space) {
  constexpr double kLeast_f = 1e-12;  // below: wiring
  if (!space.on_hand || space.on_hand->capacitors.empty())
    return engine::members(space.capacitor_series, kLeast_f, member::coupling_f.high);
  std::vector<double> levels;
  for (const Stock::Item& item : space.on_hand->capacitors)
    if (item.pieces > 0) levels.push_back(item.value);
  return levels;
}

bool may_have_own_range(CircuitKind kind, const DesignField& part) {
  if (const SizingInputRow* row = row_that_gives(part); row && !row->times) return false;
  return fills(kind, part) || (part.role == FieldRole::capacitor && has_member(kind, part)) ||
         may_be_an_axis_of_its_own(kind, part) || has_in_role(kind, part, Role::feedback);
}

Design given_in(const DesignSpace& space) {
  Design given = space.given;
  for (const DesignSpace::OwnRange& own : space.own_ranges)
    if (own.range.fixed() && (own.part == &member::bias_rail_v || !fills(space.circuit(), *own.part)))
      own.part->at(given) = own.range.low;
  return given;
}

namespace {

/// The forms of a first stage, each with the tubes that its second section may be.
std::vector<std::pair<GainForm, const Tube*>> gain_stages_on(const DesignSpace& space, const Tube* first) {
  std::vector<std::pair<GainForm, const Tube*>> all;
  for (const GainForm form : gain_forms_of(space, space.circuit())) {
    if (first && !suits(*first, form)) continue;
    if (!has_second_section(form))
      all.emplace_back(form, nullptr);
    else if (space.second_tubes.empty())
      all.emplace_back(form, first);
    else
      for (const Tube* second : space.second_tubes) all.emplace_back(form, second);
  }
  return all;
}

/// The forms of a driver, each with its tubes.
std::vector<std::pair<DriverForm, const Tube*>> drivers_of(const DesignSpace& space) {
  std::vector<std::pair<DriverForm, const Tube*>> all;
  for (const DriverForm form : driver_forms_of(space, space.circuit())) {
    if (form == DriverForm::none)
      all.emplace_back(form, nullptr);
    else
      for (const Tube* tube : space.driver_tubes) all.emplace_back(form, tube);
  }
  return all;
}

void add_bases(const DesignSpace& space, std::vector<Design>& bases) {
  const std::vector<const Tube*> no_tube{nullptr};
  const auto drivers = drivers_of(space);
  Design given = given_in(space);
  // Sizing reckons with a resistor of the supply that is left open as with one from the middle of its range.
  for (const DesignSpace::OwnRange& own : space.own_ranges)
    if (has_in_role(space.circuit(), *own.part, Role::decoupling))
      own.part->at(given) = std::sqrt(own.range.low * own.range.high);
  for (const Tube* tube : space.tubes)
    for (const Tube* first : has_first_stage(space.circuit()) ? space.first_tubes : no_tube)
      for (const BiasForm bias : bias_forms_of(space, space.circuit()))
        for (const TailForm tail : tail_forms_of(space, space.circuit()))
          for (const auto& [driver, of_driver] : drivers)
            for (const auto& [gain, second] : gain_stages_on(space, first)) {
              Design& base = bases.emplace_back(given);
              base.tube = {tube, tube};
              base.first_stage.tube = first;
              base.first_stage.form = gain;
              base.first_stage.second_tube = second;
              base.bias.form = bias;
              base.bias.grid_clamp = bias == BiasForm::direct_coupled && given.bias.grid_clamp;
              base.tail.form = tail;
              base.driver.form = driver;
              base.driver.tube = of_driver;
            }
}

}  // namespace

std::vector<Design> bases_of(const DesignSpace& space) {
  std::vector<Design> bases;
  for (const CircuitKind kind : space.circuits) add_bases(space_of(space, kind), bases);
  return bases;
}

std::vector<double> own_levels(const DesignSpace& space, const Range& own, const DesignField& part,
                               const Design& base) {
  if (own.fixed()) return {own.low};
  if (!own.values.empty()) return own.values;
  if (own.step > 0) return stepped(own.low, own.high, own.step);
  if (part.role == FieldRole::capacitor) {
    std::vector<double> levels = capacitors_to_be_had(space);
    std::erase_if(levels, [&](double farad) { return !inside(farad, own.low, own.high); });
    return levels;
  }
  if (part.unit == "A") return engine::members(space.resistor_series, own.low, own.high);
  if (part.role != FieldRole::resistor)
    return multiples(own.low, own.high, part.role == FieldRole::setting ? kGridStep_v : kRailStep_v);
  if (&part == &member::plate_ohm_1 && space.plate_2_of_two) {
    std::vector<double> levels;
    for (const engine::TwoPart& two : plate_2_parts(space)) levels.push_back(two.value);
    return levels;
  }
  const Element* element = element_of(base, part);
  const double rest_ohm = element ? part.value(base) - element->value(base) : 0;  // see found_levels()
  std::vector<double> levels =
      resistors_to_be_had(space, part, std::max(1.0, own.low - rest_ohm), own.high - rest_ohm);
  for (double& ohm : levels) ohm += rest_ohm;
  return levels;
}

std::vector<engine::TwoPart> plate_2_parts(const DesignSpace& space) {
  constexpr double kFarthest = 250;  // a second part beyond that moves the first by less than kClosest_pct
  if (!space.plate_2_of_two) return {};
  const Range* own = space.own_range(member::plate_ohm_1);
  const double low = own ? own->low : space.plate_ohm.low * space.plate_ohm_ratio.low,
               high = own ? own->high : space.plate_ohm.high * space.plate_ohm_ratio.high;
  if (!space.plate_ohm.values.empty()) return one_or_two(space.plate_ohm.values, low, high);
  return one_or_two(
      resistors_to_be_had(space, member::plate_ohm_1, std::max(1.0, low / kFarthest), high * kFarthest), low,
      high);
}

std::vector<PartAxis> part_axes(const DesignSpace& space, const Design& base) {
  const Sizing& sizing = sizing_of(base.circuit);
  const std::vector<const Element*> parts = filled_parts(base);
  std::vector<Span> spans(parts.size());
  if (sizing.output_stage && !add_spans(space, base, *sizing.output_stage, parts, spans)) return {};
  if (!add_spans(space, base, sizing, parts, spans)) return {};

  std::vector<PartAxis> axes;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const Element& part = *parts[i];
    const SizingInputRow* wished = row_that_gives(*part.member);
    const Range* own = space.own_range(*part.member);
    const bool resistance_or_current = part.kind == ElementKind::resistor || part.kind == ElementKind::sink;
    axes.push_back({part.member,
                    own      ? own_levels(space, *own, *part.member, base)
                    : wished ? asked_levels(space, *wished, part)
                             : found_levels(space, base, part, spans[i]),
                    resistance_or_current, own});
  }
  for (const DesignSpace::OwnRange& own : space.own_ranges)
    if (!fills(base.circuit, *own.part) && may_be_an_axis_of_its_own(base.circuit, *own.part) &&
        own.part->applies(base))
      axes.push_back({own.part, own_levels(space, own.range, *own.part, base), true, &own.range});
  return axes;
}

namespace {

/// The space with wishes that count as met nearly as wide as that.
DesignSpace with_room(DesignSpace space) {
  for (const SizingInputRow& row : kSizingInputRows) {
    const bool exact = row.part && !(row.part == &member::supply_v && space.given.main_supply_v > 0);
    Range& range = space.*row.range;
    if (!exact) range = {range.low * (1 - kNearShare), range.high * (1 + kNearShare), 0, {}};
  }
  return space;
}

/// The sizing inputs that move what sizing fills, seen in the middle of their ranges; all, if nothing fits
/// there.
std::vector<SizingInput> inputs_behind(const DesignSpace& space, const Design& base, const Element& part) {
  constexpr double kNudge = 1.01, kMoved = 1e-6;
  const Sizing& sizing = sizing_of(base.circuit);
  SizingInputs middle;
  std::vector<SizingInput> all, behind;
  for (const SizingInputRow& row : kSizingInputRows)
    if (is_free(row.input, base)) {
      middle.*row.member = std::sqrt((space.*row.range).low * (space.*row.range).high);
      all.push_back(row.input);
    }
  const auto sized = [&](const SizingInputs& inputs) {
    Design d = base;
    return sizing.size(inputs, d) > 0 ? NAN : part.member->value(d);
  };
  const double here = sized(middle);
  for (const SizingInput input : all) {
    SizingInputs other = middle;
    other.*row_of(input).member *= kNudge;
    const double there = sized(other);
    if (std::fabs(there - here) > kMoved * std::fabs(here)) behind.push_back(input);
  }
  return behind.empty() ? all : behind;
}

bool apart(const Range& own, double low, double high) {
  return own.high < low - (kMargin - 1) * std::fabs(low) || own.low > high + (kMargin - 1) * std::fabs(high);
}

}  // namespace

std::optional<OverDetermined> over_determined(const DesignSpace& asked, const Design& base) {
  const DesignSpace space = with_room(asked);
  const Sizing& sizing = sizing_of(base.circuit);
  const std::vector<const Element*> parts = filled_parts(base);
  std::vector<Span> spans(parts.size());
  if (sizing.output_stage) add_spans(space, base, *sizing.output_stage, parts, spans);
  if (!add_spans(space, base, sizing, parts, spans)) return std::nullopt;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const DesignField& part = *parts[i]->member;
    const Range* own = space.own_range(part);
    if (!own || part.value(base) != 0) continue;  // what is given sizing keeps
    double low = spans[i].low, high = spans[i].high;
    std::vector<SizingInput> by;
    if (const SizingInputRow* row = row_that_gives(part); row && row->times) {
      low = (space.*row->range).low * (space.*row_of(*row->times).range).low;
      high = (space.*row->range).high * (space.*row_of(*row->times).range).high;
      by = {*row->times, row->input};
    }
    if (!(low <= high) || !apart(*own, low, high)) continue;
    return OverDetermined{&part, low, high, by.empty() ? inputs_behind(asked, base, *parts[i]) : by};
  }
  return std::nullopt;
}

}  // namespace antiphase
