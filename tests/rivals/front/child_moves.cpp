#include "tests/rivals/front/child_moves.h"

#include <cmath>

namespace antiphase::engine::rivals::front {
namespace {

constexpr double kSbxIndex = 15;  // Deb & Agrawal: 2 wide ... 20 narrow

struct Breeding {
  std::vector<double>& u;
  std::size_t parent;
  const Population& population;
  Places& places;
  RandomNumbers& random;

  void difference() const {
    const std::vector<double>&a = population.any_place(random), &b = population.any_place(random);
    const double scale = 0.2 + 0.8 * random.unit();
    const double cross = random.below(2) ? 0.9 : 0.3;
    const std::size_t forced = static_cast<std::size_t>(random.below(places.size()));
    for (std::size_t k = 0; k < u.size(); ++k)
      if (k == forced || random.unit() < cross) u[k] += scale * (a[k] - b[k]);
  }

  void crossover() const {
    const std::vector<double>& mate = population.any_place(random);
    for (std::size_t k = 0; k < u.size(); ++k) {
      if (random.below(2)) continue;
      const double t = random.unit();
      const double beta =
          t < 0.5 ? std::pow(2 * t, 1 / (kSbxIndex + 1)) : std::pow(0.5 / (1 - t), 1 / (kSbxIndex + 1));
      u[k] = 0.5 * ((1 + beta) * u[k] + (1 - beta) * mate[k]);
    }
    if (random.below(2)) places.nudge(u);
  }

  void step() const {
    places.nudge(u);
    if (random.below(3) == 0) places.nudge(u);
  }

  void borrow() const {
    const std::vector<double>& other = population.any_place(random);
    const std::size_t k = static_cast<std::size_t>(random.below(places.size()));
    const int how = random.below(8);
    if (how < 2)
      u[k] = random.below(2);  // a wall
    else if (how < 3)
      u[k] = random.unit();
    else if (how < 6)
      u[k] = other[k];
    else
      u[k] += other[k] - population.any_place(random)[k];
  }

  /// Between a point outside the limits and one inside, along a difference, or near the first.
  void inward() const {
    const int how = random.below(3);
    const std::vector<double>& other = population.members()[parent].u;
    const double t = random.unit();
    if (how == 0) {
      for (std::size_t k = 0; k < u.size(); ++k) u[k] += t * (other[k] - u[k]);
    } else if (how == 1) {
      const std::vector<Member>& outside = population.outside();
      const std::vector<double>&a = outside[random.below(static_cast<int>(outside.size()))].u,
            &b = population.any_place(random);
      for (std::size_t k = 0; k < u.size(); ++k) u[k] += t * (a[k] - b[k]);
    } else {
      places.nudge(u);
      if (random.below(2)) places.nudge(u);
    }
  }

  void repeat() const {
    const std::size_t whose = random.below(2) ? parent : static_cast<std::size_t>(population.any(random));
    const std::vector<double>& by = population.members()[whose].born_by;
    const double scale = 0.3 + 2 * random.unit();
    if (by.empty())
      places.nudge(u);
    else
      for (std::size_t k = 0; k < u.size(); ++k) u[k] += scale * by[k];
  }
};

}  // namespace

std::vector<double> child(Move move, std::size_t parent, const std::vector<double>& from,
                          const Population& population, Places& places, RandomNumbers& random) {
  std::vector<double> u = from;
  const Breeding breeding{u, parent, population, places, random};
  switch (move) {
    case difference:
      breeding.difference();
      break;
    case crossover:
      breeding.crossover();
      break;
    case step:
      breeding.step();
      break;
    case borrow:
      breeding.borrow();
      break;
    case inward:
      breeding.inward();
      break;
    default:
      breeding.repeat();
  }
  return u;
}

}  // namespace antiphase::engine::rivals::front
