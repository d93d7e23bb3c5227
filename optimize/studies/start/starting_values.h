/// What a starting brief takes for facts that nobody said, and the brief's own text.
#pragma once

#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "optimize/studies/start/starting_brief.h"

namespace antiphase {

inline constexpr std::array<std::string_view, 2> kOutputBiasNames{"fixed", "cathode"};

/// What facts may be. Supplies beyond these are no supplies of a driver with receiving tubes; the bias is
/// that of briefs; more feedback than 30 dB round a transformer does not stay stable (common practice).
inline constexpr double kLeastSupply_v = 60, kMostSupply_v = 1000;
inline constexpr double kLeastBias_v = 0.01, kMostBias_v = 300;
inline constexpr double kMostFeedback_db = 30;
inline constexpr double kLeastSource_v = 0.001, kMostSource_v = 100;
inline constexpr double kLeastPower_w = 0.1, kMostPower_w = 1000;

/// Of the conditions on the valve's card with this kind of bias the one whose plate voltage is nearest to
/// the supply, the first of several; null: there is none. Those that drive the grids positive (AB2) do not
/// count: a splitter behind coupling capacitors cannot.
const OutputValveCondition* fitting_condition(const OutputValve&, bool cathode_bias, double supply_v);

FactDefault usual_supply(const KnownFacts&, const TubeLibrary&);
FactDefault usual_bias(const KnownFacts&, const TubeLibrary&);
/// Without a condition of the kind that was asked for, one of the other kind serves, and the reason says so.
FactDefault usual_bias_v(const KnownFacts&, const TubeLibrary&);
FactDefault usual_tubes(const KnownFacts&, const TubeLibrary&);

/// The brief. `notes`: why the facts are what they are; those of the other values join them.
std::string brief_text(const KnownFacts&, std::vector<std::string> notes, const std::string& schema);

}  // namespace antiphase
