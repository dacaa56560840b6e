// What goes into a record: three lines with knife, stage and note, then a report.json; and the page
// made of it.

#include "evenbevel/error.hpp"
#include "evenbevel/record.hpp"
#include "evenbevel/record_page.hpp"
#include "fuzz.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace evenbevel;
  constexpr int kScripts = 2;
  const fuzz::Fenced folder;
  std::string text = fuzz::text_of(data, size);
  NewEntry entry{.added = "2026-03-14T09:26:53Z"};
  entry.knife = fuzz::take_line(text);
  entry.stage = fuzz::take_line(text);
  entry.note = fuzz::take_line(text);
  entry.report_json = text;
  entry.report_folder = folder / "report";
  std::filesystem::create_directories(entry.report_folder);
  test::write_file(entry.report_folder / "blade.jpg", "\xFF\xD8\xFFphoto");  // the corpus names it
  try {
    Record record = Record::open_or_make(folder / "record.sqlite");
    const Added added = record.add(entry);
    fuzz::require_plain_page(knife_html(record, added.knife, LengthUnit::mm), kScripts);
    const Knife knife = record.knife(added.knife);
    static_cast<void>(knife_text(knife, LengthUnit::thou));
    for (const RecordEntry& one : knife.entries) {
      fuzz::require(record.report_json(one) == text, "a report that is another in the record");
    }
    fuzz::require(check_record(record.file()).faults.empty(), "a record that is not sound");
  } catch (const Error&) {
    folder.require_nothing_outside();
    return 0;
  }
  folder.require_nothing_outside();
  return 0;
}
