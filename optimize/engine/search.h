/// The plan: global search over each family's ideal problem, local refinement, then the
/// lattice of parts searched as a lattice, and an archive of what beats all else.
#pragma once

#include <atomic>
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "optimize/engine/problem.h"

namespace antiphase::engine {

/// What alters the answer: it goes into the run record.
struct SearchOptions {
  std::uint64_t seed = 1;
  int global_evaluations_per_family = 1200;
  int screening_evaluations_per_family = 1000;  ///< of the lattice, before families are chosen
  int refined_points_per_family = 3;            ///< starts of local refinement
  int local_evaluations = 300;                  ///< per refined point
  int lattice_starts_per_family = 4;
  int lattice_evaluations_per_start = 3000;
  int front_directions = 64;  ///< weightings explored to widen the front of each group
  int front_evaluations_per_direction = 800;
  int families_kept = 6;  ///< families of a group that go on after the global round
  int best_kept = 400;    ///< lattice points kept for ranking, best first
  int front_kept = 400;   ///< most members of the front in the answer
  int cloud_kept = 2000;  ///< most members of the cloud in the answer
};

/// What alters only when the answer comes.
struct Resources {
  int threads = 1;  ///< > 0
};

struct Snapshot {
  std::string_view stage;  ///< what is being done, for people
  std::int64_t evaluations = 0;
  std::int64_t evaluations_expected = 0;  ///< of the whole search; an estimate
  std::optional<double> best_cost;        ///< of a feasible lattice point; empty while there is none
};

enum class Stop { not_run, finished, interrupted, empty };

/// Is told of the progress now and then, from one thread at a time. May be empty.
using Watch = std::function<void(const Snapshot&)>;

/// How far the search was after a round of its work.
struct Milestone {
  std::string_view stage;
  std::int64_t evaluations = 0;     ///< made so far
  std::optional<double> best_cost;  ///< of a feasible lattice point; empty while there is none
  /// Share of the box between the ideal point of the final front and a tenth beyond its nadir that the front
  /// so far dominates; of at most kMilestoneMembers of its members. 0 without a front.
  double hypervolume = 0;
};
inline constexpr int kMilestoneMembers = 60;

struct SearchOutcome {
  Stop stop = Stop::not_run;
  std::vector<Point> best;   ///< lattice points, best first by better(); feasible ones first
  std::vector<Point> front;  ///< feasible lattice points that no other seen one dominates
  std::vector<Point> cloud;  ///< a thinned, even sample of all feasible lattice points seen
  std::int64_t evaluations_ideal = 0, evaluations_parts = 0;
  std::vector<std::int64_t> evaluations_by_family;
  std::vector<Milestone> milestones;
  std::vector<Point> best_by_family;  ///< one per family, best lattice point or (if none) empty x
};

/// The evaluations that such passes may make at most: they make fewer where a small lattice is judged to its
/// end. `families`: of one group.
std::int64_t planned_evaluations(std::size_t families, int objectives, std::span<const SearchOptions> passes);
/// Of families in their groups, with the objectives that they have.
std::int64_t planned_evaluations(const std::vector<Family>& families, std::span<const SearchOptions> passes);

/// Searches all families. Deterministic: the same families, options and judges give the same
/// outcome for any number of threads. Every group is searched as it would be alone, point for point, so that
/// the best of its families do not depend on the other groups. `stop` (may be null): set it to end early; the
/// outcome then holds what was found, marked interrupted. One pass after the other, each with all that those
/// before have judged: the best of some passes is never better than that of more. What is given away
/// (best_kept and so on) and the seed are the last pass's and the first one's. `known`: lattice points that
/// are judged before all else (family and x count; others than points of a lattice are passed over).
SearchOutcome search(const std::vector<Family>& families, std::span<const SearchOptions> passes,
                     const std::vector<Point>& known, const Resources& resources, const Watch& watch,
                     const std::atomic<bool>* stop);

/// The same with one pass, and nothing known before.
SearchOutcome search(const std::vector<Family>& families, const SearchOptions& options,
                     const Resources& resources, const Watch& watch, const std::atomic<bool>* stop);

}  // namespace antiphase::engine
