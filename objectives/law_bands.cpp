#include "objectives/law_bands.h"

#include <algorithm>
#include <cmath>

#include "objectives/judgement.h"
#include "stagemodels/circuits/places.h"

namespace antiphase {

LawBands law_bands(const Design& design, const Demands& demands) {
  LawBands out;
  for (const Element& e : circuit_of(design)) {
    if (e.kind != ElementKind::triode) continue;
    out.laws = std::max(out.laws, tube_numbered(design, e.section)->credible_laws());
  }
  Judgement judged;
  for (int n = 0; n < out.laws; ++n) {
    Design under = design;
    under.law = n;
    judge_as_drawn(demands, under, Depth::full, judged);
    out.score.push_back(judged.score);
    out.feasible.push_back(judged.feasible);
    if (n == 0)
      for (const Figure& figure : figures())
        if (figure.needs <= Depth::full)
          if (const std::optional<double> v = figure.measure(under, judged.evaluation);
              v && std::isfinite(*v))
            out.figures.push_back({&figure, *v, *v, *v, false});
    for (FigureBand& band : out.figures) {
      const std::optional<double> v = band.figure->measure(under, judged.evaluation);
      if (!v || !std::isfinite(*v)) {
        band.missing = true;
        continue;
      }
      band.low = std::min(band.low, *v);
      band.high = std::max(band.high, *v);
    }
  }
  return out;
}

const FigureBand* band_of(const LawBands& bands, const Figure& figure) {
  const auto found = std::find_if(bands.figures.begin(), bands.figures.end(),
                                  [&](const FigureBand& band) { return band.figure == &figure; });
  return found == bands.figures.end() ? nullptr : &*found;
}

bool rank_in_doubt(const Design& better, const LawBands& better_bands, const Design& next,
                   const LawBands& next_bands) {
  const auto cost = [](const LawBands& b, std::size_t n) {
    // a law under which a limit breaks ranks behind every law that keeps them
    return b.feasible[n] && b.score[n] ? *b.score[n] : INFINITY;
  };
  if (better.tube == next.tube && better_bands.laws == next_bands.laws) {
    for (std::size_t n = 0; n < better_bands.score.size(); ++n)
      if (cost(next_bands, n) < cost(better_bands, n)) return true;
    return false;
  }
  double worst = -INFINITY, best = INFINITY;
  for (std::size_t n = 0; n < better_bands.score.size(); ++n) worst = std::max(worst, cost(better_bands, n));
  for (std::size_t n = 0; n < next_bands.score.size(); ++n) best = std::min(best, cost(next_bands, n));
  return best < worst;
}

}  // namespace antiphase
