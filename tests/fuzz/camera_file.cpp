// A camera file. What is read can be written and read again.

#include "evenbevel/camera.hpp"
#include "evenbevel/error.hpp"
#include "fuzz.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace evenbevel;
  static const test::ScratchFolder folder(fuzz::fast_folder());
  const std::filesystem::path file = folder / "camera.yml", again = folder / "again.yml";
  test::write_file(file, fuzz::text_of(data, size));
  CameraModel camera;
  try {
    camera = read_camera_file(file);
  } catch (const Error&) {
    return 0;
  }
  fuzz::require(parameters(camera).allFinite(), "a lens that is no number");
  write_camera_file(camera, again);
  const CameraModel same = read_camera_file(again);
  fuzz::require(parameter_count(same) == parameter_count(camera), "a lens lost on the way");
  return 0;
}
