/// What a search or an evaluation has to say, as plain data: the writers need nothing else.
#pragma once

#include <algorithm>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "objectives/builds/robust.h"
#include "objectives/demands.h"
#include "objectives/diagnosis/own_tube.h"
#include "objectives/explain.h"
#include "objectives/law_bands.h"
#include "stagemodels/design.h"
#include "stagemodels/design_fields.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

struct SpreadReport;

/// A tube that was read by itself and stands in a design.
struct OwnTubeRecord {
  std::string file;   ///< of the readings
  std::string type;   ///< of the tube
  std::string place;  ///< "the first stage"; empty: the splitter or gain stage itself
  int sections = 2;   ///< that the design uses of it
  std::vector<TubeReading> read;
  OwnTube told;
};

/// What builds of a design come to, where a search ranks by them.
struct BuildsRecord {
  int nominal_rank = 0;  ///< place by nominal score among all designs whose builds were thought of
  RobustFigures figures;
};

/// What a search saw around a candidate and counts as the same design (objectives/ranking.h).
struct Neighbourhood {
  struct Span {
    const DesignField* field = nullptr;
    double low = 0, high = 0;  ///< of them all, the candidate included; low < high
  };
  int designs = 0;                              ///< without the candidate itself
  std::vector<Span> spans;                      ///< of the parts in which they differ
  std::optional<double> score_low, score_high;  ///< of those that keep every limit, the candidate included
};

/// One design with everything known about it. Owns its data, but for the tubes it points to.
struct Record {
  int rank = 0;                 ///< 1 is best; 0: not ranked (a single evaluation)
  std::optional<double> score;  ///< empty: a figure of the score is missing
  bool feasible = false;        ///< every limit kept
  Design design;
  Evaluation evaluation;
  std::vector<LimitResult> limits;
  std::vector<std::optional<double>> figures;  ///< in the order of figures()
  LawBands bands;              ///< over draws of the tubes' types; only of ranked and single designs
  bool rank_in_doubt = false;  ///< under one of them the next in rank comes first
  Explanation explanation;     ///< of candidates of a search
  Neighbourhood around;        ///< the same
  Lead lead;                   ///< over the next candidate; empty for the last one
  bool choice = false;         ///< of the front: among the few that cover it
  bool within_bounds = true;   ///< of the front: a builder could want it (objectives/sensible.h)
  /// What plate resistor 2 is made of, where it is no single part.
  std::optional<engine::TwoPart> plate_2_of;
  std::optional<BuildsRecord> builds;
  std::shared_ptr<const SpreadReport> spread;  ///< bands and measuring sheet; null: not looked at
  std::vector<OwnTubeRecord> own_tubes;        ///< of a single evaluation
  std::string remark;                          ///< "least distortion", "knee", "nearest miss", …
};

/// Where the run came from and how it went; everything but `times` is the same for the same
/// brief and seed, on any number of threads.
struct RunRecord {
  std::string brief_file, brief_digest;
  std::uint64_t seed = 0;
  std::string effort;
  std::vector<std::pair<std::string, std::string>> versions;  ///< program, compiler, libraries
  std::int64_t evaluations_asked = 0, evaluations_made = 0;
  std::int64_t evaluations_ideal = 0, evaluations_parts = 0;
  struct FamilyCount {
    std::string name;
    std::int64_t evaluations;
    std::optional<double> best_score;
  };
  std::vector<FamilyCount> families;
  /// How the search went on, a line a round of its work.
  struct Milestone {
    std::string stage;
    std::int64_t evaluations;
    std::optional<double> best_score;
    double hypervolume;  ///< of the front, as a share: see engine::Milestone
  };
  std::vector<Milestone> milestones;
  /// Of a search through every combination.
  struct EveryCombination {
    bool asked =
        true;  ///< false: there were so few that they were gone through unasked; no file holds the front
    int slice = 1, slices = 1;
    std::int64_t combinations = 0, covered = 0;  ///< of the slice
    std::int64_t left_out_in_blocks = 0;         ///< proved to break a limit, without a look at each
    std::vector<std::pair<std::string, std::int64_t>> turned_away;  ///< at which step, how many
    std::int64_t judged_whole = 0, keep_every_limit = 0;
    std::int64_t front = 0;  ///< designs that no other one beats in every figure at once
    bool front_whole = true;
    std::optional<bool> search_had_the_best;  ///< whether the search before it had found the best already
  };
  std::optional<EveryCombination> every_combination;
  double combinations = 0;     ///< of the parts in all
  std::string continued_from;  ///< results that the search began with; empty: none
  std::string why_stopped;     ///< "finished", "interrupted", "time limit"
  bool finished = true;        ///< by itself: neither interrupted nor at a time limit
  struct Times {
    double total_s = 0, search_s = 0;
    int threads = 1;
    std::string started;
  } times;
};

/// Demands that no design found meets together, though any one of them left out, the others can be met.
struct Conflict {
  struct Side {
    std::string demand;             ///< "distortion at most 0.5 %"
    std::string reached;            ///< by the nearest design that keeps all others: "1.27 %"
    std::string shortfall;          ///< "0.77 % (154 %) too much"
    std::optional<Record> nearest;  ///< it; empty: none was found
  };
  std::vector<Side> sides;  ///< empty: see `note`
  std::string note;         ///< how sure it is, or why there is no answer
  int searches = 0;         ///< that were made for it
  std::int64_t evaluations = 0;
};

/// What a search found of one circuit, where it compared several.
struct CircuitBest {
  Compared of;
  std::optional<Record> best;              ///< or its nearest miss; empty: no design of it could be made
  std::vector<std::string> stands_in_way;  ///< where it keeps not every limit: which, in words
};

/// The best of this search beside that of other results, both held against this brief.
struct Against {
  std::string file, title;  ///< of the other results
  bool same_task = true;    ///< the same circuit, target swing and load
  Record other;
  Lead lead;  ///< of this brief's best over it; negative where the other is better
};

/// How a search ranked by builds, or looked at them.
struct BuildsRanking {
  BuildsRequest request;
  std::uint64_t seed = 1;
  int designs = 0;                     ///< of which builds were solved
  std::int64_t builds = 0;             ///< in all
  std::optional<Record> nominal_best;  ///< what would be first by its nominal score, with its builds
  int nominal_best_rank = 0;           ///< its place by builds among those compared to the end
  int compared = 0;                    ///< designs with all builds that were asked for
};

/// The series of preferred values that parts are taken from.
struct PartSeries {
  engine::Series resistors = engine::Series::e24, capacitors = engine::Series::e6;
  std::vector<std::pair<const DesignField*, engine::Series>> own;  ///< of single parts

  engine::Series of(const DesignField& field) const {
    for (const auto& [part, series] : own)
      if (part == &field) return series;
    return field.role == FieldRole::capacitor ? capacitors : resistors;
  }
};

struct Report {
  std::string title;
  std::vector<std::string> brief_in_words;  ///< one sentence each
  Demands demands;
  Tolerances tolerances;           ///< of parts and tubes, as builds are thought of
  std::vector<Record> candidates;  ///< ranked; if none is feasible, the nearest misses
  std::vector<Record> pareto;      ///< the non-dominated set, sorted by the first objective
  std::vector<std::vector<std::optional<double>>> cloud;  ///< other designs seen: figures() in order, thinned
  std::vector<std::string> cloud_family;                  ///< of each cloud entry
  std::vector<Design> cloud_design;                       ///< and its design
  PartSeries series;
  std::string
      taken_among;  ///< within which bounds the named members of the front and near misses are, in words
  std::vector<std::string> as_given;  ///< what the brief gives outside a rating, a sentence each
  std::vector<std::string>
      blocked_by;                     ///< if nothing is feasible: the demands that stand in the way, in words
  std::optional<Conflict> conflict;   ///< if nothing is feasible and it was looked for
  std::vector<Record> best_of_tubes;  ///< the best of each tube, best first, if there are several
  std::vector<CircuitBest> best_of_circuits;   ///< the same of circuits, those that keep every limit first
  std::vector<std::string> circuits_left_out;  ///< by "any", a sentence each
  std::optional<Against> against;
  std::optional<BuildsRanking> builds_ranking;
  bool every_spread = false;  ///< bands were asked for: told of every candidate, not only on its page
  RunRecord run;

  /// True if circuits are compared, and not forms of one alone.
  bool compares_circuits() const {
    return std::any_of(best_of_circuits.begin(), best_of_circuits.end(), [&](const CircuitBest& own) {
      return own.of.circuit != best_of_circuits.front().of.circuit;
    });
  }
};

}  // namespace antiphase
