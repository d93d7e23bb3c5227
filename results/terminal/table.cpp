#include "results/terminal/table.h"

#include <algorithm>
#include <numeric>

#include "results/text/lines.h"

namespace antiphase {
namespace {

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  for (std::size_t at = 0; at <= text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    lines.push_back(text.substr(at, end - at));
    at = end + 1;
  }
  return lines;
}

/// Columns before the decimal point (all of them where there is none or the cell is no number).
std::size_t whole_width(const std::string& cell) {
  return display_width(cell.substr(0, cell.find('.')));
}

std::size_t fraction_width(const std::string& cell) {
  return display_width(cell) - whole_width(cell);
}

void strip_end(std::string& line) {
  line.erase(line.find_last_not_of(' ') + 1);
}

}  // namespace

struct Table::Layout {
  std::vector<std::size_t> width, fraction;
  std::vector<std::vector<std::string>> headings;
  std::size_t heading_lines = 0;
};

void Table::add_row(std::vector<std::string> cells) {
  cells.resize(columns_.size());
  rows_.push_back(std::move(cells));
}

Table::Layout Table::layout() const {
  Layout l;
  for (std::size_t c = 0; c < columns_.size(); ++c) {
    l.headings.push_back(lines_of(columns_[c].heading));
    if (!columns_[c].heading.empty()) l.heading_lines = std::max(l.heading_lines, l.headings.back().size());
    std::size_t width = 0, whole = 0, fraction = 0;
    for (const std::string& line : l.headings.back()) width = std::max(width, display_width(line));
    for (const auto& row : rows_) {
      width = std::max(width, display_width(row[c]));
      whole = std::max(whole, whole_width(row[c]));
      fraction = std::max(fraction, fraction_width(row[c]));
    }
    if (columns_[c].align == Align::point) width = std::max(width, whole + fraction);
    l.width.push_back(width);
    l.fraction.push_back(fraction);
  }
  return l;
}

std::size_t Table::width() const {
  const Layout l = layout();
  std::size_t sum = l.width.empty() ? 0 : gap_ * (l.width.size() - 1);
  for (std::size_t w : l.width) sum += w;
  return sum;
}

std::string Table::text(std::size_t indent) const {
  const Layout l = layout();
  const std::string margin(indent, ' '), gap(gap_, ' ');
  std::string out;
  const auto put = [&](std::string line) {
    strip_end(line);
    out += line + "\n";
  };
  const auto placed = [&](std::size_t c, const std::string& cell, bool heading) {
    if (columns_[c].align == Align::left) return padded_right(cell, l.width[c]);
    if (columns_[c].align == Align::right || heading) return padded_left(cell, l.width[c]);
    const std::size_t behind = l.fraction[c] - fraction_width(cell);
    return padded_left(cell + std::string(behind, ' '), l.width[c]);
  };

  for (std::size_t h = 0; h < l.heading_lines; ++h) {
    std::string line = margin;
    for (std::size_t c = 0; c < columns_.size(); ++c) {
      const std::size_t above = l.heading_lines - std::min(l.heading_lines, l.headings[c].size());
      line += (c > 0 ? gap : "") + placed(c, h < above ? "" : l.headings[c][h - above], true);
    }
    put(line);
  }
  if (l.heading_lines > 0) {
    std::string rule = margin;
    for (std::size_t c = 0; c < columns_.size(); ++c)
      rule += (c > 0 ? gap : "") + std::string(l.width[c], '-');
    put(rule);
  }
  for (const auto& row : rows_) {
    std::string line = margin;
    for (std::size_t c = 0; c < columns_.size(); ++c) line += (c > 0 ? gap : "") + placed(c, row[c], false);
    put(line);
  }
  return out;
}

Table Table::with_columns(const std::vector<std::size_t>& kept, std::size_t gap) const {
  std::vector<Column> columns;
  for (const std::size_t c : kept) columns.push_back(columns_[c]);
  Table table(std::move(columns), gap);
  for (const auto& row : rows_) {
    std::vector<std::string> cells;
    for (const std::size_t c : kept) cells.push_back(row[c]);
    table.add_row(std::move(cells));
  }
  return table;
}

Table Table::without_bare_rows() const {
  Table table(columns_, gap_);
  for (const auto& row : rows_)
    if (std::any_of(row.begin() + 1, row.end(), [](const std::string& cell) { return !cell.empty(); }))
      table.add_row(row);
  return table;
}

std::string Table::text_within(std::size_t screen, std::size_t indent) const {
  std::vector<std::size_t> all(columns_.size());
  std::iota(all.begin(), all.end(), std::size_t{0});
  for (std::size_t gap = gap_; gap > 0; --gap)
    if (const Table closer = with_columns(all, gap); indent + closer.width() <= screen)
      return closer.text(indent);
  const std::vector<std::size_t> widths = layout().width;
  std::string text;
  for (std::size_t next = 1; next < columns_.size();) {
    std::vector<std::size_t> kept{0};
    std::size_t width = indent + widths[0];
    do {
      width += gap_ + widths[next];
      kept.push_back(next++);
    } while (next < columns_.size() && width + gap_ + widths[next] <= screen);
    const Table part = with_columns(kept, gap_);
    text += text.empty() ? part.text(indent) : "\n" + part.without_bare_rows().text(indent);
  }
  return text.empty() ? this->text(indent) : text;
}

}  // namespace antiphase
