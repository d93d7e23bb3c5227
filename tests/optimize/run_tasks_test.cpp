#include "optimize/engine/run_tasks.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

using namespace antiphase::engine;

TEST_CASE("every task runs once, whatever the number of threads") {
  for (const int threads : {1, 2, 3, 8}) {
    std::vector<int> runs(500, 0);
    run_tasks(500, threads, [&](int task) { ++runs[task]; });
    CHECK(std::all_of(runs.begin(), runs.end(), [](int n) { return n == 1; }));
  }
  run_tasks(0, 4, [](int) { FAIL("there is no task"); });
}

TEST_CASE("no more tasks run at once than threads were asked for, and as many do") {
  for (const int threads : {1, 2, 5}) {
    std::atomic<int> running{0}, most{0};
    run_tasks(40, threads, [&](int) {
      const int now = ++running;
      int before = most;
      while (now > before && !most.compare_exchange_weak(before, now)) {
      }
      std::this_thread::sleep_for(std::chrono::milliseconds(5));
      --running;
    });
    CHECK(most <= threads);
    if (threads > 1) CHECK(most >= 2);  // five on two cores may not all get a turn together
  }
}

TEST_CASE("a failed task is not lost, the lowest number speaks, and the others still run") {
  for (const int threads : {1, 2, 8}) {
    std::atomic<int> finished{0};
    std::string said;
    try {
      run_tasks(50, threads, [&](int task) {
        if (task == 31 || task == 7 || task == 44) throw std::runtime_error("task " + std::to_string(task));
        ++finished;
      });
    } catch (const std::runtime_error& e) {
      said = e.what();
    }
    CHECK(said == "task 7");
    CHECK(finished == 47);
  }
}
