// The shop's settings, shop.toml.

#include "cli/shop.hpp"

#include <cstdlib>

#include <CLI/CLI.hpp>

#include "evenbevel/units.hpp"
#include "fuzz.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace evenbevel;
  static const test::ScratchFolder folder(fuzz::fast_folder());
  ::setenv("XDG_CONFIG_HOME", folder.path().c_str(), 1);
  std::filesystem::create_directories(folder / "evenbevel");
  test::write_file(folder / "evenbevel" / "shop.toml", fuzz::text_of(data, size));
  try {
    const cli::Shop shop = cli::read_shop();
    for (const std::string& length :
         {shop.tolerance, shop.side_tolerance, shop.choil_tolerance, shop.land}) {
      const std::optional<double> mm = parse_length_mm(length, LengthUnit::mm);
      fuzz::require(length.empty() || (mm && *mm > 0.0), "a length that is none: " + length);
    }
    fuzz::require(
        shop.units.empty() || shop.units == "mm" || shop.units == "in" || shop.units == "thou",
        "a unit that is none");
  } catch (const CLI::ValidationError&) {
    return 0;
  }
  return 0;
}
