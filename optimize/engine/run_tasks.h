/// Numbered tasks on several threads. The only part of the engine that knows threads.
#pragma once

#include <functional>

namespace antiphase::engine {

/// Runs task(0) ... task(tasks - 1), each once, on at most `threads` (> 0) threads; returns when all
/// are done. Each task writes only what belongs to its number; the caller merges in order of number.
/// Tasks start in order of number. A task must not call run_tasks.
/// Failure: every task still runs; then the exception of the lowest-numbered failed task is rethrown.
/// Threads: the cap holds for the whole process while the call lasts.
void run_tasks(int tasks, int threads, const std::function<void(int task)>& task);

}  // namespace antiphase::engine
