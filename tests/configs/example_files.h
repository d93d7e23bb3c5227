/// A card, designs and briefs that tests change one member of, and the library they refer to.
#pragma once

#include <algorithm>
#include <nlohmann/json.hpp>
#include <string>

#include "configs/tube_library.h"
#include "stagemodels/circuits/catalogue.h"

namespace antiphase::test {

using Json = nlohmann::json;

/// The catalogue's names as a message gives a choice: "a", "b" or "c".
inline std::string every_circuit() {
  std::string text;
  for (std::size_t n = 0; n < circuits().size(); ++n)
    text += (n == 0                       ? ""
             : n + 1 == circuits().size() ? " or "
                                          : ", ") +
            ("\"" + std::string(circuits()[n].name) + "\"");
  return text;
}

/// The same for briefs, which may leave it open.
inline std::string every_circuit_or_any() {
  std::string text = every_circuit();
  text.replace(text.rfind(" or "), 4, ", ");
  return text + " or \"any\"";
}

/// Numbers made up for these tests; every member that a card can have.
inline Json whole_card() {
  return Json::parse(R"({
    "$schema": "../schema/tube.schema.json",
    "tube": "12AX7",
    "also_known_as": ["ECC83", "7025"],
    "sections": 2,
    "base": {"socket": "noval", "basing": "9A",
             "pins": ["plate 2", "grid 2", "cathode 2", "heater", "heater", "plate 1", "grid 1", "cathode 1", "heater tap"],
             "source": "made up"},
    "ratings": {
      "plate_v_max": {"value": 300, "source": "made up"},
      "plate_cold_v_max": {"value": "550 V", "source": "made up"},
      "plate_w_max": {"value": 1, "source": "made up"},
      "plates_total_w_max": {"value": 2, "source": "made up"},
      "cathode_current_a_max": {"value": "8m", "source": "made up"},
      "grid_v_negative_max": {"value": 50, "source": "made up"},
      "heater_cathode_v_max": {
        "cathode_positive": {"value": 180, "source": "made up"},
        "cathode_negative": {"value": 180, "source": "made up"},
        "cathode_positive_dc": {"value": 100, "source": "made up"}
      },
      "grid_leak_ohm_max": {
        "fixed_bias": {"value": "1M", "source": "made up"},
        "self_bias": {"value": "2.2M", "source": "made up"}
      }
    },
    "heater": {"volt_v": 6.3, "current_a": "300mA", "source": "made up"},
    "capacitance_f": {"grid_plate": "1.7p", "grid_cathode": "1.6 pF", "plate_cathode": 4.6e-13, "source": "made up"},
    "grid_conduction_v": {"value": -0.6, "source": "made up"},
    "grid_current": {"series_ohm": "1k5", "slope_v": "88m", "source": "made up"},
    "spread_pct": {"plate_current": "30 %", "source": "made up"},
    "models": [
      {"form": "koren_1996", "mu": 100, "ex": 1.4, "kg1": 1060, "kp": 600, "kvb": 300, "vct": 0.1, "source": "made up"},
      {"form": "dempwolf_zoelzer_2011", "g": 2.242e-3, "mu": 103.2, "gamma": 1.26, "c": 3.4, "gg": 6.177e-4,
       "xi": 1.314, "cg": 9.901, "ig0": 8.025e-8, "source": "made up"},
      {"form": "child_langmuir", "k": 1e-3, "mu": 100, "offset_v": 0.2, "source": "made up"}
    ],
    "published_points": [
      {"plate_v": 250, "grid_v": -2, "plate_current_a": "1.2m", "gm_s": "1.6m", "mu": 100, "rp_ohm": "62.5k",
       "source": "made up"},
      {"plate_v": 100, "cathode_ohm": 270, "plate_current_a": 0.0037, "source": "made up"}
    ],
    "curves": ["../curves/a.csv"],
    "notes": "Nothing here is from a data sheet."
  })");
}

inline Json card_named(const std::string& name, const Json& aliases) {
  auto card = whole_card();
  card["tube"] = name;
  card["also_known_as"] = aliases;
  return card;
}

/// The same of an output valve.
inline Json whole_output_valve() {
  return Json::parse(R"({
    "$schema": "../schema/output_valve.schema.json",
    "output_valve": "EL34",
    "also_known_as": ["6CA7"],
    "grid_conduction_v": {"value": -0.7, "source": "made up"},
    "grid_current": {"series_ohm": "1k", "slope_v": 0.087, "source": "made up"},
    "grid_leak_ohm_max": {
      "fixed_bias": {"value": "500k", "source": "made up"},
      "self_bias": {"value": "700k", "source": "made up"}
    },
    "capacitance_f": {"grid_to_rest": "15p", "grid_plate": "1.1 pF", "source": "made up"},
    "input_f": {"value": "26p", "source": "made up"},
    "law": {
      "form": "space_current_pentode", "mu": 11, "ex": 1.35, "kg": 500, "kp": 40, "through": 0.01, "division": 8,
      "knee_v": "1 V", "source": "made up",
      "points": [
        {"plate_v": 250, "screen_v": 240, "grid_v": -12, "plate_current_a": "100m", "screen_current_a": "15m",
         "gm_s": "11m", "rp_ohm": "15k", "mu": 11, "source": "made up"},
        {"connection": "triode", "plate_v": 300, "grid_v": -20, "plate_current_a": 0.07, "source": "made up"}
      ]
    },
    "conditions": [
      {"connection": "pentode", "class": "AB1", "plate_v": 425, "screen_v": 400, "bias_v": "-38 V",
       "drive_grid_to_grid_peak_v": 76, "source": "made up"},
      {"connection": "triode", "plate_v": 400, "cathode_ohm": 220, "source": "made up"}
    ],
    "notes": "Nothing here is from a data sheet."
  })");
}

/// 12AX7 (ECC83, 7025), 12AU7 (ECC82), 6SN7GT; EL34 (6CA7) with one bias, EL84 with two and no capacitance,
/// 300B with none.
inline TubeLibrary example_library() {
  TubeLibrary library;
  for (const auto& card : {whole_card(), card_named("12AU7", {"ECC82"}), card_named("6SN7GT", Json::array())})
    library.add(std::get<Tube>(read_tube_text(card.dump(), "card")));
  auto two = whole_output_valve();
  two["output_valve"] = "EL84";
  two["also_known_as"] = Json::array();
  two.erase("input_f");
  two["conditions"].push_back(
      {{"connection", "pentode"}, {"plate_v", 300}, {"bias_v", -11}, {"source", "made up"}});
  auto none = two;
  none["output_valve"] = "300B";
  none.erase("conditions");
  for (const auto& card : {whole_output_valve(), two, none})
    library.add(std::get<OutputValve>(read_output_valve_text(card.dump(), "card")));
  return library;
}

inline Json self_biased_design() {
  return Json::parse(R"({
    "stage": "long_tailed_pair", "tube": "12AX7", "supply_v": 320, "plate_ohm": ["150k", "160k"],
    "bias": {"form": "self_biased", "ohm": "1.5k"}, "tail": {"form": "resistor", "ohm": "27k"},
    "load_ohm": "220k", "swing_peak_v": 32})");
}

/// Behind a dropping resistor, into a named output valve.
inline Json dropped_design() {
  return Json::parse(R"({
    "stage": "long_tailed_pair", "tube": "12AX7", "main_supply_v": 400, "dropping_ohm": "33k", "reservoir_f": "22u",
    "plate_ohm": ["150k", "160k"], "bias": {"form": "direct_coupled", "grid_v": 80, "grid_clamp": true},
    "tail": {"form": "resistor", "ohm": "68k"}, "load_ohm": "220k", "load_f": "26p",
    "output_valve": {"type": "EL34", "bias_v": -38}, "swing_peak_v": 32})");
}

inline Json gain_stage_design() {
  return Json::parse(R"({
    "stage": "common_cathode", "tube": "12AX7", "supply_v": 250, "plate_ohm": "100k", "cathode_ohm": "1.5k",
    "load_ohm": "1M", "swing_peak_v": 10})");
}

/// A gain stage that holds the grids of the pair behind it, with overall feedback.
inline Json chain_design() {
  return Json::parse(R"({
    "stage": "gain_and_splitter", "tube": "12AX7", "supply_v": 320, "plate_ohm": ["150k", "160k"],
    "bias": {"form": "direct_coupled"}, "tail": {"form": "resistor", "ohm": "68k"},
    "first_stage": {"tube": "12AX7", "coupling": "direct", "plate_ohm": "220k", "cathode_ohm": "1.5k",
                    "cathode_unbypassed_ohm": 100, "cathode_bypass_f": "47u"},
    "feedback": {"wanted_db": 8, "source_v_rms": 1, "output_gain": 0.4, "output_impedance_ohm": 6},
    "load_ohm": "220k", "swing_peak_v": 20})");
}

/// Only what a brief must have.
inline Json short_brief() {
  return Json::parse(R"({
    "stage": "long_tailed_pair", "tubes": ["12AX7"], "target": {"swing_peak_v": 25}, "load": {"ohm": "220k"},
    "variables": {"supply_v": 300, "plate_current_a": {"from": "0.5m", "to": "5m"},
                  "plate_ohm": {"from": "47k", "to": "220k"}}})");
}

/// `base` with an RFC 7396 merge patch: members are replaced, null removes one.
inline Json patched(Json base, const std::string& patch) {
  base.merge_patch(Json::parse(patch));
  return base;
}

/// Every member a brief can have.
inline Json whole_brief() {
  return patched(short_brief(), R"({
    "$schema": "../schema/brief.schema.json", "title": "All of it", "notes": ["one", "two"],
    "tubes": ["12AX7", "6sn7gt"],
    "target": {"swing_peak_v": null, "output_valve_bias_v": "-38 V", "drive_margin": 1.2},
    "load": {"ohm": "150k", "farad": "60 pF", "output_valve": "6ca7", "bias_v": -38},
    "main_supply_v": "420 V", "reservoir_f": "47u", "grid_clamp": false, "source_f": "50p", "input_coupling_f": "22n",
    "heater_v": 40, "source_ohm": "10k", "grid_leak_ohm": "470k", "clean_limit_pct": "1 %", "coupling_f": "100n",
    "grid_bypass_f": "1u", "rail_v": -60, "tail": {"output_ohm": "2M", "compliance_v": 5},
    "variables": {
      "supply_v": {"from": 300, "to": 400, "step": 10},
      "tail_fraction": {"from": 0.08, "to": 0.35},
      "plate_ohm": ["100k", "47k", "220k"],
      "plate_ohm_ratio": 1.1,
      "bias_form": ["self_biased", "negative_rail", "direct_coupled"], "tail_form": ["resistor", "constant_current"]
    },
    "parts": {"resistors": "e96", "capacitors": "E12", "tail_ohm": "E48", "dropping_ohm": "E12", "plate_2": "two_resistors"},
    "low_frequency_hz": "8 Hz",
    "objectives": [{"figure": "output_impedance_ohm", "weight": 3, "scale": "10k"}, {"figure": "balance_pct"}],
    "limits": [{"figure": "supply_current_a", "at_most": "12m"}, {"figure": "headroom_db", "at_least": "2 dB", "at_most": 20}],
    "design_factors": {"plate_dissipation": 0.8, "resistor_power": 0.6},
    "builds": {"rank_by": "percentile", "percentile": "90 %", "count": 500,
      "tolerances": {"resistor_pct": 5, "parts": "truncated_normal", "single": {"/plate_ohm/0": 1}}},
    "search": {"candidates": 25, "effort": "thorough", "seed": 18446744073709551615}
  })");
}

/// One change that makes a good file bad, and what has to be said about it.
struct BadFile {
  std::string patch;        ///< RFC 7396
  std::string pointer;      ///< of the error
  std::string description;  ///< part of the message
  bool schema_sees = true;  ///< false: beyond what a JSON Schema can express
};

/// "" if exactly one error stands at `pointer` with `says` in it; otherwise all that was reported.
inline std::string other_than(const InputErrors& errors, const std::string& pointer,
                              const std::string& description) {
  if (errors.list.size() == 1 && errors.list[0].pointer == pointer && errors.list[0].line > 0 &&
      errors.list[0].what.find(description) != std::string::npos)
    return "";
  return in_words(errors);
}

}  // namespace antiphase::test
