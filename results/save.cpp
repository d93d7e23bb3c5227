#include "results/save.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cassert>
#include <cerrno>
#include <filesystem>
#include <system_error>

namespace antiphase {
namespace {

namespace fs = std::filesystem;

SaveError last_error(const fs::path& path, int code = errno) {
  return {path.string(), std::generic_category().message(code)};
}

/// Folders made on the way to `folder`, outermost first, so that they can be taken back.
std::optional<SaveError> make_folder(const fs::path& folder, std::vector<fs::path>& made) {
  fs::path so_far;
  for (const fs::path& step : folder) {
    so_far /= step;
    struct stat info {};
    if (::stat(so_far.c_str(), &info) == 0) {
      if (!S_ISDIR(info.st_mode)) return last_error(so_far, ENOTDIR);
      continue;
    }
    if (::mkdir(so_far.c_str(), 0777) == 0)
      made.push_back(so_far);
    else if (errno != EEXIST)  // made by somebody else meanwhile
      return last_error(so_far);
  }
  return std::nullopt;
}

bool write_all(int file, const std::string& content) {
  std::size_t done = 0;
  while (done < content.size()) {
    const ssize_t n = ::write(file, content.data() + done, content.size() - done);
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) return false;
    done += static_cast<std::size_t>(n);
  }
  return true;
}

/// A device or a pipe is written to, never replaced.
std::optional<SaveError> write_through(const fs::path& path, const std::string& content) {
  const int file = ::open(path.c_str(), O_WRONLY | O_CLOEXEC);
  if (file < 0) return last_error(path);
  const bool written = write_all(file, content);
  const int code = errno;
  const bool closed = ::close(file) == 0;
  if (!written) return last_error(path, code);
  if (!closed) return last_error(path);
  return std::nullopt;
}

std::optional<SaveError> write_new(const fs::path& path, const fs::path& meant, const std::string& content) {
  const int file = ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  if (file < 0) return last_error(meant);
  const bool written = write_all(file, content) && ::fsync(file) == 0;
  const int code = errno;
  const bool closed = ::close(file) == 0;
  if (!written) return last_error(meant, code);
  if (!closed) return last_error(meant);
  return std::nullopt;
}

/// One file on its way: written beside its place, the old one kept until all are in place.
struct Move {
  fs::path final, temporary, old;
  bool has_temporary = false, has_old = false, in_place = false;
};

class SetOfMoves {
 public:
  explicit SetOfMoves(fs::path folder) : folder_(std::move(folder)) {}
  SetOfMoves(const SetOfMoves&) = delete;
  SetOfMoves& operator=(const SetOfMoves&) = delete;
  ~SetOfMoves() {  // whatever was not finished is undone, and nothing temporary stays
    for (Move& m : moves_) {
      if (!finished_ && m.in_place)
        m.has_old ? (void)::rename(m.old.c_str(), m.final.c_str()) : (void)::unlink(m.final.c_str());
      if (m.has_old) ::unlink(m.old.c_str());
      if (m.has_temporary && !m.in_place) ::unlink(m.temporary.c_str());
    }
  }

  std::optional<SaveError> write(const FileToSave& file) {
    assert(file.name.find('/') == std::string::npos && !file.name.empty());
    const fs::path final = folder_ / file.name;
    struct stat info {};
    const bool exists = ::stat(final.c_str(), &info) == 0;
    if (exists && S_ISDIR(info.st_mode)) return last_error(final, EISDIR);
    if (exists && !S_ISREG(info.st_mode)) return write_through(final, file.content);
    const std::string stem = "." + file.name + "." + std::to_string(::getpid());
    moves_.push_back({final, folder_ / (stem + ".new"), folder_ / (stem + ".old")});
    Move& m = moves_.back();
    ::unlink(m.temporary.c_str());  // left by a process of this number that was killed
    auto error = write_new(m.temporary, m.final, file.content);
    m.has_temporary = !error || ::access(m.temporary.c_str(), F_OK) == 0;
    return error;
  }

  std::optional<SaveError> rename_all() {
    for (Move& m : moves_) {
      ::unlink(m.old.c_str());
      m.has_old = ::link(m.final.c_str(), m.old.c_str()) == 0;  // fails where there is none yet
      if (::rename(m.temporary.c_str(), m.final.c_str()) != 0) return last_error(m.final);
      m.in_place = true;
    }
    finished_ = true;
    if (const int folder = ::open(folder_.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC); folder >= 0) {
      ::fsync(folder);  // the names too; a file system that cannot is no failure
      ::close(folder);
    }
    return std::nullopt;
  }

 private:
  fs::path folder_;
  std::vector<Move> moves_;
  bool finished_ = false;
};

std::optional<SaveError> write_set(const fs::path& folder, const std::vector<FileToSave>& files) {
  SetOfMoves set(folder);
  for (const FileToSave& file : files)
    if (auto error = set.write(file)) return error;
  return set.rename_all();
}

}  // namespace

std::string in_words(const SaveError& e) {
  return e.path + ": " + e.reason;
}

std::optional<SaveError> save(const std::string& folder, const std::vector<FileToSave>& files) {
  const fs::path place = folder.empty() ? "." : folder;
  std::vector<fs::path> made;
  auto error = make_folder(place, made);
  if (!error) error = write_set(place, files);
  if (error)
    for (auto it = made.rbegin(); it != made.rend(); ++it) ::rmdir(it->c_str());
  return error;
}

std::optional<SaveError> save_file(const std::string& path, const std::string& content) {
  const fs::path whole(path);
  if (!whole.has_filename()) return last_error(whole, EISDIR);
  return save(whole.parent_path().string(), {{whole.filename().string(), content}});
}

}  // namespace antiphase
