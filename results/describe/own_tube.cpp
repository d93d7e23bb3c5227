#include "results/describe/own_tube.h"

#include "results/text/write_quantity.h"

namespace antiphase {
namespace {

std::string percent(double share) {
  return fixed_text(100 * share, 0);
}

/// "108 % of the card's (nine of ten such tubes: 104 to 112 %; of the type: 76 to 132 %)".
std::string against_type(const FactorTold& f, std::string_view of_what) {
  return percent(f.middle) + " % of " + std::string(of_what) + " (nine chances in ten: " + percent(f.low) +
         " to " + percent(f.high) + " %; without readings " + percent(f.before_low) + " to " +
         percent(f.before_high) + " %)";
}

std::string section_in_words(const OwnTubeRecord& r, std::size_t s) {
  const OwnSection& o = r.told.section[s];
  std::string text = "Section " + std::to_string(s + 1);
  text += o.readings == 0   ? ", which was not read and follows the other as sections of a bottle do"
          : o.readings == 1 ? ", from one reading"
                            : ", from " + std::to_string(o.readings) + " readings";
  text += ": " + against_type(o.current, "the card's current at " + exactly(r.told.middle.plate_v, "V") +
                                             " and a grid of " + exactly(r.told.middle.grid_v, "V") +
                                             ", its mu counted in");
  text += ", " + against_type(o.mu, "its mu") + ". The readings decided " + percent(o.current.decided) +
          " % of what was open of the current and " + percent(o.mu.decided) + " % of mu";
  if (o.readings > 1)
    text += "; the section so told misses them by " + fixed_text(o.left_pct, 1) + " % (rms)";
  return text + ".";
}

}  // namespace

std::vector<std::string> own_tube_in_words(const OwnTubeRecord& r) {
  std::vector<std::string> all{"A " + r.type + " of your own" + (r.place.empty() ? "" : " in " + r.place) +
                               ", read in " + r.file + ":"};
  for (std::size_t s = 0; s < static_cast<std::size_t>(r.sections); ++s)
    all.push_back(section_in_words(r, s));
  return all;
}

std::vector<std::string> own_tubes_in_words(const std::vector<OwnTubeRecord>& tubes) {
  std::vector<std::string> all;
  for (const OwnTubeRecord& r : tubes)
    for (std::string& sentence : own_tube_in_words(r)) all.push_back(std::move(sentence));
  return all;
}

}  // namespace antiphase
