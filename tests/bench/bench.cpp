// How long an evaluation and a search take on this machine. Prints, asserts nothing.
#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <fstream>
#include <string>
#include <thread>
#include <vector>

#include "configs/read_brief.h"
#include "objectives/design_problem.h"
#include "optimize/engine/lattice/complete.h"
#include "optimize/engine/passes.h"
#include "stagemodels/evaluate.h"

using namespace antiphase;
using Clock = std::chrono::steady_clock;

namespace {

std::string processor() {
  std::ifstream info("/proc/cpuinfo");
  for (std::string line; std::getline(info, line);)
    if (line.starts_with("model name")) return line.substr(line.find(':') + 2);
  return "unknown processor";
}

/// Least and median time of one call, over repeats that each go through all designs.
struct Timing {
  double least_us, median_us;
};
template <class Work>
Timing time_of(const std::vector<Design>& designs, Work&& work) {
  constexpr int kRepeats = 25;
  std::vector<double> times;
  for (int r = 0; r < kRepeats; ++r) {
    const Clock::time_point start = Clock::now();
    for (const Design& d : designs) work(d);
    times.push_back(std::chrono::duration<double, std::micro>(Clock::now() - start).count() /
                    static_cast<double>(designs.size()));
  }
  std::sort(times.begin(), times.end());
  return {times.front(), times[times.size() / 2]};
}

/// Designs as the search meets them: what one start per family leads to, spread by the front.
std::vector<Design> met_by_search(const DesignProblem& problem) {
  engine::SearchOptions quick;
  quick.global_evaluations_per_family = 200;
  quick.lattice_evaluations_per_start = 400;
  quick.front_directions = 16;
  quick.front_evaluations_per_direction = 100;
  std::vector<Design> designs;
  for (const engine::Point& p : engine::search(problem.families(), quick, {.threads = 1}, {}, nullptr).cloud)
    designs.push_back(problem.design_at(p.family, p.x));
  designs.resize(std::min<std::size_t>(designs.size(), 300));
  return designs;
}

/// A gain stage and the pair behind it, as one circuit.
void time_chains(const TubeLibrary& library) {
  const auto read =
      read_brief(std::string(ANTIPHASE_SOURCE "/configs") + "/briefs/chain_capacitor_coupled.json", library);
  if (!std::holds_alternative<Brief>(read)) return;
  const Brief& brief = std::get<Brief>(read);
  const DesignProblem problem(brief.space, brief.demands);
  std::vector<Design> designs = met_by_search(problem);
  for (const bool ideal : {true, false}) {
    if (ideal)
      for (Design& d : designs) d.source_ohm = 0;
    else
      for (Design& d : designs) d.source_ohm = brief.space.given.source_ohm;
    std::printf("%zu chains of \"%s\", source %s\n", designs.size(), brief.title.c_str(),
                ideal ? "without resistance" : "as given");
    Evaluation e;
    const auto row = [&](const char* what, Depth depth) {
      const Timing t = time_of(designs, [&](const Design& d) { evaluate(d, depth, e); });
      std::printf("  %-46s %8.2f %8.2f\n", what, t.least_us, t.median_us);
    };
    row("rest", Depth::rest);
    row("and steady state at the target (mark: 12)", Depth::at_target);
    row("and clean swing: the full evaluation (mark: 60)", Depth::full);
    row("and response against frequency, noise", Depth::with_frequency);
  }
}

}  // namespace

int main(int argc, char** argv) {
  const std::string configs = ANTIPHASE_SOURCE "/configs";
  const auto library = read_tube_library(configs + "/tubes");
  if (!std::holds_alternative<TubeLibrary>(library)) return 3;
  const std::string brief_file = argc > 1 ? argv[1] : configs + "/briefs/rehearsal_room.json";
  const auto read = read_brief(brief_file, std::get<TubeLibrary>(library));
  if (!std::holds_alternative<Brief>(read)) return 2;
  const Brief& brief = std::get<Brief>(read);
  const DesignProblem problem(brief.space, brief.demands);

  std::printf("%s, %u processors; compiler %s\n", processor().c_str(), std::thread::hardware_concurrency(),
              __VERSION__);

  const std::vector<Design> designs = met_by_search(problem);
  std::printf("%zu designs of \"%s\", one core; least and median of 25 rounds, us a design\n", designs.size(),
              brief.title.c_str());
  Evaluation e;
  const auto row = [&](const char* what, Depth depth) {
    const Timing t = time_of(designs, [&](const Design& d) { evaluate(d, depth, e); });
    std::printf("  %-46s %8.2f %8.2f\n", what, t.least_us, t.median_us);
  };
  row("rest", Depth::rest);
  row("and small signal", Depth::small_signal);
  row("and steady state at the target (mark: 40)", Depth::at_target);
  row("and clean swing: the full evaluation (mark: 150)", Depth::full);
  row("and response against frequency, noise (mark: 150)", Depth::with_frequency);
  row("and everything else", Depth::everything);
  const Timing judged = time_of(designs, [&](const Design& d) { problem.judge(d, e); });
  std::printf("  %-46s %8.2f %8.2f\n", "judged for the search (limits, score)", judged.least_us,
              judged.median_us);

  time_chains(std::get<TubeLibrary>(library));

  for (int threads : {1, 2}) {
    const Clock::time_point start = Clock::now();
    const engine::SearchOutcome found =
        engine::search(problem.families(), engine::passes_for(engine::Effort::normal, 1), {},
                       {.threads = threads}, {}, nullptr);
    const double s = std::chrono::duration<double>(Clock::now() - start).count();
    const auto made = static_cast<double>(found.evaluations_ideal + found.evaluations_parts);
    std::printf("search, %d thread%s: %.2f s, %.0f designs, %.0f designs a second, best score %.4f\n",
                threads, threads == 1 ? "" : "s", s, made, made / s,
                found.best.empty() ? 0.0 : found.best.front().judged.cost);
  }

  // Every combination: the first ten million, or all.
  constexpr std::int64_t kCombinations = 10'000'000;
  for (int threads : {1, 2}) {
    engine::CompleteRun run(problem.families(), {});
    const Clock::time_point start = Clock::now();
    while (!run.finished() && run.coverage().covered < kCombinations) run.advance({threads}, {}, nullptr);
    const double s = std::chrono::duration<double>(Clock::now() - start).count();
    const engine::Coverage& c = run.coverage();
    std::printf(
        "every combination, %d thread%s: %.2f s for %.3g of %.3g, %.0f a second (mark: 300000 on 2); in "
        "blocks "
        "%.1f %%, judged whole %.2f %%; front %zu\n",
        threads, threads == 1 ? "" : "s", s, static_cast<double>(c.covered),
        engine::combinations(problem.families()), static_cast<double>(c.covered) / s,
        100.0 * static_cast<double>(c.discarded) / static_cast<double>(c.covered),
        100.0 * static_cast<double>(c.judged_whole) / static_cast<double>(c.covered),
        run.findings().front.size());
  }
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  std::printf("most memory in use so far: %ld MB\n", usage.ru_maxrss / 1024);
  return 0;
}
