#include "stagemodels/circuits/designators.h"

#include <algorithm>
#include <cassert>

#include "stagemodels/circuits/places.h"
#include "stagemodels/design_fields.h"

namespace antiphase {
namespace {

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
  return triode.section < kSplitterSections;
}

TriodeSection section_of(const Element& triode, const Design& d) {
  return section_numbered(d, triode.section);
}

namespace {

struct Bottle {
  const Tube* type = nullptr;
  int sections = 0;
  int number = 0;  ///< of V1, V2 …; 0: none yet
};

/// Which bottle each triode of the list is in, by the triode's place in it.
struct Bottles {
  std::array<Bottle, Circuit::kMostSections> bottle{};
  std::array<std::int8_t, Circuit::kMostElements> of{};
  int count = 0;

  /// `room`: so many sections are to come into one bottle, if it has as many.
  void put(const Circuit& list, int element, const Design& d, int room) {
    const Tube* type = section_of(list.element[static_cast<std::size_t>(element)], d).tube;
    int at = 0;
    while (at < count) {
      const Bottle& b = bottle[static_cast<std::size_t>(at)];
      if (b.type == type && b.sections + std::min(room, type->sections) <= type->sections) break;
      ++at;
    }
    if (at == count) bottle[static_cast<std::size_t>(count++)].type = type;
    ++bottle[static_cast<std::size_t>(at)].sections;
    of[static_cast<std::size_t>(element)] = static_cast<std::int8_t>(at);
  }
};

/// The splitter's sections first, then the driver's, so that no pair is parted; a first stage's own after
/// those.
Bottles bottles_of(const Circuit& list, const Design& d) {
  Bottles bottles;
  for (const int section : {0, 1, kDriver, kDriver + 1, kFirstStage, kGainSecond})
    for (int i = 0; i < list.elements; ++i) {
      const Element& e = list.element[static_cast<std::size_t>(i)];
      if (e.kind == ElementKind::triode && bought(e, d) && e.section == section)
        bottles.put(list, i, d, section == kDriver ? 2 : 1);
    }
  return bottles;
}

}  // namespace

Designators::Designators(const Design& d) : circuit_(&circuit_of(d)) {
  Bottles bottles = bottles_of(*circuit_, d);
  for (int b = 0; b < bottles.count; ++b) {
    Bottle& bottle = bottles.bottle[static_cast<std::size_t>(b)];
    spare_sections_ += bottle.type->sections - bottle.sections;
    bottle.sections = 0;
  }
  std::array<int, 128> used{};  // by letter
  for (int i = 0; i < circuit_->elements; ++i) {
    const Element& e = circuit_->element[static_cast<std::size_t>(i)];
    if (!bought(e, d)) continue;
    const char letter = letter_of(e);
    int number = 0;
    char section = 0;
    if (letter == 'V') {
      Bottle& bottle = bottles.bottle[static_cast<std::size_t>(bottles.of[static_cast<std::size_t>(i)])];
      if (bottle.number == 0) bottle.number = ++bottles_;
      number = bottle.number;
      if (bottle.type->sections > 1) section = static_cast<char>('a' + bottle.sections);
      ++bottle.sections;
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
