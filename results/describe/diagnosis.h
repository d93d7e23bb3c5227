/// What is in a box, in words and tables.
#pragma once

#include <string>
#include <vector>

#include "objectives/diagnosis/what_to_change.h"
#include "results/describe/value_table.h"

namespace antiphase {

/// What was found out, as plain data: the writers need nothing else.
struct DiagnosisReport {
  Design design;
  Tolerances tolerances;
  bool pairs = false;  ///< two faults at once were weighed too
  double meter_ohm = 10e6, accuracy_pct = kMeterAccuracy_pct;
  Diagnosis diagnosis;
  WhatToChange change;
};

/// The answer in two or three sentences: what is most probable, and what else it may be.
std::vector<std::string> verdict(const DiagnosisReport&);
ValueTable fault_table(const DiagnosisReport&);                    ///< probabilities, with what to look at
ValueTable taken_table(const DiagnosisReport&);                    ///< each reading against the others
ValueTable quantity_table(const DiagnosisReport&);                 ///< tubes, parts, supplies: bands
std::vector<std::string> next_in_words(const DiagnosisReport&);    ///< what to measure next
std::vector<std::string> change_in_words(const DiagnosisReport&);  ///< what to change
ValueTable change_table(const DiagnosisReport&);
/// What the answer rests on: meter, prior rates, scatter, how well the posterior was drawn.
std::vector<std::string> grounds(const DiagnosisReport&);

/// "plate 1"; "output 1, signal at 1 kHz, 1.2 V rms in, 100 kΩ across".
std::string label_of(const BenchReading&);

/// Whether a reading is far from what the others let expect: outside of 99 of 100.
bool stands_out(const ReadingTold&);

}  // namespace antiphase
