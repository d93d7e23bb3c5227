#include "optimize/studies/start/starting_brief.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "configs/choices.h"
#include "configs/nearest_names.h"
#include "optimize/studies/start/starting_values.h"
#include "results/text/read_quantity.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/questions.h"

namespace antiphase {
namespace {

bool always(const KnownFacts&) {
  return true;
}
bool may_feed_back(const KnownFacts& k) {
  return has_role(k.stage->kind, Role::feedback);
}
bool feeds_back(const KnownFacts& k) {
  return k.feedback_db > 0;
}
FactDefault has_to_be_said(const KnownFacts&, const TubeLibrary&) {
  return {};
}

/// A number of the unit from low to high, into `to`.
std::string take_number(const std::string& text, std::string_view unit, double low, double high, double& to) {
  const auto value = read_quantity(text, unit);
  if (!value) {
    const std::string slip = slip_in_number(text, unit);
    return in_quotes(text) + " " +
           (slip.empty() ? "is no number in " + std::string(unit) + " such as " + quantity_examples(unit)
                         : slip);
  }
  if (!(*value >= low && *value <= high))
    return "must be from " + exactly(low, unit) + " to " + exactly(high, unit) + ", is " +
           exactly(*value, unit);
  to = *value;
  return {};
}

std::string take_pair(const std::string& text, const TubeLibrary& library, KnownFacts& known) {
  known.pair = library.find_output_valve(text);
  if (known.pair) return {};
  std::vector<std::string> all;
  for (const OutputValve& v : library.output_valves()) all.push_back(v.name);
  const auto near = library.nearest_output_valves(text, 3);
  return "there is no output valve card of a " + in_quotes(text) +
         (near.empty() ? "; there are " + all_of(all) : did_you_mean(near));
}

std::string take_supply(const std::string& text, const TubeLibrary&, KnownFacts& known) {
  return take_number(text, "V", kLeastSupply_v, kMostSupply_v, known.supply_v);
}

std::string take_bias(const std::string& text, const TubeLibrary&, KnownFacts& known) {
  const std::vector<std::string_view> names(kOutputBiasNames.begin(), kOutputBiasNames.end());
  if (std::find(names.begin(), names.end(), text) == names.end())
    return "must be " + one_of(names) + ", is " + in_quotes(text) +
           did_you_mean(nearest_names(text, names, 1));
  known.cathode_bias = text == kOutputBiasNames[1];
  known.condition = fitting_condition(*known.pair, known.cathode_bias, known.supply_v);
  return {};
}

std::string take_bias_v(const std::string& text, const TubeLibrary&, KnownFacts& known) {
  double size = 0;
  const bool minus = text.starts_with('-') || text.starts_with("\u2212");
  const auto wrong =
      take_number(text, "V", minus ? -kMostBias_v : kLeastBias_v, minus ? -kLeastBias_v : kMostBias_v, size);
  if (wrong.empty()) known.bias_v = -std::abs(size);
  return wrong;
}

std::string take_stage(const std::string& text, const TubeLibrary&, KnownFacts& known) {
  std::vector<std::string_view> names;
  for (const CircuitEntry& entry : circuits())
    if (outputs(entry.kind) == 2) names.push_back(entry.name);
  if (std::find(names.begin(), names.end(), text) == names.end())
    return "must be " + one_of(names) + ", is " + in_quotes(text) +
           did_you_mean(nearest_names(text, names, 1));
  for (const CircuitEntry& entry : circuits())
    if (entry.name == text) known.stage = &entry;
  if (needs_next_grid_at_ground(known.stage->kind) && !known.cathode_bias)
    return "a " + text +
           " takes a pair with cathode bias (--bias cathode): its resistors to grid 2 would draw "
           "a fixed bias away";
  return {};
}

std::string take_at_hand(const std::string& text, const TubeLibrary& library, KnownFacts& known) {
  std::vector<const Tube*> tubes;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find_first_of(", ;", at), text.size());
    const std::string name = text.substr(at, end - at);
    at = end + 1;
    if (name.empty()) continue;
    const Tube* const tube = library.find(name);
    if (!tube)
      return "there is no tube card of a " + in_quotes(name) + did_you_mean(library.nearest_names(name, 3));
    if (std::find(tubes.begin(), tubes.end(), tube) == tubes.end()) tubes.push_back(tube);
  }
  if (tubes.empty()) return "must name a tube, such as 12AX7";
  known.at_hand = tubes;
  return {};
}

std::string take_feedback(const std::string& text, const TubeLibrary&, KnownFacts& known) {
  if (text != "none") return take_number(text, "dB", 0, kMostFeedback_db, known.feedback_db);
  known.feedback_db = 0;
  return {};
}
std::string take_source(const std::string& text, const TubeLibrary&, KnownFacts& known) {
  return take_number(text, "V", kLeastSource_v, kMostSource_v, known.source_v_rms);
}
std::string take_power(const std::string& text, const TubeLibrary&, KnownFacts& known) {
  return take_number(text, "W", kLeastPower_w, kMostPower_w, known.power_w);
}

std::string take_series(const std::string& text, const TubeLibrary&, KnownFacts& known) {
  const auto series = engine::series_named(text);
  if (!series) return in_quotes(text) + " is not a series; there are E3, E6, E12, E24, E48, E96 and E192";
  known.series = *series;
  return {};
}

/// The name of a stage that has a first stage ahead of its splitter.
std::string with_first_stage() {
  for (const CircuitEntry& entry : circuits())
    if (outputs(entry.kind) == 2 && has_first_stage(entry.kind)) return std::string(entry.name);
  return {};
}

FactDefault usual_stage(const KnownFacts&, const TubeLibrary&) {
  for (const CircuitEntry& entry : circuits())
    if (outputs(entry.kind) == 2 && !has_first_stage(entry.kind))
      return {std::string(entry.name), "the splitter alone; --stage " + with_first_stage() +
                                           " puts a first stage ahead of it, which overall feedback needs"};
  return {};
}

FactDefault no_feedback(const KnownFacts&, const TubeLibrary&) {
  return {"none", "no overall feedback was asked for"};
}
FactDefault usual_source(const KnownFacts&, const TubeLibrary&) {
  return {"1 V", "what ordinary line sources reach, with something in hand (common practice)"};
}
FactDefault usual_series(const KnownFacts&, const TubeLibrary&) {
  return {"E24", "the series of ordinary 5 % and 1 % resistors"};
}

constexpr std::array kFacts{
    StartingFact{"pair", "NAME", "Output valve of the push-pull pair, such as EL84", &StartingFacts::pair,
                 always, has_to_be_said, take_pair},
    StartingFact{"supply", "VOLTS", "Main supply of the amplifier", &StartingFacts::supply, always,
                 usual_supply, take_supply},
    StartingFact{"bias", "KIND", "How the pair is biased: fixed or cathode", &StartingFacts::bias, always,
                 usual_bias, take_bias},
    StartingFact{"bias-v", "VOLTS", "Grids of the pair against their cathodes at rest",
                 &StartingFacts::bias_v, always, usual_bias_v, take_bias_v},
    StartingFact{"stage", "NAME",
                 "Stage wanted, as briefs name it: a splitter alone, or one with a first stage ahead",
                 &StartingFacts::stage, always, usual_stage, take_stage},
    StartingFact{"at-hand", "NAMES", "Tubes at hand, with commas between: 12AX7,12AU7",
                 &StartingFacts::at_hand, always, usual_tubes, take_at_hand},
    StartingFact{"feedback", "DB", "Overall feedback wanted, in dB; none for none", &StartingFacts::feedback,
                 may_feed_back, no_feedback, take_feedback},
    StartingFact{"source", "VOLTS", "Source that drives the amplifier fully with the feedback on, V rms",
                 &StartingFacts::source_v, feeds_back, usual_source, take_source},
    StartingFact{"power", "WATTS", "Output power into 8 ohm; the gain of the output stage follows from it",
                 &StartingFacts::power, feeds_back, has_to_be_said, take_power},
    StartingFact{"series", "SERIES", "Series of the resistors: E12, E24 …", &StartingFacts::series, always,
                 usual_series, take_series},
};

/// What is learnt on the way through the facts.
struct Learnt {
  KnownFacts known;
  std::vector<std::string> notes;
};

/// Asks until an answer can be used. @return what was answered, or trouble.
std::optional<Trouble> ask_for(const StartingFact& fact, const TubeLibrary& library, const AskFact& ask,
                               Learnt& learnt, bool& by_default) {
  const FactDefault fallback = fact.fallback(learnt.known, library);
  std::string wrong;
  do {
    const auto answer = ask(fact, fallback, wrong);
    if (!answer) return Trouble{"the answers ended before the last question; no brief was made"};
    by_default = answer->empty();
    const std::string& text = by_default ? fallback.text : *answer;
    wrong = text.empty() ? "has to be said" : fact.take(text, library, learnt.known);
  } while (!wrong.empty());
  return std::nullopt;
}

std::optional<Trouble> learn(const StartingFact& fact, const StartingFacts& said, const TubeLibrary& library,
                             const AskFact& ask, Learnt& learnt) {
  const std::string option = "--" + std::string(fact.flag);
  const std::string& text = said.*fact.text;
  if (!fact.applies(learnt.known)) {
    if (!text.empty())
      return Trouble{option +
                     " belongs to overall feedback, which takes a first stage ahead of the splitter: "
                     "--stage " +
                     with_first_stage() + " --feedback 12"};
    return std::nullopt;
  }
  const FactDefault fallback = fact.fallback(learnt.known, library);
  bool by_default = text.empty();
  if (by_default && ask) {
    if (auto trouble = ask_for(fact, library, ask, learnt, by_default)) return trouble;
  } else {
    if (by_default && fallback.text.empty())
      return Trouble{option + " is missing: " + std::string(fact.description) +
                     (fallback.reason.empty() ? "" : "; " + fallback.reason)};
    const std::string wrong = fact.take(by_default ? fallback.text : text, library, learnt.known);
    if (!wrong.empty()) return Trouble{option + ": " + wrong};
  }
  if (fact.text == &StartingFacts::bias_v) learnt.known.bias_said = !by_default;
  if (by_default)
    learnt.notes.push_back(option.substr(2) + " " + fallback.text + ", not said: " + fallback.reason + ".");
  return std::nullopt;
}

}  // namespace

std::span<const StartingFact> starting_facts() {
  return kFacts;
}

OrTrouble<std::string> starting_brief(const StartingFacts& said, const TubeLibrary& library,
                                      const std::string& schema, const AskFact& ask) {
  Learnt learnt;
  for (const StartingFact& fact : kFacts)
    if (auto trouble = learn(fact, said, library, ask, learnt)) return std::move(*trouble);
  return brief_text(learnt.known, std::move(learnt.notes), schema);
}

}  // namespace antiphase
