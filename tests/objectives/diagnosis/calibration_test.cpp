// Whether the stated probabilities are what comes out, in simulated boxes of every shipped design: tubes,
// parts, mains, meter and faults drawn from exactly what is stated, so that a right posterior has to hold its
// bands, its ranks have to be even (S. Talts et al., "Validating Bayesian inference algorithms with
// simulation-based calibration", arXiv:1804.06788, 2018), and a fault told with 80 % has to be there in 80 of
// 100.
#include <algorithm>
#include <cstdio>

#include "optimize/engine/run_tasks.h"
#include "tests/objectives/diagnosis/simulated_boxes.h"

using namespace antiphase;
using namespace antiphase::testing;

namespace {

constexpr double kSeen = 2;  // standard deviations of the meter: a reading that it sees move

/// A circuit list's nodes that the element touches, but for ground and the supply, on which everything hangs.
bool touches(const Circuit& c, int element, Node node) {
  const Element& e = c.element[static_cast<std::size_t>(element)];
  return node != kGround && node != c.supply && (e.a == node || e.b == node || e.c == node);
}

/// One design with its laws, and what sound boxes of it read, for the rule of thumb.
struct Stand {
  explicit Stand(const Design& d) : design(d), faults(faults_of(d)) {
    int laws = 1;
    for (const Element& e : circuit_of(d))
      if (e.kind == ElementKind::triode) laws = std::max(laws, section_of(d, e).tube->credible_laws());
    for (int law = 0; law < laws; ++law) models.emplace_back(d, Tolerances{}, law, 10e6);
    everything = (1u << models[0].readings().size()) - 1;
    constexpr int kSound = 400;
    std::vector<std::vector<double>> shown(models[0].readings().size());
    for (int k = 0; k < kSound; ++k) {
      const Box box = draw_box(models, faults, 0, everything, static_cast<std::uint64_t>(k) + 1);
      if (!box.known) continue;
      for (std::size_t r = 0; r < shown.size(); ++r) shown[r].push_back(box.taken.volts[r]);
    }
    for (auto& v : shown) {
      std::sort(v.begin(), v.end());
      middle.push_back(engine::quantile(v, 0.5));
      low.push_back(v.front());
      high.push_back(v.back());
    }
  }

  /// The reading that lies farthest outside of everything that sound boxes read, in widths of that; -1: none.
  int farthest(const Taken& t) const {
    int place = -1;
    double most = 0;
    for (std::size_t k = 0; k < middle.size(); ++k) {
      const double out =
          std::max(low[k] - t.volts[k], t.volts[k] - high[k]) / std::max(0.1, high[k] - low[k]);
      if (out <= most) continue;
      most = out;
      place = static_cast<int>(k);
    }
    return place;
  }

  Design design;
  std::vector<Fault> faults;
  std::vector<BenchModel> models;
  unsigned everything = 0;
  std::vector<double> middle, low, high;
};

struct Answered {
  std::size_t stand = 0;
  Box box;
  Diagnosis diagnosis;
  std::vector<double> truth;  ///< of each quantity
  std::vector<int> rank;      ///< of the truth among kRanks - 1 draws
};
constexpr int kRanks = 20;

int rank_of(double truth, const std::vector<double>& draws, engine::RandomNumbers& random) {
  int less = 0, same = 0;
  for (const double d : draws) {
    less += d < truth;
    same += d == truth;
  }
  return less + (same > 0 ? random.below(same + 1) : 0);
}

Answered answered(const Stand& stand, std::size_t place, int draws, std::uint64_t seed) {
  Answered a;
  a.stand = place;
  a.box = draw_box(stand.models, stand.faults, kFaultShare, stand.everything, seed);
  if (!a.box.known) return a;
  DiagnosisAsk ask;
  ask.draws = draws;
  ask.seed = seed;
  a.diagnosis = diagnose(stand.design, Tolerances{}, a.box.taken, ask);
  const Quantities quantities(stand.models[0]);
  const auto value = [&](std::size_t q, int law, std::size_t fault, const Deviates& z,
                         const NodeVolts& volts) {
    const BenchModel& model = stand.models[static_cast<std::size_t>(law)];
    return quantities.value(q, model, stand.faults[fault], z, model.build(stand.faults[fault], z), volts);
  };
  engine::RandomNumbers random(seed);
  const std::vector<PosteriorDraw> even = thinned(a.diagnosis.draws, kRanks - 1);
  for (std::size_t q = 0; q < quantities.list().size(); ++q) {
    a.truth.push_back(value(q, a.box.law, a.box.fault, a.box.z, a.box.truth.volts));
    std::vector<double> drawn;
    for (const PosteriorDraw& d : even) drawn.push_back(value(q, d.law, d.fault, d.z, d.volts));
    a.rank.push_back(rank_of(a.truth.back(), drawn, random));
  }
  std::vector<PosteriorDraw>().swap(
      a.diagnosis.draws);  // thousands of boxes are kept, so their room goes too
  return a;
}

/// What most quantities of designs have in common.
struct Told {
  std::string_view name;
  std::array<int, kRanks> rank{};
  int boxes = 0, in_half = 0, in_nine_tenths = 0;
};

/// Upper quantile of chi-squared by Wilson and Hilferty's cube (Proc. Natl. Acad. Sci. 17 (1931) 684); off by
/// under 1 % at these degrees.
double chi_squared_quantile(int degrees, double p) {
  const double v = 2.0 / (9 * degrees);
  const double cube = 1 - v + engine::normal_quantile(p) * std::sqrt(v);
  return degrees * cube * cube * cube;
}

std::string share(int hits, int of) {
  char text[80];
  std::snprintf(text, sizeof text, "%d of %d (%.1f %%)", hits, of, of > 0 ? 100.0 * hits / of : 0.0);
  return text;
}

struct Counts {
  int boxes = 0, unexplained = 0, healthy = 0, called_faulty = 0, rule_called_faulty = 0;
  int seen = 0, first = 0, in_set = 0, part = 0, rule_part = 0;
  int readings = 0, in_half = 0, in_nine_tenths = 0;
  double brier = 0, brier_before = 0, worst_bin = 0;
  int sampled = 0, untrusted = 0;
  std::array<int, 10> told{}, true_ones{};
  std::array<double, 10> stated{};
  std::vector<Told> quantities{{"section_1/current_share"}, {"section_1/mu"}, {"section_1/plate_current_a"},
                               {"plate_resistor_1"},        {"tail"},         {"supply"}};
};

/// The rule of thumb gets the part right if the part at fault touches the node that reads farthest off; so
/// generous, because it tells a place and no fault. The posterior has to name the part.
void count_fault(const Stand& stand, const Answered& a, Counts& c) {
  const Circuit& circuit = circuit_of(stand.design);
  const Fault& truth = stand.faults[a.box.fault];
  const auto& told = a.diagnosis.told;
  const auto place =
      std::find_if(told.begin(), told.end(), [&](const FaultTold& t) { return t.fault == a.box.fault; });
  ++c.seen;
  c.first += told.front().fault == a.box.fault;
  c.in_set += place != told.end() && static_cast<std::size_t>(place - told.begin()) < a.diagnosis.first_set;
  std::vector<int> parts;  // at fault: one, or the two that are swapped, or both sections
  if (truth.element >= 0) parts.push_back(truth.element);
  if (parts.empty())
    for (const Alteration& x : truth.alterations()) parts.push_back(x.element);
  if (parts.empty())
    for (int k = 0; k < circuit.elements; ++k)
      if (circuit.element[static_cast<std::size_t>(k)].kind == ElementKind::triode) parts.push_back(k);
  const Fault& said = stand.faults[told.front().fault];
  c.part += told.front().fault == a.box.fault || (said.element >= 0 && said.element == truth.element);
  const int far = stand.farthest(a.box.taken);
  if (far < 0) return;
  const BenchReading& r = stand.models[0].readings()[static_cast<std::size_t>(far)];
  c.rule_part += std::any_of(parts.begin(), parts.end(),
                             [&](int k) { return touches(circuit, k, r.a) || touches(circuit, k, r.b); });
}

void count(const Stand& stand, const Answered& a, Counts& c) {
  if (!a.box.known || !a.diagnosis.known) return;
  ++c.boxes;
  c.unexplained += !a.diagnosis.explained;
  double brier = 1, before = 0;
  for (std::size_t k = 0; k < stand.faults.size(); ++k) {
    double rates = 0;
    for (const Fault& f : stand.faults) rates += f.rate;
    const double p = k == 0 ? 1 - kFaultShare : kFaultShare * stand.faults[k].rate / rates;
    before += (p - (k == a.box.fault)) * (p - (k == a.box.fault));
  }
  for (const FaultTold& t : a.diagnosis.told) {
    const bool right = t.fault == a.box.fault;
    brier += (t.probability - right) * (t.probability - right) - right;
    const auto bin = static_cast<std::size_t>(std::min(9.0, 10 * t.probability));
    ++c.told[bin];
    c.true_ones[bin] += right;
    c.stated[bin] += t.probability;
  }
  c.brier += brier;
  c.brier_before += before;
  if (a.diagnosis.told.front().draws > 0) {
    ++c.sampled;
    c.untrusted += a.diagnosis.told.front().tail > 0.7;
  }
  if (a.box.fault == 0) {
    ++c.healthy;
    c.called_faulty += a.diagnosis.told.front().fault != 0;
    c.rule_called_faulty += stand.farthest(a.box.taken) >= 0;
    for (const ReadingTold& r : a.diagnosis.taken) {
      ++c.readings;
      c.in_half += r.shown_v >= r.quarter_v && r.shown_v <= r.three_quarters_v;
      c.in_nine_tenths += r.shown_v >= r.low_v && r.shown_v <= r.high_v;
    }
  } else if (a.box.most_moved > kSeen) {
    count_fault(stand, a, c);
  }
  for (std::size_t q = 0; q < a.truth.size(); ++q)
    for (Told& t : c.quantities) {
      const QuantityTold& band = a.diagnosis.quantity[q];
      if (a.diagnosis.quantities[q].name != t.name) continue;
      ++t.rank[static_cast<std::size_t>(a.rank[q])];
      if (!(band.high > band.low)) continue;  // of a dead section nothing is unsure
      ++t.boxes;
      t.in_half += a.truth[q] >= band.quarter && a.truth[q] <= band.three_quarters;
      t.in_nine_tenths += a.truth[q] >= band.low && a.truth[q] <= band.high;
    }
}

double uneven(const Told& t) {
  int all = 0;
  for (const int n : t.rank) all += n;
  const double expected = static_cast<double>(all) / kRanks;
  double sum = 0;
  for (const int n : t.rank) sum += (n - expected) * (n - expected) / expected;
  return sum;
}

std::string in_words(const Counts& c) {
  char text[200];
  std::string out;
  const auto add = [&](const auto... of) {
    std::snprintf(text, sizeof text, of...);
    out += text;
  };
  add("%d boxes, %d of them healthy\n", c.boxes, c.healthy);
  out += "true fault first, where the meter sees it: " + share(c.first, c.seen) +
         "; within the nine tenths told: " + share(c.in_set, c.seen) + "\n";
  out += "healthy boxes called faulty: " + share(c.called_faulty, c.healthy) + "\n";
  out += "the part at fault: posterior " + share(c.part, c.seen) + ", rule of thumb " +
         share(c.rule_part, c.seen) +
         "; healthy boxes called faulty by the rule: " + share(c.rule_called_faulty, c.healthy) + "\n";
  add("Brier score %.4f, before any reading %.4f\n", c.brier / c.boxes, c.brier_before / c.boxes);
  out += "reliability: stated, true, told\n";
  for (std::size_t k = 0; k < c.told.size(); ++k)
    if (c.told[k] > 0)
      add("  %5.1f %%  %5.1f %%  %d\n", 100 * c.stated[k] / c.told[k], 100.0 * c.true_ones[k] / c.told[k],
          c.told[k]);
  out += "readings of healthy boxes within what the others let expect: 50 % band " +
         share(c.in_half, c.readings) + ", 90 % band " + share(c.in_nine_tenths, c.readings) + "\n";
  for (const Told& t : c.quantities)
    out += std::string(t.name) + ": 50 % band " + share(t.in_half, t.boxes) + ", 90 % band " +
           share(t.in_nine_tenths, t.boxes) + "\n";
  return out;
}

/// Boxes of all shipped designs in turn.
Counts tried(int boxes, int draws) {
  std::vector<Stand> stands;
  for (const Design& d : shipped_designs()) stands.emplace_back(d);
  std::vector<Answered> all(static_cast<std::size_t>(boxes));
  engine::run_tasks(boxes, 2, [&](int b) {
    const auto k = static_cast<std::size_t>(b), stand = k % stands.size();
    all[k] = answered(stands[stand], stand, draws, 7919u * k + 13);
  });
  Counts c;
  for (const Answered& a : all) count(stands[a.stand], a, c);
  return c;
}

/// Within so many standard deviations of a binomial count. Five: one in two million by luck for each of some
/// thirty counts; what is wrong by a tenth shows at some hundred boxes.
constexpr double kDeviations = 5;
bool binomial(int hits, int of, double p) {
  return std::abs(hits - p * of) <= kDeviations * std::sqrt(p * (1 - p) * of) + 1;
}

}  // namespace

namespace {

void holds_what_it_states(const Counts& c) {
  CHECK(c.brier < 0.5 * c.brier_before);
  for (std::size_t k = 0; k < c.told.size(); ++k) {
    CAPTURE(k);
    if (c.told[k] > 0) CHECK(binomial(c.true_ones[k], c.told[k], c.stated[k] / c.told[k]));
  }
  for (const Told& t : c.quantities) {
    CAPTURE(t.name);
    CHECK(binomial(t.in_half, t.boxes, 0.5));
    CHECK(binomial(t.in_nine_tenths, t.boxes, 0.9));
  }
  // Readings of one box go together: they count as one draw a box.
  const double half = static_cast<double>(c.in_half) / c.readings;
  const double nine_tenths = static_cast<double>(c.in_nine_tenths) / c.readings;
  CHECK(std::abs(half - 0.5) <= kDeviations * std::sqrt(0.25 / c.healthy));
  CHECK(std::abs(nine_tenths - 0.9) <= kDeviations * std::sqrt(0.09 / c.healthy));
}

}  // namespace

TEST_CASE("some simulated boxes: faults are found, bands and probabilities hold as far as so few can tell") {
#ifdef ANTIPHASE_CHECKED
  constexpr int kBoxes = 13;
#else
  constexpr int kBoxes = 78;
#endif
  const Counts c = tried(kBoxes, 600);
  REQUIRE(c.boxes == kBoxes);
  CHECK(c.unexplained == 0);  // each box is one of those that are weighed
  holds_what_it_states(c);
  // Nine tenths are held to in the two thousand below; of so few some four more misses are luck.
  CHECK(c.first >= 0.9 * c.seen - 4);
  CHECK(c.in_set >= 0.9 * c.seen - 2);
  // Under one in fifty is held in the two thousand below. At one in fifty, two of some forty come once in
  // five times, four once in a hundred and twenty.
  CHECK(c.called_faulty <= 3);
}

TEST_CASE("two thousand simulated boxes: bands, ranks and probabilities are what is stated" *
          doctest::test_suite("long")) {
#ifdef ANTIPHASE_CHECKED
  constexpr int kBoxes = 52;
#else
  constexpr int kBoxes = 2000;
#endif
  const Counts c = tried(kBoxes, 1500);
  std::string ranks = "ranks of the truth among 19 draws, chi-squared of 19 degrees (1 in 10000 is above ";
  constexpr double kLevel = 1e-4;
  const double most = chi_squared_quantile(kRanks - 1, 1 - kLevel);
  char text[60];
  std::snprintf(text, sizeof text, "%.1f):", most);
  ranks += text;
  for (const Told& t : c.quantities) {
    std::snprintf(text, sizeof text, " %.1f", uneven(t));
    ranks += text;
    CAPTURE(t.name);
    CHECK(uneven(t) < most);
  }
  MESSAGE(in_words(c) << ranks);
  CHECK(c.boxes == kBoxes);
  holds_what_it_states(c);
  CHECK(c.called_faulty < 0.02 * c.healthy);
  CHECK(c.first >= 0.9 * c.seen);
  CHECK(c.in_set >= 0.9 * c.seen);
  CHECK(c.part > c.rule_part);
  CHECK(c.untrusted < 0.2 * c.sampled);
}
