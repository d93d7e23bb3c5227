#include "configs/input_errors.h"

#include <algorithm>
#include <tuple>
#include <utility>

#include "configs/input_error_list.h"
#include "results/text/wording.h"

namespace antiphase {
namespace {

void sort_by_place(std::vector<InputError>& list) {
  std::stable_sort(list.begin(), list.end(), [](const InputError& a, const InputError& b) {
    return std::tie(a.file, a.line, a.column) < std::tie(b.file, b.line, b.column);
  });
}

}  // namespace

std::string in_words(const InputErrors& errors) {
  auto list = errors.list;
  sort_by_place(list);
  std::string text;
  for (const auto& f : list) {
    text += f.file;
    if (f.line > 0) text += ":" + std::to_string(f.line) + ":" + std::to_string(f.column);
    text += ": ";
    if (!f.pointer.empty()) text += f.pointer + ": ";
    text += f.what + "\n";
  }
  return text;
}

void InputErrorList::add(const std::string& pointer, Place place, std::string what) {
  if (full()) {
    ++not_kept_;
    return;
  }
  errors_.list.push_back({file_, pointer, place.line, place.column, std::move(what)});
}

InputErrors InputErrorList::take() {
  sort_by_place(errors_.list);
  if (not_kept_ > 0) {
    const InputError& last = errors_.list.back();
    errors_.list.push_back(
        {file_, "", last.line, last.column, "and " + std::to_string(not_kept_) + " more faults"});
  }
  not_kept_ = 0;
  return std::exchange(errors_, {});
}

std::string pointer_to(const std::string& pointer, std::string_view name) {
  std::string step;
  for (const char c : name) {
    if (c == '~')
      step += "~0";
    else if (c == '/')
      step += "~1";
    else
      step += c;
  }
  return pointer + "/" + shown(step);
}

InputErrors unreadable(const std::string& file, std::string what) {
  return {.unreadable = true, .list = {{file, "", 0, 0, std::move(what)}}};
}

}  // namespace antiphase
