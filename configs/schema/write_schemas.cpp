/// Puts into the schemas of the folder that is named what the program knows of circuits and members. Run it
/// after a new circuit or member, then describe.py, which makes configs/README.md of the schemas.
///
///     write_schemas configs/schema            writes the schemas that are not as they should be
///     write_schemas configs/schema --check    ends with 1 if there are any
#include <cstdio>
#include <exception>
#include <fstream>
#include <iterator>
#include <string>
#include <string_view>

#include "configs/schema/filled_schema.h"

int main(int argc, char** argv) try {
  const bool check = argc == 3 && argv[2] == std::string_view("--check");
  if (argc != 2 && !check) {
    std::fprintf(stderr, "write_schemas FOLDER [--check]\n");
    return 2;
  }
  int stale = 0;
  for (const char* file : {"design.schema.json", "brief.schema.json"}) {
    const std::string path = std::string(argv[1]) + "/" + file;
    std::ifstream in(path, std::ios::binary);
    const std::string text{std::istreambuf_iterator<char>(in), {}};
    const std::string filled = antiphase::filled_schema(file, text);
    if (filled == text) continue;
    ++stale;
    if (check) {
      std::fprintf(stderr, "%s is not what the program knows: run write_schemas %s\n", path.c_str(), argv[1]);
      continue;
    }
    std::ofstream out(path, std::ios::binary);
    out << filled;
    if (!out.flush()) {
      std::fprintf(stderr, "%s cannot be written\n", path.c_str());
      return 1;
    }
    std::printf("%s written\n", path.c_str());
  }
  return check && stale > 0 ? 1 : 0;
} catch (const std::exception& e) {
  std::fprintf(stderr, "write_schemas: %s\n", e.what());
  return 1;
}
