/// What to buy for a design, from its circuit's list of elements: tubes, resistors with their power and
/// voltage, capacitors, diodes, and the sink to be built.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "objectives/builds/tolerances.h"
#include "results/describe/part_burdens.h"
#include "results/describe/part_values.h"
#include "results/report.h"

namespace antiphase {

enum class PartKind { tube, resistor, capacitor, diode, sink, supply };
std::string_view name_of(PartKind);  ///< "resistor"

/// Of its rated voltage, what a capacitor is given at most (common practice, no published source): it has the
/// mains in it that stand a tenth high.
inline constexpr double kCapacitorVoltageFactor = 0.8;

struct PartLine {
  PartKind kind = PartKind::resistor;
  std::string label;        ///< "plate resistor 1"
  std::string designators;  ///< of all its pieces: "R5, R6"; of tubes those of the bottles
  int count = 1;
  std::string what;  ///< "47 kΩ", "6SN7GT"; "≥ 33 nF" where the design leaves it open and it is proposed,
                     ///< "not given" where it cannot be
  double value = 0;  ///< SI; 0 for a tube or diode, and where it is not given
  std::optional<double> proposed_value;  ///< in place of `value`; see PartValues
  std::string unit;                      ///< "ohm", "F", "A" of a sink, "" for a tube or diode
  std::optional<double> power_rest_w;    ///< of one piece, as all that follow; of unequal ones the largest
  std::optional<double> power_worst_w;   ///< larger of rest and the mean over the cycle at the target
  std::optional<double> voltage_rest_v;
  std::optional<double> voltage_worst_v;  ///< largest over the cycle at the target, rest included; for a
                                          ///< capacitor, and a resistor that charges one to ground: before
                                          ///< the tubes conduct or it is charged; for a diode: in reverse
  std::vector<Burden> burdens;     ///< what each cause asks of one piece, faults of other parts included
  std::optional<double> rating_w;  ///< smallest usual power rating that every cause leaves enough of
                                   ///< (power_rating); empty: none is
  std::optional<double> rating_v;  ///< likewise of voltage (voltage_rating); of a diode: in reverse
  std::optional<Cause> rating_w_for, rating_v_for;  ///< the cause that asks for the rating
  std::string type;                                 ///< "film", "wirewound", "electrolytic", "silicon"
  std::string series;  ///< the coarsest that has the value: "E24"; empty for tubes, diodes and odd values
  std::optional<double> tolerance_pct;       ///< half width
  std::optional<double> heater_v, heater_a;  ///< of one tube
  std::string pins;                          ///< of tubes: pins_in_words of each bottle
  bool in_circuit = true;                    ///< an element of the solved circuit; false: see parts_beside.h
  bool is_load = false;   ///< beside the circuit, but the solved circuit has it as its load
  bool is_drawn = false;  ///< beside the parts, but drawing and netlist have it: a supply
  std::string note;       ///< on why, or what to watch; empty for most
};

/// Ratings, the causes that ask for them, and a resistor's type, from the part's burdens.
void rate(PartLine&, const DesignFactors&);

/// Every part of the design, each element that is bought (designators.h) in one line: tubes, resistors,
/// capacitors, diodes, a sink, each in the order of the circuit's list. Parts with one purpose and one member
/// of the design share a line. Powers and voltages are empty where the rest point is not solved, but for what
/// the cold circuit shows of capacitors; the worst case is that of rest alone where the target is out of
/// reach. Mid-band, so the small signal current of the grid leaks counts, that of interelectrode capacitances
/// does not. A feedback resistor has between its ends what the output stage gives at the target, without what
/// the feedback itself changes.
/// Ratings follow from the worst of all causes (part_burdens.h): of resistors at `factors.resistor_power` and
/// `factors.resistor_voltage`. Usual voltages: resistors 200 250 350 500 750 1000 V; film capacitors 63 100
/// 160 250 400 630 1000 1250 1600 V, electrolytic ones (reservoir and bypasses across cathode resistors) 6.3
/// 10 16 25 35 50 63 100 160 250 350 400 450 500 V, at
/// kCapacitorVoltageFactor (common practice: makers' sheets, from memory); diodes 75 100 200 400 600 1000 V,
/// at a third; of a sink's transistors 30 60 100 160 250 350 500 600 800 1000 V, as capacitors. Tolerances:
/// of the parts as builds are thought of. `plate_2_of`: the two resistors that make plate resistor 2, each
/// then with its share of voltage and power.
std::vector<PartLine> parts_list(const Design&, const Evaluation&, const DesignFactors& factors,
                                 const std::optional<engine::TwoPart>& plate_2_of = std::nullopt,
                                 const Tolerances& tolerances = {});

/// The rule by which a part's ratings were chosen: "at most 50 % of its power and 80 % of its voltage".
std::string derating_in_words(const PartLine&, const DesignFactors&);

/// "Plate 2 of ranks 1 and 4: 56 kΩ + 2.2 kΩ in series.", one sentence for each combination in use.
std::vector<std::string> plate_2_in_words(const std::vector<Record>&);

}  // namespace antiphase
