// Fronts by our method and by the independent library's NSGA-II and MOEA/D, all by everything seen: share of
// the true front's volume at equal numbers of judgements, then whether ours with a tenth of them holds as
// much. Prints, asserts nothing. Arguments: number of seeds (3), "demo" or "published" for one half only.
#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <functional>
#include <limits>
#include <string>
#include <vector>

#include "configs/read_brief.h"
#include "objectives/design_problem.h"
#include "optimize/engine/random_numbers.h"
#include "tests/rivals/front_evolution.h"
#include "tests/rivals/front_problems.h"
#include "tests/rivals/independent_library.h"

using namespace antiphase;
using namespace antiphase::engine;
using namespace antiphase::engine::rivals;

namespace {

constexpr std::array kBudgets{200, 1000, 2000, 5000, 10000, 50000};
constexpr std::array kTens{2000, 10000, 50000};  // of the library; ours has a tenth

std::vector<Point> ours(const Problem& problem, int evaluations, std::uint64_t seed) {
  FrontTask task;
  task.base.problem = &problem;
  task.base.evaluations = evaluations;
  task.base.seed = seed;
  return front_evolution(task).front;
}

using Front = std::function<std::vector<Point>(int evaluations, unsigned seed)>;
using Volume = std::function<double(const std::vector<Point>&)>;

struct Spread {
  double worst = std::numeric_limits<double>::infinity(), mean = 0;
};

Spread over_seeds(const Front& front, const Volume& volume, int evaluations, int seeds) {
  Spread s;
  for (int seed = 1; seed <= seeds; ++seed) {
    const double v = volume(front(evaluations, static_cast<unsigned>(seed)));
    s.worst = std::min(s.worst, v);
    s.mean += v / seeds;
  }
  return s;
}

void compare(const std::string& name, const Problem& problem, const Volume& volume, int seeds) {
  const std::array<Front, 3> fronts{
      [&](int n, unsigned seed) { return ours(problem, n, seed); },
      [&](int n, unsigned seed) { return rivals::everything_seen(rivals::Rival::nsga2, problem, n, seed); },
      [&](int n, unsigned seed) { return rivals::everything_seen(rivals::Rival::moead, problem, n, seed); }};
  constexpr std::array kNames{"ours", "NSGA-II", "MOEA/D"};
  std::array<std::array<Spread, kBudgets.size()>, 3> table;
  for (std::size_t m = 0; m < 3; ++m) {
    std::printf("%-7s %-8s", m == 0 ? name.c_str() : "", kNames[m]);
    for (std::size_t b = 0; b < kBudgets.size(); ++b) {
      table[m][b] = over_seeds(fronts[m], volume, kBudgets[b], seeds);
      std::printf("  %.4f/%.4f", table[m][b].worst, table[m][b].mean);
      std::fflush(stdout);
    }
    std::printf("\n");
  }
  const auto mean = [&](std::size_t m, int budget) {
    const auto at = std::find(kBudgets.begin(), kBudgets.end(), budget) - kBudgets.begin();
    return table[m][static_cast<std::size_t>(at)].mean;
  };
  std::printf("%-7s equal:  ", "");
  for (const int n : kTens)
    std::printf("  %6d %s", n, mean(0, n) >= std::max(mean(1, n), mean(2, n)) ? "holds" : "FAILS");
  std::printf("   a tenth:");
  for (const int n : kTens)
    std::printf("  %6d %s", n, mean(0, n / 10) >= std::max(mean(1, n), mean(2, n)) ? "holds" : "FAILS");
  std::printf("\n");
}

/// Share of a box, from the ideal to a tenth past the nadir of a set, that a front dominates: of the same
/// 50000 random places each time, so good to 0.2 %, and differences to less.
class SampledVolume {
 public:
  SampledVolume(const std::vector<Point>& set, int objectives) : n_(objectives), places_(50000) {
    std::array<double, kMaxObjectives> low{}, high{};
    for (int o = 0; o < n_; ++o) {
      low[o] = std::numeric_limits<double>::infinity(), high[o] = -low[o];
      for (const Point& p : set) {
        low[o] = std::min(low[o], p.judged.objective[o]);
        high[o] = std::max(high[o], p.judged.objective[o]);
      }
    }
    RandomNumbers random(1);
    for (auto& place : places_)
      for (int o = 0; o < n_; ++o) place[o] = low[o] + 1.1 * (high[o] - low[o]) * random.unit();
  }
  double operator()(const std::vector<Point>& front) const {
    int below = 0;
    for (const auto& place : places_)
      below += std::any_of(front.begin(), front.end(), [&](const Point& p) {
        for (int o = 0; o < n_; ++o)
          if (p.judged.objective[o] > place[o]) return false;
        return true;
      });
    return static_cast<double>(below) / static_cast<double>(places_.size());
  }

 private:
  int n_;
  std::vector<std::array<double, kMaxObjectives>> places_;
};

int demo(int seeds) {
  const std::string configs = ANTIPHASE_SOURCE "/configs";
  const auto library = read_tube_library(configs + "/tubes");
  if (!std::holds_alternative<TubeLibrary>(library)) return 3;
  const auto read = read_brief(configs + "/briefs/rehearsal_room.json", std::get<TubeLibrary>(library));
  if (!std::holds_alternative<Brief>(read)) return 2;
  const Brief& brief = std::get<Brief>(read);
  const DesignProblem problem(brief.space, brief.demands);
  const Family& family = problem.families().front();
  std::printf("\n\"%s\", %s, four objectives; share of the box around all fronts of 50000 judgements\n",
              brief.title.c_str(), family.name.c_str());
  for (const bool parts : {false, true}) {
    const Problem& p = parts ? family.parts : family.ideal;
    Archive all(p.objectives);
    for (const Point& point : ours(p, 50000, 1)) all.insert(point);
    for (const rivals::Rival rival : {rivals::Rival::nsga2, rivals::Rival::moead})
      for (const Point& point : rivals::everything_seen(rival, p, 50000, 1)) all.insert(point);
    if (all.empty()) {
      std::printf("nothing feasible was found\n");
      continue;
    }
    const SampledVolume volume(all.members(), p.objectives);
    std::printf("%s: all of them together %.4f\n", parts ? "parts" : "ideal", volume(all.members()));
    compare(parts ? "parts" : "ideal", p, volume, seeds);
  }
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  const int seeds = argc > 1 ? std::max(1, std::atoi(argv[1])) : 3;
  const std::string half = argc > 2 ? argv[2] : "";
  std::printf("worst/mean of %d seeds after", seeds);
  for (const int n : kBudgets) std::printf(" %d", n);
  std::printf(" judgements\n");
  if (half != "demo")
    for (const published::FrontProblem& f : published::front_problems())
      compare(
          f.name, f.problem, [&](const std::vector<Point>& front) { return share(f, front); }, seeds);
  return half == "published" ? 0 : demo(seeds);
}
