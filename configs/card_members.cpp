#include "configs/card_members.h"

namespace antiphase {
namespace {

constexpr std::string_view kSourceSays = "the data sheet or handbook it is from, or \"from memory: ...\"";
constexpr NumberRule kSeries{"ohm", 10, 1e6};
// kT/e of a cathode at 580 K to 2300 K: oxide, thoriated and plain tungsten, with room on either side
constexpr NumberRule kSlope{"V", 0.05, 0.2};

}  // namespace

const std::string kUsualGridCurrentSource =
    "usual values: 2 kohm is the grid resistance of the triodes in N. Koren, Glass Audio 8 (1996) no. 5; "
    "0.09 V is "
    "kT/e of an oxide cathode at about 1050 K (Maxwell's distribution)";

std::string read_source(ObjectReader& in) {
  const auto source = in.required_text("source", kSourceSays).value_or("");
  if (source == kToBeFilledIn) in.error("source", "is still to be filled in: " + std::string(kSourceSays));
  return source;
}

Sourced read_sourced(const Cursor& cursor, const NumberRule& rule) {
  ObjectReader in(cursor);
  Sourced s;
  s.value = in.required_number("value", "the number in " + std::string(rule.unit), rule).value_or(0);
  s.source = read_source(in);
  return s;
}

std::optional<Sourced> optional_sourced(ObjectReader& in, std::string_view name, const NumberRule& rule) {
  const auto member = in.find(name);
  if (!member) return std::nullopt;
  return read_sourced(*member, rule);
}

std::optional<Sourced> required_sourced(ObjectReader& in, std::string_view name, std::string_view description,
                                        const NumberRule& rule) {
  const auto member = in.require(name, description);
  if (!member) return std::nullopt;
  return read_sourced(*member, rule);
}

GridCurrent read_grid_current(ObjectReader& in, double onset_v) {
  const auto member = in.find("grid_current");
  if (!member) return {grid_diode(onset_v), kUsualGridCurrentSource};
  ObjectReader part(*member);
  const double series_ohm =
      part.required_number("series_ohm", "resistance in series with the grid's diode, in ohm", kSeries)
          .value_or(GridDiode::kUsualSeries_ohm);
  const double slope_v = part.required_number("slope_v", "volts for e times the current, in V", kSlope)
                             .value_or(GridDiode::kUsualSlope_v);
  return {grid_diode(onset_v, series_ohm, slope_v), read_source(part)};
}

}  // namespace antiphase
