#include "results/describe/law_bands.h"

#include <algorithm>

#include "results/describe/figure_text.h"

namespace antiphase {
namespace {

std::string text_of(const Figure& figure, double value) {
  return figure_text(figure, value);
}

/// "0.3 – 0.7 %", "474 µA – 1.02 mA": a unit that both ends share is said once.
std::string band_text(const LawBands& bands, const Figure& figure) {
  const FigureBand* b = band_of(bands, figure);
  if (!b) return "-";
  std::string low = text_of(*b->figure, b->low);
  const std::string high = text_of(*b->figure, b->high);
  const auto unit_at = low.find(' ');
  if (unit_at != std::string::npos && high.ends_with(low.substr(unit_at))) low.resize(unit_at);
  return low + " \u2013 " + high + (b->missing ? " or none" : "");
}

}  // namespace

ValueTable law_band_table(const Record& r) {
  ValueTable table;
  if (r.bands.draws == 0) return table;
  table.caption = "What is not known of the tube's type: bands that hold nine tenths";
  table.columns = {"", "as solved", "from", "to"};
  bool missing = false;
  for (const Figure* figure : figures_shown_in(&FigurePlaces::law_bands)) {
    const FigureBand* b = band_of(r.bands, *figure);
    if (!b) continue;
    table.rows.push_back({std::string(b->figure->label) + (b->missing ? " *" : ""),
                          text_of(*b->figure, b->value), text_of(*b->figure, b->low),
                          text_of(*b->figure, b->high)});
    missing = missing || b->missing;
  }
  if (missing)
    table.notes.push_back(
        "* With some of these tubes the stage has no such figure: the target is out of reach.");
  table.notes.push_back(
      std::to_string(r.bands.draws) + " draws: " +
      (r.bands.laws > 1 ? "the " + std::to_string(r.bands.laws) + " laws that the card calls credible in turn"
                        : std::string("the card's law")) +
      ", with the scatter between sheets, makers and measured tubes. It is estimated over all types that "
      "have "
      "several sources; a type that has one borrows it.");
  table.notes.push_back("How single tubes of one make differ comes on top of it.");
  return table;
}

ValueTable ranked_band_table(const std::vector<Record>& candidates) {
  ValueTable table;
  if (std::none_of(candidates.begin(), candidates.end(), [](const Record& r) { return r.bands.draws > 0; }))
    return table;
  table.caption = "What is not known of the tubes' types: bands that hold nine tenths";
  const std::vector<const Figure*> shown = figures_shown_in(&FigurePlaces::ranked_bands);
  table.columns = {"rank"};
  for (const Figure* figure : shown) table.columns.emplace_back(figure->label);
  table.columns.emplace_back("rank holds");
  table.words_last = true;
  for (const Record& r : candidates) {
    std::vector<std::string> row{std::to_string(r.rank)};
    for (const Figure* figure : shown) row.push_back(band_text(r.bands, *figure));
    const bool last = &r == &candidates.back();
    row.emplace_back(last ? "" : r.rank_in_doubt ? "in doubt" : "yes");
    table.rows.push_back(std::move(row));
  }
  table.notes = {"A rank is in doubt where the next one comes first under some credible law."};
  if (std::any_of(candidates.begin(), candidates.end(),
                  [](const Record& r) { return r.builds.has_value(); })) {
    // ranks by builds do not hang on the nominal score, which is all that is known under the other laws
    table.columns.pop_back();
    for (auto& row : table.rows) row.pop_back();
    table.words_last = false;
    table.notes.clear();
  }
  return table;
}

}  // namespace antiphase
