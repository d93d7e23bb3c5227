#include "optimize/program/earlier_results.h"

#include <filesystem>

#include "configs/read_bytes.h"
#include "optimize/studies/known_designs.h"
#include "results/writers/writer.h"

namespace antiphase {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t kMostCandidates = 200'000'000;  // bytes
constexpr std::size_t kMostComplete =
    1'000'000'000;  // bytes; half a million front members have a tenth of it

std::string candidates_file_in(const std::string& folder) {
  return (fs::path(folder) / find_writer("candidates-json")->file_name).string();
}

/// The file's text; trouble is told with its path.
OrTrouble<std::string> read_whole(const std::string& path, std::size_t most, bool of_files) {
  auto bytes = read_bytes(path, most);
  if (const auto* errors = std::get_if<InputErrors>(&bytes))
    return Trouble{path + ": " + errors->list.front().what, of_files};
  return std::get<std::string>(std::move(bytes));
}

}  // namespace

OrTrouble<EarlierDesigns> read_earlier_designs(const std::string& folder, const std::string& brief_digest,
                                               const TubeLibrary& library, const DesignProblem& problem) {
  const std::string path = candidates_file_in(folder);
  if (!fs::exists(path)) return EarlierDesigns{};
  const auto text = read_whole(path, kMostCandidates, false);
  if (const auto* trouble = std::get_if<Trouble>(&text)) return *trouble;
  auto points = known_designs(std::get<std::string>(text), path, brief_digest, library, problem);
  if (const auto* trouble = std::get_if<Trouble>(&points)) return *trouble;
  return EarlierDesigns{std::get<std::vector<engine::Point>>(std::move(points)), path};
}

OrTrouble<OtherResults> read_other_results(const std::string& place, const TubeLibrary& library) {
  std::error_code ignored;
  const std::string path = fs::is_directory(place, ignored) ? candidates_file_in(place) : place;
  const auto text = read_whole(path, kMostCandidates, false);
  if (const auto* trouble = std::get_if<Trouble>(&text)) return *trouble;
  return other_results(std::get<std::string>(text), path, library);
}

OrTrouble<CompleteRead> read_complete_file(const std::string& folder, const DesignProblem& problem,
                                           const CompleteIdentity& expected) {
  const std::string path = complete_file_in(folder);
  const auto text = read_whole(path, kMostComplete, true);
  if (const auto* trouble = std::get_if<Trouble>(&text)) return *trouble;
  auto read = read_complete(std::get<std::string>(text), problem, expected);
  if (auto* trouble = std::get_if<Trouble>(&read)) trouble->what = path + ": " + trouble->what;
  return read;
}

std::string complete_file_in(const std::string& folder) {
  return (fs::path(folder) / kCompleteFile).string();
}

}  // namespace antiphase
