// Worked examples of the Guide to the Expression of Uncertainty in Measurement and of its
// supplement on Monte Carlo, through the law of propagation and the Monte Carlo of this program.

#include <array>
#include <cmath>
#include <vector>

#include <gtest/gtest.h>

#include "evenbevel/monte_carlo.hpp"
#include "evenbevel/uncertainty.hpp"

namespace evenbevel {
namespace {

constexpr int kTrials = 200000;

Model scalar(double (*f)(const Eigen::VectorXd&)) {
  return [f](const Eigen::VectorXd& x) { return Eigen::VectorXd::Constant(1, f(x)); };
}

Measured law(const Model& model, const ModelInputs& inputs, LawOrder order = LawOrder::first) {
  return law_of_propagation(model, inputs, order).front().measured;
}

MonteCarloResult trials(const Model& model, const ModelInputs& inputs, double probability = 0.95) {
  return monte_carlo(model, inputs, {.trials = kTrials, .probability = probability}).front();
}

/// Half of the last printed digit, and three times what chance leaves open.
void expect_printed(double value, double printed, double last_digit, double chance_u) {
  EXPECT_NEAR(value, printed, 0.5 * last_digit + 3.0 * chance_u);
}

/// Of a mean, and roughly of a standard deviation, over the trials.
double chance(const MonteCarloResult& result) {
  return result.u / std::sqrt(static_cast<double>(kTrials));
}

// --- JCGM 100:2008, annex H ---------------------------------------------------------------------

// H.1, end gauge: l = l_S + d - l_S (d_alpha theta + alpha_S d_theta), in nm and 1/K. d in three
// parts: observations, comparator random, comparator systematic.
const Model kEndGauge = scalar([](const Eigen::VectorXd& x) {
  const double d = x(1) + x(2) + x(3);
  return x(0) + d - x(0) * (x(6) * x(5) + x(4) * x(7));
});

ModelInputs end_gauge_inputs() {
  // theta: mean deviation -0.1 K with u 0.2 K, and a cyclic one of +-0.5 K: u 0.41 K together.
  return {{Distribution::normal(50000623.0, 25.0).with_dof(18.0),
           Distribution::normal(215.0, 13.0 / std::sqrt(5.0)).with_dof(24.0),
           Distribution::normal(0.0, 10.0 / 2.5705818).with_dof(5.0),
           Distribution::normal(0.0, 20.0 / 3.0).with_dof(8.0),
           Distribution::rectangular(9.5e-6, 13.5e-6),
           Distribution::normal(-0.1, std::hypot(0.2, 0.5 / std::sqrt(2.0))),
           Distribution::rectangular(-1e-6, 1e-6).with_dof(50.0),
           Distribution::rectangular(-0.05, 0.05).with_dof(2.0)}};
}

TEST(UncertaintyOutside, GumEndGaugeByTheLaw) {
  const Measured length = law(kEndGauge, end_gauge_inputs());
  EXPECT_NEAR(length.value, 50000838.0, 0.5);
  EXPECT_NEAR(length.u, 32.0, 0.5);
  EXPECT_NEAR(length.u, 31.66, 0.1);  // unrounded, from the printed inputs
  EXPECT_EQ(std::floor(length.dof), 16.0);
  EXPECT_NEAR(coverage_factor(length.dof, 0.99) * length.u, 92.5, 0.3);  // printed 93 = 2.92 x 32
}

// H.1.7: the terms of second order, 11.7 and 1.7 nm, make it 34 nm.
TEST(UncertaintyOutside, GumEndGaugeToTheSecondOrder) {
  const Measured length = law(kEndGauge, end_gauge_inputs(), LawOrder::second);
  EXPECT_NEAR(length.u, 34.0, 0.5);
  EXPECT_NEAR(length.u, 33.84, 0.1);  // unrounded
}

// H.2: voltage, current and phase observed together; resistance, reactance, impedance.
struct Circuit {
  std::array<double, 5> volts{5.007, 4.994, 5.005, 4.990, 4.999};
  std::array<double, 5> amperes{19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3};
  std::array<double, 5> phase_rad{1.0456, 1.0438, 1.0468, 1.0428, 1.0433};
};

Eigen::Matrix3d covariance_of_means(const Circuit& circuit, Eigen::Vector3d& means) {
  Eigen::Matrix<double, 5, 3> data;
  for (int i = 0; i < 5; ++i) {
    const auto k = static_cast<std::size_t>(i);
    data.row(i) << circuit.volts[k], circuit.amperes[k], circuit.phase_rad[k];
  }
  means = data.colwise().mean();
  const Eigen::Matrix<double, 5, 3> apart = data.rowwise() - means.transpose();
  return apart.transpose() * apart / (5.0 * 4.0);
}

struct CircuitInputs {
  ModelInputs inputs;
  Eigen::Matrix3d covariance;
};

CircuitInputs circuit_inputs() {
  Eigen::Vector3d means;
  const Eigen::Matrix3d covariance = covariance_of_means(Circuit{}, means);
  const Eigen::Vector3d u = covariance.diagonal().cwiseSqrt();
  CircuitInputs out{.inputs = {}, .covariance = covariance};
  for (int i = 0; i < 3; ++i) {
    out.inputs.distributions.push_back(Distribution::normal(means(i), u(i)));
  }
  out.inputs.correlation =
      u.cwiseInverse().asDiagonal() * covariance * u.cwiseInverse().asDiagonal();
  return out;
}

const Model kCircuit = [](const Eigen::VectorXd& x) {
  const double Z = x(0) / x(1);
  return Eigen::Vector3d(Z * std::cos(x(2)), Z * std::sin(x(2)), Z);
};

TEST(UncertaintyOutside, GumCorrelatedInputsAsPrinted) {
  const CircuitInputs circuit = circuit_inputs();
  EXPECT_NEAR(circuit.inputs.correlation(0, 1), -0.36, 0.005);
  EXPECT_NEAR(circuit.inputs.correlation(0, 2), 0.86, 0.005);
  EXPECT_NEAR(circuit.inputs.correlation(1, 2), -0.65, 0.005);
  const std::vector<LawResult> results = law_of_propagation(kCircuit, circuit.inputs);
  EXPECT_NEAR(results[0].measured.value, 127.732, 0.0005);
  EXPECT_NEAR(results[1].measured.value, 219.847, 0.0006);  // unrounded 219.8465
  EXPECT_NEAR(results[2].measured.value, 254.260, 0.0005);
  EXPECT_NEAR(results[0].measured.u, 0.071, 0.0005);
  EXPECT_NEAR(results[1].measured.u, 0.295, 0.001);  // from rounded correlations; unrounded 0.2956
  EXPECT_NEAR(results[2].measured.u, 0.236, 0.0005);
}

// Table H.4 (from memory): the results' own correlations, -0.588, -0.485, 0.993.
TEST(UncertaintyOutside, GumCorrelatedResults) {
  const CircuitInputs circuit = circuit_inputs();
  const std::vector<LawResult> results = law_of_propagation(kCircuit, circuit.inputs);
  const auto correlation = [&](std::size_t a, std::size_t b) {
    return results[a].sensitivities.dot(circuit.covariance * results[b].sensitivities) /
           (results[a].measured.u * results[b].measured.u);
  };
  EXPECT_NEAR(correlation(0, 1), -0.588, 0.0005);
  EXPECT_NEAR(correlation(0, 2), -0.485, 0.0005);
  EXPECT_NEAR(correlation(1, 2), 0.993, 0.0005);
}

// Without the correlations R would look far worse and X better than they are.
TEST(UncertaintyOutside, GumCorrelationsAreNotLeftOut) {
  ModelInputs inputs = circuit_inputs().inputs;
  inputs.correlation.resize(0, 0);
  const std::vector<LawResult> results = law_of_propagation(kCircuit, inputs);
  EXPECT_NEAR(results[0].measured.u, 0.1945, 0.0001);
  EXPECT_NEAR(results[1].measured.u, 0.2009, 0.0001);
  EXPECT_NEAR(results[2].measured.u, 0.2041, 0.0001);
}

TEST(UncertaintyOutside, GumCorrelatedInputsByMonteCarlo) {
  const CircuitInputs circuit = circuit_inputs();
  const std::vector<MonteCarloResult> results =
      monte_carlo(kCircuit, circuit.inputs, {.trials = kTrials});
  // A standard deviation scatters by u / sqrt(2 N) = 0.16 %.
  EXPECT_NEAR(results[0].u, 0.0711, 0.0711 * 0.005);
  EXPECT_NEAR(results[1].u, 0.2956, 0.2956 * 0.005);
  EXPECT_NEAR(results[2].u, 0.2363, 0.2363 * 0.005);
}

// H.3 (from memory): a thermometer's correction, y1 + y2 (t - 20), at 30 degC; intercept and slope
// are correlated by -0.930.
TEST(UncertaintyOutside, GumThermometerCorrection) {
  ModelInputs inputs{{Distribution::normal(-0.1712, 0.0029).with_dof(9.0),
                      Distribution::normal(0.00218, 0.00067).with_dof(9.0)}};
  inputs.correlation.resize(2, 2);
  inputs.correlation << 1.0, -0.930, -0.930, 1.0;
  const Measured correction =
      law(scalar([](const Eigen::VectorXd& x) { return x(0) + 10.0 * x(1); }), inputs);
  EXPECT_NEAR(correction.value, -0.1494, 0.00005);
  EXPECT_NEAR(correction.u, 0.0041, 0.00005 + 0.00005);  // inputs of two digits
}

// --- JCGM 101:2008, clause 9 --------------------------------------------------------------------

const Model kSum4 = scalar([](const Eigen::VectorXd& x) { return x.sum(); });

// 9.2.2: four standard normals.
TEST(UncertaintyOutside, SupplementFourNormals) {
  const ModelInputs inputs{std::vector<Distribution>(4, Distribution::normal(0.0, 1.0))};
  const Measured by_law = law(kSum4, inputs);
  EXPECT_NEAR(by_law.u, 2.0, 1e-9);
  EXPECT_NEAR(U95(by_law), 3.92, 0.005);
  const MonteCarloResult result = trials(kSum4, inputs);
  expect_printed(result.u, 2.00, 0.01, chance(result));
  expect_printed(result.symmetric.low, -3.92, 0.01, result.symmetric_u.low);
  expect_printed(result.symmetric.high, 3.92, 0.01, result.symmetric_u.high);
  EXPECT_EQ(compare(by_law, result).check, LawCheck::agrees);
}

// 9.2.3: four rectangular ones of the same u. The sum's distribution is known (Irwin and Hall):
// 2 sqrt 3 (2 - 0.6^(1/4)) = 3.8794; the law says 3.92.
TEST(UncertaintyOutside, SupplementFourRectangles) {
  const double half = std::sqrt(3.0);
  const ModelInputs inputs{std::vector<Distribution>(4, Distribution::rectangular(-half, half))};
  EXPECT_NEAR(U95(law(kSum4, inputs)), 3.92, 0.005);
  const MonteCarloResult result = trials(kSum4, inputs);
  expect_printed(result.u, 2.00, 0.01, chance(result));
  expect_printed(result.symmetric.high, 3.88, 0.01, result.symmetric_u.high);
  const double exact = 2.0 * half * (2.0 - std::pow(0.6, 0.25));
  EXPECT_NEAR(result.symmetric.high, exact, 3.0 * result.symmetric_u.high);
  EXPECT_NEAR(result.symmetric.low, -exact, 3.0 * result.symmetric_u.low);
}

// 9.2.4 (from memory): one of them ten times as wide. The law's +-19.9 is not Monte Carlo's +-17.0.
TEST(UncertaintyOutside, SupplementOneWideRectangle) {
  const double half = std::sqrt(3.0);
  ModelInputs inputs{std::vector<Distribution>(4, Distribution::rectangular(-half, half))};
  inputs.distributions[3] = Distribution::rectangular(-10.0 * half, 10.0 * half);
  const Measured by_law = law(kSum4, inputs);
  EXPECT_NEAR(by_law.u, 10.1, 0.05);
  EXPECT_NEAR(U95(by_law), 19.9, 0.05);
  const MonteCarloResult result = trials(kSum4, inputs);
  expect_printed(result.u, 10.1, 0.1, chance(result));
  expect_printed(result.symmetric.high, 17.0, 0.1, result.symmetric_u.high);
  EXPECT_EQ(compare(by_law, result, 2).check, LawCheck::differs);
}

// 9.3, mass calibration (inputs and results from memory, and recomputed with an independent
// program): (m_R + dm_R)(1 + (rho_a - 1.2)(1 / rho_W - 1 / rho_R)) - 100 000 mg. The sensitivity to
// the densities vanishes at the estimate, so the law to the first order misses their part.
const Model kMass = scalar([](const Eigen::VectorXd& x) {
  return (x(0) + x(1)) * (1.0 + (x(2) - 1.2) * (1.0 / x(3) - 1.0 / x(4))) - 100000.0;
});

ModelInputs mass_inputs() {
  return {{Distribution::normal(100000.000, 0.050), Distribution::normal(1.234, 0.020),
           Distribution::rectangular(1.10, 1.30), Distribution::rectangular(7000.0, 9000.0),
           Distribution::rectangular(7950.0, 8050.0)}};
}

TEST(UncertaintyOutside, SupplementMassByTheLaw) {
  const Measured first = law(kMass, mass_inputs());
  EXPECT_NEAR(first.value, 1.2340, 0.00005);
  EXPECT_NEAR(first.u, 0.0539, 0.00005);
  EXPECT_NEAR(first.value - U95(first), 1.1285, 0.0001);
  EXPECT_NEAR(first.value + U95(first), 1.3395, 0.0001);
  const Measured second = law(kMass, mass_inputs(), LawOrder::second);
  EXPECT_NEAR(second.u, 0.0750, 0.00005);
  EXPECT_NEAR(second.value - U95(second), 1.0870, 0.0001);
  EXPECT_NEAR(second.value + U95(second), 1.3810, 0.0001);
}

TEST(UncertaintyOutside, SupplementMassByMonteCarlo) {
  const MonteCarloResult result = trials(kMass, mass_inputs());
  expect_printed(result.mean, 1.2340, 0.0001, chance(result));
  expect_printed(result.u, 0.0754, 0.0001, chance(result));
  // The shortest interval's ends wander along the flat of its length: 0.001 over 200,000 trials.
  EXPECT_NEAR(result.shortest.low, 1.0834, 0.003);
  EXPECT_NEAR(result.shortest.high, 1.3825, 0.003);
  EXPECT_NEAR(result.shortest.high - result.shortest.low, 0.2991, 0.002);
  EXPECT_EQ(compare(law(kMass, mass_inputs()), result, 2).check, LawCheck::differs);
}

// 9.4, comparison loss: X1^2 + X2^2, u = 0.005 each. In units of 1e-6.
const Model kLoss =
    scalar([](const Eigen::VectorXd& x) { return 1e6 * (x(0) * x(0) + x(1) * x(1)); });

struct LossRow {
  double x1;
  double law_value, law_u;
  double mean, u, low, high;  // Monte Carlo, shortest interval
};

TEST(UncertaintyOutside, SupplementComparisonLoss) {
  for (const LossRow& row :
       {LossRow{0.0, 0, 0, 50, 50, 0, 150}, LossRow{0.010, 100, 100, 150, 112, 0, 366},
        LossRow{0.050, 2500, 500, 2550, 503, 1593, 3549}}) {
    const ModelInputs inputs{
        {Distribution::normal(row.x1, 0.005), Distribution::normal(0.0, 0.005)}};
    const Measured by_law = law(kLoss, inputs);
    EXPECT_NEAR(by_law.value, row.law_value, 1e-6);
    EXPECT_NEAR(by_law.u, row.law_u, 1e-3);
    const MonteCarloResult result = trials(kLoss, inputs);
    expect_printed(result.mean, row.mean, 1.0, chance(result));
    expect_printed(result.u, row.u, 1.0, chance(result));
    // Ends of the shortest interval: 5 of u, seen over repeated runs of as many trials.
    EXPECT_NEAR(result.shortest.low, row.low, 0.5 + 0.03 * row.u) << row.x1;
    EXPECT_NEAR(result.shortest.high, row.high, 0.5 + 0.03 * row.u) << row.x1;
  }
}

// The same with a correlation of 0.9 (from memory): u is 67, 121 and 505.
TEST(UncertaintyOutside, SupplementComparisonLossCorrelated) {
  constexpr std::array<double, 3> kX1{0.0, 0.010, 0.050}, kMean{50, 150, 2550}, kU{67, 121, 505};
  for (std::size_t i = 0; i < kX1.size(); ++i) {
    ModelInputs inputs{{Distribution::normal(kX1[i], 0.005), Distribution::normal(0.0, 0.005)}};
    inputs.correlation.resize(2, 2);
    inputs.correlation << 1.0, 0.9, 0.9, 1.0;
    const MonteCarloResult result = trials(kLoss, inputs);
    expect_printed(result.mean, kMean[i], 1.0, chance(result));
    expect_printed(result.u, kU[i], 1.0, chance(result));
  }
}

// 9.5 (from memory): the end gauge of H.1 with its inputs' own distributions; law 838 and 32 nm,
// Monte Carlo 838 and 36 nm.
TEST(UncertaintyOutside, SupplementEndGauge) {
  const Model gauge = scalar([](const Eigen::VectorXd& x) {
    const double d = x(1) + x(2) + x(3), theta = x(5) + x(6);
    return x(0) + d - x(0) * (x(7) * theta + x(4) * x(8)) - 50000000.0;
  });
  const ModelInputs inputs{
      {Distribution::student(50000623.0, 25.0, 18.0), Distribution::student(215.0, 6.0, 24.0),
       Distribution::student(0.0, 4.0, 5.0), Distribution::student(0.0, 7.0, 8.0),
       Distribution::rectangular(9.5e-6, 13.5e-6), Distribution::normal(-0.1, 0.2),
       Distribution::arcsine(-0.5, 0.5), Distribution::inexact_limits(-1e-6, 1e-6, 0.1e-6),
       Distribution::inexact_limits(-0.05, 0.05, 0.025)}};
  const Measured by_law = law(gauge, inputs);
  EXPECT_NEAR(by_law.value, 838.0, 0.5);
  EXPECT_NEAR(by_law.u, 32.0, 0.5);
  const MonteCarloResult result = trials(gauge, inputs, 0.99);
  expect_printed(result.mean, 838.0, 1.0, chance(result));
  expect_printed(result.u, 36.0, 1.0, chance(result));
}

// --- NPL ----------------------------------------------------------------------------------------

// NPL report DEM-ES-011, 9.2: y = ln x, x rectangular from 0.1 to 1.1.
TEST(UncertaintyOutside, NplLogarithm) {
  const Model log = scalar([](const Eigen::VectorXd& x) { return std::log(x(0)); });
  const ModelInputs inputs{{Distribution::rectangular(0.1, 1.1)}};
  const Measured by_law = law(log, inputs);
  EXPECT_NEAR(by_law.value, -0.511, 0.0005);
  EXPECT_NEAR(by_law.u, 0.481, 0.0005);
  const MonteCarloResult result = trials(log, inputs);
  expect_printed(result.mean, -0.665, 0.001, chance(result));
  expect_printed(result.u, 0.606, 0.001, chance(result));
  // The density rises up to ln 1.1 and ends there: that end of the shortest interval is sharp.
  EXPECT_NEAR(result.shortest.low, -1.895, 0.015);
  EXPECT_NEAR(result.shortest.high, 0.095, 0.001);
}

}  // namespace
}  // namespace evenbevel
