#include "results/page/true_minus.h"

namespace antiphase {

std::string with_true_minus(std::string_view text) {
  const auto opens = [](char before) { return before == ' ' || before == '('; };
  const auto digit = [](char c) { return c >= '0' && c <= '9'; };
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const bool sign =
        text[i] == '-' && i + 1 < text.size() && digit(text[i + 1]) && (i == 0 || opens(text[i - 1]));
    if (sign)
      out += "\u2212";
    else
      out += text[i];
  }
  return out;
}

}  // namespace antiphase
