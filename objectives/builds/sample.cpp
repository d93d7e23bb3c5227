#include "objectives/builds/sample.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "objectives/builds/readings.h"

namespace antiphase {
namespace {

void count_missed(std::vector<LimitMissed>& into, const LimitMissed& m) {
  const auto it = std::find_if(into.begin(), into.end(), [&](const LimitMissed& x) {
    return x.name == m.name && x.section == m.section;
  });
  if (it == into.end())
    into.push_back(m);
  else
    it->builds += m.builds;
}

double room(const LimitResult& r) {
  return r.at_least ? r.value - r.limit : r.limit - r.value;
}

const LimitResult* same_limit(const std::vector<LimitResult>& in, const LimitResult& as) {
  const auto it = std::find_if(in.begin(), in.end(), [&](const LimitResult& r) {
    return r.name == as.name && r.section == as.section && r.at_least == as.at_least;
  });
  return it == in.end() || !it->known ? nullptr : &*it;
}

}  // namespace

bool judged_by_nominal(const LimitResult& r) {
  if (r.name == kPartsOnHand) return true;
  const Limit* limit = find_limit(r.name);
  return limit && limit->of_printed_value;
}

Demands demands_on_builds(Demands demands) {
  for (const Limit& limit : limits())
    if (limit.of_printed_value) leave_out(limit, demands.factors);
  demands.parts_left_out = true;
  return demands;
}

bool build_keeps(const Demands& demands, const Design& build, const Evaluation& e) {
  if (e.at_target.solved != Solved::yes) return false;
  const std::vector<LimitResult> all = check_demands(demands, build, e);
  return std::all_of(all.begin(), all.end(),
                     [](const LimitResult& r) { return r.kept || judged_by_nominal(r); });
}

std::vector<const Figure*> measured_of_builds(Depth depth) {
  std::vector<const Figure*> all;
  for (const Figure& f : figures())
    if (f.needs <= depth) all.push_back(&f);
  for (const Figure& f : readings()) all.push_back(&f);
  return all;
}

BuildSampler::BuildSampler(const BuildModel& model, const Demands& demands, int builds, std::uint64_t seed)
    : model_(model),
      demands_(demands),
      points_(engine::SobolPoints::kMostDimensions, seed),
      depth_(std::max(Depth::full, needed_depth(demands))) {
  sample_.builds = builds;
  sample_.unit.assign(model.varied().size(), std::vector<double>(builds));
  for (const Figure* f : measured_of_builds(depth_))
    sample_.column.push_back({f, std::vector<double>(builds), std::vector<char>(builds)});
  sample_.kept.assign(builds, 0);
  sample_.reached.assign(builds, 0);
  piece_.resize(pieces());
}

int BuildSampler::pieces() const {
  return (sample_.builds + kPiece - 1) / kPiece;
}

void BuildSampler::work(int piece) {
  const int first = piece * kPiece, last = std::min(sample_.builds, first + kPiece);
  std::array<double, engine::SobolPoints::kMostDimensions> unit{};
  const std::size_t properties = model_.varied().size();
  Evaluation e;
  for (int k = first; k < last; ++k) {
    model_.draw(points_, static_cast<std::uint32_t>(k), unit);
    for (std::size_t p = 0; p < properties; ++p) sample_.unit[p][k] = unit[p];
    const Design build = model_.build({unit.data(), properties});
    evaluate(build, depth_, e);
    for (BuildColumn& column : sample_.column) {
      const std::optional<double> v = column.figure->measure(build, e);
      column.known[k] = v && std::isfinite(*v);
      column.value[k] = column.known[k] ? *v : 0;
    }
    const bool reached = e.at_target.solved == Solved::yes;
    sample_.reached[k] = reached;
    bool kept = reached;
    for (const LimitResult& r : check_demands(demands_, build, e))
      if (!r.kept && !judged_by_nominal(r)) {
        kept = false;
        count_missed(piece_[piece].missed, {r.name, r.label, r.section, 1});
      }
    sample_.kept[k] = kept;
  }
}

BuildSample BuildSampler::finish() {
  for (const Piece& p : piece_)
    for (const LimitMissed& m : p.missed) count_missed(sample_.missed, m);
  std::stable_sort(sample_.missed.begin(), sample_.missed.end(),
                   [](const LimitMissed& a, const LimitMissed& b) { return a.builds > b.builds; });
  return std::move(sample_);
}

SpreadRow spread_row(const BuildModel& model, const BuildSample& sample, std::size_t column,
                     const Evaluation& nominal) {
  const BuildColumn& c = sample.column[column];
  SpreadRow row;
  row.figure = c.figure;
  if (const auto v = c.figure->measure(model.nominal(), nominal); v && std::isfinite(*v)) row.nominal = v;
  std::vector<double> sorted;
  std::vector<std::size_t> builds;  // that have the figure
  for (std::size_t k = 0; k < c.value.size(); ++k)
    if (c.known[k]) {
      sorted.push_back(c.value[k]);
      builds.push_back(k);
    }
  row.known = static_cast<int>(sorted.size());
  if (sorted.empty()) return row;
  const std::vector<double> values = sorted;
  for (double v : values) row.mean += v;
  row.mean /= static_cast<double>(values.size());
  for (double v : values) row.deviation += (v - row.mean) * (v - row.mean);
  row.deviation = std::sqrt(row.deviation / static_cast<double>(std::max<std::size_t>(1, values.size() - 1)));
  const auto [least, most] = std::minmax_element(values.begin(), values.end());
  row.least = *least;
  row.most = *most;
  row.low = engine::quantile_of(sorted, 0.05);
  row.median = engine::quantile_of(sorted, 0.5);
  row.high = engine::quantile_of(sorted, 0.95);
  std::vector<double> unit(values.size());
  for (const std::vector<double>& draws : sample.unit) {
    if (values.size() == draws.size()) {  // every build has it
      row.index.push_back(engine::first_order_index(draws, values));
      continue;
    }
    for (std::size_t k = 0; k < builds.size(); ++k) unit[k] = draws[builds[k]];
    row.index.push_back(engine::first_order_index(unit, values));
  }
  return row;
}

SpreadSummary spread_summary(const BuildModel& model, const BuildSample& sample) {
  SpreadSummary s;
  s.builds = sample.builds;
  s.kept = static_cast<int>(std::count(sample.kept.begin(), sample.kept.end(), 1));
  s.reached = static_cast<int>(std::count(sample.reached.begin(), sample.reached.end(), 1));
  s.missed = sample.missed;
  if (s.builds == 0) return s;
  s.yield = static_cast<double>(s.kept) / s.builds;
  s.yield_95 = engine::wilson_interval(s.kept, s.builds, 0.95);
  const std::vector<double> kept(sample.kept.begin(), sample.kept.end());
  for (std::size_t p = 0; p < model.varied().size(); ++p) {
    s.yield_index.push_back(engine::first_order_index(sample.unit[p], kept));
    double weight = 0, good = 0;
    for (std::size_t k = 0; k < kept.size(); ++k) {
      const double w = model.weight_if_halved(p, sample.unit[p][k]);
      weight += w;
      good += w * kept[k];
    }
    s.tightened.push_back({weight > 0 ? good / weight : s.yield});
  }
  return s;
}

std::vector<Corner> corners(const BuildModel& model, const Demands& demands) {
  const std::size_t properties = model.varied().size();
  const Depth depth = std::max(Depth::full, needed_depth(demands));
  const auto limits_at = [&](const std::vector<double>& deviation) {
    Evaluation e;
    const Design d = model.build_at(deviation);
    evaluate(d, depth, e);
    return check_demands(demands, d, e);
  };
  std::vector<double> none(properties, 0.0);
  for (std::size_t p = 0; p < properties; ++p)
    if (model.varied()[p].kind == BuildProperty::emission) none[p] = 1;  // a new tube
  const std::vector<LimitResult> nominal = limits_at(none);
  std::vector<std::array<std::vector<LimitResult>, 2>> moved(properties);
  for (std::size_t p = 0; p < properties; ++p)
    for (std::size_t side = 0; side < 2; ++side) {
      std::vector<double> z = none;
      z[p] = side == 0 ? -1 : 1;
      moved[p][side] = limits_at(z);
    }
  std::vector<Corner> all;
  for (const LimitResult& limit : nominal) {
    if (!limit.known || judged_by_nominal(limit)) continue;
    Corner c{limit, limit, {}, {}, true};
    std::vector<double> z = none, lost(properties, 0.0);
    for (std::size_t p = 0; p < properties; ++p)
      for (std::size_t side = 0; side < 2; ++side)
        if (const LimitResult* r = same_limit(moved[p][side], limit)) {
          const double loss = room(limit) - room(*r);
          if (loss > lost[p]) {
            lost[p] = loss;
            z[p] = side == 0 ? -1 : 1;
          }
        }
    std::vector<std::size_t> order(properties);
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return lost[a] > lost[b]; });
    const double all_lost = std::accumulate(lost.begin(), lost.end(), 0.0);
    constexpr double kMatters = 0.02;  // of all the room that is lost
    for (std::size_t p : order)
      if (lost[p] > kMatters * all_lost && all_lost > 0) {
        c.at.push_back(p);
        c.towards.push_back(z[p] < 0 ? -1 : 1);
      }
    const std::vector<LimitResult> at_corner = limits_at(z);
    if (const LimitResult* r = same_limit(at_corner, limit))
      c.worst = *r;
    else
      c.solved = false;
    all.push_back(std::move(c));
  }
  std::stable_sort(all.begin(), all.end(), [](const Corner& a, const Corner& b) {
    return a.solved != b.solved ? !a.solved : a.worst.margin_pct < b.worst.margin_pct;
  });
  return all;
}

}  // namespace antiphase
