#include "optimize/program/snap_command.h"

#include <cmath>
#include <cstdio>

#include "configs/quantity_text.h"
#include "optimize/engine/snapping/preferred_values.h"
#include "optimize/program/exit_codes.h"
#include "optimize/program/places.h"
#include "results/json/json_writer.h"
#include "results/terminal/table.h"

namespace antiphase {
namespace {

constexpr double kLeastOhm = 1e-3, kMostOhm = 1e12;

double error_pct(double got, double wanted) {
  return 100 * (got / wanted - 1);
}

std::string signed_pct(double pct) {
  char text[32];
  std::snprintf(text, sizeof text, "%+.2f %%", pct);
  return text;
}

}  // namespace

int run_snap(const SnapArguments& arguments) {
  const auto series = engine::series_named(arguments.series);
  if (!series) {
    std::fprintf(
        stderr,
        "antiphase snap: --series: \"%s\" is not a series; there are E3, E6, E12, E24, E48, E96 and E192\n",
        arguments.series.c_str());
    return kBadInput;
  }
  const std::optional<double> wanted = parse_quantity(arguments.value, "ohm");
  if (!wanted || !(*wanted >= kLeastOhm && *wanted <= kMostOhm)) {
    std::fprintf(stderr, "antiphase snap: \"%s\" is not a resistance from 1 mΩ to 1 TΩ; write %s\n",
                 arguments.value.c_str(), quantity_examples("ohm").c_str());
    return kBadInput;
  }
  const double value = *wanted;
  const double nearest = engine::nearest(*series, value);
  const auto [below, above] = engine::around(*series, value);
  const auto pairs = engine::two_part_combinations(*series, value, arguments.combinations);

  if (arguments.json) {
    JsonWriter json;
    json.begin_object().key("wanted_ohm").value(value).key("series").value(name_of(*series));
    json.key("nearest_ohm").value(nearest).key("below_ohm").value(below).key("above_ohm").value(above);
    json.key("two_resistors").begin_array();
    for (const engine::TwoPart& p : pairs) {
      json.begin_object().key("first_ohm").value(p.first).key("second_ohm").value(p.second);
      json.key("connection").value(std::string_view(p.parallel ? "parallel" : "series"));
      json.key("ohm").value(p.value).key("error_pct").value(100 * p.error_ratio).end_object();
    }
    json.end_array().end_object();
    return print(std::move(json).take() + "\n") ? kDone : kFileTrouble;
  }

  std::string text = engineering(value, "ohm", 4) + " in " + std::string(name_of(*series)) + ": nearest is " +
                     engineering(nearest, "ohm", 4) + " (" + signed_pct(error_pct(nearest, value)) + ")\n";
  if (below != above)
    text += "below: " + engineering(below, "ohm", 4) + " (" + signed_pct(error_pct(below, value)) +
            "), above: " + engineering(above, "ohm", 4) + " (" + signed_pct(error_pct(above, value)) + ")\n";
  if (!pairs.empty()) {
    text += "\nTwo resistors that come closer:\n";
    Table table({{"first", Table::Align::right},
                 {"", Table::Align::left},
                 {"second", Table::Align::right},
                 {"gives", Table::Align::right},
                 {"off by", Table::Align::right}},
                2);
    for (const engine::TwoPart& p : pairs)
      table.add_row({engineering(p.first, "ohm", 4), p.parallel ? "in parallel with" : "in series with",
                     engineering(p.second, "ohm", 4), engineering(p.value, "ohm", 5),
                     signed_pct(100 * p.error_ratio)});
    text += table.text(2);
  }
  return print(text) ? kDone : kFileTrouble;
}

}  // namespace antiphase
