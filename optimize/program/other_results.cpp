#include "optimize/program/other_results.h"

#include <filesystem>
#include <nlohmann/json.hpp>

#include "configs/read_bytes.h"
#include "configs/read_design.h"

namespace antiphase {

OtherResults other_results(const std::string& place, const TubeLibrary& library) {
  constexpr std::size_t kMost = 200'000'000;  // bytes
  OtherResults other;
  std::error_code ignored;
  other.file = std::filesystem::is_directory(place, ignored)
                   ? (std::filesystem::path(place) / "candidates.json").string()
                   : place;
  const auto bytes = read_bytes(other.file, kMost);
  if (const auto* errors = std::get_if<InputErrors>(&bytes)) {
    other.trouble = other.file + ": " + errors->list.front().what;
    return other;
  }
  try {
    const auto document = nlohmann::json::parse(std::get<std::string>(bytes));
    other.title = document.at("title").get<std::string>();
    if (document.at("candidates").empty()) {
      other.trouble = other.file + ": has no candidates to compare with";
      return other;
    }
    const auto design =
        read_design_text(document.at("candidates").at(0).at("design").dump(), other.file, library);
    if (const auto* errors = std::get_if<InputErrors>(&design))
      other.trouble = in_words(*errors);
    else
      other.best = std::get<Design>(design);
  } catch (const std::exception&) {
    other.trouble = other.file + ": is not a candidates.json as this program writes it";
  }
  return other;
}

}  // namespace antiphase
