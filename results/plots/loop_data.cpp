#include "results/plots/loop_data.h"

#include "results/describe/loop_gain.h"

namespace antiphase {
namespace {

void write_margin(JsonWriter& json, std::string_view name, const std::optional<double>& hz,
                  const std::optional<double>& margin) {
  if (!hz || !margin)
    json.null_member(name);
  else
    json.key(name).begin_array(true).value(*hz).value(*margin).end_array();
}

}  // namespace

void write_loop(JsonWriter& json, const Record& r) {
  if (!has_loop_gain(r)) {
    json.null_member("loop");
    return;
  }
  json.key("loop").begin_object().key("frequency_hz").begin_array(true);
  for (const FrequencyPoint& p : r.evaluation.frequency.curve) json.value(p.frequency_hz);
  json.end_array();
  json.key("gain_db").value(std::span<const double>(loop_gain_db(r)));
  json.key("phase_deg").value(std::span<const double>(loop_phase_deg(r)));
  const LoopMargins& m = r.evaluation.feedback.margins;
  write_margin(json, "gain_margin", m.gain_margin_hz, m.gain_margin_db);
  write_margin(json, "phase_margin", m.phase_margin_hz, m.phase_margin_deg);
  json.end_object();
}

}  // namespace antiphase
