#include "configs/read_bytes.h"

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>

using namespace antiphase;

TEST_CASE("a file comes whole up to the limit, and one byte beyond it shows that it is longer") {
  const auto file = (std::filesystem::temp_directory_path() / "antiphase_read_bytes_test.bin").string();
  const std::string bytes(40'000, 'x');
  std::ofstream(file, std::ios::binary) << bytes;
  CHECK(std::get<std::string>(read_bytes(file, 100'000)) == bytes);
  CHECK(std::get<std::string>(read_bytes(file, 40'000)).size() == 40'000);
  CHECK(std::get<std::string>(read_bytes(file, 39'999)).size() == 40'000);
  CHECK(std::get<std::string>(read_bytes(file, 100)).size() == 101);
  std::filesystem::remove(file);
  CHECK(std::get<InputErrors>(read_bytes(file, 100)).unreadable);
}
