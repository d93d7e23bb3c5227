#include "results/terminal/tube_text.h"

#include <algorithm>
#include <cmath>

#include "results/describe/plate_currents.h"
#include "results/describe/tube_points.h"
#include "results/terminal/table.h"
#include "results/text/lines.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

constexpr std::size_t kWidth = 80;
using Align = Table::Align;

/// The beginning of a text that has to fit a column; ASCII sources only lose their end.
std::string shortened(const std::string& text, std::size_t width) {
  if (display_width(text) <= width) return text;
  std::string cut = text.substr(0, width - 3);
  while (!cut.empty() && (static_cast<unsigned char>(cut.back()) & 0x80) != 0) cut.pop_back();
  return cut + "...";
}

std::string percent(const std::optional<double>& pct) {
  if (!pct) return "-";
  std::string text = significant_text(*pct, 3, 1);
  return *pct > 0 ? "+" + text : text;
}

/// A star behind what is more than the plate may dissipate.
std::string currents_table(const Tube& tube) {
  const PlateCurrents table = plate_currents(tube, tube.law());
  std::vector<Table::Column> columns{{"grid\nV", Align::point}};
  for (const double plate_v : table.plate_v)
    columns.push_back({significant_text(plate_v, 3, 0) + " V", Align::point});
  Table text(columns, 2);
  bool starred = false;
  for (std::size_t row = 0; row < table.grid_v.size(); ++row) {
    std::vector<std::string> cells{significant_text(table.grid_v[row], 3, 2)};
    for (std::size_t k = 0; k < table.plate_v.size(); ++k) {
      const double current_a = table.current_a[row][k];
      const bool over =
          tube.ratings.plate_w_max && current_a * table.plate_v[k] > tube.ratings.plate_w_max->value;
      cells.push_back(significant_text(1e3 * current_a, 3, 2) + (over ? "*" : ""));
      starred = starred || over;
    }
    text.add_row(cells);
  }
  return "\nPlate current, mA, by law 1, over grid and plate voltage\n" + text.text(2) +
         (starred ? "  * more than the plate may dissipate\n" : "");
}

/// Every published number against each law. Sources take what is left of the line.
std::string points_table(const std::vector<std::vector<PublishedAgainstLaw>>& against) {
  constexpr std::size_t kIndent = 2, kGap = 2, kLeastSource = 12;
  const auto table = [&](std::size_t source_width, std::size_t gap) {
    std::vector<Table::Column> columns{
        {"plate\nV"}, {"grid\nV", Align::point}, {"", Align::left}, {"published"}};
    for (std::size_t m = 0; m < against.size(); ++m)
      columns.push_back({"law " + std::to_string(m + 1) + "\n%", Align::point});
    if (source_width > 0) columns.push_back({"source", Align::left});
    Table points(columns, gap);
    for (std::size_t row = 0; row < against.front().size(); ++row) {
      const PublishedAgainstLaw& p = against.front()[row];
      std::vector<std::string> cells{significant_text(p.plate_v, 4, 1),
                                     p.grid_v ? significant_text(*p.grid_v, 3, 2) : "-", p.what,
                                     engineering_text(p.published, p.unit)};
      for (const auto& law : against) cells.push_back(percent(law[row].error_pct));
      if (source_width > 0) cells.push_back(shortened(p.source, source_width));
      points.add_row(cells);
    }
    return points;
  };
  for (const std::size_t gap : {kGap, kGap - 1}) {
    const std::size_t taken = kIndent + table(0, gap).width() + gap;
    if (taken + kLeastSource <= kWidth) return table(kWidth - taken, gap).text(kIndent);
  }
  return table(kLeastSource, kGap - 1).text(kIndent);
}

std::string voltage_pair(const TubeRatings& r) {
  const auto text = [](const std::optional<Sourced>& v) {
    return v ? significant_text(v->value, 3, 0) : std::string("-");
  };
  return text(r.heater_cathode_v_max_cathode_positive) + " / " +
         text(r.heater_cathode_v_max_cathode_negative);
}

std::vector<std::string> row_of_pentode(const Tube& tube) {
  const auto rows = published_against(tube.pentode);
  const auto first = [&](std::string_view what, double factor) {
    const auto it = std::find_if(rows.begin(), rows.end(), [&](const auto& r) { return r.what == what; });
    return it == rows.end() ? std::string("-") : significant_text(it->published * factor, 3, 2);
  };
  std::vector<double> slopes;
  for (const auto& row : rows)
    if (row.unit != "A") slopes.push_back(std::fabs(*row.error_pct));
  std::sort(slopes.begin(), slopes.end());
  const auto current = median_error_pct(rows, "plate current");
  const TubeRatings& r = tube.ratings;
  return {tube.name,
          first("mu", 1),
          first("gm", 1e3),
          first("rp", 1e-3),
          first("plate current", 1e3),
          r.plate_v_max ? significant_text(r.plate_v_max->value, 3, 0) : "-",
          r.plate_w_max ? significant_text(r.plate_w_max->value, 3, 2) : "-",
          voltage_pair(r),
          current ? significant_text(*current, 3, 2) : "-",
          slopes.empty() ? "-" : significant_text(slopes[slopes.size() / 2], 3, 1)};
}

/// Law and published points of a pentode.
std::string pentode_text(const Tube& tube) {
  std::string line = std::string("Law, of plate and screen current: ") + SuppressorPentode::kForm + ":";
  for (const auto& field : SuppressorPentode::fields())
    line +=
        " " + std::string(field.name) + " " + significant_text(tube.pentode.law.*field.member, 5, 12) + ",";
  line.back() = '.';
  std::string text = "\n" + wrapped(line + " Source: " + tube.pentode.source + ".", kWidth);
  Table points({{"plate\nV"},
                {"screen\nV"},
                {"grid\nV", Align::point},
                {"", Align::left},
                {"published"},
                {"law\n%", Align::point},
                {"source", Align::left}},
               1);
  for (const PublishedAgainstLaw& p : published_against(tube.pentode))
    points.add_row({significant_text(p.plate_v, 4, 1),
                    p.screen_v ? significant_text(*p.screen_v, 4, 1) : "plate",
                    significant_text(*p.grid_v, 3, 2), p.what, engineering_text(p.published, p.unit),
                    percent(p.error_pct), shortened(p.source, 26)});
  return text + "\nPublished points, and how far the law is off\n" + points.text(2);
}

}  // namespace

std::string tubes_table(const std::vector<const Tube*>& tubes) {
  Table table({{"tube", Align::left},
               {"mu", Align::point},
               {"gm\nmA/V", Align::point},
               {"rp\nkΩ", Align::point},
               {"at\nmA", Align::point},
               {"plate\nV max"},
               {"plate\nW max", Align::point},
               {"to heater\nV max, + / -"},
               {"law off by, %\ncurrent", Align::point},
               {"\nslopes", Align::point}});
  std::string pentodes;
  for (const Tube* tube : tubes) {
    const PublishedPoint* p = typical_point(*tube);
    const auto rows = published_against(*tube, tube->law());
    std::vector<double> slopes;
    for (const auto& row : rows)
      if (row.what != "plate current" && row.error_pct) slopes.push_back(std::fabs(*row.error_pct));
    std::sort(slopes.begin(), slopes.end());
    const auto number = [](const std::optional<double>& v, double factor) {
      return v ? significant_text(*v * factor, 3, 2) : std::string("-");
    };
    const auto& r = tube->ratings;
    if (tube->pentode.given) {
      pentodes += (pentodes.empty() ? "" : ", ") + tube->name;
      table.add_row(row_of_pentode(*tube));
      continue;
    }
    table.add_row({tube->name, p ? number(p->mu, 1) : "-", p ? number(p->gm_s, 1e3) : "-",
                   p ? number(p->rp_ohm, 1e-3) : "-", p ? number(p->plate_current_a, 1e3) : "-",
                   r.plate_v_max ? significant_text(r.plate_v_max->value, 3, 0) : "-",
                   r.plate_w_max ? significant_text(r.plate_w_max->value, 3, 2) : "-", voltage_pair(r),
                   number(median_error_pct(rows, "plate current"), 1),
                   slopes.empty() ? "-" : significant_text(slopes[slopes.size() / 2], 3, 1)});
  }
  return table.text() +
         "\nThe last two columns are medians over the published points (slopes: gm, mu, rp).\n" +
         (pentodes.empty() ? ""
                           : wrapped("Pentodes, for first stages, with gm, rp and current at the first point "
                                     "of their card, the "
                                     "screen at its own voltage, and mu of the grid against the screen: " +
                                         pentodes + ".",
                                     kWidth)) +
         "antiphase tubes NAME shows one type with every point and source.\n";
}

std::string tube_text(const Tube& tube) {
  std::string text = tube.name;
  for (std::size_t i = 0; i < tube.also_known_as.size(); ++i)
    text += (i ? ", " : "  (also ") + tube.also_known_as[i];
  if (!tube.also_known_as.empty()) text += ")";
  text += "\n" + std::to_string(tube.sections) + (tube.sections == 1 ? " section" : " sections") +
          ", heater " + engineering_text(tube.heater.volt_v, "V") + " " +
          engineering_text(tube.heater.current_a, "A");
  if (tube.base)
    text += ", " + tube.base->socket + (tube.base->basing.empty() ? "" : " " + tube.base->basing);
  text += "\n";
  if (!tube.notes.empty()) text += wrapped(tube.notes, kWidth);

  text += "\nRatings per section\n";
  Table ratings({{"", Align::left}, {"limit"}, {"source", Align::left}}, 2);
  for (const RatingRow& row : ratings_of(tube))
    ratings.add_row({std::string(row.label), engineering_text(row.rating->value, row.unit),
                     shortened(row.rating->source, 36)});
  ratings.add_row({"grid conducts from", engineering_text(tube.grid_conduction_v.value, "V"),
                   shortened(tube.grid_conduction_v.source, 36)});
  if (has_grid_current(tube.law()))
    ratings.add_row({"grid current", "by the law", ""});
  else if (tube.grid_diode.conducts())
    ratings.add_row({"grid current, in series", engineering_text(1 / tube.grid_diode.siemens, "ohm"),
                     shortened(tube.grid_diode_source, 36)});
  text += ratings.text(2);
  const TubeCapacitances& c = tube.capacitance;
  text += "  capacitances: grid-plate " + engineering_text(c.grid_plate_f, "F") + ", grid-cathode " +
          engineering_text(c.grid_cathode_f, "F") + ", plate-cathode " +
          engineering_text(c.plate_cathode_f, "F") + "\n";
  text += "  Whole sources stand in the card and in antiphase tubes " + tube.name + " --json.\n";

  if (tube.pentode.given) return text + pentode_text(tube);
  text += currents_table(tube);

  std::vector<std::vector<PublishedAgainstLaw>> against;
  text += "\nLaws (the first is used)\n";
  for (std::size_t m = 0; m < tube.models.size(); ++m) {
    const TubeModel& model = tube.models[m];
    against.push_back(published_against(tube, model.law));
    std::string line = std::to_string(m + 1) + ". " + form_of(model.law) + ":";
    std::visit(
        [&](const auto& law) {
          for (const auto& field : law.fields())
            line += " " + std::string(field.name) + " " + significant_text(law.*field.member, 5, 12) + ",";
        },
        model.law);
    line.back() = '.';
    text += wrapped(line + " Source: " + model.source, kWidth, 2);
  }

  text += "\nPublished points, and how far each law is off\n";
  text += points_table(against);
  text +=
      "  Plate current where the sheet gives the bias; gm, mu and rp at the point, or\n"
      "  at its current where it gives no bias.\n";
  return text;
}

}  // namespace antiphase
