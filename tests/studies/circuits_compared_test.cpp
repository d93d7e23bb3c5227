// Several circuits in one search: what it finds of each is what the brief with that circuit alone finds, the
// whole is the searches of each put together, and the number of threads changes nothing. Expectations are the
// searches of one circuit, which the other tests hold against plain evaluations.
#include <doctest/doctest.h>

#include <algorithm>
#include <atomic>
#include <nlohmann/json.hpp>

#include "configs/read_brief.h"
#include "optimize/engine/order.h"
#include "optimize/engine/pareto/archive.h"
#include "optimize/studies/complete/complete_search.h"
#include "optimize/studies/search_report.h"
#include "results/describe/circuits_compared.h"
#include "results/json/design_json.h"
#include "results/writers/candidates_csv.h"
#include "results/writers/candidates_json.h"
#include "results/writers/report_page.h"
#include "stagemodels/circuits/catalogue.h"
#include "tests/support/shipped.h"
#include "tests/support/stages.h"

using namespace antiphase;
using namespace antiphase::testing;
using nlohmann::json;

namespace {

/// A brief, without the members that the reader says have no meaning in any of its circuits.
Brief read(json text) {
  for (int tries = 0; tries < 40; ++tries) {
    const auto read = read_brief_text(text.dump(), "brief", shipped());
    const auto* errors = std::get_if<InputErrors>(&read);
    if (!errors) return std::get<Brief>(read);
    const InputError& first = errors->list.front();
    CAPTURE(in_words(*errors));
    REQUIRE((first.what.find("has no meaning in a ") == 0 ||
             first.what.find("stage has no ") != std::string::npos));
    const json::json_pointer place(first.pointer);
    json& parent = text.at(place.parent_pointer());
    if (parent.is_array())
      parent.erase(std::stoul(place.back()));
    else if (place.back() == "figure")  // the limit whose figure the circuit does not have
      text.at(place.parent_pointer().parent_pointer()).erase(std::stoul(place.parent_pointer().back()));
    else
      parent.erase(place.back());
  }
  FAIL("the brief cannot be read for its circuits");
  return {};
}

/// The brief with one circuit.
Brief alone(json text, CircuitKind kind) {
  text["stage"] = name_of(kind);
  return read(text);
}

std::vector<CircuitKind> splitters() {
  std::vector<CircuitKind> all;
  for (const CircuitEntry& entry : circuits())
    if (outputs(entry.kind) == 2) all.push_back(entry.kind);
  return all;
}

/// Some of the splitters of the catalogue, two at least, in any order.
std::vector<CircuitKind> drawn_circuits(RandomNumbers& random) {
  std::vector<CircuitKind> all = splitters();
  REQUIRE(all.size() >= 2);
  for (std::size_t n = all.size(); n > 1; --n)
    std::swap(all[n - 1], all[static_cast<std::size_t>(random.below(static_cast<int>(n)))]);
  all.resize(2 + static_cast<std::size_t>(random.below(static_cast<int>(all.size()) - 1)));
  return all;
}

json drawn_brief(RandomNumbers& random, const std::vector<CircuitKind>& kinds) {
  json brief = json::parse(R"({
    "first_stage": {"tubes": ["12AX7"]}, "heater_v": 40,
    "variables": {
      "tail_fraction": {"from": 0.08, "to": 0.35},
      "plate_current_a": {"from": "0.4m", "to": "5m"},
      "first_plate_ohm": {"from": "68k", "to": "220k"},
      "first_plate_current_a": {"from": "0.4m", "to": "2m"}
    },
    "objectives": [{"figure": "distortion_pct", "weight": 2}, {"figure": "balance_pct"},
                   {"figure": "headroom_db"}],
    "limits": []})");
  for (const CircuitKind kind : kinds) brief["stage"].push_back(name_of(kind));
  constexpr std::array kTubes{"12AX7", "12AT7", "12AU7", "6CG7", "6SL7GT"};
  const int first = random.below(static_cast<int>(kTubes.size()));
  brief["tubes"] = {kTubes[static_cast<std::size_t>(first)],
                    kTubes[static_cast<std::size_t>(first + 1) % kTubes.size()]};
  brief["target"]["swing_peak_v"] = random.log_between(8, 30);
  brief["load"] = {{"ohm", random.log_between(150e3, 500e3)}, {"farad", "40p"}};
  json& variables = brief["variables"];
  const double supply_v = 10 * std::round(random.between(22, 34));
  variables["supply_v"] = {{"from", supply_v}, {"to", supply_v + 40}, {"step", 20}};
  variables["plate_ohm"] = {{"from", "15k"}, {"to", random.log_between(60e3, 150e3)}};
  variables["plate_ohm_ratio"] = {{"from", 0.95}, {"to", random.between(1.05, 1.3)}};
  if (random.below(2)) variables["bias_form"] = {"self_biased", "direct_coupled"};
  if (random.below(3) == 0) variables["bias_form"] = {"direct_coupled"};
  if (random.below(3) == 0) brief["grid_bypass_f"] = "1u";
  if (random.below(3) == 0) variables["tail_ohm"] = {{"from", "4.7k"}, {"to", "33k"}};
  if (random.below(3) == 0) brief["low_frequency_hz"] = random.log_between(5, 30);
  if (random.below(3) == 0) brief["limits"].push_back({{"figure", "first_plate_v"}, {"at_most", 180}});
  if (random.below(3) == 0) brief["limits"].push_back({{"figure", "tubes"}, {"at_most", 1}});
  if (random.below(4) == 0) brief["main_supply_v"] = supply_v + 80;
  brief["parts"]["resistors"] = random.below(2) ? "E12" : "E24";
  return brief;
}

engine::SearchOptions short_search(std::uint64_t seed) {
  engine::SearchOptions o;
  o.seed = seed;
  o.global_evaluations_per_family = 100;
  o.screening_evaluations_per_family = 150;
  o.refined_points_per_family = 1;
  o.local_evaluations = 60;
  o.lattice_starts_per_family = 2;
  o.lattice_evaluations_per_start = 200;
  o.front_directions = 20;  // more than a wave
  o.front_evaluations_per_direction = 30;
  o.families_kept = 2;
  o.front_kept = 100000;
  o.cloud_kept = 20;
  return o;
}

engine::SearchOutcome searched(const DesignProblem& problem, int threads = 2) {
  return engine::search(problem.families(), short_search(7), {.threads = threads}, {}, nullptr);
}

std::string text_of(const DesignProblem& problem, const engine::Point& p) {
  return design_json(problem.with_capacitors(problem.design_at(p.family, p.x)));
}

/// The best of the families that are of one circuit.
const engine::Point* best_of(CircuitKind kind, const DesignProblem& problem,
                             const engine::SearchOutcome& found) {
  const engine::Point* best = nullptr;
  for (const engine::Point& p : found.best_by_family)
    if (!p.x.empty() && problem.design_at(p.family, p.x).circuit == kind && (!best || better(p, *best)))
      best = &p;
  return best;
}

/// Front members as texts with their objectives, sorted.
std::vector<std::string> members(const DesignProblem& problem, const std::vector<engine::Point>& front) {
  std::vector<std::string> all;
  for (const engine::Point& p : front) all.push_back(text_of(problem, p));
  std::sort(all.begin(), all.end());
  return all;
}

}  // namespace

TEST_CASE("of each of several circuits a search finds what it finds of that circuit alone") {
  RandomNumbers random{std::mt19937_64(21)};
  int compared = 0, feasible = 0, missed = 0, without_families = 0;
  for (int n = 0; n < 14; ++n) {
    CAPTURE(n);
    const std::vector<CircuitKind> kinds = drawn_circuits(random);
    const json text = drawn_brief(random, kinds);
    const Brief all = read(text);
    CHECK(all.space.circuits == kinds);
    const DesignProblem together(all.space, all.demands);
    const engine::SearchOutcome found = searched(together);
    engine::Archive front(3);
    std::vector<std::string> front_texts;
    std::int64_t evaluations = 0;
    std::size_t families = 0, left_out = 0;
    std::vector<std::pair<engine::Point, std::string>> fronts;
    for (const CircuitKind kind : kinds) {
      CAPTURE(std::string(name_of(kind)));
      const Brief one = alone(text, kind);
      const DesignProblem problem(one.space, one.demands);
      // What the givens of one circuit break in all its families counts there as given, and here as broken
      // where another circuit keeps it; these briefs have no such.
      REQUIRE(problem.outside_as_given().size() == together.outside_as_given().size());
      families += problem.families().size();
      left_out += problem.left_out().size();
      if (problem.families().empty()) {
        CHECK(best_of(kind, together, found) == nullptr);
        ++without_families;
        continue;
      }
      const engine::SearchOutcome own = searched(problem);
      evaluations += own.evaluations_ideal + own.evaluations_parts;
      const engine::Point *here = best_of(kind, together, found), *there = best_of(kind, problem, own);
      REQUIRE((here != nullptr) == (there != nullptr));
      if (!here) continue;
      CHECK(here->judged.cost == there->judged.cost);
      CHECK(here->judged.violation == there->judged.violation);
      CHECK(text_of(together, *here) == text_of(problem, *there));
      ++compared;
      (here->judged.feasible() ? feasible : missed) += 1;
      for (const engine::Point& p : own.front) {
        engine::Point offered = p;
        offered.family += 1000 * static_cast<int>(kind);  // so that points of two circuits are never one
        front.insert(offered);
        fronts.emplace_back(offered, text_of(problem, p));
      }
    }
    CHECK(together.families().size() == families);
    CHECK(together.left_out().size() == left_out);
    CHECK(found.evaluations_ideal + found.evaluations_parts == evaluations);
    for (const engine::Point& p : front.members())
      for (const auto& [point, words] : fronts)
        if (point.family == p.family && point.x == p.x) front_texts.push_back(words);
    std::sort(front_texts.begin(), front_texts.end());
    CHECK(members(together, found.front) == front_texts);
  }
  MESSAGE(compared, " compared, ", feasible, " of them feasible");
  CHECK(feasible > 10);
  CHECK(missed > 1);
}

TEST_CASE("every combination of several circuits is every combination of each, put together") {
  RandomNumbers random{std::mt19937_64(22)};
  int points = 0, in_front = 0;
  for (int n = 0; n < 4; ++n) {
    CAPTURE(n);
    const std::vector<CircuitKind> kinds = drawn_circuits(random);
    json text = drawn_brief(random, kinds);
    text.erase("main_supply_v");
    text["limits"] = json::array();
    text["target"]["swing_peak_v"] = random.log_between(4, 12);
    text["tubes"] = {"12AT7"};
    text["parts"]["resistors"] = "E3";
    json& variables = text["variables"];
    variables["supply_v"] = {280, 310};
    variables["plate_ohm"] = {"22k", "47k"};
    variables["plate_ohm_ratio"] = 1;
    variables["first_plate_ohm"] = {"100k"};
    variables["tail_fraction"] = {{"from", 0.1}, {"to", 0.3}};
    variables.erase("tail_ohm");
    variables["bias_form"] = {"self_biased", "direct_coupled"};
    const Brief all = read(text);
    const DesignProblem together(all.space, all.demands);
    const engine::CompleteOptions options{.best_kept = 30};
    const auto gone_through = [&](const DesignProblem& problem, int threads) {
      engine::CompleteRun run(problem.families(), options);
      while (!run.finished()) run.advance({.threads = threads}, {}, nullptr);
      return run.findings();
    };
    const engine::CompleteFindings found = gone_through(together, 2),
                                   found_by_one = gone_through(together, 1);
    CHECK(members(together, found.best) == members(together, found_by_one.best));
    CHECK(found.coverage == found_by_one.coverage);
    engine::Coverage coverage;
    engine::Archive front(3);
    std::vector<std::string> best, merged_front;
    std::vector<std::pair<engine::Point, std::string>> fronts;
    for (const CircuitKind kind : kinds) {
      const Brief one = alone(text, kind);
      const DesignProblem problem(one.space, one.demands);
      if (problem.families().empty()) continue;
      const engine::CompleteFindings own = gone_through(problem, 2);
      coverage += own.coverage;
      for (const engine::Point& p : own.best) best.push_back(text_of(problem, p));
      for (const engine::Point& p : own.front) {
        engine::Point offered = p;
        offered.family += 1000 * static_cast<int>(kind);
        front.insert(offered);
        fronts.emplace_back(offered, text_of(problem, p));
      }
      // The very best of the circuit, which the search's own best never beats.
      const engine::SearchOutcome searched_for = searched(problem);
      if (!own.best.empty() && !searched_for.best.empty())
        CHECK_FALSE(better(searched_for.best.front().judged, own.best.front().judged));
    }
    std::sort(best.begin(), best.end());
    CHECK(members(together, found.best) == best);
    CHECK(found.coverage == coverage);
    CHECK(static_cast<double>(coverage.covered) == engine::combinations(together.families()));
    for (const engine::Point& p : front.members())
      for (const auto& [point, words] : fronts)
        if (point.family == p.family && point.x == p.x) merged_front.push_back(words);
    std::sort(merged_front.begin(), merged_front.end());
    CHECK(members(together, found.front) == merged_front);
    points += static_cast<int>(best.size());
    in_front += static_cast<int>(merged_front.size());
    // What it finds stands in the answer of each circuit, and a slice by slice run comes to the same.
    std::vector<engine::CompleteFindings> slices;
    for (int slice = 1; slice <= 3; ++slice) {
      engine::CompleteOptions part = options;
      part.slice = slice;
      part.slices = 3;
      engine::CompleteRun run(together.families(), part);
      while (!run.finished()) run.advance({.threads = 2}, {}, nullptr);
      slices.push_back(run.findings());
    }
    const engine::CompleteFindings merged = merge(slices, together.families(), options);
    CHECK(members(together, merged.best) == best);
    CHECK(merged.coverage == coverage);
    engine::SearchOutcome taken;
    CompleteOutcome complete;
    complete.findings = found;
    take_over(complete, together.families(), taken);
    for (const CircuitKind kind : kinds) {
      const engine::Point* answer = best_of(kind, together, taken);
      for (const engine::Point& p : found.best)
        if (together.design_at(p.family, p.x).circuit == kind) {
          REQUIRE(answer);
          CHECK_FALSE(better(p, *answer));
        }
    }
  }
  MESSAGE(points, " best points, ", in_front, " members of fronts");
  CHECK(points > 60);
  CHECK(in_front > 10);
}

TEST_CASE("the answer for several circuits is the same bytes from one thread and from two") {
  RandomNumbers random{std::mt19937_64(23)};
  for (int n = 0; n < 3; ++n) {
    CAPTURE(n);
    const Brief brief = read(drawn_brief(random, splitters()));
    const DesignProblem problem(brief.space, brief.demands);
    std::vector<std::string> texts;
    for (const int threads : {1, 2}) {
      const Report report = make_report(brief, problem, searched(problem, threads));
      CHECK(report.best_of_circuits.size() == splitters().size());
      texts.push_back(candidates_json(report) + candidates_csv(report) + pareto_csv(report) +
                      report_page(report));
    }
    CHECK(texts[0] == texts[1]);
  }
}

TEST_CASE("what a circuit gives and costs against another is the difference of their figures") {
  RandomNumbers random{std::mt19937_64(24)};
  json text = drawn_brief(random, splitters());
  text["target"]["swing_peak_v"] = 10;
  text["limits"] = json::array();
  text.erase("main_supply_v");
  const Brief brief = read(text);
  const DesignProblem problem(brief.space, brief.demands);
  const Report report = make_report(brief, problem, searched(problem));
  REQUIRE(report.compares_circuits());
  REQUIRE(report.best_of_circuits.front().best);
  const Record& first = *report.best_of_circuits.front().best;
  int told = 0;
  for (const CircuitBest& of : report.best_of_circuits) {
    if (!of.best) continue;
    CHECK(of.best->design.circuit == of.of.circuit);
    CHECK((of.best->feasible || !of.stands_in_way.empty()));
    const GivesAndCosts d = gives_and_costs(report.demands, *of.best, first),
                        back = gives_and_costs(report.demands, first, *of.best);
    // What one gives the other lacks: as many lines, the other way round.
    CHECK(d.gives.size() == back.costs.size());
    CHECK(d.costs.size() == back.gives.size());
    const auto place = [](std::string_view name) {
      return static_cast<std::size_t>(find_figure(name) - figures().data());
    };
    const double sections = *of.best->figures[place("sections")] - *first.figures[place("sections")];
    const auto says = [](const std::vector<std::string>& list, const char* words) {
      return std::any_of(list.begin(), list.end(),
                         [&](const std::string& s) { return s.find(words) != std::string::npos; });
    };
    CHECK(says(d.gives, "fewer") == (sections < 0));
    CHECK(says(d.costs, "section") == (sections > 0));
    const double headroom = *of.best->figures[place("headroom_db")] - *first.figures[place("headroom_db")];
    CHECK(says(d.gives, "more headroom") == (headroom >= 0.6));  // a tenth of 6 dB
    CHECK(says(d.costs, "less headroom") == (headroom <= -0.6));
    told += static_cast<int>(d.gives.size() + d.costs.size());
  }
  CHECK(told > 3);
  const GivesAndCosts same = gives_and_costs(report.demands, first, first);
  CHECK(same.gives.empty());
  CHECK(same.costs.empty());
}

TEST_CASE("builds are looked at of every circuit, and rank the best of each") {
  RandomNumbers random{std::mt19937_64(25)};
  json text = drawn_brief(random, splitters());
  text["target"]["swing_peak_v"] = 8;
  text["limits"] = json::array();
  text.erase("main_supply_v");
  text["builds"] = {{"rank_by", "yield"}, {"count", 100}};
  const Brief brief = read(text);
  const DesignProblem problem(brief.space, brief.demands);
  const engine::SearchOutcome found = searched(problem);
  const Demands on_builds = with_low_frequency(brief.space, brief.demands);
  const std::atomic<bool> stop = false;
  const RobustOutcome robust =
      rank_by_builds(problem, on_builds, *brief.builds, found, 3, brief.seed, 2, {}, stop);
  const Report report = make_report(brief, problem, found, &robust);
  REQUIRE(report.best_of_circuits.size() == splitters().size());
  int ranked = 0;
  std::optional<RobustFigures> before;
  for (const CircuitBest& of : report.best_of_circuits) {
    CAPTURE(std::string(name_of(of.of.circuit)));
    const engine::Point* nominal = best_of(of.of.circuit, problem, found);
    if (!nominal || !nominal->judged.feasible()) continue;
    REQUIRE(of.best);
    REQUIRE(of.best->builds);
    const RobustFigures again =
        robust_of(of.best->design, brief.builds->tolerances, on_builds, 100, brief.seed, 0.95);
    CHECK(of.best->builds->figures.kept == again.kept);
    CHECK(of.best->builds->figures.score == again.score);
    if (before) CHECK_FALSE(better_builds(RankBy::yield, again, *before));
    before = again;
    ++ranked;
  }
  CHECK(ranked >= 2);
}
