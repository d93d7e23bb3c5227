/// A tube's published points beside what a law gives there.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "stagemodels/tubes/tube.h"

namespace antiphase {

struct PublishedAgainstLaw {
  std::string what;  ///< "plate current", "gm", "mu", "rp"
  std::string unit;
  double plate_v = 0;
  std::optional<double> screen_v;  ///< of a pentode whose screen is not on its plate
  std::optional<double> grid_v;    ///< as printed, or what the printed cathode resistor drops
  double published = 0;
  std::optional<double> modelled;  ///< empty: the law cannot reach the point
  std::optional<double> error_pct;
  std::string source;
};

/// One row per published number, in the order of the card. Where a point gives no bias, gm, mu and rp
/// are taken at its current.
std::vector<PublishedAgainstLaw> published_against(const Tube& tube, const TriodeLaw& law);

/// The same of a pentode. Its mu is that of grid 1 against the screen or, as a triode, against both.
std::vector<PublishedAgainstLaw> published_against(const Pentode& pentode);

/// The published point with the largest plate current, one with its bias before one without: what a sheet
/// calls typical. Null if no point has current and mu. Points into `tube`.
const PublishedPoint* typical_point(const Tube& tube);

/// "koren_1996"
std::string form_of(const TriodeLaw& law);

/// Median of |error_pct| over the rows of one quantity; empty without rows.
std::optional<double> median_error_pct(const std::vector<PublishedAgainstLaw>& rows, std::string_view what);

/// Ratings that are published, in the order of the card: label, value, unit, source.
struct RatingRow {
  std::string_view key, label, unit;
  const Sourced* rating;
};
std::vector<RatingRow> ratings_of(const Tube& tube);

}  // namespace antiphase
