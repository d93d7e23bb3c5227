#include "results/svg/picture.h"

#include "results/text/formatted.h"
#include "results/text/html.h"

namespace antiphase {

std::string picture(std::string_view title, std::string_view description, std::string_view style,
                    double heading_x, std::string_view body) {
  std::string out = formatted(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %g %g\" role=\"img\" "
      "aria-labelledby=\"title description\" font-family=\"sans-serif\" font-size=\"13\">\n",
      kPictureWide, kPictureHigh);
  out += "<title id=\"title\">" + html(title) + "</title>\n<desc id=\"description\">" + html(description) +
         "</desc>\n";
  out += style;
  out += formatted("<text x=\"%g\" y=\"28\" font-size=\"17\">", heading_x) + html(title) + "</text>\n";
  out += body;
  return out + "</svg>\n";
}

}  // namespace antiphase
