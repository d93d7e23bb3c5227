#include "results/describe/diagnosis.h"

#include <algorithm>
#include <cmath>

#include "results/text/wording.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/questions.h"

namespace antiphase {
namespace {

std::string volt(double v) {
  return engineering_text(std::abs(v) < 1e-3 ? 0 : v, "V", 3);
}

/// A probability as people say it: never certainty, since the list of faults is not all that can happen.
std::string chance(double p) {
  if (p >= 0.995) return "over 99 %";
  if (p < 0.005) return "under 1 %";
  return fixed_text(100 * p, 0) + " %";
}

const Fault& fault_of(const DiagnosisReport& r, const FaultTold& t) {
  return r.diagnosis.faults[t.fault];
}

std::string size_in_words(const Magnitude& m, double size) {
  switch (m.kind) {
    case Magnitude::Kind::scaled:
      return "about " + significant_text(size, 2, 2) + " times its value";
    case Magnitude::Kind::leak:
      return "about " + engineering_text(size, "ohm", 2);
    case Magnitude::Kind::current:
      return "about " + fixed_text(100 * size, 0) + " % of the current";
  }
  return {};
}

std::string named(const DiagnosisReport& r, const FaultTold& t) {
  const Fault& f = fault_of(r, t);
  std::string text = f.label;
  for (int m = 0; m < f.magnitudes; ++m)
    text += (m == 0 ? " (" : ", ") +
            size_in_words(f.magnitude[static_cast<std::size_t>(m)], t.size[static_cast<std::size_t>(m)]);
  return text + (f.magnitudes > 0 ? ")" : "");
}

std::string value_in(const Quantity& q, double v) {
  if (q.kind == Quantity::Kind::current_share) return fixed_text(100 * v, 0) + " %";
  if (q.kind == Quantity::Kind::mu) return significant_text(v, 3, 1);
  return engineering_text(v, q.unit, 3);
}

/// "the plate resistor 2 from 100 kΩ to 110 kΩ".
std::string turned(const Design& d, const DesignField& part, double to_ohm) {
  return "the " + std::string(label_in(d, part)) + " from " + engineering_text(part.value(d), "ohm") +
         " to " + engineering_text(to_ohm, "ohm");
}

double unseen_share(const Diagnosis& d) {
  double sum = 0;
  for (const FaultTold& t : d.told) sum += t.unseen ? t.probability : 0;
  return sum;
}

constexpr double kToldAtAll = 0.005;
constexpr std::size_t kMostTold = 12;

}  // namespace

std::string label_of(const BenchReading& r) {
  std::string text(r.label);
  if (r.kind != BenchReading::Kind::signal) return text;
  text += " at " + engineering_text(r.hz, "Hz", 3) + ", " + engineering_text(r.input_v, "V", 3) + " rms in";
  if (r.load_ohm > 0) text += ", " + engineering_text(r.load_ohm, "ohm", 3) + " across";
  return text;
}

bool stands_out(const ReadingTold& t) {
  constexpr double kOut = 0.005;  // on either side
  return t.known && (t.below < kOut || t.below > 1 - kOut);
}

std::vector<std::string> verdict(const DiagnosisReport& r) {
  const Diagnosis& d = r.diagnosis;
  if (!d.known) return {"The design has no rest point that the readings could be held against."};
  const FaultTold &first = d.told.front(), *second = d.told.size() > 1 ? &d.told[1] : nullptr;
  if (!d.explained)
    return {"Nothing that was weighed explains these readings, not even roughly.",
            "Look at the readings first: is it this design, are the units right, is each at its place? " +
                ("What comes nearest: " + named(r, first) + ".")};
  std::vector<std::string> out;
  if (first.fault == 0) {
    out.push_back("No fault is the most probable (" + chance(first.probability) +
                  "): tubes, parts, mains and meter within their scatter explain these readings.");
  } else if (second && second->probability > 0.5 * first.probability) {
    std::vector<std::string> set;
    for (std::size_t k = 0; k < std::min(d.first_set, kMostTold); ++k)
      set.push_back(named(r, d.told[k]) + " (" + chance(d.told[k].probability) + ")");
    out.push_back("These readings cannot tell apart: " + any_of(set) + ".");
  } else {
    out.push_back("Most probable (" + chance(first.probability) + "): " + named(r, first) + ".");
  }
  if (first.fault != 0) out.push_back("No fault, only scatter: " + chance(d.probability("none")) + ".");
  if (second && first.fault == 0)
    out.push_back("Next in line: " + named(r, *second) + ", " + chance(second->probability) +
                  (second->unseen ? ", which these readings cannot show." : "."));
  std::vector<std::string> unseen;
  for (const FaultTold& t : d.told)
    if (t.unseen) unseen.push_back(fault_of(r, t).label);
  constexpr std::size_t kNamed = 4;
  if (unseen.size() > kNamed) {
    const std::string more = std::to_string(unseen.size() - kNamed) + " more";
    unseen.resize(kNamed);
    unseen.push_back(more);
  }
  if (!unseen.empty())
    out.push_back("What these readings say nothing about, as probable as before them (together " +
                  chance(unseen_share(d)) + "): " + all_of(unseen) + ".");
  return out;
}

ValueTable fault_table(const DiagnosisReport& r) {
  if (r.diagnosis.known && !r.diagnosis.explained) return {};
  ValueTable t;
  t.caption = "What it may be";
  t.columns = {"", "chance", "before", "what to do"};
  t.words_last = true;
  for (const FaultTold& f : r.diagnosis.told) {
    if (t.rows.size() >= kMostTold || (f.probability < kToldAtAll && f.fault != 0)) continue;
    t.rows.push_back({named(r, f), chance(f.probability), chance(f.before), fault_of(r, f).look});
  }
  return t;
}

/// Where nothing explains the readings, no reading lets expect another: they stand beside the design as
/// drawn.
ValueTable beside_drawn(const DiagnosisReport& r) {
  ValueTable t;
  t.caption = "What was read, beside the design as drawn";
  t.columns = {"", "read", "drawn", "apart"};
  for (const ReadingTold& k : r.diagnosis.taken) {
    const auto place = static_cast<std::size_t>(k.reading);
    const double drawn_v = r.diagnosis.drawn_v[place];
    t.rows.push_back({label_of(r.diagnosis.readings[place]), volt(k.shown_v), volt(drawn_v),
                      signed_engineering_text(k.shown_v - drawn_v, "V", 3)});
  }
  t.notes = {
      "Drawn: with nominal tubes, parts and mains, and the meter on it. What the readings let expect of each "
      "other is not told, since nothing that was weighed explains them."};
  return t;
}

ValueTable taken_table(const DiagnosisReport& r) {
  if (!r.diagnosis.explained) return beside_drawn(r);
  ValueTable t;
  t.caption = "Each reading against what the others let expect of a sound box";
  t.columns = {"", "read", "expect", "5 %", "95 %", ""};
  t.words_last = true;
  for (const ReadingTold& k : r.diagnosis.taken) {
    const BenchReading& reading = r.diagnosis.readings[static_cast<std::size_t>(k.reading)];
    std::vector<std::string> row{label_of(reading), volt(k.shown_v)};
    if (!k.known) {
      row.insert(row.end(), {"n/a", "n/a", "n/a", ""});
    } else {
      const bool low = k.below<0.05, high = k.below> 0.95;
      row.insert(row.end(), {volt(k.middle_v), volt(k.low_v), volt(k.high_v)});
      row.push_back(stands_out(k) ? (low ? "OUT, low" : "OUT, high") : low ? "low" : high ? "high" : "in");
    }
    t.rows.push_back(std::move(row));
  }
  t.notes = {"In: between 5 and 95 %, as nine of ten sound boxes are. Out: beyond 99 of 100."};
  return t;
}

ValueTable quantity_table(const DiagnosisReport& r) {
  if (r.diagnosis.known && !r.diagnosis.explained) return {};
  ValueTable t;
  t.caption = "What is in the box: as drawn, and where nine of ten boxes with these readings lie";
  t.columns = {"", "drawn", "likely", "5 %", "95 %", "told by"};
  t.words_last = true;
  const Diagnosis& d = r.diagnosis;
  constexpr double kTold = 0.15;  // narrowed by less: the readings say nothing of it
  for (std::size_t q = 0; q < d.quantities.size(); ++q) {
    const QuantityTold& told = d.quantity[q];
    const Quantity& what = d.quantities[q];
    if (what.kind == Quantity::Kind::part && told.narrowed < kTold) continue;
    std::string by;
    if (told.decided_by >= 0 && told.narrowed >= kTold)
      by = label_of(d.readings[static_cast<std::size_t>(told.decided_by)]);
    t.rows.push_back({what.label, value_in(what, what.drawn), value_in(what, told.middle),
                      value_in(what, told.low), value_in(what, told.high), by});
  }
  t.notes = {
      "Current of a section: against its type at the voltages of the drawn rest point, 100 % being the "
      "card's tube. "
      "Parts that are not listed are anywhere within their tolerance. Told by: the reading without which "
      "it would be least sure."};
  return t;
}

std::vector<std::string> next_in_words(const DiagnosisReport& r) {
  const Diagnosis& d = r.diagnosis;
  constexpr double kLittleDoubt = 0.2, kLittleGain = 0.05;  // bits
  if (!d.known) return {};
  if (!d.explained)
    return {
        "Read all of them once more, the supply first, each from the node that its name says. A reading that "
        "comes out otherwise is where it was; if none does, this is not the design that is in the box."};
  const std::string doubt = significant_text(d.doubt_bits, 2, 2);
  if (d.next.empty())
    return {"Everything has been read that a meter can. What is left is to lift parts out."};
  const NextTold& best = d.next.front();
  const std::string label = label_of(d.readings[static_cast<std::size_t>(best.reading)]);
  if (best.bits < kLittleGain)
    return {d.doubt_bits < kLittleDoubt
                ? "No further reading would tell much: there is little doubt left."
                : "No further reading would tell much; the doubt that is left needs power off and a part "
                  "lifted, or another tube."};
  const double share = std::min(1.0, best.bits / std::max(d.doubt_bits, 1e-9));
  std::vector<std::string> out{"Read " + label + " next, expected between " + volt(best.low_v) + " and " +
                               volt(best.high_v) + ": it should settle " + fixed_text(100 * share, 0) +
                               " % of the doubt about what it is (" + significant_text(best.bits, 2, 2) +
                               " of " + doubt + " bits)."};
  if (d.next.size() > 1 && d.next[1].bits > kLittleGain)
    out.push_back("Then " + label_of(d.readings[static_cast<std::size_t>(d.next[1].reading)]) + " (" +
                  significant_text(d.next[1].bits, 2, 2) + " bits by itself).");
  return out;
}

std::vector<std::string> change_in_words(const DiagnosisReport& r) {
  const WhatToChange& c = r.change;
  switch (c.advice) {
    case WhatToChange::Advice::leave_it:
      return {
          "Leave it: with these tubes balance, current and distortion are as near to what was drawn as one "
          "lets "
          "pass."};
    case WhatToChange::Advice::change:
      return {"Change " + turned(r.design, *c.part, c.value) + " (E24), with the tubes that are in it."};
    case WhatToChange::Advice::change_two:
      return {"Change " + turned(r.design, *c.part, c.value) + " and " +
              turned(r.design, *c.second, c.second_value) +
              " (E24), with the tubes that are in it. One of them alone does not bring the figures back."};
    case WhatToChange::Advice::no_help:
      return {"Neither one resistor nor two bring the figures back; another tube is the nearer way."};
    case WhatToChange::Advice::fault_first:
      return {"Change nothing yet: find the fault first, then read again."};
    case WhatToChange::Advice::unknown:
      break;
  }
  return {"What to change is not told: as it seems, the box does not reach its target."};
}

ValueTable change_table(const DiagnosisReport& r) {
  ValueTable t;
  if (r.change.figures.empty()) return t;
  const bool changed = r.change.part != nullptr;
  t.columns = {"", "drawn", "as it is", "5 %", "95 %"};
  if (changed) t.columns.insert(t.columns.end(), {"then", "5 %", "95 %"});
  for (const FigureThen& f : r.change.figures) {
    const auto text = [&](double v) { return engineering_text(v, f.figure->unit, 3); };
    std::vector<std::string> row{std::string(f.figure->label), text(f.drawn), text(f.middle), text(f.low),
                                 text(f.high)};
    if (changed) row.insert(row.end(), {text(f.then_middle), text(f.then_low), text(f.then_high)});
    t.rows.push_back(std::move(row));
  }
  return t;
}

std::vector<std::string> grounds(const DiagnosisReport& r) {
  const Diagnosis& d = r.diagnosis;
  std::vector<std::string> out;
  out.push_back("Meter: " + engineering_text(r.meter_ohm, "ohm") + ", solved as a part of the circuit; " +
                engineering_text(r.accuracy_pct, "%") + " of the reading and its last digit.");
  out.push_back(
      "Before any reading one box in two is taken to have a fault" +
      std::string(r.pairs ? ", one in twenty two of them" : "") +
      "; how often each happens is common practice, no published source. The figures are as good as that, "
      "and as the list of faults: what is not in it gets no chance.");
  if (std::any_of(d.taken.begin(), d.taken.end(), [&](const ReadingTold& t) {
        return d.readings[static_cast<std::size_t>(t.reading)].kind == BenchReading::Kind::signal;
      }))
    out.push_back(
        "Signals: small-signal gain at their frequency, solved with the fault in it, the generator at the "
        "input itself and overall feedback off; 2 % beside the meters for what is not small.");
  double effective = 0, tail = -1;
  int draws = 0;
  for (const FaultTold& t : d.told)
    if (t.draws > 0 && t.probability > 0.05) {
      effective += t.effective;
      draws += t.draws;
      tail = std::max(tail, t.tail);
    }
  if (draws > 0)
    out.push_back("Posterior by importance sampling: " + std::to_string(draws) + " draws, worth " +
                  fixed_text(effective, 0) + " even ones, worst Pareto k " + fixed_text(tail, 2) +
                  (tail > 0.7 ? " (above 0.7: take the last digit lightly)." : "."));
  return out;
}

}  // namespace antiphase
