#include "stagemodels/tubes/fit_data.h"

#include <algorithm>
#include <cmath>

namespace antiphase {
namespace {

/// How near a law is expected to come, one standard deviation. Currents within 4 % where stages work;
/// readings at a small part of the typical current are worth less (a floor), and so are those above it,
/// where only the peaks of the signal reach.
constexpr double kCurrentShare = 0.04;
constexpr double kFloorShare = 0.1;   // of the typical current
constexpr double kSlopeShare = 0.06;  // gm, mu, rp: curves give slopes less well than currents
/// One published number has as much say as this share of all curve readings.
constexpr double kPublishedSay = 0.15;

}  // namespace

double typical_current_a(std::span<const PublishedPoint> points, std::span<const CurvePoint> curve) {
  double typical = 0;
  for (const PublishedPoint& p : points) typical = std::max(typical, p.plate_current_a.value_or(0));
  if (typical > 0) return typical;
  for (const CurvePoint& p : curve) typical = std::max(typical, p.plate_current_a / 2);
  return typical;
}

std::vector<FitObservation> observations_of(std::span<const CurvePoint> curve, double typical_a) {
  std::vector<FitObservation> observations;
  for (const CurvePoint& p : curve) {
    const double i = p.plate_current_a;
    if (!(i > 0)) continue;
    const double uncertainty = kCurrentShare * (i + kFloorShare * typical_a) * std::max(1.0, i / typical_a);
    observations.push_back({Characteristic::plate_current, p.plate_v, p.grid_v, 0, i, uncertainty});
  }
  return observations;
}

std::vector<FitObservation> observations_of(std::span<const PublishedPoint> points, int curve_points) {
  std::vector<FitObservation> observations;
  const double narrower = 1 / std::sqrt(std::max(1.0, kPublishedSay * curve_points));
  for (const PublishedPoint& p : points) {
    const std::optional<double> grid_v = grid_voltage_of(p);
    const double at_a = p.plate_current_a.value_or(0);
    const auto add = [&](Characteristic what, const std::optional<double>& value, double share) {
      if (!value || (!grid_v && !(at_a > 0))) return;
      observations.push_back({what, p.plate_v, grid_v, at_a, *value, share * narrower * *value});
    };
    if (grid_v) add(Characteristic::plate_current, p.plate_current_a, kCurrentShare);
    add(Characteristic::gm, p.gm_s, kSlopeShare);
    add(Characteristic::mu, p.mu, kSlopeShare);
    add(Characteristic::rp, p.rp_ohm, kSlopeShare);
  }
  return observations;
}

std::vector<FitObservation> observations_of(std::span<const PublishedPoint> points,
                                            std::span<const CurvePoint> curve) {
  std::vector<FitObservation> all = observations_of(curve, typical_current_a(points, curve));
  const std::vector<FitObservation> published = observations_of(points, static_cast<int>(all.size()));
  all.insert(all.end(), published.begin(), published.end());
  return all;
}

std::optional<double> grid_voltage_of(const PublishedPoint& p) {
  if (p.grid_v) return p.grid_v;
  if (p.cathode_ohm && p.plate_current_a) return -*p.cathode_ohm * *p.plate_current_a;
  return std::nullopt;
}

}  // namespace antiphase
