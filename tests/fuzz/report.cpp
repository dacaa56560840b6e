// A report.json, and the text, table and page that are made of it.

#include "evenbevel/report.hpp"

#include "evenbevel/error.hpp"
#include "evenbevel/statement.hpp"
#include "fuzz.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace evenbevel;
  constexpr int kScripts = 1;
  Statement statement;
  try {
    statement = read_statement(fuzz::text_of(data, size));
  } catch (const Error&) {
    return 0;
  }
  const std::string written = statement_json(statement);
  fuzz::require(statement_json(read_statement(written)) == written,
                "a report that is another one when it is read back");
  static_cast<void>(statement_text(statement, LengthUnit::inch));
  static_cast<void>(stations_csv(statement));
  static_cast<void>(places_csv(statement));
  fuzz::require_plain_page(statement_page(statement, {}), kScripts);
  return 0;
}
