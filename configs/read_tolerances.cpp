#include "configs/read_tolerances.h"

#include <array>

#include "configs/object_reader.h"
#include "stagemodels/design_fields.h"
#include "stagemodels/members.h"

namespace antiphase {
namespace {

constexpr NumberRule kPct{"%", 0, 50};
constexpr NumberRule kShare{"1", 0.3, 1};
constexpr std::array<std::string_view, 2> kScatters{"uniform", "truncated_normal"};

void read_pct(ObjectReader& in, std::string_view name, double& to) {
  if (const auto v = in.number(name, kPct)) to = *v;
}

void read_scatter(ObjectReader& in, std::string_view name, Scatter& to) {
  if (const auto m = in.find(name))
    if (const auto at = m->choice({kScatters.begin(), kScatters.end()})) to = static_cast<Scatter>(*at);
}

bool is_part(const DesignField& field) {
  return field.role == FieldRole::resistor || field.role == FieldRole::capacitor ||
         field.role == FieldRole::setting || &field == &member::load_ohm;
}

OrErrors<Tolerances> read_document(OrErrors<JsonDocument> document, const Design& design) {
  if (auto* errors = std::get_if<InputErrors>(&document)) return std::move(*errors);
  const JsonDocument& json = std::get<JsonDocument>(document);
  InputErrorList errors(json.file);
  const Tolerances t = read_tolerances(Cursor(json.root, "", errors),
                                       [&](const DesignField& field) { return field.applies(design); });
  if (!errors.empty()) return errors.take();
  return t;
}

}  // namespace

Tolerances read_tolerances(const Cursor& cursor, const std::function<bool(const DesignField&)>& applies) {
  Tolerances t;
  ObjectReader in(cursor);
  in.text("$schema");
  in.texts("notes");
  read_pct(in, "resistor_pct", t.resistor_pct);
  read_pct(in, "capacitor_pct", t.capacitor_pct);
  read_pct(in, "mains_pct", t.mains_pct);
  read_pct(in, "setting_pct", t.setting_pct);
  read_pct(in, "mu_pct", t.mu_pct);
  t.plate_current_pct = in.number("plate_current_pct", kPct);
  if (const auto v = in.number("emission_left", kShare)) t.emission_left = *v;
  read_scatter(in, "parts", t.parts);
  read_scatter(in, "mains", t.mains);
  read_scatter(in, "tubes", t.tubes);
  if (const auto member = in.find("single")) {
    ObjectReader single(*member);
    for (const DesignField& field : design_fields())
      if (is_part(field) && applies(field))
        if (const auto v = single.number(field.pointer, kPct)) t.single.push_back({&field, *v});
  }
  return t;
}

OrErrors<Tolerances> read_tolerances(const std::string& file, const Design& design) {
  return read_document(load_json(file), design);
}

OrErrors<Tolerances> read_tolerances_text(std::string text, const std::string& file, const Design& design) {
  return read_document(parse_json(std::move(text), file), design);
}

}  // namespace antiphase
