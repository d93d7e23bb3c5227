#include "tests/reference/card_tubes.h"

#include <stdexcept>

#include "configs/tube_library.h"
#include "tests/reference/published_tubes.h"

namespace antiphase::reference {

std::span<const Tube> all_tubes() {
  static const std::vector<Tube> tubes = [] {
    const auto read = read_tube_library(ANTIPHASE_SOURCE "/configs/tubes");
    if (!std::holds_alternative<TubeLibrary>(read)) throw std::runtime_error("the cards cannot be read");
    std::vector<Tube> all(published_tubes().begin(), published_tubes().end());
    for (const Tube& card : std::get<TubeLibrary>(read).tubes()) {
      if (card.pentode.given) continue;  // written_netlist_test.cpp has them
      all.push_back(card);
      all.back().name += " (card)";
    }
    return all;
  }();
  return tubes;
}

}  // namespace antiphase::reference
