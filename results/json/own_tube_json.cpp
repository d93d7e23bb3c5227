#include "results/json/own_tube_json.h"

#include "results/describe/own_tube.h"

namespace antiphase {
namespace {

void write_factor(JsonWriter& json, std::string_view name, const FactorTold& f) {
  json.key(name).begin_object(true).member("middle", f.middle).member("low", f.low).member("high", f.high);
  json.member("before_low", f.before_low).member("before_high", f.before_high);
  json.member("decided", f.decided).end_object();
}

void write_section(JsonWriter& json, const OwnSection& o) {
  json.begin_object().member("readings", o.readings);
  json.member("current", o.spread.current).member("mu", o.spread.mu);
  write_factor(json, "current_there", o.current);
  write_factor(json, "mu_against_type", o.mu);
  json.member("missed_pct", o.left_pct).end_object();
}

}  // namespace

void write_own_tubes(JsonWriter& json, const std::vector<OwnTubeRecord>& tubes) {
  if (tubes.empty()) return;
  json.key("own_tubes").begin_array();
  for (const OwnTubeRecord& r : tubes) {
    json.begin_object().member("file", r.file).member("type", r.type);
    json.member("place", r.place.empty() ? std::string("the splitter or gain stage") : r.place);
    json.member("plate_v", r.told.middle.plate_v).member("grid_v", r.told.middle.grid_v);
    json.key("sections").begin_array();
    for (std::size_t s = 0; s < static_cast<std::size_t>(r.sections); ++s)
      write_section(json, r.told.section[s]);
    json.end_array().key("in_words").begin_array();
    for (const std::string& sentence : own_tube_in_words(r)) json.value(sentence);
    json.end_array().end_object();
  }
  json.end_array();
}

}  // namespace antiphase
