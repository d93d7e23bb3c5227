#include "results/page/schematic.h"

#include <initializer_list>
#include <utility>

#include "results/text/html.h"

namespace antiphase {
namespace {

constexpr int kBody = 34;  // length of a resistor's box

std::string element(std::string_view name, std::initializer_list<std::pair<std::string_view, int>> attributes,
                    std::string_view more = "") {
  std::string out = "<" + std::string(name);
  for (const auto& [key, value] : attributes)
    out += " " + std::string(key) + "=\"" + std::to_string(value) + "\"";
  return out + std::string(more) + "/>";
}

}  // namespace

void Schematic::line(int x1, int y1, int x2, int y2) {
  marks_ += element("line", {{"x1", x1}, {"y1", y1}, {"x2", x2}, {"y2", y2}});
}

void Schematic::dot(int x, int y) {
  marks_ += element("circle", {{"cx", x}, {"cy", y}, {"r", 3}}, " fill=\"currentColor\"");
}

void Schematic::text(int x, int y, std::string_view words, Anchor anchor, std::string_view kind) {
  constexpr std::string_view kAnchors[] = {"start", "middle", "end"};
  marks_ += "<text x=\"" + std::to_string(x) + "\" y=\"" + std::to_string(y) + "\" text-anchor=\"" +
            std::string(kAnchors[static_cast<int>(anchor)]) + "\"";
  if (!kind.empty()) marks_ += " class=\"" + std::string(kind) + "\"";
  marks_ += " fill=\"currentColor\" stroke=\"none\">" + html(words) + "</text>";
}

void Schematic::label_beside(int x, int y, std::string_view label, Anchor anchor) {
  text(anchor == Anchor::end ? x - 14 : x + 14, y + 5, label, anchor);
}

void Schematic::resistor(int x, int y1, int y2, std::string_view label, Anchor anchor) {
  const int middle = (y1 + y2) / 2, top = middle - kBody / 2;
  line(x, y1, x, top);
  marks_ += element("rect", {{"x", x - 7}, {"y", top}, {"width", 14}, {"height", kBody}}, " fill=\"none\"");
  line(x, top + kBody, x, y2);
  label_beside(x, middle, label, anchor);
}

void Schematic::sink(int x, int y1, int y2, std::string_view label, Anchor anchor) {
  const int middle = (y1 + y2) / 2;
  line(x, y1, x, y2);
  marks_ += element("circle", {{"cx", x}, {"cy", middle}, {"r", 14}}, " fill=\"none\"");
  line(x - 5, middle + 3, x, middle + 9);
  line(x + 5, middle + 3, x, middle + 9);
  label_beside(x + (anchor == Anchor::end ? -6 : 6), middle, label, anchor);
}

void Schematic::capacitor_down(int x, int y1, int y2, std::string_view label, Anchor anchor) {
  const int middle = (y1 + y2) / 2;
  line(x, y1, x, middle - 4);
  line(x - 10, middle - 4, x + 10, middle - 4);
  line(x - 10, middle + 4, x + 10, middle + 4);
  line(x, middle + 4, x, y2);
  label_beside(x, middle, label, anchor);
}

void Schematic::capacitor_across(int x1, int x2, int y) {
  if (x1 > x2) std::swap(x1, x2);
  const int middle = (x1 + x2) / 2;
  line(x1, y, middle - 4, y);
  line(middle - 4, y - 10, middle - 4, y + 10);
  line(middle + 4, y - 10, middle + 4, y + 10);
  line(middle + 4, y, x2, y);
}

void Schematic::ground(int x, int y) {
  line(x - 10, y, x + 10, y);
  line(x - 6, y + 4, x + 6, y + 4);
  line(x - 2, y + 8, x + 2, y + 8);
}

void Schematic::triode(int x, int y, int grid_x) {
  marks_ += element("circle", {{"cx", x}, {"cy", y}, {"r", 28}}, " fill=\"none\"");
  line(x, y - 28, x, y - 14);
  line(x - 12, y - 14, x + 12, y - 14);
  marks_ +=
      element("line", {{"x1", x - 15}, {"y1", y}, {"x2", x + 15}, {"y2", y}}, " stroke-dasharray=\"5 4\"");
  line(grid_x < x ? x - 15 : x + 15, y, grid_x, y);
  marks_ += "<path d=\"M" + std::to_string(x - 12) + " " + std::to_string(y + 18) +
            " q12 -9 24 0\" fill=\"none\"/>";
  line(x, y + 14, x, y + 28);
}

std::string Schematic::svg(int width, int height, std::string_view title) const {
  return "<svg class=\"circuit\" viewBox=\"0 0 " + std::to_string(width) + " " + std::to_string(height) +
         "\" role=\"img\" stroke=\"currentColor\" stroke-width=\"1.5\" font-size=\"13\"><title>" +
         html(title) + "</title>" + marks_ + "</svg>";
}

}  // namespace antiphase
