#include "configs/tube_library.h"

#include <algorithm>
#include <filesystem>

#include "configs/input_error_list.h"
#include "configs/nearest_names.h"
#include "results/text/wording.h"

namespace antiphase {
namespace {

char lower(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

bool same_name(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](char x, char y) { return lower(x) == lower(y); });
}

template <class Card>
bool answers_to(const Card& card, std::string_view name) {
  return same_name(card.name, name) ||
         std::any_of(card.also_known_as.begin(), card.also_known_as.end(),
                     [&](const std::string& alias) { return same_name(alias, name); });
}

template <class Card>
const Card* find_in(const std::list<Card>& cards, std::string_view name) {
  const auto it =
      std::find_if(cards.begin(), cards.end(), [&](const Card& c) { return answers_to(c, name); });
  return it == cards.end() ? nullptr : &*it;
}

template <class Card>
std::vector<std::string> nearest_in(const std::list<Card>& cards, std::string_view name, int count) {
  std::vector<std::string_view> names;
  for (const auto& card : cards) {
    names.push_back(card.name);
    names.insert(names.end(), card.also_known_as.begin(), card.also_known_as.end());
  }
  return nearest_names(name, names, count);
}

template <class Card>
const Card& add_sorted(std::list<Card>& cards, Card card) {
  const auto after =
      std::find_if(cards.begin(), cards.end(), [&](const Card& c) { return c.name > card.name; });
  return *cards.insert(after, std::move(card));
}

/// The first name of `card` that another card has already; null if none.
template <class Card>
const std::string* name_taken(const std::list<Card>& cards, const Card& card) {
  if (find_in(cards, card.name)) return &card.name;
  const auto it = std::find_if(card.also_known_as.begin(), card.also_known_as.end(),
                               [&](const std::string& alias) { return find_in(cards, alias) != nullptr; });
  return it == card.also_known_as.end() ? nullptr : &*it;
}

/// The *.json files of a folder in order; nothing if it cannot be read.
std::optional<std::vector<std::string>> card_files(const std::string& folder, std::error_code& error) {
  namespace fs = std::filesystem;
  std::vector<std::string> files;
  for (fs::directory_iterator it(folder, error), end; !error && it != end; it.increment(error)) {
    const auto& path = it->path();
    if (path.extension() == ".json" && path.filename().string().front() != '.')
      files.push_back(path.string());
  }
  if (error) return std::nullopt;
  std::sort(files.begin(), files.end());
  return files;
}

/// Adds every card of the folder to the library, and what is wrong with them to the errors.
template <class Card, class Read>
void read_cards(const std::string& folder, std::string_view what, Read&& read, const std::list<Card>& cards,
                TubeLibrary& library, InputErrors& errors) {
  const auto add_errors = [&](const InputErrors& more) {
    errors.unreadable |= more.unreadable;
    errors.list.insert(errors.list.end(), more.list.begin(), more.list.end());
  };
  std::error_code error;
  const auto files = card_files(folder, error);
  if (!files)
    return add_errors(
        unreadable(folder, "the folder of " + std::string(what) + "s cannot be read: " + error.message()));
  if (files->empty()) return add_errors(unreadable(folder, "holds no " + std::string(what) + " (*.json)"));
  for (const auto& file : *files) {
    OrErrors<Card> result = read(file);
    if (const auto* wrong = std::get_if<InputErrors>(&result)) {
      add_errors(*wrong);
      continue;
    }
    auto& card = std::get<Card>(result);
    if (const auto* name = name_taken(cards, card)) {
      const Card* const other = find_in(cards, *name);
      errors.list.push_back({file, "", 0, 0,
                             "the name " + in_quotes(*name) + " stands on the card of the " + other->name +
                                 " too, in " + library.file_of(other)});
    } else {
      library.add(std::move(card), file);
    }
  }
}

}  // namespace

const Tube* TubeLibrary::find(std::string_view name) const {
  return find_in(tubes_, name);
}
std::vector<std::string> TubeLibrary::nearest_names(std::string_view name, int count) const {
  return nearest_in(tubes_, name, count);
}
void TubeLibrary::add(Tube tube, std::string file) {
  files_[&add_sorted(tubes_, std::move(tube))] = std::move(file);
}

const OutputValve* TubeLibrary::find_output_valve(std::string_view name) const {
  return find_in(output_valves_, name);
}
std::vector<std::string> TubeLibrary::nearest_output_valves(std::string_view name, int count) const {
  return nearest_in(output_valves_, name, count);
}
void TubeLibrary::add(OutputValve valve, std::string file) {
  files_[&add_sorted(output_valves_, std::move(valve))] = std::move(file);
}

const std::string& TubeLibrary::file_of(const void* card) const {
  static const std::string kNone;
  const auto it = files_.find(card);
  return it == files_.end() ? kNone : it->second;
}

OrErrors<TubeLibrary> read_card_folders(const CardFolders& folders) {
  TubeLibrary library;
  InputErrors errors;
  for (const std::string& folder : folders.tubes)
    read_cards(folder, "tube card", read_tube, library.tubes(), library, errors);
  for (const std::string& folder : folders.output_valves)
    read_cards(folder, "output valve card", read_output_valve, library.output_valves(), library, errors);
  if (!errors.list.empty()) return errors;
  return library;
}

OrErrors<TubeLibrary> read_tube_library(const std::string& folder, const std::string& output_valve_folder) {
  namespace fs = std::filesystem;
  std::error_code error;
  std::string valves = output_valve_folder;
  if (valves.empty()) {
    const auto beside = fs::absolute(folder, error).lexically_normal();
    // of "tubes/" the last step is empty
    const auto parent = (beside.has_filename() ? beside : beside.parent_path()).parent_path();
    if (fs::is_directory(parent / "output_valves", error)) valves = (parent / "output_valves").string();
  }
  CardFolders folders{{folder}, {}};
  if (!valves.empty()) folders.output_valves.push_back(valves);
  return read_card_folders(folders);
}

}  // namespace antiphase
