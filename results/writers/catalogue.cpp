#include <algorithm>
#include <array>

#include "results/writers/candidates_csv.h"
#include "results/writers/candidates_json.h"
#include "results/writers/parts_csv.h"
#include "results/writers/report_page.h"
#include "results/writers/writer.h"

namespace antiphase {
namespace {

constexpr std::array kWriters{
    Writer{"candidates-json", "candidates.json", "everything about every candidate, for programs",
           candidates_json},
    Writer{"candidates-csv", "candidates.csv", "one row a candidate, for spreadsheets", candidates_csv},
    Writer{"pareto-csv", "pareto.csv", "the designs that no other one beats in every figure at once",
           pareto_csv},
    Writer{"parts-csv", "parts.csv", "what to buy for every candidate, a row a part", parts_csv},
    Writer{"report", "report.html", "the page to read: one file, works offline", report_page},
};

}  // namespace

std::span<const Writer> writers() {
  return kWriters;
}

const Writer* find_writer(std::string_view name) {
  const auto it =
      std::find_if(kWriters.begin(), kWriters.end(), [&](const Writer& w) { return w.name == name; });
  return it == kWriters.end() ? nullptr : &*it;
}

}  // namespace antiphase
