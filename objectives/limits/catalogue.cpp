#include "objectives/limits/catalogue.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "objectives/limits/cathode.h"
#include "objectives/limits/grid.h"
#include "objectives/limits/parts.h"
#include "objectives/limits/plate.h"

namespace antiphase {
namespace {

constexpr std::array kLimits{
    kHeaterToCathodePositive,
    kHeaterToCathodePositiveDc,
    kHeaterToCathodeNegative,
    kPlateDissipation,
    kPlatesTotalDissipation,
    kPlateVoltage,
    kPlateVoltagePeak,
    kColdPlateVoltage,
    kCathodeCurrent,
    kGridAtRest,
    kGridAtTarget,
    kGridCold,
    kGridLeak,
    kLoadLeak,
    kTailCompliance,
};

template <class Use>
void for_each_check(const Design& design, const Evaluation& evaluation, const DesignFactors& factors,
                    Use&& use) {
  for (const Limit& limit : kLimits) {
    const int count = limit.per_section ? sections(design.circuit) : 1;
    for (int i = 0; i < count; ++i)
      if (std::optional<LimitResult> r = limit.check(design, evaluation, factors, i)) {
        r->name = limit.name;
        r->label = limit.label;
        r->unit = limit.unit;
        r->remedy = limit.remedy;
        r->section = limit.per_section ? i + 1 : 0;
        use(*r);
      }
  }
}

}  // namespace

std::span<const Limit> limits() {
  return kLimits;
}

const Limit* find_limit(std::string_view name) {
  const auto it =
      std::find_if(kLimits.begin(), kLimits.end(), [&](const Limit& l) { return l.name == name; });
  return it == kLimits.end() ? nullptr : &*it;
}

std::vector<LimitResult> check_limits(const Design& design, const Evaluation& evaluation,
                                      const DesignFactors& factors) {
  std::vector<LimitResult> all;
  for_each_check(design, evaluation, factors, [&](const LimitResult& r) { all.push_back(r); });
  return all;
}

double excess(const LimitResult& r) {
  if (r.kept) return 0;
  if (!r.known) return 1;               // by its whole amount
  constexpr double kSmallestScale = 1;  // limits at or near zero are judged in their own unit
  const double scale = r.limit != 0 ? std::fabs(r.limit) : kSmallestScale;
  const double over = (r.at_least ? r.limit - r.value : r.value - r.limit) / scale;
  return over > 1e-12 ? over : 1e-12;  // a broken limit always counts
}

double total_violation(const Design& design, const Evaluation& evaluation, const DesignFactors& factors) {
  double sum = 0;
  for_each_check(design, evaluation, factors, [&](const LimitResult& r) { sum += excess(r); });
  return sum;
}

bool kept_so_far(const Design& design, const Evaluation& evaluation, const DesignFactors& factors,
                 Depth solved) {
  for (const Limit& limit : kLimits) {
    if (limit.needs > solved) continue;
    const int count = limit.per_section ? sections(design.circuit) : 1;
    for (int i = 0; i < count; ++i) {
      const std::optional<LimitResult> r = limit.check(design, evaluation, factors, i);
      if (r && !r->kept) return false;
    }
  }
  return true;
}

}  // namespace antiphase
