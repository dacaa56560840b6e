// The copy of an entry beside a record that is lost: a record is rescued from it, a page made.

#include "evenbevel/error.hpp"
#include "evenbevel/record.hpp"
#include "evenbevel/record_page.hpp"
#include "fuzz.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace evenbevel;
  constexpr int kScripts = 2;
  const fuzz::Fenced folder;
  const std::filesystem::path damaged = folder / "record.sqlite";
  const std::filesystem::path copies = record_photos(damaged) / "entries";
  std::filesystem::create_directories(copies);
  test::write_file(damaged, "");
  test::write_file(copies / "copy.json", fuzz::text_of(data, size));
  try {
    const std::filesystem::path target = folder / "rescued.sqlite";
    rescue_record(damaged, target);
    Record record = Record::open(target);
    for (const KnifeLine& knife : record.list()) {
      fuzz::require_plain_page(knife_html(record, knife.name, LengthUnit::mm), kScripts);
    }
  } catch (const Error&) {
    folder.require_nothing_outside();
    return 0;
  }
  folder.require_nothing_outside();
  return 0;
}
