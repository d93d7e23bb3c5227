#include "objectives/builds/select_on_test.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "stagemodels/circuits/circuit.h"

namespace antiphase {
namespace {

/// Resistors that set the balance: the load of output 2, a tail resistor, and what drives a second grid.
bool sets_balance(const Circuit& c, const Element& e) {
  if (e.kind != ElementKind::resistor || !e.member || e.member->role != FieldRole::resistor) return false;
  if (e.role == Role::tail || e.role == Role::cathode_load || e.role == Role::divider) return true;
  if (e.role != Role::plate_load) return false;
  return std::any_of(c.begin(), c.end(), [&](const Element& coupling) {
    return coupling.role == Role::output_coupling && coupling.b == c.output[1].node &&
           (coupling.a == e.a || coupling.a == e.b);
  });
}

}  // namespace

std::vector<const DesignField*> parts_to_select(const Design& d) {
  std::vector<const DesignField*> parts;
  const Circuit& c = circuit_of(d);
  if (c.outputs < 2) return parts;
  for (const Element& e : c)
    if (e.stands(d) && sets_balance(c, e)) parts.push_back(e.member);
  return parts;
}

BalanceRecipe balance_recipe(const Design& design, const DesignField& part) {
  constexpr double kStep = 0.02, kLeastPctPerStep = 1e-3;
  const auto balance_at = [&](double factor) -> std::optional<double> {
    Design d = design;
    part.at(d) *= factor;
    Evaluation e;
    evaluate(d, Depth::at_target, e);
    if (e.at_target.solved != Solved::yes) return std::nullopt;
    return e.at_target.balance_pct;
  };
  const auto low = balance_at(1 - kStep), high = balance_at(1 + kStep);
  BalanceRecipe r;
  if (!low || !high || std::abs(*high - *low) < kLeastPctPerStep) return r;
  r.known = true;
  r.change_per_pct = -2 * kStep * part.value(design) / (*high - *low);
  constexpr double kHalfTarget = 0.5, kAtTheJoint = 0.5;
  r.reading_v_rms_per_pct = 0.01 * kHalfTarget * kAtTheJoint * design.swing_peak_v / std::numbers::sqrt2;
  return r;
}

PlatesTell plates_tell(const std::vector<SelectedBuild>& builds) {
  double n = 0, x = 0, y = 0, xx = 0, xy = 0, yy = 0;
  for (const SelectedBuild& b : builds) {
    if (!b.known || !b.balanced) continue;
    const double volt = b.plate_difference_v, change = b.value - b.as_built;
    n += 1;
    x += volt;
    y += change;
    xx += volt * volt;
    xy += volt * change;
    yy += change * change;
  }
  PlatesTell tell;
  constexpr double kFewest = 10;
  if (n < kFewest) return tell;
  const double sxx = xx - x * x / n, sxy = xy - x * y / n, syy = yy - y * y / n;
  if (!(sxx > 0) || !(syy > 0)) return tell;
  tell.change_per_v = sxy / sxx;
  tell.share = std::clamp(sxy * sxy / (sxx * syy), 0.0, 1.0);
  return tell;
}

SelectedBuild select_on_test(const BuildModel& model, const Demands& demands,
                             const engine::SobolPoints& points, std::uint32_t number, const DesignField& part,
                             const BalanceRecipe& recipe) {
  const Depth depth = std::max(Depth::full, needed_depth(demands));
  std::array<double, engine::SobolPoints::kMostDimensions> unit{};
  model.draw(points, number, unit);
  Design d = model.build({unit.data(), model.varied().size()});
  const double as_built = part.value(d);
  SelectedBuild out;
  Evaluation e;
  evaluate(d, depth, e);
  out.plain_kept = build_keeps(demands, d, e);
  out.value = out.as_built = as_built;
  if (e.at_target.solved != Solved::yes) return out;
  out.known = true;
  out.before_pct = out.after_pct = e.at_target.balance_pct;
  out.plate_difference_v = e.operating_point.plate_v[0] - e.operating_point.plate_v[1];
  const auto balance_at = [&](double factor, double& pct) {
    part.at(d) = as_built * factor;
    evaluate(d, Depth::at_target, e);
    if (e.at_target.solved != Solved::yes) return false;
    pct = e.at_target.balance_pct;
    return true;
  };
  constexpr double kLeast = 0.5, kMost = 2;
  if (recipe.known) {
    const double factor = std::clamp(1 + recipe.change_per_pct * out.before_pct / as_built, kLeast, kMost);
    double pct = 0;
    if (balance_at(factor, pct)) out.one_step_pct = pct;
  }
  double f0 = 1, b0 = out.before_pct, f1 = 1.03, b1 = 0, best = 1, least = std::abs(b0);
  for (int step = 0; step < 10 && least > kBalanced_pct; ++step) {
    if (!balance_at(f1, b1)) break;
    if (std::abs(b1) < least) {
      least = std::abs(b1);
      best = f1;
      out.after_pct = b1;
    }
    if (b1 == b0 || f1 == f0) break;
    const double next = std::clamp(f1 - b1 * (f1 - f0) / (b1 - b0), kLeast, kMost);
    f0 = f1;
    b0 = b1;
    f1 = next;
  }
  out.balanced = least <= kBalanced_pct;
  out.value = as_built * best;
  part.at(d) = out.value;
  evaluate(d, depth, e);
  out.kept = build_keeps(demands, d, e);
  return out;
}

}  // namespace antiphase
