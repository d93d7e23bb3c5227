#include "optimize/studies/fit/fit_report.h"

#include <algorithm>
#include <cmath>
#include <cstdarg>
#include <cstdio>
#include <map>

namespace antiphase {
namespace {

constexpr double kSmallShare = 0.1;  // of the typical current: below, relative errors say little
constexpr std::size_t kWorst = 5;    // readings to show

[[gnu::format(printf, 1, 2)]] std::string line(const char* format, ...) {
  char text[200];
  va_list arguments;
  va_start(arguments, format);
  std::vsnprintf(text, sizeof text, format, arguments);
  va_end(arguments);
  return text + std::string("\n");
}

double error_pct(const FitObservation& o, const std::optional<double>& modelled) {
  return modelled ? 100 * (*modelled / o.value - 1) : -100;
}

std::string parameters(const FitOutcome& fit) {
  std::string text;
  for (const FittedParameter& p : fit.parameters) {
    const std::string name(p.name), unit(p.unit == "1" ? "" : p.unit);
    text += p.standard_error
                ? line("  %-8s %11.5g +- %-8.2g %s", name.c_str(), p.value, *p.standard_error, unit.c_str())
                : line("  %-8s %11.5g    %-8s %s", name.c_str(), p.value, "(*)", unit.c_str());
  }
  const auto open = [](const FittedParameter& p) { return !p.standard_error; };
  if (std::any_of(fit.parameters.begin(), fit.parameters.end(), open))
    text += "  (*) held, at the end of its range, or not told by these points\n";
  return text;
}

std::string by_grid(std::span<const FitObservation> readings, std::span<const std::optional<double>> modelled,
                    double typical_a) {
  std::map<double, std::vector<double>> errors;
  for (std::size_t k = 0; k < readings.size(); ++k)
    if (readings[k].value >= kSmallShare * typical_a)
      errors[readings[k].grid_v.value_or(0)].push_back(error_pct(readings[k], modelled[k]));
  std::string text = "  grid V   readings   mean %    rms %\n";
  for (auto entry = errors.rbegin(); entry != errors.rend(); ++entry) {
    double sum = 0, squares = 0;
    for (const double e : entry->second) sum += e, squares += e * e;
    const double n = static_cast<double>(entry->second.size());
    text += line("  %6.2f   %8.0f   %+6.1f   %6.1f", entry->first, n, sum / n, std::sqrt(squares / n));
  }
  return text;
}

std::string worst(std::span<const FitObservation> readings, std::span<const std::optional<double>> modelled,
                  double typical_a) {
  std::vector<std::size_t> order;
  for (std::size_t k = 0; k < readings.size(); ++k)
    if (readings[k].value >= kSmallShare * typical_a) order.push_back(k);
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return std::abs(error_pct(readings[a], modelled[a])) > std::abs(error_pct(readings[b], modelled[b]));
  });
  std::string text = "  farthest readings:  grid V   plate V   read mA    law mA    error %\n";
  for (std::size_t n = 0; n < std::min(kWorst, order.size()); ++n) {
    const FitObservation& o = readings[order[n]];
    const std::optional<double>& m = modelled[order[n]];
    text += line("                      %6.2f   %7.1f   %7.3f   %7.3f   %+6.1f", o.grid_v.value_or(0),
                 o.plate_v, 1e3 * o.value, 1e3 * m.value_or(0), error_pct(o, m));
  }
  return text;
}

struct Shown {
  const char* name;
  double scale;
};
Shown shown(Characteristic what) {
  switch (what) {
    case Characteristic::plate_current:
      return {"plate current, mA", 1e3};
    case Characteristic::gm:
      return {"gm, mA/V", 1e3};
    case Characteristic::mu:
      return {"mu", 1};
    case Characteristic::rp:
      return {"rp, kohm", 1e-3};
  }
  return {"", 1};
}

std::string published(std::span<const FitObservation> points,
                      std::span<const std::optional<double>> modelled) {
  std::string text =
      "  published:   plate V   at              what                 sheet      law   error %\n";
  for (std::size_t k = 0; k < points.size(); ++k) {
    const FitObservation& o = points[k];
    char at[24];
    if (o.grid_v)
      std::snprintf(at, sizeof at, "%.3g V grid", *o.grid_v);
    else
      std::snprintf(at, sizeof at, "%.3g mA", 1e3 * o.at_current_a);
    const Shown s = shown(o.what);
    text += line("               %7.4g   %-13s   %-18s %7.4g  %7.4g   %+6.1f", o.plate_v, at, s.name,
                 o.value * s.scale, modelled[k].value_or(0) * s.scale, error_pct(o, modelled[k]));
  }
  return text;
}

std::string figures_of_fit(const FitOutcome& fit, std::span<const FitObservation> all, std::size_t readings,
                           double typical_a) {
  const std::span<const std::optional<double>> modelled = fit.modelled;
  std::string text = parameters(fit);
  if (readings > 0) {
    const auto curve = all.first(readings);
    const ReadingErrors e = reading_errors(curve, modelled, typical_a);
    text += line(
        "  plate current of the %d readings above a tenth of %.3g mA: rms error %.1f %%, largest %+.1f %%",
        e.readings, 1e3 * typical_a, e.rms_pct, e.largest_pct);
    text += by_grid(curve, modelled, typical_a) + worst(curve, modelled, typical_a);
  }
  if (all.size() > readings) text += published(all.subspan(readings), modelled.subspan(readings));
  return text;
}

std::string heading(const FitStory& story, std::size_t published) {
  std::string text = story.tube + ": " + story.model + " fitted to " + std::to_string(story.readings) +
                     " curve readings and " + std::to_string(published) + " published characteristics\n";
  if (story.without_current > 0)
    text += "  " + std::to_string(story.without_current) +
            " readings of no current left out: the law has a foot and cannot meet them\n";
  if (!story.towards.empty()) text += "  pulled towards " + story.towards + "\n";
  return text;
}

std::string correction(const SurfaceFit& surface) {
  return line(
      "  correction: as smooth as the readings allow, worth %.0f free numbers; left over %.2f of the "
      "reading error",
      surface.parameters, surface.rms_share);
}

std::string cautions(const FitStory& story, double error_pct) {
  std::string text;
  if (error_pct > story.poor_pct)
    text +=
        line("  the law misses these points by more than %g %%: look at the columns, the units and the type",
             story.poor_pct);
  return story.own_card.empty() ? text : text + "  " + story.own_card + "\n";
}

}  // namespace

ReadingErrors reading_errors(std::span<const FitObservation> readings,
                             std::span<const std::optional<double>> modelled, double typical_a) {
  ReadingErrors errors;
  double squares = 0;
  for (std::size_t k = 0; k < readings.size(); ++k) {
    if (readings[k].value < kSmallShare * typical_a) continue;
    const double e = error_pct(readings[k], modelled[k]);
    ++errors.readings;
    squares += e * e;
    if (std::abs(e) > std::abs(errors.largest_pct)) errors.largest_pct = e;
  }
  if (errors.readings > 0) errors.rms_pct = std::sqrt(squares / errors.readings);
  return errors;
}

double rms_error_pct(std::span<const FitObservation> observations,
                     std::span<const std::optional<double>> modelled) {
  double squares = 0;
  for (std::size_t k = 0; k < observations.size(); ++k)
    squares += error_pct(observations[k], modelled[k]) * error_pct(observations[k], modelled[k]);
  return observations.empty() ? 0 : std::sqrt(squares / static_cast<double>(observations.size()));
}

std::string fit_report(const FitStory& story, const FitOutcome& fit, std::span<const FitObservation> all,
                       const SurfaceFit* surface) {
  return heading(story, all.size() - story.readings) + story.remarks +
         figures_of_fit(fit, all, story.readings, story.typical_a) +
         (surface ? correction(*surface) : std::string()) + cautions(story, rms_error_pct(all, fit.modelled));
}

}  // namespace antiphase
