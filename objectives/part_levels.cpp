#include "objectives/part_levels.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "stagemodels/sizing.h"

namespace antiphase {
namespace {

constexpr int kSamples = 5;          // per wish, over which the parts' ranges are looked for
constexpr double kMargin = 1.25;     // and how far the parts may go beyond what was found
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

std::vector<double> supply_levels(const Range& range) {
  if (!range.values.empty()) return range.values;
  if (range.fixed()) return {range.low};
  if (range.step > 0) return stepped(range.low, range.high, range.step);
  return multiples(range.low, range.high, kSupplyStep_v);
}

bool inside(double v, double low, double high) {
  return v >= low * (1 - 1e-9) && v <= high * (1 + 1e-9);
}

std::vector<double> plate_levels(const DesignSpace& space, const Range& range, std::string_view pointer,
                                 double low, double high) {
  std::vector<double> levels;
  if (pointer == "/plate_ohm/1" && space.plate_2_of_two) {
    for (const engine::TwoPart& part : plate_2_parts(space)) levels.push_back(part.value);
    return levels;
  }
  if (!range.values.empty()) {  // the brief's own list
    for (double v : range.values)
      if (inside(v, low, high)) levels.push_back(v);
    return levels;
  }
  if (range.step > 0) return stepped(low, high, range.step);
  return resistors_to_be_had(space, pointer, low, high);
}

double sample(const Range& range, int n, bool logarithmic) {
  const double share = static_cast<double>(n) / (kSamples - 1);
  return logarithmic ? range.low * std::pow(range.high / range.low, share)
                     : range.low + share * (range.high - range.low);
}

struct Span {
  double low = INFINITY, high = -INFINITY;
  void add(double v) {
    low = std::min(low, v);
    high = std::max(high, v);
  }
};

/// Cathode resistors of the first stage that the ends of the wishes lead to; empty if nothing fits. Dropping
/// resistors that carry all three currents are added to the other span.
Span first_cathode_span(const DesignSpace& space, const Design& base, Span& dropping_ohm) {
  Span span;
  if (!has_first_stage(base)) return span;
  const auto middle = [](const Range& r) { return std::sqrt(r.low * r.high); };
  constexpr std::array kEnds{0, kSamples - 1};
  for (int supply : kEnds)
    for (int tail : kEnds)
      for (int current : kEnds)
        for (int plate : kEnds)
          for (int first_current : kEnds)
            for (int n = 0; n < kSamples; ++n) {  // of the first plate resistor: in the middle there is more
              const Wishes wishes{
                  .supply_v = sample(space.supply_v, supply, false),
                  .tail_fraction = sample(space.tail_fraction, tail, false),
                  .plate_current_a = sample(space.plate_current_a, current, true),
                  .plate_ohm = sample(space.plate_ohm, plate, true),
                  .plate_ohm_ratio = middle(space.plate_ohm_ratio),
                  .first_plate_ohm = sample(space.first_plate_ohm, n, true),
                  .first_plate_current_a = sample(space.first_plate_current_a, first_current, true)};
              Design d = base;
              if (size_stage(wishes, d) > 0) continue;
              span.add(d.first_stage.cathode_ohm);
              dropping_ohm.add(d.dropping_ohm);
            }
  return span;
}

}  // namespace

std::vector<double> resistors_to_be_had(const DesignSpace& space, std::string_view pointer, double low,
                                        double high) {
  std::vector<double> levels;
  if (space.on_hand && !space.on_hand->resistors.empty()) {
    for (const Stock::Item& item : space.on_hand->resistors)
      if (item.pieces > 0 && inside(item.value, low, high)) levels.push_back(item.value);
    return levels;
  }
  engine::Series series = space.resistor_series;
  for (const DesignSpace::OwnSeries& own : space.own_series)
    if (own.pointer == pointer) series = own.series;
  return engine::members(series, low, high);
}

std::vector<engine::TwoPart> plate_2_parts(const DesignSpace& space) {
  constexpr double kFarthest = 250;  // a second part beyond that moves the first by less than kClosest_pct
  if (!space.plate_2_of_two) return {};
  const double low = space.plate_ohm.low * space.plate_ohm_ratio.low,
               high = space.plate_ohm.high * space.plate_ohm_ratio.high;
  if (!space.plate_ohm.values.empty()) return one_or_two(space.plate_ohm.values, low, high);
  return one_or_two(
      resistors_to_be_had(space, "/plate_ohm/1", std::max(1.0, low / kFarthest), high * kFarthest), low,
      high);
}

std::vector<PartAxis> part_axes(const DesignSpace& space, const Design& base) {
  const bool pair = sections(space.circuit) == 2;
  // Sizing over a grid shows what bias and tail values the wishes lead to.
  Span dropping_ohm, bias_ohm, grid_v, rail_v, tail_ohm, sink_a, cathode_ohm;
  bool any = false;
  const auto samples = [](const Range& r) { return r.fixed() ? 1 : kSamples; };
  for (int a = 0; a < samples(space.supply_v); ++a)
    for (int b = 0; b < (pair ? samples(space.tail_fraction) : 1); ++b)
      for (int c = 0; c < samples(space.plate_current_a); ++c)
        for (int e = 0; e < samples(space.plate_ohm); ++e) {
          const Wishes wishes{
              .supply_v = sample(space.supply_v, a, false),
              .tail_fraction = pair ? sample(space.tail_fraction, b, false) : 0.0,
              .plate_current_a = sample(space.plate_current_a, c, true),
              .plate_ohm = sample(space.plate_ohm, e, true),
              .plate_ohm_ratio =
                  pair ? std::sqrt(space.plate_ohm_ratio.low * space.plate_ohm_ratio.high) : 1.0};
          Design d = base;
          d.circuit = pair ? CircuitKind::long_tailed_pair : d.circuit;  // a first stage has its own spans
          if (size_stage(wishes, d) > 0) continue;
          any = true;
          dropping_ohm.add(d.dropping_ohm);
          bias_ohm.add(d.bias.ohm);
          grid_v.add(d.bias.grid_v);
          rail_v.add(d.bias.rail_v);
          tail_ohm.add(d.tail.ohm);
          sink_a.add(d.tail.current_a);
          cathode_ohm.add(d.cathode_ohm);
        }
  if (!any) return {};
  const Span first_cathode_ohm = first_cathode_span(space, base, dropping_ohm);
  if (has_first_stage(base) && first_cathode_ohm.low > first_cathode_ohm.high) return {};

  std::vector<PartAxis> axes;
  const auto add = [&](std::string_view pointer, std::vector<double> levels, bool logarithmic = true) {
    axes.push_back({find_design_field(pointer), std::move(levels), logarithmic});
  };
  const auto add_resistor = [&](std::string_view pointer, const Span& span) {
    add(pointer, resistors_to_be_had(space, pointer, std::max(1.0, span.low / kMargin), span.high * kMargin));
  };
  if (base.main_supply_v > 0)
    add_resistor("/dropping_ohm", dropping_ohm);
  else
    add("/supply_v", supply_levels(space.supply_v), false);
  const Range& plate = space.plate_ohm;
  if (plate.fixed())
    add("/plate_ohm/0", {plate.low});
  else
    add("/plate_ohm/0", plate_levels(space, plate, "/plate_ohm/0", plate.low, plate.high));
  if (!pair) {
    add_resistor("/cathode_ohm", cathode_ohm);
    return axes;
  }
  const Range& ratio = space.plate_ohm_ratio;
  if (plate.fixed() && ratio.fixed())
    add("/plate_ohm/1", {plate.low * ratio.low});
  else
    add("/plate_ohm/1",
        plate_levels(space, plate, "/plate_ohm/1", plate.low * ratio.low, plate.high * ratio.high));
  if (has_first_stage(base)) {
    const Range& first = space.first_plate_ohm;
    if (first.fixed())
      add("/first_stage/plate_ohm", {first.low});
    else
      add("/first_stage/plate_ohm",
          plate_levels(space, first, "/first_stage/plate_ohm", first.low, first.high));
    // The unbypassed part is a resistor of its own; what is bypassed comes from the series.
    const double bare_ohm = base.first_stage.cathode_unbypassed_ohm;
    std::vector<double> cathode = resistors_to_be_had(
        space, "/first_stage/cathode_ohm", std::max(1.0, (first_cathode_ohm.low - bare_ohm) / kMargin),
        (first_cathode_ohm.high - bare_ohm) * kMargin);
    for (double& ohm : cathode) ohm += bare_ohm;
    add("/first_stage/cathode_ohm", std::move(cathode));
  }
  switch (base.bias.form) {
    case BiasForm::self_biased:
      add_resistor("/bias/ohm", bias_ohm);
      break;
    case BiasForm::direct_coupled:
      if (!has_first_stage(base))
        add("/bias/grid_v", multiples(std::max(1.0, grid_v.low), grid_v.high, kGridStep_v), false);
      break;
    case BiasForm::negative_rail:
      if (base.bias.rail_v < 0)
        add("/bias/rail_v", {base.bias.rail_v}, false);
      else
        add("/bias/rail_v", multiples(rail_v.low, std::min(rail_v.high, -kRailStep_v), kRailStep_v), false);
      break;
  }
  if (base.tail.form == TailForm::resistor)
    add_resistor("/tail/ohm", tail_ohm);
  else  // a sink is set by one resistor, so its current comes in the same steps
    add("/tail/current_a",
        engine::members(space.resistor_series, sink_a.low / kMargin, sink_a.high * kMargin));
  return axes;
}

}  // namespace antiphase
