/// A rival of the search: a steady-state evolution of a spread-out front, on continuous axes, levels, or
/// both.
#pragma once

#include "tests/rivals/front_method.h"

namespace antiphase::engine::rivals {

/// A small population, of which after each judgement the worst member goes: first one that others dominate
/// (limits by Deb's rule: less violation dominates), then the one nearest to another on the common scale. It
/// may hold twice as many members as are not dominated, so that it is small and quick while far from the
/// front and wide on it; its bound also grows with the judgements made. Children come from nine moves, drawn
/// in proportion to how often each one's children stayed, none ever dropped: differences of members,
/// simulated binary crossover, steps of one axis, an axis taken from another member, a step that made a
/// member once more, steps between points just outside the limits and members, and three kinds of descent
/// along lines (all objectives down, a weighted sum down, places all along each axis). Beside them a seventh
/// of the judgements go into searches from nowhere for something inside the widest gaps and past the ends of
/// the front. Values outside the box stop at its wall: optima lie there often. On an axis with levels the
/// smallest step is one level; no point is judged twice. Sources: Beume, Naujoks & Emmerich, "SMS-EMOA", Eur.
/// J. Oper. Res. 181 (2007) 1653-1669 (steady state); Zitzler, Laumanns & Thiele, "SPEA2", TIK report 103,
/// ETH Zurich (2001) (nearest neighbour goes); Storn & Price (1997); Deb & Agrawal, Complex Syst. 9 (1995)
/// 115-148 (simulated binary crossover); Hooke & Jeeves (1961) (repeated step); Deb (2000) (limits); Ray et
/// al. (2009) (points outside); Pascoletti & Serafini, J. Optim. Theory Appl. 42 (1984) 499-524 (all
/// objectives down). Cost beside the judge: some 10 000 operations for a judgement.
///
/// The program's own search widens its front by directions instead (search.cpp): on lattices of parts, at
/// equal judgements and over three seeds of four briefs, both held the same volume within 0.2 %, now one
/// ahead, now the other.
FrontFound front_evolution(const FrontTask& task);

}  // namespace antiphase::engine::rivals
