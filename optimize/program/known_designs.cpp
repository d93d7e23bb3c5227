#include "optimize/program/known_designs.h"

#include <filesystem>
#include <nlohmann/json.hpp>

#include "configs/read_bytes.h"
#include "configs/read_design.h"

namespace antiphase {

KnownDesigns known_designs(const std::string& folder, const std::string& brief_digest,
                           const TubeLibrary& library, const DesignProblem& problem) {
  constexpr std::size_t kMost = 200'000'000;  // bytes
  KnownDesigns known;
  const std::string path = (std::filesystem::path(folder) / "candidates.json").string();
  if (!std::filesystem::exists(path)) return known;
  const auto bytes = read_bytes(path, kMost);
  if (const auto* errors = std::get_if<InputErrors>(&bytes)) {
    known.trouble = path + ": " + errors->list.front().what;
    return known;
  }
  try {
    const auto document = nlohmann::json::parse(std::get<std::string>(bytes));
    if (document.at("run").at("brief_digest") != brief_digest) {
      known.trouble = path +
                      ": made for another brief, or the brief was changed since; without --continue the "
                      "search begins anew";
      return known;
    }
    for (const char* list : {"candidates", "pareto"})
      for (const auto& entry : document.at(list)) {
        const auto design = read_design_text(entry.at("design").dump(), path, library);
        if (const Design* d = std::get_if<Design>(&design))
          if (auto point = problem.lattice_point(*d)) known.points.push_back(std::move(*point));
      }
    known.file = path;
  } catch (const std::exception&) {
    known.trouble =
        path + ": damaged: not as this program writes it; without --continue the search begins anew";
  }
  return known;
}

}  // namespace antiphase
