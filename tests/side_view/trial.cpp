#include "trial.hpp"

#include <cmath>

#include "evenbevel/error.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

SideBlade random_blade(std::mt19937_64& rng) {
  SideBlade blade;
  blade.thickness_mm = uniform(rng, 2.2, 4.5);
  const bool tapered = uniform(rng, 0.0, 1.0) < 0.4;
  blade.tip_thickness_mm = blade.thickness_mm * (tapered ? uniform(rng, 0.5, 0.9) : 1.0);
  blade.land_mm = uniform(rng, 0.15, 0.6);
  blade.height_mm = uniform(rng, 26.0, 40.0);
  blade.tip_x_mm = uniform(rng, 90.0, 125.0);
  blade.belly_x_mm = uniform(rng, 0.35, 0.7) * blade.tip_x_mm;
  blade.left.bevel_mm = blade.height_mm * uniform(rng, 0.45, 0.75);
  blade.left.plunge_lean_rad = uniform(rng, 0.0, 0.3);
  blade.left.plunge_radius_mm = uniform(rng, 3.0, 7.0);
  blade.right = blade.left;
  blade.right.bevel_mm += uniform(rng, -0.8, 0.8);
  blade.right.bevel_slope = uniform(rng, -0.005, 0.005);
  blade.left.plunge_x_mm = uniform(rng, -0.6, 0.6);
  blade.right.plunge_x_mm = uniform(rng, -0.6, 0.6);
  return blade;
}

SideLook random_look(std::mt19937_64& rng) {
  SideLook look;
  look.flat = uniform(rng, 0.25, 0.5);
  // May be brighter at one end and darker at the other.
  look.bevel_at_plunge = look.flat * uniform(rng, 0.7, 1.4);
  look.bevel_at_tip = look.flat * uniform(rng, 0.7, 1.4);
  look.ramp =
      look.flat * (uniform(rng, 0.0, 1.0) < 0.5 ? uniform(rng, 0.5, 0.8) : uniform(rng, 1.25, 1.8));
  look.texture = uniform(rng, 0.06, 0.15);
  look.light_slope = uniform(rng, -0.3, 0.3);
  look.shadow = uniform(rng, 0.0, 0.6);
  look.colour = uniform(rng, 0.0, 1.0) < 0.7;
  look.seed = static_cast<unsigned>(rng());
  return look;
}

SidePose random_pose(std::mt19937_64& rng) {
  SidePose pose;
  pose.card_x_mm = uniform(rng, -12.0, 12.0), pose.card_y_mm = uniform(rng, -8.0, 8.0);
  pose.turn_rad = uniform(rng, -0.05, 0.05);
  pose.distance_mm = uniform(rng, 300.0, 330.0);
  pose.tilt_x_rad = uniform(rng, -0.05, 0.05), pose.tilt_y_rad = uniform(rng, -0.05, 0.05);
  pose.roll_rad = uniform(rng, -0.05, 0.05);
  pose.aside_x_mm = uniform(rng, -15.0, 15.0), pose.aside_y_mm = uniform(rng, -15.0, 15.0);
  return pose;
}

Imaging random_imaging_of_side(std::mt19937_64& rng) {
  Imaging imaging;
  imaging.blur_px = uniform(rng, 0.6, 1.3);
  imaging.read_noise = uniform(rng, 0.001, 0.004);
  imaging.shot_noise = uniform(rng, 0.003, 0.01);
  imaging.sharpen = uniform(rng, 0.0, 0.6);
  if (uniform(rng, 0.0, 1.0) < 0.6) imaging.jpeg = static_cast<int>(uniform(rng, 80.0, 96.0));
  return imaging;
}

struct BothFaces {
  SidePicture left, right;
};

BothFaces pictures_of(const SideBlade& blade, std::mt19937_64& rng) {
  const auto take = [&](Face face) {
    const SideLook look = random_look(rng);
    const SidePose pose = random_pose(rng);
    const Imaging imaging = random_imaging_of_side(rng);
    return take_side_picture(&blade, face, look, pose, imaging, rng);
  };
  SidePicture left = take(Face::left);
  return {std::move(left), take(Face::right)};
}

SideResult measured(const SideBlade& blade, const BothFaces& pictures) {
  const SidePicture &left = pictures.left, &right = pictures.right;
  const std::vector<FacePhoto> photos = {{Face::left, &left.photo, &left.camera},
                                         {Face::right, &right.photo, &right.camera}};
  SideSettings settings;
  settings.thickness_mm = blade.thickness_mm;
  if (blade.tip_thickness_mm < blade.thickness_mm)
    settings.tip_thickness_mm = blade.tip_thickness_mm;
  settings.land_mm = blade.land_mm;
  return side_view(photos, settings);
}

/// Reads one quantity against its truth, where it was given.
class Comparison {
 public:
  Comparison(SideTrial& trial, const SideBlade& blade, const BothFaces& pictures,
             const SideResult& result)
      : trial_(trial), blade_(blade), pictures_(pictures), result_(result) {}

  void run() {
    const double z = result_.plunge_z_mm;
    const double left = blade_.crease_x(Face::left, z), right = blade_.crease_x(Face::right, z);
    const double zero = result_.x_from_plunge ? 0.5 * (left + right) : blade_.handle_x_mm;
    for (const SideStation& station : result_.stations) {
      const double x = station.x_mm + zero;
      if (x > blade_.tip_x_mm - 1.0) continue;
      height(Face::left, station.left, x);
      height(Face::right, station.right, x);
      add("height difference", station.bevel_height_difference_mm,
          blade_.bevel_z(Face::left, x) - blade_.bevel_z(Face::right, x));
    }
    add("plunge mismatch", result_.plunge_mismatch_mm, left - right);
    add("plunge angle", result_.plunge_angle_left_rad, blade_.left.plunge_lean_rad);
    add("plunge angle", result_.plunge_angle_right_rad, blade_.right.plunge_lean_rad);
    add("plunge radius", result_.plunge_radius_left_mm, blade_.left.plunge_radius_mm);
    add("plunge radius", result_.plunge_radius_right_mm, blade_.right.plunge_radius_mm);
  }

 private:
  void height(Face face, const FaceStation& station, double x) {
    if (x < blade_.crease_x(face, blade_.bevel_z(face, 0.0) - 0.05)) return;
    ++trial_.stations;
    if (station.bevel_height_mm) ++trial_.covered;
    add("bevel height", station.bevel_height_mm, blade_.bevel_z(face, x) - blade_.edge_z(x));
    if (!station.bevel_height_mm || !station.edge_px || !station.bevel_px) return;
    const double upper = blade_.upper_mm(x);
    add_part(
        "edge outline", face, *station.edge_px, *station.bevel_height_mm,
        [&](double at) {
          return Eigen::Vector3d(at, blade_.edge_z(at), 0.5 * (upper + blade_.land_mm));
        },
        x);
    add_part(
        "bevel line", face, *station.bevel_px, *station.bevel_height_mm,
        [&](double at) { return Eigen::Vector3d(at, blade_.bevel_z(face, at), upper); }, x);
  }

  /// How far a border in the picture stands off its true place toward the spine; the interval is
  /// the whole height's.
  template <class Curve>
  void add_part(const std::string& quantity, Face face, const Eigen::Vector2d& q_px,
                const Measured& height, const Curve& curve, double x) {
    const SidePicture& picture = face == Face::left ? pictures_.left : pictures_.right;
    const auto pixel = [&](const Eigen::Vector3d& p) { return picture.pixel(p.x(), p.y(), p.z()); };
    constexpr double kReachMm = 0.5;
    const Eigen::Vector3d here = curve(x);
    const Eigen::Vector2d at = pixel(here);
    const Eigen::Vector2d run = pixel(curve(x + kReachMm)) - pixel(curve(x - kReachMm));
    const Eigen::Vector2d rise = pixel(here + Eigen::Vector3d(0.0, 1.0, 0.0)) - at;  // 1 mm up
    const Eigen::Vector2d across = Eigen::Vector2d(-run.y(), run.x()).normalized();
    const double error = (q_px - at).dot(across) / rise.dot(across);
    trial_.readings.push_back({quantity, error, U95(height)});
  }

  void add(const std::string& quantity, const std::optional<Measured>& read, double truth) {
    if (read) trial_.readings.push_back({quantity, read->value - truth, U95(*read)});
  }

  SideTrial& trial_;
  const SideBlade& blade_;
  const BothFaces& pictures_;
  const SideResult& result_;
};

}  // namespace

SideTrial run_side_trial(int number) {
  std::mt19937_64 rng = seeded("SideView", number);
  SideTrial trial;
  trial.number = number;
  const SideBlade blade = random_blade(rng);
  try {
    const BothFaces pictures = pictures_of(blade, rng);
    const SideResult result = measured(blade, pictures);
    Comparison(trial, blade, pictures, result).run();
  } catch (const Error& e) {
    trial.refused = e.what();
  }
  return trial;
}

}  // namespace evenbevel::test
