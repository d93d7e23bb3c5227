/// What the law of an output valve must give, and the closed set of laws there are.
///
/// To add a law: a pair of files with `fields()` and `kForm` and its name in `OutputLaw`; the reader and the
/// tests go over the alternatives. The contract (tests/stagemodels/tubes/output_law_test.cpp): finite for
/// every finite input; plate and space current never fall when a voltage rises; derivatives are those of the
/// currents.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <variant>
#include <vector>

#include "stagemodels/tubes/koren_1996.h"
#include "stagemodels/tubes/space_current_pentode.h"
#include "stagemodels/tubes/suppressor_pentode.h"

namespace antiphase {

/// Koren1996 is that of a true triode.
using OutputLaw = std::variant<SpaceCurrentPentode, Koren1996, SuppressorPentode>;

OutputCurrents currents_of(const OutputLaw& law, const ElectrodeVoltages& v);

/// The triode that the pentode makes with its screen on its plate.
Koren1996 screen_on_plate(const SuppressorPentode&);

/// True if the valve has a screen.
bool has_screen(const OutputLaw& law);

/// A published working point. What the sheet does not give is empty.
struct OutputValvePoint {
  bool as_triode = false;                        ///< screen on the plate: the current is that of both
  double plate_v = 0, screen_v = 0, grid_v = 0;  ///< to the cathode; a triode's screen_v is that of its plate
  std::optional<double> plate_current_a, screen_current_a;
  std::optional<double> gm_s, rp_ohm;
  std::optional<double> mu;  ///< of grid 1 against the screen, or of the triode
  std::string source;
};

/// The same numbers from a law, all of them but the screen's of a triode.
OutputValvePoint modelled(const OutputLaw& law, const OutputValvePoint& where);

/// Where fits of cards start, and what they are held towards: an exponent of 1.4 and a cut-off as Koren's own
/// examples of power valves have it.
OutputLaw usual_output_law(bool triode);

/// A law, and what it was fitted to.
struct OutputValveLaw {
  OutputLaw law;
  std::vector<OutputValvePoint> points;
  std::string source;
};

/// Fits the parameters of `start`, by least squares of the logarithm of each number over its allowance:
/// currents and gm 10 %, screen currents and rp 25 % (sheets round them, and valves scatter by more), mu 5 %.
/// The exponent and the cut-off, of which few points tell, are held towards `start` by 10 % and 50 %. Source:
/// the method of Levenberg and Marquardt (J. J. More, Lect. Notes Math. 630 (1978) 105). Cost: some thousand
/// evaluations of each point; allocates. Same input, same answer.
/// Allowed: as many numbers as parameters, or few enough missing that what `start` holds makes up for them.
OutputLaw fit_output_law(const OutputLaw& start, std::span<const OutputValvePoint> points);

}  // namespace antiphase
