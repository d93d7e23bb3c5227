#include "objectives/diagnosis/diagnosis.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

namespace antiphase {
namespace {

/// Whether what is most probable gives the readings as a meter shows them, with tubes and parts that are not
/// absurd. A sound box misses them by once the meter's error, and no tube or part is five deviations off.
bool explained(const Diagnosis& d) {
  constexpr double kFarOff = 4, kAbsurd = 5;
  double weight = 0, squares = 0;
  Deviates off{};
  for (const PosteriorDraw& draw : d.draws) {
    if (draw.fault != d.told.front().fault) continue;
    weight += draw.weight;
    for (const ReadingTold& t : d.taken) {
      const double apart = (t.shown_v - draw.shown[static_cast<std::size_t>(t.reading)]) / t.deviation_v;
      squares += draw.weight * apart * apart;
    }
    for (std::size_t i = 0; i < off.size(); ++i) off[i] += draw.weight * std::abs(draw.z[i]);
  }
  const double most = *std::max_element(off.begin(), off.end());
  return weight > 0 && squares < weight * kFarOff * kFarOff * static_cast<double>(d.taken.size()) &&
         most < weight * kAbsurd;
}

constexpr double kFar = std::numeric_limits<double>::infinity();
// Half the squares that the meter's errors and the deviates leave beyond those of a right answer: no chance.
constexpr double kHopeless = 60;
constexpr double kNoChance = 12;         // e^-12 beside the best: not looked at any further
constexpr std::size_t kMostLooked = 40;  // faults that are

constexpr std::size_t at(int n) {
  return static_cast<std::size_t>(n);
}

int laws_of(const Design& d) {
  int laws = 1;
  for (const Element& e : circuit_of(d))
    if (e.kind == ElementKind::triode) laws = std::max(laws, section_of(d, e).tube->credible_laws());
  return laws;
}

}  // namespace

struct Diagnosing::Parts {
  Parts(const Design& d, const Tolerances& tolerances, const Taken& t, const DiagnosisAsk& a)
      : taken(t), ask(a) {
    const int laws = laws_of(d);
    for (int law = 0; law < laws; ++law) models.emplace_back(d, tolerances, law, a.meter_ohm, a.more);
    const auto& readings = models.front().readings();
    bool signals = false;
    for (std::size_t k = 0; k < readings.size(); ++k)
      signals |= t.has(k) && readings[k].kind == BenchReading::Kind::signal;
    faults = faults_of(d, signals);
    const double pairs = a.pairs ? kPairShare * a.fault_share : 0;
    share_out(1, faults.size(), a.fault_share - pairs);
    singles = faults.size();
    if (a.pairs) {
      for (std::size_t i = 1; i < singles; ++i)
        for (std::size_t k = i + 1; k < singles; ++k)
          if (can_be_together(faults[i], faults[k])) faults.push_back(both_of(faults[i], faults[k]));
      share_out(singles, faults.size(), pairs);
    }
    before.resize(faults.size());
    before[0] = 1 - a.fault_share;
    for (std::size_t k = 1; k < faults.size(); ++k) before[k] = faults[k].rate;
    // Pairs of faults are many: they are screened under the first law alone.
    for (std::size_t k = 0; k < faults.size(); ++k)
      for (int law = 0; law < (k < singles ? laws : 1); ++law) screened.push_back({k, law});
  }
  void share_out(std::size_t first, std::size_t last, double share) {
    double all = 0;
    for (std::size_t k = first; k < last; ++k) all += faults[k].rate;
    for (std::size_t k = first; k < last; ++k) faults[k].rate *= share / all;
  }

  Taken taken;
  DiagnosisAsk ask;
  std::vector<BenchModel> models;
  std::vector<Fault> faults;
  std::size_t singles = 0;  ///< of the faults; pairs follow
  std::vector<double> before;

  /// A first look at a fault under one law.
  struct Screened {
    std::size_t fault;
    int law;
    double log_evidence = -kFar;
    Deviates z{};
  };
  std::vector<Screened> screened;
  bool patient = false;  ///< nothing is given up as hopeless

  /// A fault under one law that is looked at closely.
  struct Close {
    std::size_t fault;
    int law;
    Deviates start{};
    Fit fit;
    Draws draws;
    double log_weight = -kFar;  ///< prior and evidence
    int asked = 0;              ///< draws
  };
  std::vector<Close> close;

  /// Fits, under every law, the faults that screening leaves a chance.
  void look_closely() {
    std::vector<double> weight(faults.size(), -kFar);
    std::vector<const Screened*> best(faults.size(), nullptr);
    for (const Screened& s : screened) {
      const double w = s.log_evidence + std::log(before[s.fault]);
      if (best[s.fault] && w <= weight[s.fault]) continue;
      weight[s.fault] = w;
      best[s.fault] = &s;
    }
    std::vector<std::size_t> order(faults.size());
    std::iota(order.begin(), order.end(), 0u);
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return weight[a] > weight[b]; });
    for (std::size_t i = 0; i < std::min(order.size(), kMostLooked); ++i)
      if (weight[order[i]] > weight[order[0]] - kNoChance) look_closely_at(order[i], best[order[i]]->z);
  }
  void look_closely_at(std::size_t fault, const Deviates& near) {
    for (int law = 0; law < static_cast<int>(models.size()); ++law) {
      Close& c = close.emplace_back();
      c.fault = fault;
      c.law = law;
      const auto own = std::find_if(screened.begin(), screened.end(), [&](const Screened& s) {
        return s.fault == fault && s.law == law && s.log_evidence > -kFar;
      });
      fit_from(models[at(law)], faults[fault], taken, own == screened.end() ? near : own->z, c.fit);
      if (c.fit.known) c.log_weight = c.fit.log_evidence + log_before(c);
    }
  }
  /// Each law of a tube is as good as another.
  double log_before(const Close& c) const {
    return std::log(before[c.fault] / static_cast<double>(models.size()));
  }

  double most_weight() const {
    double most = -kFar;
    for (const Close& c : close) most = std::max(most, c.log_weight);
    return most;
  }
  void share_out_draws() {
    constexpr double kLeastShare = 0.002;
    constexpr int kLeastDraws = 100;
    const double most = most_weight();
    double all = 0;
    for (const Close& c : close) all += std::exp(c.log_weight - most);
    for (Close& c : close) {
      const double share = std::exp(c.log_weight - most) / all;
      if (share > kLeastShare) c.asked = std::max(kLeastDraws, static_cast<int>(share * ask.draws));
    }
  }
  void draw(Close& c) const {
    constexpr double kTrusted = 0.7;
    constexpr int kMore = 4;
    if (c.asked == 0) return;
    const BenchModel& m = models[at(c.law)];
    c.draws = draw_posterior(m, faults[c.fault], taken, c.fit, c.asked, ask.seed);
    if (c.draws.tail > kTrusted)
      c.draws = draw_posterior(m, faults[c.fault], taken, c.fit, kMore * c.asked, ask.seed + 1);
    c.log_weight = c.draws.log_evidence + log_before(c);
  }

  /// What each fault weighs beside the best, over the laws; of those that were not looked at closely what
  /// screening said, in case it adds up.
  std::vector<double> weights() const {
    const double most = most_weight();
    std::vector<double> weight(faults.size(), 0);
    std::vector<char> looked(faults.size(), 0);
    for (const Close& c : close) {
      weight[c.fault] += std::exp(c.log_weight - most);
      looked[c.fault] = 1;
    }
    for (const Screened& s : screened)
      if (!looked[s.fault])
        weight[s.fault] += std::exp(s.log_evidence - most) * before[s.fault] /
                           static_cast<double>(s.fault < singles ? models.size() : 1);
    return weight;
  }

  FaultTold told(std::size_t fault) const {
    FaultTold t;
    t.fault = fault;
    t.before = before[fault];
    double largest = -kFar;
    for (const Close& c : close) {
      if (c.fault != fault || !c.fit.known) continue;
      const auto draws = static_cast<int>(c.draws.z.size());
      if (draws > 0) t.tail = t.draws > 0 ? std::max(t.tail, c.draws.tail) : c.draws.tail;
      t.draws += draws;
      t.effective += c.draws.effective;
      if (c.log_weight <= largest) continue;
      largest = c.log_weight;
      for (int m = 0; m < faults[fault].magnitudes; ++m)
        t.size[at(m)] = BenchModel::size_of(faults[fault], m, c.fit.z[at(models.front().scattered() + m)]);
    }
    return t;
  }

  /// Those that were looked at, and "only scatter", the most probable first.
  std::vector<FaultTold> all_told() const {
    constexpr double kNeither = 1.25;  // times more or less probable than before, beside "only scatter"
    const std::vector<double> weight = weights();
    const double all = std::accumulate(weight.begin(), weight.end(), 0.0);
    std::vector<FaultTold> out;
    for (std::size_t k = 0; k < weight.size(); ++k) {
      const bool looked =
          std::any_of(close.begin(), close.end(), [&](const Close& c) { return c.fault == k; });
      if (!looked && k > 0) continue;
      FaultTold t = told(k);
      t.probability = weight[k] / all;
      const double gain = weight[k] / before[k], none_gain = weight[0] / before[0];
      t.unseen = k > 0 && gain < kNeither * none_gain && none_gain < kNeither * gain;
      out.push_back(t);
    }
    std::stable_sort(out.begin(), out.end(),
                     [](const FaultTold& a, const FaultTold& b) { return a.probability > b.probability; });
    return out;
  }

  std::vector<PosteriorDraw> sample() const {
    const double most = most_weight();
    std::vector<PosteriorDraw> out;
    double all = 0;
    for (const Close& c : close)
      for (std::size_t i = 0; i < c.draws.z.size(); ++i) {
        const double each = std::exp(c.log_weight - most) / static_cast<double>(c.draws.z.size());
        const double weight = each * c.draws.weight[i];
        if (!(weight > 0)) continue;
        out.push_back({c.fault, c.law, weight, c.draws.z[i], c.draws.shown[i], c.draws.volts[i]});
        all += weight;
      }
    for (PosteriorDraw& d : out) d.weight /= all;
    return out;
  }

  /// Of one fault under its best law; null: none.
  const Close* best_of(std::size_t fault) const {
    const Close* best = nullptr;
    for (const Close& c : close)
      if (c.fit.known && c.fault == fault && (!best || c.log_weight > best->log_weight)) best = &c;
    return best;
  }
};

Diagnosing::Diagnosing(const Design& d, const Tolerances& tolerances, const Taken& taken,
                       const DiagnosisAsk& ask)
    : p_(std::make_unique<Parts>(d, tolerances, taken, ask)) {}
Diagnosing::~Diagnosing() = default;

const BenchModel& Diagnosing::model(int law) const {
  return p_->models[at(law)];
}
int Diagnosing::laws() const {
  return static_cast<int>(p_->models.size());
}

constexpr int kScreenPiece = 8;

int Diagnosing::screenings() const {
  return (static_cast<int>(p_->screened.size()) + kScreenPiece - 1) / kScreenPiece;
}

void Diagnosing::screen(int piece) {
  Fit f;
  const auto last = std::min(p_->screened.size(), at((piece + 1) * kScreenPiece));
  for (auto k = at(piece * kScreenPiece); k < last; ++k) {
    Parts::Screened& s = p_->screened[k];
    // The right one leaves about half a square for each reading.
    const double hopeless = kHopeless + 0.5 * p_->taken.count();
    fit(model(s.law), p_->faults[s.fault], p_->taken, p_->patient ? kFar : hopeless, f);
    if (!f.known) continue;
    s.log_evidence = f.log_evidence;
    s.z = f.z;
  }
}

void Diagnosing::choose() {
  const bool none_fits = std::none_of(p_->screened.begin(), p_->screened.end(),
                                      [](const Parts::Screened& s) { return s.log_evidence > -kFar; });
  if (none_fits) {  // nothing in the list explains the readings: the nearest is told all the same
    p_->patient = true;
    for (int piece = 0; piece < screenings(); ++piece) screen(piece);
  }
  p_->look_closely();
  p_->share_out_draws();
}

int Diagnosing::drawings() const {
  return static_cast<int>(p_->close.size());
}

void Diagnosing::draw(int piece) {
  p_->draw(p_->close[at(piece)]);
}

Diagnosis Diagnosing::finish() {
  Diagnosis out;
  out.readings = model(0).readings();
  BenchPoint drawn;
  if (model(0).read({}, {}, false, model(0).everything(), drawn)) out.drawn_v = drawn.shown;
  out.faults = p_->faults;
  const Quantities quantities(model(0));
  out.quantities = quantities.list();
  if (!(p_->most_weight() > -kFar)) return out;
  out.known = true;
  out.told = p_->all_told();
  constexpr double kSet = 0.9;
  double sum = 0;
  for (const FaultTold& t : out.told) {
    if (sum < kSet) ++out.first_set;
    sum += t.probability;
    if (t.probability > 0) out.doubt_bits -= t.probability * std::log2(t.probability);
  }
  out.draws = p_->sample();
  out.quantity = told_of(quantities, p_->models, p_->faults, out.draws, p_->ask.seed);
  if (const Parts::Close* best = p_->best_of(out.told.front().fault))
    tell_what_decided(quantities, model(best->law), p_->faults[best->fault], p_->taken, best->fit,
                      out.quantity);
  for (std::size_t k = 0; k < out.readings.size(); ++k)
    if (p_->taken.has(k)) out.taken.push_back(expectation(p_->models, p_->taken, k, p_->screened.front().z));
  out.explained = explained(out);
  out.next = next_readings(out.readings, p_->taken, out.draws, p_->ask.seed);
  return out;
}

double Diagnosis::probability(std::string_view fault) const {
  for (const FaultTold& t : told)
    if (faults[t.fault].name == fault) return t.probability;
  return 0;
}

Diagnosis diagnose(const Design& d, const Tolerances& tolerances, const Taken& taken,
                   const DiagnosisAsk& ask) {
  Diagnosing work(d, tolerances, taken, ask);
  for (int k = 0; k < work.screenings(); ++k) work.screen(k);
  work.choose();
  for (int k = 0; k < work.drawings(); ++k) work.draw(k);
  return work.finish();
}

}  // namespace antiphase
