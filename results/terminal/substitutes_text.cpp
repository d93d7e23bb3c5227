#include "results/terminal/substitutes_text.h"

#include <algorithm>

#include "results/describe/safety.h"
#include "results/terminal/table.h"
#include "results/text/lines.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

using Align = Table::Align;
constexpr std::size_t kWidth = 80;
constexpr std::size_t kOthersShown = 8;

std::string number(const std::optional<double>& value, double factor, int digits, int decimals) {
  return value ? significant_text(*value * factor, digits, decimals) : "-";
}

std::string rating(const std::optional<Sourced>& r, double factor, int decimals) {
  return r ? significant_text(r->value * factor, 3, decimals) : "-";
}

/// Distance and characteristics: the columns that both tables begin with.
std::vector<std::string> first_cells(const Substitute& s) {
  return {s.tube->name, s.ruled_out_by.empty() ? number(s.distance, 1, 3, 2) : "out", number(s.mu, 1, 3, 1),
          number(s.gm_s, 1e3, 3, 2), number(s.rp_ohm, 1e-3, 3, 2)};
}

std::vector<Table::Column> first_columns() {
  return {{"tube", Align::left},
          {"dis-\ntance", Align::point},
          {"mu", Align::point},
          {"gm\nmA/V", Align::point},
          {"rp\nkΩ", Align::point}};
}

std::string pin_compatible_table(const Substitutes& found) {
  std::vector<Table::Column> columns = first_columns();
  for (const Table::Column& c : {Table::Column{"heater\nmA"},
                                 {"plate\nV max"},
                                 {"plate\nW max", Align::point},
                                 {"cathode\nmA max", Align::point},
                                 {"heater to\ncathode\n+ / - V"},
                                 {"grid to\nplate pF", Align::point}})
    columns.push_back(c);
  Table table(columns);
  const auto add = [&](const Substitute& s) {
    const TubeRatings& r = s.tube->ratings;
    std::vector<std::string> cells = first_cells(s);
    cells.push_back(significant_text(1e3 * s.tube->heater.current_a, 3, 0));
    cells.push_back(rating(r.plate_v_max, 1, 0));
    cells.push_back(rating(r.plate_w_max, 1, 2));
    cells.push_back(rating(r.cathode_current_a_max, 1e3, 1));
    cells.push_back(rating(r.heater_cathode_v_max_cathode_positive, 1, 0) + " / " +
                    rating(r.heater_cathode_v_max_cathode_negative, 1, 0));
    cells.push_back(significant_text(1e12 * s.tube->capacitance.grid_plate_f, 3, 2));
    table.add_row(cells);
  };
  add(found.asked);
  for (const Substitute& s : found.pin_compatible) add(s);
  return table.text();
}

std::string others_table(const std::vector<Substitute>& others, std::size_t count) {
  std::vector<Table::Column> columns = first_columns();
  columns.push_back({"plate\nV max"});
  columns.push_back({"plate\nW max", Align::point});
  columns.push_back({"what has to change", Align::left});
  Table table(columns);
  for (std::size_t k = 0; k < count; ++k) {
    const Substitute& s = others[k];
    std::vector<std::string> cells = first_cells(s);
    cells.push_back(rating(s.tube->ratings.plate_v_max, 1, 0));
    cells.push_back(rating(s.tube->ratings.plate_w_max, 1, 2));
    cells.push_back(s.to_change);
    table.add_row(cells);
  }
  return table.text();
}

}  // namespace

std::string substitutes_text(const Substitutes& found) {
  const Tube& asked = *found.asked.tube;
  std::string text = "Substitutes for the " + asked.name;
  if (asked.base)
    text += ", " + asked.base->socket + (asked.base->basing.empty() ? "" : " " + asked.base->basing);
  text += ", heater " + engineering_text(asked.heater.volt_v, "V") + "\n";
  if (found.rest)
    text += wrapped("Compared at " + engineering_text(found.rest->plate_v, "V") + " and " +
                        engineering_text(*found.rest->plate_current_a, "A") + ", the typical point of the " +
                        asked.name + " (" + found.rest->source + "); " + kSubstituteMeasure + ".",
                    kWidth);
  else
    text += wrapped(
        "The card publishes no point with current and mu, so that nothing can be compared by "
        "characteristics.",
        kWidth);

  text += "\nPin compatible (same pins, same heater voltage), nearest first\n";
  if (found.pin_compatible.empty())
    text += "None in the library.\n";
  else {
    text += pin_compatible_table(found);
    text += "\nBefore one of them is plugged in\n";
    for (const Substitute& s : found.pin_compatible) {
      std::vector<std::string> words;
      if (!s.ruled_out_by.empty())
        words.push_back("ruled out at this point, since " + joined(s.ruled_out_by, ", "));
      words.insert(words.end(), s.differs.begin(), s.differs.end());
      text +=
          wrapped(s.tube->name + ": " + (words.empty() ? "no rating is lower." : joined(words, "; ") + "."),
                  kWidth, 2);
    }
    text +=
        wrapped("The bias is another one with every type: evaluate the design with it, and measure.", kWidth);
  }

  const std::size_t shown = std::min(found.others.size(), kOthersShown);
  if (shown > 0) {
    text += "\nBy characteristics, with other pins or another heater, nearest first";
    if (shown < found.others.size())
      text += " (" + std::to_string(shown) + " of " + std::to_string(found.others.size()) + ")";
    text += "\n" + others_table(found.others, shown);
  }
  const auto out = [](const Substitute& s) { return !s.ruled_out_by.empty(); };
  if (std::any_of(found.pin_compatible.begin(), found.pin_compatible.end(), out) ||
      std::any_of(found.others.begin(), found.others.begin() + static_cast<std::ptrdiff_t>(shown), out))
    text += "out: the point is beyond a rating of the type.\n";
  return text + "\n" + wrapped(kSafetyLine, kWidth);
}

}  // namespace antiphase
