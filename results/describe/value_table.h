/// A table of figures in words, the same for terminals and pages.
#pragma once

#include <string>
#include <vector>

namespace antiphase {

struct ValueTable {
  std::string caption;
  std::vector<std::string> columns;            ///< the first stands over the labels of the rows
  std::vector<std::vector<std::string>> rows;  ///< as many cells as columns; the first is the label
  bool number_labels = false;                  ///< the first column holds numbers too
  bool words_last = false;                     ///< the last column holds words, the others numbers
  std::vector<std::string> notes;              ///< sentences for below; with no rows, why there are none

  bool empty() const { return rows.empty() && notes.empty(); }
};

}  // namespace antiphase
