// A CSV of readings, or of files.

#include <cmath>

#include "evenbevel/error.hpp"
#include "evenbevel/study_input.hpp"
#include "fuzz.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace evenbevel;
  const std::string text = fuzz::text_of(data, size);
  try {
    if (lists_files(text)) {
      for (const StudyFile& one : files_from_csv(text, "/study/list.csv")) {
        fuzz::require(!one.file.empty(), "a file without a name");
      }
      return 0;
    }
    const std::vector<StudyReading> readings =
        readings_from_csv(text, "readings.csv", ReadingUnit::mm);
    fuzz::require(!readings.empty(), "no reading, and nothing said");
    for (const StudyReading& one : readings) {
      fuzz::require(std::isfinite(one.value), "a reading that is no number");
    }
  } catch (const Error&) {
    return 0;
  }
  return 0;
}
