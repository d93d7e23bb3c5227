#include "optimize/studies/fit/own_fit.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <span>
#include <string_view>

#include "optimize/studies/fit/fit_report.h"
#include "optimize/studies/fit/law_forms.h"
#include "results/text/formatted.h"

namespace antiphase {
namespace {

/// How the source of a model that a fit wrote begins.
constexpr std::string_view kOwnFit = "own fit";
constexpr int kDigits = 5;           // of a parameter in a card: more than any curve tells
constexpr double kListDigits = 1e4;  // coefficients of a surface: a hundredth of a per cent of the current

double rounded(double value) {
  char text[40];
  std::snprintf(text, sizeof text, "%.*g", kDigits, value);
  std::from_chars(text, text + sizeof text, value);
  return value;
}

/// The card that the model was pulled towards, as its source names it; empty: none.
std::string towards_of(const TubeModel& m) {
  constexpr std::string_view kOption = " --towards ";
  const auto at = m.source.find(kOption);
  return at == std::string::npos ? std::string() : m.source.substr(at + kOption.size());
}

}  // namespace

bool is_own_fit(const TubeModel& m) {
  return m.source.starts_with(kOwnFit);
}

void round_parameters(FitOutcome& fit, const std::vector<FitObservation>& observations) {
  std::visit(
      [](auto& law) {
        for (const auto& field : law.fields())
          law.*field.member = std::clamp(rounded(law.*field.member), field.low, field.high);
        if constexpr (requires { law.lists(); })
          for (const auto& list : law.lists())
            for (double& v : law.*list.member)
              v = std::clamp(std::round(v * kListDigits) / kListDigits, list.low, list.high);
      },
      fit.law);
  for (std::size_t k = 0; k < observations.size(); ++k)
    fit.modelled[k] = characteristic_of(fit.law, observations[k]);
}

std::string source_text(const Readings& readings, const FitOutcome& fit, const std::string& towards,
                        const std::string& made_by) {
  std::string text(kOwnFit);
  if (readings.of_curves() > 0) {
    const ReadingErrors e = reading_errors(std::span(readings.observations()).first(readings.of_curves()),
                                           fit.modelled, readings.typical_a());
    text += formatted(
        " to %zu plate-curve readings and %zu published characteristics; plate current rms error "
        "%.1f %% above a tenth of the typical current",
        readings.of_curves(), readings.published(), e.rms_pct);
  } else {
    text += formatted(" to %zu published characteristics alone, rms error %.1f %%", readings.published(),
                      rms_error_pct(readings.observations(), fit.modelled));
  }
  if (!towards.empty()) text += "; pulled towards " + towards;
  return text + "; made by: " + made_by;
}

void put_on_card(Tube& tube, TubeModel model, const std::string& towards) {
  const auto old = std::find_if(tube.models.begin(), tube.models.end(), [&](const TubeModel& m) {
    return is_own_fit(m) && form_of(m.law) == form_of(model.law) && towards_of(m) == towards;
  });
  if (old != tube.models.end())
    *old = std::move(model);
  else
    tube.models.insert(tube.models.begin(), std::move(model));
}

}  // namespace antiphase
