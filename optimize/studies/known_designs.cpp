#include "optimize/studies/known_designs.h"

#include <nlohmann/json.hpp>

#include "configs/read_design.h"

namespace antiphase {

OrTrouble<std::vector<engine::Point>> known_designs(const std::string& text, const std::string& file,
                                                    const std::string& brief_digest,
                                                    const TubeLibrary& library,
                                                    const DesignProblem& problem) {
  try {
    const auto document = nlohmann::json::parse(text);
    if (document.at("run").at("brief_digest") != brief_digest)
      return Trouble{file +
                     ": made for another brief, or the brief was changed since; without --continue the "
                     "search begins anew"};
    std::vector<engine::Point> points;
    for (const char* list : {"candidates", "pareto"})
      for (const auto& entry : document.at(list)) {
        const auto design = read_design_text(entry.at("design").dump(), file, library);
        if (const Design* d = std::get_if<Design>(&design))
          if (auto point = problem.lattice_point(*d)) points.push_back(std::move(*point));
      }
    return points;
  } catch (const std::exception&) {
    return Trouble{file +
                   ": damaged: not as this program writes it; without --continue the search begins anew"};
  }
}

}  // namespace antiphase
