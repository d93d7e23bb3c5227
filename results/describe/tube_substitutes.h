/// Which other types could take a tube's place, and what would differ.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "stagemodels/tubes/tube.h"

namespace antiphase {

struct Substitute {
  const Tube* tube = nullptr;
  bool pin_compatible = false;             ///< pins and heater voltage agree
  std::string to_change;                   ///< why it is not: "octal 8BD", "heater pins"; else empty
  std::optional<double> mu, gm_s, rp_ohm;  ///< by its first law at the common rest point; empty: out of reach
  std::optional<double> distance;          ///< of those three from the asked tube's; empty if they are
  std::vector<std::string> ruled_out_by;   ///< its ratings that the rest point breaks, in words
  std::vector<std::string> differs;        ///< what to look at before it stands in for the asked tube
};

/// Compared at one rest point, the typical published one of the asked tube: its plate voltage and current.
/// Pointers go into the tubes given.
struct Substitutes {
  Substitute asked;                        ///< the tube itself, at distance 0
  const PublishedPoint* rest = nullptr;    ///< null: its card publishes none, and nothing has a distance
  std::vector<Substitute> pin_compatible;  ///< nearest first; those that a rating rules out come last
  std::vector<Substitute> others;          ///< in the same order
};

/// sqrt(ln(mu/mu0)^2 + ln(gm/gm0)^2 + ln(rp/rp0)^2), all three at the rest point: 0 for the same tube; 0.1
/// for a tenth in one of them. Cost: three characteristics a tube.
Substitutes substitutes_for(const Tube& asked, const std::vector<const Tube*>& library);

/// The measure in a sentence, for people.
extern const char* const kSubstituteMeasure;

}  // namespace antiphase
