#include "effects.hpp"

#include <algorithm>

#include <Eigen/Dense>

#include "evenbevel/error.hpp"

namespace evenbevel::studies {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

/// The readings as a linear model: one row each, one 0/1 column for each level.
struct Model {
  VectorXd y;  // Less their mean: sums of squares about it lose no digits.
  MatrixXd mean, part, person, cell;
};

Model model_of(const Layout& layout) {
  const auto n = static_cast<Eigen::Index>(layout.readings);
  const auto columns = [n](std::size_t count) {
    return MatrixXd::Zero(n, static_cast<Eigen::Index>(count));
  };
  Model model{.y = VectorXd(n),
              .mean = MatrixXd::Ones(n, 1),
              .part = columns(layout.parts.size()),
              .person = columns(layout.persons.size()),
              .cell = columns(layout.cells.size())};
  Eigen::Index row = 0;
  for (std::size_t c = 0; c < layout.cells.size(); ++c) {
    for (const double value : layout.cells[c].values) {
      model.y(row) = value;
      model.part(row, static_cast<Eigen::Index>(layout.cells[c].part)) = 1.0;
      model.person(row, static_cast<Eigen::Index>(layout.cells[c].person)) = 1.0;
      model.cell(row, static_cast<Eigen::Index>(c)) = 1.0;
      ++row;
    }
  }
  const double mean = model.y.mean();
  model.y.array() -= mean;
  return model;
}

/// Columns of 0 and 1: what is left of one within the others' span is round-off, or far larger.
constexpr double kSameSpan = 1e-9;

/// An orthonormal basis of what some columns span.
class Span {
 public:
  explicit Span(const MatrixXd& columns) {
    Eigen::ColPivHouseholderQR<MatrixXd> qr(columns.rows(), columns.cols());
    qr.setThreshold(kSameSpan);
    qr.compute(columns);
    const MatrixXd thin = MatrixXd::Identity(columns.rows(), qr.rank());
    basis_ = qr.householderQ() * thin;
  }
  double rank() const { return static_cast<double>(basis_.cols()); }
  /// Squared length of the part of these columns that lies in it, over all of them: tr(Z' P Z).
  double held(const MatrixXd& columns) const {
    return (basis_.transpose() * columns).squaredNorm();
  }

 private:
  MatrixXd basis_;
};

MatrixXd beside(const MatrixXd& left, const MatrixXd& right) {
  MatrixXd both(left.rows(), left.cols() + right.cols());
  both << left, right;
  return both;
}

/// What the larger span explains beyond the smaller one.
MeanSquare reduction(Effect effect, const Span& larger, const Span& smaller, const Model& model) {
  MeanSquare square{.effect = effect,
                    .dof = larger.rank() - smaller.rank(),
                    .sum_of_squares = larger.held(model.y) - smaller.held(model.y)};
  square.sum_of_squares = std::max(square.sum_of_squares, 0.0);
  if (square.dof <= 0.0) return square;
  const auto expected = [&](const MatrixXd& columns) {
    return (larger.held(columns) - smaller.held(columns)) / square.dof;
  };
  square.of_part = expected(model.part);
  square.of_person = expected(model.person);
  square.of_interaction = expected(model.cell);
  return square;
}

void require_connected(const Layout& layout, const Span& both) {
  const auto needed = static_cast<double>(layout.parts.size() + layout.persons.size() - 1);
  if (both.rank() >= needed) return;
  throw Error(
      "the persons fall into groups that share no part: whether persons or parts differ "
      "cannot be told",
      "let every person read at least one part that another has read too, best of all "
      "every part");
}

void require_repeats(double dof) {
  if (dof > 0.0) return;
  throw Error("nothing was read twice, so the repeatability is not known",
              "read at least one part again, clamped anew, and better every part two or three "
              "times");
}

}  // namespace

const char* name(Effect effect) {
  switch (effect) {
    case Effect::part:
      return "part";
    case Effect::person:
      return "person";
    case Effect::interaction:
      return "interaction";
    case Effect::repeatability:
      break;
  }
  return "repeatability";
}

bool interaction_can_be_told(const Layout& layout) {
  if (layout.parts.size() < 2 || layout.persons.size() < 2) return false;
  const auto filled = static_cast<std::size_t>(
      std::count_if(layout.cells.begin(), layout.cells.end(),
                    [](const StudyCell& cell) { return !cell.values.empty(); }));
  return layout.readings > filled && filled > layout.parts.size() + layout.persons.size() - 1;
}

Effects effects_of(const Layout& layout, bool with_interaction) {
  const Model model = model_of(layout);
  const Span mean(model.mean);
  const Span parts(beside(model.mean, model.part));
  const Span persons(beside(model.mean, model.person));
  const Span both(beside(model.part, model.person));
  require_connected(layout, both);
  Effects effects;
  if (layout.parts.size() > 1) {
    effects.squares.push_back(reduction(Effect::part, both, persons, model));
  }
  if (layout.persons.size() > 1) {
    effects.squares.push_back(reduction(Effect::person, both, parts, model));
  }
  Span full = both;
  if (with_interaction) {
    full = Span(model.cell);
    effects.squares.push_back(reduction(Effect::interaction, full, both, model));
  }
  const double total = model.y.squaredNorm();
  MeanSquare rest{.effect = Effect::repeatability,
                  .dof = static_cast<double>(layout.readings) - full.rank(),
                  .sum_of_squares = std::max(total - full.held(model.y), 0.0)};
  require_repeats(rest.dof);
  effects.squares.push_back(rest);
  effects.total_dof = static_cast<double>(layout.readings) - mean.rank();
  effects.total_sum_of_squares = total;
  return effects;
}

}  // namespace evenbevel::studies
