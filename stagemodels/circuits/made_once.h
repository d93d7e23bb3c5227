/// What is made when it is first asked for and then kept for good.
#pragma once

#include <atomic>
#include <memory>

namespace antiphase {

/// `make` is called where nothing is there yet. Two threads may both make one; one of them is kept. Allocates
/// at the first call. Cost afterwards: one look.
template <class T, class Make>
const T& made_once(std::atomic<const T*>& place, const Make& make) {
  if (const T* there = place.load(std::memory_order_acquire)) return *there;
  std::unique_ptr<const T> made(new T(make()));  // made in place: it may not be one that can be moved
  const T* before = nullptr;
  if (!place.compare_exchange_strong(before, made.get(), std::memory_order_acq_rel)) return *before;
  return *made.release();
}

}  // namespace antiphase
