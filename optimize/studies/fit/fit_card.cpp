#include "optimize/studies/fit/fit_card.h"

#include <algorithm>
#include <optional>
#include <string_view>

#include "optimize/studies/fit/card_text.h"
#include "optimize/studies/fit/fit_report.h"
#include "optimize/studies/fit/law_forms.h"
#include "optimize/studies/fit/own_card.h"
#include "optimize/studies/fit/own_fit.h"
#include "optimize/studies/fit/readings.h"
#include "stagemodels/tubes/surface_fit.h"

namespace antiphase {
namespace {

/// A law that fits a real triode stays well below this, readings near cut-off included.
constexpr double kPoorPct = 40;

bool is_surface(const TriodeLaw& law) {
  return std::holds_alternative<MeasuredSurface>(law);
}

/// The form that a form is fitted through: of a measured surface, the one under it.
TriodeLaw fitted_first(const TriodeLaw& form) {
  return is_surface(form) ? TriodeLaw(Koren1996{}) : form;
}

struct Reference {
  TriodeLaw law;
  std::string words;  // empty: nothing to pull towards
};

/// The law to start from, or to be pulled towards: of `other`, or of the tube's own card if that is null.
OrTrouble<Reference> reference_for(const FitRequest& request, const Tube& tube, const Tube* other) {
  const TriodeLaw start = fitted_first(request.form);
  const std::string wanted(form_of(start));
  for (const TubeModel& m : (other ? *other : tube).models) {
    if (form_of(m.law) != wanted || (!other && is_own_fit(m))) continue;
    if (request.towards.empty()) return Reference{m.law, ""};
    return Reference{m.law, other ? "the " + wanted + " law of the " + other->name + " card"
                                  : "the published set on this card (" + m.source + ")"};
  }
  if (request.towards.empty()) return Reference{start, ""};
  return Trouble{"--towards " + request.towards + ": its card has no published " + wanted +
                 " set to pull towards"};
}

Trouble why_not(const FitOutcome& fit, const FitRequest& request, const Readings& readings) {
  const std::string model(form_of(request.form));
  if (fit.stop == FitStop::bad_observation)
    return {"a published point on the card of the " + request.tube +
            " cannot be used: its numbers must be above 0"};
  if (fit.stop != FitStop::too_few_observations)
    return {model + " has no parameter that these points could tell"};
  const auto ranges = usual_ranges(fit.law);
  const auto free = std::count_if(ranges.begin(), ranges.end(), [](const FitRange& r) { return !r.held; });
  return {"too few points: " + model + " has " + std::to_string(free) + " parameters to find, there are " +
          std::to_string(readings.of_curves()) + " curve readings and " +
          std::to_string(readings.published()) +
          " published characteristics; give more points, or --towards a tube of its kind"};
}

struct Fit {
  FitOutcome outcome;
  SurfaceFit surface;  // of a measured surface
};

/// The form under a measured surface first, then its correction.
Fit fit_once(const FitRequest& request, const TriodeLaw& from, const Readings& readings) {
  FitOptions options;
  options.towards_given = !request.towards.empty();
  Fit fit{fit_law(from, readings.observations(), options), {}};
  if (fit.outcome.stop != FitStop::fitted || !is_surface(request.form)) return fit;
  fit.surface = fit_surface(std::get<Koren1996>(fit.outcome.law), readings.observations());
  fit.outcome.law = fit.surface.law;
  return fit;
}

/// Once more without the readings that are far off the law, where there are some.
OrTrouble<Fit> fit_readings(const FitRequest& request, const TriodeLaw& from, Readings& readings) {
  Fit fit = fit_once(request, from, readings);
  const bool surface_failed =
      fit.outcome.stop == FitStop::fitted && is_surface(request.form) && !fit.surface.fitted;
  if (fit.outcome.stop == FitStop::fitted && readings.leave_out_strays(fit.outcome))
    fit = fit_once(request, from, readings);
  if (fit.outcome.stop != FitStop::fitted) return why_not(fit.outcome, request, readings);
  if (surface_failed || (is_surface(request.form) && !fit.surface.fitted))
    return Trouble{"measured_surface follows curve readings: it needs at least " +
                   std::to_string(SurfaceFit::kLeastPoints) + " of them, and there are " +
                   std::to_string(readings.of_curves())};
  round_parameters(fit.outcome, readings.observations());
  return fit;
}

std::string report_on(const FitRequest& request, const Tube& tube, const Tube* card, const Readings& readings,
                      const Fit& fit, const std::string& towards, const TubeLibrary& cards) {
  FitStory story;
  story.tube = tube.name;
  story.model = std::string(form_of(request.form));
  story.towards = towards;
  story.remarks = readings.strays_in_words() + oddities(readings.placed(), card);
  story.without_current = readings.without_current();
  story.readings = readings.of_curves();
  story.typical_a = readings.typical_a();
  if (!card) story.own_card = own_card_in_words(tube.name, cards.find(request.like));
  story.poor_pct = kPoorPct;
  return fit_report(story, fit.outcome, readings.observations(), fit.surface.fitted ? &fit.surface : nullptr);
}

}  // namespace

OrTrouble<FittedCard> fit_card(const FitRequest& request, const TubeLibrary& cards) {
  const Tube* const card = cards.find(request.tube);
  std::string wrong = contradictions(request.points, card);
  if (card && card->pentode.given)
    wrong += "--tube " + request.tube + ": it is a pentode, and laws are fitted to plate curves of triodes\n";
  if (card && !request.like.empty())
    wrong += "--like " + request.like + ": the " + card->name + " has a card, which keeps its own ratings\n";
  if (!wrong.empty()) return Trouble{wrong};
  FittedCard fitted;
  if (card)
    fitted.tube = *card;
  else
    fitted.tube.name = request.tube;
  const Tube* const towards = request.towards.empty() ? nullptr : cards.find(request.towards);
  const auto reference = reference_for(request, fitted.tube, towards == card ? nullptr : towards);
  if (const auto* trouble = std::get_if<Trouble>(&reference)) return *trouble;
  const auto& [from, leans_on] = std::get<Reference>(reference);

  Readings readings(request.points, fitted.tube.published_points);
  const auto made = fit_readings(request, from, readings);
  if (const auto* trouble = std::get_if<Trouble>(&made)) return *trouble;
  const Fit& fit = std::get<Fit>(made);

  fitted.law = fit.outcome.law;
  fitted.curve = readings.curve();
  const bool credible = rms_error_pct(readings.observations(), fit.outcome.modelled) <= kPoorPct;
  put_on_card(fitted.tube,
              {fitted.law, source_text(readings, fit.outcome, leans_on, request.made_by), credible},
              request.towards);
  const Tube* const like = request.like.empty() ? nullptr : cards.find(request.like);
  fitted.card = card_text(card ? fitted.tube : own_card(fitted.tube, like));
  fitted.report = report_on(request, fitted.tube, card, readings, fit, leans_on, cards);
  return fitted;
}

}  // namespace antiphase
