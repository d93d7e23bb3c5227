#include "results/svg/picture.h"

#include <algorithm>

#include "results/describe/safety.h"
#include "results/text/formatted.h"
#include "results/text/html.h"
#include "results/text/lines.h"

namespace antiphase {
namespace {

constexpr double kCautionHigh = 36, kFirstLine = 14, kBetweenLines = 14;
constexpr std::size_t kCautionColumns = 110;

/// Under the picture, because somebody may build from it.
std::string caution() {
  const std::string lines = wrapped(kSafetyLine, kCautionColumns, 0);
  std::string out;
  double y = kPictureHigh + kFirstLine;
  for (std::size_t from = 0; from < lines.size(); y += kBetweenLines) {
    const std::size_t end = std::min(lines.find('\n', from), lines.size());
    out += formatted("<text x=\"84\" y=\"%g\" font-size=\"11\">", y) +
           html(std::string_view(lines).substr(from, end - from)) + "</text>\n";
    from = end + 1;
  }
  return out;
}

}  // namespace

std::string picture(std::string_view title, std::string_view description, std::string_view style,
                    double heading_x, std::string_view body) {
  std::string out = formatted(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %g %g\" role=\"img\" "
      "aria-labelledby=\"title description\" font-family=\"sans-serif\" font-size=\"13\">\n",
      kPictureWide, kPictureHigh + kCautionHigh);
  out += "<title id=\"title\">" + html(title) + "</title>\n<desc id=\"description\">" + html(description) +
         "</desc>\n";
  out += style;
  out += formatted("<text x=\"%g\" y=\"28\" font-size=\"17\">", heading_x) + html(title) + "</text>\n";
  out += body;
  return out + caution() + "</svg>\n";
}

}  // namespace antiphase
