#include "objectives/builds/select_on_test.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace antiphase {
std::vector<const DesignField*> parts_to_select(const Design& d) {
  std::vector<const DesignField*> parts;
  if (sections(d.circuit) < 2) return parts;
  for (const std::string_view pointer : {"/plate_ohm/1", "/tail/ohm"})
    if (const DesignField* f = find_design_field(pointer); f && f->applies(d)) parts.push_back(f);
  return parts;
}

SelectedBuild select_on_test(const BuildModel& model, const Demands& demands,
                             const engine::SobolPoints& points, std::uint32_t number,
                             const DesignField& part) {
  const Depth depth = std::max(Depth::full, needed_depth(demands));
  std::array<double, engine::SobolPoints::kMostDimensions> unit{};
  model.draw(points, number, unit);
  Design d = model.build({unit.data(), model.varied().size()});
  const double as_built = part.value(d);
  SelectedBuild out;
  Evaluation e;
  evaluate(d, depth, e);
  out.plain_kept = build_keeps(demands, d, e);
  out.value = as_built;
  if (e.at_target.solved != Solved::yes) return out;
  out.known = true;
  out.before_pct = out.after_pct = e.at_target.balance_pct;
  const auto balance_at = [&](double factor, double& pct) {
    part.at(d) = as_built * factor;
    evaluate(d, Depth::at_target, e);
    if (e.at_target.solved != Solved::yes) return false;
    pct = e.at_target.balance_pct;
    return true;
  };
  constexpr double kLeast = 0.5, kMost = 2;
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
