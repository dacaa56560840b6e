// A record's file: read, checked, rescued and exported. Nothing may be written but beside it.

#include "evenbevel/error.hpp"
#include "evenbevel/record.hpp"
#include "evenbevel/record_exchange.hpp"
#include "evenbevel/record_page.hpp"
#include "fuzz.hpp"

namespace evenbevel {
namespace {

template <class Work>
void unless_refused(Work work) {
  try {
    work();
  } catch (const Error&) {
    return;
  }
}

void use_all(const fuzz::Fenced& folder, const std::filesystem::path& file) {
  constexpr int kScripts = 2;
  unless_refused([&] { check_record(file); });
  unless_refused([&] { rescue_record(file, folder / "rescued.sqlite"); });
  unless_refused([&] {
    Record record = Record::open(file);
    for (const KnifeLine& knife : record.list()) {
      unless_refused([&] {
        fuzz::require_plain_page(knife_html(record, knife.name, LengthUnit::mm), kScripts);
      });
    }
    unless_refused([&] { export_everything(record, folder / "exported"); });
    unless_refused([&] { export_everything(record, folder / "exported.zip"); });
    unless_refused([&] { record_csv(record); });
  });
}

}  // namespace
}  // namespace evenbevel

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace evenbevel;
  const fuzz::Fenced folder;
  const std::filesystem::path file = folder / "record.sqlite";
  test::write_file(file, fuzz::text_of(data, size));
  use_all(folder, file);
  folder.require_nothing_outside();
  return 0;
}
