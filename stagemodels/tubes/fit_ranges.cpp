#include <array>

#include "stagemodels/tubes/fit.h"

namespace antiphase {

std::span<const FitRange> usual_ranges(const TriodeLaw& law) {
  // Published Koren sets of 34 small triodes span mu 17 to 106, ex 1.07 to 1.72, kg1 197 to 2448,
  // kp 65 to 1725 (but for one outlier), kvb 7 to 4681, vct -0.5 to 0.7. vct near 1 V makes the law
  // draw far too much just above zero grid volts: it stays below.
  static constexpr std::array kKoren{
      FitRange{"mu", 2, 200},  FitRange{"ex", 0.9, 1.8}, FitRange{"kg1", 30, 3e4, false, false},
      FitRange{"kp", 10, 5e3}, FitRange{"kvb", 1, 3e4},  FitRange{"vct", -0.5, 1}};
  // Three published sets of one type span little; widened to the same tubes as above.
  static constexpr std::array kDempwolf{FitRange{"g", 1e-5, 0.1, false, false},
                                        FitRange{"mu", 2, 200},
                                        FitRange{"gamma", 0.9, 2},
                                        FitRange{"c", 0.05, 50},
                                        FitRange{"gg", 0, 0, true},
                                        FitRange{"xi", 0, 0, true},
                                        FitRange{"cg", 0, 0, true},
                                        FitRange{"ig0", 0, 0, true}};
  static constexpr std::array kChild{FitRange{"k", 1e-6, 0.1, false, false}, FitRange{"mu", 2, 200},
                                     FitRange{"offset_v", -0.5, 1}};
  // Fits to the eight traced sheets span mu 21 to 133, contact_v -0.3 to 0.8, knee_v 12 to 40, foot_v to 1.2,
  // foot_share to 0.3, hold_share 0.7 to 1.1, hold_from_v 1 to 5, open_mu_share 0.3 to 0.9
  // (tests/stagemodels/tubes/laws_compared_test.cpp).
  static constexpr std::array kIsland{FitRange{"mu", 2, 200},
                                      FitRange{"perveance", 1e-5, 0.1, false, false},
                                      FitRange{"contact_v", -1, 1.5},
                                      FitRange{"knee_v", 1, 100},
                                      FitRange{"foot_v", 0.02, 3},
                                      FitRange{"foot_share", 0, 0.6},
                                      FitRange{"hold_share", 0.5, 1.15},
                                      FitRange{"hold_from_v", 0.3, 20},
                                      FitRange{"open_mu_share", 0.25, 0.95},
                                      FitRange{"open_share", 0, 0.9}};
  if (std::holds_alternative<IslandTriode>(law)) return kIsland;
  if (std::holds_alternative<Koren1996>(law)) return kKoren;
  // The form under a measured surface is fitted first, then the correction (surface_fit.h).
  static constexpr std::array kSurface{FitRange{"mu", 2, 200},
                                       FitRange{"ex", 0.9, 1.8},
                                       FitRange{"kg1", 30, 3e4, false, false},
                                       FitRange{"kp", 10, 5e3},
                                       FitRange{"kvb", 1, 3e4},
                                       FitRange{"vct", -0.5, 1},
                                       FitRange{"reference_a", 0, 0, true},
                                       FitRange{"current_low", 0, 0, true},
                                       FitRange{"current_step", 0, 0, true},
                                       FitRange{"plate_low", 0, 0, true},
                                       FitRange{"plate_step", 0, 0, true}};
  if (std::holds_alternative<MeasuredSurface>(law)) return kSurface;
  if (std::holds_alternative<DempwolfZoelzer2011>(law)) return kDempwolf;
  if (std::holds_alternative<ChildLangmuir>(law)) return kChild;
  return {};
}

}  // namespace antiphase
