#include "objectives/limits/catalogue.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "objectives/limits/cathode.h"
#include "objectives/limits/grid.h"
#include "objectives/limits/parts.h"
#include "objectives/limits/plate.h"
#include "objectives/limits/screen.h"

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
    kScreenDissipation,
    kScreenVoltage,
    kColdScreenVoltage,
    kCathodeCurrent,
    kGridAtRest,
    kGridAtTarget,
    kGridCold,
    kGridLeak,
    kLoadLeak,
    kTailCompliance,
    kSourceCompliance,
    kCutOff,
    kRestCurrent,
};

static_assert(kLimits.size() <= 32, "DesignFactors::left_out has a bit for each");

std::uint32_t bit_of(const Limit& limit) {
  return 1U << (&limit - kLimits.data());
}

/// Goes on while `use` returns true. Those of other stages than the splitter come last.
template <class Use>
bool for_each_check(const Design& design, const Evaluation& evaluation, const DesignFactors& factors,
                    Depth solved, Use&& use) {
  const auto check = [&](const Limit& limit, int section) {
    std::optional<LimitResult> r = limit.check(design, evaluation, factors, section);
    if (!r) return true;
    r->name = limit.name;
    r->label = limit.label;
    r->unit = limit.unit;
    r->remedy = limit.remedy;
    r->section = limit.per_section ? section_number(section) : 0;
    if (!r->kept && outside_as_given(limit, factors)) r->kept = r->outside_as_given = true;
    return use(*r);
  };
  for (const Limit& limit : kLimits) {
    if (limit.needs > solved || left_out(limit, factors)) continue;
    if (!limit.per_section) {
      if (!check(limit, 0)) return false;
      continue;
    }
    for (int s = 0; s < kSplitterSections && has_section(design, s); ++s)
      if (!check(limit, s)) return false;
  }
  for (int s = kSplitterSections; s < Circuit::kMostSections; ++s) {
    if (!has_section(design, s)) continue;
    for (const Limit& limit : kLimits)
      if (limit.per_section && limit.needs <= solved && !left_out(limit, factors) && !check(limit, s))
        return false;
  }
  return true;
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

bool left_out(const Limit& limit, const DesignFactors& factors) {
  return (factors.left_out & bit_of(limit)) != 0;
}

void leave_out(const Limit& limit, DesignFactors& factors) {
  factors.left_out |= bit_of(limit);
}

bool outside_as_given(const Limit& limit, const DesignFactors& factors) {
  return (factors.outside_as_given & bit_of(limit)) != 0;
}

void take_as_given(const Limit& limit, DesignFactors& factors) {
  factors.outside_as_given |= bit_of(limit);
}

std::vector<LimitResult> check_limits(const Design& design, const Evaluation& evaluation,
                                      const DesignFactors& factors) {
  std::vector<LimitResult> all;
  for_each_check(design, evaluation, factors, Depth::everything, [&](const LimitResult& r) {
    all.push_back(r);
    return true;
  });
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
  for_each_check(design, evaluation, factors, Depth::everything, [&](const LimitResult& r) {
    sum += excess(r);
    return true;
  });
  return sum;
}

bool kept_so_far(const Design& design, const Evaluation& evaluation, const DesignFactors& factors,
                 Depth solved) {
  return for_each_check(design, evaluation, factors, solved, [](const LimitResult& r) { return r.kept; });
}

}  // namespace antiphase
