#include "objectives/diagnosis/faults.h"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "objectives/builds/faulty_parts.h"
#include "stagemodels/circuits/designators.h"
#include "stagemodels/circuits/places.h"

namespace antiphase {
namespace {

using What = Alteration::What;

// How often, against one open resistor (common practice, no published source). Resistors are taken out of the
// wrong drawer or read wrong by a band more often than they fail.
constexpr double kOpen = 1, kDecade = 1.5, kOffValue = 0.5, kSwapped = 0.5, kLeaking = 2, kShorted = 1,
                 kSolderBridge = 0.3, kDead = 1.5, kWeak = 1.5, kGassy = 0.7, kHeaterLeak = 0.7, kSink = 1,
                 kSilent = 1;

// Sizes that are neither ordinary scatter nor a decade: a band misread, a carbon resistor that has drifted.
constexpr double kLeastOff = 1.1, kMostOff = 4;
constexpr double kLeastLeak_ohm = 500e3, kMostLeak_ohm = 50e6;     // across a capacitor
constexpr double kLeastGas_ohm = 30e6, kMostGas_ohm = 1e9;         // plate to grid
constexpr double kLeastHeater_ohm = 2e3, kMostHeater_ohm = 200e3;  // cathode to heater
constexpr double kWeakest = 0.2, kStillWeak = 0.65;                // share of the current

/// "the bias resistor", "plate resistor 1".
std::string with_article(std::string_view label) {
  const bool numbered = label.back() >= '0' && label.back() <= '9';
  return (numbered || label.starts_with("first stage's") ? "" : "the ") + std::string(label);
}
std::string measure(std::string_view label) {
  return "switch off, discharge, and measure " + with_article(label);
}

class List {
 public:
  List(const Design& d, bool with_signals) : design_(d), c_(circuit_of(d)) {
    all_.emplace_back();
    all_[0].name = "none";
    all_[0].label = "no fault, only scatter";
    defects();
    wrong_values();
    swapped();
    tubes();
    if (with_signals) silent_capacitors();
  }
  std::vector<Fault> take() { return std::move(all_); }

 private:
  const Element& element(int k) const { return c_.element[static_cast<std::size_t>(k)]; }
  bool resistor(int k) const {
    const Element& e = element(k);
    return e.kind == ElementKind::resistor && e.role != Role::feedback && bought(e, design_) &&
           e.stands(design_);
  }
  Fault& add(std::string name, std::string label, std::string look, double rate, int element_place) {
    Fault f;
    f.name = std::move(name);
    f.label = std::move(label);
    f.look = std::move(look);
    f.rate = rate;
    f.element = element_place;
    all_.push_back(std::move(f));
    return all_.back();
  }
  static void alter(Fault& f, const Alteration& a) { f.altered[f.altered_count++] = a; }
  static void size(Fault& f, const Magnitude& m) {
    f.magnitude[static_cast<std::size_t>(f.magnitudes++)] = m;
  }

  /// Those of the measuring sheet that direct voltages show, and open resistors that it leaves out.
  void defects() {
    for (const Defect& d : defects_of(design_)) {
      if (d.none() || d.seen_in_ac_only) continue;
      const int k = d.element;
      const auto altered = d.altered();
      const What what = altered.front().what;
      const bool capacitor = k >= 0 && element(k).kind == ElementKind::capacitor;
      const bool sink = k >= 0 && element(k).kind == ElementKind::sink;
      const double rate = what == What::leaks  ? kLeaking
                          : what == What::dead ? kDead
                          : sink               ? kSink
                          : what == What::open ? kOpen
                          : capacitor          ? kShorted
                                               : kSolderBridge;
      const std::string look =
          what == What::dead ? "look whether the heater glows, then try another tube"
          : capacitor        ? "switch off, discharge, and lift one end of " + with_article(element(k).label)
                             : measure(element(k).label);
      Fault& f = add(d.name, d.label, look, rate, k);
      for (const Alteration& a : altered) {
        if (a.what != What::leaks) {
          alter(f, a);
          continue;
        }
        Magnitude m;
        m.kind = Magnitude::Kind::leak;
        m.leak = {element(a.element).a, element(a.element).b};
        m.low = kLeastLeak_ohm;
        m.high = kMostLeak_ohm;
        size(f, m);
      }
    }
    for (int k = 0; k < c_.elements; ++k) {
      if (!resistor(k) || known_open(k)) continue;
      const Element& e = element(k);
      alter(add(std::string(e.name) + "_open", std::string(e.label) + " open", measure(e.label), kOpen, k),
            {k, What::open, 1});
    }
  }
  bool known_open(int k) const {
    return std::any_of(all_.begin(), all_.end(), [&](const Fault& f) {
      return f.element == k && f.altered_count > 0 && f.altered[0].what == What::open;
    });
  }

  /// Those that pass no signal: at rest nothing is changed.
  void silent_capacitors() {
    for (const Defect& d : defects_of(design_)) {
      if (!d.seen_in_ac_only || d.element < 0 || element(d.element).kind != ElementKind::capacitor) continue;
      alter(add(d.name, d.label,
                "with the power off and discharged clip a good capacitor across " +
                    with_article(element(d.element).label) + ", and read again",
                kSilent, d.element),
            {d.element, What::gone, 1});
    }
  }

  void wrong_values() {
    for (int k = 0; k < c_.elements; ++k) {
      if (!resistor(k)) continue;
      const Element& e = element(k);
      const std::string name(e.name), label(e.label);
      alter(add(name + "_ten_times", label + " ten times its value", measure(label), kDecade, k),
            {k, What::scaled, 10});
      alter(add(name + "_a_tenth", label + " a tenth of its value", measure(label), kDecade, k),
            {k, What::scaled, 0.1});
      Magnitude m;
      m.element = k;
      m.low = kLeastOff;
      m.high = kMostOff;
      size(add(name + "_too_high", label + " too high", measure(label), kOffValue, k), m);
      m.low = 1 / kMostOff;
      m.high = 1 / kLeastOff;
      size(add(name + "_too_low", label + " too low", measure(label), kOffValue, k), m);
    }
  }

  void swapped() {
    constexpr double kTellable = 1.04, kAlike = 10;  // closer values are one; farther ones look different
    for (int i = 0; i < c_.elements; ++i)
      for (int k = i + 1; k < c_.elements; ++k) {
        if (!resistor(i) || !resistor(k)) continue;
        const double ratio = element(k).value(design_) / element(i).value(design_);
        const double apart = std::max(ratio, 1 / ratio);
        if (apart < kTellable || apart > kAlike) continue;
        const std::string a(element(i).label), b(element(k).label);
        Fault& f = add(std::string(element(i).name) + "_swapped_with_" + std::string(element(k).name),
                       a + " and " + b + " swapped", "switch off, discharge, and measure both", kSwapped, -1);
        alter(f, {i, What::scaled, ratio});
        alter(f, {k, What::scaled, 1 / ratio});
      }
  }

  void tubes() {
    unsigned output_stage = 0;
    for (int k = 0; k < c_.elements; ++k) {
      const Element& e = element(k);
      if (e.kind != ElementKind::triode) continue;
      if (e.section < kSplitterSections) output_stage |= 1u << e.section;
      const std::string name(e.name), label(e.label);
      weak(name + "_weak", label + " weak", 1u << e.section, k);
      leak(name + "_gassy", label + " draws grid current (gas, or a leak inside)", "try another tube", kGassy,
           k, {e.a, e.b}, kLeastGas_ohm, kMostGas_ohm);
      if (e.section != 1 || element_of(0).c != e.c)
        leak(name + "_heater_leak", "leak from heater to cathode of " + label, "try another tube",
             kHeaterLeak, k, {e.c, kGround, 1, design_.heater_v}, kLeastHeater_ohm, kMostHeater_ohm);
    }
    if (output_stage == 3u) weak("both_sections_weak", "both sections weak", output_stage, -1);
  }
  const Element& element_of(int section) const { return *c_.section(section); }
  void weak(std::string name, std::string label, unsigned sections, int k) {
    Magnitude m;
    m.kind = Magnitude::Kind::current;
    m.sections = sections;
    m.low = kWeakest;
    m.high = kStillWeak;
    size(add(std::move(name), std::move(label), "try another tube", kWeak, k), m);
  }
  void leak(std::string name, std::string label, std::string look, double rate, int k, const Bridge& between,
            double low, double high) {
    Magnitude m;
    m.kind = Magnitude::Kind::leak;
    m.leak = between;
    m.low = low;
    m.high = high;
    size(add(std::move(name), std::move(label), std::move(look), rate, k), m);
  }

  const Design& design_;
  const Circuit& c_;
  std::vector<Fault> all_;
};

bool touches(const Fault& f, int element) {
  const auto altered = f.alterations();
  return f.element == element || std::any_of(altered.begin(), altered.end(),
                                             [&](const Alteration& a) { return a.element == element; });
}

unsigned sections_of(const Fault& f) {
  unsigned all = 0;
  for (int m = 0; m < f.magnitudes; ++m) all |= f.magnitude[static_cast<std::size_t>(m)].sections;
  return all;
}

}  // namespace

std::vector<Fault> faults_of(const Design& d, bool with_signals) {
  return List(d, with_signals).take();
}

bool can_be_together(const Fault& a, const Fault& b) {
  if (a.none() || b.none() || a.altered_count + b.altered_count > Fault::kMostAltered) return false;
  for (const Alteration& x : a.alterations())
    if (touches(b, x.element)) return false;
  if (a.element >= 0 && touches(b, a.element)) return false;
  return (sections_of(a) & sections_of(b)) == 0 && a.magnitudes + b.magnitudes <= 2;
}

Fault both_of(const Fault& a, const Fault& b) {
  assert(can_be_together(a, b));
  Fault f = a;
  f.name = a.name + "+" + b.name;
  f.label = a.label + ", and " + b.label;
  f.look = a.look == b.look ? a.look : a.look + "; " + b.look;
  f.rate = a.rate * b.rate;
  f.element = -1;
  f.pair = true;
  for (const Alteration& x : b.alterations()) f.altered[f.altered_count++] = x;
  for (int m = 0; m < b.magnitudes; ++m)
    f.magnitude[static_cast<std::size_t>(f.magnitudes++)] = b.magnitude[static_cast<std::size_t>(m)];
  return f;
}

}  // namespace antiphase
