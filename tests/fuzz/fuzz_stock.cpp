#include "configs/read_stock.h"
#include "tests/fuzz/fuzz.h"

using namespace antiphase;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  const auto read = parse_stock(fuzz::text_of(bytes, size), "parts.csv");
  fuzz::check_errors(read);
  if (const StockFile* file = std::get_if<StockFile>(&read)) fuzz::promise(file->bytes.size() == size);
  return 0;
}
