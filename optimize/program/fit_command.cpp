#include "optimize/program/fit_command.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <optional>
#include <ostream>
#include <utility>

#include "configs/curve_points.h"
#include "configs/tube_library.h"
#include "optimize/program/card_text.h"
#include "optimize/program/exit_codes.h"
#include "optimize/program/fit_checks.h"
#include "optimize/program/fit_report.h"
#include "results/svg/plate_curves.h"
#include "stagemodels/tubes/fit.h"
#include "stagemodels/tubes/surface_fit.h"

namespace antiphase {
namespace {

/// How the source of a model that this command wrote begins: such a model is replaced by the next fit.
constexpr std::string_view kOwnFit = "own fit";
/// A law that fits a real triode stays well below this, readings near cut-off included.
constexpr double kPoorPct = 40;
constexpr int kDigits = 5;  // of a parameter in a card: more than any curve tells

constexpr double kListDigits = 1e4;  // coefficients of a surface: a hundredth of a per cent of the current

bool is_own_fit(const TubeModel& m) {
  return m.source.starts_with(kOwnFit);
}
std::string_view form_of(const TriodeLaw& law) {
  return std::visit([](const auto& l) { return std::string_view(l.kForm); }, law);
}

template <std::size_t... I>
std::vector<TriodeLaw> all_forms(std::index_sequence<I...>) {
  return {TriodeLaw(std::variant_alternative_t<I, TriodeLaw>{})...};
}

/// The law named, with the parameters that its struct begins with. `error` if there is none.
std::optional<TriodeLaw> law_named(const std::string& form, std::string& error) {
  error = "--model must be one of";
  for (const TriodeLaw& law : all_forms(std::make_index_sequence<std::variant_size_v<TriodeLaw>>{})) {
    if (form_of(law) == form) return law;
    error += " " + std::string(form_of(law));
  }
  error += "; is \"" + form + "\"\n";
  return std::nullopt;
}

double rounded(double value) {
  char text[40];
  std::snprintf(text, sizeof text, "%.*g", kDigits, value);
  std::from_chars(text, text + sizeof text, value);
  return value;
}

/// What a card can carry: the report then speaks of the law that is written, not of its neighbour.
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

int report(const InputErrors& errors, std::ostream& err) {
  err << in_words(errors);
  return errors.unreadable ? kFileTrouble : kBadInput;
}

struct Data {
  std::vector<CurvePoint> curve;
  std::vector<PlacedPoint> placed;  // #curve
  std::string strays;               // readings that were left out, a line for each
  std::vector<FitObservation> observations;
  std::size_t readings = 0;  // the first ones of `observations` are from curves
  double typical_a = 0;
};

/// All files are read before anything is said, so that every error is told at once.
int read_points(const std::vector<std::string>& files, Data& data, std::ostream& err) {
  int code = kDone;
  for (const std::string& file : files) {
    const auto read = read_curve_points(file);
    if (const auto* errors = std::get_if<InputErrors>(&read)) {
      code = std::max(code, report(*errors, err));
      continue;
    }
    const auto& [name, comments, points, lines] = std::get<CurveFile>(read);
    data.curve.insert(data.curve.end(), points.begin(), points.end());
    for (std::size_t k = 0; k < points.size(); ++k) data.placed.push_back({points[k], file, lines[k]});
  }
  return code;
}

struct Reference {
  TriodeLaw law;
  std::string words;  // empty: nothing to pull towards
};

/// The law to start from, or to be pulled towards. `error` says what is wrong, if anything.
Reference reference_for(const FitArguments& a, const Tube& tube, const Tube* other, TriodeLaw law,
                        std::string& error) {
  const Tube& from = other ? *other : tube;
  const std::string_view wanted = form_of(law);  // of a measured surface: the form under it
  for (const TubeModel& m : from.models) {
    if (form_of(m.law) != wanted || (&from == &tube && is_own_fit(m))) continue;
    if (a.towards.empty()) return {m.law, ""};
    return {m.law, &from == &tube ? "the published set on this card (" + m.source + ")"
                                  : "the " + std::string(wanted) + " law of the " + from.name + " card"};
  }
  if (!a.towards.empty())
    error = "--towards " + a.towards + ": its card has no published " + std::string(wanted) +
            " set to pull towards\n";
  return {law, ""};
}

std::string command_line(const FitArguments& a) {
  std::string text = "antiphase fit";
  for (const std::string& file : a.point_files) text += " " + file;
  text += " --tube " + a.tube;
  if (a.model != FitArguments{}.model) text += " --model " + a.model;
  if (!a.towards.empty()) text += " --towards " + a.towards;
  return text;
}

std::string source_text(const FitArguments& a, const Data& data, const FitOutcome& fit,
                        const std::string& towards) {
  char numbers[160];
  std::string text(kOwnFit);
  const std::size_t published = data.observations.size() - data.readings;
  if (data.readings > 0) {
    const ReadingErrors e =
        reading_errors(std::span(data.observations).first(data.readings), fit.modelled, data.typical_a);
    std::snprintf(numbers, sizeof numbers,
                  " to %zu plate-curve readings and %zu published characteristics; plate current rms error "
                  "%.1f %% above a tenth of the typical current",
                  data.readings, published, e.rms_pct);
  } else {
    std::snprintf(numbers, sizeof numbers, " to %zu published characteristics alone, rms error %.1f %%",
                  published, rms_error_pct(data.observations, fit.modelled));
  }
  text += numbers;
  if (!towards.empty()) text += "; pulled towards " + towards;
  return text + "; made by: " + command_line(a);
}

/// A card is never left half written: the new text takes the place of the old in one step.
bool write_file(const std::string& file, const std::string& text) {
  const std::string part = file + ".part";
  bool good = false;
  {
    std::ofstream to(part, std::ios::binary);
    to << text;
    to.flush();
    good = to.good();
  }
  good = good && std::rename(part.c_str(), file.c_str()) == 0;
  if (!good) std::remove(part.c_str());
  return good;
}

int explain(const FitOutcome& fit, const FitArguments& a, const Data& data, std::ostream& err) {
  switch (fit.stop) {
    case FitStop::too_few_observations: {
      const auto ranges = usual_ranges(fit.law);
      const auto free =
          std::count_if(ranges.begin(), ranges.end(), [](const FitRange& r) { return !r.held; });
      err << "too few points: " << a.model << " has " << free << " parameters to find, there are "
          << data.readings << " curve readings and " << data.observations.size() - data.readings
          << " published characteristics; give more points, or --towards a tube of its kind\n";
      return kBadInput;
    }
    case FitStop::bad_observation:
      err << "a published point on the card of the " << a.tube
          << " cannot be used: its numbers must be above 0\n";
      return kBadInput;
    default:
      err << a.model << " has no parameter that these points could tell\n";
      return kBadInput;
  }
}

/// The form under a measured surface first, then its correction. `error` if the readings are too few.
FitOutcome fit_it(const TriodeLaw& form, const TriodeLaw& from, const Data& data, const FitOptions& options,
                  SurfaceFit& surface, std::string& error) {
  FitOutcome fit = fit_law(from, data.observations, options);
  if (fit.stop != FitStop::fitted || !std::holds_alternative<MeasuredSurface>(form)) return fit;
  surface = fit_surface(std::get<Koren1996>(fit.law), data.observations);
  if (!surface.fitted)
    error = "measured_surface follows curve readings: it needs at least " +
            std::to_string(SurfaceFit::kLeastPoints) + " of them, and there are " +
            std::to_string(data.readings) + "\n";
  fit.law = surface.law;
  return fit;
}

void make_observations(const Tube& tube, Data& data) {
  data.typical_a = typical_current_a(tube.published_points, data.curve);
  data.observations = observations_of(tube.published_points, data.curve);
  data.readings = static_cast<std::size_t>(std::count_if(
      data.curve.begin(), data.curve.end(), [](const CurvePoint& p) { return p.plate_current_a > 0; }));
}

/// True if there were some: the fit is then to be made again.
bool leave_out_strays(const Tube& tube, Data& data, const FitOutcome& fit) {
  std::vector<PlacedPoint> with_current;  // as the observations stand
  std::vector<std::size_t> place;         // of each in `placed`
  for (std::size_t k = 0; k < data.placed.size(); ++k) {
    if (!(data.placed[k].point.plate_current_a > 0)) continue;
    with_current.push_back(data.placed[k]);
    place.push_back(k);
  }
  const Strays found = strays(with_current, std::span(fit.modelled).first(data.readings), data.typical_a);
  for (auto k = found.which.rbegin(); k != found.which.rend(); ++k) {
    const auto at = static_cast<std::ptrdiff_t>(place[*k]);
    data.placed.erase(data.placed.begin() + at);
    data.curve.erase(data.curve.begin() + at);
  }
  data.strays = found.words;
  if (found.which.empty()) return false;
  make_observations(tube, data);
  return true;
}

/// Its place: that of an earlier own fit of the same form and with the same law to lean on, else the first.
void put_on_card(Tube& tube, TubeModel model, const std::string& towards) {
  const auto same = [&](const TubeModel& m) {
    if (!is_own_fit(m) || form_of(m.law) != form_of(model.law)) return false;
    const auto at = m.source.find(" --towards ");
    return (at == std::string::npos ? std::string() : m.source.substr(at + 11)) == towards;
  };
  const auto old = std::find_if(tube.models.begin(), tube.models.end(), same);
  if (old != tube.models.end())
    *old = std::move(model);
  else
    tube.models.insert(tube.models.begin(), std::move(model));
}

void tell(const FitArguments& a, const Tube& tube, const Data& data, const FitOutcome& fit,
          const SurfaceFit& surface, const std::string& towards, bool has_card, std::ostream& description) {
  description << tube.name << ": " << a.model << " fitted to " << data.readings << " curve readings and "
              << data.observations.size() - data.readings << " published characteristics\n";
  if (const std::size_t none = data.curve.size() - data.readings; none > 0)
    description << "  " << none
                << " readings of no current left out: the law has a foot and cannot meet them\n";
  if (!towards.empty()) description << "  pulled towards " << towards << "\n";
  description << data.strays << oddities(data.placed, has_card ? &tube : nullptr);
  description << fit_report(fit, data.observations, data.readings, data.typical_a);
  if (surface.fitted) {
    char text[200];
    std::snprintf(
        text, sizeof text,
        "  correction: as smooth as the readings allow, worth %.0f free numbers; left over %.2f of the "
        "reading error\n",
        surface.parameters, surface.rms_share);
    description << text;
  }
  if (rms_error_pct(data.observations, fit.modelled) > kPoorPct)
    description << "  the law misses these points by more than " << kPoorPct
                << " %: look at the columns, the units and the type\n";
  if (!has_card)
    description
        << "  there is no card of the " << tube.name
        << " yet: this is only its law; add ratings, heater, capacitances and sources from its data sheet\n";
}

}  // namespace

int run_fit(const FitArguments& a, std::ostream& out, std::ostream& err) {
  std::string error;
  const std::optional<TriodeLaw> form = law_named(a.model, error);
  if (!form) err << error;
  if (a.tube.empty()) err << "--tube must name the type that the points belong to\n";
  int code = form && !a.tube.empty() ? kDone : kBadInput;
  const auto library = read_tube_library(a.tube_folder);
  if (const auto* errors = std::get_if<InputErrors>(&library)) code = std::max(code, report(*errors, err));
  Data data;
  code = std::max(code, read_points(a.point_files, data, err));
  if (code != kDone) return code;

  const auto& cards = std::get<TubeLibrary>(library);
  const Tube* card = cards.find(a.tube);
  error.clear();
  Tube tube = card ? *card : Tube{};
  if (!card) tube.name = a.tube;
  const Tube* towards = a.towards.empty() ? nullptr : cards.find(a.towards);
  if (!a.towards.empty() && !towards) {
    err << "--towards " << a.towards << ": there is no card of that name in " << a.tube_folder << "\n";
    return kBadInput;
  }
  const std::string wrong = contradictions(data.placed, card);
  if (!wrong.empty()) {
    err << wrong;
    return kBadInput;
  }
  const TriodeLaw start = std::holds_alternative<MeasuredSurface>(*form) ? TriodeLaw(Koren1996{}) : *form;
  const Reference reference = reference_for(a, tube, towards == card ? nullptr : towards, start, error);
  if (!error.empty()) {
    err << error;
    return kBadInput;
  }

  make_observations(tube, data);
  FitOptions options;
  options.towards_given = !a.towards.empty();
  SurfaceFit surface;
  FitOutcome fit = fit_it(*form, reference.law, data, options, surface, error);
  if (fit.stop == FitStop::fitted && leave_out_strays(tube, data, fit))
    fit = fit_it(*form, reference.law, data, options, surface, error);
  if (fit.stop != FitStop::fitted) return explain(fit, a, data, err);
  if (!error.empty()) {
    err << error;
    return kBadInput;
  }
  round_parameters(fit, data.observations);

  const bool credible = rms_error_pct(data.observations, fit.modelled) <= kPoorPct;
  put_on_card(tube, {fit.law, source_text(a, data, fit, reference.words), credible}, a.towards);
  const std::string text = card ? card_text(tube) : card_fragment_text(tube);

  tell(a, tube, data, fit, surface, reference.words, card != nullptr, a.out.empty() ? err : out);
  if (!a.plot.empty() && !write_file(a.plot, plate_curves_svg(tube, fit.law, data.curve))) {
    err << a.plot << ": cannot be written\n";
    return kFileTrouble;
  }
  if (a.out.empty()) {
    out << text;
  } else if (!write_file(a.out, text)) {
    err << a.out << ": cannot be written\n";
    return kFileTrouble;
  }
  return kDone;
}

}  // namespace antiphase
