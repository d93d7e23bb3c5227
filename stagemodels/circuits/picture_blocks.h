/// What the pictures of several circuits have in common, as blocks.h for their lists.
#pragma once

#include "stagemodels/circuits/picture.h"

namespace antiphase::picture_block {

inline constexpr int kRail = 30, kFirstTap = 125, kSecondTap = 192, kTube = 258;  // heights
inline constexpr int kCathode = 313;  // of the wire below the tubes' cathodes

/// The supply from `x`, where a plate resistor stands, to what feeds it, `end` being the last plate
/// resistor's place.
constexpr void supply(Picture& p, int x, int end) {
  constexpr std::string_view kDropping = "dropping_resistor", kReservoir = "reservoir_capacitor";
  p.line({at(x, kRail), at(end + 40, kRail), at(end + 110, kRail)});
  p.line({at(end + 40, kRail), at(end + 40, kRail + 10)}, kReservoir);
  p.place(kReservoir, at(end + 40, kRail + 10), at(end + 40, kRail + 60));
  p.earth(at(end + 40, kRail + 60), kReservoir);
  p.place(kDropping, at(end + 180, kRail), at(end + 110, kRail));
  p.line({at(end + 180, kRail), at(end + 210, kRail)});
  p.leads_out(at(end + 210, kRail), Side::above, {}, {{{"supply", "+"}, {"main_supply", "+"}}});
  p.tells("B", at(x, kRail), Side::above, kDropping);
}

/// The source behind an input capacitor, up to the leak of a grid at `grid_x`.
constexpr void coupled_source(Picture& p, int grid_x) {
  constexpr int kAboveDesignator = 22;
  p.leads_out(at(20, kTube), Side::upper_right, {"in"},
              {{{"source", ""}, {"source_resistance", "from "}, {"source_capacitance", "and "}}})
      .words_at = at(12, kTube - kAboveDesignator);
  p.line({at(20, kTube), at(45, kTube)});
  p.place("input_capacitor", at(45, kTube), at(95, kTube));
  p.line({at(95, kTube), at(grid_x, kTube)});
}

/// Of an output: from `end` its capacitor reaches so far, its terminal stands so far if nothing hangs on it.
inline constexpr int kBehindCapacitor = 80, kTerminal = 105;

/// From the tap of a plate to the terminal; `end` is the place of the last plate resistor.
constexpr void output(Picture& p, int tap_x, int y, int end, int terminal, std::string_view capacitor,
                      std::string_view words, std::string_view load, std::string_view load_capacitance,
                      std::string_view output_grid) {
  p.line({at(tap_x, y), at(end + 30, y)});
  p.place(capacitor, at(end + 30, y), at(end + kBehindCapacitor, y));
  p.line({at(end + kBehindCapacitor, y), at(end + terminal, y)});
  p.leads_out(at(end + terminal, y), Side::right, {words},
              {{{load, "into "}, {load_capacitance, "and "}, {output_grid, "grid of "}}});
}
constexpr void output_1(Picture& p, int tap_x, int y, int end, std::string_view words,
                        int terminal = kTerminal) {
  output(p, tap_x, y, end, terminal, "output_capacitor_1", words, "load_1", "load_capacitance_1",
         "output_grid_1");
}
constexpr void output_2(Picture& p, int tap_x, int y, int end, std::string_view words,
                        int terminal = kTerminal) {
  output(p, tap_x, y, end, terminal, "output_capacitor_2", words, "load_2", "load_capacitance_2",
         "output_grid_2");
}

/// A cathode resistor from the cathodes' wire at `x` to ground: the bare part above, its capacitor beside the
/// rest.
constexpr void cathode_resistor(Picture& p, int x, std::string_view resistor, std::string_view bare,
                                std::string_view bypass) {
  constexpr int kBeside = 50, kFoot = kCathode + 60, kEnd = kFoot + 70;
  p.place(bare, at(x, kCathode), at(x, kFoot));
  p.place(resistor, at(x, kFoot), at(x, kEnd), Side::left);
  p.line({at(x, kFoot), at(x + kBeside, kFoot)}, bypass);
  p.place(bypass, at(x + kBeside, kFoot), at(x + kBeside, kEnd));
  p.earth(at(x, kEnd));
  p.earth(at(x + kBeside, kEnd), bypass);
}

/// Names of what a gain stage is made of, and of its nodes.
struct GainStage {
  std::string_view section, plate_resistor, cathode_resistor, bare_resistor, bypass, grid_leak;
  std::string_view plate, cathode;
};

/// A gain stage at `x`, but for supply, source and what its plate feeds, which is tapped at `tap`. Its grid
/// leak stands at x - kLeak. `bare_at_ground`: overall feedback comes in at the upper end of the bare
/// resistor.
inline constexpr int kLeak = 95;
/// Its plate's resistor, down to the tube.
constexpr void plate_resistor(Picture& p, int x, int tap, const GainStage& names) {
  p.place(names.plate_resistor, at(x, kRail), at(x, kFirstTap - 15)).current = true;
  p.line({at(x, kFirstTap - 15), at(x, tap), at(x, kTube - kTriodeReach)});
  p.tells(names.plate, at(x, tap), Side::left);
}
/// The rest of it, from the plate down.
constexpr void below_plate(Picture& p, int x, const GainStage& names, bool bare_at_ground) {
  p.triode(names.section, at(x, kTube), Side::left);
  p.line({at(x - kTriodeReach, kTube), at(x - kLeak, kTube)});
  p.place(names.grid_leak, at(x - kLeak, kTube), at(x - kLeak, kTube + 90), Side::left);
  p.earth(at(x - kLeak, kTube + 90));
  p.line({at(x, kTube + kTriodeReach), at(x, kCathode)});
  constexpr int kBeside = 50;
  if (bare_at_ground) {
    constexpr int kFoot = kCathode + 75;
    p.tells(names.cathode, at(x, kCathode), Side::left);
    p.place(names.cathode_resistor, at(x, kCathode), at(x, kFoot), Side::left);
    p.line({at(x, kCathode), at(x + kBeside, kCathode)}, names.bypass);
    p.place(names.bypass, at(x + kBeside, kCathode), at(x + kBeside, kFoot));
    p.line({at(x, kFoot), at(x + kBeside, kFoot)});
    p.place(names.bare_resistor, at(x, kFoot), at(x, kFoot + 70), Side::left);
    p.earth(at(x, kFoot + 70));
    p.place("feedback_resistor", at(x + kBeside, kFoot + 70), at(x + kBeside, kFoot));
    constexpr int kLead = kBeside + 100, kFrom = kFoot + 86;
    p.line({at(x + kBeside, kFoot), at(x + kLead, kFoot)}, "feedback_lead");
    p.place("feedback_lead", at(x + kLead, kFoot + 70), at(x + kLead, kFoot));
    p.line({at(x + kBeside, kFoot + 70), at(x + kLead, kFoot + 70)}, "feedback_lead");
    p.line({at(x + kBeside, kFoot + 70), at(x + kBeside, kFrom)});
    p.leads_out(at(x + kBeside, kFrom), Side::right, {"feedback, from the load"}, {});
  } else {
    p.tells(names.cathode, at(x, kCathode), Side::right);
    cathode_resistor(p, x, names.cathode_resistor, names.bare_resistor, names.bypass);
  }
}
constexpr void gain_stage(Picture& p, int x, int tap, const GainStage& names, bool bare_at_ground) {
  plate_resistor(p, x, tap, names);
  below_plate(p, x, names, bare_at_ground);
}

}  // namespace antiphase::picture_block
