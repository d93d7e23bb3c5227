#include "optimize/studies/complete/complete_search.h"

#include <algorithm>
#include <chrono>

#include "optimize/engine/order.h"
#include "optimize/engine/pareto/spread_out.h"

namespace antiphase {
namespace {

using Clock = std::chrono::steady_clock;
constexpr std::chrono::seconds kBetweenSaves{10};

engine::CompleteOptions options_of(const CompleteIdentity& identity) {
  engine::CompleteOptions options;
  options.slice = identity.slice;
  options.slices = identity.slices;
  return options;
}

RunRecord::EveryCombination record_of(const engine::CompleteFindings& found, const DesignProblem& problem,
                                      double combinations, const CompleteIdentity& identity) {
  RunRecord::EveryCombination r;
  r.slice = identity.slice;
  r.slices = identity.slices;
  r.combinations = static_cast<std::int64_t>(combinations);
  const engine::Coverage& c = found.coverage;
  r.covered = c.covered;
  r.left_out_in_blocks = c.discarded;
  const std::vector<std::string>& stages = problem.families().front().parts.stages;
  for (std::size_t i = 0; i < stages.size(); ++i)
    r.turned_away.emplace_back(stages[i], i < c.turned_away.size() ? c.turned_away[i] : 0);
  r.judged_whole = c.judged_whole;
  r.keep_every_limit = c.feasible;
  r.front = static_cast<std::int64_t>(found.front.size());
  r.front_whole = found.front_whole;
  return r;
}

std::string name_of(const CompleteIdentity& slice) {
  return std::to_string(slice.slice) + "/" + std::to_string(slice.slices);
}

}  // namespace

CompleteIdentity identity_of(const Brief& brief, const DesignProblem& problem, int slice, int slices) {
  return {brief.digest, lattice_digest(problem), slice, slices};
}

OrTrouble<engine::CompleteFindings> findings_of(CompleteRead read, const CompleteIdentity& wanted,
                                                const std::string& file) {
  const CompleteIdentity& own = read.identity;
  if (own.slice != wanted.slice || own.slices != wanted.slices)
    return Trouble{file + ": holds slice " + name_of(own) + ", not the one asked for"};
  return std::move(read.findings);
}

OrTrouble<CompleteOutcome> search_every_combination(const DesignProblem& problem,
                                                    const CompleteIdentity& identity,
                                                    engine::CompleteFindings from, int threads,
                                                    const engine::Watch& watch, const std::atomic<bool>& stop,
                                                    const KeepFindings& keep) {
  engine::CompleteRun run(problem.families(), options_of(identity), std::move(from));
  const auto file = [&] { return complete_json(identity, problem, run.chunks(), run.findings()); };
  Clock::time_point last_kept = Clock::now();
  while (!run.finished() && !stop) {
    run.advance({.threads = threads}, watch, &stop);
    if (Clock::now() - last_kept < kBetweenSaves || run.finished() || stop) continue;
    if (auto trouble = keep(file())) return std::move(*trouble);
    last_kept = Clock::now();
  }
  CompleteOutcome out;
  out.findings = run.findings();
  out.finished = run.finished();
  out.record = record_of(out.findings, problem, static_cast<double>(run.points()), identity);
  out.file = file();
  return out;
}

std::optional<Trouble> Slices::add(CompleteRead slice, const std::string& file) {
  const CompleteIdentity& own = slice.identity;
  if (slice.findings.chunks_done < slice.chunks)
    return Trouble{file + ": this slice is not finished; go on with it first (--continue)"};
  if (!slices_.empty() && own.slices != slices_.front().identity.slices)
    return Trouble{file + ": slice " + name_of(own) + " does not go with slices of " +
                   std::to_string(slices_.front().identity.slices)};
  for (const CompleteRead& other : slices_)
    if (other.identity.slice == own.slice)
      return Trouble{file + ": slice " + std::to_string(own.slice) + " is there twice"};
  slices_.push_back(std::move(slice));
  return std::nullopt;
}

OrTrouble<CompleteOutcome> Slices::merged(const DesignProblem& problem, const CompleteIdentity& whole) const {
  const int slices = slices_.front().identity.slices;
  if (static_cast<int>(slices_.size()) != slices)
    return Trouble{"of " + std::to_string(slices) + " slices " + std::to_string(slices_.size()) +
                   " are given; all of them are needed"};
  std::vector<engine::CompleteFindings> all;
  std::int64_t chunks = 0;
  for (const CompleteRead& r : slices_) {
    chunks += r.chunks;
    all.push_back(r.findings);
  }
  CompleteOutcome out;
  out.findings = engine::merge(all, problem.families(), options_of(whole));
  out.finished = true;
  out.record = record_of(out.findings, problem, engine::combinations(problem.families()), whole);
  out.file = complete_json(whole, problem, chunks, out.findings);
  return out;
}

namespace {

/// The best of each family, where going through all found a better one.
void take_best_by_family(const std::vector<engine::Point>& best, std::size_t families,
                         engine::SearchOutcome& found) {
  while (found.best_by_family.size() < families)
    found.best_by_family.push_back({{}, {}, static_cast<int>(found.best_by_family.size())});
  for (const engine::Point& p : best) {
    engine::Point& own = found.best_by_family[static_cast<std::size_t>(p.family)];
    if (own.x.empty() || engine::better(p, own)) own = p;
  }
}

}  // namespace

void take_over(CompleteOutcome& complete, const std::vector<engine::Family>& families,
               engine::SearchOutcome& found) {
  constexpr int kFrontShown = 400;
  if (complete.findings.best.empty()) return;
  if (!found.best.empty() && complete.finished && complete.record.slices == 1)
    complete.record.search_had_the_best =
        found.best.front().judged.feasible() &&
        found.best.front().judged.cost == complete.findings.best.front().judged.cost;
  found.best = complete.findings.best;
  found.front = engine::spread_out(complete.findings.front, families.front().parts.objectives, kFrontShown);
  take_best_by_family(complete.findings.best, families.size(), found);
}

}  // namespace antiphase
