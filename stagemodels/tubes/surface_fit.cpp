#include "stagemodels/tubes/surface_fit.h"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <vector>

namespace antiphase {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;
constexpr int NP = MeasuredSurface::kAlongCurrent, NQ = MeasuredSurface::kAlongPlate;
// The three coefficients at each end of an axis are one number.
constexpr int kFreeP = NP - 4, kFreeQ = NQ - 4, kFree = kFreeP * kFreeQ;

// How well printed curves are read: a line's width of the whole scale, and where on a steep line.
constexpr double kReadOfWhole = 0.0025, kReadShare = 0.015;

int free_along(int n, int count) {
  return std::clamp(n - 2, 0, count - 5);
}
int free_index(int ip, int iq) {
  return free_along(iq, NQ) * kFreeP + free_along(ip, NP);
}

struct Reading {
  double p, q;         // in knots
  double log_ratio;    // of the reading over the base
  double uncertainty;  // of it
};

VectorXd row_of(const Reading& r) {
  VectorXd row = VectorXd::Zero(kFree);
  const int ip = std::clamp(static_cast<int>(r.p), 0, NP - 4),
            iq = std::clamp(static_cast<int>(r.q), 0, NQ - 4);
  const CubicBasis bp = cubic_basis(r.p - ip), bq = cubic_basis(r.q - iq);
  for (int n = 0; n < 4; ++n)
    for (int m = 0; m < 4; ++m) row[free_index(ip + m, iq + n)] += bq.value[n] * bp.value[m];
  return row;
}

/// Squared second differences along both axes, and a trace of the size itself so that what no reading
/// touches stays with the base.
MatrixXd roughness() {
  MatrixXd sum = MatrixXd::Zero(kFree, kFree);
  const auto add = [&](int a, int b, int c) {
    VectorXd row = VectorXd::Zero(kFree);
    row[a] += 1;
    row[b] -= 2;
    row[c] += 1;
    sum += row * row.transpose();
  };
  for (int iq = 0; iq < kFreeQ; ++iq)
    for (int ip = 0; ip < kFreeP; ++ip) {
      const int at = iq * kFreeP + ip;
      if (ip + 2 < kFreeP) add(at, at + 1, at + 2);
      if (iq + 2 < kFreeQ) add(at, at + kFreeP, at + 2 * kFreeP);
    }
  constexpr double kTrace = 1e-3;
  return sum + kTrace * MatrixXd::Identity(kFree, kFree);
}

void set_coefficients(const VectorXd& free, MeasuredSurface& law) {
  for (int iq = 0; iq < NQ; ++iq)
    for (int ip = 0; ip < NP; ++ip) law.log_ratio[iq * NP + ip] = free[free_index(ip, iq)];
}

/// Looks at both slopes wherever currents can be measured: from a microampere or so up to grids driven far
/// positive, and plates beyond the readings.
bool rises_everywhere(const MeasuredSurface& law) {
  constexpr double kBeyond = 2, kPlateStep = 1.1, kMostGrid_v = 15;
  const double top_v = MeasuredSurface::kPlate_v * std::exp(law.plate_low + law.plate_step * (NQ - 3));
  for (double va = 0.5; va < kBeyond * top_v; va *= kPlateStep)
    for (double vg = kMostGrid_v; vg > -1.5 * va / law.mu - 2; vg -= 0.02 * va / law.mu + 0.1) {
      TriodeRows rows;
      law.currents(&vg, &va, 1, rows);
      if (rows.plate_a[0] < 1e-9) continue;
      if (!(rows.plate_per_grid_s[0] > 0) || !(rows.plate_per_plate_s[0] >= 0)) return false;
    }
  return true;
}

}  // namespace

SurfaceFit fit_surface(const Koren1996& base, std::span<const FitObservation> observations) {
  SurfaceFit out;
  static_cast<Koren1996&>(out.law) = base;
  struct Known {
    double log_base, log_plate, log_ratio, uncertainty, current;
  };
  std::vector<Known> known;
  for (const FitObservation& o : observations) {
    if (o.what != Characteristic::plate_current || !o.grid_v) continue;
    const double at_base = currents_at(TriodeLaw(base), *o.grid_v, o.plate_v).plate_a;
    if (!(at_base > 1e-9)) continue;
    known.push_back({std::log(at_base), std::log(o.plate_v / MeasuredSurface::kPlate_v),
                     std::log(o.value / at_base), 0, o.value});
  }
  double largest_a = 0;
  for (const Known& k : known) largest_a = std::max(largest_a, k.current);
  for (Known& k : known) k.uncertainty = std::hypot(kReadShare, kReadOfWhole * largest_a / k.current);
  if (static_cast<int>(known.size()) < SurfaceFit::kLeastPoints) return out;
  // One knot of room beyond the readings on every side.
  const auto [low_i, high_i] = std::minmax_element(
      known.begin(), known.end(), [](const Known& a, const Known& b) { return a.log_base < b.log_base; });
  const auto [low_v, high_v] = std::minmax_element(
      known.begin(), known.end(), [](const Known& a, const Known& b) { return a.log_plate < b.log_plate; });
  MeasuredSurface& law = out.law;
  law.reference_a = std::exp(high_i->log_base);
  law.current_step = (high_i->log_base - low_i->log_base) / (NP - 5);
  law.current_low = low_i->log_base - high_i->log_base - law.current_step;
  law.plate_step = (high_v->log_plate - low_v->log_plate) / (NQ - 5);
  law.plate_low = low_v->log_plate - law.plate_step;

  MatrixXd data = MatrixXd::Zero(kFree, kFree);
  VectorXd target = VectorXd::Zero(kFree);
  std::vector<VectorXd> rows;
  for (const Known& k : known) {
    const Reading r{(k.log_base - std::log(law.reference_a) - law.current_low) / law.current_step,
                    (k.log_plate - law.plate_low) / law.plate_step, k.log_ratio, k.uncertainty};
    rows.push_back(row_of(r));
    const double w = 1 / (k.uncertainty * k.uncertainty);
    data += w * rows.back() * rows.back().transpose();
    target += w * k.log_ratio * rows.back();
  }
  const MatrixXd rough = roughness();
  // From stiff to loose: the first that meets the readings as well as they were read and rises everywhere.
  constexpr double kStiffest = 1e7, kLoosest = 1, kRatio = 2;
  for (double smoothing = kStiffest; smoothing >= kLoosest; smoothing /= kRatio) {
    const Eigen::LDLT<MatrixXd> factors(data + smoothing * rough);
    const VectorXd free = factors.solve(target);
    MeasuredSurface trial = law;
    set_coefficients(free, trial);
    if (!rises_everywhere(trial)) {
      if (out.fitted) break;
      continue;
    }
    double sum = 0;
    for (std::size_t n = 0; n < known.size(); ++n) {
      const double off = (rows[n].dot(free) - known[n].log_ratio) / known[n].uncertainty;
      sum += off * off;
    }
    law = trial;
    out.parameters = factors.solve(data).trace();
    out.fitted = out.rises = true;
    out.smoothing = smoothing;
    out.rms_share = std::sqrt(sum / static_cast<double>(known.size()));
    if (out.rms_share <= 1) break;
  }
  return out;
}

}  // namespace antiphase
