#include "optimize/studies/own_tubes.h"

#include <algorithm>

#include "results/text/wording.h"
#include "stagemodels/circuits/places.h"

namespace antiphase {
namespace {

using Files = std::vector<TubeReadingsFile>;

/// The type that a file means among those that may stand at its place.
std::variant<const Tube*, InputErrors> type_of(const TubeReadingsFile& file, const TubeLibrary& library,
                                               const std::vector<const Tube*>& there) {
  const std::string place(name_of(file.place));
  if (there.empty())
    return error_in(file, file.place_line, "there is no tube at " + place + " of this design");
  std::vector<std::string> names;
  for (const Tube* t : there) names.push_back(t->name);
  if (file.tube.empty()) {
    if (there.size() == 1) return there.front();
    return error_in(file, 1,
                    "does not say of which type the tube is; a line such as \"tube," + names.front() +
                        "\" does, of " + any_of(names));
  }
  const Tube* tube = library.find(file.tube);
  if (!tube) return error_in(file, file.tube_line, in_quotes(file.tube) + " is no type of the tube library");
  if (std::find(there.begin(), there.end(), tube) == there.end())
    return error_in(file, file.tube_line,
                    "is of a " + tube->name + "; at " + place + " stands " + any_of(names));
  return tube;
}

/// The numbers of its sections in a design.
std::array<int, 2> numbers_of(TubePlace place) {
  return place == TubePlace::first_stage ? std::array{kFirstStage, kFirstStage}
         : place == TubePlace::driver    ? std::array{kDriver, kDriver + 1}
                                         : std::array{0, 1};
}

std::optional<InputErrors> twice(const Files& files) {
  for (std::size_t k = 0; k < files.size(); ++k)
    for (std::size_t i = 0; i < k; ++i)
      if (files[i].place == files[k].place)
        return error_in(files[k], 1,
                        "is of a tube in " + std::string(name_of(files[k].place)) + ", as " + files[i].file +
                            " is; one tube can stand there");
  return std::nullopt;
}

/// What the readings make of the tube, held against what such a tube can draw.
OrErrors<OwnTubeRecord> told_of(const TubeReadingsFile& file, const Tube& tube, int law,
                                const Tolerances& tolerances) {
  if (tube.pentode.given)
    return error_in(file, file.tube_line,
                    "is of a " + tube.name + ", a pentode; readings of a tube of one's own are for triodes");
  InputErrors impossible = impossible_readings(file, tube, tube.law(law));
  if (!impossible.list.empty()) return impossible;
  OwnTubeRecord r;
  r.file = file.file;
  r.type = tube.name;
  if (file.place != TubePlace::splitter) r.place = name_of(file.place);
  r.read = file.readings;
  r.told = own_tube(tube, tube.law(law), tube.sections >= 2, tolerances, file.readings);
  return r;
}

void put(const OwnTubeRecord& r, TubePlace place, int sections, Design& d, OwnTubes& out) {
  const auto numbers = numbers_of(place);
  for (std::size_t s = 0; s < static_cast<std::size_t>(sections); ++s) {
    const OwnSection& own = r.told.section[s];
    spread_of(d, numbers[s]) = own.spread;
    out.known.push_back(
        {numbers[s], 100 * kNormalCut * own.current.deviation, 100 * kNormalCut * own.mu.deviation});
  }
  out.told.push_back(r);
  out.told.back().sections = sections;
}

int sections_used(const Design& d, TubePlace place) {
  if (place == TubePlace::first_stage) return 1;
  if (place == TubePlace::driver) return 2;
  return has_section(d, 1) && d.tube[0] == d.tube[1] ? 2 : 1;
}

std::vector<const Tube*> types_at(const Design& d, TubePlace place) {
  const Tube* tube = place == TubePlace::first_stage ? (has_first_stage(d) ? d.first_stage.tube : nullptr)
                     : place == TubePlace::driver    ? (has_driver(d) ? d.driver.tube : nullptr)
                                                     : d.tube[0];
  return tube ? std::vector{tube} : std::vector<const Tube*>{};
}

std::vector<const Tube*>& types_at(DesignSpace& space, TubePlace place) {
  return place == TubePlace::first_stage ? space.first_tubes
         : place == TubePlace::driver    ? space.driver_tubes
                                         : space.tubes;
}

}  // namespace

OrErrors<OwnTubes> put_own_tubes(const Files& files, const TubeLibrary& library, const Tolerances& tolerances,
                                 Design& d) {
  if (auto errors = twice(files)) return *errors;
  OwnTubes out;
  for (const TubeReadingsFile& file : files) {
    const auto tube = type_of(file, library, types_at(d, file.place));
    if (const auto* errors = std::get_if<InputErrors>(&tube)) return *errors;
    const auto record = told_of(file, *std::get<const Tube*>(tube), d.law, tolerances);
    if (const auto* errors = std::get_if<InputErrors>(&record)) return *errors;
    put(std::get<OwnTubeRecord>(record), file.place, sections_used(d, file.place), d, out);
  }
  return out;
}

OrErrors<OwnTubes> put_own_tubes(const Files& files, const TubeLibrary& library, const Tolerances& tolerances,
                                 DesignSpace& space) {
  if (auto errors = twice(files)) return *errors;
  OwnTubes out;
  for (const TubeReadingsFile& file : files) {
    auto& types = types_at(space, file.place);
    const auto tube = type_of(file, library, types);
    if (const auto* errors = std::get_if<InputErrors>(&tube)) return *errors;
    const Tube* const type = std::get<const Tube*>(tube);
    const auto record = told_of(file, *type, space.given.law, tolerances);
    if (const auto* errors = std::get_if<InputErrors>(&record)) return *errors;
    types = {type};
    const bool two = space.some_circuit([](CircuitKind kind) { return sections(kind) == 2; });
    const int used =
        file.place == TubePlace::splitter ? (two ? 2 : 1) : sections_used(space.given, file.place);
    put(std::get<OwnTubeRecord>(record), file.place, used, space.given, out);
  }
  return out;
}

}  // namespace antiphase
