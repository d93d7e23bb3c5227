/// Pieces that the writers of an evaluation share.
#pragma once

#include <span>
#include <string_view>

#include "results/json/json_writer.h"
#include "stagemodels/design.h"
#include "stagemodels/evaluation.h"

namespace antiphase {

inline constexpr std::string_view kNoCleanSwing = "the stage is not clean at any drive";

/// Writes members that are all null together when their solve failed.
class Part {
 public:
  Part(JsonWriter& json, const Design& design, bool known)
      : json_(json),
        sections_(static_cast<std::size_t>(sections(design.circuit))),
        outputs_(static_cast<std::size_t>(outputs(design.circuit))),
        known_(known) {}
  bool two_outputs() const { return outputs_ == 2; }

  void number(std::string_view name, double v) { known_ ? json_.member(name, v) : json_.null_member(name); }
  void per_section(std::string_view name, const Pair& v) { each(name, v, sections_); }
  void per_output(std::string_view name, const Pair& v) { each(name, v, outputs_); }
  void text(std::string_view name, std::string_view v) {
    known_ ? json_.member(name, v) : json_.null_member(name);
  }

 private:
  void each(std::string_view name, const Pair& v, std::size_t count) {
    known_ ? json_.member(name, std::span<const double>(v.data(), count)) : json_.null_member(name);
  }

  JsonWriter& json_;
  std::size_t sections_, outputs_;
  bool known_;
};

inline void write_reason(JsonWriter& json, Solved solved) {
  if (solved != Solved::yes) json.member("reason", reason(solved));
}

inline bool has_clean_swing(const CleanSwing& clean) {
  return clean.solved == Solved::yes && clean.swing_peak_v > 0;
}

}  // namespace antiphase
