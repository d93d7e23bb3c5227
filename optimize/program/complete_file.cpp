#include "optimize/program/complete_file.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "configs/read_bytes.h"
#include "configs/sha256.h"
#include "results/json/json_writer.h"

namespace antiphase {
namespace {

constexpr const char* kFormat = "antiphase complete search 1";
constexpr std::size_t kMost = 1'000'000'000;  // bytes; half a million front members have a tenth of it
constexpr std::size_t kJudgedAgain = 200;     // points, to see whether they still are what they were

void write_points(JsonWriter& json, std::string_view name, const std::vector<engine::Point>& points,
                  std::size_t objectives) {
  json.key(name).begin_array();
  for (const engine::Point& p : points) {
    json.begin_object(true).member("family", p.family);
    json.member("parts", std::span<const double>(p.x)).member("score", p.judged.cost);
    json.member("objectives", std::span<const double>(p.judged.objective.data(), objectives)).end_object();
  }
  json.end_array();
}

using nlohmann::json;

std::vector<engine::Point> read_points(const json& list, const DesignProblem& problem) {
  std::vector<engine::Point> points;
  const auto& families = problem.families();
  for (const json& entry : list) {
    engine::Point p;
    p.family = entry.at("family").get<int>();
    p.x = entry.at("parts").get<std::vector<double>>();
    p.judged.cost = entry.at("score").get<double>();
    const auto objectives = entry.at("objectives").get<std::vector<double>>();
    const auto& axes = families.at(static_cast<std::size_t>(p.family)).parts.axes;
    if (p.x.size() != axes.size() || objectives.size() != problem.demands().objectives.size())
      throw std::out_of_range("a point with the wrong number of values");
    for (std::size_t i = 0; i < axes.size(); ++i)
      if (!std::binary_search(axes[i].levels.begin(), axes[i].levels.end(), p.x[i]))
        throw std::out_of_range("a part that is none of the values of this brief");
    std::copy(objectives.begin(), objectives.end(), p.judged.objective.begin());
    points.push_back(std::move(p));
  }
  return points;
}

bool still_so(const std::vector<engine::Point>& points, const DesignProblem& problem) {
  Evaluation scratch;
  const std::size_t step = points.size() / kJudgedAgain + 1;
  for (std::size_t i = 0; i < points.size(); i += step) {
    const engine::Judged now = problem.judge(problem.design_at(points[i].family, points[i].x), scratch);
    if (!now.feasible() || now.cost != points[i].judged.cost || now.objective != points[i].judged.objective)
      return false;
  }
  return true;
}

}  // namespace

std::string lattice_digest(const DesignProblem& problem) {
  JsonWriter json(JsonWriter::Style::dense);
  json.begin_array();
  for (const engine::Family& family : problem.families()) {
    json.value(family.name);
    for (const engine::Axis& axis : family.parts.axes)
      json.value(axis.name).value(std::span<const double>(axis.levels));
  }
  json.end_array();
  return sha256_hex(std::move(json).take());
}

std::string complete_json(const CompleteIdentity& identity, const DesignProblem& problem, std::int64_t chunks,
                          const engine::CompleteFindings& found) {
  const std::size_t objectives = problem.demands().objectives.size();
  JsonWriter json;
  json.begin_object().member("format", kFormat).member("brief_digest", identity.brief_digest);
  json.member("lattice_digest", identity.lattice_digest);
  json.member("slice", identity.slice).member("slices", identity.slices);
  json.member("chunks", chunks).member("chunks_done", found.chunks_done);
  const engine::Coverage& c = found.coverage;
  json.key("combinations").begin_object();
  json.member("covered", c.covered).member("left_out_in_blocks", c.discarded);
  json.key("turned_away").begin_array(true);
  for (const std::int64_t n : c.turned_away) json.value(n);
  json.end_array().member("judged_whole", c.judged_whole).member("keep_every_limit", c.feasible).end_object();
  json.key("families").begin_array();
  for (const engine::Family& family : problem.families()) {
    json.begin_object(true).member("name", family.name).key("parts").begin_array(true);
    for (const engine::Axis& axis : family.parts.axes) json.value(axis.name);
    json.end_array().end_object();
  }
  json.end_array();
  json.key("objectives").begin_array(true);
  for (const Objective& o : problem.demands().objectives) json.value(o.figure->name);
  json.end_array();
  json.member("front_whole", found.front_whole);
  write_points(json, "best", found.best, objectives);
  write_points(json, "front", found.front, objectives);
  json.end_object();
  return std::move(json).take() + "\n";
}

std::variant<CompleteRead, CompleteTrouble> read_complete(const std::string& path,
                                                          const DesignProblem& problem,
                                                          const CompleteIdentity& expected) {
  const auto bytes = read_bytes(path, kMost);
  if (const auto* errors = std::get_if<InputErrors>(&bytes))
    return CompleteTrouble{errors->list.front().what, true};
  CompleteRead out;
  try {
    const json document = json::parse(std::get<std::string>(bytes));
    if (document.at("format") != kFormat) return CompleteTrouble{"not a file of this version of the program"};
    out.identity.brief_digest = document.at("brief_digest").get<std::string>();
    out.identity.lattice_digest = document.at("lattice_digest").get<std::string>();
    out.identity.slice = document.at("slice").get<int>();
    out.identity.slices = document.at("slices").get<int>();
    if (out.identity.brief_digest != expected.brief_digest)
      return CompleteTrouble{"made for another brief, or the brief was changed since"};
    if (out.identity.lattice_digest != expected.lattice_digest)
      return CompleteTrouble{
          "made for other values of the parts: a tube card or the program was changed since"};
    out.chunks = document.at("chunks").get<std::int64_t>();
    engine::CompleteFindings& f = out.findings;
    f.chunks_done = document.at("chunks_done").get<std::int64_t>();
    const json& c = document.at("combinations");
    f.coverage = {c.at("covered").get<std::int64_t>(), c.at("left_out_in_blocks").get<std::int64_t>(),
                  c.at("turned_away").get<std::vector<std::int64_t>>(),
                  c.at("judged_whole").get<std::int64_t>(), c.at("keep_every_limit").get<std::int64_t>()};
    f.front_whole = document.at("front_whole").get<bool>();
    f.best = read_points(document.at("best"), problem);
    f.front = read_points(document.at("front"), problem);
    if (out.identity.slices < 1 || out.identity.slice < 1 || out.identity.slice > out.identity.slices ||
        f.chunks_done < 0 || f.chunks_done > out.chunks)
      return CompleteTrouble{"damaged: its counts do not fit together"};
  } catch (const std::exception&) {
    return CompleteTrouble{"damaged: not as this program writes it"};
  }
  if (!still_so(out.findings.best, problem) || !still_so(out.findings.front, problem))
    return CompleteTrouble{
        "its designs come out differently now: a tube card or the program was changed since"};
  return out;
}

}  // namespace antiphase
