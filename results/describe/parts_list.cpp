#include "results/describe/parts_list.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>

#include "objectives/builds/build_model.h"
#include "results/text/engineering.h"
#include "stagemodels/design_fields.h"
#include "stagemodels/solve/instants.h"

namespace antiphase {
namespace {

constexpr std::array kRatingsW{0.125, 0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 7.0, 10.0};

constexpr std::array kResistorsV{200.0, 250.0, 350.0, 500.0, 750.0, 1000.0};
constexpr std::array kFilmV{63.0, 100.0, 160.0, 250.0, 400.0, 630.0, 1000.0, 1250.0, 1600.0};
constexpr std::array kElectrolyticV{6.3,   10.0,  16.0,  25.0,  35.0,  50.0,  63.0,
                                    100.0, 160.0, 250.0, 350.0, 400.0, 450.0, 500.0};
constexpr std::array kDiodesV{75.0, 100.0, 200.0, 400.0, 600.0, 1000.0};
constexpr double kDiodeVoltageFactor = 1.0 / 3;  // common practice, no published source

/// The smallest of the usual ratings of which the worst is no more than `factor`.
std::optional<double> smallest_enough(std::span<const double> usual, double worst, double factor) {
  const auto enough =
      std::find_if(usual.begin(), usual.end(), [&](double rated) { return worst <= factor * rated; });
  return enough == usual.end() ? std::nullopt : std::optional(*enough);
}

/// Electrolytic as a rule: large, and with a direct voltage of one sense across them.
bool electrolytic(std::string_view pointer) {
  return pointer == "/reservoir_f" || pointer.ends_with("cathode_bypass_f");
}

std::string series_of(double value) {
  using S = engine::Series;
  constexpr double kSame = 1e-6;
  for (const S s : {S::e3, S::e6, S::e12, S::e24, S::e48, S::e96, S::e192})
    if (std::abs(engine::nearest(s, value) / value - 1) < kSame) return std::string(engine::name_of(s));
  return "";
}

/// Voltage across one resistor: at rest, and over the cycle at the target (empty if not solved).
struct Across {
  double rest_v = 0;
  std::vector<double> cycle_v;
};

Across across(const Design& d, const Evaluation& e, double rest_v,
              double (*at)(const Design&, const Waveforms&, std::size_t)) {
  Across a{rest_v, {}};
  if (e.at_target.solved != Solved::yes) return a;
  for (int k = 0; k < e.waveforms.instants; ++k)
    a.cycle_v.push_back(at(d, e.waveforms, static_cast<std::size_t>(k)));
  return a;
}

Across across_resistor(std::string_view pointer, const Design& d, const Evaluation& e) {
  using W = const Waveforms&;
  using D = const Design&;
  using K = std::size_t;
  const OperatingPoint& rest = e.operating_point;
  if (pointer == "/plate_ohm/0")
    return across(d, e, rest.supply_v - rest.plate_v[0],
                  [](D, W w, K k) { return w.supply_v - w.plate_v[0][k]; });
  if (pointer == "/plate_ohm/1")
    return across(d, e, rest.supply_v - rest.plate_v[1],
                  [](D, W w, K k) { return w.supply_v - w.plate_v[1][k]; });
  if (pointer == "/dropping_ohm")
    return across(d, e, d.main_supply_v - rest.supply_v,
                  [](D x, W w, K) { return x.main_supply_v - w.supply_v; });
  if (pointer == "/bias/ohm")
    return across(d, e, rest.cathode_v - rest.tail_v,
                  [](D, W w, K k) { return w.cathode_v[k] - w.tail_v[k]; });
  if (pointer == "/tail/ohm") return across(d, e, rest.tail_v, [](D, W w, K k) { return w.tail_v[k]; });
  if (pointer == "/cathode_ohm") return across(d, e, rest.cathode_v, [](D, W w, K k) { return w.tail_v[k]; });
  if (pointer == "/first_stage/plate_ohm")
    return across(d, e, rest.supply_v - rest.first.plate_v,
                  [](D, W w, K k) { return w.supply_v - w.first.plate_v[k]; });
  if (pointer == "/first_stage/cathode_ohm")
    return across(d, e, rest.first.cathode_v, [](D, W w, K k) { return w.first.cathode_v[k]; });
  return {};  // a grid leak: millivolts
}

double mean_over_cycle(const std::vector<double>& v) {
  double mean = 0;
  for (std::size_t k = 0; k < v.size(); ++k) mean += cycle_instants().mean[k] * v[k];
  return mean;
}

void fill_stress(PartLine& part, const Across& a, const Evaluation& e, const DesignFactors& factors) {
  if (e.operating_point.solved != Solved::yes) return;
  part.voltage_rest_v = std::abs(a.rest_v);
  part.voltage_worst_v = std::abs(a.rest_v);
  std::vector<double> power_w;
  for (double v : a.cycle_v) {
    part.voltage_worst_v = std::max(*part.voltage_worst_v, std::abs(v));
    power_w.push_back(v * v / part.value);
  }
  part.power_rest_w = a.rest_v * a.rest_v / part.value;
  part.power_worst_w = std::max(*part.power_rest_w, mean_over_cycle(power_w));
  part.rating_w = smallest_enough(kRatingsW, *part.power_worst_w, factors.resistor_power);
  part.rating_v = smallest_enough(kResistorsV, *part.voltage_worst_v, factors.resistor_voltage);
}

PartLine line(std::string_view label, int count, double value, std::string_view unit) {
  PartLine part;
  part.label = label;
  part.count = count;
  part.value = value;
  part.unit = unit;
  part.what = engineering_text(value, unit, 4);
  part.kind = unit == "F" ? PartKind::capacitor : PartKind::resistor;
  part.series = series_of(value);
  return part;
}

/// Without the section's number where there is one section only.
std::string_view label_in(const Design& d, const DesignField& field) {
  return sections(d.circuit) == 1 && field.pointer == "/plate_ohm/0" ? "plate resistor" : field.label;
}

int grid_leaks(const Design& d) {
  // direct coupling: grid 1 has its leak in the plate of the stage before
  return sections(d.circuit) == 1 || d.bias.form == BiasForm::direct_coupled ? 1 : 2;
}

PartLine tube_line(std::string_view label, const Tube& type) {
  PartLine tube;
  tube.kind = PartKind::tube;
  tube.label = label;
  tube.what = type.name;
  if (type.heater.current_a > 0) {
    tube.heater_v = type.heater.volt_v;
    tube.heater_a = type.heater.current_a;
  }
  return tube;
}

std::vector<PartLine> pair_or_gain_stage_tubes(const Design& d) {
  PartLine tube = tube_line("tube", *d.tube[0]);
  if (sections(d.circuit) == 1) return {tube};
  if (d.tube[0] == d.tube[1]) {
    tube.count = d.tube[0]->sections >= 2 ? 1 : 2;
    return {tube};
  }
  return {tube_line("tube of section 1", *d.tube[0]), tube_line("tube of section 2", *d.tube[1])};
}

std::vector<PartLine> tubes(const Design& d) {
  std::vector<PartLine> list = pair_or_gain_stage_tubes(d);
  if (!has_first_stage(d)) return list;
  list.insert(list.begin(), tube_line("tube of the first stage", *d.first_stage.tube));
  return list;
}

/// A cathode resistor of which a part is not bypassed is two resistors; both carry the same current.
void split_cathode(std::vector<PartLine>& parts, std::string_view pointer, double whole_ohm, double bare_ohm,
                   const std::string& label, const Design& d, const Evaluation& e,
                   const DesignFactors& factors) {
  const Across whole = across_resistor(pointer, d, e);
  for (const bool bypassed : {true, false}) {
    const double ohm = bypassed ? whole_ohm - bare_ohm : bare_ohm;
    if (ohm <= 0) continue;
    const bool split = bare_ohm > 0 && bare_ohm < whole_ohm;
    PartLine part = line(label + (!split ? "" : bypassed ? ", bypassed" : ", unbypassed"), 1, ohm, "ohm");
    // The capacitor holds its part of the mean; the signal at the cathode stands across the other part.
    Across share{whole.rest_v * ohm / whole_ohm, {}};
    const double mean_v = mean_over_cycle(whole.cycle_v);
    for (double v : whole.cycle_v)
      share.cycle_v.push_back(mean_v * ohm / whole_ohm + (bypassed ? 0 : v - mean_v));
    fill_stress(part, share, e, factors);
    parts.push_back(part);
  }
}

/// Two in series carry one current and share the voltage; two in parallel have one voltage.
void split_plate_2(std::vector<PartLine>& parts, const engine::TwoPart& two, const Design& d,
                   const Evaluation& e, const DesignFactors& factors) {
  const Across whole = across_resistor("/plate_ohm/1", d, e);
  for (const bool first : {true, false}) {
    const double ohm = first ? two.first : two.second;
    const double share = two.parallel ? 1 : ohm / two.value;
    PartLine part =
        line(first ? "plate resistor 2, first part" : "plate resistor 2, second part", 1, ohm, "ohm");
    Across own{share * whole.rest_v, {}};
    for (const double v : whole.cycle_v) own.cycle_v.push_back(share * v);
    fill_stress(part, own, e, factors);
    if (first)
      part.note =
          "Plate resistor 2 of " + engineering_text(two.value, "ohm", 4) + " is " + two_in_words(two) + ".";
    parts.push_back(part);
  }
}

/// What a capacitor has to stand. Before the tubes conduct the plates are at the whole supply, and the far
/// side of an output's coupling capacitor is at the output valve's bias.
double worst_v(std::string_view pointer, const Design& d, const Evaluation& e) {
  if (pointer == "/cathode_bypass_f") {  // its share of the cathode voltage
    const double share = (d.cathode_ohm - d.cathode_unbypassed_ohm) / d.cathode_ohm;
    return share * std::max(e.operating_point.cathode_v, e.at_target.cathode_high_v);
  }
  if (pointer == "/first_stage/cathode_bypass_f") {
    const FirstStage& f = d.first_stage;
    const double share = (f.cathode_ohm - f.cathode_unbypassed_ohm) / f.cathode_ohm;
    return share * std::max(e.operating_point.first.cathode_v, e.at_target.first.cathode_high_v);
  }
  if (pointer == "/coupling_f") return cold_supply_v(d) + std::abs(d.output_valve_bias_v);
  return cold_supply_v(d);
}

std::string_view note_on(std::string_view pointer) {
  if (pointer == "/dropping_ohm")
    return "The whole main supply stands across the dropping resistor until the reservoir is charged.";
  if (pointer == "/reservoir_f")
    return "The reservoir capacitor has to stand the whole main supply: nothing is dropped before the tubes "
           "conduct.";
  return "";
}

/// The diodes that carry the grids' start-up current.
PartLine clamp_diodes(const Design& d, const Evaluation& e) {
  PartLine part;
  part.kind = PartKind::diode;
  part.label = "clamp diode, grid to cathode";
  part.count = sections(d.circuit);
  part.what = "silicon";
  if (e.operating_point.solved == Solved::yes) {
    double lowest_v =
        std::min(e.operating_point.grid_to_cathode_v[0], e.operating_point.grid_to_cathode_v[1]);
    if (e.at_target.solved == Solved::yes)
      for (int i = 0; i < sections(d.circuit); ++i)
        for (int k = 0; k < e.waveforms.instants; ++k)
          lowest_v = std::min(lowest_v, e.waveforms.grid_to_cathode_v[i][static_cast<std::size_t>(k)]);
    part.voltage_worst_v = std::max(0.0, -lowest_v);  // in reverse
    part.rating_v = smallest_enough(kDiodesV, *part.voltage_worst_v, kDiodeVoltageFactor);
  }
  part.note =
      "The clamp diodes, anode at the grid, hold the grids at the cathodes while the tubes are cold and the "
      "stage before stands at the whole supply; its plate resistor limits their current. In use they are "
      "blocked: any small type that stands the reverse voltage several times over will do.";
  return part;
}

}  // namespace

std::string_view name_of(PartKind kind) {
  switch (kind) {
    case PartKind::tube:
      return "tube";
    case PartKind::resistor:
      return "resistor";
    case PartKind::capacitor:
      return "capacitor";
    case PartKind::diode:
      return "diode";
  }
  return "";
}

std::string derating_in_words(const PartLine& part, const DesignFactors& factors) {
  const auto share = [](double factor) { return engineering_text(100 * factor, "%"); };
  switch (part.kind) {
    case PartKind::tube:
      return "";
    case PartKind::resistor:
      return "at most " + share(factors.resistor_power) + " of its power and " +
             share(factors.resistor_voltage) + " of its voltage";
    case PartKind::capacitor:
      return "at most " + share(kCapacitorVoltageFactor) + " of its voltage";
    case PartKind::diode:
      return "at most a third of its reverse voltage";
  }
  return "";
}

std::string two_in_words(const engine::TwoPart& two) {
  return engineering_text(two.first, "ohm", 4) + (two.parallel ? " and " : " + ") +
         engineering_text(two.second, "ohm", 4) + (two.parallel ? " in parallel" : " in series");
}

std::vector<std::string> plate_2_in_words(const std::vector<Record>& records) {
  std::vector<std::pair<std::string, std::vector<int>>> uses;
  for (const Record& r : records) {
    if (!r.plate_2_of) continue;
    const std::string made = two_in_words(*r.plate_2_of);
    auto at = std::find_if(uses.begin(), uses.end(), [&](const auto& use) { return use.first == made; });
    if (at == uses.end()) at = uses.insert(at, {made, {}});
    at->second.push_back(r.rank);
  }
  std::vector<std::string> words;
  for (const auto& [made, ranks] : uses) {
    std::string text = ranks.size() == 1 ? "Plate 2 of rank " : "Plate 2 of ranks ";
    for (std::size_t i = 0; i < ranks.size(); ++i)
      text += (i == 0 ? "" : i + 1 == ranks.size() ? " and " : ", ") + std::to_string(ranks[i]);
    words.push_back(text + ": " + made + ".");
  }
  return words;
}

std::vector<PartLine> parts_list(const Design& d, const Evaluation& e, const DesignFactors& factors,
                                 const std::optional<engine::TwoPart>& plate_2_of,
                                 const Tolerances& tolerances) {
  std::vector<PartLine> parts = tubes(d);
  std::size_t before = parts.size();
  for (const DesignField& field : design_fields()) {
    const double value = field.value(d);
    if (!field.applies(d) || value <= 0) continue;
    const auto with_tolerance = [&] {
      for (; before < parts.size(); ++before)
        parts[before].tolerance_pct = 100 * tolerance_of(field, tolerances);
    };
    if (field.pointer == "/cathode_ohm") {
      split_cathode(parts, field.pointer, d.cathode_ohm, d.cathode_unbypassed_ohm, "cathode resistor", d, e,
                    factors);
    } else if (field.pointer == "/first_stage/cathode_ohm") {
      split_cathode(parts, field.pointer, d.first_stage.cathode_ohm, d.first_stage.cathode_unbypassed_ohm,
                    std::string(field.label), d, e, factors);
    } else if (field.pointer == "/plate_ohm/1" && plate_2_of) {
      split_plate_2(parts, *plate_2_of, d, e, factors);
    } else if (field.role == FieldRole::resistor && !field.pointer.ends_with("cathode_unbypassed_ohm")) {
      PartLine part =
          line(label_in(d, field), field.pointer == "/grid_leak_ohm" ? grid_leaks(d) : 1, value, field.unit);
      fill_stress(part, across_resistor(field.pointer, d, e), e, factors);
      if (field.pointer == "/dropping_ohm") {
        part.voltage_worst_v = d.main_supply_v;
        part.rating_v = smallest_enough(kResistorsV, d.main_supply_v, factors.resistor_voltage);
      }
      part.note = note_on(field.pointer);
      parts.push_back(part);
    } else if (field.role == FieldRole::capacitor) {
      PartLine part =
          line(field.label, field.pointer == "/coupling_f" ? sections(d.circuit) : 1, value, field.unit);
      part.voltage_worst_v = worst_v(field.pointer, d, e);
      if (electrolytic(field.pointer))
        part.rating_v = smallest_enough(kElectrolyticV, *part.voltage_worst_v, kCapacitorVoltageFactor);
      else
        part.rating_v = smallest_enough(kFilmV, *part.voltage_worst_v, kCapacitorVoltageFactor);
      part.note = note_on(field.pointer);
      parts.push_back(part);
    }
    with_tolerance();
  }
  if (d.bias.form == BiasForm::direct_coupled && d.bias.grid_clamp && sections(d.circuit) == 2)
    parts.push_back(clamp_diodes(d, e));
  return parts;
}

}  // namespace antiphase
