#include "tests/reference/published_tubes.h"

#include <algorithm>
#include <string>

namespace antiphase::reference {
namespace {

Tube tube(std::string name, TriodeLaw law, std::string source) {
  Tube t;
  t.name = std::move(name);
  // About where a grid begins to conduct: E88CC data sheet (Philips, Dec 1968) gives -0.75 V;
  // -0.5 V is common practice for the others.
  t.grid_conduction_v = {-0.5, "common practice"};
  t.grid_diode =
      grid_diode(t.grid_conduction_v.value);  // for the laws that have no grid current of their own
  // Of the order of any small double triode's.
  t.capacitance = {1.6e-12, 1.8e-12, 0.5e-12, "round numbers"};
  t.models.push_back({law, std::move(source)});
  return t;
}

std::vector<Tube> make() {
  const std::string koren = "N. Koren, Glass Audio 8 (1996) no. 5, parameter list of the article";
  const std::string own =
      "round numbers near a small triode's, with a grid offset as the fits of the cards have";
  const std::string dafx = "K. Dempwolf, U. Zoelzer, DAFx-11, 2011, set RSD-2";
  std::vector<Tube> tubes;
  tubes.push_back(tube("12AX7", Koren1996{100, 1.4, 1060, 600, 300, 0}, koren));
  tubes.push_back(tube("12AT7", Koren1996{60, 1.35, 460, 300, 300, 0}, koren));
  tubes.push_back(tube("12AU7", Koren1996{21.5, 1.3, 1180, 84, 300, 0}, koren));
  tubes.push_back(tube("6DJ8", Koren1996{28, 1.3, 330, 320, 300, 0}, koren));
  tubes.push_back(tube("high mu, offset", Koren1996{100, 1.43, 1650, 690, 285, 0.5}, own));
  tubes.push_back(tube("medium mu, offset", Koren1996{40, 1.27, 480, 140, 360, 0.4}, own));
  // k so that the law meets the published point 250 V, -2 V, 1.2 mA, mu 100 (RCA 12AX7-A, Oct 1960):
  // 1.2e-3 / (250/100 - 2)^1.5.
  tubes.push_back(tube("three-halves law", ChildLangmuir{1.2e-3 / 0.35355339059327373, 100, 0},
                       "Child-Langmuir law through the published point of RCA 12AX7-A, Oct 1960"));
  tubes.push_back(tube(
      "RSD-2", DempwolfZoelzer2011{2.173e-3, 100.2, 1.28, 3.19, 5.911e-4, 1.358, 11.76, 4.527e-8}, dafx));
  return tubes;
}

}  // namespace

std::span<const Tube> published_tubes() {
  static const std::vector<Tube> tubes = make();
  return tubes;
}

const Tube& published_tube(std::string_view name) {
  const auto tubes = published_tubes();
  return *std::find_if(tubes.begin(), tubes.end(), [&](const Tube& t) { return t.name == name; });
}

}  // namespace antiphase::reference
