/// What the page has to hand to the live code, member by member, as one list of numbers.
///
/// The same functions write the list (in the program) and read it (in the page), so that both ends stay in
/// step: `io.number(x)` takes a number either way. A text is its length and its bytes; an optional is 1 and
/// itself or 0; a list is its length and its members. What no figure, limit, drawing or table of a design
/// needs (published points, base, sources, notes) stays at home.
#pragma once

#include <array>
#include <cmath>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "objectives/demands.h"
#include "results/report.h"
#include "stagemodels/design_fields.h"

namespace antiphase {

class LiveWriter {
 public:
  static constexpr bool kReads = false;
  void number(double& v) { numbers_.push_back(v); }
  std::vector<double> take() && { return std::move(numbers_); }
  bool good() const { return true; }

 private:
  std::vector<double> numbers_;
};

class LiveReader {
 public:
  static constexpr bool kReads = true;
  LiveReader(const double* numbers, std::size_t count) : next_(numbers), left_(count) {}
  void number(double& v) {
    if (left_ == 0) {
      good_ = false;
      v = 0;
      return;
    }
    v = *next_++;
    --left_;
  }
  bool good() const { return good_; }
  std::size_t left() const { return left_; }

 private:
  const double* next_;
  std::size_t left_;
  bool good_ = true;
};

template <class Io, class Whole>
void pass_whole(Io& io, Whole& v) {
  double number = static_cast<double>(v);
  io.number(number);
  if constexpr (Io::kReads)
    v = static_cast<Whole>(std::abs(number) < 9e15 ? static_cast<long long>(number) : 0);
}

/// Lengths are held to what such a list can have, so that a damaged page asks for no giant.
inline constexpr std::size_t kMostOfAList = 100000;

template <class Io, class List, class Each>
void pass_list(Io& io, List& list, Each each) {
  std::size_t count = list.size();
  pass_whole(io, count);
  if constexpr (Io::kReads) list.resize(io.good() && count <= kMostOfAList ? count : 0);
  for (auto& item : list) each(item);
}

template <class Io>
void pass_text(Io& io, std::string& text) {
  pass_list(io, text, [&](char& c) {
    auto byte = static_cast<unsigned char>(c);
    pass_whole(io, byte);
    c = static_cast<char>(byte);
  });
}

/// A member of a design, as the text of its place in a file; null where a damaged page names none.
template <class Io>
void pass_field(Io& io, const DesignField*& field) {
  std::string pointer(field ? field->pointer : "");
  pass_text(io, pointer);
  if constexpr (Io::kReads) field = find_design_field(pointer);
}

template <class Io, class T, class Each>
void pass_optional(Io& io, std::optional<T>& v, Each each) {
  bool given = v.has_value();
  pass_whole(io, given);
  if constexpr (Io::kReads) v = given ? std::optional<T>(T{}) : std::nullopt;
  if (v) each(*v);
}

/// A rating or the like: its number alone.
template <class Io>
void pass_sourced(Io& io, std::optional<Sourced>& v) {
  pass_optional(io, v, [&](Sourced& s) { io.number(s.value); });
}

template <class Io, class Law>
void pass_law_numbers(Io& io, Law& law) {
  for (const auto& field : Law::fields()) io.number(law.*field.member);
  if constexpr (requires { Law::lists(); })
    for (const auto& field : Law::lists())
      for (double& v : law.*field.member) io.number(v);
}

/// The alternatives of TriodeLaw in their order.
template <std::size_t N = 0, class Io>
void pass_law(Io& io, TriodeLaw& law, std::size_t which) {
  if constexpr (N < std::variant_size_v<TriodeLaw>) {
    if (which != N) return pass_law<N + 1>(io, law, which);
    if constexpr (Io::kReads) law.emplace<N>();
    if (auto* const own = std::get_if<N>(&law)) pass_law_numbers(io, *own);
  }
}

template <class Io>
void pass_diode(Io& io, GridDiode& d) {
  io.number(d.siemens);
  io.number(d.slope_v);
  io.number(d.knee_v);
}

template <class Io>
void pass_tube(Io& io, Tube& t) {
  pass_text(io, t.name);
  pass_whole(io, t.sections);
  TubeRatings& r = t.ratings;
  for (auto* rating :
       {&r.plate_v_max, &r.plate_cold_v_max, &r.plate_w_max, &r.plates_total_w_max, &r.cathode_current_a_max,
        &r.grid_v_negative_max, &r.heater_cathode_v_max_cathode_positive,
        &r.heater_cathode_v_max_cathode_negative, &r.heater_cathode_v_max_cathode_positive_dc,
        &r.grid_leak_ohm_max_fixed_bias, &r.grid_leak_ohm_max_self_bias})
    pass_sourced(io, *rating);
  io.number(t.heater.volt_v);
  io.number(t.heater.current_a);
  io.number(t.capacitance.grid_plate_f);
  io.number(t.capacitance.grid_cathode_f);
  io.number(t.capacitance.plate_cathode_f);
  io.number(t.grid_conduction_v.value);
  pass_diode(io, t.grid_diode);
  io.number(t.plate_current_spread_pct);
  pass_list(io, t.models, [&](TubeModel& m) {
    std::size_t which = m.law.index();
    pass_whole(io, which);
    pass_law(io, m.law, which);
    pass_whole(io, m.credible);
  });
}

template <class Io>
void pass_output_valve(Io& io, OutputValve& v) {
  pass_text(io, v.name);
  pass_diode(io, v.grid);
  io.number(v.grid_conduction_v);
  pass_sourced(io, v.grid_leak_ohm_max_fixed_bias);
  pass_sourced(io, v.grid_leak_ohm_max_self_bias);
  io.number(v.grid_to_rest_f);
  io.number(v.grid_plate_f);
  pass_sourced(io, v.input_f);
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

/// Places of a design's forms come first, then each of design_fields() in order, whether it applies or not:
/// kFormsOfADesign + design_fields().size() numbers.
inline constexpr std::size_t kFormsOfADesign = 16;

template <class Io>
void pass_design(Io& io, Design& d, const LiveTables& tables) {
  pass_whole(io, d.circuit);
  pass_whole(io, d.bias.form);
  pass_whole(io, d.bias.grid_clamp);
  pass_whole(io, d.tail.form);
  pass_whole(io, d.feedback.given);
  pass_place(io, d.tube[0], tables.tubes);
  pass_place(io, d.tube[1], tables.tubes);
  pass_place(io, d.first_stage.tube, tables.tubes);
  pass_whole(io, d.law);
  for (SectionSpread* s : {&d.spread[0], &d.spread[1], &d.first_stage.spread}) {
    io.number(s->current);
    io.number(s->mu);
  }
  pass_place(io, d.output_valve, tables.output_valves);
  for (const DesignField& field : design_fields()) io.number(field.at(d));
  io.number(d.output_valve_bias_v);
}

template <class Io>
void pass_figure(Io& io, const Figure*& figure) {
  int place = figure ? static_cast<int>(figure - figures().data()) : 0;
  pass_whole(io, place);
  if constexpr (Io::kReads)
    figure = &figures()[place >= 0 && static_cast<std::size_t>(place) < figures().size()
                            ? static_cast<std::size_t>(place)
                            : 0];
}

template <class Io>
void pass_stock(Io& io, std::vector<Stock::Item>& items) {
  pass_list(io, items, [&](Stock::Item& i) {
    io.number(i.value);
    pass_whole(io, i.pieces);
  });
}

template <class Io>
void pass_demands(Io& io, Demands& d) {
  const auto plain = [&](double& v) { io.number(v); };
  pass_list(io, d.objectives, [&](Objective& o) {
    pass_figure(io, o.figure);
    io.number(o.weight);
    io.number(o.scale);
  });
  pass_list(io, d.limits, [&](FigureLimit& l) {
    pass_figure(io, l.figure);
    pass_optional(io, l.at_most, plain);
    pass_optional(io, l.at_least, plain);
    pass_list(io, l.one_of, plain);
    io.number(l.near_share);
  });
  DesignFactors& f = d.factors;
  for (double* v : {&f.plate_dissipation, &f.plate_voltage, &f.cathode_current, &f.heater_cathode,
                    &f.resistor_power, &f.resistor_voltage})
    io.number(*v);
  pass_whole(io, f.left_out);
  pass_optional(io, d.parts.on_hand, [&](Stock& s) {
    pass_stock(io, s.resistors);
    pass_stock(io, s.capacitors);
  });
  pass_list(io, d.parts.plate_2, [&](engine::TwoPart& t) {
    io.number(t.first);
    io.number(t.second);
    pass_whole(io, t.parallel);
    io.number(t.value);
    io.number(t.error_ratio);
  });
  pass_whole(io, d.figures_left_out);
  pass_whole(io, d.parts_left_out);
}

/// Of the tolerances what a list of parts says.
template <class Io>
void pass_tolerances(Io& io, Tolerances& t) {
  for (double* v :
       {&t.resistor_pct, &t.capacitor_pct, &t.mains_pct, &t.setting_pct, &t.mu_pct, &t.emission_left})
    io.number(*v);
  pass_list(io, t.single, [&](Tolerances::One& one) {
    pass_field(io, one.part);
    io.number(one.pct);
  });
  if constexpr (Io::kReads) std::erase_if(t.single, [](const Tolerances::One& one) { return !one.part; });
}

/// Series of each of design_fields() in order.
template <class Io>
void pass_series(Io& io, std::vector<engine::Series>& series) {
  pass_list(io, series, [&](engine::Series& s) { pass_whole(io, s); });
}

}  // namespace antiphase
