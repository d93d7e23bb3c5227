#include "configs/read_bytes.h"

#include <cerrno>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <system_error>

#include "configs/input_error_list.h"

namespace antiphase {

OrErrors<std::string> read_bytes(const std::string& file, std::size_t most) {
  const auto failure = [&](int error) {
    return unreadable(file, "cannot be read: " + std::generic_category().message(error));
  };
  std::error_code error;
  if (std::filesystem::is_directory(file, error)) return unreadable(file, "is a folder, not a file");
  errno = 0;
  const std::unique_ptr<std::FILE, int (*)(std::FILE*)> in(std::fopen(file.c_str(), "rb"), &std::fclose);
  if (!in) return failure(errno);
  std::string bytes;
  char block[1 << 14];
  while (bytes.size() <= most) {
    errno = 0;
    const auto got = std::fread(block, 1, sizeof block, in.get());
    bytes.append(block, got);
    if (std::ferror(in.get())) return failure(errno);
    if (got < sizeof block) break;
  }
  if (bytes.size() > most + 1) bytes.resize(most + 1);
  return bytes;
}

}  // namespace antiphase
