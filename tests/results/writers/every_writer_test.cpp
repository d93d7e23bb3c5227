#include <doctest/doctest.h>

#include <set>

#include "results/writers/writer.h"
#include "tests/results/support/sample_report.h"

using namespace antiphase;

TEST_CASE("every writer is found by its name and has a file of its own") {
  std::set<std::string_view> files;
  for (const Writer& w : writers()) {
    CHECK(find_writer(w.name) == &w);
    CHECK(files.insert(w.file_name).second);
    CHECK(w.file_name.find('/') == std::string_view::npos);
  }
  CHECK(find_writer("paper tape") == nullptr);
}

TEST_CASE("every writer gives the same bytes for the same report") {
  const Report report = sample::report();
  for (const Writer& w : writers()) CHECK_MESSAGE(w.write(report) == w.write(report), w.name);
}

TEST_CASE("every writer survives a report with nothing in it and one where nothing was solved") {
  Report unsolved = sample::report();
  for (auto* list : {&unsolved.candidates, &unsolved.pareto})
    for (Record& r : *list) {
      r.evaluation = {};
      r.evaluation.operating_point.solved = Solved::no_rest_point;
      r.limits.clear();
      r.feasible = false;
      r.score.reset();
      for (auto& f : r.figures) f.reset();
    }
  for (const Writer& w : writers()) {
    CHECK_MESSAGE(!w.write({}).empty(), w.name);
    CHECK_MESSAGE(!w.write(unsolved).empty(), w.name);
  }
}
