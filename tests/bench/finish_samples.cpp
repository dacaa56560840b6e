// Draws the sample photos of the finish view with their truth files and their camera file:
// draw_finish_samples SAMPLES_FOLDER CAMERA_FILE

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>
#include <opencv2/imgcodecs.hpp>

#include "../finish_view/finish_scene.hpp"
#include "evenbevel/camera.hpp"
#include "evenbevel/units.hpp"
#include "seeded.hpp"

using evenbevel::degrees;
using evenbevel::kPi;
using evenbevel::radians;
using evenbevel::test::FinishFace;
using evenbevel::test::Groove;
using evenbevel::test::Lamp;
using evenbevel::test::SideLie;
using evenbevel::test::SidePicture;
using evenbevel::test::SidePose;
using evenbevel::test::uniform;
using Json = nlohmann::ordered_json;
namespace fs = std::filesystem;

namespace {

constexpr int kQuality = 92;

FinishFace bare_face(unsigned seed) {
  FinishFace face;
  evenbevel::test::SideBlade& blade = face.blade;
  blade.thickness_mm = blade.tip_thickness_mm = 3.2;
  blade.height_mm = 31.0, blade.tip_x_mm = 102.0, blade.belly_x_mm = 58.0;
  blade.left.bevel_mm = 21.0, blade.left.plunge_lean_rad = 0.12;
  blade.right = blade.left;
  face.bevel = {.direction_rad = 0.05, .width_mm = 0.05, .contrast = 0.12};
  face.flat = {.direction_rad = 0.02, .width_mm = 0.05, .contrast = 0.12};
  face.bevel_line_glint = 0.3;
  face.seed = seed;
  std::mt19937_64 rng = evenbevel::test::seeded("FinishSampleDust", static_cast<int>(seed));
  for (int i = 0; i < 25; ++i) {
    face.specks.push_back({{uniform(rng, -20.0, 90.0), uniform(rng, 2.0, 29.0)},
                           uniform(rng, 0.02, 0.10),
                           uniform(rng, 0.3, 0.8)});
  }
  return face;
}

SidePose pose_of_samples() {
  SidePose pose;
  pose.card_x_mm = 3.0, pose.card_y_mm = -2.0, pose.turn_rad = 0.02;
  pose.distance_mm = 310.0, pose.tilt_x_rad = 0.015, pose.tilt_y_rad = -0.02;
  pose.roll_rad = 0.01;
  return pose;
}

bool apart(const FinishFace& face, const Groove& groove) {
  constexpr double kLeastMm = 3.0;  // So that each is one to count.
  return std::none_of(face.grooves.begin(), face.grooves.end(), [&](const Groove& other) {
    for (int i = 0; i <= 10; ++i) {
      const Eigen::Vector2d p = groove.from_mm + 0.1 * i * (groove.to_mm - groove.from_mm);
      for (int k = 0; k <= 10; ++k) {
        const Eigen::Vector2d q = other.from_mm + 0.1 * k * (other.to_mm - other.from_mm);
        if ((p - q).norm() < kLeastMm) return true;
      }
    }
    return false;
  });
}

/// Eight that cross the lay at 60 degrees, six that cross it at 30, all of them on the bevel.
void add_scratches(FinishFace& face) {
  std::mt19937_64 rng = evenbevel::test::seeded("FinishSampleScratches", 1);
  for (int tries = 0; tries < 10000 && face.grooves.size() < 14; ++tries) {
    const double cross = face.grooves.size() < 8 ? radians(60.0) : radians(150.0);
    const double direction = face.bevel.direction_rad + cross + uniform(rng, -0.05, 0.05);
    const Eigen::Vector2d middle(uniform(rng, 10.0, 85.0), uniform(rng, 4.0, 18.0));
    const Eigen::Vector2d half =
        0.5 * uniform(rng, 5.0, 12.0) * Eigen::Vector2d(std::cos(direction), std::sin(direction));
    Groove groove;
    groove.from_mm = middle - half, groove.to_mm = middle + half;
    groove.width_mm = uniform(rng, 0.08, 0.2);
    groove.depth_mm = 0.2 * groove.width_mm;
    groove.shine = uniform(rng, 4.0, 8.0);
    groove.seed = static_cast<unsigned>(rng());
    const auto inside = [&](const Eigen::Vector2d& p) {
      return p.y() > face.blade.edge_z(p.x()) + 2.0 &&
             p.y() < face.blade.bevel_z(face.face, p.x()) - 1.5;
    };
    if (!inside(groove.from_mm) || !inside(groove.to_mm) || !apart(face, groove)) continue;
    face.grooves.push_back(groove);
  }
}

/// @param azimuth_rad  From the blade's x toward its z.
Lamp lamp_at(const FinishFace& face, double azimuth_rad, unsigned seed) {
  const SideLie lie = evenbevel::test::side_lie(face.blade, face.face, pose_of_samples());
  const Eigen::Vector2d toward = std::cos(azimuth_rad) * lie.along + std::sin(azimuth_rad) * lie.up;
  Lamp lamp;
  lamp.azimuth_rad = std::atan2(toward.y(), toward.x());
  lamp.elevation_rad = radians(22.0);
  lamp.room = 0.06;
  lamp.seed = seed;
  return lamp;
}

Json pair(const Eigen::Vector2d& v) { return {v.x(), v.y()}; }

Json scratches_truth(const FinishFace& face, const Lamp& lamp) {
  const SidePose pose = pose_of_samples();
  const evenbevel::test::FinishLight light(face, lamp, pose, pose.distance_mm / 2350.0);
  const Eigen::Vector2d zero(face.blade.handle_x_mm, 0.0);
  Json all = Json::array();
  for (const Groove& groove : face.grooves) {
    all.push_back({{"from_mm", pair(groove.from_mm - zero)},
                   {"to_mm", pair(groove.to_mm - zero)},
                   {"direction_deg", degrees(groove.direction_rad())},
                   {"width_mm", groove.width_mm},
                   {"contrast", light.contrast(groove)}});
  }
  return all;
}

Json truth_of(const FinishFace& face, double azimuth_rad, const Lamp& lamp,
              const SidePicture& picture, const std::string& name, const std::string& what) {
  const evenbevel::CameraModel& camera = picture.camera;
  Json truth = {{"format", "evenbevel.truth/1"}, {"photo", name + ".jpg"}, {"what", what}};
  truth["view"] = "finish";
  truth["image"] = {{"width_px", camera.width_px},
                    {"height_px", camera.height_px},
                    {"exif_orientation", nullptr}};
  truth["camera"] = {{"file", "calibration/sample-finish.yml"},
                     {"fx_px", camera.focal_px.x()},
                     {"fy_px", camera.focal_px.y()},
                     {"cx_px", camera.centre_px.x()},
                     {"cy_px", camera.centre_px.y()},
                     {"distortion_k1_k2_p1_p2_k3", {0, 0, 0, 0, 0}}};
  truth["face"] = evenbevel::name(face.face);
  truth["pass"] = {{"thickness", "3.2mm"}, {"printed_bar", "200mm"}};
  truth["lamp"] = {{"azimuth_deg", degrees(azimuth_rad)},
                   {"elevation_deg", degrees(lamp.elevation_rad)},
                   {"distance_mm", lamp.distance_mm}};
  truth["lay_deg"] = {{"bevel", degrees(face.bevel.direction_rad)},
                      {"flat", degrees(face.flat.direction_rad)}};
  truth["scratch_count"] = face.grooves.size();
  truth["scratches"] = scratches_truth(face, lamp);
  return truth;
}

struct Shot {
  std::string name, what;
  double azimuth_deg;
};

void draw(const FinishFace& face, const std::vector<Shot>& shots, const fs::path& folder,
          const fs::path& camera_file) {
  unsigned seed = face.seed;
  for (const Shot& shot : shots) {
    std::mt19937_64 rng = evenbevel::test::seeded(shot.name.c_str(), 1);
    const double azimuth = radians(shot.azimuth_deg);
    const Lamp lamp = lamp_at(face, azimuth, ++seed);
    const evenbevel::test::Imaging imaging{
        .blur_px = 0.9, .read_noise = 0.001, .shot_noise = 0.003, .sharpen = 0.2};
    const SidePicture picture = take_finish_photo(face, lamp, pose_of_samples(), imaging, 1.0, rng);
    cv::imwrite((folder / (shot.name + ".jpg")).string(), picture.photo.pixels,
                {cv::IMWRITE_JPEG_QUALITY, kQuality});
    const Json truth = truth_of(face, azimuth, lamp, picture, shot.name, shot.what);
    std::ofstream(folder / (shot.name + ".json")) << truth.dump(1) << '\n';
    evenbevel::write_camera_file(picture.camera, camera_file);
  }
}

std::vector<Shot> four_lamps(const std::string& name, const std::string& what) {
  return {{name + "-1", what + "; lamp beyond the tip", 0.0},
          {name + "-2", what + "; lamp between tip and spine", 45.0},
          {name + "-3", what + "; lamp beyond the spine", 90.0},
          {name + "-4", what + "; lamp between handle and spine", 135.0}};
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) {
    std::fprintf(stderr, "draw_finish_samples SAMPLES_FOLDER CAMERA_FILE\n");
    return 2;
  }
  const fs::path folder = argv[1], camera_file = argv[2];
  const FinishFace clean = bare_face(11);
  draw(clean, four_lamps("finish-clean", "left face, no scratch across the lay"), folder,
       camera_file);
  FinishFace scratched = bare_face(23);
  add_scratches(scratched);
  draw(scratched, four_lamps("finish-scratched", "left face, 14 coarse scratches"), folder,
       camera_file);
  const double along = degrees(scratched.bevel.direction_rad) + 60.0;
  draw(scratched,
       {{"finish-lamp-along", "that face, the one lamp along eight of the scratches", along}},
       folder, camera_file);
  return 0;
}
