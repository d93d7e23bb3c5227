/// The forms of a first stage in words.
#pragma once

#include <array>
#include <string_view>

#include "stagemodels/design.h"

namespace antiphase {

struct GainWords {
  std::string_view few;            ///< in a table: "mu-follower"
  std::string_view whole;          ///< in a sentence: "a mu-follower"
  std::string_view before, after;  ///< about the names of its tubes: "a mu-follower of 12AT7"
};

inline constexpr std::array<GainWords, 7> kGainWords{
    {{"triode", "one triode", "", ""},
     {"on source", "a triode on a constant current", "", " on a constant current"},
     {"cascode", "a cascode", "a cascode of ", ""},
     {"mu-follower", "a mu-follower", "a mu-follower of ", ""},
     {"SRPP", "a shunt-regulated pair", "a shunt-regulated pair of ", ""},
     {"two stages", "two triodes in a row", "two stages of ", ""},
     {"pentode", "a pentode", "", " as a pentode"}}};

constexpr const GainWords& words_of(GainForm form) {
  return kGainWords[static_cast<std::size_t>(form)];
}

}  // namespace antiphase
