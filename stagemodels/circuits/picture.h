/// Where the elements of a circuit stand in its drawing.
///
/// A circuit's folder holds a constexpr function that gives the picture for a choice of forms. It places the
/// elements of the circuit's list by their names; designators, values and voltages come from the list and the
/// design, so that drawing and parts list say the same. What is drawn as a symbol is what a builder solders;
/// what stands around the stage (source, loads) is said in words at its terminals.
///
/// An element that the design has as a wire is painted as a wire between its ends. One that it does not have
/// is left out, and with it the strokes that name it (`with`). Joints get their dots by themselves, where
/// three or more ends meet or an end meets a wire on its way; lines that only cross are not joined.
#pragma once

#include <array>
#include <cstdint>
#include <initializer_list>
#include <string_view>

#include "stagemodels/circuits/circuit.h"

namespace antiphase {

/// A point of the plane: y downward, in units of which a resistor's box is 34 long and 14 wide.
struct Spot {
  std::int16_t x = 0, y = 0;
  friend constexpr bool operator==(const Spot&, const Spot&) = default;
};

/// Where words stand, seen from what they belong to.
enum class Side : std::uint8_t {
  left,
  right,
  above,
  below,
  upper_left,
  upper_right,
  lower_left,
  lower_right
};

/// An element that is said in words: its value, or the name of the output valve, between two words.
struct Said {
  std::string_view element, before, after = {};
};

/// An element drawn as a symbol between two ends, upright or lying. A triode has its centre at `a`, its plate
/// and cathode ends kTriodeReach above and below, and its grid end as far to the side of `grid`.
struct Placed {
  std::string_view element;
  Spot a, b;  ///< the ends of the element's nodes a and b
  Side label = Side::right;
  Side grid = Side::left;
  bool current = false;  ///< its current at rest is told, from `a` to `b`
  Said said;             ///< one that stands across it, in words
};
inline constexpr std::int16_t kTriodeReach = 40;
/// A pentode's screen comes out on the side where no grid is, so far above the centre.
inline constexpr std::int16_t kScreenUp = 7;

/// Where a lead goes on to what stands around, with words for it. A supply's words are its voltage.
struct Terminal {
  Spot at, words_at;
  Side side = Side::right;
  std::array<std::string_view, 2> words;  ///< in lines
  std::array<Said, 3> said;               ///< what stands there, a line each
};

struct Wire {
  Spot a, b;
  std::string_view with;  ///< painted only if this element stands; empty: always
};

struct GroundSign {
  Spot at;
  std::string_view with;
};

/// A node whose voltage at rest is told.
struct Probe {
  std::string_view node;  ///< its name in the list
  Spot at;                ///< a point of the node
  Side side = Side::right;
  std::string_view with;
};

struct Picture {
  std::array<Placed, 56> placed{};
  std::array<Wire, 136> wire{};
  std::array<GroundSign, 16> ground{};
  std::array<Terminal, 12> terminal{};
  std::array<Probe, 24> probe{};
  int placings = 0, wires = 0, grounds = 0, terminals = 0, probes = 0;

  /// `label`: left or right of an upright element; a lying one has its designator above and its value below.
  constexpr Placed& place(std::string_view element, Spot a, Spot b, Side label = Side::right) {
    return placed[static_cast<std::size_t>(placings++)] = {element, a, b, label, Side::left, false, {}};
  }
  constexpr void triode(std::string_view element, Spot centre, Side grid) {
    place(element, centre, centre, grid == Side::left ? Side::right : Side::left).grid = grid;
  }
  /// Straight from spot to spot.
  constexpr void line(std::initializer_list<Spot> spots, std::string_view with = {}) {
    const Spot* before = nullptr;
    for (const Spot& s : spots) {
      if (before) wire[static_cast<std::size_t>(wires++)] = {*before, s, with};
      before = &s;
    }
  }
  constexpr void earth(Spot at, std::string_view with = {}) {
    ground[static_cast<std::size_t>(grounds++)] = {at, with};
  }
  constexpr Terminal& leads_out(Spot at, Side side, std::array<std::string_view, 2> words,
                                std::array<Said, 3> said) {
    return terminal[static_cast<std::size_t>(terminals++)] = {at, at, side, words, said};
  }
  constexpr void tells(std::string_view node, Spot at, Side side, std::string_view with = {}) {
    probe[static_cast<std::size_t>(probes++)] = {node, at, side, with};
  }
};

constexpr Spot at(int x, int y) {
  return {static_cast<std::int16_t>(x), static_cast<std::int16_t>(y)};
}

}  // namespace antiphase
