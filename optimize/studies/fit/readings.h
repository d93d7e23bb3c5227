/// The readings that a law is fitted to, with the published points beside them.
#pragma once

#include <string>
#include <vector>

#include "optimize/studies/fit/fit_checks.h"
#include "stagemodels/tubes/fit.h"
#include "stagemodels/tubes/tube.h"

namespace antiphase {

class Readings {
 public:
  /// The tube's published points count beside `placed`, if it has any.
  Readings(std::vector<PlacedPoint> placed, const std::vector<PublishedPoint>& published);

  const std::vector<PlacedPoint>& placed() const { return placed_; }
  std::vector<CurvePoint> curve() const;
  /// Those of curves first, then the published ones.
  const std::vector<FitObservation>& observations() const { return observations_; }
  std::size_t of_curves() const { return of_curves_; }  ///< observations; readings of no current are none
  std::size_t published() const { return observations_.size() - of_curves_; }
  std::size_t without_current() const { return placed_.size() - of_curves_; }
  double typical_a() const { return typical_a_; }

  /// Leaves readings out that are many times off the fitted law. True if there were some: the fit is then to
  /// be made again.
  bool leave_out_strays(const FitOutcome&);
  const std::string& strays_in_words() const { return strays_; }  ///< a line for each that was left out

 private:
  void observe();

  std::vector<PlacedPoint> placed_;
  std::vector<PublishedPoint> published_points_;
  std::vector<FitObservation> observations_;
  std::size_t of_curves_ = 0;
  double typical_a_ = 0;
  std::string strays_;
};

}  // namespace antiphase
