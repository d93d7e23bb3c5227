/// Many builds of one design, each solved whole and judged.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "objectives/builds/build_model.h"
#include "objectives/demands.h"
#include "optimize/engine/sampling/sobol.h"
#include "optimize/engine/sampling/statistics.h"

namespace antiphase {

/// What is measured of each build: every figure that Depth::full (or `with_frequency`) gives, then every
/// reading.
std::vector<const Figure*> measured_of_builds(Depth depth);

/// One column a quantity. A value that a build does not have is not `known` (and 0).
struct BuildColumn {
  const Figure* figure = nullptr;
  std::vector<double> value;
  std::vector<char> known;
};

struct LimitMissed {
  std::string_view name, label;
  int section = 0;
  int builds = 0;  ///< how many break it
};

/// Build k of `builds` stands at place k of every list.
struct BuildSample {
  int builds = 0;
  std::vector<std::vector<double>> unit;  ///< [property][build]: the draws
  std::vector<BuildColumn> column;
  std::vector<char> kept;           ///< solved, at its target, and every limit kept
  std::vector<char> reached;        ///< solved and at its target
  std::vector<LimitMissed> missed;  ///< most often missed first
};

/// A limit on what is chosen, not on what comes out of the drawer: sheets give the largest grid leak as a
/// nominal value, and a list of parts on hand names nominal values, so a part's own tolerance does not break
/// it.
bool judged_by_nominal(const LimitResult&);

/// The demands without those.
Demands demands_on_builds(Demands);

/// True if the build is solved, at its target, and keeps every limit that is not judged by the nominal value.
bool build_keeps(const Demands&, const Design& build, const Evaluation&);

/// An empty sample with room, and the work on builds first … last - 1 of it. Each piece writes only what
/// belongs to its builds, but for its own list of limits missed: pieces may run on any threads, and `finish`
/// puts the lists together in order of the pieces. Cost: 15–40 us a build.
class BuildSampler {
 public:
  BuildSampler(const BuildModel& model, const Demands& demands, int builds, std::uint64_t seed);

  static constexpr int kPiece = 250;  ///< builds in a piece
  int pieces() const;
  void work(int piece);
  BuildSample finish();

 private:
  struct Piece {
    std::vector<LimitMissed> missed;
  };
  const BuildModel& model_;
  const Demands& demands_;
  engine::SobolPoints points_;
  Depth depth_;
  BuildSample sample_;
  std::vector<Piece> piece_;
};

/// Distribution of one quantity over the builds that have it.
struct SpreadRow {
  const Figure* figure = nullptr;
  std::optional<double> nominal;
  int known = 0;
  double low = 0, median = 0, high = 0;  ///< 5, 50 and 95 %
  double least = 0, most = 0;            ///< ends of what was seen
  double mean = 0, deviation = 0;        ///< standard deviation
  std::vector<double> index;             ///< first-order, per varied property
};

/// What would change if one property's tolerance were half as wide.
struct Tightened {
  double yield = 0;
};

struct SpreadSummary {
  int builds = 0, kept = 0, reached = 0;
  double yield = 0;
  engine::Interval yield_95;         ///< with 95 % confidence
  std::vector<SpreadRow> rows;       ///< of the columns, those that some build has
  std::vector<double> yield_index;   ///< how much of keeping every limit hangs on each property
  std::vector<Tightened> tightened;  ///< per property
  std::vector<LimitMissed> missed;
};

/// Summary of one column; the summaries of many may be made on any threads. Allocates.
SpreadRow spread_row(const BuildModel&, const BuildSample&, std::size_t column, const Evaluation& nominal);

/// All but the rows.
SpreadSummary spread_summary(const BuildModel&, const BuildSample&);

/// A limit at the worst corner of the tolerances: every property at the end that takes room from it.
struct Corner {
  LimitResult nominal, worst;
  std::vector<std::size_t> at;  ///< properties that matter, the weightiest first
  std::vector<int> towards;     ///< beside `at`: -1 low, 1 high
  bool solved = true;  ///< false: there the stage has no rest point or target; `worst` is then nominal
};

/// Which end of each property takes room is found by moving one at a time: exact where a limit's margin
/// rises or falls with every property, as ratings do. Cost: two evaluations a property, one a limit.
std::vector<Corner> corners(const BuildModel&, const Demands&);

}  // namespace antiphase
