#include "results/describe/law_bands.h"

#include <algorithm>
#include <array>
#include <string_view>

#include "results/text/engineering.h"

namespace antiphase {
namespace {

constexpr std::array<std::string_view, 9> kShown{
    "plate_current_a", "gain",        "input_peak_v",       "distortion_pct",      "thd_differential_pct",
    "balance_pct",     "headroom_db", "clean_swing_peak_v", "output_impedance_ohm"};

const FigureBand* band_of(const LawBands& bands, std::string_view name) {
  const auto it = std::find_if(bands.figures.begin(), bands.figures.end(),
                               [&](const FigureBand& b) { return b.figure->name == name; });
  return it == bands.figures.end() ? nullptr : &*it;
}

std::string text_of(const Figure& figure, double value) {
  return engineering_text(value, figure.unit, 3);
}

/// "0.3 – 0.7 %", "474 µA – 1.02 mA": a unit that both ends share is said once.
std::string band_text(const LawBands& bands, std::string_view name) {
  const FigureBand* b = band_of(bands, name);
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
  if (r.bands.laws < 2) return table;
  table.caption = "If the tube follows another of the " + std::to_string(r.bands.laws) +
                  " laws that its card calls credible";
  table.columns = {"", "as solved", "lowest", "highest"};
  bool missing = false;
  for (std::string_view name : kShown) {
    const FigureBand* b = band_of(r.bands, name);
    if (!b) continue;
    table.rows.push_back({std::string(b->figure->label) + (b->missing ? " *" : ""),
                          text_of(*b->figure, b->value), text_of(*b->figure, b->low),
                          text_of(*b->figure, b->high)});
    missing = missing || b->missing;
  }
  if (missing)
    table.notes.push_back("* Under one of them the stage has no such figure: the target is out of reach.");
  table.notes.push_back("This is what is not known of the type; how single tubes differ comes on top of it.");
  return table;
}

ValueTable ranked_band_table(const std::vector<Record>& candidates) {
  ValueTable table;
  if (std::none_of(candidates.begin(), candidates.end(), [](const Record& r) { return r.bands.laws > 1; }))
    return table;
  table.caption = "From law to law: what the credible laws of the tubes make of them";
  table.columns = {"rank", "distortion", "gain", "headroom", "plate current", "rank holds"};
  table.words_last = true;
  for (const Record& r : candidates) {
    const bool last = &r == &candidates.back();
    table.rows.push_back({std::to_string(r.rank), band_text(r.bands, "distortion_pct"),
                          band_text(r.bands, "gain"), band_text(r.bands, "headroom_db"),
                          band_text(r.bands, "plate_current_a"),
                          last              ? ""
                          : r.rank_in_doubt ? "in doubt"
                                            : "yes"});
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
