#include "optimize/studies/fit/law_forms.h"

#include <utility>
#include <vector>

namespace antiphase {
namespace {

template <std::size_t... I>
std::vector<TriodeLaw> all_forms(std::index_sequence<I...>) {
  return {TriodeLaw(std::variant_alternative_t<I, TriodeLaw>{})...};
}

}  // namespace

std::string_view form_of(const TriodeLaw& law) {
  return std::visit([](const auto& l) { return std::string_view(l.kForm); }, law);
}

OrTrouble<TriodeLaw> law_of_form(const std::string& form) {
  std::string known;
  for (const TriodeLaw& law : all_forms(std::make_index_sequence<std::variant_size_v<TriodeLaw>>{})) {
    if (form_of(law) == form) return law;
    known += " " + std::string(form_of(law));
  }
  return Trouble{"--model must be one of" + known + "; is \"" + form + "\""};
}

}  // namespace antiphase
