#include "stagemodels/circuits/driver_picture.h"

#include <algorithm>
#include <cassert>

#include "stagemodels/circuits/blocks.h"
#include "stagemodels/circuits/catalogue.h"

namespace antiphase {
namespace {

constexpr int kTop = -15;  ///< height of the supply that passes above all else

/// Takes away the terminal that says the element, and gives its place.
Spot take_terminal(Picture& p, std::string_view element) {
  for (int t = 0; t < p.terminals; ++t) {
    const auto n = static_cast<std::size_t>(t);
    for (const Said& said : p.terminal[n].said)
      if (said.element == element) {
        const Spot at = p.terminal[n].at;
        std::move(p.terminal.begin() + t + 1, p.terminal.begin() + p.terminals, p.terminal.begin() + t);
        p.terminal[static_cast<std::size_t>(--p.terminals)] = {};
        return at;
      }
  }
  assert(false);
  return {};
}

/// Where the supply of the stage can be tapped: just before what feeds it.
Spot supply_tap(const Picture& p) {
  constexpr int kBefore = 30;
  for (int i = 0; i < p.placings; ++i)
    if (const Placed& placed = p.placed[static_cast<std::size_t>(i)]; placed.element == "dropping_resistor")
      return at(placed.b.x - kBefore, placed.b.y);
  assert(false);
  return {};
}

/// The right edge of what is drawn.
int right_edge(const Picture& p) {
  int right = 0;
  for (int i = 0; i < p.wires; ++i)
    right = std::max(
        {right, int{p.wire[static_cast<std::size_t>(i)].a.x}, int{p.wire[static_cast<std::size_t>(i)].b.x}});
  for (int t = 0; t < p.terminals; ++t)
    right = std::max(right, int{p.terminal[static_cast<std::size_t>(t)].at.x});
  return right;
}

void lead_out(Picture& p, int which, Spot end) {
  const block::OutputNames& names = block::kOutputNames[static_cast<std::size_t>(which)];
  p.leads_out(end, Side::right, {which == 0 ? "output 1" : "output 2"},
              {{{names.load, "into "}, {names.stray, "and "}, {names.grid, "grid of "}}});
}

/// Followers, one above the other, each with its leak on its left; the leaks end at one bus and the cathode
/// resistors at another.
void followers(Picture& p, std::array<Spot, 2> from, Spot supply, int right) {
  constexpr int kLeak = 90, kBeside = 150, kOut = 52;
  const int x[2] = {right + 290, right + 290 + kBeside}, y[2] = {125, 480};
  const int down = right + 110, bias = y[1] + 110, rail = y[1] + 165, end = x[1] + 110;
  p.line({supply, at(supply.x, kTop), at(x[0], kTop), at(x[1], kTop), at(x[1], y[1] - kTriodeReach)});
  p.line({at(x[0], kTop), at(x[0], y[0] - kTriodeReach)});
  for (int i = 0; i < 2; ++i) {
    const auto& names = block::kDriverNames[static_cast<std::size_t>(i)];
    const int grid = x[i] - kTriodeReach, leak = x[i] - kLeak, foot = i == 0 ? y[0] + 105 : y[1] + 90;
    const Spot start = from[static_cast<std::size_t>(i)];
    if (start.y == y[i])
      p.line({start, at(leak, y[i]), at(grid, y[i])});
    else
      p.line({start, at(down, start.y), at(down, y[i]), at(leak, y[i]), at(grid, y[i])});
    p.triode(names.section, at(x[i], y[i]), Side::left);
    p.place(names.leak, at(leak, y[i]), at(leak, foot), i == 0 ? Side::left : Side::right);
    p.line({at(leak, foot), at(leak, bias)});
    p.line({at(x[i], y[i] + kTriodeReach), at(x[i], y[i] + kOut), at(end, y[i] + kOut)});
    p.tells(i == 0 ? "OUT1" : "OUT2", at(x[i], y[i] + kOut), Side::lower_right);
    lead_out(p, i, at(end, y[i] + kOut));
    p.place(names.cathode, at(x[i], y[i] + kOut), at(x[i], y[i] + kOut + 95)).current = true;
    p.line({at(x[i], y[i] + kOut + 95), at(x[i], rail)});
  }
  p.line({at(x[0] - kLeak, bias), at(x[1] - kLeak, bias)});
  p.line({at(x[0] - kLeak, bias), at(x[0] - kLeak, bias + 20)});
  p.leads_out(at(x[0] - kLeak, bias + 20), Side::below, {}, {{{"driver_bias", "bias "}}});
  p.line({at(x[0], rail), at(x[1], rail)});
  p.line({at(x[1], rail), at(x[1], rail + 20)});
  p.leads_out(at(x[1], rail + 20), Side::below, {}, {{{"driver_rail", ""}}});
}

/// A second pair: the grid of its second section is fed from below and on its right.
void pair(Picture& p, std::array<Spot, 2> from, Spot supply, int right) {
  constexpr int kApart = 210, kGrid = 70, kLeak = 120, kTube = 190, kCathodes = 245, kLow = 350, kBias = 470;
  constexpr int kTap[2] = {70, 137}, kEnd = 245;  // of the output capacitors, from the second section
  const int x[2] = {right + 340, right + 340 + kApart}, middle = x[0] + kApart / 2, down = right + 110;
  const int leak[2] = {x[0] - kLeak, x[1] + kGrid};
  p.line({supply, at(supply.x, kTop), at(x[0], kTop), at(x[1], kTop)});
  for (int i = 0; i < 2; ++i) {
    const auto& names = block::kDriverNames[static_cast<std::size_t>(i)];
    p.place(names.plate, at(x[i], kTop), at(x[i], kTop + 70), i == 0 ? Side::left : Side::right).current =
        true;
    p.line({at(x[i], kTop + 70), at(x[i], kTap[i]), at(x[i], kTube - kTriodeReach)});
    p.triode(names.section, at(x[i], kTube), i == 0 ? Side::left : Side::right);
    p.tells(i == 0 ? "PD1" : "PD2", at(x[i], kTap[i]), Side::left);
    p.line({at(x[i], kTap[i]), at(x[1] + kEnd - 80, kTap[i])});
    p.place(names.capacitor, at(x[1] + kEnd - 80, kTap[i]), at(x[1] + kEnd - 30, kTap[i]));
    p.line({at(x[1] + kEnd - 30, kTap[i]), at(x[1] + kEnd, kTap[i])});
    lead_out(p, i, at(x[1] + kEnd, kTap[i]));
  }
  p.line({at(x[0], kTube + kTriodeReach), at(x[0], kCathodes), at(middle, kCathodes), at(x[1], kCathodes),
          at(x[1], kTube + kTriodeReach)});
  p.tells("KD", at(middle, kCathodes), Side::above);
  p.place("driver_tail", at(middle, kCathodes), at(middle, kCathodes + 85)).current = true;
  p.line({at(middle, kCathodes + 85), at(middle, kLow + 45)});
  p.leads_out(at(middle, kLow + 45), Side::below, {}, {{{"driver_rail", ""}}});

  const auto& first = block::kDriverNames[0];
  const auto& second = block::kDriverNames[1];
  const int across = x[0] - kGrid;
  if (from[0].y == kTube)
    p.line({from[0], at(leak[0], kTube), at(x[0] - kTriodeReach, kTube)});
  else
    p.line({from[0], at(across - kLeak, from[0].y), at(across - kLeak, kTube), at(leak[0], kTube),
            at(x[0] - kTriodeReach, kTube)});
  p.place(first.leak, at(leak[0], kTube), at(leak[0], kTube + 105), Side::left);
  p.line({at(leak[0], kTube + 105), at(leak[0], kBias), at(leak[1], kBias)});
  p.line({from[1], at(down, from[1].y), at(down, kLow), at(leak[1], kLow), at(leak[1], kTube),
          at(x[1] + kTriodeReach, kTube)});
  p.place(second.leak, at(leak[1], kLow), at(leak[1], kLow + 100));
  p.line({at(leak[1], kLow + 100), at(leak[1], kBias)});
  p.line({at(leak[0], kBias), at(leak[0], kBias + 20)});
  p.leads_out(at(leak[0], kBias + 20), Side::below, {}, {{{"driver_bias", "bias "}}});
}

}  // namespace

Picture picture_of(CircuitKind kind, const Form& form) {
  Picture p = circuit(kind).picture(form);
  if (form.driver == DriverForm::none) return p;
  const Spot supply = supply_tap(p);
  const std::array<Spot, 2> from{take_terminal(p, "load_1"), take_terminal(p, "load_2")};
  const int right = right_edge(p);
  form.driver == DriverForm::cathode_followers ? followers(p, from, supply, right)
                                               : pair(p, from, supply, right);
  return p;
}

}  // namespace antiphase
