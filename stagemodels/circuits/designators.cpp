#include "stagemodels/circuits/designators.h"

#include <cassert>

#include "stagemodels/design_fields.h"

namespace antiphase {
namespace {

constexpr int kSectionsOfOutputStage = 2;  // Element::section: 0 and 1 are those of the output stage

/// 0: it has no short name.
char letter_of(const Element& e) {
  switch (e.kind) {
    case ElementKind::resistor:
      return 'R';
    case ElementKind::capacitor:
      return 'C';
    case ElementKind::clamp:
      return 'D';
    case ElementKind::sink:
      return 'I';
    case ElementKind::triode:
      return 'V';
    case ElementKind::stray:
      return e.role == Role::feedback_lead ? 'C' : 0;
    case ElementKind::held:
    case ElementKind::driven:
    case ElementKind::output_grid:
      break;
  }
  return 0;
}

}  // namespace

bool bought(const Element& e, const Design& d) {
  if (letter_of(e) == 0) return false;
  if (e.role == Role::feedback) return e.there(d);
  if (!e.stands(d) || (e.kind == ElementKind::stray && !(e.value(d) > 0))) return false;
  const bool chosen = e.kind == ElementKind::resistor || e.kind == ElementKind::capacitor;
  return !chosen || e.member->role == FieldRole::resistor || e.member->role == FieldRole::capacitor;
}

bool in_output_stage(const Element& triode) {
  return triode.section < kSectionsOfOutputStage;
}

TriodeSection section_of(const Element& triode, const Design& d) {
  return in_output_stage(triode) ? d.section(triode.section) : d.first_section();
}

Designators::Designators(const Design& d) : circuit_(&circuit_of(d)) {
  struct Bottle {
    const Tube* type;
    int sections;
    bool output_stage;
  };
  std::array<Bottle, Circuit::kMostSections> bottle{};
  std::array<int, 128> used{};  // by letter
  for (int i = 0; i < circuit_->elements; ++i) {
    const Element& e = circuit_->element[static_cast<std::size_t>(i)];
    if (!bought(e, d)) continue;
    const char letter = letter_of(e);
    int number = 0;
    char section = 0;
    if (letter == 'V') {
      const Tube* type = section_of(e, d).tube;
      const bool output_stage = in_output_stage(e);
      int at = 0;
      while (at < bottles_) {
        const Bottle& b = bottle[static_cast<std::size_t>(at)];
        if (output_stage && b.output_stage && b.type == type && b.sections < type->sections) break;
        ++at;
      }
      if (at == bottles_) bottle[static_cast<std::size_t>(bottles_++)] = {type, 0, output_stage};
      const int before = bottle[static_cast<std::size_t>(at)].sections++;
      number = at + 1;
      if (type->sections > 1) section = static_cast<char>('a' + before);
    } else {
      number = ++used[static_cast<std::size_t>(letter)];
    }
    Text& text = text_[static_cast<std::size_t>(i)];
    const auto put = [&](char c) { text.letters[text.size++] = c; };
    put(letter);
    if (number >= 10) put(static_cast<char>('0' + number / 10));  // a list has fewer than a hundred elements
    put(static_cast<char>('0' + number % 10));
    text.bottle_size = letter == 'V' ? text.size : 0;
    if (section != 0) put(section);
  }
}

const Designators::Text& Designators::at(const Element& e) const {
  assert(&e >= circuit_->begin() && &e < circuit_->end());
  return text_[static_cast<std::size_t>(&e - circuit_->begin())];
}

std::string_view Designators::of(const Element& e) const {
  const Text& text = at(e);
  return {text.letters.data(), text.size};
}

std::string_view Designators::bottle_of(const Element& e) const {
  const Text& text = at(e);
  return {text.letters.data(), text.bottle_size};
}

}  // namespace antiphase
