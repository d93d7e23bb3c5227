#include "configs/design_members.h"

#include "configs/choices.h"
#include "configs/nearest_names.h"
#include "configs/wording.h"

namespace antiphase {

NumberRule rule_of(const DesignField& field) {
  return {field.unit, field.low, field.high};
}

const Tube* read_tube_name(const Cursor& cursor, const TubeLibrary& library) {
  const auto name = cursor.text();
  if (!name) return nullptr;
  const auto* tube = library.find(*name);
  if (tube == nullptr) {
    const auto near = library.nearest_names(*name, 3);
    std::vector<std::string> all;
    for (const auto& t : library.tubes()) all.push_back(t.name);
    cursor.fault("there is no tube card of a " + in_quotes(*name) +
                 (near.empty() ? "; there are " + all_of(all) : did_you_mean(near)));
  }
  return tube;
}

std::string why_not_applicable(const DesignField& field, const Design& design) {
  Design d = design;
  // One choice is changed at a time, the circuit last: the nearest reason is the most useful one.
  for (const auto form : kTailForms) {
    d.tail.form = form;
    if (field.applies(d))
      return "has no meaning with a " + std::string(name_of(design.tail.form)) + " tail; it belongs to " +
             std::string(name_of(form));
  }
  d = design;
  for (const auto form : kBiasForms) {
    d.bias.form = form;
    if (field.applies(d))
      return "has no meaning with " + std::string(name_of(design.bias.form)) + " bias; it belongs to " +
             std::string(name_of(form));
  }
  return "has no meaning in a " + std::string(name_of(design.circuit)) + " stage";
}

}  // namespace antiphase
