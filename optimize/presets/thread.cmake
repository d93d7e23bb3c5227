# The tests under the thread sanitizer:  cmake -C optimize/presets/thread.cmake -S . -B build-thread -G Ninja
# clang: gcc takes minutes for one file of equations with these checks in it.
set(CMAKE_C_COMPILER clang-14 CACHE STRING "")
set(CMAKE_CXX_COMPILER clang++-14 CACHE STRING "")
set(ANTIPHASE_TESTS ON CACHE BOOL "")
set(ANTIPHASE_REFERENCE_TESTS ON CACHE BOOL "")
set(ANTIPHASE_SANITIZE thread CACHE STRING "")
