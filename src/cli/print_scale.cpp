#include "print_scale.hpp"

#include <cmath>
#include <optional>

namespace evenbevel::cli {
namespace {

constexpr const char* kOption = "--printed-bar";

double share_of_true(const std::string& reading, double true_length_mm, LengthUnit bare) {
  constexpr double kMostOff = 0.1;  // a printer that shrinks to fit takes 3 to 6 %
  const std::optional<double> length_mm = parse_length_mm(reading, bare);
  if (!length_mm) {
    throw CLI::ValidationError(kOption, "'" + reading + "' is not a length such as 199.4mm");
  }
  const double share = *length_mm / true_length_mm;
  if (!(std::abs(share - 1.0) < kMostOff)) {
    throw CLI::ValidationError(kOption, "'" + reading + "' is far from the bar's true length, " +
                                            format_length(true_length_mm, LengthUnit::mm) +
                                            "; check the unit");
  }
  return share;
}

}  // namespace

void add_printed_bar(CLI::App& command, std::vector<std::string>& bar) {
  command
      .add_option(kOption, bar,
                  "Check bar as measured on the print, along the page and, if it differs, across "
                  "(scaled to the same bar): 199.4mm 199.1mm")
      ->expected(1, 2)
      ->type_name("LENGTH");
}

PrintScale print_scale(const std::vector<std::string>& bar, double true_length_mm,
                       LengthUnit bare) {
  constexpr double kCaliper_mm = 0.1;  // reading of calipers on printed ticks
  PrintScale scale;
  if (bar.empty()) return scale;
  scale.along = share_of_true(bar.front(), true_length_mm, bare);
  scale.across = share_of_true(bar.back(), true_length_mm, bare);
  scale.u = kCaliper_mm / true_length_mm;
  scale.measured = true;
  return scale;
}

}  // namespace evenbevel::cli
