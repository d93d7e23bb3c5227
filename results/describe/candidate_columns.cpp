#include "results/describe/candidate_columns.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "results/describe/figure_text.h"
#include "results/describe/gain_words.h"
#include "results/text/lines.h"
#include "results/text/units.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/members.h"

namespace antiphase {
namespace {

constexpr int kDigits = 3, kMostDecimals = 4;
using Records = std::vector<const Record*>;
using A = TextColumn::Align;

struct Kind {
  const char* heading;
  A align;
  bool (*applies)(const Design&);
  std::string (*cell)(const Record&);
};

bool every(const Design&) {
  return true;
}
bool behind_first(const Design& d) {
  return has_first_stage(d);
}
bool split_load(const Design& d) {
  return has_role(d, Role::cathode_load);
}
bool two_plates(const Design& d) {
  return plate_resistors(d.circuit) == 2 && !split_load(d);
}
bool one_plate(const Design& d) {
  return plate_resistors(d.circuit) == 1;
}
bool cathode_resistor(const Design& d) {
  return has_member(d.circuit, member::cathode_ohm);
}
bool unbypassed_part(const Design& d) {  // of a gain stage a search chooses it, and 0 says something
  return has_member(d.circuit, member::cathode_unbypassed_ohm) &&
         (outputs(d.circuit) == 1 || d.cathode_unbypassed_ohm > 0);
}
bool divided(const Design& d) {
  return has_member(d.circuit, member::divider_foot_ohm);
}
bool balances_itself(const Design& d) {
  return has_member(d.circuit, member::balancing_ohm);
}
bool chooses_bias(const Design& d) {
  return !circuit(d.circuit).bias_forms.empty();
}
bool chooses_tail(const Design& d) {
  return !circuit(d.circuit).tail_forms.empty();
}
bool two_currents(const Design& d) {  // behind a first stage the line is full without
  return sections(d.circuit) == 2 && !has_first_stage(d);
}
bool one_current(const Design& d) {
  return sections(d.circuit) == 1 && !has_first_stage(d);
}
bool dropped(const Design& d) {
  return d.main_supply_v > 0;
}

std::string tubes_of(const Design& d) {
  if (sections(d.circuit) == 1 || d.tube[0] == d.tube[1]) return d.tube[0]->name;
  return d.tube[0]->name + "+" + d.tube[1]->name;
}

std::string kilo_ohm(double ohm) {
  return engineering_text(ohm / 1e3, "1", 4);
}

/// Given, or what is left of the main supply behind the dropping resistor.
std::string supply_text(const Record& r) {
  if (!(r.design.main_supply_v > 0)) return engineering_text(r.design.supply_v, "1", 4);
  const OperatingPoint& op = r.evaluation.operating_point;
  return op.solved == Solved::yes ? engineering_text(op.supply_v, "1", 3) : "-";
}

/// "300+100": the parts that are bought.
std::string cathode_text(double whole_ohm, double bare_ohm) {
  const auto text = [](double ohm) { return engineering_text(ohm, "1", 4); };
  return bare_ohm > 0 && bare_ohm < whole_ohm ? text(whole_ohm - bare_ohm) + "+" + text(bare_ohm)
                                              : text(whole_ohm);
}

/// "91+3.9", or with a stroke for two in parallel.
std::string plate_2_text(const Record& r) {
  if (!r.plate_2_of) return kilo_ohm(r.design.plate_ohm[1]);
  return kilo_ohm(r.plate_2_of->first) + (r.plate_2_of->parallel ? "\u2225" : "+") +
         kilo_ohm(r.plate_2_of->second);
}

std::string bias_text(const Design& d) {
  switch (d.bias.form) {
    case BiasForm::self_biased:
      return engineering_text(d.bias.ohm, "ohm", 4);
    case BiasForm::direct_coupled:
      if (!member::bias_grid_v.applies(d)) return "direct";  // the first stage's plate sets it
      return "grid " + engineering_text(d.bias.grid_v, "V", 3);
    case BiasForm::negative_rail:
      return "rail " + engineering_text(d.bias.rail_v, "V", 3);
  }
  return "";
}

std::string tail_text(const Design& d) {
  return d.tail.form == TailForm::resistor ? engineering_text(d.tail.ohm, "ohm", 4)
                                           : engineering_text(d.tail.current_a, "A", 3);
}

std::string current_text(const Record& r, std::size_t section) {
  const OperatingPoint& op = r.evaluation.operating_point;
  if (op.solved != Solved::yes) return "-";
  return significant_text(op.plate_current_a[section] * 1e3, kDigits, kMostDecimals);
}

constexpr std::array kKinds{
    Kind{"first\ntube", A::left, behind_first,
         [](const Record& r) { return r.design.first_stage.tube->name; }},
    Kind{"first\nstage", A::left,
         [](const Design& d) { return has_first_stage(d) && d.first_stage.form != GainForm::triode; },
         [](const Record& r) { return std::string(words_of(r.design.first_stage.form).few); }},
    Kind{"its plate\nkΩ", A::point, behind_first,
         [](const Record& r) {
           const double ohm = r.design.first_stage.plate_ohm;
           return ohm > 0 ? kilo_ohm(ohm) : std::string("-");
         }},
    Kind{"screen\nkΩ", A::point,
         [](const Design& d) { return has_first_stage(d) && d.first_stage.form == GainForm::pentode; },
         [](const Record& r) {
           const double ohm = r.design.first_stage.screen_ohm;
           return ohm > 0 ? kilo_ohm(ohm) : std::string("-");
         }},
    Kind{"cathode\nΩ", A::right, behind_first,
         [](const Record& r) {
           return cathode_text(r.design.first_stage.cathode_ohm, r.design.first_stage.cathode_unbypassed_ohm);
         }},
    Kind{"tube", A::left, every, [](const Record& r) { return tubes_of(r.design); }},
    Kind{"supply\nV", A::right, every, supply_text},
    Kind{"dropper\nkΩ", A::point, dropped, [](const Record& r) { return kilo_ohm(r.design.dropping_ohm); }},
    Kind{"plate 1\nkΩ", A::point, two_plates,
         [](const Record& r) { return kilo_ohm(r.design.plate_ohm[0]); }},
    Kind{"plate 2\nkΩ", A::point, two_plates, plate_2_text},
    Kind{"plate\nload kΩ", A::point, split_load,
         [](const Record& r) { return kilo_ohm(r.design.plate_ohm[0]); }},
    Kind{"cathode\nload kΩ", A::point, split_load,
         [](const Record& r) { return kilo_ohm(r.design.plate_ohm[1]); }},
    Kind{"plate\nkΩ", A::point, one_plate, [](const Record& r) { return kilo_ohm(r.design.plate_ohm[0]); }},
    Kind{"cathode\nΩ", A::right, cathode_resistor,
         [](const Record& r) { return cathode_text(r.design.cathode_ohm, r.design.cathode_unbypassed_ohm); }},
    Kind{"of it without\nbypass, Ω", A::right, unbypassed_part,
         [](const Record& r) { return engineering_text(r.design.cathode_unbypassed_ohm, "1", 4); }},
    Kind{"divider\nkΩ", A::right, divided,
         [](const Record& r) {
           return kilo_ohm(r.design.divider_ohm) + "/" + kilo_ohm(r.design.divider_foot_ohm);
         }},
    Kind{"from\noutput 2\nkΩ", A::point, balances_itself,
         [](const Record& r) { return kilo_ohm(r.design.balancing_ohm); }},
    Kind{"driver", A::left, [](const Design& d) { return has_driver(d); },
         [](const Record& r) {
           return (r.design.driver.form == DriverForm::cathode_followers ? "followers " : "pair ") +
                  r.design.driver.tube->name;
         }},
    Kind{"bias", A::right, chooses_bias, [](const Record& r) { return bias_text(r.design); }},
    Kind{"tail", A::right, chooses_tail, [](const Record& r) { return tail_text(r.design); }},
    Kind{"plate 1\nmA", A::point, two_currents, [](const Record& r) { return current_text(r, 0); }},
    Kind{"plate 2\nmA", A::point, two_currents, [](const Record& r) { return current_text(r, 1); }},
    Kind{"plate\nmA", A::point, one_current, [](const Record& r) { return current_text(r, 0); }},
};

/// What does not show in the decimals that there are is plainly 0.
std::string cell_text(const Figure& figure, double value, double factor) {
  if (is_no_corner(figure.name, value)) return "none";
  const std::string text = significant_text(value / factor, kDigits, kMostDecimals);
  return text.find_first_of("123456789") == std::string::npos ? "0" : text;
}

/// A label of several words on lines of at most `width` columns.
std::string stacked(std::string_view label, std::size_t width) {
  std::string text = wrapped(label, width);
  text.pop_back();
  return text;
}

}  // namespace

std::string short_name(CircuitKind kind) {
  std::string name(name_of(kind));
  std::replace(name.begin(), name.end(), '_', ' ');
  return name;
}

std::vector<TextColumn> build_columns(const Records& records, bool compares_circuits) {
  std::vector<TextColumn> columns;
  const bool differ = std::any_of(records.begin(), records.end(), [&](const Record* r) {
    return r->design.circuit != records.front()->design.circuit;
  });
  if (compares_circuits || differ) {
    columns.push_back({"circuit", A::left, {}});
    for (const Record* r : records) columns.back().cells.push_back(short_name(r->design.circuit));
  }
  for (const Kind& kind : kKinds) {
    const auto uses = [&](const Record* r) { return kind.applies(r->design); };
    if (std::none_of(records.begin(), records.end(), uses)) continue;
    TextColumn column{kind.heading, kind.align, {}};
    for (const Record* r : records) column.cells.push_back(uses(r) ? kind.cell(*r) : "");
    columns.push_back(std::move(column));
  }
  return columns;
}

std::vector<TextColumn> figure_columns(const Records& records, const std::vector<std::size_t>& shown) {
  constexpr std::size_t kHeadingWidth = 10;
  std::vector<TextColumn> columns;
  for (std::size_t f : shown) {
    const Figure& figure = figures()[f];
    double largest = 0;
    for (const Record* r : records)
      if (r->figures[f]) largest = std::max(largest, std::abs(*r->figures[f]));
    const Prefix prefix = prefix_for(largest, figure.unit);
    const std::string unit = std::string(prefix.text) + std::string(unit_sign(figure.unit));
    TextColumn column{stacked(figure.label, kHeadingWidth) + (unit.empty() ? "" : "\n" + unit), A::point, {}};
    for (const Record* r : records) {
      const auto& v = r->figures[f];
      column.cells.push_back(v ? cell_text(figure, *v, prefix.factor) : "-");
    }
    columns.push_back(std::move(column));
  }
  return columns;
}

std::string score_text(const Record& r) {
  return r.score ? significant_text(*r.score, kDigits, kMostDecimals) : "-";
}

}  // namespace antiphase
