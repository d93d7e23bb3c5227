/// One very tube, from a handful of currents that were read of it: how its sections differ from the type, as
/// the posterior of a model with the type's own scatter before it. Few or poor readings leave a section near
/// its type; many good ones decide.
#pragma once

#include <array>
#include <vector>

#include "objectives/builds/tolerances.h"
#include "stagemodels/tubes/section.h"

namespace antiphase {

/// A plate current at given voltages, of one section.
struct TubeReading {
  int section = 0;  ///< 0 or 1, of the bottle
  double plate_v = 0, grid_v = 0;
  double plate_a = 0;       ///< > 0
  double accuracy_pct = 0;  ///< of the current, > 0; taken as two standard deviations
};

/// What a card's law is off in the shape of its curves, once current and mu are those of the tube: a share of
/// the current as a standard deviation, or of a tenth of the largest current read where that is more. The
/// readings of the thirteen shipped sheets of curves lie 6.6 % from the laws of their cards then (rms;
/// printed by tests/objectives/diagnosis/own_tube_test.cpp).
inline constexpr double kLawShapeOff = 0.07;

/// Of a factor against the type, 1 being the type: the middle and where nine of ten lie.
struct FactorTold {
  double middle = 1, low = 1, high = 1;
  double before_low = 1, before_high = 1;  ///< before the readings: the type's scatter
  double decided = 0;  ///< share of the variance before that the readings have taken away, 0 … 1
  double deviation = 0, before_deviation = 0;  ///< of its logarithm
};

struct OwnSection {
  int readings = 0;      ///< of this section; 0: it follows from the other one, as sections of a bottle do
  SectionSpread spread;  ///< as a design takes it
  FactorTold current;    ///< plate current at the voltages of OwnTube::middle
  FactorTold mu;
  double left_pct = 0;  ///< rms of what the section so told still misses its readings by; 0: none
};

struct OwnTube {
  TubeReading middle;  ///< the one with the median current: where FactorTold::current is told
  std::array<OwnSection, 2> section;
};

/// one_bottle: section 2 stands in the same bottle, and most of its scatter is shared (tolerances.h). Before
/// the readings the logarithms of current and mu are normal: with the scatter of `tolerances`, and of the
/// current also what a card's law may be off (kLawOff), for both sections the same. What the law is off in
/// shape is one and the same for all readings at the same voltages, whichever the section, and another at
/// others. The posterior by Gauss and Newton's method, its moments by Gauss and Hermite's rule around the
/// mode (J. C. Naylor & A. F. M. Smith, Applied Statistics 31 (1982) 214). Allowed: one reading at least;
/// voltages at which the law gives a current. Cost: some ms.
OwnTube own_tube(const Tube&, const TriodeLaw&, bool one_bottle, const Tolerances& tolerances,
                 const std::vector<TubeReading>&);

}  // namespace antiphase
