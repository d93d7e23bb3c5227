#include "optimize/engine/run_tasks.h"

#ifdef ANTIPHASE_PLAIN_THREADS  // TBB as packaged tells the thread sanitizer nothing: 44 false reports and
                                // more
#include <thread>
#else
#include <tbb/global_control.h>
#include <tbb/parallel_for.h>
#include <tbb/task_arena.h>
#endif

#include <atomic>
#include <cassert>
#include <exception>
#include <map>
#include <mutex>
#include <vector>

namespace antiphase::engine {

#ifndef ANTIPHASE_PLAIN_THREADS
namespace {

/// One for each number of threads, kept to the end of the process: TBB gives an arena back only when its last
/// worker has left, which on a busy machine is long after, so that ten thousand of them held hundreds of
/// megabytes.
tbb::task_arena& arena_for(int threads) {
  static std::mutex mutex;
  static auto& arenas = *new std::map<int, tbb::task_arena>;  // TBB may be gone before it would be destroyed
  const std::lock_guard lock(mutex);
  return arenas.try_emplace(threads, threads).first->second;
}

}  // namespace
#endif

void run_tasks(int tasks, int threads, const std::function<void(int)>& task) {
  assert(threads > 0);
  if (tasks <= 0) return;
  std::vector<std::exception_ptr> failure(tasks);
  std::atomic<int> next{0};
  // Each worker draws numbers until none is left. Not one TBB task per number: TBB splits a range from
  // its middle, and then long tasks at the front would not start first.
  const auto work = [&](int) {
    for (int number = next++; number < tasks; number = next++) {
      try {
        task(number);
      } catch (...) {
        failure[number] = std::current_exception();  // TBB would cancel the rest and keep any one
      }
    }
  };
  if (threads == 1) {
    work(0);
  } else {
#ifdef ANTIPHASE_PLAIN_THREADS
    std::vector<std::jthread> workers;
    for (int i = 0; i < threads; ++i) workers.emplace_back(work, i);
#else
    // Without the cap TBB silently stays at the number of cores, or goes above what was asked.
    const tbb::global_control cap(tbb::global_control::max_allowed_parallelism, threads);
    arena_for(threads).execute([&] { tbb::parallel_for(0, threads, work, tbb::simple_partitioner{}); });
#endif
  }
  for (const std::exception_ptr& thrown : failure)
    if (thrown) std::rethrow_exception(thrown);
}

}  // namespace antiphase::engine
