#include "results/text/html.h"

#include "results/text/lines.h"

namespace antiphase {

std::string html(std::string_view text) {
  std::string out;
  for (char c : printable(text, true)) switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        out += c;
    }
  return out;
}

std::string html_element(std::string_view tag, std::string_view text) {
  return "<" + std::string(tag) + ">" + html(text) + "</" + std::string(tag) + ">";
}

}  // namespace antiphase
