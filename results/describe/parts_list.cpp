#include "results/describe/parts_list.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>
#include <utility>

#include "results/describe/part_lines.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/questions.h"
#include "stagemodels/members.h"

namespace antiphase {
namespace {

constexpr double kDiodeVoltageFactor = 1.0 / 3;  // common practice, no published source

double voltage_factor(const PartLine& part, const DesignFactors& factors) {
  return part.kind == PartKind::resistor ? factors.resistor_voltage
         : part.kind == PartKind::diode  ? kDiodeVoltageFactor
                                         : kCapacitorVoltageFactor;
}

VoltageRow voltage_row(const PartLine& part) {
  switch (part.kind) {
    case PartKind::capacitor:
      return part.type == kElectrolytic ? VoltageRow::electrolytic_capacitor : VoltageRow::film_capacitor;
    case PartKind::diode:
      return VoltageRow::diode;
    case PartKind::sink:
      return VoltageRow::transistor;
    default:
      return VoltageRow::resistor;
  }
}
/// The larger of two that may be unknown.
std::optional<double> larger(const std::optional<double>& a, const std::optional<double>& b) {
  return a && b ? std::optional(std::max(*a, *b)) : a ? a : b;
}

/// Of each cause what the more stressed of two has to bear.
void join(std::vector<Burden>& all, const std::vector<Burden>& more) {
  for (const Burden& b : more) {
    const auto same =
        std::find_if(all.begin(), all.end(), [&](const Burden& x) { return x.cause == b.cause; });
    if (same == all.end()) {
      all.push_back(b);
      continue;
    }
    if (b.voltage_v.value_or(0) > same->voltage_v.value_or(0)) same->which = b.which;
    for (const auto member :
         {&Burden::power_w, &Burden::voltage_v, &Burden::energy_j, &Burden::time_constant_s})
      (*same).*member = larger((*same).*member, b.*member);
  }
}

/// Parts of one line are bought alike: the line says what the most stressed of them has to bear.
void join(PartLine& line, const PartLine& more, const DescribedDesign& of) {
  ++line.count;
  line.designators += ", " + more.designators;
  for (const auto member : {&PartLine::power_rest_w, &PartLine::power_worst_w, &PartLine::voltage_rest_v,
                            &PartLine::voltage_worst_v})
    line.*member = larger(line.*member, more.*member);
  join(line.burdens, more.burdens);
  if (line.note.empty()) line.note = more.note;
  rate(line, of.factors);
}

}  // namespace

void rate(PartLine& part, const DesignFactors& factors) {
  const bool heats = part.kind == PartKind::resistor || part.kind == PartKind::sink;
  // Without a rest point nothing is known of the powers but the pulse, which alone decides nothing.
  if (heats && part.power_worst_w) {
    const PowerRating power = power_rating(part.burdens, factors.resistor_power);
    part.rating_w = power.rating_w;
    part.rating_w_for = power.decided_by;
    if (part.kind == PartKind::resistor)
      part.type =
          power.wirewound || part.rating_w.value_or(INFINITY) > kLargestFilmRating_w ? kWirewound : kFilm;
  }
  const VoltageRating v = voltage_rating(part.burdens, voltage_row(part), voltage_factor(part, factors));
  part.rating_v = v.rating_v;
  part.rating_v_for = v.decided_by;
}

std::string_view name_of(PartKind kind) {
  switch (kind) {
    case PartKind::tube:
      return "tube";
    case PartKind::resistor:
      return "resistor";
    case PartKind::capacitor:
      return "capacitor";
    case PartKind::diode:
      return "diode";
    case PartKind::sink:
      return "sink";
    case PartKind::supply:
      return "supply";
  }
  return "";
}

std::string derating_in_words(const PartLine& part, const DesignFactors& factors) {
  const auto share = [](double factor) { return engineering_text(100 * factor, "%"); };
  switch (part.kind) {
    case PartKind::tube:
    case PartKind::supply:
      return "";
    case PartKind::sink:
      return "at most " + share(factors.resistor_power) + " of its power and " +
             share(kCapacitorVoltageFactor) + " of its voltage";
    case PartKind::resistor:
      return "at most " + share(factors.resistor_power) + " of its power and " +
             share(factors.resistor_voltage) + " of its voltage";
    case PartKind::capacitor:
      return "at most " + share(kCapacitorVoltageFactor) + " of its voltage";
    case PartKind::diode:
      return "at most a third of its reverse voltage";
  }
  return "";
}

std::vector<std::string> plate_2_in_words(const std::vector<Record>& records) {
  std::vector<std::pair<std::string, std::vector<std::string>>> uses;
  for (const Record& r : records) {
    if (!r.plate_2_of) continue;
    const std::string made = two_in_words(*r.plate_2_of);
    auto at = std::find_if(uses.begin(), uses.end(), [&](const auto& use) { return use.first == made; });
    if (at == uses.end()) at = uses.insert(at, {made, {}});
    at->second.push_back(std::to_string(r.rank));
  }
  std::vector<std::string> words;
  for (const auto& [made, ranks] : uses) {
    words.push_back((ranks.size() == 1 ? "Plate 2 of rank " : "Plate 2 of ranks ") + all_of(ranks) + ": " +
                    made + ".");
  }
  return words;
}

std::vector<PartLine> parts_list(const Design& d, const Evaluation& e, const DesignFactors& factors,
                                 const std::optional<engine::TwoPart>& plate_2_of,
                                 const Tolerances& tolerances) {
  const Designators designators(d);
  const NodeVoltages nodes(d, e);
  const PartValues values(d, e);
  const FaultVoltages faults(d, e);
  const DescribedDesign of{d,           e,     factors, tolerances, designators.circuit(),
                           designators, nodes, values,  faults};
  std::vector<PartLine> parts = tubes(of);
  for (const ElementKind kind : {ElementKind::resistor, ElementKind::capacitor, ElementKind::stray,
                                 ElementKind::clamp, ElementKind::sink}) {
    std::vector<std::pair<const Element*, std::size_t>> first_of_line;
    for (const Element& part : of.circuit) {
      if (part.kind != kind || !bought(part, d)) continue;
      if (part.member == &member::plate_ohm_1 && plate_2_of) {
        split_in_two(parts, part, *plate_2_of, of);
        continue;
      }
      PartLine line = line_of(part, of);
      line.designators = designators.of(part);
      const auto same = std::find_if(first_of_line.begin(), first_of_line.end(), [&](const auto& first) {
        return first.first->member == part.member && first.first->role == part.role;
      });
      if (same != first_of_line.end()) {
        join(parts[same->second], line, of);
      } else {
        first_of_line.emplace_back(&part, parts.size());
        parts.push_back(std::move(line));
      }
    }
  }
  return parts;
}

}  // namespace antiphase
