/// How far what is built may lie from what was drawn: parts, tubes, supply, age.
#pragma once

#include <optional>
#include <vector>

#include "stagemodels/design_fields.h"

namespace antiphase {

/// How a property lies within its tolerance.
enum class Scatter {
  uniform,           ///< every value within the tolerance equally likely
  truncated_normal,  ///< bell-shaped, the tolerance at two and a half standard deviations, nothing beyond
};

/// All widths are half widths in % of the nominal value (1: +-1 %). Defaults are common practice (no
/// published source) unless said otherwise; README of this folder's theory: stagemodels/README.md, "Builds".
struct Tolerances {
  double resistor_pct = 1;    ///< metal film
  double capacitor_pct = 10;  ///< film types
  double mains_pct = 10;      ///< IEC 60038 (230 V +-10 %): every supply voltage follows the mains
  double setting_pct = 5;     ///< a voltage or current that another circuit sets, and the heater elevation
  double mu_pct = 8;  ///< two and a half times the 3.2 % by which measured lots of 12AX7 scatter in gain
  /// Plate current at fixed voltages; empty: as each tube's card says.
  std::optional<double> plate_current_pct;
  double emission_left = 1;  ///< share (0.3 … 1) left in the most worn tubes; 1: new ones only
  Scatter parts = Scatter::uniform;
  Scatter mains = Scatter::truncated_normal;
  Scatter tubes = Scatter::truncated_normal;
  struct One {
    const DesignField* part = nullptr;  ///< a part, a setting or the load; not null
    double pct = 0;
  };
  std::vector<One> single;  ///< parts that have a tolerance of their own
  /// A section of a tube that was read by itself (objectives/diagnosis/own_tube.h), in place of the scatter
  /// of its type: half widths of current at fixed voltages and of mu.
  struct Known {
    int section = 0;  ///< as Element::section
    double plate_current_pct = 0, mu_pct = 0;
  };
  std::vector<Known> known;
  const Known* known_section(int section) const {
    for (const Known& k : known)
      if (k.section == section) return &k;
    return nullptr;
  }
};

inline constexpr double kNormalCut = 2.5;  ///< standard deviations at which Scatter::truncated_normal ends

/// How much of a tube's scatter (as a share of its standard deviation) is one section's alone; the rest both
/// sections of a bottle share. Measured lots of 12AX7: sections of a bottle differ by 2.8 % rms in plate
/// current where tubes scatter by 5.8 %, and by 1.9 % in gain where tubes scatter by 3.2 %; a difference has
/// twice the variance of one section: 2.8 / sqrt 2 / 5.8 and 1.9 / sqrt 2 / 3.2.
inline constexpr double kSectionShareOfCurrent = 0.34;
inline constexpr double kSectionShareOfMu = 0.42;

}  // namespace antiphase
