#include "results/json/side_by_side_json.h"

#include "results/json/evaluation_json.h"
#include "results/json/json_writer.h"

namespace antiphase {

std::string side_by_side_json(const std::vector<NamedRecord>& records) {
  JsonWriter json;
  json.begin_array();
  for (const NamedRecord& r : records) {
    json.begin_object().member("file", r.name).key("limits_broken").begin_array();
    for (const std::string& label : broken_limits(r.record)) json.value(label);
    json.end_array().key("evaluation");
    write_evaluation(json, r.record, {});
    json.end_object();
  }
  json.end_array();
  return std::move(json).take() + "\n";
}

}  // namespace antiphase
