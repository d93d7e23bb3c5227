#include "configs/file_kind.h"

namespace antiphase {
namespace {

bool has(const JsonValue& root, std::string_view name) {
  return root.find(name) != nullptr;
}

/// Members that only files of the kind have.
bool is_brief(const JsonValue& root) {
  return has(root, "variables") || (has(root, "tubes") && has(root, "target"));
}
bool is_design(const JsonValue& root) {
  return !is_brief(root) && has(root, "tube") && (has(root, "stage") || has(root, "plate_ohm"));
}
bool is_results(const JsonValue& root) {
  return has(root, "candidates") && has(root, "run");
}
bool is_card(const JsonValue& root) {
  return has(root, "models") || (has(root, "tube") && has(root, "ratings"));
}

}  // namespace

std::string other_kind(const JsonValue& root, FileKind wanted) {
  if (root.kind != JsonKind::object) return {};
  const std::string here = wanted == FileKind::brief ? "not a brief" : "not a design";
  if (wanted == FileKind::design && is_brief(root))
    return "is a brief, " + here + ": a brief is for antiphase search, which finds designs for it";
  if (wanted == FileKind::brief && is_design(root))
    return "is a design, " + here + ": a design is for antiphase evaluate, which gives its figures";
  if (is_results(root))
    return "holds the results of a search, " + here + ": the designs are the members \"design\" in it";
  if (is_card(root)) return "is a tube card, " + here + ": cards are for antiphase tubes and its --tubes";
  return {};
}

}  // namespace antiphase
