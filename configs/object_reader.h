/// Typed values out of a JSON document; everything that is wrong is gathered, nothing is guessed.
#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "configs/input_error_list.h"
#include "configs/json_document.h"

namespace antiphase {

/// Stands in a card where a number of the data sheet has to be put in; no reader takes it for one.
inline constexpr std::string_view kToBeFilledIn = "fill in";

/// What a number must be.
struct NumberRule {
  std::string_view unit = "1";
  double low = -std::numeric_limits<double>::infinity();
  double high = std::numeric_limits<double>::infinity();
  bool above_low = false;   ///< low itself is not allowed
  bool below_high = false;  ///< high itself is not allowed
  /// What is allowed beyond these is so unusual that a number without a unit or prefix is a slip, if a prefix
  /// brings it in between: 22 for "22k". Whoever means it writes the unit: "22 ohm".
  double usual_low = -std::numeric_limits<double>::infinity();
  double usual_high = std::numeric_limits<double>::infinity();

  bool allows(double value) const;
  bool is_usual(double value) const { return value >= usual_low && value <= usual_high; }
  /// "must be from 1 V to 2 kV", "must be above 0 A and at most 1 A".
  std::string in_words() const;
};

/// One value of a document and its JSON pointer. The reading members give the value, or report a
/// error and give nothing.
class Cursor {
 public:
  Cursor(const JsonValue& value, std::string pointer, InputErrorList& errors)
      : value_(&value), pointer_(std::move(pointer)), errors_(&errors) {}

  JsonKind kind() const { return value_->kind; }
  const std::string& pointer() const { return pointer_; }
  void error(std::string what) const { errors_->add(pointer_, value_->place, std::move(what)); }

  /// A plain number in SI units or text such as "47k" or "1.5 mA".
  std::optional<double> number(const NumberRule& rule) const;
  /// true or false.
  std::optional<bool> boolean() const;
  /// A whole number without a fraction, both ends included.
  std::optional<std::uint64_t> whole_number(std::uint64_t low, std::uint64_t high) const;
  /// Text with something in it.
  std::optional<std::string> text() const;
  /// Text that is one of `names`; its index.
  std::optional<std::size_t> choice(const std::vector<std::string_view>& names) const {
    return choice(names, names);
  }
  /// The same, but a message about another text tells of `told` only.
  std::optional<std::size_t> choice(const std::vector<std::string_view>& names,
                                    const std::vector<std::string_view>& told) const;
  /// The items of a list with `least` to `most` of them.
  std::optional<std::vector<Cursor>> items(std::size_t least, std::size_t most) const;

  /// The member of an object, or nothing if it is not there (or this is no object).
  std::optional<Cursor> member(std::string_view name) const;

  /// True for this text.
  bool says(std::string_view text) const;
  /// True for a list that has this text among its items.
  bool lists(std::string_view text) const;
  /// True for a list with an object whose member has this text.
  bool lists_object_with(std::string_view member, std::string_view text) const;

  /// Reports "must be <what>, is <kind of the value>".
  void expected(std::string_view what) const;

 private:
  friend class ObjectReader;
  const JsonValue* value_;
  std::string pointer_;
  InputErrorList* errors_;
};

/// The members of one object. Members that nobody asked for are errors: the destructor reports them.
class ObjectReader {
 public:
  /// If the value is no object, that is reported, and the reader is `empty()` and silent.
  explicit ObjectReader(const Cursor& cursor);
  ~ObjectReader();
  ObjectReader(const ObjectReader&) = delete;
  ObjectReader& operator=(const ObjectReader&) = delete;

  bool is_object() const { return is_object_; }
  const std::string& pointer() const { return cursor_.pointer(); }

  /// The member, or nothing if it is not there.
  std::optional<Cursor> find(std::string_view name);
  /// The member; if it is not there, that is reported. `says` tells what it is: "the tube's type".
  std::optional<Cursor> require(std::string_view name, std::string_view description);

  std::optional<double> number(std::string_view name, const NumberRule& rule);
  std::optional<double> required_number(std::string_view name, std::string_view description,
                                        const NumberRule& rule);
  std::optional<std::string> text(std::string_view name);
  std::optional<std::string> required_text(std::string_view name, std::string_view description);
  std::vector<std::string> texts(std::string_view name);  ///< a list of texts, or one; empty if not there

  /// Reports at a member, or at the object if there is no such member.
  void error(std::string_view name, std::string what);
  /// Members of this name are known, though not read here.
  void know(std::string_view name) { known_.push_back(name); }
  /// Which members are known depends on a member that is wrong: report none of them.
  void know_all() { knows_all_ = true; }

 private:
  Cursor cursor_;
  bool is_object_;
  bool knows_all_ = false;
  std::vector<std::string_view> known_;  ///< names are constants of the program
};

}  // namespace antiphase
