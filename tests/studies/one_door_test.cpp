// Whatever a search says of a design is what a plain evaluation says of the same design out of a file, held
// against the demands of the brief: candidates, their steps, the front and its choices, the cloud, the best
// of each tube, near misses, what is nearest in a conflict, and builds whose parts are all as drawn.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>

#include "configs/read_design.h"
#include "optimize/studies/conflict_search.h"
#include "optimize/studies/search_report.h"
#include "results/describe/trade_off.h"
#include "results/json/design_json.h"
#include "results/make_record.h"
#include "tests/support/program.h"
#include "tests/support/shipped_briefs.h"
#include "tests/support/stages.h"
#include "tests/support/within.h"

using namespace antiphase;
using namespace antiphase::testing;
using nlohmann::json;

namespace {

constexpr double kSame = 1e-9;  // relative: the same solver from the same numbers, written with all digits

/// What the low frequency has to do with a brief.
enum LowFrequency { nothing, given, given_and_limited, given_and_in_the_score, in_the_score_alone, kWays };

/// Kinds of briefs to draw from: every stage, several at once, bias, tail, feedback, main supply, drawer, two
/// resistors in one place.
constexpr std::array kKinds{"rehearsal_room.json",
                            "bass_player.json",
                            "first_stage.json",
                            "chain_capacitor_coupled.json",
                            "chain_direct_coupled.json",
                            "chain_high_gain.json",
                            "shared_main_supply.json",
                            "out_of_the_drawer.json",
                            "trimmed_balance.json",
                            "low_supply.json",
                            "distortion_or_headroom.json",
                            "cannot_be_met.json",
                            "only_100k_plates.json",
                            "most_builds_that_work.json",
                            "which_splitter.json",
                            "split_load.json"};

Brief drawn_brief(int number, RandomNumbers& random) {
  const std::string file = std::string(ANTIPHASE_SOURCE "/configs/briefs/") +
                           kKinds[static_cast<std::size_t>(number) % kKinds.size()];
  json brief = json::parse(read_text(file));
  brief.erase("$schema");
  // Few tubes, so that a short search has time for each.
  json& tubes = brief["tubes"];
  while (tubes.size() > 2)
    tubes.erase(static_cast<std::size_t>(random.below(static_cast<int>(tubes.size()))));
  json& target = brief["target"];
  const double factor = random.log_between(0.6, 1.3);
  for (const char* member : {"swing_peak_v", "output_valve_bias_v"})
    if (target.contains(member)) target[member] = target[member].get<double>() * factor;
  if (!brief.contains("objectives")) brief["objectives"] = json::parse(R"([{"figure": "distortion_pct"}])");
  const int way = number % kWays;  // 16 kinds and 5 ways: every pair comes up in time
  const double corner_hz = random.log_between(3, 60);
  if (way == nothing || way == in_the_score_alone) brief.erase("low_frequency_hz");
  if (way == given || way == given_and_limited || way == given_and_in_the_score)
    brief["low_frequency_hz"] = corner_hz;
  if (way == given_and_limited)
    brief["limits"].push_back(
        {{"figure", "low_corner_hz"}, {"at_most", corner_hz * random.between(0.7, 1.2)}});
  if (way == given_and_in_the_score || way == in_the_score_alone)
    brief["objectives"].push_back(
        {{"figure", random.below(2) == 0 ? "high_corner_hz" : "noise_below_target_db"}, {"weight", 0.5}});
  if (random.below(3) == 0 && !brief["parts"].contains("on_hand")) brief["parts"]["resistors"] = "E12";
  brief["search"] = {{"candidates", 4}, {"seed", number + 1}};
  const auto read = read_brief_text(brief.dump(), file, shipped());
  if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
  return std::get<Brief>(read);
}

engine::SearchOptions short_search(std::uint64_t seed) {
  engine::SearchOptions o;
  o.seed = seed;
  o.global_evaluations_per_family = 120;
  o.screening_evaluations_per_family = 200;
  o.refined_points_per_family = 1;
  o.local_evaluations = 60;
  o.lattice_starts_per_family = 2;
  o.lattice_evaluations_per_start = 300;
  o.front_directions = 6;
  o.front_evaluations_per_direction = 60;
  o.families_kept = 3;
  o.best_kept = 60;
  o.front_kept = 12;
  o.cloud_kept = 8;
  return o;
}

/// What `evaluate` and the table of limits say of a design that comes out of a file.
struct Plain {
  Design design;
  Evaluation evaluation;
  std::vector<LimitResult> limits;
  std::optional<double> score;
  bool feasible = false;
};

class Reader {
 public:
  Plain operator()(const Design& design, const Demands& demands) {
    write_text(folder_ / "design.json", design_json(design));
    const auto read = read_design((folder_ / "design.json").string(), shipped());
    if (const auto* errors = std::get_if<InputErrors>(&read)) FAIL(in_words(*errors));
    Plain p;
    p.design = std::get<Design>(read);
    evaluate(p.design, Depth::everything, p.evaluation);
    p.limits = check_demands(demands, p.design, p.evaluation);
    p.score = score(demands, p.design, p.evaluation);
    p.feasible = p.evaluation.at_target.solved == Solved::yes &&
                 std::all_of(p.limits.begin(), p.limits.end(), [](const LimitResult& r) { return r.kept; });
    return p;
  }

 private:
  Folder folder_;
};

bool same(const std::optional<double>& a, const std::optional<double>& b, double size) {
  return a.has_value() == b.has_value() && (!a || within(*a, *b, kSame * std::max(1e-12, std::fabs(size))));
}
bool same(const std::optional<double>& a, const std::optional<double>& b) {
  return same(a, b, b.value_or(0));
}
std::optional<double> minus(const std::optional<double>& a, const std::optional<double>& b) {
  return a && b ? std::optional(*a - *b) : std::nullopt;
}
double size_of(const std::optional<double>& a, const std::optional<double>& b) {
  return std::fabs(a.value_or(0)) + std::fabs(b.value_or(0));
}

void check_rows(const std::vector<LimitResult>& told, const std::vector<LimitResult>& plain) {
  CHECK(told.size() == plain.size());
  for (std::size_t i = 0; i < std::min(told.size(), plain.size()); ++i) {
    CAPTURE(std::string(plain[i].name));
    CHECK(told[i].name == plain[i].name);
    CHECK(told[i].section == plain[i].section);
    CHECK(told[i].known == plain[i].known);
    CHECK(told[i].kept == plain[i].kept);
    if (!told[i].known || !plain[i].known) continue;
    CHECK(same(told[i].value, plain[i].value));
    CHECK(same(told[i].limit, plain[i].limit));
  }
}

std::vector<LimitResult> broken(const std::vector<LimitResult>& all) {
  std::vector<LimitResult> rows;
  std::copy_if(all.begin(), all.end(), std::back_inserter(rows),
               [](const LimitResult& r) { return !r.kept; });
  return rows;
}

void check_record(const Record& told, const Plain& plain, const Demands& demands) {
  check_rows(told.limits, plain.limits);
  CHECK(told.feasible == plain.feasible);
  CHECK(same(told.score, plain.score));
  for (std::size_t i = 0; i < figures().size(); ++i) {
    CAPTURE(std::string(figures()[i].name));
    CHECK(same(told.figures[i], figures()[i].measure(plain.design, plain.evaluation)));
  }
  if (told.bands.laws > 1) {  // law by law; the first is the one in use
    CHECK(same(told.bands.score[0], plain.score));
    CHECK(told.bands.feasible[0] == plain.feasible);
    for (std::size_t n = 1; n < told.bands.score.size(); ++n) {
      Design under = plain.design;
      under.law = static_cast<int>(n);
      Evaluation e;
      evaluate(under, Depth::everything, e);
      const bool kept = broken(check_demands(demands, under, e)).empty();
      CHECK(same(told.bands.score[n], score(demands, under, e)));
      CHECK(told.bands.feasible[n] == (kept && e.at_target.solved == Solved::yes));
    }
  }
}

void check_change(const Change& told, const Plain& here, const Plain& there, const Demands& demands) {
  CHECK(told.target == there.evaluation.at_target.solved);
  CHECK(same(told.score, minus(there.score, here.score), size_of(there.score, here.score)));
  REQUIRE(told.figures.size() == demands.objectives.size());
  for (std::size_t i = 0; i < demands.objectives.size(); ++i) {
    const Figure& f = *demands.objectives[i].figure;
    const auto to = f.measure(there.design, there.evaluation), from = f.measure(here.design, here.evaluation);
    CHECK(same(told.figures[i], minus(to, from), size_of(to, from)));
  }
  check_rows(told.broken, broken(there.limits));
}

}  // namespace

TEST_CASE("what a search says of any design is what a plain evaluation of it out of a file says" *
          doctest::test_suite("long")) {
  constexpr int kBriefs = 3 * static_cast<int>(kKinds.size());
  RandomNumbers random{std::mt19937_64(11)};
  Reader plain_of;
  std::map<std::string, int> seen;
  for (int number = 0; number < kBriefs; ++number) {
    const Brief brief = drawn_brief(number, random);
    CAPTURE(brief.title);
    CAPTURE(number);
    const DesignProblem problem(brief.space, brief.demands);
    const Demands& demands = problem.demands();
    if (problem.families().empty()) continue;
    const engine::SearchOutcome found =
        engine::search(problem.families(), short_search(brief.seed), {.threads = 1}, {}, nullptr);
    const Report report = make_report(brief, problem, found, nullptr);
    if (report.candidates.empty()) continue;
    const bool met = report.candidates.front().feasible;
    CHECK(met == found.best.front().judged.feasible());
    ++seen[met ? "met" : "not met"];
    if (brief.space.low_frequency_hz) ++seen["low frequency"];
    if (problem.depth() < needed_depth(demands)) ++seen["corner settled by the choice"];
    if (brief.space.given.feedback.given) ++seen["feedback"];

    for (std::size_t n = 0; n < report.candidates.size(); ++n) {
      const Record& r = report.candidates[n];
      const Plain here = plain_of(r.design, demands);
      ++seen[met ? "candidates" : "near misses"];
      check_record(r, here, demands);
      if (met && n + 1 < report.candidates.size()) {
        const Plain next = plain_of(report.candidates[n + 1].design, demands);
        CHECK(same(r.lead.total, minus(next.score, here.score), size_of(next.score, here.score)));
        ++seen["leads"];
      }
      if (n >= 2) continue;
      const auto point = problem.lattice_point(r.design);
      REQUIRE(point.has_value());
      for (const PartSteps& part : r.explanation.steps)
        for (const std::optional<Change>& step : part.step) {
          if (!step) continue;
          CAPTURE(std::string(part.field->pointer));
          Design other = problem.design_at(point->family, point->x);
          part.field->at(other) = step->parts.front().value;
          const Plain there = plain_of(problem.with_capacitors(other), demands);
          ++seen["steps"];
          seen["steps that keep every limit"] += broken(there.limits).empty();
          check_change(*step, here, there, demands);
        }
      for (const Loosening& l : r.explanation.loosenings) {
        Design other = problem.design_at(point->family, point->x);
        for (const PartChange& p : l.change.parts) p.field->at(other) = p.value;
        check_change(l.change, here, plain_of(problem.with_capacitors(other), demands), demands);
        ++seen["loosenings"];
      }
    }
    for (const Record& r : report.pareto) {
      const Plain p = plain_of(r.design, demands);
      check_record(r, p, demands);
      CHECK(p.feasible);
      ++seen["members of the front"];
      seen["choices"] += r.choice;
    }
    for (const TradeOffPoint& choice : choices(report)) {
      const Record anew = make_record(plain_of(choice.record->design, demands).design, demands);
      CHECK(choice.figures == objectives_in_words(demands, anew));
      ++seen["choices in words"];
    }
    for (const Record& r : report.best_of_tubes) {
      const Plain p = plain_of(r.design, demands);
      check_record(r, p, demands);
      CHECK(p.feasible);
      ++seen["best of a tube"];
    }
    for (const CircuitBest& of : report.best_of_circuits) {
      if (!of.best) continue;
      const Plain p = plain_of(of.best->design, demands);
      check_record(*of.best, p, demands);
      CHECK(p.feasible == of.best->feasible);
      ++seen["best of a circuit"];
    }
    for (std::size_t n = 0; n < report.cloud.size(); ++n) {
      const Plain p = plain_of(report.cloud_design[n], demands);
      CHECK(p.feasible);
      for (std::size_t i = 0; i < figures().size(); ++i)
        if (figures()[i].needs <= std::max(Depth::full, needed_depth(demands)))
          CHECK(same(report.cloud[n][i], figures()[i].measure(p.design, p.evaluation)));
      ++seen["dots of the cloud"];
    }
    // Builds of which nothing is off: as many keep what counts for builds as the design as drawn does.
    {
      const Record& r = report.candidates.front();
      Tolerances exact;
      exact.resistor_pct = exact.capacitor_pct = exact.mains_pct = exact.setting_pct = exact.mu_pct = 0;
      exact.plate_current_pct = 0;
      const Demands on_builds = with_low_frequency(brief.space, brief.demands);
      const Plain p = plain_of(r.design, demands_on_builds(on_builds));
      const RobustFigures builds = robust_of(r.design, exact, on_builds, 3, brief.seed, 0.95);
      CHECK(builds.kept == (p.feasible ? 3 : 0));
      if (met) CHECK(builds.kept == 3);
      if (p.feasible) CHECK(same(builds.score, p.score));
      const BuildModel model(r.design, exact);
      BuildSampler sampler(model, on_builds, 2, brief.seed);
      for (int piece = 0; piece < sampler.pieces(); ++piece) sampler.work(piece);
      const BuildSample sample = sampler.finish();
      CHECK(std::count(sample.kept.begin(), sample.kept.end(), 1) == (p.feasible ? 2 : 0));
      for (const BuildColumn& column : sample.column)
        if (column.figure >= figures().data() && column.figure < figures().data() + figures().size())
          CHECK(same(column.known[0] ? std::optional(column.value[0]) : std::nullopt,
                     column.figure->measure(p.design, p.evaluation)));
      ++seen["builds as drawn"];
    }
  }
  for (const char* what : {"met", "not met", "low frequency", "corner settled by the choice", "feedback",
                           "candidates", "near misses", "leads", "steps", "steps that keep every limit",
                           "loosenings", "members of the front", "choices", "choices in words",
                           "best of a tube", "best of a circuit", "dots of the cloud", "builds as drawn"}) {
    CAPTURE(std::string(what));
    CHECK(seen[what] > 0);
    MESSAGE(std::string(what), ": ", seen[what]);
  }
}

TEST_CASE("the designs that a conflict names are what a plain evaluation of them out of a file says") {
  Reader plain_of;
  int sides = 0, with_corner = 0;
  // A swing out of reach, and given capacitors that are too small for the corner asked for.
  for (const char* name : {"cannot_be_met.json", "rehearsal_room.json"}) {
    Brief brief = brief_named(name);
    brief.space.tubes = {shipped().find("12AU7")};
    brief.space.bias_forms = {BiasForm::self_biased};
    brief.space.low_frequency_hz = 20;
    if (name == std::string("rehearsal_room.json")) {
      brief.space.given.swing_peak_v = 25;
      brief.space.given.coupling_f = 1e-9;
    }
    const DesignProblem problem(brief.space, brief.demands);
    const engine::SearchOutcome found =
        engine::search(problem.families(), short_search(1), {.threads = 2}, {}, nullptr);
    REQUIRE(!found.best.front().judged.feasible());
    const std::atomic<bool> stop = false;
    const auto conflict = find_conflict(brief, problem, found.best, 2, {}, stop);
    REQUIRE(conflict.has_value());
    REQUIRE(!conflict->sides.empty());
    for (const Conflict::Side& side : conflict->sides) {
      CAPTURE(side.demand);
      with_corner += side.demand.find("low corner") != std::string::npos;
      if (!side.nearest) continue;
      const Record& r = *side.nearest;
      const Plain p = plain_of(r.design, problem.demands());
      check_record(r, p, problem.demands());
      ++sides;
    }
  }
  CHECK(sides > 0);
  CHECK(with_corner > 0);
}

TEST_CASE("builds, all as drawn, miss the low frequency of the brief exactly if the design does") {
  Brief brief = brief_named("rehearsal_room.json");
  brief.space.tubes = {shipped().find("12AU7")};
  brief.space.low_frequency_hz = 20;
  brief.space.given.swing_peak_v = 25;
  const DesignProblem problem(brief.space, brief.demands);
  const engine::SearchOutcome found =
      engine::search(problem.families(), short_search(1), {.threads = 2}, {}, nullptr);
  const engine::Point& best = found.best.front();
  REQUIRE(best.judged.feasible());
  Tolerances exact;
  exact.resistor_pct = exact.capacitor_pct = exact.mains_pct = exact.setting_pct = exact.mu_pct = 0;
  exact.plate_current_pct = 0;
  const Demands asked = with_low_frequency(brief.space, brief.demands);
  const auto kept = [&](const Design& design) { return robust_of(design, exact, asked, 2, 1, 0.95).kept; };
  Design design = problem.with_capacitors(problem.design_at(best.family, best.x));
  Reader plain_of;
  CHECK(plain_of(design, asked).feasible);
  CHECK(kept(design) == 2);
  design.coupling_f = 1e-9;  // into 150 kOhm: 1 kHz
  const auto missed = broken(plain_of(design, asked).limits);
  REQUIRE(missed.size() == 1);
  CHECK(missed[0].name == "low_corner_hz");
  CHECK(kept(design) == 0);
}
