/// A circuit, written once: its nodes, and the elements between them.
///
/// A circuit's folder holds a constexpr function that lists the elements for a choice of forms, in the words
/// of the trade. It reads like a netlist with names. Everything that is said of a circuit follows from that
/// list: the equations of the cycle, the rest point, the linear network, what a broken part does, the parts
/// to buy, which members a design file has, the netlist for a general simulator, and the values in the
/// drawing. The same list serves the compiler (unknowns and sparsity of the cycle) and run time (all the
/// rest).
#pragma once

#include <array>
#include <cstdint>
#include <string_view>

#include "stagemodels/design.h"
#include "stagemodels/members.h"

namespace antiphase {

/// Number of a node in its circuit; ground is 0.
using Node = std::int8_t;
inline constexpr Node kGround = 0, kNoNode = -1;

enum class ElementKind : std::uint8_t {
  held,       ///< node a stands at a voltage that the design gives
  driven,     ///< node a is the signal source; at rest it stands at a given voltage
  triode,     ///< plate a, grid b, cathode c; of a pentode `screen` too
  resistor,   ///< from a to b; of 0 ohm: a wire
  capacitor,  ///< from a to b, a part to choose: a short for the signal at mid-band; 0 F: not given, a short
  stray,      ///< from a to b, a small capacitance: nothing at mid-band
  sink,       ///< a constant current from a to b
  clamp,      ///< a diode, anode a, cathode b, that conducts only while the tubes are cold
  output_grid,  ///< the grid of the next valve at a, its cathode circuit at b; it may draw current
};

/// What an element is for. Walkers ask for the role where a rule hangs on it (a rating, a default, a name).
enum class Role : std::uint8_t {
  none,
  section,
  supply,                ///< the voltage that the stage is fed from
  rail,                  ///< a negative supply
  driver_rail,           ///< the same of a driver
  bias_supply,           ///< where the leaks of a driver's grids end: set so that its cathodes stand right
  source,                ///< the signal source and its own resistance and capacitance
  dropping,              ///< from the main supply to the stage's
  reservoir,             ///< of the stage's supply
  decoupling,            ///< from the supply to that of a stage ahead
  decoupling_capacitor,  ///< of the supply of a stage ahead
  plate_load,            ///< from the supply to a plate
  plate_source,          ///< a constant current in place of that
  grid_feed,             ///< from the supply to a grid that is held above ground
  inner_coupling,        ///< from one section of a gain stage to the grid of its second one
  cathode_load,          ///< carries an output at the cathode
  driver_load,           ///< of a driver's plate
  driver_cathode,        ///< of a follower, or of a driver's pair together
  bias,                  ///< between a cathode and the node that its grid's leak hangs on
  tail,                  ///< carries the current of all cathodes
  cathode,               ///< of a gain stage: the part that its capacitor bridges
  cathode_unbypassed,    ///< of a gain stage: the part that no capacitor bridges
  grid_leak,
  driver_leak,    ///< of a driver's grid
  divider,        ///< from outputs to the grid that they drive, and from there to ground
  feedback,       ///< overall feedback: plays no part in rest and cycle (Feedback in design.h)
  feedback_lead,  ///< a small capacitor across it, a part to buy; plays a part where that does
  input_coupling,
  coupling_between,  ///< from one stage's plate to the next one's grid
  output_coupling,   ///< from the splitter
  driver_coupling,   ///< from a driver
  grid_bypass,
  cathode_bypass,
  load,         ///< what follows: the next grid leak and its capacitance; not a part of this stage
  grid_clamp,   ///< holds a grid at its cathode while the tubes are cold
  output_grid,  ///< of the valve that follows
};

/// Numbers of sections. The splitter, or a gain stage that stands alone, has at most two, 0 and 1; a stage
/// ahead and drivers keep their places all the same.
inline constexpr int kSplitterSections = 2, kFirstStage = 2, kDriver = 3, kGainSecond = 5;
/// Those beside the splitter's.
inline constexpr std::array kOtherSections{kFirstStage, kGainSecond, kDriver, kDriver + 1};
/// All, alike ones beside each other. Where two share a row, the current of the later one follows from that
/// of the one before it.
inline constexpr std::array kSectionOrder{0, 1, kDriver, kDriver + 1, kGainSecond, kFirstStage};

/// What stands between the nodes of an element that the design does not have.
enum class Absent : std::uint8_t { nothing, wire };

struct Element {
  ElementKind kind{};
  Role role = Role::none;
  std::string_view name;   ///< in files: "plate_resistor_1"
  std::string_view label;  ///< for people: "plate resistor 1"
  Node a = kNoNode, b = kNoNode, c = kNoNode;
  const DesignField* member = nullptr;     ///< of the design, that it takes its value from; null: none
  double (*own)(const Design&) = nullptr;  ///< its value where that is not simply the member's
  bool (*when)(const Design&) = nullptr;   ///< null: always there
  Absent absent = Absent::nothing;         ///< what is in its place when it is not there
  std::int8_t section = -1;                ///< of a triode: its number (SectionNumber)
  Node screen = kNoNode;                   ///< of a pentode

  constexpr bool there(const Design& d) const { return !when || when(d); }
  /// Ohm, F, A or V; a resistor of 0 ohm is a wire.
  constexpr double value(const Design& d) const { return own ? own(d) : member ? member->value(d) : 0; }
  /// True if its nodes are one in this design: a wire in place of it, or a resistor of 0 ohm.
  constexpr bool joins(const Design& d) const {
    if (!there(d)) return absent == Absent::wire;
    return kind == ElementKind::resistor && !(value(d) > 0);
  }
  /// True if it stands between its nodes in this design.
  constexpr bool stands(const Design& d) const { return there(d) && !joins(d); }
};

/// The choices that decide which elements a circuit has. What a circuit does not choose it ignores.
struct Form {
  BiasForm bias = BiasForm::self_biased;
  TailForm tail = TailForm::resistor;
  bool feedback = false;  ///< overall feedback is asked for
  DriverForm driver = DriverForm::none;
  GainForm gain = GainForm::triode;
};
constexpr Form form_of(const Design& d) {
  return {d.bias.form, d.tail.form, d.feedback.given, d.driver.form, d.first_stage.form};
}

/// One output: the node that the load hangs on.
struct Output {
  Node node = kNoNode;
  int sign = 1;  ///< of the gain from the driven grid
};

struct Circuit {
  static constexpr int kMostElements = 56, kMostNodes = 32, kMostExtra = 20, kMostSections = 6;

  std::array<Element, kMostElements> element{};
  std::array<std::string_view, kMostNodes> node_name{};  ///< for people and netlists: "P1"
  std::array<Output, 2> output{};
  std::array<const DesignField*, kMostExtra> extra{};  ///< members that no single element stands for
  int elements = 0, nodes = 0, outputs = 0, extras = 0;
  Node leak_foot = kGround;                      ///< where the output stage's grid leaks end
  Node tail_top = kGround, tail_foot = kGround;  ///< what the cathodes' current runs through to its foot
  Node supply = kNoNode, main_supply = kNoNode, input = kNoNode;  ///< input: the source itself
  Node first_supply = kNoNode,
       first_output = kNoNode;  ///< of a first stage: what it hangs on, where it gives out
  Node feedback = kNoNode;      ///< the far end of a feedback resistor: the load of the output stage

  constexpr Node node(std::string_view name) {
    node_name[static_cast<std::size_t>(nodes)] = name;
    return static_cast<Node>(nodes++);
  }
  constexpr Element& add(const Element& e) { return element[static_cast<std::size_t>(elements++)] = e; }
  constexpr Element& resistor(Role role, std::string_view name, std::string_view label, Node a, Node b,
                              const DesignField& member) {
    return add({ElementKind::resistor, role, name, label, a, b, kNoNode, &member});
  }
  constexpr Element& capacitor(Role role, std::string_view name, std::string_view label, Node a, Node b,
                               const DesignField& member) {
    return add({ElementKind::capacitor, role, name, label, a, b, kNoNode, &member});
  }
  constexpr Element& stray(Role role, std::string_view name, std::string_view label, Node a, Node b,
                           const DesignField& member) {
    return add({ElementKind::stray, role, name, label, a, b, kNoNode, &member});
  }
  constexpr Element& sink(Role role, std::string_view name, std::string_view label, Node a, Node b,
                          const DesignField& member) {
    return add({ElementKind::sink, role, name, label, a, b, kNoNode, &member});
  }
  constexpr Element& triode(std::string_view name, std::string_view label, Node plate, Node grid,
                            Node cathode, int section) {
    Element e{ElementKind::triode, Role::section, name, label, plate, grid, cathode};
    e.section = static_cast<std::int8_t>(section);
    return add(e);
  }
  constexpr Element& clamp(std::string_view name, std::string_view label, Node grid, Node cathode,
                           bool (*when)(const Design&)) {
    Element e{ElementKind::clamp, Role::grid_clamp, name, label, grid, cathode};
    e.when = when;
    return add(e);
  }
  constexpr Element& held(Role role, std::string_view name, std::string_view label, Node a,
                          const DesignField& member) {
    return add({ElementKind::held, role, name, label, a, kGround, kNoNode, &member});
  }
  /// `rest`: the member that says where the source stands at rest; null: at ground.
  constexpr Element& driven(std::string_view name, std::string_view label, Node a, const DesignField* rest) {
    input = a;
    return add({ElementKind::driven, Role::source, name, label, a, kGround, kNoNode, rest});
  }
  constexpr void uses(const DesignField& member) { extra[static_cast<std::size_t>(extras++)] = &member; }
  constexpr void drives(Node node, int sign) { output[static_cast<std::size_t>(outputs++)] = {node, sign}; }

  /// The triode of a section, or null.
  constexpr const Element* section(int s) const {
    for (int i = 0; i < elements; ++i)
      if (element[static_cast<std::size_t>(i)].section == s) return &element[static_cast<std::size_t>(i)];
    return nullptr;
  }
  constexpr const Element* begin() const { return element.data(); }
  constexpr const Element* end() const { return element.data() + elements; }
};

/// The elements of the design's circuit in its forms. Static; cost: a table look-up.
const Circuit& circuit_of(const Design&);

}  // namespace antiphase
