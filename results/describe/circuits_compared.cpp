#include "results/describe/circuits_compared.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>

#include "objectives/figures/drive.h"
#include "objectives/figures/sections.h"
#include "objectives/figures/supply.h"
#include "results/describe/candidate_columns.h"
#include "results/describe/gain_words.h"
#include "results/describe/trade_off.h"
#include "results/describe/values.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"
#include "stagemodels/circuits/catalogue.h"

namespace antiphase {
namespace {

std::string number_in_words(int n) {
  constexpr std::array<std::string_view, 10> kWords{"no",   "one", "two",   "three", "four",
                                                    "five", "six", "seven", "eight", "nine"};
  const auto at = static_cast<std::size_t>(n);
  return at < kWords.size() ? std::string(kWords[at]) : std::to_string(n);
}

std::string counted(int n, const std::string& one) {
  return number_in_words(n) + " " + one + (n == 1 ? "" : "s");
}

bool is_count(const Figure& figure) {
  return figure.name == kSections.name || figure.name == kTubes.name;
}

/// "one section fewer", "two tubes more".
std::string count_in_words(const Figure& figure, double change) {
  const int n = static_cast<int>(std::lround(std::fabs(change)));
  return counted(n, figure.name == kSections.name ? "section" : "tube") + (change < 0 ? " fewer" : " more");
}

/// A figure, and what counts as one unit of it in the score.
struct Told {
  const Figure* figure;
  double scale;
};

std::vector<Told> told_figures(const Demands& demands) {
  std::vector<Told> told;
  const auto add = [&](const Figure& figure, double scale) {
    if (std::none_of(told.begin(), told.end(), [&](const Told& t) { return t.figure == &figure; }))
      told.push_back({&figure, scale});
  };
  for (const Figure* count : {&kSections, &kTubes}) add(*find_figure(count->name), count->scale);
  for (const Objective& o : demands.objectives) add(*o.figure, o.scale);
  for (const Figure& figure : figures())
    if (figure.default_weight > 0) add(figure, figure.scale);
  for (const Figure* figure : {&kInputPeakV, &kSupplyCurrentA})
    add(*find_figure(figure->name), figure->scale);
  return told;
}

std::string capitalised(std::string text) {
  if (!text.empty()) text.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(text.front())));
  return text;
}

/// "Against the first: one section fewer, for 7.1 dB less headroom."
std::string against_first(const GivesAndCosts& d) {
  if (d.gives.empty() && d.costs.empty()) return " Against the first: nearly the same figures.";
  if (d.gives.empty()) return " Against the first it gives nothing and costs: " + all_of(d.costs) + ".";
  if (d.costs.empty()) return " Against the first: " + all_of(d.gives) + ".";
  return " Against the first it gives " + all_of(d.gives) + ", and costs " + all_of(d.costs) + ".";
}

std::string miss_in_words(const CircuitBest& own) {
  return "none was found that keeps every limit. The nearest misses: " + joined(own.stands_in_way, "; ") +
         ".";
}

std::string figures_in_words(const Report& report, const Record& r) {
  std::string text;
  if (r.builds)
    text += engineering_text(100 * r.builds->figures.yield, "%", 3) + " of its builds keep every limit; ";
  return text + "score " + score_text(r) + "; " + objectives_in_words(report.demands, r) + "; " +
         sections_in_words(r.design) + ".";
}

/// Which of the three choices the report leaves open.
struct Open {
  bool circuit = false, gain = false, driver = false;
};
Open open_in(const Report& report) {
  Open open;
  const Compared& first = report.best_of_circuits.front().of;
  for (const CircuitBest& own : report.best_of_circuits) {
    open.circuit |= own.of.circuit != first.circuit;
    open.gain |= own.of.gain != first.gain;
    open.driver |= own.of.driver != first.driver;
  }
  return open;
}

std::string_view driver_in_words(DriverForm form) {
  switch (form) {
    case DriverForm::none:
      return "no driver";
    case DriverForm::cathode_followers:
      return "followers behind it";
    case DriverForm::long_tailed_pair:
      return "a second pair behind it";
  }
  return "";
}

/// "split-load phase splitter behind a gain stage, first stage a cascode, followers behind it": as far as the
/// report compares it.
std::string compared_in_words(const Report& report, const Compared& of) {
  const Open open = open_in(report);
  std::string text;
  const auto add = [&](std::string_view words) { text += (text.empty() ? "" : ", ") + std::string(words); };
  if (open.circuit) add(circuit(of.circuit).label);
  if (open.gain && has_first_stage(of.circuit))
    add((open.circuit ? "first stage " : "") + std::string(words_of(of.gain).whole));
  if (open.driver) add(driver_in_words(of.driver));
  return text;
}

std::string circuit_in_words(const Report& report, const CircuitBest& own) {
  const std::string name = capitalised(compared_in_words(report, own.of)) + ": ";
  if (!own.best) return name + "no design of it could be made within the brief.";
  const Record& r = *own.best;
  std::string text = name + (r.feasible ? figures_in_words(report, r) : miss_in_words(own));
  const CircuitBest& first = report.best_of_circuits.front();
  if (&own != &first && r.feasible) text += against_first(gives_and_costs(report.demands, r, *first.best));
  return text + " " + design_in_words(r) + ".";
}

}  // namespace

std::string in_few_words(const Report& report, const Compared& of) {
  const Open open = open_in(report);
  std::string text;
  if (open.circuit) text = short_name(of.circuit);
  if (open.gain && has_first_stage(of.circuit))
    text += (text.empty() ? "" : ", ") + std::string(words_of(of.gain).few);
  if (open.driver) text += (text.empty() ? "" : ", ") + std::string(driver_in_words(of.driver));
  return text;
}

GivesAndCosts gives_and_costs(const Demands& demands, const Record& own, const Record& other) {
  GivesAndCosts d;
  for (const auto& [figure, scale] : told_figures(demands)) {
    const std::size_t i = index_of(*figure);
    if (!own.figures[i] || !other.figures[i]) continue;
    const double change = as_cost(*figure, *own.figures[i]) - as_cost(*figure, *other.figures[i]);
    if (!(std::fabs(change) >= kToldShare * scale)) continue;
    (change < 0 ? d.gives : d.costs)
        .push_back(is_count(*figure) ? count_in_words(*figure, change) : change_in_words(*figure, change));
  }
  return d;
}

std::string sections_in_words(const Design& d) {
  const int sections = static_cast<int>(*kSections.measure(d, {}));
  const Designators names(d);
  std::string text = counted(sections, "section") + " in " + counted(names.bottles(), "tube");
  if (const int spare = names.spare_sections(); spare > 0)
    text += ", " + counted(spare, "section") + " left over";
  return text;
}

std::string design_in_words(const Report& report, const Record& r) {
  const std::string design = design_in_words(r);
  return report.compares_circuits() ? capitalised(short_name(r.design.circuit)) + ", " + design : design;
}

std::vector<std::string> circuits_in_words(const Report& report) {
  std::vector<std::string> words;
  for (const CircuitBest& best : report.best_of_circuits) words.push_back(circuit_in_words(report, best));
  words.insert(words.end(), report.circuits_left_out.begin(), report.circuits_left_out.end());
  return words;
}

}  // namespace antiphase
