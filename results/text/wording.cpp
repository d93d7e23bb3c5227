#include "results/text/wording.h"

namespace antiphase {
namespace {

constexpr std::size_t kShownBytes = 60;
constexpr std::string_view kHex = "0123456789abcdef";

/// A list as a sentence has it: commas, and another word before the last.
std::string listed(const std::vector<std::string>& parts, std::string_view before_last) {
  std::string text;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (i > 0) text.append(i + 1 < parts.size() ? ", " : before_last);
    text += parts[i];
  }
  return text;
}

}  // namespace

std::string shown(std::string_view text) {
  std::string out;
  bool cut = false;
  if (text.size() > kShownBytes) {
    cut = true;
    text = text.substr(0, kShownBytes);
    // not in the middle of a character: bytes 10xxxxxx continue one
    while (!text.empty() && (static_cast<unsigned char>(text.back()) & 0xc0) == 0x80) text.remove_suffix(1);
    if (!text.empty() && static_cast<unsigned char>(text.back()) >= 0xc0) text.remove_suffix(1);
  }
  const auto escaped = [](unsigned char byte) {
    return std::string("\\u00") + kHex[byte >> 4] + kHex[byte & 15];
  };
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto byte = static_cast<unsigned char>(text[i]);
    const auto next = static_cast<unsigned char>(i + 1 < text.size() ? text[i + 1] : 0);
    if (byte < 0x20 || byte == 0x7f) {
      out += escaped(byte);
    } else if (byte == 0xc2 && next >= 0x80 && next < 0xa0) {  // U+0080 to U+009F steer terminals too
      out += escaped(next);
      ++i;
    } else {
      out += text[i];
    }
  }
  return cut ? out + "\u2026" : out;
}

std::string in_quotes(std::string_view text) {
  return "\"" + shown(text) + "\"";
}

std::string one_of(const std::vector<std::string_view>& names) {
  std::vector<std::string> parts;
  for (const auto name : names) parts.push_back(in_quotes(name));
  return listed(parts, " or ");
}

std::string joined(const std::vector<std::string>& parts, std::string_view between) {
  std::string text;
  for (const std::string& part : parts) text.append(text.empty() ? "" : between).append(part);
  return text;
}

std::string all_of(const std::vector<std::string>& parts) {
  return listed(parts, " and ");
}

std::string any_of(const std::vector<std::string>& parts) {
  return listed(parts, " or ");
}

}  // namespace antiphase
