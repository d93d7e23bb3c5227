#include "configs/read_parts.h"

#include <array>
#include <optional>

#include "configs/companion_file.h"
#include "configs/design_members.h"
#include "configs/read_stock.h"
#include "objectives/part_levels.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/members.h"

namespace antiphase {
namespace {

std::optional<engine::Series> read_series(ObjectReader& in, std::string_view kind) {
  const auto member = in.find(kind);
  const auto name = member ? member->text() : std::nullopt;
  if (!name) return std::nullopt;
  using engine::Series;
  std::vector<std::string_view> names;
  for (const auto s :
       {Series::e3, Series::e6, Series::e12, Series::e24, Series::e48, Series::e96, Series::e192})
    names.push_back(engine::name_of(s));
  const auto series = engine::series_named(*name);
  if (!series) member->expected(one_of(names));
  return series;
}

/// Resistors that may have a series of their own.
struct OwnPart {
  std::string_view name;    ///< in the brief
  const DesignField* part;  ///< in a design; not null
};
constexpr std::array kOwnParts{
    OwnPart{"plate_ohm", &member::plate_ohm_0},   OwnPart{"plate_ohm", &member::plate_ohm_1},
    OwnPart{"bias_ohm", &member::bias_ohm},       OwnPart{"tail_ohm", &member::tail_ohm},
    OwnPart{"cathode_ohm", &member::cathode_ohm}, OwnPart{"dropping_ohm", &member::dropping_ohm}};

/// Gives the bytes of the file.
std::string read_stock_beside(const Cursor& member, const std::string& brief_file, DesignSpace& space) {
  const std::string path = companion_path(member, brief_file);
  if (path.empty()) return "";
  auto read = read_stock(path);
  if (const auto* errors = std::get_if<InputErrors>(&read)) {
    report_companion_errors(member, *errors);
    return "";
  }
  auto& stock = std::get<StockFile>(read);
  space.on_hand = std::move(stock.stock);
  return std::move(stock.bytes);
}

/// What is on hand has to have something in the ranges, or the search has nothing to do.
void check_reach(const Cursor& member, const DesignSpace& space) {
  const Range& plate = space.plate_ohm;
  if (plate.fixed() || !plate.values.empty() || plate.step > 0 || plate.low <= 0) return;
  if (resistors_to_be_had(space, member::plate_ohm_0, plate.low, plate.high).empty())
    member.error("has nothing in range: no resistor on hand from " + exactly(plate.low, "ohm") + " to " +
                 exactly(plate.high, "ohm") + " for the plates (plate_ohm)");
}

}  // namespace

std::string read_parts(const Cursor& cursor, const std::string& brief_file, DesignSpace& space) {
  ObjectReader in(cursor);
  if (const auto series = read_series(in, "resistors")) space.resistor_series = *series;
  if (const auto series = read_series(in, "capacitors")) space.capacitor_series = *series;
  const bool two_plates = space.some_circuit([](CircuitKind kind) { return plate_resistors(kind) == 2; });
  for (const OwnPart& own : kOwnParts) {
    if (own.part == &member::plate_ohm_1) {
      if (two_plates && !space.own_series.empty() && space.own_series.back().part == &member::plate_ohm_0)
        space.own_series.push_back({own.part, space.own_series.back().series});
      continue;
    }
    if (const auto series = read_series(in, own.name)) space.own_series.push_back({own.part, *series});
  }
  if (const auto two = in.find("plate_2")) {
    if (!two_plates)
      two->error(no_meaning_in(space.circuits));
    else if (two->choice({"one_resistor", "two_resistors"}).value_or(0) == 1) {
      space.plate_2_of_two = true;
      if (space.plate_ohm.step > 0)
        two->error("has no meaning with a step for plate_ohm: its values are then no standard parts");
      const Range* own = space.own_range(member::plate_ohm_1);
      if (own && (own->fixed() || !own->values.empty() || own->step > 0))
        two->error("has no meaning with a plate_2_ohm that is one value, a list or steps; give it a range");
    }
  }
  const auto on_hand = in.find("on_hand");
  if (!on_hand) return "";
  if (in.find("resistors"))
    in.error("resistors", "has no meaning with on_hand, whose values are the only ones");
  std::string bytes = read_stock_beside(*on_hand, brief_file, space);
  if (space.on_hand) check_reach(*on_hand, space);
  return bytes;
}

}  // namespace antiphase
