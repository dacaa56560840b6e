#include "summary.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include "border/light_bias.hpp"
#include "evenbevel/units.hpp"
#include "warnings.hpp"

namespace evenbevel::side {
namespace {

constexpr double kTipUMm = 0.3;  // Of the tip along x: the blade's end is read in steps of 0.5 mm.

/// Mean of what stations hold.
std::optional<Measured> mean_of(const std::vector<Measured>& values, double step_mm) {
  if (values.empty()) return std::nullopt;
  return mean_along(values, static_cast<double>(values.size()) * step_mm);
}

class Summary {
 public:
  Summary(const Faces& faces, const SideSettings& settings) : faces_(faces), settings_(settings) {
    if (faces.left) left_.emplace(*faces.left, settings);
    if (faces.right) right_.emplace(*faces.right, settings);
  }

  SideResult result() {
    result_.x_from_plunge = faces_.x_from_plunge;
    if (left_) result_.faces.push_back(left_->reading().look);
    if (right_) result_.faces.push_back(right_->reading().look);
    if (faces_.registration) result_.outlines = faces_.registration->fit;
    add_stations();
    add_means();
    add_plunges();
    add_places();
    add_straightness();
    if (left_) add_traces(left_->reading());
    if (right_) add_traces(right_->reading());
    add_words(left_ ? &*left_ : nullptr, right_ ? &*right_ : nullptr, result_);
    add_words_on_places(settings_, result_);
    return std::move(result_);
  }

 private:
  static void measure(const FaceNumbers& face, double x, FaceStation& station) {
    const FaceReading& reading = face.reading();
    const FaceNumbers::At here = face.at(x);
    const double plane_x = reading.axes.plane({x, 0.0}).x();
    if (here.edge_mm)
      station.edge_px = reading.pixel({x, *here.edge_mm}, reading.edge_height(plane_x));
    if (here.spine_mm)
      station.spine_px = reading.pixel({x, *here.spine_mm}, reading.spine_height(plane_x));
    if (here.bevel_mm)
      station.bevel_px = reading.pixel({x, *here.bevel_mm}, reading.upper(plane_x));
    station.bevel_height_mm = face.bevel_height(x);
    station.spine_to_bevel_mm = face.spine_to_bevel(x);
    station.blade_height_mm = face.blade_height(x);
    station.bevel_angle_rad = face.bevel_angle(x);
  }

  /// An error along x costs as much as bevel line and edge run apart.
  double registration_u(double x) const {
    if (!faces_.registration) return 0.0;
    const double slope =
        std::max(std::abs(left_->at(x).slope_difference), std::abs(right_->at(x).slope_difference));
    return slope * along_u();
  }

  /// Of the right face's x against the left one's.
  double along_u() const {
    constexpr double kReachMm = 60.0;  // From the outline's ends, which fix x, to its middle.
    if (!faces_.registration) return 0.0;
    return std::hypot(faces_.registration->fit.u_x_mm,
                      kReachMm * std::hypot(left_->terms().lens, right_->terms().lens));
  }

  std::optional<Measured> difference(double x) const {
    if (!left_ || !right_) return std::nullopt;
    const std::optional<Measured> left = left_->bevel_height(x), right = right_->bevel_height(x);
    if (!left || !right) return std::nullopt;
    std::vector<BudgetLine> lines = apart(*left, *right).budget;
    for (BudgetLine& line : lines) {
      // One print's size, in both photos.
      if (line.cause == kPrintScale)
        line.u = settings_.print.u * std::abs(left->value - right->value);
    }
    lines.push_back({"laying outline over outline", registration_u(x)});
    return combine(left->value - right->value, std::move(lines));
  }

  void add_stations() {
    double first = 1e9, last = -1e9;
    for (const FaceNumbers* face : {left_ ? &*left_ : nullptr, right_ ? &*right_ : nullptr}) {
      if (face == nullptr) continue;
      first = std::min(first, face->first_mm()), last = std::max(last, face->last_mm());
    }
    const double step = settings_.step_mm;
    for (double i = std::ceil(first / step); i * step <= last; i += 1.0) {
      SideStation station;
      station.x_mm = i * step;
      if (left_) measure(*left_, station.x_mm, station.left);
      if (right_) measure(*right_, station.x_mm, station.right);
      station.bevel_height_difference_mm = difference(station.x_mm);
      station.included_angle_rad =
          included(station.left.bevel_angle_rad, station.right.bevel_angle_rad);
      result_.stations.push_back(station);
    }
  }

  /// An offset centreline takes from the one angle what it gives to the other; all else adds.
  static std::optional<Measured> included(const std::optional<Measured>& left,
                                          const std::optional<Measured>& right) {
    if (!left || !right) return std::nullopt;
    return combine(left->value + right->value, apart(*left, *right).budget);
  }

  template <class Function>
  std::vector<Measured> along(Function&& number) const {
    std::vector<Measured> values;
    for (const SideStation& station : result_.stations) {
      if (!averaged(station.x_mm)) continue;
      if (const std::optional<Measured> value = number(station.x_mm)) values.push_back(*value);
    }
    return values;
  }

  bool averaged(double x) const {
    const std::optional<BladeStretch>& over = settings_.mean_over;
    return !over || (x >= over->from_mm && x <= over->to_mm);
  }

  /// First and last station of a mean.
  template <class Function>
  std::optional<BladeStretch> stretch_of(Function&& seen) const {
    std::optional<BladeStretch> stretch;
    for (const SideStation& station : result_.stations) {
      if (!averaged(station.x_mm) || !seen(station)) continue;
      if (!stretch) stretch = BladeStretch{station.x_mm, station.x_mm};
      stretch->to_mm = station.x_mm;
    }
    return stretch;
  }

  void add_stretches() {
    SideResult& r = result_;
    r.bevel_stretch_left =
        stretch_of([](const SideStation& s) { return s.left.bevel_height_mm.has_value(); });
    r.bevel_stretch_right =
        stretch_of([](const SideStation& s) { return s.right.bevel_height_mm.has_value(); });
    r.bevel_stretch_difference =
        stretch_of([](const SideStation& s) { return s.bevel_height_difference_mm.has_value(); });
  }

  void add_means() {
    const auto mean = [&](const std::optional<FaceNumbers>& face, auto number) {
      if (!face) return std::optional<Measured>();
      return mean_of(along([&](double x) { return ((*face).*number)(x); }), settings_.step_mm);
    };
    add_stretches();
    SideResult& r = result_;
    r.bevel_height_left_mm = mean(left_, &FaceNumbers::bevel_height);
    r.bevel_height_right_mm = mean(right_, &FaceNumbers::bevel_height);
    r.spine_to_bevel_left_mm = mean(left_, &FaceNumbers::spine_to_bevel);
    r.spine_to_bevel_right_mm = mean(right_, &FaceNumbers::spine_to_bevel);
    r.bevel_angle_left_rad = mean(left_, &FaceNumbers::bevel_angle);
    r.bevel_angle_right_rad = mean(right_, &FaceNumbers::bevel_angle);
    r.included_angle_rad = included(r.bevel_angle_left_rad, r.bevel_angle_right_rad);
    const std::vector<Measured> differences = along([&](double x) { return difference(x); });
    r.bevel_height_difference_mm = mean_of(differences, settings_.step_mm);
    std::optional<Measured> worst;
    for (const SideStation& station : r.stations) {
      const std::optional<Measured> value = difference(station.x_mm);
      if (!value || (worst && std::abs(value->value) <= std::abs(worst->value))) continue;
      worst = value;
      r.worst_x_mm = station.x_mm;
    }
    r.bevel_height_difference_worst_mm = worst;
  }

  std::optional<Measured> plunge_x(const std::optional<FaceNumbers>& face, double z) const {
    if (!face) return std::nullopt;
    const std::optional<Measured> x = plunge_at(face->reading(), z);
    if (!x) return std::nullopt;
    return combine(x->value,
                   {{"plunge line, scatter", x->u, x->dof},
                    {"plunge line, light and blur",
                     light_bias::side::kPlungeLine / face->reading().look.scale_px_per_mm}});
  }

  std::optional<Measured> mismatch(double z) const {
    const std::optional<Measured> left = plunge_x(left_, z), right = plunge_x(right_, z);
    if (!left || !right) return std::nullopt;
    return with_line(apart(*left, *right), {"laying outline over outline", along_u()});
  }

  void add_plunges() {
    double height = 0.0;
    int count = 0;
    for (const FaceNumbers* face : {left_ ? &*left_ : nullptr, right_ ? &*right_ : nullptr}) {
      if (face == nullptr || !face->reading().bevel_height_mm) continue;
      height += *face->reading().bevel_height_mm, ++count;
    }
    if (count == 0) return;
    height /= count;
    SideResult& r = result_;
    r.plunge_z_mm = 0.5 * height;
    for (double z = 2.0; z < height; z += 2.0) {
      PlungeAtHeight row{.z_mm = z, .left_mm = {}, .right_mm = {}, .mismatch_mm = {}};
      row.left_mm = plunge_x(left_, z);
      row.right_mm = plunge_x(right_, z);
      row.mismatch_mm = mismatch(z);
      if (row.left_mm || row.right_mm) r.plunges.push_back(row);
    }
    r.plunge_left_mm = plunge_x(left_, r.plunge_z_mm);
    r.plunge_right_mm = plunge_x(right_, r.plunge_z_mm);
    r.plunge_mismatch_mm = mismatch(r.plunge_z_mm);
    add_plunge_shapes();
  }

  /// A place of the blade from which others are counted.
  struct Origin {
    double x_mm = 0.0, u_mm = 0.0;
  };

  /// x = 0, if it stands on the plunge lines.
  std::optional<Origin> plunge_origin() const {
    if (!faces_.x_from_plunge) return std::nullopt;
    double square = 0.0, count = 0.0;
    for (const std::optional<Measured>& x : {result_.plunge_left_mm, result_.plunge_right_mm}) {
      if (x) square += x->u * x->u, count += 1.0;
    }
    if (count == 0.0) return std::nullopt;
    return Origin{0.0, std::sqrt(square) / count};
  }

  /// Where edge and spine meet, or before that, where a blunt tip ends.
  static double end_of(const FaceReading& reading) {
    const double z = reading.axes.plane(*reading.tip).y();
    return std::min(reading.tip->x(), reading.axes.blade({reading.length_mm, z}).x());
  }

  std::optional<Origin> tip_origin() const {
    double sum = 0.0, count = 0.0;
    for (const auto* face : {&faces_.left, &faces_.right}) {
      if (*face && (*face)->tip) sum += end_of(**face), count += 1.0;
    }
    if (count == 0.0) return std::nullopt;
    return Origin{sum / count, kTipUMm};
  }

  /// The place's own error costs as much as bevel line and edge run apart there.
  static std::optional<Measured> height_at(const std::optional<Measured>& height, double slope,
                                           double place_u_mm) {
    if (!height) return std::nullopt;
    return with_line(*height, {"place along the blade", std::abs(slope) * place_u_mm});
  }

  void add_places() {
    if (const std::optional<Origin> tip = tip_origin()) result_.tip_x_mm = tip->x_mm;
    for (const AskedPlace& asked : settings_.places) {
      const std::optional<Origin> origin = asked.from_tip ? tip_origin() : plunge_origin();
      if (!origin) continue;
      const double x = origin->x_mm + (asked.from_tip ? -asked.distance_mm : asked.distance_mm);
      const double left = left_ ? left_->at(x).slope_difference : 0.0;
      const double right = right_ ? right_->at(x).slope_difference : 0.0;
      BevelAtPlace at{
          .asked = asked, .x_mm = x, .left_mm = {}, .right_mm = {}, .difference_mm = {}};
      if (left_) at.left_mm = height_at(left_->bevel_height(x), left, origin->u_mm);
      if (right_) at.right_mm = height_at(right_->bevel_height(x), right, origin->u_mm);
      at.difference_mm = height_at(difference(x), left - right, origin->u_mm);
      result_.bevel_at.push_back(at);
    }
  }

  /// @param bias  What light may do to it.
  static std::optional<Measured> shape(const std::optional<Measured>& value, double bias) {
    if (!value) return std::nullopt;
    return combine(value->value, {{"plunge line, scatter", value->u, value->dof},
                                  {"plunge line, light and blur", bias}});
  }

  static std::optional<Measured> difference_of(const std::optional<Measured>& left,
                                               const std::optional<Measured>& right) {
    if (!left || !right) return std::nullopt;
    return apart(*left, *right);
  }

  void add_plunge_shapes() {
    SideResult& r = result_;
    const auto shapes = [&](const std::optional<FaceNumbers>& face, std::optional<Measured>& angle,
                            std::optional<Measured>& radius) {
      if (!face) return;
      const PlungeFit& fit = face->plunge();
      angle = shape(fit.angle_rad, light_bias::side::kCreaseRad);
      if (fit.radius_mm)
        radius = shape(fit.radius_mm, light_bias::side::kCurveShare * fit.radius_mm->value);
    };
    shapes(left_, r.plunge_angle_left_rad, r.plunge_radius_left_mm);
    shapes(right_, r.plunge_angle_right_rad, r.plunge_radius_right_mm);
    r.plunge_angle_difference_rad =
        difference_of(r.plunge_angle_left_rad, r.plunge_angle_right_rad);
    r.plunge_radius_difference_mm =
        difference_of(r.plunge_radius_left_mm, r.plunge_radius_right_mm);
  }

  void add_straightness() {
    if (left_) result_.bevel_straightness_left_mm = left_->straightness();
    if (right_) result_.bevel_straightness_right_mm = right_->straightness();
  }

  void add_traces(const FaceReading& reading) {
    const auto curve = [&](FaceTrace::Kind kind, const Curve& from, bool spine) {
      FaceTrace trace;
      trace.kind = kind, trace.face = reading.face;
      for (std::size_t i = 0; i < from.z_mm.size(); ++i) {
        if (std::isnan(from.z_mm[i])) continue;
        const Eigen::Vector2d p(from.x(i), from.z_mm[i]);
        const double x = reading.axes.plane(p).x();
        trace.points_mm.push_back(p);
        trace.points_px.push_back(
            reading.pixel(p, spine ? reading.spine_height(x) : reading.edge_height(x)));
      }
      trace.coverage = from.z_mm.empty() ? 0.0
                                         : static_cast<double>(trace.points_mm.size()) /
                                               static_cast<double>(from.z_mm.size());
      result_.traces.push_back(std::move(trace));
    };
    curve(FaceTrace::Kind::edge, reading.edge, false);
    curve(FaceTrace::Kind::spine, reading.spine, true);
    const auto readings = [&](FaceTrace::Kind kind, const auto& places) {
      FaceTrace trace;
      trace.kind = kind, trace.face = reading.face;
      for (const auto& place : places) {
        if (!place.seen) continue;
        const Eigen::Vector2d p(place.x_mm, place.z_mm);
        trace.points_mm.push_back(p);
        trace.points_px.push_back(reading.pixel(p, reading.upper(reading.axes.plane(p).x())));
      }
      if (places.empty()) return;
      trace.coverage =
          static_cast<double>(trace.points_mm.size()) / static_cast<double>(places.size());
      result_.traces.push_back(std::move(trace));
    };
    readings(FaceTrace::Kind::bevel, reading.bevel);
    readings(FaceTrace::Kind::plunge, reading.plunge);
  }

  const Faces& faces_;
  const SideSettings& settings_;
  std::optional<FaceNumbers> left_, right_;
  SideResult result_;
};

}  // namespace

SideResult summarise(const Faces& faces, const SideSettings& settings) {
  return Summary(faces, settings).result();
}

}  // namespace evenbevel::side
