#include "finish_scene.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <string>

#include "evenbevel/units.hpp"
#include "steel_texture.hpp"

namespace evenbevel::test {
namespace {

constexpr double kCellMm = 2.0, kGrooveRimMm = 4.0;
constexpr double kDull = 0.12;       // Of the face: what it sends everywhere.
constexpr double kAlongLean = 0.16;  // Lean of the grain's facets along their scratch, and across.
constexpr double kAcrossLean = 0.40;

double bell(double t) { return std::exp(-0.5 * t * t); }

/// Noise smooth along a direction and rough across it, unit variance; places in runs and widths.
double streaks(double along, double across, std::uint32_t seed) {
  const double piece = std::floor(along), share = along - piece;
  const auto first = seed + 977U * static_cast<std::uint32_t>(static_cast<int>(piece));
  return (1.0 - share) * smooth_noise(across, first) + share * smooth_noise(across, first + 977U);
}

double grain_at(const Grain& grain, double x, double z, unsigned of_face, unsigned of_lamp) {
  double sum = 0.0;
  int k = 0;
  for (const double turn : {-1.3, 0.0, 1.3}) {
    const double direction = grain.direction_rad + turn * grain.wander_rad;
    const double c = std::cos(direction), s = std::sin(direction);
    const double along = (x * c + z * s) / grain.run_mm, across = (z * c - x * s) / grain.width_mm;
    const auto seed = static_cast<std::uint32_t>(++k) * 7919U;
    sum += streaks(along, across, seed + of_face);
    sum += streaks(along, across, seed + of_lamp * 31U + 5U);
  }
  return sum / std::sqrt(6.0);
}

double beside_line(const Groove& groove, double x, double z, double* along) {
  const Eigen::Vector2d run = (groove.to_mm - groove.from_mm).normalized();
  const Eigen::Vector2d from(x - groove.from_mm.x(), z - groove.from_mm.y());
  *along = from.dot(run);
  return run.x() * from.y() - run.y() * from.x();
}

}  // namespace

double Groove::direction_rad() const {
  const Eigen::Vector2d run = to_mm - from_mm;
  const double direction = std::atan2(run.y(), run.x());
  return direction < 0.0 ? direction + kPi : direction;
}

Eigen::Vector3d Lamp::place_mm() const {
  return distance_mm * Eigen::Vector3d(std::cos(elevation_rad) * std::cos(azimuth_rad),
                                       std::cos(elevation_rad) * std::sin(azimuth_rad),
                                       std::sin(elevation_rad));
}

struct FinishLight::Met {
  double x = 0.0, z = 0.0;
  double up = 0.0, beside = 0.0;  ///< From the bevel line, from the plunge line, mm.
  bool flat = true;
  double lamp = 1.0;              ///< Light that arrives: 1 at the card's middle.
  Eigen::Vector2d half = {0, 0};  ///< Slope (x, z) of a facet that sends it to the camera.
};

FinishLight::FinishLight(const FinishFace& face, const Lamp& lamp, const SidePose& pose,
                         double pixel_mm)
    : face_(face), lamp_(lamp), sample_mm_(pixel_mm / 3.0) {
  const SideLie lie = side_lie(face.blade, face.face, pose);
  const auto in_blade = [&](const Eigen::Vector3d& card) {
    const Eigen::Vector2d d = card.head<2>() - lie.origin;
    return Eigen::Vector3d(d.dot(lie.along), d.dot(lie.up), card.z());
  };
  lamp_card_mm_ = lamp.place_mm();
  lamp_mm_ = in_blade(lamp_card_mm_), eye_mm_ = in_blade(side_eye(pose));
  const SideBlade& blade = face.blade;
  columns_ =
      static_cast<int>((blade.tip_x_mm - blade.handle_x_mm + 2 * kGrooveRimMm) / kCellMm) + 1;
  rows_ = static_cast<int>((blade.height_mm + 2 * kGrooveRimMm) / kCellMm) + 1;
  cells_.resize(static_cast<std::size_t>(columns_ * rows_));
  for (std::size_t i = 0; i < face.grooves.size(); ++i) {
    const Groove& groove = face.grooves[i];
    for (std::size_t cell = 0; cell < cells_.size(); ++cell) {
      const int k = static_cast<int>(cell);
      const double x = blade.handle_x_mm - kGrooveRimMm + (k % columns_ + 0.5) * kCellMm;
      const double z = -kGrooveRimMm + (k / columns_ + 0.5) * kCellMm;
      double along = 0.0;
      const double beside = std::abs(beside_line(groove, x, z, &along));
      const double past = std::max(0.0, std::max(-along, along - groove.length_mm()));
      if (std::hypot(beside, past) < kCellMm) cells_[cell].push_back(i);
    }
  }
}

const std::vector<std::size_t>& FinishLight::near(double x, double z) const {
  static const std::vector<std::size_t> kNone;
  const int column = static_cast<int>((x - face_.blade.handle_x_mm + kGrooveRimMm) / kCellMm);
  const int row = static_cast<int>((z + kGrooveRimMm) / kCellMm);
  if (column < 0 || row < 0 || column >= columns_ || row >= rows_) return kNone;
  return cells_[static_cast<std::size_t>(row * columns_ + column)];
}

FinishLight::Met FinishLight::meet(double x, double z, double height) const {
  Met met{x, z};
  const SideBlade& blade = face_.blade;
  const double bevel = blade.bevel_z(face_.face, x), edge = blade.edge_z(x);
  met.up = z - bevel, met.beside = x - blade.crease_x(face_.face, z);
  met.flat = met.up >= 0.0 || met.beside <= 0.0;
  const Eigen::Vector3d at(x, z, height);
  const Eigen::Vector3d to_lamp = lamp_mm_ - at;
  const double d = lamp_.distance_mm / to_lamp.norm();
  met.lamp = d * d;
  const Eigen::Vector3d half = to_lamp.normalized() + (eye_mm_ - at).normalized();
  met.half = half.head<2>() / half.z();
  if (!met.flat && bevel > edge) {  // The bevel falls toward the edge: its normal leans there.
    met.half.y() += 0.5 * (blade.upper_mm(x) - blade.land_mm) / (bevel - edge);
  }
  return met;
}

double FinishLight::face_light(const Met& met, double grain) const {
  const Grain& of = met.flat ? face_.flat : face_.bevel;
  const double c = std::cos(of.direction_rad), s = std::sin(of.direction_rad);
  const double along = met.half.x() * c + met.half.y() * s;
  const double across = met.half.y() * c - met.half.x() * s;
  const double shine = bell(along / kAlongLean) * bell(across / kAcrossLean);
  return lamp_.room + met.lamp * (kDull * (1.0 + 0.3 * grain) + shine * (1.0 + grain));
}

double FinishLight::plain(double x, double z, double height) const {
  return face_light(meet(x, z, height), 0.0);
}

/// u: across the groove, -1 .. 1.
double FinishLight::groove_light(const Groove& groove, const Met& met, double u) const {
  constexpr double kWallLean = 0.2;
  const Eigen::Vector2d run = (groove.to_mm - groove.from_mm).normalized();
  const double along = met.half.dot(run);
  const double across = run.x() * met.half.y() - run.y() * met.half.x();
  // Depth D (1 + cos(pi u)) / 2; a facet's lean is the slope's negative.
  const double lean = -kPi * groove.depth_mm / groove.width_mm * std::sin(kPi * u);
  const double wall = bell(along / groove.spread) * bell((lean - across) / kWallLean);
  return lamp_.room + met.lamp * (0.5 * kDull + groove.shine * wall);
}

/// Light of a sample whose middle lies beside the groove's; negative: the groove is not met.
double FinishLight::in_groove(const Groove& groove, const Met& met, double beside) const {
  constexpr int kSteps = 6;
  const double half = 0.5 * groove.width_mm;
  const double from = std::max(-half, beside - 0.5 * sample_mm_);
  const double to = std::min(half, beside + 0.5 * sample_mm_);
  if (from >= to) return 0.0;
  double sum = 0.0;
  for (int k = 0; k < kSteps; ++k) {
    sum += groove_light(groove, met, (from + (to - from) * (k + 0.5) / kSteps) / half);
  }
  return sum / kSteps * (to - from) / sample_mm_;
}

double FinishLight::marks(const Met& met, double light) const {
  for (const DustSpeck& speck : face_.specks) {
    const double dx = met.x - speck.at_mm.x(), dz = met.z - speck.at_mm.y();
    if (dx * dx + dz * dz < speck.radius_mm * speck.radius_mm)
      light = std::max(light, speck.light * met.lamp);
  }
  for (const Fibre& fibre : face_.fibres) {
    const Eigen::Vector2d d = Eigen::Vector2d(met.x, met.z) - fibre.from_mm;
    if (d.squaredNorm() > 4.0 * fibre.length_mm * fibre.length_mm) continue;
    const Eigen::Vector2d run(std::cos(fibre.direction_rad), std::sin(fibre.direction_rad));
    const double along = d.dot(run);
    const double beside =
        run.x() * d.y() - run.y() * d.x() - 0.5 * fibre.bend_per_mm * along * along;
    const double covered = std::min(0.5 * fibre.width_mm, beside + 0.5 * sample_mm_) -
                           std::max(-0.5 * fibre.width_mm, beside - 0.5 * sample_mm_);
    if (along < 0.0 || along > fibre.length_mm || covered <= 0.0) continue;
    const double share = std::min(1.0, covered / sample_mm_);
    light = (1.0 - share) * light + share * fibre.light * met.lamp;
  }
  if (face_.bevel_line_glint > 0.0) {
    constexpr double kCornerMm = 0.12;
    const bool on = (std::abs(met.up) < kCornerMm && met.beside > 0.0) ||
                    (std::abs(met.beside) < kCornerMm && met.up < 0.0);
    if (on) light += face_.bevel_line_glint * met.lamp;
  }
  return light;
}

double FinishLight::at(double x, double z, double height) const {
  const Met met = meet(x, z, height);
  const Grain& of = met.flat ? face_.flat : face_.bevel;
  const double grain = of.contrast * grain_at(of, x, z, face_.seed, face_.seed + lamp_.seed);
  double light = face_light(met, grain);
  for (const std::size_t i : near(x, z)) {
    const Groove& groove = face_.grooves[i];
    double along = 0.0;
    const double beside = beside_line(groove, x, z, &along);
    if (along < 0.0 || along > groove.length_mm()) continue;
    const double half = 0.5 * groove.width_mm;
    const double covered =
        std::min(half, beside + 0.5 * sample_mm_) - std::max(-half, beside - 0.5 * sample_mm_);
    if (covered <= 0.0) continue;
    Groove torn = groove;  // Brighter and darker along its run.
    torn.shine *= std::max(0.3, 1.0 + 0.25 * smooth_noise(along / 0.8, groove.seed));
    light = (1.0 - covered / sample_mm_) * light + in_groove(torn, met, beside);
  }
  return std::max(0.0, marks(met, light));
}

double FinishLight::contrast(const Groove& groove) const {
  constexpr int kSteps = 24;
  const Eigen::Vector2d middle = 0.5 * (groove.from_mm + groove.to_mm);
  const Met met = meet(middle.x(), middle.y(), face_.blade.upper_mm(middle.x()));
  double sum = 0.0;
  for (int k = 0; k < kSteps; ++k) {
    sum += groove_light(groove, met, 2.0 * (k + 0.5) / kSteps - 1.0);
  }
  return sum / kSteps / face_light(met, 0.0) - 1.0;
}

double FinishLight::paper(const Eigen::Vector2d& card) const {
  const Eigen::Vector3d to_lamp = lamp_card_mm_ - Eigen::Vector3d(card.x(), card.y(), 0.0);
  const double d = lamp_.distance_mm / to_lamp.norm();
  // A sheet lit at a grazing angle is dim; the room's light falls from above.
  return 2.0 * lamp_.room + d * d * to_lamp.normalized().z();
}

SidePicture take_finish_photo(const FinishFace& face, const Lamp& lamp, const SidePose& pose,
                              Imaging imaging, double exposure, std::mt19937_64& rng) {
  const double pixel_mm = pose.distance_mm / (2350.0 * pose.finer);
  const FinishLight light(face, lamp, pose, pixel_mm);
  constexpr double kPaperWhite = 0.62, kPaperTo = 0.85, kFaceTo = 0.5;
  double paper = 0.0, steel = 0.0;
  for (const double x : {-125.0, 0.0, 125.0}) {
    for (const double y : {-85.0, 85.0}) paper = std::max(paper, light.paper({x, y}));
  }
  for (double x = face.blade.handle_x_mm; x < face.blade.tip_x_mm; x += 5.0) {
    for (double z = face.blade.edge_z(x) + 1.0; z < face.blade.height_mm; z += 4.0) {
      steel = std::max(steel, light.plain(x, z, face.blade.thickness_mm));
    }
  }
  imaging.exposure = exposure * std::min(kPaperTo / (kPaperWhite * paper), kFaceTo / steel);
  SideLook look;
  look.surface = [&](double x, double z, double height) { return light.at(x, z, height); };
  look.paper = [&](const Eigen::Vector2d& card) { return light.paper(card); };
  SidePicture picture = take_side_picture(&face.blade, face.face, look, pose, imaging, rng);
  picture.photo.name = std::string(name(face.face)) + "-" +
                       std::to_string(std::lround(lamp.azimuth_rad * 180.0 / kPi)) + ".jpg";
  return picture;
}

}  // namespace evenbevel::test
