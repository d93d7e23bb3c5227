#include "configs/tube_library.h"

#include <algorithm>
#include <filesystem>

#include "configs/fault_list.h"
#include "configs/nearest_names.h"
#include "configs/wording.h"

namespace antiphase {
namespace {

char lower(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

bool same_name(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](char x, char y) { return lower(x) == lower(y); });
}

bool answers_to(const Tube& tube, std::string_view name) {
  return same_name(tube.name, name) ||
         std::any_of(tube.also_known_as.begin(), tube.also_known_as.end(),
                     [&](const std::string& alias) { return same_name(alias, name); });
}

/// The first name of `tube` that another tube of the library has already; null if none.
const std::string* name_taken(const TubeLibrary& library, const Tube& tube) {
  if (library.find(tube.name)) return &tube.name;
  const auto it = std::find_if(tube.also_known_as.begin(), tube.also_known_as.end(),
                               [&](const std::string& alias) { return library.find(alias) != nullptr; });
  return it == tube.also_known_as.end() ? nullptr : &*it;
}

}  // namespace

const Tube* TubeLibrary::find(std::string_view name_or_alias) const {
  const auto it =
      std::find_if(tubes_.begin(), tubes_.end(), [&](const Tube& t) { return answers_to(t, name_or_alias); });
  return it == tubes_.end() ? nullptr : &*it;
}

std::vector<std::string> TubeLibrary::nearest_names(std::string_view name, int count) const {
  std::vector<std::string_view> names;
  for (const auto& tube : tubes_) {
    names.push_back(tube.name);
    names.insert(names.end(), tube.also_known_as.begin(), tube.also_known_as.end());
  }
  return antiphase::nearest_names(name, names, count);
}

void TubeLibrary::add(Tube tube) {
  const auto after =
      std::find_if(tubes_.begin(), tubes_.end(), [&](const Tube& t) { return t.name > tube.name; });
  tubes_.insert(after, std::move(tube));
}

OrFaults<TubeLibrary> read_tube_library(const std::string& folder) {
  namespace fs = std::filesystem;
  std::error_code error;
  std::vector<std::string> files;
  for (fs::directory_iterator it(folder, error), end; !error && it != end; it.increment(error)) {
    const auto& path = it->path();
    if (path.extension() == ".json" && path.filename().string().front() != '.')
      files.push_back(path.string());
  }
  if (error) return unreadable(folder, "the folder of tube cards cannot be read: " + error.message());
  if (files.empty()) return unreadable(folder, "holds no tube card (*.json)");
  std::sort(files.begin(), files.end());

  TubeLibrary library;
  Faults faults;
  for (const auto& file : files) {
    auto card = read_tube(file);
    if (auto* wrong = std::get_if<Faults>(&card)) {
      faults.unreadable |= wrong->unreadable;
      faults.list.insert(faults.list.end(), wrong->list.begin(), wrong->list.end());
      continue;
    }
    auto& tube = std::get<Tube>(card);
    if (const auto* name = name_taken(library, tube))
      faults.list.push_back({file, "", 0, 0,
                             "the name " + in_quotes(*name) + " stands on the card of the " +
                                 library.find(*name)->name + " too"});
    else
      library.add(std::move(tube));
  }
  if (!faults.list.empty()) return faults;
  return library;
}

}  // namespace antiphase
