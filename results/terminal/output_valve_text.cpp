#include "results/terminal/output_valve_text.h"

#include <optional>

#include "results/terminal/table.h"
#include "results/text/lines.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

using Align = Table::Align;
constexpr std::size_t kWidth = 80, kIndent = 2;

std::string or_dash(const std::optional<double>& v, std::string_view unit) {
  return v ? engineering_text(*v, unit) : "-";
}

/// How the law meets the points that it was fitted to.
std::string law_text(const OutputValve& v) {
  if (!v.law)
    return "\n" + wrapped(
                      "The card has no law of plate and screen current, so that a pair of this type cannot "
                      "be solved.",
                      kWidth);
  const bool screen = has_screen(v.law->law);
  std::string text = "\nLaw of its currents, beside the points it was fitted to\n";
  Table table({{"", Align::left},
               {"plate"},
               {"screen"},
               {"grid"},
               {"current,\nsheet"},
               {"law"},
               {"gm,\nsheet"},
               {"law"}},
              2);
  for (const OutputValvePoint& p : v.law->points) {
    const OutputValvePoint m = modelled(v.law->law, p);
    const bool triode = p.as_triode || !screen;
    table.add_row({triode ? "triode" : "pentode", engineering_text(p.plate_v, "V"),
                   triode ? "-" : engineering_text(p.screen_v, "V"), engineering_text(p.grid_v, "V"),
                   or_dash(p.plate_current_a, "A"), or_dash(m.plate_current_a, "A"), or_dash(p.gm_s, "S"),
                   p.gm_s ? or_dash(m.gm_s, "S") : "-"});
  }
  text += table.text(kIndent);
  return text + "  " +
         wrapped(printable(v.law->source) + "; antiphase tubes " + printable(v.name) +
                     " --json has its numbers and the source of each point.",
                 kWidth - kIndent, kIndent);
}

}  // namespace

std::string output_valves_line(const std::list<OutputValve>& valves) {
  if (valves.empty()) return "";
  std::string text = "Output valves that a load may name: ";
  for (const OutputValve& v : valves) text += (&v == &valves.front() ? "" : ", ") + v.name;
  return wrapped(printable(text) + ".", kWidth);
}

std::string output_valve_text(const OutputValve& v) {
  std::string text = v.name;
  for (std::size_t i = 0; i < v.also_known_as.size(); ++i)
    text += (i ? ", " : "  (also ") + v.also_known_as[i];
  if (!v.also_known_as.empty()) text += ")";
  text = printable(text) + "\noutput valve, as the stage before it sees it\n";
  if (!v.notes.empty()) text += wrapped(printable(v.notes), kWidth);

  text += "\nGrid circuit\n";
  Table grid({{"", Align::left}, {"value"}}, 2);
  std::string sources;
  const auto row = [&](const std::string& label, const std::string& value, const std::string& source) {
    grid.add_row({label, value});
    if (!source.empty())
      sources += "  " + wrapped(printable(label + ": " + source), kWidth - kIndent, 2 * kIndent);
  };
  row("grid conducts from", engineering_text(v.grid_conduction_v, "V"), v.grid_conduction_source);
  if (v.grid.conducts()) row("then in series", engineering_text(1 / v.grid.siemens, "ohm"), v.grid_source);
  const auto leak = [&](const char* label, const std::optional<Sourced>& limit) {
    if (limit) row(label, engineering_text(limit->value, "ohm"), limit->source);
  };
  leak("leak at most, fixed bias", v.grid_leak_ohm_max_fixed_bias);
  leak("leak at most, cathode bias", v.grid_leak_ohm_max_self_bias);
  if (v.grid_to_rest_f > 0) {
    row("grid to all but the plate", engineering_text(v.grid_to_rest_f, "F"), v.capacitance_source);
    row("grid to plate", engineering_text(v.grid_plate_f, "F"), "");
  }
  if (v.input_f) row("input capacitance in use", engineering_text(v.input_f->value, "F"), v.input_f->source);
  text += grid.text(kIndent) + "\nSources\n" + sources + law_text(v);
  if (v.conditions.empty()) return text;

  text += "\nPublished push-pull conditions\n";
  Table table({{"", Align::left},
               {"class", Align::left},
               {"plate"},
               {"screen"},
               {"bias"},
               {"cathode\nresistor"},
               {"drive, grid to\ngrid, peak"}},
              2);
  for (const OutputValveCondition& c : v.conditions)
    table.add_row({c.connection, c.operating_class.empty() ? "-" : c.operating_class,
                   engineering_text(c.plate_v, "V"), or_dash(c.screen_v, "V"), or_dash(c.bias_v, "V"),
                   or_dash(c.cathode_ohm, "ohm"), or_dash(c.drive_grid_to_grid_peak_v, "V")});
  return text + table.text(kIndent) + "  antiphase tubes " + printable(v.name) +
         " --json has the source of each.\n";
}

}  // namespace antiphase
