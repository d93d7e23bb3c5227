#include "configs/read_output_law.h"

#include "configs/card_members.h"
#include "results/text/wording.h"

namespace antiphase {
namespace {

constexpr NumberRule kVolt{"V", 1, 10e3};
constexpr NumberRule kCurrent{"A", 1e-6, 10};

OutputValvePoint read_law_point(const Cursor& cursor, bool screen) {
  ObjectReader in(cursor);
  OutputValvePoint p;
  const auto connection = in.find("connection");
  if (connection) p.as_triode = connection->choice({"triode"}).has_value();
  p.plate_v = in.required_number("plate_v", "plate voltage", kVolt).value_or(0);
  p.screen_v = p.plate_v;
  if (screen && !connection) p.screen_v = in.required_number("screen_v", "screen voltage", kVolt).value_or(0);
  p.grid_v = in.required_number("grid_v", "grid voltage", kOutputBias).value_or(0);
  p.plate_current_a = in.number("plate_current_a", kCurrent);
  if (screen && !connection) p.screen_current_a = in.number("screen_current_a", kCurrent);
  p.gm_s = in.number("gm_s", {"S", 1e-6, 1});
  p.rp_ohm = in.number("rp_ohm", {"ohm", 1, 100e6});
  p.mu = in.number("mu", {"1", 1, 500});
  p.source = read_source(in);
  return p;
}

template <class Law>
OutputLaw read_law_numbers(ObjectReader& in) {
  Law law;
  for (const auto& field : Law::fields()) {
    const NumberRule rule{field.unit, field.low, field.high};
    const auto value = law.*field.member == 0 ? in.number(field.name, rule)
                                              : in.required_number(field.name, field.description, rule);
    if (value) law.*field.member = *value;
  }
  return law;
}

}  // namespace

std::optional<OutputValveLaw> read_output_law(const Cursor& cursor) {
  ObjectReader in(cursor);
  const std::vector<std::string_view> forms{SpaceCurrentPentode::kForm, Koren1996::kForm,
                                            SuppressorPentode::kForm};
  const auto source = read_source(in);
  const auto points = in.find("points");
  const auto member = in.require("form", "the law: " + one_of(forms));
  const auto form = member ? member->choice(forms) : std::nullopt;
  if (!form) {
    in.know_all();
    return std::nullopt;
  }
  const bool screen = *form != 1;
  OutputValveLaw out{*form == 0   ? read_law_numbers<SpaceCurrentPentode>(in)
                     : *form == 1 ? read_law_numbers<Koren1996>(in)
                                  : read_law_numbers<SuppressorPentode>(in),
                     {},
                     source};
  if (points)
    if (const auto items = points->items(0, 100))
      for (const auto& item : *items) out.points.push_back(read_law_point(item, screen));
  return out;
}

}  // namespace antiphase
