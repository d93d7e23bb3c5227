#include "configs/read_builds.h"

#include <array>

#include "configs/companion_file.h"
#include "configs/read_tolerances.h"
#include "results/text/wording.h"

namespace antiphase {
namespace {

constexpr NumberRule kPercentileRule{"%", 50, 99.9};
constexpr std::uint64_t kFewestBuilds = 100, kMostBuilds = 100'000;

/// Tolerances in the brief itself, or the name of a file beside it. The variables have been read before.
/// Gives the bytes of the file.
std::string read_builds_tolerances(const Cursor& member, const std::string& brief_file,
                                   const std::function<bool(const DesignField&)>& applies, Brief& brief) {
  if (member.kind() != JsonKind::text) {
    brief.builds->tolerances = read_tolerances(member, applies);
    return "";
  }
  const std::string path = companion_path(member, brief_file);
  if (path.empty()) return "";
  auto document = load_json(path);
  InputErrors found;
  if (const auto* errors = std::get_if<InputErrors>(&document)) {
    found = *errors;
  } else {
    auto& json = std::get<JsonDocument>(document);
    InputErrorList list(json.file);
    brief.builds->tolerances = read_tolerances(Cursor(json.root, "", list), applies);
    brief.tolerances_file = *member.text();
    if (list.empty()) return std::move(json.bytes);
    found = list.take();
  }
  report_companion_errors(member, found);
  return "";
}

}  // namespace

std::string read_builds(const Cursor& cursor, const std::string& brief_file,
                        const std::function<bool(const DesignField&)>& applies, Brief& brief) {
  ObjectReader in(cursor);
  BuildsRequest& input = brief.builds.emplace();
  constexpr std::array<std::string_view, 3> kRankings{"nominal", "yield", "percentile"};
  if (const auto m = in.require("rank_by", one_of({kRankings.begin(), kRankings.end()})))
    if (const auto at = m->choice({kRankings.begin(), kRankings.end()}))
      input.rank_by = static_cast<RankBy>(*at);
  if (const auto pct = in.number("percentile", kPercentileRule)) {
    input.percentile = *pct / 100;
    if (input.rank_by == RankBy::nominal) in.error("percentile", "has no meaning with rank_by nominal");
  }
  if (const auto m = in.find("count"))
    input.builds = static_cast<int>(m->whole_number(kFewestBuilds, kMostBuilds).value_or(kFewestBuilds));
  const auto tolerances = in.find("tolerances");
  return tolerances ? read_builds_tolerances(*tolerances, brief_file, applies, brief) : "";
}

}  // namespace antiphase
