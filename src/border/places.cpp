#include "places.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/Dense>

namespace evenbevel {
namespace {

/// Probabilities over (cell, slope), with sum 1.
class Belief {
 public:
  Belief(int cells, int steepest)
      : cells_(cells),
        steepest_(steepest),
        slopes_(2 * steepest + 1),
        values_(static_cast<std::size_t>(cells * slopes_), 0.0) {}

  double& at(int cell, int slope) {
    return values_[static_cast<std::size_t>(cell * slopes_ + slope + steepest_)];
  }
  double at(int cell, int slope) const {
    return values_[static_cast<std::size_t>(cell * slopes_ + slope + steepest_)];
  }
  bool holds(int cell, int slope) const {
    return cell >= 0 && cell < cells_ && std::abs(slope) <= steepest_;
  }
  void fill(double value) { std::fill(values_.begin(), values_.end(), value); }
  void normalise() {
    double sum = 0.0;
    for (const double v : values_) sum += v;
    if (sum > 0.0) {
      for (double& v : values_) v /= sum;
    } else {
      fill(1.0 / static_cast<double>(values_.size()));
    }
  }
  int cells() const { return cells_; }
  int steepest() const { return steepest_; }

 private:
  int cells_, steepest_, slopes_;
  std::vector<double> values_;
};

std::vector<double> likelihoods(const cv::Mat& gain, int station) {
  std::vector<double> values(static_cast<std::size_t>(gain.rows));
  float most = gain.at<float>(0, station);
  for (int cell = 1; cell < gain.rows; ++cell) most = std::max(most, gain.at<float>(cell, station));
  for (int cell = 0; cell < gain.rows; ++cell) {
    values[static_cast<std::size_t>(cell)] =
        std::exp(static_cast<double>(gain.at<float>(cell, station) - most));
  }
  return values;
}

void weigh(Belief& belief, const std::vector<double>& likelihood) {
  for (int cell = 0; cell < belief.cells(); ++cell) {
    for (int slope = -belief.steepest(); slope <= belief.steepest(); ++slope) {
      belief.at(cell, slope) *= likelihood[static_cast<std::size_t>(cell)];
    }
  }
  belief.normalise();
}

/// One station on: the slope may change, then the place moves by it.
Belief ahead(const Belief& now, const BendPrior& prior) {
  Belief next(now.cells(), now.steepest());
  for (int cell = 0; cell < now.cells(); ++cell) {
    for (int slope = -now.steepest(); slope <= now.steepest(); ++slope) {
      const double value = now.at(cell, slope);
      if (value < 1e-12) continue;
      for (int change = -1; change <= 1; ++change) {
        const int turned = slope + change;
        if (!next.holds(cell + turned, turned)) continue;
        next.at(cell + turned, turned) += value * prior.of(change);
      }
    }
  }
  return next;
}

/// The same backwards: how well each state foretells what comes after.
Belief back(const Belief& next, const BendPrior& prior) {
  Belief now(next.cells(), next.steepest());
  for (int cell = 0; cell < now.cells(); ++cell) {
    for (int slope = -now.steepest(); slope <= now.steepest(); ++slope) {
      double sum = 0.0;
      for (int change = -1; change <= 1; ++change) {
        const int turned = slope + change;
        if (!next.holds(cell + turned, turned)) continue;
        sum += next.at(cell + turned, turned) * prior.of(change);
      }
      now.at(cell, slope) = sum;
    }
  }
  return now;
}

Place place_of(const Belief& before, const Belief& after) {
  double sum = 0.0, mean = 0.0, squares = 0.0;
  for (int cell = 0; cell < before.cells(); ++cell) {
    double weight = 0.0;
    for (int slope = -before.steepest(); slope <= before.steepest(); ++slope)
      weight += before.at(cell, slope) * after.at(cell, slope);
    sum += weight, mean += weight * cell, squares += weight * cell * cell;
  }
  if (sum <= 0.0) return {0.5 * before.cells(), static_cast<double>(before.cells())};
  mean /= sum;
  return {mean, std::sqrt(std::max(0.0, squares / sum - mean * mean))};
}

}  // namespace

std::vector<Place> places_along(const cv::Mat& gain, const BendPrior& prior) {
  const int stations = gain.cols;
  std::vector<Place> places(static_cast<std::size_t>(stations));
  if (stations == 0 || gain.rows == 0) return places;
  std::vector<std::vector<double>> likelihood;
  for (int i = 0; i < stations; ++i) likelihood.push_back(likelihoods(gain, i));
  std::vector<Belief> before;
  for (int i = 0; i < stations; ++i) {
    Belief belief(gain.rows, prior.steepest);
    if (i == 0) {
      belief.fill(1.0);
    } else {
      belief = ahead(before.back(), prior);
    }
    weigh(belief, likelihood[static_cast<std::size_t>(i)]);
    before.push_back(std::move(belief));
  }
  Belief after(gain.rows, prior.steepest);
  after.fill(1.0);
  for (int i = stations - 1; i >= 0; --i) {
    places[static_cast<std::size_t>(i)] = place_of(before[static_cast<std::size_t>(i)], after);
    weigh(after, likelihood[static_cast<std::size_t>(i)]);
    after = back(after, prior);
  }
  return places;
}

std::vector<double> smoothed(const std::vector<double>& at, const std::vector<double>& values,
                             const std::vector<double>& weights, double reach) {
  std::vector<double> smooth(values);
  for (std::size_t i = 0; i < at.size(); ++i) {
    Eigen::Matrix3d normal = Eigen::Matrix3d::Identity() * 1e-9;
    Eigen::Vector3d right = Eigen::Vector3d::Zero();
    for (std::size_t j = 0; j < at.size(); ++j) {
      const double d = (at[j] - at[i]) / reach;
      if (std::abs(d) >= 1.0) continue;
      const double weight = weights[j] * std::pow(1.0 - d * d, 2);
      const Eigen::Vector3d row(1.0, d, d * d);
      normal += weight * row * row.transpose();
      right += weight * values[j] * row;
    }
    smooth[i] = normal.ldlt().solve(right).x();
  }
  return smooth;
}

}  // namespace evenbevel
