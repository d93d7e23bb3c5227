/// What to buy for a design, from its circuit's list of elements: tubes, resistors with their power and
/// voltage, capacitors, diodes, and the sink to be built.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "objectives/builds/tolerances.h"
#include "results/report.h"

namespace antiphase {

enum class PartKind { tube, resistor, capacitor, diode, sink };
std::string_view name_of(PartKind);  ///< "resistor"

/// Of its rated voltage, what a capacitor is given at most (common practice, no published source): it has the
/// mains in it that stand a tenth high.
inline constexpr double kCapacitorVoltageFactor = 0.8;

struct PartLine {
  PartKind kind = PartKind::resistor;
  std::string label;        ///< "plate resistor 1"
  std::string designators;  ///< of all its pieces: "R5, R6"; of tubes those of the bottles
  int count = 1;
  std::string what;  ///< "47 kΩ", "6SN7GT"; "not given" where the design leaves a value open
  double value = 0;  ///< SI; 0 for a tube or diode, and where it is not given
  std::string unit;  ///< "ohm", "F", "A" of a sink, "" for a tube or diode
  std::optional<double> power_rest_w;   ///< of one piece, as all that follow; of unequal ones the largest
  std::optional<double> power_worst_w;  ///< larger of rest and the mean over the cycle at the target
  std::optional<double> voltage_rest_v;
  std::optional<double> voltage_worst_v;  ///< largest over the cycle at the target, rest included; for a
                                          ///< capacitor, and a resistor that charges one to ground: before
                                          ///< the tubes conduct or it is charged; for a diode: in reverse
  std::optional<double> rating_w;  ///< smallest usual power rating after derating; empty: none is enough
  std::optional<double> rating_v;  ///< likewise of voltage; of a diode: in reverse
  std::string series;  ///< the coarsest that has the value: "E24"; empty for tubes, diodes and odd values
  std::optional<double> tolerance_pct;       ///< half width
  std::optional<double> heater_v, heater_a;  ///< of one tube
  std::string note;                          ///< one sentence on why, or what to watch; empty for most
};

/// Every part of the design, each element that is bought (designators.h) in one line: tubes, resistors,
/// capacitors, diodes, a sink, each in the order of the circuit's list. Parts with one purpose and one member
/// of the design share a line. Powers and voltages are empty where the rest point is not solved, but for what
/// the cold circuit shows of capacitors; the worst case is that of rest alone where the target is out of
/// reach. Mid-band, so the small signal current of the grid leaks counts, that of interelectrode capacitances
/// does not. A feedback resistor has between its ends what the output stage gives at the target, without what
/// the feedback itself changes.
/// Usual ratings: 0.125 0.25 0.5 1 2 3 5 7 10 W (common practice: resistor makers' sheets);
/// the derating is `factors.resistor_power`. Usual voltages: resistors 200 250 350 500 750 1000 V, at
/// `factors.resistor_voltage`; film capacitors 63 100 160 250 400 630 1000 1250 1600 V, electrolytic ones
/// (reservoir and bypasses across cathode resistors) 6.3 10 16 25 35 50 63 100 160 250 350 400 450 500 V, at
/// kCapacitorVoltageFactor (common practice: makers' sheets, from memory); diodes 75 100 200 400 600 1000 V,
/// at a third. Tolerances: of the parts as builds are thought of. `plate_2_of`: the two resistors that make
/// plate resistor 2, each then with its share of voltage and power.
std::vector<PartLine> parts_list(const Design&, const Evaluation&, const DesignFactors& factors,
                                 const std::optional<engine::TwoPart>& plate_2_of = std::nullopt,
                                 const Tolerances& tolerances = {});

/// The rule by which a part's ratings were chosen: "at most 50 % of its power and 80 % of its voltage".
std::string derating_in_words(const PartLine&, const DesignFactors&);

/// "Plate 2 of ranks 1 and 4: 56 kΩ + 2.2 kΩ in series.", one sentence for each combination in use.
std::vector<std::string> plate_2_in_words(const std::vector<Record>&);

/// "91 kΩ + 3.9 kΩ in series".
std::string two_in_words(const engine::TwoPart&);

}  // namespace antiphase
