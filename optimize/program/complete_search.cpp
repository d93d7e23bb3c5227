#include "optimize/program/complete_search.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <random>

#include "optimize/engine/lattice/levels.h"
#include "optimize/program/complete_file.h"
#include "optimize/program/exit_codes.h"
#include "results/save.h"
#include "results/text/formatted.h"

namespace antiphase {
namespace {

using Clock = std::chrono::steady_clock;

constexpr double kMostCombinations = 1e15;  // beyond, counts are not exact any more
constexpr std::chrono::seconds kBetweenSaves{10};

/// Seconds a combination takes on one thread, none left out in blocks: from some drawn all over the lattices.
double seconds_a_point(const DesignProblem& problem) {
  constexpr int kPoints = 3000;
  std::mt19937_64 random(1);
  std::vector<double> x;
  const Clock::time_point start = Clock::now();
  int made = 0;
  for (const engine::Family& family : problem.families()) {
    const engine::StagedJudge staged_judge = family.parts.make_staged_judge();
    x.resize(family.parts.axes.size());
    for (int n = 0; n <= kPoints / static_cast<int>(problem.families().size()); ++n, ++made) {
      for (std::size_t i = 0; i < x.size(); ++i) {
        const std::vector<double>& levels = family.parts.axes[i].levels;
        x[i] = levels[random() % levels.size()];
      }
      staged_judge.judge_staged(x);
    }
  }
  return std::chrono::duration<double>(Clock::now() - start).count() / std::max(1, made);
}

std::string in_time(double seconds) {
  if (seconds < 90) return formatted("%.0f seconds", seconds);
  if (seconds < 90 * 60) return formatted("%.0f minutes", seconds / 60);
  if (seconds < 48 * 3600) return formatted("%.0f hours", seconds / 3600);
  return formatted("%.0f days", seconds / 86400);
}

std::string what_to_narrow(const DesignProblem& problem) {
  const engine::Family* largest = nullptr;
  for (const engine::Family& family : problem.families())
    if (!largest || engine::lattice_size(family.parts) > engine::lattice_size(largest->parts))
      largest = &family;
  std::string words = "most come from " + largest->name + ":";
  for (const engine::Axis& axis : largest->parts.axes)
    words += " " + axis.name + " " + std::to_string(axis.levels.size()) +
             (&axis == &largest->parts.axes.back() ? "" : ",");
  return words +
         " values. Narrow the ranges of the variables, take a coarser series (from E24 to E12 halves "
         "each resistor's values), a larger step of the supply, or fewer tubes and forms";
}

RunRecord::EveryCombination record_of(const engine::CompleteFindings& found, const DesignProblem& problem,
                                      double combinations, int slice, int slices) {
  RunRecord::EveryCombination r;
  r.slice = slice;
  r.slices = slices;
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

CompleteOutcome refuse(int code, const std::string& words) {
  std::fprintf(stderr, "antiphase search: %s\n", words.c_str());
  CompleteOutcome out;
  out.exit_code = code;
  return out;
}

CompleteOutcome merged(const DesignProblem& problem, const CompleteArguments& arguments,
                       const CompleteIdentity& identity, const engine::CompleteOptions& options) {
  std::vector<CompleteRead> read;
  for (const std::string& folder : arguments.merge) {
    const std::string path = (std::filesystem::path(folder) / kCompleteFile).string();
    auto slice = read_complete(path, problem, identity);
    if (const auto* trouble = std::get_if<CompleteTrouble>(&slice))
      return refuse(trouble->unreadable ? kFileTrouble : kBadInput, path + ": " + trouble->what);
    read.push_back(std::get<CompleteRead>(std::move(slice)));
    const CompleteRead& r = read.back();
    if (r.findings.chunks_done < r.chunks)
      return refuse(kBadInput, path + ": this slice is not finished; go on with it first (--continue)");
    if (r.identity.slices != read.front().identity.slices)
      return refuse(kBadInput, path + ": slice " + std::to_string(r.identity.slice) + "/" +
                                   std::to_string(r.identity.slices) + " does not go with slices of " +
                                   std::to_string(read.front().identity.slices));
    for (std::size_t i = 0; i + 1 < read.size(); ++i)
      if (read[i].identity.slice == r.identity.slice)
        return refuse(kBadInput, path + ": slice " + std::to_string(r.identity.slice) + " is there twice");
  }
  const int slices = read.front().identity.slices;
  if (static_cast<int>(read.size()) != slices)
    return refuse(kBadInput, "of " + std::to_string(slices) + " slices " + std::to_string(read.size()) +
                                 " are given; all of them are needed");
  std::vector<engine::CompleteFindings> all;
  std::int64_t chunks = 0;
  for (CompleteRead& r : read) {
    chunks += r.chunks;
    all.push_back(std::move(r.findings));
  }
  CompleteOutcome out;
  out.findings = engine::merge(all, static_cast<int>(problem.demands().objectives.size()), options);
  out.finished = true;
  out.record = record_of(out.findings, problem, engine::combinations(problem.families()), 1, 1);
  out.file = complete_json(identity, problem, chunks, out.findings);
  return out;
}

}  // namespace

std::string too_many(const DesignProblem& problem, const CompleteArguments& arguments, int threads,
                     bool time_limited) {
  const double all = engine::combinations(problem.families());
  if (!arguments.merge.empty() || all / arguments.slices <= kManyCombinations) return {};
  if (all <= kMostCombinations && (time_limited || arguments.slices > 1)) return {};
  const double seconds = seconds_a_point(problem) * all / threads;
  return formatted("%.3g combinations would take up to %s on %d %s; ", all, in_time(seconds).c_str(), threads,
                   threads == 1 ? "thread" : "threads") +
         what_to_narrow(problem) +
         (all <= kMostCombinations ? ". Or say --time-limit, or --slice to share the work among machines"
                                   : "");
}

CompleteOutcome search_every_combination(const Brief& brief, const DesignProblem& problem,
                                         const CompleteArguments& arguments, const std::string& folder,
                                         int threads, const engine::Watch& watch,
                                         const std::atomic<bool>& stop) {
  CompleteIdentity identity{brief.digest, lattice_digest(problem), arguments.slice, arguments.slices};
  engine::CompleteOptions options;
  options.slice = arguments.slice;
  options.slices = arguments.slices;
  if (!arguments.merge.empty()) return merged(problem, arguments, identity, options);

  CompleteOutcome out;
  engine::CompleteFindings from;
  const std::string path = (std::filesystem::path(folder) / kCompleteFile).string();
  if (arguments.go_on && std::filesystem::exists(path)) {
    auto read = read_complete(path, problem, identity);
    if (const auto* trouble = std::get_if<CompleteTrouble>(&read))
      return refuse(trouble->unreadable ? kFileTrouble : kBadInput,
                    path + ": " + trouble->what + "; without --continue the search begins anew");
    CompleteRead& r = std::get<CompleteRead>(read);
    if (r.identity.slice != arguments.slice || r.identity.slices != arguments.slices)
      return refuse(kBadInput, path + ": holds slice " + std::to_string(r.identity.slice) + "/" +
                                   std::to_string(r.identity.slices) + ", not the one asked for");
    from = std::move(r.findings);
    out.continued_from = path;
  }
  engine::CompleteRun run(problem.families(), options, std::move(from));
  const auto file = [&] { return complete_json(identity, problem, run.chunks(), run.findings()); };
  Clock::time_point last_saved = Clock::now();
  while (!run.finished() && !stop) {
    run.advance({.threads = threads}, watch, &stop);
    if (Clock::now() - last_saved < kBetweenSaves || run.finished() || stop) continue;
    if (const auto trouble = save(folder, {{kCompleteFile, file()}}))
      return refuse(kFileTrouble, in_words(*trouble));
    last_saved = Clock::now();
  }
  out.findings = run.findings();
  out.finished = run.finished();
  out.record =
      record_of(out.findings, problem, static_cast<double>(run.points()), arguments.slice, arguments.slices);
  out.file = file();
  return out;
}

}  // namespace antiphase
