#include "configs/read_output_stage.h"

#include <algorithm>
#include <array>

#include "configs/card_members.h"
#include "configs/design_members.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"
#include "stagemodels/design_fields.h"
#include "stagemodels/members.h"
#include "stagemodels/output/transformer_response.h"
#include "stagemodels/output/whole_amplifier.h"

namespace antiphase {
namespace {

constexpr NumberRule kSupply{"V", 10, 5000};
constexpr NumberRule kWatts{"W", 1e-3, 10e3};
constexpr NumberRule kPlates{"ohm", 10, 1e6};
constexpr NumberRule kLoad{"ohm", 0.1, 1e6};
constexpr NumberRule kWinding{"ohm", 0, 1e5};
constexpr NumberRule kInductance{"H", 0, 1e5};
constexpr NumberRule kStray{"F", 0, 1e-6};
constexpr std::array<std::string_view, 3> kConnections{"pentode", "ultralinear", "triode"};

void read_transformer(const Cursor& cursor, OutputTransformer& t) {
  ObjectReader in(cursor);
  t.load_ohm = in.required_number("load_ohm", "the loudspeaker, in ohm", kLoad).value_or(8);
  const bool by_ratio = in.find("turns_ratio").has_value();
  const bool by_ohm = in.find("plate_to_plate_ohm").has_value();
  const auto ratio = in.number("turns_ratio", {"1", 1, 1000});
  const auto ohm = in.number("plate_to_plate_ohm", kPlates);
  if (in.is_object() && by_ratio && by_ohm)
    in.error("turns_ratio", "and plate_to_plate_ohm exclude each other: one follows from the other");
  if (in.is_object() && !by_ratio && !by_ohm)
    in.error("plate_to_plate_ohm",
             "is missing: a transformer has plate_to_plate_ohm or turns_ratio, the whole primary to the "
             "secondary");
  t.plate_to_plate_ohm = ohm ? *ohm : ratio ? *ratio * *ratio * t.load_ohm : 1;
  t.primary_ohm = in.number("primary_ohm", kWinding).value_or(0);
  t.secondary_ohm = in.number("secondary_ohm", kWinding).value_or(0);
  t.primary_h = in.number("primary_h", kInductance).value_or(0);
  t.leakage_h = in.number("leakage_h", kInductance).value_or(0);
  t.primary_f = in.number("primary_f", kStray).value_or(0);
  t.secondary_f = in.number("secondary_f", kStray).value_or(0);
}

const OutputValve* read_valve(ObjectReader& in, const TubeLibrary& library) {
  const auto member = in.require("valve", "the type of the two output valves");
  const OutputValve* valve = member ? read_output_valve_name(*member, library) : nullptr;
  if (!valve || valve->law) return valve;
  std::vector<std::string> with;
  for (const OutputValve& v : library.output_valves())
    if (v.law) with.push_back(v.name);
  member->error("the card of the " + valve->name +
                " has no law of its currents, so that its pair cannot be solved" +
                (with.empty() ? std::string("; no card has one") : "; these have one: " + all_of(with)));
  return nullptr;
}

void read_screens(ObjectReader& in, bool triode, OutputPair& p) {
  const auto connection = in.find("connection");
  const auto chosen =
      connection ? connection->choice({kConnections.begin(), kConnections.end()}) : std::nullopt;
  if (triode && chosen && *chosen != 2) connection->error("must be \"triode\": the valve has no screen");
  p.screens = triode ? ScreenConnection::triode : static_cast<ScreenConnection>(chosen.value_or(0));
  const bool own = p.screens == ScreenConnection::supply, taps = p.screens == ScreenConnection::ultralinear;
  if (own) {
    p.screen_v = in.required_number("screen_v", "the screens' supply, in V", kSupply).value_or(0);
    p.screen_ohm = in.number("screen_ohm", kWinding).value_or(0);
  }
  if (taps)
    p.tap = in.required_number("screen_tap", "share of each half primary between supply and screen",
                               {"1", 0.01, 0.99})
                .value_or(0.4);
  for (const auto name : {"screen_v", "screen_ohm"})
    if (!own && in.find(name)) in.error(name, "has no meaning unless the screens have a supply of their own");
  if (!taps && in.find("screen_tap")) in.error("screen_tap", "belongs to the ultralinear connection");
}

void read_bias(ObjectReader& in, OutputPair& p) {
  const bool fixed = in.find("bias_v").has_value(), cathode = in.find("cathode_ohm").has_value();
  const auto bias = in.number("bias_v", kOutputBias);
  const auto ohm = in.number("cathode_ohm", {"ohm", 1, 100e3});
  if (in.is_object() && fixed && cathode)
    in.error("cathode_ohm", "and bias_v exclude each other: one of them sets the bias");
  if (in.is_object() && !fixed && !cathode)
    in.error("bias_v", "is missing: an output stage has bias_v or cathode_ohm, the pair's common resistor");
  p.bias = cathode && !fixed ? OutputBias::cathode : OutputBias::fixed;
  if (bias) p.bias_v = *bias;
  if (ohm && !fixed) p.cathode_ohm = *ohm;
}

/// What the pair does not do is told at the member that asks for it.
void settle(const Cursor& block, Design& design) {
  PairFigures figures;
  const Solved solved = follow_output_stage(design, figures);
  if (solved == Solved::yes) return;
  if (figures.rest.solved != Solved::yes)
    return block.error("this pair finds no rest point with these voltages");
  const auto watts = block.member("watts");
  const std::string most = figures.before_grids_conduct.solved == Solved::yes
                               ? "before its grids draw current it has " +
                                     engineering_text(figures.before_grids_conduct.power_w, "W")
                               : "it goes to " + engineering_text(figures.at_watts.power_w, "W");
  if (watts) watts->error("is more than this pair brings into this load, however it is driven: " + most);
  design.swing_peak_v = figures.at_watts.drive_peak_v[0];
}

}  // namespace

const std::string kFollowsFromOutputStage = "follows from output_stage and must be left out";

void read_output_stage(ObjectReader& in, const TubeLibrary& library, Design& design) {
  const auto member = in.find("output_stage");
  if (!member) return;
  if (outputs(design.circuit) < 2) return member->error(no_meaning_in(design.circuit));
  ObjectReader part(*member);
  OutputStage stage;
  OutputPair& p = stage.pair;
  const OutputValve* valve = read_valve(part, library);
  p.valve = {valve, valve};
  const bool triode = valve && !has_screen(valve->law->law);
  p.supply_v = part.required_number("supply_v", "the plates' supply, in V", kSupply).value_or(0);
  read_screens(part, triode, p);
  read_bias(part, p);
  stage.watts = part.required_number("watts", "what the load is to have, in W", kWatts).value_or(0);
  if (const auto m = part.require("transformer", "the output transformer and its load"))
    read_transformer(*m, p.transformer);
  const bool whole = valve && p.supply_v > 0 && stage.watts > 0 && p.transformer.plate_to_plate_ohm > 1 &&
                     (p.bias == OutputBias::cathode ? p.cathode_ohm > 0 : p.bias_v < 0) &&
                     (p.screens != ScreenConnection::supply || p.screen_v > 0);
  if (!whole) {
    design.swing_peak_v = 1;  // so that only what is wrong in the block is told
    stage.given = true;
    design.output_stage.given = true;
    return;
  }
  stage.given = true;
  design.output_stage = stage;
  settle(*member, design);
}

bool follows_from_output_stage(const DesignField& field, const Design& design) {
  if (!has_output_stage(design)) return false;
  const bool poles = &field == &member::feedback_low_hz || &field == &member::feedback_high_hz;
  return &field == &member::feedback_output_gain || &field == &member::feedback_output_impedance_ohm ||
         &field == &member::feedback_load_ohm ||
         (poles && has_reactances(design.output_stage.pair.transformer));
}

void feedback_of_output_stage(Design& design) {
  PairFigures figures;
  if (design.output_stage.pair.valve[0] && design.feedback.given) follow_output_stage(design, figures);
}

}  // namespace antiphase
