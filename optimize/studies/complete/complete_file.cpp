#include "optimize/studies/complete/complete_file.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "configs/sha256.h"
#include "results/json/json_writer.h"

namespace antiphase {
namespace {

constexpr const char* kFormat = "antiphase complete search 1";
constexpr std::size_t kJudgedAgain = 200;  // points, to see whether they still are what they were

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

void write_coverage(JsonWriter& json, const engine::Coverage& c) {
  json.key("combinations").begin_object();
  json.member("covered", c.covered).member("left_out_in_blocks", c.discarded);
  json.key("turned_away").begin_array(true);
  for (const std::int64_t n : c.turned_away) json.value(n);
  json.end_array().member("judged_whole", c.judged_whole).member("keep_every_limit", c.feasible).end_object();
}

void write_families(JsonWriter& json, const DesignProblem& problem) {
  json.key("families").begin_array();
  for (const engine::Family& family : problem.families()) {
    json.begin_object(true).member("name", family.name).key("parts").begin_array(true);
    for (const engine::Axis& axis : family.parts.axes) json.value(axis.name);
    json.end_array().end_object();
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

CompleteIdentity read_identity(const json& document) {
  return {document.at("brief_digest").get<std::string>(), document.at("lattice_digest").get<std::string>(),
          document.at("slice").get<int>(), document.at("slices").get<int>()};
}

engine::CompleteFindings read_findings(const json& document, const DesignProblem& problem) {
  engine::CompleteFindings f;
  f.chunks_done = document.at("chunks_done").get<std::int64_t>();
  const json& c = document.at("combinations");
  f.coverage = {c.at("covered").get<std::int64_t>(), c.at("left_out_in_blocks").get<std::int64_t>(),
                c.at("turned_away").get<std::vector<std::int64_t>>(),
                c.at("judged_whole").get<std::int64_t>(), c.at("keep_every_limit").get<std::int64_t>()};
  f.front_whole = document.at("front_whole").get<bool>();
  f.best = read_points(document.at("best"), problem);
  f.front = read_points(document.at("front"), problem);
  return f;
}

bool counts_fit(const CompleteRead& r) {
  return r.identity.slices >= 1 && r.identity.slice >= 1 && r.identity.slice <= r.identity.slices &&
         r.findings.chunks_done >= 0 && r.findings.chunks_done <= r.chunks;
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
  write_coverage(json, found.coverage);
  write_families(json, problem);
  json.key("objectives").begin_array(true);
  for (const Objective& o : problem.demands().objectives) json.value(o.figure->name);
  json.end_array();
  json.member("front_whole", found.front_whole);
  write_points(json, "best", found.best, objectives);
  write_points(json, "front", found.front, objectives);
  json.end_object();
  return std::move(json).take() + "\n";
}

OrTrouble<CompleteRead> read_complete(const std::string& text, const DesignProblem& problem,
                                      const CompleteIdentity& expected) {
  CompleteRead read;
  try {
    const json document = json::parse(text);
    if (document.at("format") != kFormat) return Trouble{"not a file of this version of the program"};
    read.identity = read_identity(document);
    if (read.identity.brief_digest != expected.brief_digest)
      return Trouble{"made for another brief, or the brief was changed since"};
    if (read.identity.lattice_digest != expected.lattice_digest)
      return Trouble{"made for other values of the parts: a tube card or the program was changed since"};
    read.chunks = document.at("chunks").get<std::int64_t>();
    read.findings = read_findings(document, problem);
    if (!counts_fit(read)) return Trouble{"damaged: its counts do not fit together"};
  } catch (const std::exception&) {
    return Trouble{"damaged: not as this program writes it"};
  }
  if (!still_so(read.findings.best, problem) || !still_so(read.findings.front, problem))
    return Trouble{"its designs come out differently now: a tube card or the program was changed since"};
  return read;
}

}  // namespace antiphase
