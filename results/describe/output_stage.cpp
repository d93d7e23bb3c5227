#include "results/describe/output_stage.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "results/describe/missing_reason.h"
#include "results/describe/values.h"
#include "results/text/write_quantity.h"
#include "stagemodels/output/transformer_response.h"

namespace antiphase {
namespace {

using States = std::array<const PairState*, 3>;

double higher(const Pair& p) {
  return std::max(p[0], p[1]);
}

/// One cell for each state; "-" where it has no figures.
template <class Value>
void add(ValueTable& table, const std::string& label, std::string_view unit, const States& states,
         Value value) {
  std::vector<std::string> row{label};
  for (const PairState* s : states)
    row.push_back(s->solved == Solved::yes ? engineering_text(value(*s), unit) : "-");
  table.rows.push_back(std::move(row));
}

void add_states(ValueTable& table, const OutputPair& pair, const States& states) {
  const bool screens = pair.screens != ScreenConnection::triode;
  const auto of = [](const Pair PairState::*figure, std::size_t j) {
    return [figure, j](const PairState& s) { return (s.*figure)[j]; };
  };
  add(table, "drive at grid 1, peak", "V", states, of(&PairState::drive_peak_v, 0));
  add(table, "drive at grid 2, peak", "V", states, of(&PairState::drive_peak_v, 1));
  add(table, "power in the load", "W", states, [](const PairState& s) { return s.power_w; });
  add(table, "distortion at the load", "%", states,
      [](const PairState& s) { return without_rounding(s.thd_pct, 1e-6); });
  add(table, "second harmonic", "%", states,
      [](const PairState& s) { return without_rounding(std::fabs(s.harmonic_pct(2)), 1e-6); });
  add(table, "third harmonic", "%", states, [](const PairState& s) { return std::fabs(s.harmonic_pct(3)); });
  add(table, "grid to cathode, highest", "V", states,
      [](const PairState& s) { return higher(s.grid_to_cathode_peak_v); });
  add(table, "plate current, both, mean", "A", states,
      [](const PairState& s) { return s.plate_current_mean_a[0] + s.plate_current_mean_a[1]; });
  if (screens)
    add(table, "screen current, both, mean", "A", states,
        [](const PairState& s) { return s.screen_current_mean_a[0] + s.screen_current_mean_a[1]; });
  add(table, "plate dissipation, the higher", "W", states,
      [](const PairState& s) { return higher(s.powers.plate_w); });
  if (screens)
    add(table, "screen dissipation, the higher", "W", states,
        [](const PairState& s) { return higher(s.powers.screen_w); });
}

std::string rest_sentence(const OutputPair& pair, const PairRest& rest) {
  std::string text = "At rest each plate carries " + engineering_text(rest.plate_current_a[0], "A") +
                     " and dissipates " + engineering_text(rest.plate_w[0], "W");
  if (pair.screens != ScreenConnection::triode)
    text += ", each screen " + engineering_text(rest.screen_w[0], "W");
  if (pair.bias == OutputBias::cathode)
    text += "; the cathodes stand at " + engineering_text(rest.cathode_v, "V");
  return text + ". From each grid to the load the gain is " + engineering_text(rest.gain, "1") +
         ", and the load sees " + engineering_text(rest.output_impedance_ohm, "ohm") + " without feedback.";
}

std::string class_sentence(const PairFigures& f) {
  const bool cuts_off = f.class_a_end.solved == Solved::yes,
             conducts = f.before_grids_conduct.solved == Solved::yes;
  if (!cuts_off || (conducts && f.class_a_end.drive_peak_v[0] > f.before_grids_conduct.drive_peak_v[0]))
    return "No valve is cut off before the grids conduct: its plate current stays above 1 % of that at rest.";
  return "Up to " + engineering_text(f.class_a_end.power_w, "W") +
         " no valve is cut off; from there on the plate current falls below 1 % of that at rest.";
}

std::string band_sentence(const Record& r) {
  const OutputTransformer& t = r.design.output_stage.pair.transformer;
  if (!has_reactances(t)) return "";
  const double impedance = r.evaluation.output_stage.pair.rest.output_impedance_ohm;
  const TransformerBand band = band_of(TransformerResponse(t, plates_ohm(t, impedance)));
  const auto corner = [](const std::optional<double>& hz) {
    return hz ? engineering_text(*hz, "Hz") : "no corner";
  };
  std::string text = "With its transformer the output stage is 3 dB down at " + corner(band.low_hz) +
                     " and " + corner(band.high_hz) + ", before feedback";
  if (band.peak_db >= 0.05)
    text += ", and rises by " + engineering_text(band.peak_db, "dB", 2) + " at " +
            engineering_text(band.peak_hz, "Hz");
  return text + ".";
}

std::string closed_sentence(const Record& r) {
  if (!has_feedback(r.design)) return "";
  const OutputStageFigures::Closed& c = r.evaluation.output_stage.closed;
  if (c.solved == Solved::not_run) return "";
  if (c.solved != Solved::yes)
    return "The whole amplifier with its feedback could not be solved at these watts: " +
           std::string(reason(c.solved)) + ".";
  return "With feedback the whole amplifier has " + percent_text(c.thd_pct) + " % at the load at " +
         engineering_text(c.power_w, "W") + ", solved around the loop; without it " +
         percent_text(c.open_thd_pct) + " %, which over 1 + T would be " + percent_text(c.predicted_thd_pct) +
         " %. The source then has " + engineering_text(c.source_v_rms, "V") + " rms.";
}

std::string name_of_pair(const OutputStage& o) {
  const OutputPair& p = o.pair;
  std::string text = p.valve[0]->name + " at " + engineering_text(p.supply_v, "V");
  if (p.screens == ScreenConnection::supply) text += ", screens at " + engineering_text(p.screen_v, "V");
  if (p.screens == ScreenConnection::ultralinear) text += ", screens on taps";
  if (p.screens == ScreenConnection::triode && has_screen(p.valve[0]->law->law)) text += ", as triodes";
  return text;
}

}  // namespace

std::string full_power_in_words(const Record& r) {
  if (!has_output_stage(r.design)) return "";
  const OutputStageFigures& f = r.evaluation.output_stage;
  if (f.pair.rest.solved != Solved::yes) return "";
  const std::string wanted = engineering_text(r.design.output_stage.watts, "W");
  if (f.driven.solved != Solved::yes)
    return "This driver does not bring the pair to " + wanted + ": " +
           std::string(reason(missing_reason(f.driven.solved, r.evaluation))) + ".";
  constexpr double kFull = 0.98;  // a tenth of a decibel
  const bool full = f.driven.power_w >= kFull * r.design.output_stage.watts;
  const CleanSwing& clean = r.evaluation.clean;
  std::string text = full ? "This driver brings the pair to " + wanted
                          : "This driver does not quite bring the pair to " + wanted + " but to " +
                                engineering_text(f.driven.power_w, "W");
  text += " with " + percent_text(f.driven.thd_pct) + " % at the load";
  if (clean.solved == Solved::yes && clean.swing_peak_v > 0)
    text += "; its clean swing is " + signed_engineering_text(clean.headroom_db, "dB") +
            " against the drive needed";
  if (higher(f.driven.grid_current_peak_a) > 10 * GridDiode::kOnset_a)
    text +=
        "; the grids draw up to " + engineering_text(higher(f.driven.grid_current_peak_a), "A") + " from it";
  return text + ".";
}

ValueTable output_stage_table(const Record& r) {
  if (!has_output_stage(r.design)) return {};
  const OutputStageFigures& f = r.evaluation.output_stage;
  const OutputStage& o = r.design.output_stage;
  if (f.pair.rest.solved == Solved::not_run) return {};
  ValueTable table;
  table.caption = "Output stage: a pair of " + name_of_pair(o) + ", " +
                  engineering_text(o.pair.transformer.plate_to_plate_ohm, "ohm") +
                  " from plate to plate for " + engineering_text(o.pair.transformer.load_ohm, "ohm") +
                  ": driven ideally for " + engineering_text(o.watts, "W") +
                  ", by this stage, and to where the grids begin to draw current";
  if (f.pair.rest.solved != Solved::yes) {
    table.notes = {"The pair could not be solved: " + std::string(reason(f.pair.rest.solved)) + "."};
    return table;
  }
  table.columns = {"", "driven ideally", "by this stage", "grids conduct"};
  add_states(table, o.pair, {&f.pair.at_watts, &f.driven, &f.pair.before_grids_conduct});
  for (const std::string& note : {full_power_in_words(r), rest_sentence(o.pair, f.pair.rest),
                                  class_sentence(f.pair), band_sentence(r), closed_sentence(r)})
    if (!note.empty()) table.notes.push_back(note);
  table.notes.push_back(
      "The valves' currents are a law that was fitted to a few printed working points: power is off by some "
      "7 %, at worst by a quarter, in published pairs, and distortion by more.");
  return table;
}

}  // namespace antiphase
