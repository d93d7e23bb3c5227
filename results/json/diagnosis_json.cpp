#include "results/json/diagnosis_json.h"

#include <cmath>

#include "results/describe/safety.h"
#include "results/json/json_writer.h"

namespace antiphase {
namespace {

void write_sentences(JsonWriter& json, std::string_view name, const std::vector<std::string>& all) {
  json.key(name).begin_array();
  for (const std::string& s : all) json.value(s);
  json.end_array();
}

void write_fault(JsonWriter& json, const Fault& f, const FaultTold& t) {
  json.begin_object(true)
      .member("name", f.name)
      .member("label", f.label)
      .member("probability", t.probability);
  json.member("before", t.before).member("unseen", t.unseen);
  json.key("sizes").value(std::span<const double>(t.size.data(), static_cast<std::size_t>(f.magnitudes)));
  json.member("draws", t.draws).member("effective_draws", t.effective);
  if (t.draws > 0 && std::isfinite(t.tail))
    json.member("pareto_k", t.tail);
  else
    json.null_member("pareto_k");
  json.member("what_to_do", f.look).end_object();
}

/// How a signal was read.
void write_conditions(JsonWriter& json, const BenchReading& r) {
  if (r.kind != BenchReading::Kind::signal) return;
  json.member("hz", r.hz).member("input_v_rms", r.input_v);
  if (r.load_ohm > 0) json.member("load_ohm", r.load_ohm);
}

void write_reading(JsonWriter& json, const Diagnosis& d, const ReadingTold& t) {
  const BenchReading& r = d.readings[static_cast<std::size_t>(t.reading)];
  json.begin_object(true).member("name", r.name).member("label", label_of(r)).member("read_v", t.shown_v);
  write_conditions(json, r);
  json.member("deviation_v", t.deviation_v);
  const auto told = [&](double v) {
    return t.known && d.explained ? std::optional<double>(v) : std::nullopt;
  };
  json.member("drawn_v", d.drawn_v[static_cast<std::size_t>(t.reading)]);
  json.member("expected_v", told(t.middle_v))
      .member("low_v", told(t.low_v))
      .member("quarter_v", told(t.quarter_v));
  json.member("three_quarters_v", told(t.three_quarters_v)).member("high_v", told(t.high_v));
  json.member("below", told(t.below)).member("out", d.explained && stands_out(t)).end_object();
}

void write_quantity(JsonWriter& json, const Diagnosis& d, const Quantity& q, const QuantityTold& t) {
  json.begin_object(true).member("name", q.name).member("label", q.label).member("unit", q.unit);
  json.member("drawn", q.drawn).member("low", t.low).member("quarter", t.quarter).member("middle", t.middle);
  json.member("three_quarters", t.three_quarters).member("high", t.high);
  json.member("before_low", t.before_low).member("before_high", t.before_high).member("narrowed", t.narrowed);
  if (t.decided_by >= 0)
    json.member("told_by", d.readings[static_cast<std::size_t>(t.decided_by)].name);
  else
    json.null_member("told_by");
  json.end_object();
}

std::string_view name_of(WhatToChange::Advice advice) {
  switch (advice) {
    case WhatToChange::Advice::leave_it:
      return "leave_it";
    case WhatToChange::Advice::change:
      return "change";
    case WhatToChange::Advice::change_two:
      return "change_two";
    case WhatToChange::Advice::no_help:
      return "no_help";
    case WhatToChange::Advice::fault_first:
      return "fault_first";
    case WhatToChange::Advice::unknown:
      break;
  }
  return "unknown";
}

void write_change(JsonWriter& json, const DiagnosisReport& r) {
  const WhatToChange& c = r.change;
  json.key("change").begin_object().member("advice", name_of(c.advice));
  if (c.part)
    json.member("part", c.part->pointer).member("from", c.part->value(r.design)).member("to", c.value);
  if (c.second)
    json.member("second_part", c.second->pointer)
        .member("second_from", c.second->value(r.design))
        .member("second_to", c.second_value);
  write_sentences(json, "in_words", change_in_words(r));
  json.key("figures").begin_array();
  for (const FigureThen& f : c.figures) {
    json.begin_object(true)
        .member("name", f.figure->name)
        .member("unit", f.figure->unit)
        .member("drawn", f.drawn);
    json.member("low", f.low).member("middle", f.middle).member("high", f.high);
    json.member("then_low", f.then_low).member("then_middle", f.then_middle).member("then_high", f.then_high);
    json.end_object();
  }
  json.end_array().end_object();
}

}  // namespace

std::string diagnosis_json(const DiagnosisReport& r) {
  const Diagnosis& d = r.diagnosis;
  JsonWriter json;
  json.begin_object().member("safety", kSafetyLine).member("known", d.known).member("explained", d.explained);
  write_sentences(json, "verdict", verdict(r));
  json.key("faults").begin_array();
  for (const FaultTold& t : d.told) write_fault(json, d.faults[t.fault], t);
  json.end_array().member("first_set", static_cast<int>(d.first_set)).member("doubt_bits", d.doubt_bits);
  json.key("readings").begin_array();
  for (const ReadingTold& t : d.taken) write_reading(json, d, t);
  json.end_array().key("quantities").begin_array();
  for (std::size_t q = 0; d.explained && q < d.quantity.size(); ++q)
    write_quantity(json, d, d.quantities[q], d.quantity[q]);
  json.end_array().key("next").begin_array();
  for (const NextTold& n : d.next) {
    if (!d.explained) break;  // what would be expected there follows from an explanation
    const BenchReading& reading = d.readings[static_cast<std::size_t>(n.reading)];
    json.begin_object(true).member("name", reading.name).member("label", label_of(reading));
    write_conditions(json, reading);
    json.member("bits", n.bits).member("low_v", n.low_v).member("high_v", n.high_v).end_object();
  }
  json.end_array();
  write_change(json, r);
  write_sentences(json, "grounds", grounds(r));
  json.end_object();
  return std::move(json).take() + "\n";
}

}  // namespace antiphase
