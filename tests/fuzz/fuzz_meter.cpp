// Readings of a meter, from bytes to the printed answer: whatever a file holds, no figure comes out as no
// number. The inference takes half a minute under the sanitizers, so that one input in eight goes all the
// way, in the smallest circuit.
#include <cctype>
#include <cmath>

#include "configs/read_design.h"
#include "configs/read_meter.h"
#include "optimize/studies/diagnosis_of.h"
#include "results/json/diagnosis_json.h"
#include "results/terminal/diagnosis_text.h"
#include "tests/fuzz/fuzz.h"

using namespace antiphase;

namespace {

enum class Way { pair, chain, gain_stage_to_the_end };

Way way_of(std::uint8_t byte) {
  if ((byte & 0x0e) == 0x02) return Way::gain_stage_to_the_end;
  return byte % 2 == 1 ? Way::chain : Way::pair;
}

const Design& design(Way way) {
  const auto read = [](const char* file) {
    return read_design(std::string(ANTIPHASE_SOURCE "/configs/designs/") + file, fuzz::library());
  };
  static const auto pair = read("high_mu_self_biased.json"), behind = read("chain_direct_coupled.json"),
                    alone = read("first_stage_partly_bypassed.json");
  return std::get<Design>(way == Way::pair ? pair : way == Way::chain ? behind : alone);
}

/// "nan" or "inf" as a word of its own, in any case.
bool holds_no_number(const std::string& text) {
  const auto letter = [&](std::size_t i) {
    return i < text.size() && std::isalpha(static_cast<unsigned char>(text[i]));
  };
  for (std::size_t i = 0; i + 3 <= text.size(); ++i) {
    std::string word = text.substr(i, 3);
    for (char& c : word) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    if ((word == "nan" || word == "inf") && !letter(i + 3) && (i == 0 || !letter(i - 1))) return true;
  }
  return false;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  if (size == 0) return 0;
  const Way way = way_of(bytes[0]);
  const Design& d = design(way);
  const auto read = parse_meter(fuzz::text_of(bytes + 1, size - 1), "meter.csv", d);
  fuzz::check_errors(read);
  const MeterFile* file = std::get_if<MeterFile>(&read);
  if (!file) return 0;
  fuzz::promise(!file->readings.empty());
  for (const MeterReading& r : file->readings)
    fuzz::promise(std::isfinite(r.volts) && std::isfinite(r.step_v));
  const Taken taken = taken_of(*file, d);
  for (std::size_t k = 0; k < taken.deviation_v.size(); ++k)
    fuzz::promise(!taken.has(k) || taken.deviation_v[k] > 0);
  if (way != Way::gain_stage_to_the_end) return 0;
  ReadingsAsk ask;
  ask.draws = 60;
  const DiagnosisReport report = diagnosis_of(d, {}, *file, ask);
  fuzz::promise(!holds_no_number(diagnosis_text(report)));
  fuzz::promise(!holds_no_number(diagnosis_json(report)));
  return 0;
}
