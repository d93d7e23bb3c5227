/// How many threads a command works with.
#pragma once

#include <algorithm>
#include <thread>

namespace antiphase {

/// `asked` if that is above 0, else as many as there are processors.
inline int threads_for(int asked) {
  return asked > 0 ? asked : static_cast<int>(std::max(1u, std::thread::hardware_concurrency()));
}

}  // namespace antiphase
