#include "knife_maker.hpp"

#include <nlohmann/json.hpp>
#include <unistd.h>

#include "units/sha256.hpp"

namespace evenbevel::test {
namespace {

using Json = nlohmann::ordered_json;

Json stated(const StatedValue& value) {
  return {{"value", value.value}, {"u", value.u}, {"U95", value.U95}};
}

}  // namespace

std::string json_of(const EdgeReport& report) {
  const char* width = report.stage == "scribed" ? "line_gap" : "land_width";
  Json json = {{"schema", "evenbevel.report/1"},
               {"view", "edge"},
               {"stage", report.stage},
               {"x_origin", report.x_from_plunge ? "plunge_lines" : "first_station"},
               {"verdict", "within"}};
  json["quantities"] = {{"centreline_offset", stated(report.offset)},
                        {width, stated(report.width)}};
  json["stations"] = Json::array();
  for (int i = 0; i < report.stations; ++i) {
    json["stations"].push_back({{"x", report.first_x_mm + i},
                                {"centreline_offset", stated(report.offset)},
                                {width, stated(report.width)}});
  }
  json["input"] = {{"photo", report.photo}};
  if (!report.photo_sha256.empty()) json["input"]["sha256"] = report.photo_sha256;
  json["settings"] = {{"thickness", report.thickness_mm}, {"thickness_u", report.thickness_u_mm}};
  return json.dump(1) + "\n";
}

std::filesystem::path Shop::fast_folder() {
  const std::filesystem::path memory = "/dev/shm";
  return ::access(memory.c_str(), W_OK) == 0 ? memory : std::filesystem::temp_directory_path();
}

std::filesystem::path Shop::photo(const std::string& name, const std::string& bytes) const {
  std::filesystem::create_directories(photos_folder());
  write_file(photos_folder() / name, bytes);
  return photos_folder() / name;
}

std::string Shop::report(const std::string& photo, EdgeReport report) const {
  report.photo = (photos_folder() / photo).string();
  report.photo_sha256 = sha256_of_file(report.photo).value_or("");
  return json_of(report);
}

NewEntry Shop::entry(const std::string& knife, const std::string& stage, const std::string& name,
                     EdgeReport report_of) const {
  photo(name + ".jpg", "\xFF\xD8\xFF the photo " + name);
  return {.knife = knife,
          .stage = stage,
          .report_json = report(name + ".jpg", std::move(report_of)),
          .added = kWhen};
}

}  // namespace evenbevel::test
