// A zip archive that a record is to take in.

#include "evenbevel/error.hpp"
#include "evenbevel/record.hpp"
#include "evenbevel/record_exchange.hpp"
#include "fuzz.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace evenbevel;
  const fuzz::Fenced folder;
  const std::filesystem::path archive = folder / "shop.zip";
  test::write_file(archive, fuzz::text_of(data, size));
  Record record = Record::open_or_make(folder / "record.sqlite");
  try {
    import_everything(record, archive);
  } catch (const Error&) {
    folder.require_nothing_outside();
    return 0;
  }
  fuzz::require(check_record(record.file()).faults.empty(), "a record that is not sound");
  folder.require_nothing_outside();
  return 0;
}
