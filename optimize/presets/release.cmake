# The program alone, as it is shipped:  cmake -C optimize/presets/release.cmake -S . -B build -G Ninja
set(CMAKE_BUILD_TYPE Release CACHE STRING "")
set(ANTIPHASE_TESTS OFF CACHE BOOL "")
