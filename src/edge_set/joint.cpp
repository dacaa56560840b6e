#include "joint.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <Eigen/Dense>

#include "card/plane_pose.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"

namespace evenbevel::edges {
namespace {

// What light does to one border from one photo to the next (type B, JCGM 100, 4.3): as much as to a
// border against the opposite one.
constexpr double kViewLightPx = 0.06;
constexpr double kThicknessLightPx = 0.30;  // Of the flats' distance: both borders move outward.
// Readings one after the other share pixels and scratches: one in four counts as independent.
constexpr double kSharedReadings = 2.0;
constexpr double kLeastMotion = 1e-9;  // Of a lens that does not move, held nearly fixed.
constexpr double kLeastReadingPx = 0.02, kLeastCornerPx = 0.02;
constexpr double kStray = 4.0;
constexpr std::size_t kLeastReadings = 12;

/// Something by the lens's parameters.
using LensRow = Eigen::Matrix<double, 1, Eigen::Dynamic, Eigen::RowMajor, 1, kMostLensParameters>;

struct TraceReading {
  Eigen::Vector2d q_px;
  double u_px = 0.0;
  bool used = true;
};

struct Trace {
  int photo = 0;
  Border border = Border::flat_left;
  double scale = kSharedReadings;  ///< On the readings' u.
  std::vector<TraceReading> readings;
};

struct Corner {
  int photo = 0;
  Eigen::Vector2d nominal_mm, q_px;
  double u_px = 0.0;
};

struct Observations {
  std::vector<Trace> traces;
  std::vector<Corner> corners;
};

double width_depth_mm(const EdgeSettings& settings, Stage stage) {
  if (stage != Stage::ground) return 0.0;
  return 0.45 * settings.thickness_mm / std::tan(settings.facet_angle_rad);
}

Row shifted(int first, const Eigen::RowVectorXd& weights) {
  Row row;
  for (Eigen::Index i = 0; i < weights.size(); ++i) {
    row.emplace_back(first + static_cast<int>(i), weights(i));
  }
  return row;
}

/// Precision of the lens; a parameter that the file holds certain is held nearly fixed.
Eigen::MatrixXd lens_precision(const CameraModel& camera) {
  const Eigen::MatrixXd covariance = covariance_or_typical(camera);
  const Eigen::VectorXd u = covariance.diagonal().cwiseSqrt().cwiseMax(1e-9);
  Eigen::MatrixXd correlation =
      u.cwiseInverse().asDiagonal() * covariance * u.cwiseInverse().asDiagonal();
  correlation.diagonal().array() += 1e-9;
  return u.cwiseInverse().asDiagonal() * correlation.inverse() * u.cwiseInverse().asDiagonal();
}

/// The lens of all, as it has moved in one photo.
CameraModel with_motion(const CameraModel& lens, const Eigen::Vector3d& motion) {
  CameraModel camera = lens;
  camera.focal_px *= 1.0 + motion(0);
  camera.centre_px += motion.tail<2>();
  return camera;
}

class Solver {
 public:
  Solver(std::span<const EdgeResult> results, const CameraModel& camera,
         const EdgeSettings& settings)
      : results_(results),
        nominal_(camera),
        settings_(settings),
        layout_{static_cast<int>(results.size()), parameter_count(camera)},
        solution_{.blade = blade_directions(results.front(), camera),
                  .curves = SpaceCurves(results.front().stage, {0, 1}, {0, 1}, 0),
                  .cameras = {},
                  .T_camera_card = {},
                  .unknowns = {},
                  .covariance = {},
                  .parts = {},
                  .worst_shift_over_u = {}} {
    for (const EdgeResult& result : results) {
      solution_.T_camera_card.push_back(result.pose->T_camera_card);
      solution_.cameras.push_back(lens_in_photo(camera, *result.pose));
    }
    gather_corners();
    gather_traces();
    start();
  }

  JointSolution solve() {
    constexpr int kRounds = 3, kSteps = 12;
    for (int round = 0; round < kRounds; ++round) {
      for (int step = 0; step < kSteps && !improve(); ++step) {
      }
      if (round + 1 < kRounds) judge_readings();
    }
    NormalEquations::Solution last = equations().solution();
    solution_.covariance = std::move(last.covariance);
    solution_.parts = std::move(last.parts);
    judge_shifts();
    return std::move(solution_);
  }

 private:
  const EdgeResult& result(int photo) const { return results_[static_cast<std::size_t>(photo)]; }
  const CameraModel& lens(int photo) const {
    return solution_.cameras[static_cast<std::size_t>(photo)];
  }
  const Transform<Camera, Card>& pose(int photo) const {
    return solution_.T_camera_card[static_cast<std::size_t>(photo)];
  }
  int shift_unknown(std::size_t trace) const {
    return solution_.curves.end_unknown() + static_cast<int>(trace);
  }

  void gather_corners() {
    const CardLayout& card = card_layout(CardKind::edge);
    for (int photo = 0; photo < layout_.photos; ++photo) {
      const CardPose& at = *result(photo).pose;
      const double u_px = std::max(at.rms_px / std::sqrt(2.0), kLeastCornerPx);
      for (const CardCorner& corner : result(photo).corners) {
        const Eigen::Vector2d& mm = card.corners_mm[static_cast<std::size_t>(corner.index)];
        const Point<Card> p_card{
            {mm.x() * settings_.print.along, mm.y() * settings_.print.across, 0.0}};
        const Eigen::Vector2d miss = corner.q_px - project(lens(photo), at.T_camera_card * p_card);
        if (miss.norm() > 1.5 * kStray * u_px) continue;
        observed_.corners.push_back({photo, mm, corner.q_px, u_px});
      }
    }
  }

  double rough_s(int photo, const Eigen::Vector2d& q_px) const {
    return on_plane(lens(photo), pose(photo), solution_.blade, q_px, result(photo).edge_height_mm)
        .x();
  }

  void gather_traces() {
    constexpr double kInfinite = std::numeric_limits<double>::infinity();
    Stretch flats{kInfinite, -kInfinite}, inner = flats;
    for (int photo = 0; photo < layout_.photos; ++photo) {
      for (const EdgeTrace& trace : result(photo).traces) {
        Trace out{.photo = photo, .border = border_of(trace.kind), .readings = {}};
        const bool flat = out.border == Border::flat_left || out.border == Border::flat_right;
        Stretch& stretch = flat ? flats : inner;
        for (std::size_t i = 0; i < trace.points_px.size(); ++i) {
          out.readings.push_back({trace.points_px[i], std::max(trace.u_px[i], kLeastReadingPx)});
          const double s = rough_s(photo, trace.points_px[i]);
          stretch.begin_mm = std::min(stretch.begin_mm, s);
          stretch.end_mm = std::max(stretch.end_mm, s);
        }
        observed_.traces.push_back(std::move(out));
      }
    }
    if (result(0).stage != Stage::bevelled) {
      keep_within(inner);
      flats = inner;
    }
    std::erase_if(observed_.traces,
                  [](const Trace& t) { return t.readings.size() < kLeastReadings; });
    solution_.curves = SpaceCurves(result(0).stage, flats, inner, layout_.curves());
  }

  /// Flats are followed beside the land only: on the ricasso they begin at another height.
  void keep_within(const Stretch& stretch) {
    for (Trace& trace : observed_.traces) {
      std::erase_if(trace.readings, [&](const TraceReading& reading) {
        const double s = rough_s(trace.photo, reading.q_px);
        return s < stretch.begin_mm - 0.01 || s > stretch.end_mm + 0.01;
      });
    }
  }

  void start() {
    const double z = result(0).edge_height_mm;
    const double depth = width_depth_mm(settings_, result(0).stage);
    std::array<double, 4> t{};
    std::array<bool, 4> seen{};
    for (const Trace& trace : observed_.traces) {
      const auto b = static_cast<std::size_t>(trace.border);
      if (seen[b]) continue;
      seen[b] = true;
      std::vector<double> all;
      for (const TraceReading& reading : trace.readings) {
        const double height = b < 2 ? z - depth : z;
        all.push_back(
            on_plane(lens(trace.photo), pose(trace.photo), solution_.blade, reading.q_px, height)
                .y());
      }
      t[b] = median(all);
    }
    if (!std::all_of(seen.begin(), seen.end(), [](bool one) { return one; })) {
      throw Error("the photos do not show both flats and the edge along the same stretch",
                  "take them so that the whole edge is in each of them");
    }
    solution_.unknowns = Eigen::VectorXd::Zero(shift_unknown(observed_.traces.size()));
    solution_.curves.start(solution_.unknowns, t, z, depth);
    start_lenses();
  }

  /// From what each photo by itself has shown; where the lens does not move, from their mean.
  void start_lenses() {
    const bool moves = lens_motion(nominal_).centre_px > 0.0;
    const double share = 1.0 / static_cast<double>(results_.size());
    for (int photo = 0; photo < layout_.photos; ++photo) {
      const LensVector& change = result(photo).pose->lens.all;
      if (change.size() == 0) continue;
      if (moves) {
        solution_.unknowns.segment<3>(layout_.motion(photo))
            << change(kFocalAt) / nominal_.focal_px.x(),
            change.segment<2>(kCentreAt);
        const Eigen::Index coefficients = change.size() - kCoefficientsAt;
        solution_.unknowns.segment(layout_.lens() + kCoefficientsAt, coefficients) +=
            share * change.tail(coefficients);
      } else {
        lens_unknowns() += share * change;
      }
    }
    place_lenses();
  }

  Eigen::VectorBlock<Eigen::VectorXd> lens_unknowns() {
    return solution_.unknowns.segment(layout_.lens(), layout_.lens_parameters);
  }
  Eigen::VectorBlock<const Eigen::VectorXd> lens_unknowns() const {
    return solution_.unknowns.segment(layout_.lens(), layout_.lens_parameters);
  }

  void place_lenses() {
    const CameraModel of_all = moved_lens(nominal_, lens_unknowns());
    for (int photo = 0; photo < layout_.photos; ++photo) {
      solution_.cameras[static_cast<std::size_t>(photo)] =
          with_motion(of_all, solution_.unknowns.segment<3>(layout_.motion(photo)));
    }
  }

  /// Pixel of a curve's point beside a reading, and the reading's distance across the curve.
  struct Miss {
    double px;
    Row row;
  };
  Miss miss(std::size_t index, const TraceReading& reading) const {
    const Trace& trace = observed_.traces[index];
    const JointSolution& now = solution_;
    const Transform<Camera, Card>& T = pose(trace.photo);
    const CameraModel& camera = lens(trace.photo);
    double s = on_plane(camera, T, now.blade, reading.q_px, result(0).edge_height_mm).x();
    for (int round = 0; round < 2; ++round) {
      s = on_plane(camera, T, now.blade, reading.q_px, now.value(now.curves.z(trace.border, s)))
              .x();
    }
    const Point<Card> p_card{now.curves.point(trace.border, s, now.blade, now.unknowns)};
    Eigen::Matrix<double, 2, 3> d_point;
    LensJacobian d_lens;
    const Eigen::Vector2d predicted = project(camera, T * p_card, &d_point, &d_lens);
    const Eigen::Matrix<double, 2, 3> d_card = d_point * T.matrix.linear();
    const double slope = now.value(now.curves.t_slope(trace.border, s));
    const Eigen::Vector2d along = d_card * (now.blade.along + now.blade.across * slope);
    Eigen::RowVector2d across(-along.y(), along.x());
    across.normalize();
    Miss out{across.dot((reading.q_px - predicted).transpose()), {}};
    out.row = shifted(layout_.pose(trace.photo), across * pose_jacobian(T, p_card, d_point));
    append_lens(out.row, trace.photo, across * d_lens);
    append(out.row, now.curves.t(trace.border, s), across * d_card * now.blade.across);
    append(out.row, now.curves.z(trace.border, s), across * d_card * now.blade.up);
    out.row.emplace_back(shift_unknown(index), 1.0);
    out.px -= now.unknowns(shift_unknown(index));
    return out;
  }

  /// By the lens of all, and by how it has moved in this photo.
  void append_lens(Row& row, int photo, const LensRow& d_lens) const {
    const double moved = 1.0 + solution_.unknowns(layout_.motion(photo));
    LensRow by_all = d_lens;
    by_all.segment<2>(kFocalAt) *= moved;
    append(row, shifted(layout_.lens(), by_all), 1.0);
    const double by_focal = d_lens.segment<2>(kFocalAt).dot(lens(photo).focal_px) / moved;
    Eigen::RowVector3d by_motion;
    by_motion << by_focal, d_lens.segment<2>(kCentreAt);
    append(row, shifted(layout_.motion(photo), by_motion), 1.0);
  }

  void add_corner(NormalEquations& equations, const Corner& corner) const {
    const double along = settings_.print.along + solution_.unknowns(layout_.print());
    const double across = settings_.print.across + solution_.unknowns(layout_.print() + 1);
    const Transform<Camera, Card>& T = pose(corner.photo);
    const Point<Card> p_card{{corner.nominal_mm.x() * along, corner.nominal_mm.y() * across, 0.0}};
    Eigen::Matrix<double, 2, 3> d_point;
    LensJacobian d_lens;
    const Eigen::Vector2d apart =
        corner.q_px - project(lens(corner.photo), T * p_card, &d_point, &d_lens);
    const PoseJacobian d_pose = pose_jacobian(T, p_card, d_point);
    const Eigen::Matrix<double, 2, 3> d_card = d_point * T.matrix.linear();
    for (int axis = 0; axis < 2; ++axis) {
      Row row = shifted(layout_.pose(corner.photo), d_pose.row(axis));
      append_lens(row, corner.photo, d_lens.row(axis));
      row.emplace_back(layout_.print(), d_card(axis, 0) * corner.nominal_mm.x());
      row.emplace_back(layout_.print() + 1, d_card(axis, 1) * corner.nominal_mm.y());
      equations.add(Cause::corners, row, apart(axis), corner.u_px);
    }
  }

  /// The flats lie the stock thickness apart.
  void add_thickness(NormalEquations& equations) const {
    const SpaceCurves& curves = solution_.curves;
    const double s = 0.5 * (curves.inner().begin_mm + curves.inner().end_mm);
    Row row = curves.t(Border::flat_left, s);
    append(row, curves.t(Border::flat_right, s), -1.0);
    const double light_mm = kThicknessLightPx / result(0).scale_px_per_mm;
    equations.add(Cause::scale, row, settings_.thickness_mm - solution_.value(row),
                  std::hypot(settings_.thickness_u_mm, light_mm));
  }

  void add_motion(NormalEquations& equations, int photo) const {
    const LensMotion motion = lens_motion(nominal_);
    const Eigen::Vector3d u(motion.focal, motion.centre_px, motion.centre_px);
    for (int i = 0; i < Unknowns::kMotion; ++i) {
      const Row row{{layout_.motion(photo) + i, 1.0}};
      equations.add(Cause::lens, row, -solution_.value(row), std::max(u(i), kLeastMotion));
    }
  }

  NormalEquations equations() const {
    NormalEquations sums(static_cast<int>(solution_.unknowns.size()));
    for (const Corner& corner : observed_.corners) add_corner(sums, corner);
    for (std::size_t i = 0; i < observed_.traces.size(); ++i) {
      const Trace& trace = observed_.traces[i];
      for (const TraceReading& reading : trace.readings) {
        if (!reading.used) continue;
        const Miss apart = miss(i, reading);
        sums.add(Cause::location, apart.row, apart.px, trace.scale * reading.u_px);
      }
      const Row shift{{shift_unknown(i), 1.0}};
      sums.add(Cause::view_light, shift, -solution_.value(shift), kViewLightPx);
    }
    sums.add_block(Cause::lens, layout_.lens(), lens_precision(nominal_), -lens_unknowns());
    for (int photo = 0; photo < layout_.photos; ++photo) add_motion(sums, photo);
    for (const int print : {layout_.print(), layout_.print() + 1}) {
      const Row row{{print, 1.0}};
      sums.add(Cause::scale, row, -solution_.value(row), settings_.print.u);
    }
    add_thickness(sums);
    solution_.curves.add_priors(sums, solution_.unknowns, settings_);
    return sums;
  }

  /// One step of Gauss and Newton's. @return  Whether it was too short to matter.
  bool improve() {
    const Eigen::VectorXd step = equations().step();
    solution_.unknowns += step;
    for (int photo = 0; photo < layout_.photos; ++photo) {
      const int first = layout_.pose(photo);
      auto& T = solution_.T_camera_card[static_cast<std::size_t>(photo)];
      T = stepped(T, step.segment<6>(first));
      solution_.unknowns.segment<6>(first).setZero();
    }
    place_lenses();
    constexpr double kShortMm = 1e-5;
    const Eigen::Index curves = layout_.curves();
    return step.tail(step.size() - curves).cwiseAbs().maxCoeff() < kShortMm;
  }

  /// The readings' scatter about the curves scales their u; strays are left out.
  void judge_readings() {
    for (std::size_t i = 0; i < observed_.traces.size(); ++i) {
      Trace& trace = observed_.traces[i];
      std::vector<double> sizes;
      for (const TraceReading& reading : trace.readings) {
        sizes.push_back(miss(i, reading).px / reading.u_px);
      }
      const double sigma = std::max(mad_sigma(sizes, median(sizes)), 1.0);
      trace.scale = kSharedReadings * sigma;
      for (std::size_t k = 0; k < sizes.size(); ++k) {
        trace.readings[k].used = std::abs(sizes[k]) <= kStray * sigma;
      }
    }
  }

  void judge_shifts() {
    solution_.worst_shift_over_u.assign(results_.size(), 0.0);
    for (std::size_t i = 0; i < observed_.traces.size(); ++i) {
      double& worst =
          solution_.worst_shift_over_u[static_cast<std::size_t>(observed_.traces[i].photo)];
      worst = std::max(worst, std::abs(solution_.unknowns(shift_unknown(i))) / kViewLightPx);
    }
  }

  std::span<const EdgeResult> results_;
  const CameraModel& nominal_;
  const EdgeSettings& settings_;
  Unknowns layout_;
  JointSolution solution_;
  Observations observed_;
};

double u_from(const Row& row, const Eigen::MatrixXd& covariance) {
  double variance = 0.0;
  for (const auto& [i, a] : row) {
    for (const auto& [k, b] : row) variance += a * b * covariance(i, k);
  }
  return std::sqrt(std::max(variance, 0.0));
}

}  // namespace

double JointSolution::u(const Row& row) const { return u_from(row, covariance); }

double JointSolution::u(const Row& row, Cause cause) const {
  return u_from(row, parts[static_cast<std::size_t>(cause)]);
}

Eigen::Vector2d on_plane(const CameraModel& camera, const Transform<Camera, Card>& T_camera_card,
                         const BladeDirections& blade, const Eigen::Vector2d& q_px, double z_mm) {
  const Eigen::Isometry3d T_card_camera = T_camera_card.inverse().matrix;
  const Eigen::Vector3d from = T_card_camera.translation();
  const Eigen::Vector3d toward = T_card_camera.linear() * ray(camera, q_px);
  const Eigen::Vector3d at = from + toward * ((z_mm - from.z()) / toward.z());
  return {blade.along.dot(at), blade.across.dot(at)};
}

Eigen::Vector2d on_plane(const CameraModel& file, const EdgeResult& result,
                         const BladeDirections& blade, const Eigen::Vector2d& q_px, double z_mm) {
  return on_plane(lens_in_photo(file, *result.pose), result.pose->T_camera_card, blade, q_px, z_mm);
}

BladeDirections blade_directions(const EdgeResult& result, const CameraModel& camera) {
  const BladeDirections card{Eigen::Vector3d::UnitX(), -Eigen::Vector3d::UnitY(),
                             Eigen::Vector3d::UnitZ()};
  const std::vector<Eigen::Vector2d>& points = result.traces.back().points_px;
  const auto at = [&](const Eigen::Vector2d& q_px) {
    return on_plane(camera, result, card, q_px, result.edge_height_mm);
  };
  const Eigen::Vector2d run = (at(points.back()) - at(points.front())).normalized();
  // The traces run from handle to tip; a quarter turn to the right of that is the left face's side.
  const Eigen::Vector3d along(run.x(), -run.y(), 0.0);
  return {along, Eigen::Vector3d(along.y(), -along.x(), 0.0), Eigen::Vector3d::UnitZ()};
}

JointSolution solve_jointly(std::span<const EdgeResult> results, const CameraModel& camera,
                            const EdgeSettings& settings) {
  return Solver(results, camera, settings).solve();
}

}  // namespace evenbevel::edges
