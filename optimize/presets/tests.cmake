# Program and tests, warnings stop the build:  cmake -C optimize/presets/tests.cmake -S . -B build-tests -G Ninja
set(CMAKE_BUILD_TYPE Release CACHE STRING "")
set(ANTIPHASE_TESTS ON CACHE BOOL "")
set(ANTIPHASE_REFERENCE_TESTS ON CACHE BOOL "")
set(ANTIPHASE_WARNINGS_ARE_ERRORS ON CACHE BOOL "")
