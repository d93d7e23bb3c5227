/// Files out, whole or not at all.
#pragma once

#include <optional>
#include <string>
#include <vector>

namespace antiphase {

struct FileToSave {
  std::string name;  ///< inside the folder; no '/'
  std::string content;
};

struct SaveError {
  std::string path;  ///< what could not be made or written
  std::string reason;
};
/// "path: reason"
std::string in_words(const SaveError&);

/// Writes all files into `folder`, which is made if it is missing. First every file is written under a
/// temporary name and brought to the disk, then all are renamed, so that a set is never a mixture of two
/// runs: if a rename fails, those before it are taken back. Failure: the error; then the folder holds what it
/// held before, and no temporary file is left. Threads: one call per folder at a time; different processes do
/// not disturb each other's temporary files.
std::optional<SaveError> save(const std::string& folder, const std::vector<FileToSave>& files);

/// The same for one file, given by its whole path ("x.json" stands in the current folder).
std::optional<SaveError> save_file(const std::string& path, const std::string& content);

}  // namespace antiphase
