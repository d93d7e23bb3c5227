#include "optimize/studies/diagnosis_of.h"

#include "optimize/engine/run_tasks.h"

namespace antiphase {

DiagnosisReport diagnosis_of(const Design& design, const Tolerances& tolerances, MeterFile file,
                             const ReadingsAsk& ask) {
  if (!file.accuracy_pct) file.accuracy_pct = ask.accuracy_pct;
  DiagnosisReport report;
  report.design = design;
  report.tolerances = tolerances;
  report.pairs = ask.pairs;
  report.meter_ohm = file.meter_ohm.value_or(ask.meter_ohm);
  report.accuracy_pct = *file.accuracy_pct;
  DiagnosisAsk of_work;
  of_work.meter_ohm = report.meter_ohm;
  of_work.pairs = ask.pairs;
  of_work.draws = ask.draws;
  of_work.seed = ask.seed;
  Diagnosing work(design, tolerances, taken_of(file), of_work);
  engine::run_tasks(work.screenings(), ask.threads, [&](int piece) { work.screen(piece); });
  work.choose();
  engine::run_tasks(work.drawings(), ask.threads, [&](int piece) { work.draw(piece); });
  report.diagnosis = work.finish();
  report.change = what_to_change(design, work, report.diagnosis);
  return report;
}

}  // namespace antiphase
