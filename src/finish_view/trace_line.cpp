#include "trace_line.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>

#include <Eigen/Dense>
#include <opencv2/imgproc.hpp>

#include "evenbevel/units.hpp"

namespace evenbevel::finish {
namespace {

constexpr int kNeighbours = 1;  // Filters either side that go on with a line.
// Filters either side that a place is used up for: a strong line answers to those 25 degrees off.
constexpr int kUsedBeside = 4;
constexpr double kUsedPx = 3.0;  // Beside a line: the filter's own ridge.
constexpr double kGapPx = 10.0;  // A torn groove: no more than the filter's own length.

struct Step {
  Eigen::Vector2d at;
  double answer = 0.0;
  int photo = 0;
};

int filter_of(const Eigen::Vector2d& run) {
  const double direction = axis_of(std::atan2(-run.y(), run.x()));
  return static_cast<int>(std::lround(direction / kPi * kDirections)) % kDirections;
}

class Tracer {
 public:
  explicit Tracer(const LineBank& bank)
      : bank_(bank), used_(bank.answer.front().size(), CV_32SC1, cv::Scalar(0)) {}

  std::vector<TracedLine> run() {
    std::vector<TracedLine> lines;
    for (const Seed& seed : seeds()) {
      if ((used_.at<std::int32_t>(seed.place) >> seed.filter) & 1) continue;
      std::vector<Step> path = follow(seed);
      cut_ends(path);
      use_up(path, seed);
      if (path.size() < 4) continue;
      lines.push_back(line_of(path));
    }
    return lines;
  }

 private:
  struct Seed {
    cv::Point place;
    int filter = 0;
    uchar answer = 0;
  };

  std::vector<Seed> seeds() const {
    const auto least = static_cast<uchar>(kSteps * kBegins);
    cv::Mat best = bank_.answer.front().clone();
    cv::Mat whose(best.size(), CV_8UC1, cv::Scalar(0));
    for (int k = 1; k < kDirections; ++k) {
      const cv::Mat& answer = bank_.answer[static_cast<std::size_t>(k)];
      whose.setTo(k, answer > best);
      cv::max(best, answer, best);
    }
    std::vector<Seed> all;
    for (int row = 0; row < best.rows; ++row) {
      for (int column = 0; column < best.cols; ++column) {
        const uchar answer = best.at<uchar>(row, column);
        if (answer >= least) all.push_back({{column, row}, whose.at<uchar>(row, column), answer});
      }
    }
    std::stable_sort(all.begin(), all.end(),
                     [](const Seed& a, const Seed& b) { return a.answer > b.answer; });
    return all;
  }

  /// Largest answer of the filters about `filter` at a place.
  Step look(const Eigen::Vector2d& at, int filter) const {
    Step step{at};
    const int column = static_cast<int>(std::lround(at.x()));
    const int row = static_cast<int>(std::lround(at.y()));
    if (column < 0 || row < 0 || column >= used_.cols || row >= used_.rows) return step;
    uchar most = 0;
    for (int d = -kNeighbours; d <= kNeighbours; ++d) {
      const auto k = static_cast<std::size_t>((filter + d + kDirections) % kDirections);
      const uchar answer = bank_.answer[k].at<uchar>(row, column);
      if (answer <= most) continue;
      most = answer;
      step.photo = bank_.photo[k].at<uchar>(row, column);
    }
    step.answer = most / kSteps;
    return step;
  }

  /// The best place within 1.5 px across; the middle of the ridge by a parabola.
  Step best_across(const Eigen::Vector2d& at, const Eigen::Vector2d& run, int filter) const {
    const Eigen::Vector2d across(-run.y(), run.x());
    std::array<Step, 7> steps;
    std::size_t most = 0;
    for (std::size_t i = 0; i < steps.size(); ++i) {
      steps[i] = look(at + (static_cast<double>(i) - 3.0) * across, filter);
      if (steps[i].answer > steps[most].answer) most = i;
    }
    if (most < 2 || most > 4) most = std::clamp<std::size_t>(most, 2, 4);
    Step best = steps[most];
    const double a = steps[most - 1].answer, b = steps[most].answer, c = steps[most + 1].answer;
    const double bend = a - 2.0 * b + c;
    const double shift = bend < -1e-9 ? std::clamp(0.5 * (a - c) / bend, -0.5, 0.5) : 0.0;
    best.at = at + (static_cast<double>(most) - 3.0 + shift) * across;
    return best;
  }

  /// From the seed on, as far as it goes on.
  std::vector<Step> follow_one_way(const Seed& seed, Eigen::Vector2d run) const {
    std::vector<Step> path;
    Eigen::Vector2d at(seed.place.x, seed.place.y);
    double gap = 0.0;
    while (gap < kGapPx) {
      const Step step = best_across(at + run, run, filter_of(run));
      at += run;
      if (step.answer < kGoesOn) {
        gap += 1.0;
      } else {
        gap = 0.0;
        at = 0.5 * at + 0.5 * step.at;
        path.push_back({step.at, step.answer, step.photo});
        steer(path, run);
      }
    }
    return path;
  }

  /// The last stretch of the path tells where it goes on.
  static void steer(const std::vector<Step>& path, Eigen::Vector2d& run) {
    constexpr std::size_t kStretch = 24;
    if (path.size() < kStretch) return;
    const Eigen::Vector2d lately = (path.back().at - path[path.size() - kStretch].at).normalized();
    run = (0.9 * run + 0.1 * lately).normalized();
  }

  std::vector<Step> follow(const Seed& seed) const {
    const double direction = direction_of(seed.filter);
    const Eigen::Vector2d run(std::cos(direction), -std::sin(direction));
    std::vector<Step> path = follow_one_way(seed, -run);
    std::reverse(path.begin(), path.end());
    path.push_back(
        look({static_cast<double>(seed.place.x), static_cast<double>(seed.place.y)}, seed.filter));
    const std::vector<Step> on = follow_one_way(seed, run);
    path.insert(path.end(), on.begin(), on.end());
    return path;
  }

  /// A filter's answer falls to half at a line's end.
  static void cut_ends(std::vector<Step>& path) {
    std::vector<double> answers;
    for (const Step& step : path) answers.push_back(step.answer);
    const auto high = answers.begin() + static_cast<std::ptrdiff_t>(answers.size() * 6 / 10);
    std::nth_element(answers.begin(), high, answers.end());
    const double half = std::max(kGoesOn, 0.5 * *high);
    const auto strong = [&](const Step& step) { return step.answer >= half; };
    const auto last = std::find_if(path.rbegin(), path.rend(), strong).base();
    path.erase(last, path.end());
    path.erase(path.begin(), std::find_if(path.begin(), path.end(), strong));
  }

  void use_up(const std::vector<Step>& path, const Seed& seed) {
    mark(Eigen::Vector2d(seed.place.x, seed.place.y), seed.filter);
    for (std::size_t i = 0; i < path.size(); ++i) {
      const std::size_t a = i < 8 ? 0 : i - 8, b = std::min(path.size() - 1, i + 8);
      const Eigen::Vector2d run = path[b].at - path[a].at;
      mark(path[i].at, run.norm() > 4.0 ? filter_of(run) : seed.filter);
    }
    // The filter's own tail past the ends.
    if (path.size() < 4) return;
    const Eigen::Vector2d run = (path.back().at - path.front().at).normalized();
    for (double t = 1.0; t < 3.0 * kAlongPx; t += 1.0) {
      mark(path.back().at + t * run, filter_of(run));
      mark(path.front().at - t * run, filter_of(run));
    }
  }

  void mark(const Eigen::Vector2d& at, int filter) {
    std::int32_t bits = 0;
    for (int d = -kUsedBeside; d <= kUsedBeside; ++d) {
      bits |= 1 << ((filter + d + kDirections) % kDirections);
    }
    const int reach = static_cast<int>(kUsedPx);
    const int x = static_cast<int>(std::lround(at.x())), y = static_cast<int>(std::lround(at.y()));
    for (int row = std::max(0, y - reach); row <= std::min(used_.rows - 1, y + reach); ++row) {
      for (int column = std::max(0, x - reach); column <= std::min(used_.cols - 1, x + reach);
           ++column) {
        used_.at<std::int32_t>(row, column) |= bits;
      }
    }
  }

  static TracedLine line_of(const std::vector<Step>& path) {
    Eigen::Vector2d centre(0.0, 0.0);
    double weight = 0.0;
    for (const Step& step : path) centre += step.answer * step.at, weight += step.answer;
    centre /= weight;
    Eigen::Matrix2d scatter = Eigen::Matrix2d::Zero();
    for (const Step& step : path) {
      const Eigen::Vector2d d = step.at - centre;
      scatter += step.answer * d * d.transpose();
    }
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d> axes(scatter);
    TracedLine line;
    line.run = axes.eigenvectors().col(1);
    if (line.run.dot(path.back().at - path.front().at) < 0.0) line.run = -line.run;
    line.from = centre + line.run.dot(path.front().at - centre) * line.run;
    line.to = centre + line.run.dot(path.back().at - centre) * line.run;
    line.over_noise = weight / static_cast<double>(path.size());
    set_bend(path, centre, line);
    std::array<int, 256> votes{};
    for (const Step& step : path) ++votes[static_cast<std::size_t>(step.photo)];
    line.photo = static_cast<int>(std::max_element(votes.begin(), votes.end()) - votes.begin());
    return line;
  }

  static void set_bend(const std::vector<Step>& path, const Eigen::Vector2d& centre,
                       TracedLine& line) {
    const Eigen::Vector2d across(-line.run.y(), line.run.x());
    const double half = std::max(1.0, 0.5 * line.length());
    Eigen::Matrix3d A = Eigen::Matrix3d::Zero();
    Eigen::Vector3d b = Eigen::Vector3d::Zero();
    for (const Step& step : path) {
      const double t = line.run.dot(step.at - centre) / half;
      const Eigen::Vector3d row(1.0, t, t * t);
      A += row * row.transpose(), b += across.dot(step.at - centre) * row;
    }
    const Eigen::Vector3d shape = A.ldlt().solve(b);
    double sum = 0.0;
    for (const Step& step : path) {
      const double t = line.run.dot(step.at - centre) / half;
      sum += std::pow(across.dot(step.at - centre) - shape.dot(Eigen::Vector3d(1.0, t, t * t)), 2);
    }
    line.bend_px = shape.z();
    line.rough_px = std::sqrt(sum / static_cast<double>(path.size()));
  }

  const LineBank& bank_;
  cv::Mat used_;  ///< A bit a filter.
};

}  // namespace

double TracedLine::direction_rad() const { return axis_of(std::atan2(-run.y(), run.x())); }

std::vector<TracedLine> trace_lines(const LineBank& bank) { return Tracer(bank).run(); }

}  // namespace evenbevel::finish
