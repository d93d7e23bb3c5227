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
#include "optimize/program/fit_report.h"
#include "stagemodels/tubes/fit.h"

namespace antiphase {
namespace {

/// How the source of a model that this command wrote begins: such a model is replaced by the next fit.
constexpr std::string_view kOwnFit = "own fit";
/// A law that fits a real triode stays well below this, readings near cut-off included.
constexpr double kPoorPct = 40;
constexpr int kDigits = 5;  // of a parameter in a card: more than any curve tells

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

/// The law named, with the parameters that its struct begins with. `fault` if there is none.
std::optional<TriodeLaw> law_named(const std::string& form, std::string& fault) {
  fault = "--model must be one of";
  for (const TriodeLaw& law : all_forms(std::make_index_sequence<std::variant_size_v<TriodeLaw>>{})) {
    if (form_of(law) == form) return law;
    fault += " " + std::string(form_of(law));
  }
  fault += "; is \"" + form + "\"\n";
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
      },
      fit.law);
  for (std::size_t k = 0; k < observations.size(); ++k)
    fit.modelled[k] = characteristic_of(fit.law, observations[k]);
}

int report(const Faults& faults, std::ostream& err) {
  err << in_words(faults);
  return faults.unreadable ? kFileTrouble : kBadInput;
}

struct Data {
  std::vector<CurvePoint> curve;
  std::vector<FitObservation> observations;
  std::size_t readings = 0;  // the first ones of `observations` are from curves
  double typical_a = 0;
};

/// All files are read before anything is said, so that every fault is told at once.
int read_points(const std::vector<std::string>& files, Data& data, std::ostream& err) {
  int code = kDone;
  for (const std::string& file : files) {
    const auto read = read_curve_points(file);
    if (const auto* faults = std::get_if<Faults>(&read)) {
      code = std::max(code, report(*faults, err));
      continue;
    }
    const auto& points = std::get<CurveFile>(read).points;
    data.curve.insert(data.curve.end(), points.begin(), points.end());
  }
  return code;
}

struct Reference {
  TriodeLaw law;
  std::string words;  // empty: nothing to pull towards
};

/// The law to start from, or to be pulled towards. `fault` says what is wrong, if anything.
Reference reference_for(const FitArguments& a, const Tube& tube, const Tube* other, TriodeLaw law,
                        std::string& fault) {
  const Tube& from = other ? *other : tube;
  for (const TubeModel& m : from.models) {
    if (form_of(m.law) != a.model || (&from == &tube && is_own_fit(m))) continue;
    if (a.towards.empty()) return {m.law, ""};
    return {m.law, &from == &tube ? "the published set on this card (" + m.source + ")"
                                  : "the " + a.model + " law of the " + from.name + " card"};
  }
  if (!a.towards.empty())
    fault = "--towards " + a.towards + ": its card has no published " + a.model + " set to pull towards\n";
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

void tell(const FitArguments& a, const Tube& tube, const Data& data, const FitOutcome& fit,
          const std::string& towards, bool has_card, std::ostream& says) {
  says << tube.name << ": " << a.model << " fitted to " << data.readings << " curve readings and "
       << data.observations.size() - data.readings << " published characteristics\n";
  if (const std::size_t none = data.curve.size() - data.readings; none > 0)
    says << "  " << none << " readings of no current left out: the law has a foot and cannot meet them\n";
  if (!towards.empty()) says << "  pulled towards " << towards << "\n";
  says << fit_report(fit, data.observations, data.readings, data.typical_a);
  if (rms_error_pct(data.observations, fit.modelled) > kPoorPct)
    says << "  the law misses these points by more than " << kPoorPct
         << " %: look at the columns, the units and the type\n";
  if (!has_card)
    says << "  there is no card of the " << tube.name
         << " yet: this is only its law; add ratings, heater, capacitances and sources from its data sheet\n";
}

}  // namespace

int run_fit(const FitArguments& a, std::ostream& out, std::ostream& err) {
  std::string fault;
  const std::optional<TriodeLaw> form = law_named(a.model, fault);
  if (!form) err << fault;
  if (a.tube.empty()) err << "--tube must name the type that the points belong to\n";
  int code = form && !a.tube.empty() ? kDone : kBadInput;
  const auto library = read_tube_library(a.tube_folder);
  if (const auto* faults = std::get_if<Faults>(&library)) code = std::max(code, report(*faults, err));
  Data data;
  code = std::max(code, read_points(a.point_files, data, err));
  if (code != kDone) return code;

  const auto& cards = std::get<TubeLibrary>(library);
  const Tube* card = cards.find(a.tube);
  fault.clear();
  Tube tube = card ? *card : Tube{};
  if (!card) tube.name = a.tube;
  const Tube* towards = a.towards.empty() ? nullptr : cards.find(a.towards);
  if (!a.towards.empty() && !towards) {
    err << "--towards " << a.towards << ": there is no card of that name in " << a.tube_folder << "\n";
    return kBadInput;
  }
  const Reference reference = reference_for(a, tube, towards == card ? nullptr : towards, *form, fault);
  if (!fault.empty()) {
    err << fault;
    return kBadInput;
  }

  data.typical_a = typical_current_a(tube.published_points, data.curve);
  data.observations = observations_of(tube.published_points, data.curve);
  data.readings = static_cast<std::size_t>(std::count_if(
      data.curve.begin(), data.curve.end(), [](const CurvePoint& p) { return p.plate_current_a > 0; }));
  FitOptions options;
  options.towards_given = !a.towards.empty();
  FitOutcome fit = fit_law(reference.law, data.observations, options);
  if (fit.stop != FitStop::fitted) return explain(fit, a, data, err);
  round_parameters(fit, data.observations);

  std::erase_if(tube.models, is_own_fit);
  tube.models.insert(tube.models.begin(), {fit.law, source_text(a, data, fit, reference.words)});
  const std::string text = card ? card_text(tube) : card_fragment_text(tube);

  tell(a, tube, data, fit, reference.words, card != nullptr, a.out.empty() ? err : out);
  if (a.out.empty()) {
    out << text;
  } else if (!write_file(a.out, text)) {
    err << a.out << ": cannot be written\n";
    return kFileTrouble;
  }
  return kDone;
}

}  // namespace antiphase
