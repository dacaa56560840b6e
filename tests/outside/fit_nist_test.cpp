#include <array>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "evenbevel/fit.hpp"

namespace evenbevel {
namespace {

// NIST Statistical Reference Datasets (StRD), https://www.itl.nist.gov/div898/strd/. The linear
// ones are read as NIST published them from Debian's package gretl-data: certified values in the
// header, data below.

struct Certified {
  double estimate = 0.0, deviation = 0.0;
};

struct Dataset {
  std::vector<Certified> parameters;  ///< B0, B1, ...
  double residual_deviation = 0.0;
  std::vector<double> x, y;
};

Dataset read_dataset(const std::filesystem::path& path) {
  Dataset dataset;
  std::ifstream file(path);
  bool in_data = false;
  for (std::string line; std::getline(file, line);) {
    std::istringstream words(line);
    std::string first, second;
    words >> first;
    if (in_data) {
      std::istringstream numbers(line);
      double x = 0.0, y = 0.0;
      if (numbers >> y >> x) {
        dataset.x.push_back(x);
        dataset.y.push_back(y);
      }
    } else if (first.size() == 2 && first[0] == 'B' && first[1] >= '0' && first[1] <= '9') {
      Certified certified;
      words >> certified.estimate >> certified.deviation;
      dataset.parameters.push_back(certified);
    } else if (first == "Standard" && words >> second && second == "Deviation") {
      double deviation = 0.0;
      if (words >> deviation) dataset.residual_deviation = deviation;
    } else if (first == "Data:" && words >> second && second == "y") {
      in_data = true;
    }
  }
  return dataset;
}

const std::filesystem::path kFolder = "/usr/share/gretl/data/nist";

/// Digits that agree with the certified value, as NIST counts them.
double digits(double value, double certified) {
  return -std::log10(std::abs(value - certified) / std::abs(certified) + 1e-17);
}

TEST(FitOutside, NistNorrisStraightLine) {
  if (!std::filesystem::exists(kFolder)) GTEST_SKIP() << "needs the package gretl-data";
  const Dataset norris = read_dataset(kFolder / "Norris.dat");
  ASSERT_EQ(norris.x.size(), 36U);
  ASSERT_EQ(norris.parameters.size(), 2U);
  std::vector<YorkPoint> points;
  for (std::size_t i = 0; i < norris.x.size(); ++i) {
    points.push_back({.x = norris.x[i], .y = norris.y[i], .u_x = 0.0, .u_y = 1.0});
  }
  const YorkLine line = fit_line_york(points);
  const double scatter = std::sqrt(line.chi2 / line.dof);
  EXPECT_GE(digits(line.intercept, norris.parameters[0].estimate), 10.0);
  EXPECT_GE(digits(line.slope, norris.parameters[1].estimate), 10.0);
  EXPECT_GE(digits(scatter, norris.residual_deviation), 10.0);
  EXPECT_GE(digits(scatter * std::sqrt(line.covariance(0, 0)), norris.parameters[0].deviation),
            10.0);
  EXPECT_GE(digits(scatter * std::sqrt(line.covariance(1, 1)), norris.parameters[1].deviation),
            10.0);
}

TEST(FitOutside, NistPontiusParabola) {
  if (!std::filesystem::exists(kFolder)) GTEST_SKIP() << "needs the package gretl-data";
  const Dataset pontius = read_dataset(kFolder / "Pontius.dat");
  ASSERT_EQ(pontius.x.size(), 40U);
  ASSERT_EQ(pontius.parameters.size(), 3U);
  const auto count = static_cast<int>(pontius.x.size());
  const LeastSquaresFit fit = least_squares(
      [&](const Eigen::VectorXd& b, Eigen::VectorXd& residuals, Eigen::MatrixXd* jacobian) {
        for (int i = 0; i < count; ++i) {
          const double x = pontius.x[static_cast<std::size_t>(i)];
          residuals(i) = b(0) + b(1) * x + b(2) * x * x - pontius.y[static_cast<std::size_t>(i)];
          if (jacobian != nullptr) jacobian->row(i) << 1.0, x, x * x;
        }
      },
      Eigen::Vector3d::Zero(), count);
  EXPECT_TRUE(fit.converged);
  for (int i = 0; i < 3; ++i) {  // x runs to 3e6, so that some digits go into the squares
    const Certified& certified = pontius.parameters[static_cast<std::size_t>(i)];
    EXPECT_GE(digits(fit.parameters(i), certified.estimate), 9.0) << "B" << i;
    EXPECT_GE(digits(std::sqrt(fit.covariance(i, i)), certified.deviation), 9.0) << "B" << i;
  }
  EXPECT_GE(digits(fit.sigma, pontius.residual_deviation), 9.0);
}

LeastSquaresFit rising_exponential(const std::vector<double>& x, const std::vector<double>& y,
                                   const Eigen::Vector2d& start,
                                   const LeastSquaresOptions& options = {}) {
  return least_squares(
      [&](const Eigen::VectorXd& b, Eigen::VectorXd& residuals, Eigen::MatrixXd* jacobian) {
        for (std::size_t i = 0; i < x.size(); ++i) {
          const auto row = static_cast<Eigen::Index>(i);
          const double decay = std::exp(-b(1) * x[i]);
          residuals(row) = b(0) * (1.0 - decay) - y[i];
          if (jacobian != nullptr) jacobian->row(row) << 1.0 - decay, b(0) * x[i] * decay;
        }
      },
      start, static_cast<int>(x.size()), options);
}

// StRD Misra1a (D. Misra, NIST, 1978), from both of its starts. Certified to 11 digits; the sum of
// squares here is flat to half of a double's digits, hence 7.
TEST(FitOutside, NistMisra1a) {
  const std::vector<double> x{77.6,  114.9, 141.1, 190.8, 239.9, 289.0, 332.8,
                              378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0};
  const std::vector<double> y{10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02,
                              44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78};
  for (const Eigen::Vector2d& start :
       {Eigen::Vector2d(500.0, 1e-4), Eigen::Vector2d(250.0, 5e-4)}) {
    const LeastSquaresFit fit = rising_exponential(x, y, start);
    EXPECT_TRUE(fit.converged);
    EXPECT_GE(digits(fit.parameters(0), 238.94212918), 7.0);
    EXPECT_GE(digits(fit.parameters(1), 5.5015643181e-4), 7.0);
    EXPECT_GE(digits(std::sqrt(fit.covariance(0, 0)), 2.7070075241), 7.0);
    EXPECT_GE(digits(std::sqrt(fit.covariance(1, 1)), 7.2668688436e-6), 7.0);
    EXPECT_GE(digits(fit.sigma, 0.10187876330), 7.0);
  }
}

// StRD BoxBOD (G. E. P. Box, W. G. Hunter and J. S. Hunter, Statistics for Experimenters, 1978,
// 483-487), higher level of difficulty; from the harder start (1, 1) too.
TEST(FitOutside, NistBoxBod) {
  const std::vector<double> x{1, 2, 3, 5, 7, 10}, y{109, 149, 149, 191, 213, 224};
  for (const Eigen::Vector2d& start : {Eigen::Vector2d(1.0, 1.0), Eigen::Vector2d(100.0, 0.75)}) {
    const LeastSquaresFit fit = rising_exponential(x, y, start, {.damping = 100.0});
    EXPECT_TRUE(fit.converged);
    EXPECT_GE(digits(fit.parameters(0), 213.80940889), 7.0);
    EXPECT_GE(digits(fit.parameters(1), 0.54723748542), 7.0);
    EXPECT_GE(digits(std::sqrt(fit.covariance(0, 0)), 12.354515176), 7.0);
    EXPECT_GE(digits(std::sqrt(fit.covariance(1, 1)), 0.10455993237), 7.0);
    EXPECT_GE(digits(fit.sum_squares, 1168.0088766), 9.0);
  }
}

}  // namespace
}  // namespace evenbevel
