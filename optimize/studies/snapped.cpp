#include "optimize/studies/snapped.h"

#include "results/json/json_writer.h"
#include "results/terminal/table.h"
#include "results/text/formatted.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

std::string off_by(double ratio) {
  return formatted("%+.2f %%", 100 * ratio);
}

std::string value_and_error(double ohm, double wanted_ohm) {
  return engineering_text(ohm, "ohm", 4) + " (" + off_by(ohm / wanted_ohm - 1) + ")";
}

std::string pairs_text(const std::vector<engine::TwoPart>& pairs) {
  Table table({{"first", Table::Align::right},
               {"", Table::Align::left},
               {"second", Table::Align::right},
               {"gives", Table::Align::right},
               {"off by", Table::Align::right}},
              2);
  for (const engine::TwoPart& p : pairs)
    table.add_row({engineering_text(p.first, "ohm", 4), p.parallel ? "in parallel with" : "in series with",
                   engineering_text(p.second, "ohm", 4), engineering_text(p.value, "ohm", 5),
                   off_by(p.error_ratio)});
  return "\nTwo resistors that come closer:\n" + table.text(2);
}

}  // namespace

Snapped snap(double wanted_ohm, engine::Series series, int pairs) {
  const auto [below, above] = engine::around(series, wanted_ohm);
  return {wanted_ohm, series, engine::nearest(series, wanted_ohm),
          below,      above,  engine::two_part_combinations(series, wanted_ohm, pairs)};
}

std::string snapped_text(const Snapped& s) {
  std::string text = engineering_text(s.wanted_ohm, "ohm", 4) + " in " + std::string(name_of(s.series)) +
                     ": nearest is " + value_and_error(s.nearest_ohm, s.wanted_ohm) + "\n";
  if (s.below_ohm != s.above_ohm)
    text += "below: " + value_and_error(s.below_ohm, s.wanted_ohm) +
            ", above: " + value_and_error(s.above_ohm, s.wanted_ohm) + "\n";
  return s.pairs.empty() ? text : text + pairs_text(s.pairs);
}

std::string snapped_json(const Snapped& s) {
  JsonWriter json;
  json.begin_object().key("wanted_ohm").value(s.wanted_ohm).key("series").value(name_of(s.series));
  json.key("nearest_ohm").value(s.nearest_ohm).key("below_ohm").value(s.below_ohm);
  json.key("above_ohm").value(s.above_ohm).key("two_resistors").begin_array();
  for (const engine::TwoPart& p : s.pairs) {
    json.begin_object().key("first_ohm").value(p.first).key("second_ohm").value(p.second);
    json.key("connection").value(std::string_view(p.parallel ? "parallel" : "series"));
    json.key("ohm").value(p.value).key("error_pct").value(100 * p.error_ratio).end_object();
  }
  json.end_array().end_object();
  return std::move(json).take() + "\n";
}

}  // namespace antiphase
