/// What the page has to hand to the solver inside it, as one list of numbers: the same functions write it (in
/// the program) and read it (in the page), so that both ends stay in step.
///
/// Numbers of a design, laws, figures and limits follow from their tables. Of every other struct
/// pass_members() names each member once, in the struct's own order: a member that is new does not compile
/// before it stands here, and here is said whether it goes to the page. What no figure, limit, drawing or
/// table of a design needs (published points, sources, notes) stays at home.
#pragma once

#include "objectives/builds/tolerances.h"
#include "objectives/demands.h"
#include "results/page/live/live_io.h"
#include "stagemodels/design_fields.h"

namespace antiphase {

template <class Io>
void pass_members(Io& io, GridDiode& diode) {
  auto& [siemens, slope_v, knee_v] = diode;
  pass_each(io, siemens, slope_v, knee_v);
}

template <class Io>
void pass_members(Io& io, TubeRatings& ratings) {
  auto& [plate_v, plate_cold_v, plate_w, plates_total_w, cathode_current_a, grid_v_negative,
         heater_positive_v, heater_negative_v, heater_positive_dc_v, leak_fixed_ohm, leak_self_ohm] = ratings;
  pass_each(io, plate_v, plate_cold_v, plate_w, plates_total_w, cathode_current_a, grid_v_negative,
            heater_positive_v, heater_negative_v, heater_positive_dc_v, leak_fixed_ohm, leak_self_ohm);
}

template <class Io>
void pass_members(Io& io, TubeHeater& heater) {
  auto& [volt_v, current_a, source] = heater;
  pass_each(io, volt_v, current_a);
}

template <class Io>
void pass_members(Io& io, TubeCapacitances& capacitance) {
  auto& [grid_plate_f, grid_cathode_f, plate_cathode_f, source] = capacitance;
  pass_each(io, grid_plate_f, grid_cathode_f, plate_cathode_f);
}

template <class Io, class Law>
void pass_law_numbers(Io& io, Law& law) {
  for (const auto& field : Law::fields()) io.number(law.*field.member);
  if constexpr (requires { Law::lists(); })
    for (const auto& field : Law::lists())
      for (double& v : law.*field.member) io.number(v);
}

/// The alternatives of TriodeLaw or OutputLaw in their order; a place beyond them is refused.
template <std::size_t N = 0, class Io, class AnyLaw>
void pass_law(Io& io, AnyLaw& law, std::size_t which) {
  if constexpr (N < std::variant_size_v<AnyLaw>) {
    if (which != N) return pass_law<N + 1>(io, law, which);
    if constexpr (Io::kReads) law.template emplace<N>();
    if (auto* const own = std::get_if<N>(&law)) pass_law_numbers(io, *own);
  } else {
    io.refuse();
  }
}

template <class Io>
void pass_members(Io& io, TubeModel& model) {
  auto& [law, source, credible] = model;
  std::size_t which = law.index();
  pass(io, which);
  pass_law(io, law, which);
  pass(io, credible);
}

/// The drawing tells pins.
template <class Io>
void pass_members(Io& io, TubeBase& base) {
  auto& [socket, basing, pins, source] = base;
  pass_each(io, socket, pins);
}

template <class Io>
void pass_members(Io& io, Pentode& pentode) {
  auto& [given, law, source, points, screen_v, screen_cold_v, screen_w] = pentode;
  pass(io, given);
  if (!given) return;
  pass_law_numbers(io, law);
  pass_each(io, screen_v, screen_cold_v, screen_w);
}

template <class Io>
void pass_members(Io& io, Tube& tube) {
  auto& [name, also_known_as, sections, base, ratings, heater, capacitance, grid_conduction_v, grid_diode,
         grid_diode_source, plate_current_spread_pct, spread_source, notes, models, pentode, published_points,
         curve_files] = tube;
  pass_each(io, name, sections, base, ratings, heater, capacitance, grid_conduction_v, grid_diode,
            plate_current_spread_pct, models, pentode);
}

template <class Io>
void pass_members(Io& io, OutputValveLaw& valve_law) {
  auto& [law, points, source] = valve_law;
  std::size_t which = law.index();
  pass(io, which);
  pass_law(io, law, which);
}

template <class Io>
void pass_members(Io& io, OutputValve& valve) {
  auto& [name, also_known_as, grid, grid_conduction_v, conduction_source, grid_source, leak_fixed_ohm,
         leak_self_ohm, grid_to_rest_f, grid_plate_f, capacitance_source, input_f, law, conditions, notes] =
      valve;
  pass_each(io, name, grid, grid_conduction_v, leak_fixed_ohm, leak_self_ohm, grid_to_rest_f, grid_plate_f,
            input_f, law);
}

template <class Io>
void pass_members(Io& io, OutputTransformer& transformer) {
  auto& [plate_to_plate_ohm, load_ohm, primary_ohm, secondary_ohm, primary_h, leakage_h, primary_f,
         secondary_f] = transformer;
  pass_each(io, plate_to_plate_ohm, load_ohm, primary_ohm, secondary_ohm, primary_h, leakage_h, primary_f,
            secondary_f);
}

/// A place in a table, or -1.
template <class Io, class T>
void pass_place(Io& io, const T*& item, const std::vector<const T*>& table) {
  int place = -1;
  for (std::size_t i = 0; i < table.size(); ++i)
    if (table[i] == item) place = static_cast<int>(i);
  pass_whole(io, place);
  if constexpr (Io::kReads)
    item = place >= 0 && place < static_cast<int>(table.size()) ? table[static_cast<std::size_t>(place)]
                                                                : nullptr;
}

/// What designs point to.
struct LiveTables {
  std::vector<const Tube*> tubes;
  std::vector<const OutputValve*> output_valves;
};

template <class Io>
void pass_members(Io& io, SectionSpread& spread) {
  auto& [current, mu] = spread;
  pass_each(io, current, mu);
}

template <class Io>
void pass_output_stage(Io& io, OutputStage& stage, const LiveTables& tables) {
  auto& [given, watts, pair] = stage;
  auto& [valve, supply_v, screens, screen_v, screen_ohm, tap, bias, bias_v, cathode_ohm, transformer,
         source_ohm, grid_leak_ohm] = pair;
  pass(io, given);
  for (const OutputValve*& one : valve) pass_place(io, one, tables.output_valves);
  pass_each(io, watts, supply_v, screens, screen_v, screen_ohm, tap, bias, bias_v, cathode_ohm, transformer,
            source_ohm, grid_leak_ohm);
}

/// Of a design what is no number of its own: circuit and forms, tubes, law and output valve.
template <class Io>
void pass_forms(Io& io, Design& d, const LiveTables& tables) {
  pass_each(io, d.circuit, d.bias.form, d.bias.grid_clamp, d.tail.form, d.feedback.given, d.driver.form,
            d.first_stage.form);
  for (const Tube** tube :
       {&d.tube[0], &d.tube[1], &d.first_stage.tube, &d.first_stage.second_tube, &d.driver.tube})
    pass_place(io, *tube, tables.tubes);
  pass_each(io, d.law, d.spread[0], d.spread[1], d.first_stage.spread, d.first_stage.second_spread,
            d.driver.spread[0], d.driver.spread[1]);
  pass_place(io, d.output_valve, tables.output_valves);
  pass_output_stage(io, d.output_stage, tables);
}

/// How many numbers pass_forms() passes.
inline std::size_t forms_size() {
  LiveWriter io;
  Design any;
  pass_forms(io, any, {});
  return io.count();
}

/// The forms, then each of design_fields() in order, whether it applies or not, then the output valve's bias:
/// forms_size() + design_fields().size() + 2 numbers.
template <class Io>
void pass_design(Io& io, Design& d, const LiveTables& tables) {
  pass_forms(io, d, tables);
  for (const DesignField& field : design_fields()) io.number(field.at(d));
  io.number(d.output_valve_bias_v);
  pass_whole(io, d.output_valve_bias);
}

/// A place in figures(); any other is refused.
template <class Io>
void pass_figure(Io& io, const Figure*& figure) {
  int place = figure ? static_cast<int>(figure - figures().data()) : 0;
  pass_whole(io, place);
  if constexpr (Io::kReads) {
    const bool known = place >= 0 && static_cast<std::size_t>(place) < figures().size();
    if (!known) io.refuse();
    figure = &figures()[known ? static_cast<std::size_t>(place) : 0];
  }
}

template <class Io>
void pass_members(Io& io, Objective& objective) {
  auto& [figure, weight, scale] = objective;
  pass_figure(io, figure);
  pass_each(io, weight, scale);
}

template <class Io>
void pass_members(Io& io, FigureLimit& limit) {
  auto& [figure, at_most, at_least, one_of, near_share, not_for] = limit;
  pass_figure(io, figure);
  pass_each(io, at_most, at_least, one_of, near_share, not_for);
}

template <class Io>
void pass_members(Io& io, DesignFactors& factors) {
  auto& [plate_dissipation, plate_voltage, cathode_current, heater_cathode, resistor_power, resistor_voltage,
         least_plate_current_a, supply_waits, left_out, outside_as_given] = factors;
  pass_each(io, plate_dissipation, plate_voltage, cathode_current, heater_cathode, resistor_power,
            resistor_voltage, least_plate_current_a, supply_waits, left_out, outside_as_given);
}

template <class Io>
void pass_members(Io& io, Stock::Item& item) {
  auto& [value, pieces] = item;
  pass_each(io, value, pieces);
}

template <class Io>
void pass_members(Io& io, Stock& stock) {
  auto& [resistors, capacitors] = stock;
  pass_each(io, resistors, capacitors);
}

template <class Io>
void pass_members(Io& io, engine::TwoPart& two) {
  auto& [first, second, parallel, value, error_ratio] = two;
  pass_each(io, first, second, parallel, value, error_ratio);
}

template <class Io>
void pass_members(Io& io, PartSupply& parts) {
  auto& [on_hand, plate_2] = parts;
  pass_each(io, on_hand, plate_2);
}

template <class Io>
void pass_members(Io& io, Demands& demands) {
  auto& [objectives, limits, factors, parts, figures_left_out, parts_left_out] = demands;
  pass_each(io, objectives, limits, factors, parts, figures_left_out, parts_left_out);
}

/// The part as the text of its place in a design; null where a damaged page names none.
template <class Io>
void pass_members(Io& io, Tolerances::One& one) {
  auto& [part, pct] = one;
  std::string pointer(part ? part->pointer : "");
  pass_each(io, pointer, pct);
  if constexpr (Io::kReads) part = find_design_field(pointer);
}

/// Of the tolerances what a list of parts says.
template <class Io>
void pass_members(Io& io, Tolerances& tolerances) {
  auto& [resistor_pct, capacitor_pct, mains_pct, setting_pct, mu_pct, plate_current_pct, emission_left, parts,
         mains, tubes, single, known] = tolerances;
  pass_each(io, resistor_pct, capacitor_pct, mains_pct, setting_pct, mu_pct, emission_left, single);
  if constexpr (Io::kReads) std::erase_if(single, [](const Tolerances::One& one) { return !one.part; });
}

}  // namespace antiphase
