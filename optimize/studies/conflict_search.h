/// Why a brief cannot be met: the smallest set of demands that conflict.
#pragma once

#include <atomic>
#include <optional>

#include "configs/brief.h"
#include "objectives/design_problem.h"
#include "optimize/engine/search.h"
#include "results/report.h"

namespace antiphase {

/// Demands are: the target swing, each limit of the brief, each range of a solved quantity, each rating (by
/// name), and the parts on hand. One after the other is left out for good if the rest is still not met by a
/// short search; those that remain conflict, and any one of them left out lets the others be met.
/// Source: Chinneck & Dravnieks, "Locating minimal infeasible constraint sets in linear programs", ORSA J.
/// Computing 3 (1991) 157-168: the deletion filter. There a solver proves that there is no solution; here
/// a search finds none, so the answer is as sure as that.
/// Then for each of them the design is looked for that keeps all others and misses this one by least.
/// The swing is left out by asking for a tenth of it.
/// `misses`: points of a search of `problem` that found nothing feasible, best first.
/// Deterministic in brief and problem. Cost: at most some 20 searches of a few thousand evaluations each.
/// @return empty if `stop` was set before the end.
std::optional<Conflict> find_conflict(const Brief& brief, const DesignProblem& problem,
                                      const std::vector<engine::Point>& misses, int threads,
                                      const engine::Watch& watch, const std::atomic<bool>& stop);

}  // namespace antiphase
