#include "objectives/figures/catalogue.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "objectives/figures/balance.h"
#include "objectives/figures/distortion.h"
#include "objectives/figures/drive.h"
#include "objectives/figures/feedback.h"
#include "objectives/figures/frequency.h"
#include "objectives/figures/headroom.h"
#include "objectives/figures/output_impedance.h"
#include "objectives/figures/sections.h"
#include "objectives/figures/supply.h"

namespace antiphase {
namespace {

constexpr std::array kFigures{
    kDistortionPct,
    kThdDifferentialPct,
    kOutputImpedanceOhm,
    kOutputImpedanceDifferentialOhm,
    kBalancePct,
    kBalanceSmallSignalPct,
    kHeadroomDb,
    kCleanSwingPeakV,
    kInputPeakV,
    kGain,
    kSupplyCurrentA,
    kSupplyV,
    kRailV,
    kCathodeV,
    kTailFraction,
    kPlateCurrentA,
    kPlateDissipationW,
    kPlateOhmRatio,
    kLowCornerHz,
    kHighCornerHz,
    kInputF,
    kBalance20kHzPct,
    kRippleDifferenceVPerV,
    kNoiseBelowTargetDb,
    kSensitivityVRms,
    kFirstPlateCurrentA,
    kFirstPlateV,
    kFeedbackDb,
    kFeedbackSpareDb,
    kFeedbackGainMarginDb,
    kFeedbackPhaseMarginDeg,
    kFeedbackLargestDb,
    kFeedbackDistortionPct,
    kFeedbackOutputImpedanceOhm,
    kFeedbackSensitivityVRms,
    kSections,
    kTubes,
};

}  // namespace

std::span<const Figure> figures() {
  return kFigures;
}

const Figure* find_figure(std::string_view name) {
  const auto it =
      std::find_if(kFigures.begin(), kFigures.end(), [&](const Figure& f) { return f.name == name; });
  return it == kFigures.end() ? nullptr : &*it;
}

std::vector<const Figure*> figures_shown_in(int FigurePlaces::*table) {
  std::vector<const Figure*> shown;
  for (const Figure& figure : kFigures)
    if (figure.shown.*table > 0) shown.push_back(&figure);
  std::sort(shown.begin(), shown.end(), [table](const Figure* first, const Figure* second) {
    return first->shown.*table < second->shown.*table;
  });
  return shown;
}

double as_cost(const Figure& figure, double value) {
  switch (figure.direction) {
    case Direction::smaller:
      return value;
    case Direction::larger:
      return -value;
    case Direction::nearer_zero:
      return std::abs(value);
  }
  return value;
}

}  // namespace antiphase
