/// Runs the built program as its user would.
#pragma once

#include <sys/wait.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

namespace antiphase::testing {

struct Answer {
  int code = -1;  ///< exit code; 128 + signal if a signal ended it
  std::string out, err;
};

inline std::string read_text(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

inline void write_text(const std::filesystem::path& file, const std::string& text) {
  std::ofstream(file, std::ios::binary) << text;
}

/// A folder of its own that is gone when the test ends.
class Folder {
 public:
  Folder() {
    std::string name = (std::filesystem::temp_directory_path() / "antiphase-test-XXXXXX").string();
    path_ = ::mkdtemp(name.data());
  }
  ~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  std::filesystem::path operator/(const std::string& name) const { return path_ / name; }
  std::string text() const { return path_.string(); }

 private:
  std::filesystem::path path_;
};

/// `arguments` as a shell would read them; `redirect` replaces where standard output goes.
inline Answer run(const std::string& arguments, const std::string& before = "",
                  const std::string& redirect = "", const std::string& program = ANTIPHASE_PROGRAM) {
  Folder folder;
  const std::string out = (folder / "out").string(), err = (folder / "err").string();
  const std::string command = before + " " + program + " " + arguments + " >" +
                              (redirect.empty() ? out : redirect) + " 2>" + err + " </dev/null";
  const int status = std::system(command.c_str());
  Answer answer;
  answer.code = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
  answer.out = read_text(out);
  answer.err = read_text(err);
  return answer;
}

}  // namespace antiphase::testing
