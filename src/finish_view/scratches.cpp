#include "scratches.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <utility>

#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel::finish {
namespace {

/// Light across a line in one photo, mean along it.
struct Profile {
  double ridge = 0.0;  ///< The middle 3 px over both sides: median along it, so that a crumb on
                       ///< the line, or one that is all of it, does not count.
  double step = 0.0;   ///< One side less the other, 4 to 7 px away.
  double u = 0.0;      ///< Of the ridge, from the scatter along the line.
  double mean = 0.0;   ///< As ridge, the mean.
  double close = 0.0;  ///< As mean, over the sides 3 to 4 px away.
  double level = 0.0;  ///< What ridge is a share of, beside the paper's light.
  bool seen = false;
};

double mean_between(const cv::Mat& light, const Eigen::Vector2d& at, const Eigen::Vector2d& across,
                    double from, double to) {
  double sum = 0.0;
  int count = 0;
  for (double t = from; t <= to + 1e-9; t += 1.0) {
    const Eigen::Vector2d q = at + t * across;
    if (q.x() < 0.0 || q.y() < 0.0 || q.x() >= light.cols - 1 || q.y() >= light.rows - 1) continue;
    sum += side::between(light, q.x(), q.y()), ++count;
  }
  return count == 0 ? 0.0 : sum / count;
}

Profile profile_of(const FlatPhoto& photo, const TracedLine& line) {
  const Eigen::Vector2d across(-line.run.y(), line.run.x());
  std::vector<double> ridges;
  double step = 0.0, level = 0.0, close = 0.0;
  for (double t = 0.0; t <= line.length(); t += 2.0) {
    const Eigen::Vector2d at = line.from + t * line.run;
    const cv::Point place(static_cast<int>(at.x()), static_cast<int>(at.y()));
    if (!cv::Rect({}, photo.light.size()).contains(place)) continue;
    if (photo.blown.at<uchar>(place) != 0 || photo.dark.at<uchar>(place) != 0) continue;
    const double left = mean_between(photo.light, at, across, -7.0, -4.0);
    const double right = mean_between(photo.light, at, across, 4.0, 7.0);
    const double middle = mean_between(photo.light, at, across, -1.0, 1.0);
    ridges.push_back(middle - 0.5 * (left + right));
    close += middle - 0.5 * (mean_between(photo.light, at, across, -4.0, -3.0) +
                             mean_between(photo.light, at, across, 3.0, 4.0));
    step += right - left;
    level += photo.level.at<float>(place);
  }
  Profile profile;
  if (ridges.size() < 4) return profile;
  const auto n = static_cast<double>(ridges.size());
  for (const double ridge : ridges) profile.mean += ridge / n;
  profile.ridge = median(ridges);
  constexpr double kOfMedian = 1.2533;  // Its u over the mean's, of normal readings.
  profile.u = kOfMedian * mad_sigma(ridges, profile.ridge) / std::sqrt(n);
  profile.step = step / n, profile.level = level / n, profile.close = close / n;
  profile.seen = true;
  return profile;
}

std::vector<Profile> profiles_of(const FlatFace& face, const TracedLine& line) {
  std::vector<Profile> all;
  for (const FlatPhoto& photo : face.photos) all.push_back(profile_of(photo, line));
  return all;
}

/// A hair bends within millimetres, a scratch within decimetres. The stronger a line, the better
/// its ridge is placed: the filter's width over the answer's strength.
bool straight(const TracedLine& line, double step_mm) {
  constexpr double kLeastRadiusMm = 40.0, kGridPx = 0.3, kRoughPx = 1.2;
  const double sagitta = 0.125 * std::pow(line.length() * step_mm, 2) / kLeastRadiusMm / step_mm;
  const double noise = 3.0 * kAcrossPx / std::max(1.0, line.over_noise);
  return std::abs(line.bend_px) < kGridPx + noise + sagitta && line.rough_px < kRoughPx;
}

/// The longer a line, the weaker it may be: its answers are as many looks as filters fit on it.
bool strong(const TracedLine& line) {
  constexpr double kLeast = 3.2, kTogether = 9.5;
  const double looks = line.length() / (2.0 * kAlongPx);
  return line.over_noise > kLeast && line.over_noise * std::sqrt(std::max(0.25, looks)) > kTogether;
}

bool is_border(const std::vector<Profile>& profiles, int photo) {
  const Profile& own = profiles[static_cast<std::size_t>(photo)];
  return std::abs(own.step) > own.ridge;
}

/// Shading that comes and goes over a millimetre bends the light as a weak line does, but stands
/// out the less, the closer its sides are looked for (as the square); a line stands out alike.
bool is_shading(const std::vector<Profile>& profiles, int photo) {
  constexpr double kShare = 0.6;  // Of shading: (3.5 / 5.5)^2 = 0.4.
  const Profile& own = profiles[static_cast<std::size_t>(photo)];
  return own.close < kShare * own.mean;
}

/// A line shines all along, a crumb or a row of two in its middle.
bool shines_all_along(const std::vector<Profile>& profiles, int photo) {
  constexpr double kSure = 3.5, kShare = 0.35;
  const Profile& own = profiles[static_cast<std::size_t>(photo)];
  return own.seen && own.ridge > kSure * own.u && own.ridge > kShare * own.mean;
}

/// What shines alike from every side is dust, a hair or paint: a groove is dark for a lamp along
/// it. Told by the photo whose lamp shines most along the line, so that what is not known of a
/// lamp's height, a tenth of the lean or two, turns no groove into a hair.
bool shines_where_it_cannot(const FlatFace& face, const TracedLine& line,
                            const std::vector<Profile>& profiles) {
  constexpr double kShare = 0.5, kSure = 3.0;
  double brightest = 0.0, most_along = kNeverFrom;
  const Profile* along = nullptr;
  for (std::size_t i = 0; i < profiles.size(); ++i) {
    const Profile& own = profiles[i];
    const auto& lamp = face.photos[i].lamp;
    if (!own.seen) continue;
    brightest = std::max(brightest, own.ridge * own.level);
    if (!lamp) continue;
    const double lean = lean_along(line.direction_rad(), lamp->azimuth_rad, lamp->elevation_rad);
    if (lean >= most_along) along = &own, most_along = lean;
  }
  return along != nullptr && along->level * (along->ridge - kSure * along->u) > kShare * brightest;
}

/// Nearest stretch of a curve: within reach of both ends and the middle.
bool runs_along(const FlatGrid& grid, const TracedLine& line,
                const std::vector<Eigen::Vector2d>& curve_mm) {
  constexpr double kReachMm = 1.2;
  for (const double share : {0.0, 0.5, 1.0}) {
    const Eigen::Vector2d at = grid.mm(line.from + share * (line.to - line.from));
    const bool near = std::any_of(curve_mm.begin(), curve_mm.end(), [&](const Eigen::Vector2d& p) {
      return (p - at).norm() < kReachMm;
    });
    if (!near) return false;
  }
  return true;
}

std::vector<Eigen::Vector2d> curve_points(const side::Curve& curve) {
  std::vector<Eigen::Vector2d> points;
  for (std::size_t i = 0; i < curve.z_mm.size(); ++i) {
    if (!std::isnan(curve.z_mm[i])) points.emplace_back(curve.x(i), curve.z_mm[i]);
  }
  return points;
}

/// The line through both, when they are pieces of one.
std::optional<TracedLine> joined(const TracedLine& a, const TracedLine& b, double step_mm) {
  constexpr double kTurn = radians(5.0), kGapMm = 3.0, kBesideMm = 0.2;
  if (between_axes(a.direction_rad(), b.direction_rad()) > kTurn) return std::nullopt;
  const TracedLine &longer = a.length() > b.length() ? a : b, &other = &longer == &a ? b : a;
  const Eigen::Vector2d run = longer.run, across(-run.y(), run.x());
  const double from = (other.from - longer.from).dot(run), to = (other.to - longer.from).dot(run);
  const double low = std::min(from, to), high = std::max(from, to), length = longer.length();
  const double gap = std::max({low - length, -high, 0.0});
  if (gap * step_mm > kGapMm || gap > 0.5 * length + 4.0 * kAlongPx) return std::nullopt;
  const Eigen::Vector2d nearest =
      low > 0.0 ? (from < to ? other.from : other.to) : (from < to ? other.to : other.from);
  const double beside = std::abs((nearest - longer.from).dot(across));
  if (beside > std::max(2.0, kBesideMm / step_mm)) return std::nullopt;
  TracedLine both = longer;
  if (low < 0.0) both.from = from < to ? other.from : other.to;
  if (high > length) both.to = from < to ? other.to : other.from;
  both.run = (both.to - both.from).normalized();
  both.over_noise = (a.over_noise * a.length() + b.over_noise * b.length()) /
                    std::max(1.0, a.length() + b.length());
  return both;
}

void join_pieces(std::vector<TracedLine>& lines, double step_mm) {
  for (bool again = true; again;) {
    again = false;
    for (std::size_t i = 0; i < lines.size() && !again; ++i) {
      for (std::size_t k = i + 1; k < lines.size() && !again; ++k) {
        const auto both = joined(lines[i], lines[k], step_mm);
        if (!both) continue;
        lines[i] = *both;
        lines.erase(lines.begin() + static_cast<std::ptrdiff_t>(k));
        again = true;
      }
    }
  }
}

/// The filters' side of a line that was traced before.
bool beside(const TracedLine& line, const Groove& before, double step_mm) {
  constexpr double kTurn = radians(15.0), kBesideMm = 0.5, kMostPx = 6.0;
  const TracedLine& other = before.line;
  if (between_axes(line.direction_rad(), other.direction_rad()) > kTurn) return false;
  const Eigen::Vector2d across(-other.run.y(), other.run.x());
  const Eigen::Vector2d middle = 0.5 * (line.from + line.to) - other.from;
  const double along = middle.dot(other.run);
  const double reach = std::max(kMostPx, kBesideMm / step_mm);
  return std::abs(middle.dot(across)) < reach && along > -reach && along < other.length() + reach;
}

std::vector<bool> where_it_shines(const std::vector<Profile>& profiles) {
  constexpr double kShare = 0.3, kSure = 3.0;
  double most = 0.0;
  for (const Profile& profile : profiles) most = std::max(most, profile.ridge);
  std::vector<bool> shines;
  for (const Profile& profile : profiles) {
    shines.push_back(profile.seen && profile.ridge > std::max(kShare * most, kSure * profile.u));
  }
  return shines;
}

/// Light of a line's middle over both sides, px by px from `before` px ahead of its start.
std::vector<double> ridge_along(const FlatPhoto& photo, const TracedLine& line, double before) {
  const Eigen::Vector2d across(-line.run.y(), line.run.x());
  std::vector<double> ridges;
  for (double t = -before; t <= line.length() + before; t += 1.0) {
    const Eigen::Vector2d at = line.from + t * line.run;
    const double sides = 0.5 * (mean_between(photo.light, at, across, -6.0, -4.0) +
                                mean_between(photo.light, at, across, 4.0, 6.0));
    ridges.push_back(mean_between(photo.light, at, across, -1.0, 1.0) - sides);
  }
  return ridges;
}

/// Where a run of values at a level begins and ends, zero beside it: the likeliest stretch, which
/// has the largest sum of what lies over half the level.
std::pair<int, int> likeliest_stretch(const std::vector<double>& values, double level) {
  double sum = 0.0, best = 0.0;
  int from = 0;
  std::pair<int, int> stretch{0, static_cast<int>(values.size()) - 1};
  for (int i = 0; i < static_cast<int>(values.size()); ++i) {
    const double value = values[static_cast<std::size_t>(i)];
    sum += std::clamp(value, -level, 2.0 * level) - 0.5 * level;
    if (sum <= 0.0) sum = 0.0, from = i + 1;
    if (sum > best) best = sum, stretch = {from, i};
  }
  return stretch;
}

/// The filters' answers end softly; the light itself tells to a pixel or two.
void set_ends(const FlatFace& face, TracedLine& line) {
  constexpr double kBefore = 1.5 * kAlongPx;
  const FlatPhoto& photo = face.photos[static_cast<std::size_t>(line.photo)];
  const std::vector<double> ridges = ridge_along(photo, line, kBefore);
  const auto core = static_cast<std::ptrdiff_t>(1.5 * kBefore);
  const auto size = static_cast<std::ptrdiff_t>(ridges.size());
  if (size <= 2 * core) return;
  const double level = median(std::vector<double>(ridges.begin() + core, ridges.end() - core));
  if (level <= 0.0) return;
  const auto [from, to] = likeliest_stretch(ridges, level);
  const Eigen::Vector2d start = line.from;
  line.to = start + (to + 0.5 - kBefore) * line.run;
  line.from = start + (from - 0.5 - kBefore) * line.run;
}

}  // namespace

std::vector<Groove> scratches_of(const FlatFace& face, const LyingFace& lying,
                                 std::vector<TracedLine> lines) {
  const double step = face.grid.step_mm;
  constexpr double kPieceMm = 0.8;
  std::erase_if(lines, [&](const TracedLine& line) {
    return line.length() * step < kPieceMm || !straight(line, step);
  });
  join_pieces(lines, step);
  const std::array curves = {curve_points(lying.edge),  curve_points(lying.spine),
                             curve_points(lying.bevel), lying.plunge_mm,
                             lying.glints_mm,           lying.plunge_glints_mm};
  std::vector<Groove> grooves;
  for (TracedLine& line : lines) {
    set_ends(face, line);
    if (line.length() * step < kShortestMm || !strong(line)) continue;
    if (std::any_of(curves.begin(), curves.end(),
                    [&](const auto& curve) { return runs_along(face.grid, line, curve); }))
      continue;
    const std::vector<Profile> profiles = profiles_of(face, line);
    if (!shines_all_along(profiles, line.photo) || is_border(profiles, line.photo) ||
        is_shading(profiles, line.photo) || shines_where_it_cannot(face, line, profiles))
      continue;
    if (std::any_of(grooves.begin(), grooves.end(),
                    [&](const Groove& before) { return beside(line, before, step); }))
      continue;
    grooves.push_back({line, where_it_shines(profiles)});
  }
  return grooves;
}

}  // namespace evenbevel::finish
