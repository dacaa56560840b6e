#include "practice.hpp"

#include <iostream>

#include "print_scale.hpp"

namespace evenbevel::cli {

int run_practice(Photo photo, CommonOptions options, PhotoSource source) {
  // The bar is this page's own: what the shop says of another print is not taken for it.
  settle_units(options, read_shop());
  const PracticeSettings settings{.print =
                                      print_scale(options.printed_bar, kBar_mm, options.unit())};
  const ChosenCamera camera = choose_camera(photo, options.camera_file, source);
  const ReportSettings report = report_settings(options);
  const Written measured = drawn_when_refused(options, photo, CardKind::edge, options.folder, [&] {
    return measure_practice(photo, camera, settings, report, options.folder);
  });
  std::cout << statement_text(measured.statement, report.unit);
  show_files(options);
  return exit_code_of(measured.verdict);
}

}  // namespace evenbevel::cli
