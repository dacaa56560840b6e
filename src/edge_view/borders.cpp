#include "borders.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include <opencv2/imgproc.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel::edge {
namespace {

constexpr int kLongSidePx = 1400;     // Of the small copy: a blade is still 6 px wide in it.
constexpr int kTurns = 1440;          // Quarters of a degree, all around: the sense is the sign.
constexpr double kOwnTurnRad = 0.05;  // A pixel votes for directions near its own gradient's.
constexpr float kLeastGradient = 2.0F, kFullGradient = 10.0F;  // Grey levels per px.

/// Votes for lines x cos a + y sin a = distance, in px of the small copy from the optical axis.
struct Votes {
  cv::Mat length, moment;  ///< CV_32FC1, a row each turn; moment: sum of places along the line.
  cv::Mat dx, dy;          ///< Gradient of the small copy.
  double reach_px = 0.0, scale_px = 1.0, shrink = 1.0;

  double distance_px(int column) const { return column - reach_px; }
};

void vote(Votes& votes, const Eigen::Vector2d& at, const Eigen::Vector2d& gradient, float size) {
  const float weight = std::min(size / kFullGradient, 1.0F);
  const double step = 2.0 * kPi / kTurns;
  const int own = static_cast<int>(std::lround(std::atan2(gradient.y(), gradient.x()) / step));
  const int spread = static_cast<int>(kOwnTurnRad / step);
  for (int turn = own - spread; turn <= own + spread; ++turn) {
    const Eigen::Vector2d across(std::cos(turn * step), std::sin(turn * step));
    const int column = static_cast<int>(std::lround(at.dot(across) + votes.reach_px));
    if (column < 0 || column >= votes.length.cols) continue;
    const int row = (turn + kTurns) % kTurns;
    votes.length.at<float>(row, column) += weight;
    votes.moment.at<float>(row, column) +=
        weight * static_cast<float>(at.dot(Eigen::Vector2d(-across.y(), across.x())));
  }
}

/// Empty: too far out for the lens model.
std::optional<Eigen::Vector2d> on_plane(const CameraModel& camera, const Eigen::Vector2d& q_px) {
  try {
    return ray(camera, q_px).head<2>();
  } catch (const Error&) {
    return std::nullopt;
  }
}

Votes votes_of(const cv::Mat& grey, const CameraModel& camera) {
  const double shrink =
      std::min(1.0, static_cast<double>(kLongSidePx) / std::max(grey.cols, grey.rows));
  cv::Mat small, smooth;
  cv::resize(grey, small, {}, shrink, shrink, cv::INTER_AREA);
  cv::GaussianBlur(small, smooth, {0, 0}, 0.8);
  Votes votes;
  votes.shrink = shrink;
  cv::Sobel(smooth, votes.dx, CV_32F, 1, 0, 3, 1.0 / 8.0);
  cv::Sobel(smooth, votes.dy, CV_32F, 0, 1, 3, 1.0 / 8.0);
  votes.scale_px = camera.focal_px.x() * shrink;
  votes.reach_px = std::ceil(0.75 * std::hypot(small.cols, small.rows));
  votes.length = cv::Mat::zeros(kTurns, static_cast<int>(2.0 * votes.reach_px) + 1, CV_32F);
  votes.moment = votes.length.clone();
  for (int y = 1; y + 1 < small.rows; ++y) {
    for (int x = 1; x + 1 < small.cols; ++x) {
      const Eigen::Vector2d gradient(votes.dx.at<float>(y, x), votes.dy.at<float>(y, x));
      const auto size = static_cast<float>(gradient.norm());
      if (size < kLeastGradient) continue;
      const Eigen::Vector2d q_px((x + 0.5) / shrink - 0.5, (y + 0.5) / shrink - 0.5);
      if (const auto at = on_plane(camera, q_px)) {
        vote(votes, votes.scale_px * *at, gradient, size);
      }
    }
  }
  return votes;
}

/// Length of border of one sense less that of the other, a border a px or two wide as one.
cv::Mat net_length(const Votes& votes) {
  cv::Mat turned, flipped, net;
  cv::vconcat(votes.length.rowRange(kTurns / 2, kTurns), votes.length.rowRange(0, kTurns / 2),
              turned);
  cv::flip(turned, flipped, 1);
  net = votes.length - flipped;
  cv::max(net, 0.0, net);
  return net;
}

struct Border {
  double distance_px, along_px;
  double length_px;
  double sense;  ///< +1: brighter toward larger distance.
};

/// Local maxima of both senses at one direction, in order of distance.
std::vector<Border> borders_at(const Votes& votes, const cv::Mat& net, int turn, double least_px) {
  std::vector<Border> borders;
  const int opposite = turn + kTurns / 2;
  const int columns = net.cols;
  for (int sense = 0; sense < 2; ++sense) {
    const int row = sense == 0 ? turn : opposite;
    const float* n = net.ptr<float>(row);
    for (int c = 1; c + 1 < columns; ++c) {
      if (n[c] < least_px || n[c] < n[c - 1] || n[c] <= n[c + 1]) continue;
      const double sign = sense == 0 ? 1.0 : -1.0;
      const double along = votes.moment.at<float>(row, c) / votes.length.at<float>(row, c);
      const double bend = n[c - 1] - 2.0 * n[c] + n[c + 1];
      const double shift = bend < 0.0 ? 0.5 * (n[c - 1] - n[c + 1]) / bend : 0.0;
      borders.push_back({sign * (votes.distance_px(c) + shift), sign * along, n[c], sign});
    }
  }
  std::sort(borders.begin(), borders.end(),
            [](const Border& a, const Border& b) { return a.distance_px < b.distance_px; });
  return borders;
}

/// Longest stretch along which the border itself shows, gaps of a few mm bridged. Rows of printed
/// markers also line up, but with gaps half of the time.
double unbroken_px(const Votes& votes, const CameraModel& camera, const Border& border,
                   const Eigen::Vector2d& across) {
  constexpr double kStepPx = 2.0, kBridgePx = 16.0;
  const Eigen::Vector2d along(-across.y(), across.x());
  double begin = 0.0, last = -1e9, longest = 0.0;
  const int steps = static_cast<int>(2.0 * votes.reach_px / kStepPx);
  for (int step = 0; step <= steps; ++step) {
    const double place = -votes.reach_px + step * kStepPx;
    bool shows = false;
    for (const double beside : {-1.0, 0.0, 1.0}) {
      const Eigen::Vector2d at = (border.distance_px + beside) * across + place * along;
      const Eigen::Vector2d q_px =
          project(camera, Point<Camera>{{at.x() / votes.scale_px, at.y() / votes.scale_px, 1.0}});
      const int x = static_cast<int>(std::lround((q_px.x() + 0.5) * votes.shrink - 0.5));
      const int y = static_cast<int>(std::lround((q_px.y() + 0.5) * votes.shrink - 0.5));
      if (x < 0 || y < 0 || x >= votes.dx.cols || y >= votes.dx.rows) continue;
      const double slope =
          votes.dx.at<float>(y, x) * across.x() + votes.dy.at<float>(y, x) * across.y();
      shows = shows || border.sense * slope > static_cast<double>(kLeastGradient);
    }
    if (!shows) continue;
    if (place - last > kBridgePx) begin = place;
    last = place;
    longest = std::max(longest, last - begin);
  }
  return longest;
}

bool same_kind(const BorderPair& a, const BorderPair& b) {
  const double turn = std::abs(a.along.dot(Eigen::Vector2d(-b.along.y(), b.along.x())));
  const double apart =
      std::abs((a.middle - b.middle).dot(Eigen::Vector2d(-b.along.y(), b.along.x())));
  return turn < 0.035 && apart < 1.5 * b.width && std::abs(std::log(a.width / b.width)) < 0.10;
}

}  // namespace

std::vector<BorderPair> long_border_pairs(const cv::Mat& grey, const CameraModel& camera,
                                          double width_low, double width_high, int most) {
  const Votes votes = votes_of(grey, camera);
  const cv::Mat net = net_length(votes);
  double longest = 0.0;
  cv::minMaxLoc(net, nullptr, &longest);
  constexpr std::size_t kMostKinds = 200;
  const double least = std::max(0.08 * longest, 20.0);
  struct Pair {
    BorderPair pair;
    Border first, second;
    Eigen::Vector2d across;
  };
  std::vector<Pair> all;
  for (int turn = 0; turn < kTurns / 2; ++turn) {
    const double angle = turn * 2.0 * kPi / kTurns;
    const Eigen::Vector2d across(std::cos(angle), std::sin(angle));
    const Eigen::Vector2d along(-across.y(), across.x());
    const std::vector<Border> borders = borders_at(votes, net, turn, least);
    for (std::size_t i = 0; i < borders.size(); ++i) {
      for (std::size_t j = i + 1; j < borders.size(); ++j) {
        const double width = (borders[j].distance_px - borders[i].distance_px) / votes.scale_px;
        if (width < width_low) continue;
        if (width > width_high) break;
        const double mid = 0.5 * (borders[i].distance_px + borders[j].distance_px);
        const double place = 0.5 * (borders[i].along_px + borders[j].along_px);
        all.push_back({{(mid * across + place * along) / votes.scale_px, along, width,
                        std::min(borders[i].length_px, borders[j].length_px)},
                       borders[i],
                       borders[j],
                       across});
      }
    }
  }
  const auto stronger = [](const Pair& a, const Pair& b) {
    return a.pair.strength > b.pair.strength;
  };
  std::sort(all.begin(), all.end(), stronger);
  std::vector<Pair> kinds;
  for (const Pair& pair : all) {
    const bool known = std::any_of(kinds.begin(), kinds.end(),
                                   [&](const Pair& k) { return same_kind(pair.pair, k.pair); });
    if (!known) kinds.push_back(pair);
    if (kinds.size() == kMostKinds) break;
  }
  for (Pair& kind : kinds) {
    kind.pair.strength = std::min(unbroken_px(votes, camera, kind.first, kind.across),
                                  unbroken_px(votes, camera, kind.second, kind.across));
  }
  std::stable_sort(kinds.begin(), kinds.end(), stronger);
  std::vector<BorderPair> best;
  for (const Pair& kind : kinds) {
    if (static_cast<int>(best.size()) == most) break;
    best.push_back(kind.pair);
  }
  return best;
}

}  // namespace evenbevel::edge
