#include "results/describe/tube_points.h"

#include <algorithm>
#include <cmath>

#include "stagemodels/tubes/fit.h"
#include "stagemodels/tubes/fit_data.h"

namespace antiphase {

std::vector<PublishedAgainstLaw> published_against(const Tube& tube, const TriodeLaw& law) {
  std::vector<PublishedAgainstLaw> rows;
  for (const PublishedPoint& p : tube.published_points) {
    const std::optional<double> grid_v = grid_voltage_of(p);
    const auto add = [&](const char* what, const char* unit, Characteristic which,
                         const std::optional<double>& value) {
      if (!value) return;
      PublishedAgainstLaw row;
      row.what = what;
      row.unit = unit;
      row.plate_v = p.plate_v;
      row.grid_v = grid_v;
      row.published = *value;
      row.source = p.source;
      FitObservation o;
      o.what = which;
      o.plate_v = p.plate_v;
      o.grid_v = grid_v;
      o.at_current_a = p.plate_current_a.value_or(0);
      o.value = *value;
      if (grid_v || (which != Characteristic::plate_current && o.at_current_a > 0))
        row.modelled = characteristic_of(law, o);
      if (row.modelled) row.error_pct = 100 * (*row.modelled / *value - 1);
      rows.push_back(std::move(row));
    };
    if (grid_v) add("plate current", "A", Characteristic::plate_current, p.plate_current_a);
    add("gm", "S", Characteristic::gm, p.gm_s);
    add("mu", "1", Characteristic::mu, p.mu);
    add("rp", "ohm", Characteristic::rp, p.rp_ohm);
  }
  return rows;
}

std::vector<PublishedAgainstLaw> published_against(const Pentode& pentode) {
  std::vector<PublishedAgainstLaw> rows;
  for (const OutputValvePoint& p : pentode.points) {
    const OutputValvePoint law = modelled(OutputLaw(pentode.law), p);
    const auto add = [&](const char* what, const char* unit, const std::optional<double>& published,
                         const std::optional<double>& by_law) {
      if (!published) return;
      PublishedAgainstLaw row;
      row.what = what;
      row.unit = unit;
      row.plate_v = p.plate_v;
      if (!p.as_triode) row.screen_v = p.screen_v;
      row.grid_v = p.grid_v;
      row.published = *published;
      row.source = p.source;
      row.modelled = by_law;
      row.error_pct = 100 * (*by_law / *published - 1);
      rows.push_back(std::move(row));
    };
    add(p.as_triode ? "current of both" : "plate current", "A", p.plate_current_a, law.plate_current_a);
    add("screen current", "A", p.screen_current_a, law.screen_current_a);
    add("gm", "S", p.gm_s, law.gm_s);
    add("mu", "1", p.mu, law.mu);
    add("rp", "ohm", p.rp_ohm, law.rp_ohm);
  }
  return rows;
}

const PublishedPoint* typical_point(const Tube& tube) {
  const PublishedPoint* best = nullptr;
  const auto rank = [](const PublishedPoint& p) {
    return std::pair(p.grid_v.has_value() || p.cathode_ohm.has_value(), *p.plate_current_a);
  };
  for (const PublishedPoint& p : tube.published_points)
    if (p.plate_current_a && p.mu && (!best || rank(p) > rank(*best))) best = &p;
  return best;
}

std::string form_of(const TriodeLaw& law) {
  return std::visit([](const auto& l) { return std::string(l.kForm); }, law);
}

std::optional<double> median_error_pct(const std::vector<PublishedAgainstLaw>& rows, std::string_view what) {
  std::vector<double> errors;
  for (const PublishedAgainstLaw& row : rows)
    if (row.what == what && row.error_pct) errors.push_back(std::fabs(*row.error_pct));
  if (errors.empty()) return std::nullopt;
  std::sort(errors.begin(), errors.end());
  const std::size_t n = errors.size();
  return n % 2 ? errors[n / 2] : 0.5 * (errors[n / 2 - 1] + errors[n / 2]);
}

std::vector<RatingRow> ratings_of(const Tube& tube) {
  std::vector<RatingRow> rows;
  const TubeRatings& r = tube.ratings;
  const auto add = [&](std::string_view key, std::string_view label, std::string_view unit,
                       const std::optional<Sourced>& rating) {
    if (rating) rows.push_back({key, label, unit, &*rating});
  };
  add("plate_v_max", "plate to cathode, working", "V", r.plate_v_max);
  add("plate_cold_v_max", "plate before warm-up", "V", r.plate_cold_v_max);
  add("plate_w_max", "plate dissipation, each", "W", r.plate_w_max);
  add("plates_total_w_max", "plate dissipation, both", "W", r.plates_total_w_max);
  add("cathode_current_a_max", "cathode current, DC", "A", r.cathode_current_a_max);
  add("grid_v_negative_max", "grid below cathode", "V", r.grid_v_negative_max);
  add("heater_cathode_v_max_cathode_positive", "cathode above heater, peak", "V",
      r.heater_cathode_v_max_cathode_positive);
  add("heater_cathode_v_max_cathode_positive_dc", "cathode above heater, DC", "V",
      r.heater_cathode_v_max_cathode_positive_dc);
  add("heater_cathode_v_max_cathode_negative", "cathode below heater, peak", "V",
      r.heater_cathode_v_max_cathode_negative);
  if (tube.pentode.given) {
    add("screen_v_max", "screen to cathode, working", "V", tube.pentode.screen_v_max);
    add("screen_cold_v_max", "screen before warm-up", "V", tube.pentode.screen_cold_v_max);
    add("screen_w_max", "screen dissipation", "W", tube.pentode.screen_w_max);
  }
  add("grid_leak_ohm_max_fixed_bias", "grid leak, fixed bias", "ohm", r.grid_leak_ohm_max_fixed_bias);
  add("grid_leak_ohm_max_self_bias", "grid leak, cathode bias", "ohm", r.grid_leak_ohm_max_self_bias);
  return rows;
}

}  // namespace antiphase
