# The program for valgrind, which knows no wide vectors:  cmake -C optimize/presets/valgrind.cmake -S . -B build-valgrind -G Ninja
set(ANTIPHASE_TESTS OFF CACHE BOOL "")
set(CMAKE_CXX_FLAGS "-DANTIPHASE_PLAIN -g" CACHE STRING "")
