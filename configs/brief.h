/// A brief: the whole request of one search as plain data.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "objectives/builds/robust.h"
#include "objectives/demands.h"
#include "objectives/design_space.h"
#include "objectives/sensible.h"
#include "optimize/engine/passes.h"

namespace antiphase {

using engine::Effort;

struct Brief {
  std::string title;
  std::vector<std::string> notes;
  std::string digest;  ///< SHA-256 of the file's bytes, hexadecimal
  DesignSpace space;
  std::vector<std::string> circuits_left_out;  ///< by "any": a sentence for each, with the reason
  Demands demands;
  SensibleBounds sensible;  ///< within which named designs of the front and near misses are taken
  std::optional<double> output_valve_bias_v;  ///< as given; the swing follows from it
  /// As given: the cathode resistor of a pair of output valves, and the plate voltage where that alone does
  /// not tell which of the card's conditions is meant.
  std::optional<double> output_valve_cathode_ohm, output_valve_plate_v;
  const OutputValveCondition* output_valve_condition = nullptr;  ///< not owned; the swing follows from it
  double drive_margin = 1;
  bool load_f_from_card = false;        ///< the load's capacitance is the output valve's own
  std::optional<BuildsRequest> builds;  ///< how builds count in the ranking; empty: they do not
  /// Tubes of one's own that the search is one with: what their readings told, and what they leave open.
  std::vector<std::string> own_tubes_in_words;
  std::vector<Tolerances::Known> known_sections;
  std::string tolerances_file;          ///< of the builds, as it is called there; empty: none
  int candidates = 10;
  Effort effort = Effort::normal;
  std::uint64_t seed = 1;
};

}  // namespace antiphase
