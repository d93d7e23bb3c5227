#include "configs/object_reader.h"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "configs/nearest_names.h"
#include "results/text/read_quantity.h"
#include "results/text/wording.h"
#include "results/text/write_quantity.h"

namespace antiphase {

bool NumberRule::allows(double value) const {
  return (above_low ? value > low : value >= low) && (below_high ? value < high : value <= high);
}

std::string NumberRule::in_words() const {
  const bool has_low = std::isfinite(low), has_high = std::isfinite(high);
  if (has_low && has_high && !above_low && !below_high)
    return "must be from " + exactly(low, unit) + " to " + exactly(high, unit);
  std::string words = "must be ";
  if (has_low) words += (above_low ? "above " : "at least ") + exactly(low, unit);
  if (has_low && has_high) words += " and ";
  if (has_high) words += (below_high ? "below " : "at most ") + exactly(high, unit);
  return words;
}

void Cursor::expected(std::string_view what) const {
  std::string words = "must be " + std::string(what);
  if (kind() == JsonKind::text)
    words += ", is " + in_quotes(value_->text);
  else if (kind() == JsonKind::number)
    words += ", is " + shown(value_->text);
  else
    words += ", is " + std::string(name_of(kind()));
  error(words);
}

namespace {

/// "22", 22, "1e-3": neither a unit nor a prefix stands behind the number.
bool is_bare(const JsonValue& value) {
  return value.kind == JsonKind::number ||
         value.text.find_first_not_of("0123456789.+-eE ") == std::string::npos;
}

std::string number_in_words(const NumberRule& rule) {
  if (rule.unit == "1") return "a number such as 1.5";
  return "a number in " + std::string(rule.unit) + " such as " + quantity_examples(rule.unit);
}

}  // namespace

std::optional<double> Cursor::number(const NumberRule& rule) const {
  const bool is_text = kind() == JsonKind::text;
  const std::string& text = value_->text;
  const auto value = kind() == JsonKind::number ? std::optional(value_->number)
                     : is_text                  ? read_quantity(text, rule.unit)
                                                : std::nullopt;
  if (!value) {
    if (is_text && text == kToBeFilledIn)
      error("is still to be filled in: " + number_in_words(rule));
    else if (const auto slip = is_text ? slip_in_number(text, rule.unit) : ""; !slip.empty())
      error(in_quotes(text) + " " + slip);
    else
      expected(number_in_words(rule));
    return std::nullopt;
  }
  const bool allowed = rule.allows(*value);
  const auto meant = [&](auto right) {
    return is_bare(*value_) ? forgotten_prefix(*value, rule.unit, right) : std::string();
  };
  if (!allowed) {
    error(rule.in_words() + ", is " + exactly(*value, rule.unit) +
          meant([&](double v) { return rule.allows(v) && rule.is_usual(v); }));
    return std::nullopt;
  }
  if (rule.is_usual(*value)) return value;
  const std::string slip = meant([&](double v) { return rule.allows(v) && rule.is_usual(v); });
  if (slip.empty()) return value;
  error("is " + exactly(*value, rule.unit) + ", which nobody builds here" + slip + " Write \"" +
        exactly(*value, "1") + " " + std::string(rule.unit) + "\" if it is meant");
  return std::nullopt;
}

std::optional<bool> Cursor::boolean() const {
  if (kind() == JsonKind::boolean) return value_->boolean;
  expected("true or false");
  return std::nullopt;
}

std::optional<std::uint64_t> Cursor::whole_number(std::uint64_t low, std::uint64_t high) const {
  const auto rule = "a whole number from " + std::to_string(low) + " to " + std::to_string(high);
  if (kind() == JsonKind::number) {
    std::uint64_t value = 0;
    const auto& text = value_->text;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error == std::errc{} && end == text.data() + text.size() && value >= low && value <= high)
      return value;
  }
  expected(rule);
  return std::nullopt;
}

std::optional<std::string> Cursor::text() const {
  if (kind() == JsonKind::text && value_->text.find_first_not_of(" \t\r\n") != std::string::npos)
    return value_->text;
  if (kind() == JsonKind::text)
    error("must not be empty");
  else
    expected("text");
  return std::nullopt;
}

std::optional<std::size_t> Cursor::choice(const std::vector<std::string_view>& names,
                                          const std::vector<std::string_view>& told) const {
  if (kind() != JsonKind::text) {
    expected(one_of(told));
    return std::nullopt;
  }
  const auto it = std::find(names.begin(), names.end(), value_->text);
  if (it != names.end()) return static_cast<std::size_t>(it - names.begin());
  error("must be " + one_of(told) + ", is " + in_quotes(value_->text) +
        did_you_mean(nearest_names(value_->text, told, 1)));
  return std::nullopt;
}

std::optional<std::vector<Cursor>> Cursor::items(std::size_t least, std::size_t most) const {
  if (kind() != JsonKind::list) {
    expected("a list");
    return std::nullopt;
  }
  const auto count = value_->items.size();
  if (count < least || count > most) {
    const auto wanted = least == most ? std::to_string(least)
                                      : "from " + std::to_string(least) + " to " + std::to_string(most);
    if (count == 0)
      error("must not be empty");
    else
      error("must have " + wanted + (most == 1 ? " item" : " items") + ", has " + std::to_string(count));
    return std::nullopt;
  }
  std::vector<Cursor> cursors;
  for (std::size_t i = 0; i < count; ++i)
    cursors.emplace_back(value_->items[i], pointer_to(pointer_, std::to_string(i)), *errors_);
  return cursors;
}

std::optional<Cursor> Cursor::member(std::string_view name) const {
  const auto* value = value_->find(name);
  if (value == nullptr) return std::nullopt;
  return Cursor(*value, pointer_to(pointer_, name), *errors_);
}

bool Cursor::says(std::string_view text) const {
  return kind() == JsonKind::text && value_->text == text;
}

bool Cursor::lists(std::string_view text) const {
  return kind() == JsonKind::list &&
         std::any_of(value_->items.begin(), value_->items.end(),
                     [&](const JsonValue& item) { return item.kind == JsonKind::text && item.text == text; });
}

bool Cursor::lists_object_with(std::string_view member, std::string_view text) const {
  return kind() == JsonKind::list &&
         std::any_of(value_->items.begin(), value_->items.end(), [&](const JsonValue& item) {
           const JsonValue* value = item.find(member);
           return value && value->kind == JsonKind::text && value->text == text;
         });
}

ObjectReader::ObjectReader(const Cursor& cursor)
    : cursor_(cursor), is_object_(cursor.kind() == JsonKind::object) {
  if (!is_object_) cursor_.expected("an object {}");
}

ObjectReader::~ObjectReader() {
  if (knows_all_) return;
  for (const auto& member : cursor_.value_->members) {
    if (std::find(known_.begin(), known_.end(), member.name) != known_.end()) continue;
    auto names = cursor_.errors_->full() ? std::vector<std::string>{} : nearest_names(member.name, known_, 2);
    std::erase_if(names, [&](const std::string& n) { return cursor_.value_->find(n) != nullptr; });
    cursor_.errors_->add(pointer_to(pointer(), member.name), member.place,
                         "is not a known member here" + did_you_mean(names));
  }
}

std::optional<Cursor> ObjectReader::find(std::string_view name) {
  know(name);
  return cursor_.member(name);
}

std::optional<Cursor> ObjectReader::require(std::string_view name, std::string_view description) {
  auto member = find(name);
  if (!member && is_object_) error(name, "is missing: " + std::string(description));
  return member;
}

std::optional<double> ObjectReader::number(std::string_view name, const NumberRule& rule) {
  const auto member = find(name);
  return member ? member->number(rule) : std::nullopt;
}

std::optional<double> ObjectReader::required_number(std::string_view name, std::string_view description,
                                                    const NumberRule& rule) {
  const auto member = require(name, description);
  return member ? member->number(rule) : std::nullopt;
}

std::optional<std::string> ObjectReader::text(std::string_view name) {
  const auto member = find(name);
  return member ? member->text() : std::nullopt;
}

std::optional<std::string> ObjectReader::required_text(std::string_view name, std::string_view description) {
  const auto member = require(name, description);
  return member ? member->text() : std::nullopt;
}

std::vector<std::string> ObjectReader::texts(std::string_view name) {
  const auto member = find(name);
  if (!member) return {};
  std::vector<std::string> list;
  if (member->kind() == JsonKind::text) {
    if (auto text = member->text()) list.push_back(std::move(*text));
  } else if (const auto items = member->items(0, 1000)) {
    for (const auto& item : *items)
      if (auto text = item.text()) list.push_back(std::move(*text));
  }
  return list;
}

void ObjectReader::error(std::string_view name, std::string what) {
  const auto* value = cursor_.value_->find(name);
  cursor_.errors_->add(pointer_to(pointer(), name), value ? value->place : cursor_.value_->place,
                       std::move(what));
}

}  // namespace antiphase
