/// Differential evolution with feasibility rules.
#pragma once

#include "optimize/engine/methods/method.h"

namespace antiphase::engine {

/// Source: Storn & Price, "Differential evolution - a simple and efficient heuristic for global
/// optimization over continuous spaces", J. Global Optim. 11 (1997) 341-359 (trial vectors, binomial
/// crossover, one-to-one selection). Limits: Deb (2000), through better().
/// Differs: the mutation is current-to-pbest/1 of Zhang & Sanderson, "JADE", IEEE Trans. Evol. Comput.
/// 13 (2009) 945-958, eq. (4), without its archive and adaptation, because budgets here are some tens of
/// generations; the scale factor is drawn anew for each trial; values outside the box are reflected
/// at its wall, so that points do not pile up there; the first population is a Latin hypercube
/// (McKay, Beckman & Conover, Technometrics 21 (1979) 239-245) with the starts in it.
/// Ends early when the population has shrunk to one point.
Found differential_evolution(const MethodTask& task);

}  // namespace antiphase::engine
