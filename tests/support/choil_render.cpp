#include <algorithm>
#include <array>
#include <cmath>

#include <Eigen/Dense>
#include <opencv2/aruco.hpp>
#include <opencv2/imgproc.hpp>

#include "choil_scene.hpp"
#include "evenbevel/units.hpp"
#include "lens.hpp"

namespace evenbevel::test {
namespace {

enum class Seen : unsigned char {
  wall,
  white,
  black,
  paper,
  end,
  left_side,
  right_side,
  land,
  jaw,
  jaw_top,
  gap,
  tang_front,
  tang_top,
  tang_side
};

/// What a ray meets, and how far behind the edge.
struct Met {
  Seen what = Seen::paper;
  double depth_mm = 0.0;
};

/// The heel card: 8 x 8 cells of 10 mm, black when column + row is even, markers from 600 of the
/// 5x5 dictionary of 1000 in the white ones, columns 3 and 4 from row 1 on cut out; a sheet of
/// 100 mm, open at its lower end.
class HeelPrint {
 public:
  HeelPrint() {
    const cv::Ptr<cv::aruco::Dictionary> dictionary =
        cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000);
    int id = 600;
    for (int row = 0; row < 8; ++row) {
      for (int column = 0; column < 8; ++column) {
        if ((column + row) % 2 == 0 || in_lane(column, row)) continue;
        const cv::Mat bits = cv::aruco::Dictionary::getBitsFromByteList(
            dictionary->bytesList.rowRange(id, id + 1), 5);
        ++id;
        for (int r = 0; r < 5; ++r) {
          for (int c = 0; c < 5; ++c) {
            white_[row][column][r + 1][c + 1] = bits.at<uchar>(r, c) != 0;
          }
        }
      }
    }
  }

  static bool in_cut_out(double y, double down) { return std::abs(y) < 10.0 && down > -30.0; }

  Seen at(double y, double down) const {
    const double across = 0.1 * y + 4.0, below = 0.1 * down + 4.0;
    if (across < 0.0 || across >= 8.0 || below < 0.0 || below >= 8.0) return Seen::white;
    const int column = static_cast<int>(across), row = static_cast<int>(below);
    if ((column + row) % 2 == 0) return Seen::black;
    const double c = (across - column - 0.125) / 0.75 * 7.0;
    const double r = (below - row - 0.125) / 0.75 * 7.0;
    if (c < 0.0 || c >= 7.0 || r < 0.0 || r >= 7.0) return Seen::white;
    return white_[row][column][static_cast<int>(r)][static_cast<int>(c)] ? Seen::white
                                                                         : Seen::black;
  }

 private:
  static bool in_lane(int column, int row) { return row >= 1 && (column == 3 || column == 4); }
  bool white_[8][8][7][7] = {};
};

/// A ray as it meets the card's plane, and the foot and distance of where it comes from: behind
/// the plane it runs on away from the foot.
struct PlaneRay {
  Eigen::Vector2d p = Eigen::Vector2d::Zero(), foot = Eigen::Vector2d::Zero();
  double distance = 200.0;

  Eigen::Vector2d at(double behind_mm) const { return p + behind_mm / distance * (p - foot); }
};

class World {
 public:
  explicit World(const ChoilScene& scene)
      : scene_(scene),
        R_card_camera_(scene.T_camera_card.matrix.linear().transpose()),
        centre_(-R_card_camera_ * scene.T_camera_card.matrix.translation()),
        cos_(std::cos(scene.lean_rad)),
        sin_(std::sin(scene.lean_rad)) {}

  PlaneRay ray(const Eigen::Vector2d& on_plane, const Eigen::Vector2d& in_aperture_mm) const {
    const Eigen::Vector3d direction = R_card_camera_ * on_plane.homogeneous();
    const Eigen::Vector3d p = centre_ - centre_.z() / direction.z() * direction;
    const Eigen::Vector3d origin =
        centre_ + R_card_camera_ * Eigen::Vector3d(in_aperture_mm.x(), in_aperture_mm.y(), 0.0);
    return {{p.x(), -p.y()}, {origin.x(), -origin.y()}, origin.z()};
  }

  Met cast(const PlaneRay& ray) const {
    const double down = ray.p.y();
    if (scene_.blade && scene_.tang) {
      if (const std::optional<Seen> tang = meets_tang(ray, *scene_.tang)) return {*tang};
    }
    if (!HeelPrint::in_cut_out(ray.p.x(), down)) {
      if (down < scene_.card_bottom_mm) {
        const bool on_card = std::abs(ray.p.x()) < 50.0 && down > -50.0;
        return {on_card ? print_.at(ray.p.x(), down) : Seen::wall};
      }
    }
    if (scene_.blade && meets_end(ray)) {
      return {Seen::end, section_point(ray.at(end_behind(ray)), 0.0).y()};
    }
    if (down > scene_.card_bottom_mm) {
      const Eigen::Vector2d own = section_point(ray.p, 0.0);
      return {std::abs(own.x()) < 0.5 * scene_.section.thickness_mm + scene_.jaw_clearance_mm
                  ? Seen::gap
                  : Seen::jaw};
    }
    if (scene_.blade) {
      if (const std::optional<Met> body = meets_body(ray)) return *body;
    }
    constexpr double kJawDepthMm = 60.0;
    return {ray.at(kJawDepthMm).y() > scene_.card_bottom_mm ? Seen::jaw_top : Seen::paper};
  }

  double paint(const Met& met, const PlaneRay& ray) const {
    const ChoilPaints& paints = scene_.paints;
    const auto with = [&](const Streak& streak, double own) {
      const double off = (met.depth_mm - streak.at_mm) / streak.sigma_mm;
      return own + streak.share * std::exp(-0.5 * off * off) * (streak.light - own);
    };
    switch (met.what) {
      case Seen::wall:
        return paints.wall;
      case Seen::white:
        return paints.white;
      case Seen::black:
        return paints.black;
      case Seen::paper:
        return paints.paper *
               (1.0 + paints.paper_slope_y * ray.p.x() + paints.paper_slope_down * ray.p.y());
      case Seen::end:
        return with(paints.end_streak, paints.end) * (1.0 + paints.end_texture * texture(ray.p));
      case Seen::left_side:
        return with(paints.left_streak, paints.left_side);
      case Seen::right_side:
        return with(paints.right_streak, paints.right_side);
      case Seen::land:
        return paints.land;
      case Seen::jaw:
        return paints.jaw;
      case Seen::jaw_top:
        return paints.jaw_top;
      case Seen::gap:
        return paints.gap;
      case Seen::tang_front:
        return paints.tang_front;
      case Seen::tang_top:
        return paints.tang_top;
      case Seen::tang_side:
        return paints.tang_side;
    }
    return 0.0;
  }

 private:
  /// (y, depth) of a point in the section at `behind` mm behind the heel's end.
  Eigen::Vector2d section_point(const Eigen::Vector2d& p, double behind_mm) const {
    const Eigen::Vector2d off = p - Eigen::Vector2d(scene_.edge_y_mm, scene_.edge_down_mm);
    const double curved = std::max(0.0, behind_mm - scene_.section.belly_from_mm);
    return {cos_ * off.x() - sin_ * off.y(),
            sin_ * off.x() + cos_ * off.y() - scene_.section.belly_per_mm2 * curved * curved};
  }

  double slimmer(double behind_mm) const {
    return 1.0 - scene_.section.taper_per_mm * behind_mm / scene_.section.thickness_mm;
  }

  /// How far behind the card's plane the ray meets the plane of the heel's end.
  double end_behind(const PlaneRay& ray) const {
    const double lower = ray.p.y() - scene_.edge_down_mm;
    return scene_.behind_card_mm + std::tan(scene_.end_square_rad) * lower;
  }

  bool meets_end(const PlaneRay& ray) const {
    const Eigen::Vector2d own = section_point(ray.at(end_behind(ray)), 0.0);
    if (own.y() < 0.0 || own.y() > scene_.section.spine_mm) return false;
    return own.x() < scene_.section.left_at(own.y()) && own.x() > -scene_.section.right_at(own.y());
  }

  /// A box before the heel's end: its front, or the face through which the ray enters it.
  std::optional<Seen> meets_tang(const PlaneRay& ray, const Tang& tang) const {
    const double rear = end_behind(ray), half = 0.5 * scene_.section.thickness_mm;
    const auto own = [&](double before) { return section_point(ray.at(rear - before), 0.0); };
    const auto inside = [&](double before) {
      const Eigen::Vector2d at = own(before);
      return at.y() >= tang.from_mm && std::abs(at.x()) <= half;
    };
    if (inside(tang.length_mm)) return Seen::tang_front;
    constexpr int kSlices = 60;
    for (int slice = kSlices - 1; slice >= 0; --slice) {
      double in = tang.length_mm * slice / kSlices, out = tang.length_mm * (slice + 1) / kSlices;
      if (!inside(in)) continue;
      for (int i = 0; i < 12; ++i) {
        const double middle = 0.5 * (in + out);
        (inside(middle) ? in : out) = middle;
      }
      return own(out).y() < tang.from_mm ? Seen::tang_top : Seen::tang_side;
    }
    return std::nullopt;
  }

  /// Beyond the end: the side or the land that the ray runs into.
  std::optional<Met> meets_body(const PlaneRay& ray) const {
    const double first = end_behind(ray);
    const Eigen::Vector2d start = section_point(ray.at(first), 0.0);
    const int side = start.x() > 0.0 ? 1 : -1;
    const auto outside = [&](double behind) {  // of the side's face; positive: still outside
      const Eigen::Vector2d own = section_point(ray.at(first + behind), behind);
      const double depth = std::clamp(own.y(), 0.0, scene_.section.spine_mm);
      const double half = side > 0 ? scene_.section.left_at(depth) : scene_.section.right_at(depth);
      return side * own.x() - half * slimmer(behind);
    };
    const auto beyond = [&](double behind) {  // of the other face; positive: past it
      const Eigen::Vector2d own = section_point(ray.at(first + behind), behind);
      const double half = side > 0 ? scene_.section.right_at(0.0) : scene_.section.left_at(0.0);
      return -side * own.x() - half * slimmer(behind);
    };
    const auto above = [&](double behind) {  // positive: over the land
      return -section_point(ray.at(first + behind), behind).y();
    };
    const auto side_at = [&](double behind) {
      return Met{side > 0 ? Seen::left_side : Seen::right_side,
                 section_point(ray.at(first + behind), behind).y()};
    };
    const double last = scene_.section.length_mm;
    const auto crossing = [&](const auto& gap, double end) {
      double low = 0.0, high = end;
      for (int i = 0; i < 18; ++i) {
        const double middle = 0.5 * (low + high);
        (gap(middle) > 0.0 ? low : high) = middle;
      }
      return high;
    };
    if (above(0.0) > 0.0) {
      const double lowest = lowest_over_land(above(0.0) - above(1.0));
      if (above(lowest) > 0.0) return std::nullopt;
      const double at = crossing(above, lowest);
      if (beyond(at) > 0.0) return std::nullopt;
      if (outside(at) <= 0.0) return Met{Seen::land};
      if (outside(last) > 0.0) return std::nullopt;
      return side_at(crossing(outside, last));
    }
    if (outside(0.0) <= 0.0 || outside(last) > 0.0) return std::nullopt;
    const double at = crossing(outside, last);
    if (above(at) > 0.0) return std::nullopt;
    return side_at(at);
  }

  /// How far behind the end a ray that sinks by `fall` a mm comes lowest over the land: beyond it
  /// the belly falls faster.
  double lowest_over_land(double fall) const {
    const SectionShape& section = scene_.section;
    if (section.belly_per_mm2 <= 0.0) return section.length_mm;
    const double beyond = std::max(0.0, fall) / (2.0 * section.belly_per_mm2);
    return std::min(section.belly_from_mm + beyond, section.length_mm);
  }

  /// Belt scratches across the end: fine along the section.
  double texture(const Eigen::Vector2d& p) const {
    const double phase = 0.7 * scene_.texture_seed;
    const double a = p.y() + 0.15 * p.x();
    return std::sin(41.0 * a + phase) * 0.8 + std::sin(17.3 * a + 2.0 * phase) * 0.8 +
           std::sin(5.1 * p.y() + 3.0 * phase) * 0.5;
  }

  const ChoilScene& scene_;
  HeelPrint print_;
  Eigen::Matrix3d R_card_camera_;
  Eigen::Vector3d centre_;
  double cos_, sin_;
};

constexpr double kSectionBlur = 0.4;  // px

/// Offsets within a pixel's square blurred by the first part of the lens's blur, and in the unit
/// disc of the aperture; the same number of each.
struct SectionFootprint {
  static constexpr int kSamples = 34, kGenerator = 21, kOther = 5;  // Fibonacci; prime to it
  std::array<Eigen::Vector2d, kSamples> pixel, aperture;

  SectionFootprint() {
    std::vector<double> at;  // inverse of the cumulated square * Gaussian
    const auto ramp = [](double t) {
      return t * 0.5 * std::erfc(-t / std::sqrt(2.0)) +
             std::exp(-0.5 * t * t) / std::sqrt(2.0 * kPi);
    };
    const auto cumulated = [&](double t) {
      return kSectionBlur * (ramp((t + 0.5) / kSectionBlur) - ramp((t - 0.5) / kSectionBlur));
    };
    double t = -2.5;
    for (int i = 0; i < 2 * kSamples + 1; ++i) {
      const double wanted = std::clamp(i / (2.0 * kSamples), 1e-3, 1.0 - 1e-3);
      while (cumulated(t) < wanted) t += 1e-4;
      at.push_back(t);
    }
    for (int i = 0; i < kSamples; ++i) {
      const int j = (i * kGenerator) % kSamples;
      pixel[static_cast<std::size_t>(i)] = {at[static_cast<std::size_t>(2 * i + 1)],
                                            at[static_cast<std::size_t>(2 * j + 1)]};
      const int k = (i * kOther) % kSamples;  // evenly over the disc, unlike the pixel's order
      const double radius = std::sqrt((k + 0.5) / kSamples), turn = 2.399963 * k;
      aperture[static_cast<std::size_t>(i)] = {radius * std::cos(turn), radius * std::sin(turn)};
    }
  }
};

/// The lens undone on a lattice of 8 px, bilinear between: exact to 1e-3 px.
class Undone {
 public:
  explicit Undone(const CameraModel& camera) {
    columns_ = camera.width_px / kStep + 3;
    const int rows = camera.height_px / kStep + 3;
    for (int r = 0; r < rows; ++r) {
      for (int c = 0; c < columns_; ++c) {
        const Eigen::Vector2d q((c - 1) * kStep, (r - 1) * kStep);
        const Eigen::Vector2d start((q.x() - camera.centre_px.x()) / camera.focal_px.x(),
                                    (q.y() - camera.centre_px.y()) / camera.focal_px.y());
        nodes_.push_back(lens_plane(camera, q, start, 6));
      }
    }
  }

  Eigen::Vector2d operator()(double x, double y) const {
    const double u = x / kStep + 1.0, v = y / kStep + 1.0;
    const int c = static_cast<int>(u), r = static_cast<int>(v);
    const double a = u - c, b = v - r;
    const auto node = [&](int row, int column) -> const Eigen::Vector2d& {
      return nodes_[static_cast<std::size_t>(row * columns_ + column)];
    };
    return (1 - b) * ((1 - a) * node(r, c) + a * node(r, c + 1)) +
           b * ((1 - a) * node(r + 1, c) + a * node(r + 1, c + 1));
  }

 private:
  static constexpr int kStep = 8;
  int columns_ = 0;
  std::vector<Eigen::Vector2d> nodes_;
};

bool out_of_focus(Seen seen) {
  return seen >= Seen::tang_front || seen == Seen::left_side || seen == Seen::right_side ||
         seen == Seen::land || seen == Seen::jaw_top;
}

}  // namespace

Light render_choil(const ChoilScene& scene) {
  const World world(scene);
  const Undone undone(scene.camera);
  static const SectionFootprint kFootprint;
  const int rows = scene.camera.height_px, columns = scene.camera.width_px;
  cv::Mat seen(rows, columns, CV_8U), soft(rows, columns, CV_8U);
  cv::Mat light(rows, columns, CV_32F);
  for (int row = 0; row < rows; ++row) {
    for (int column = 0; column < columns; ++column) {
      const PlaneRay ray = world.ray(undone(column, row), Eigen::Vector2d::Zero());
      const Met met = world.cast(ray);
      seen.at<uchar>(row, column) = static_cast<uchar>(met.what);
      soft.at<uchar>(row, column) = out_of_focus(met.what) ? 255 : 0;
      light.at<float>(row, column) = static_cast<float>(world.paint(met, ray));
    }
  }
  cv::Mat low, high, borders, wide;
  cv::erode(seen, low, cv::Mat::ones(5, 5, CV_8U));
  cv::dilate(seen, high, cv::Mat::ones(5, 5, CV_8U));
  borders = low != high;
  constexpr int kSoftReach = 25;  // px, of what is out of focus
  const cv::Mat reach = cv::Mat::ones(kSoftReach, kSoftReach, CV_8U);
  cv::dilate(soft, wide, reach);
  cv::erode(soft, low, reach);
  wide.setTo(0, low);
  for (int row = 0; row < rows; ++row) {
    for (int column = 0; column < columns; ++column) {
      if (borders.at<uchar>(row, column) == 0 && wide.at<uchar>(row, column) == 0) continue;
      double sum = 0.0;
      for (std::size_t i = 0; i < kFootprint.pixel.size(); ++i) {
        const Eigen::Vector2d& off = kFootprint.pixel[i];
        const PlaneRay ray = world.ray(undone(column + off.x(), row + off.y()),
                                       0.5 * scene.aperture_mm * kFootprint.aperture[i]);
        sum += world.paint(world.cast(ray), ray);
      }
      light.at<float>(row, column) =
          static_cast<float>(sum / static_cast<double>(kFootprint.pixel.size()));
    }
  }
  return {light, kSectionBlur};
}

}  // namespace evenbevel::test
