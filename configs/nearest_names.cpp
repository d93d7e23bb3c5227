#include "configs/nearest_names.h"

#include <algorithm>

#include "results/text/wording.h"

namespace antiphase {
namespace {

constexpr std::size_t kLongest = 64;  // longer texts are no slips of a name

char lower(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

bool begins_with(std::string_view text, std::string_view start) {
  return start.size() >= 3 && text.size() > start.size() &&
         std::equal(start.begin(), start.end(), text.begin(),
                    [](char x, char y) { return lower(x) == lower(y); });
}

}  // namespace

int edit_distance(std::string_view a, std::string_view b) {
  const auto columns = b.size() + 1;
  std::vector<int> before(columns), last(columns), row(columns);  // rows i - 2, i - 1, i
  for (std::size_t j = 0; j < columns; ++j) last[j] = static_cast<int>(j);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = static_cast<int>(i);
    for (std::size_t j = 1; j < columns; ++j) {
      const bool same = lower(a[i - 1]) == lower(b[j - 1]);
      row[j] = std::min({last[j] + 1, row[j - 1] + 1, last[j - 1] + (same ? 0 : 1)});
      if (i > 1 && j > 1 && lower(a[i - 1]) == lower(b[j - 2]) && lower(a[i - 2]) == lower(b[j - 1]))
        row[j] = std::min(row[j], before[j - 2] + 1);
    }
    std::swap(before, last);
    std::swap(last, row);
  }
  return last.back();
}

std::vector<std::string> nearest_names(std::string_view name, const std::vector<std::string_view>& known,
                                       int count) {
  if (name.empty() || name.size() > kLongest || count <= 0) return {};
  struct Near {
    int distance;
    std::string_view name;
  };
  std::vector<Near> near;
  for (const auto candidate : known) {
    const int slips = std::max(1, static_cast<int>(std::max(name.size(), candidate.size())) / 3);
    const int distance = edit_distance(name, candidate);
    // A name cut short ("tail" for "tail_fraction") ranks behind every slip of the pen.
    if (distance <= slips)
      near.push_back({distance, candidate});
    else if (begins_with(candidate, name) || begins_with(name, candidate))
      near.push_back({slips + distance, candidate});
  }
  std::stable_sort(near.begin(), near.end(),
                   [](const Near& x, const Near& y) { return x.distance < y.distance; });
  std::vector<std::string> names;
  for (const auto& n : near)
    if (static_cast<int>(names.size()) < count &&
        std::find(names.begin(), names.end(), n.name) == names.end())
      names.emplace_back(n.name);
  return names;
}

std::string did_you_mean(const std::vector<std::string>& names) {
  return names.empty() ? "" : "; did you mean " + one_of({names.begin(), names.end()}) + "?";
}

}  // namespace antiphase
