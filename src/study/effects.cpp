#include "effects.hpp"

#include <algorithm>
#include <vector>

#include <Eigen/Dense>

#include "evenbevel/error.hpp"

namespace evenbevel::studies {
namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

/// The readings of one part by one person. Readings less their mean: sums of squares about it lose
/// no digits.
struct Cell {
  Index part = 0, person = 0;
  double n = 0.0, sum = 0.0;

  Index level(Effect of) const { return of == Effect::part ? part : person; }
};

/// All levels of part or of person.
struct Levels {
  VectorXd n, sum;
};

/// The readings as a linear model with one 0/1 column for each part, person and cell. Such columns
/// are known by how often they meet, and need not be written down.
struct Model {
  std::vector<Cell> cells = {};
  Levels part = {}, person = {};
  double readings = 0.0, sum_of_squares = 0.0;

  const Levels& levels(Effect of) const { return of == Effect::part ? part : person; }
};

Levels levels_of(const std::vector<Cell>& cells, std::size_t count, Effect of) {
  const auto size = static_cast<Index>(count);
  Levels levels{VectorXd::Zero(size), VectorXd::Zero(size)};
  for (const Cell& cell : cells) {
    levels.n(cell.level(of)) += cell.n;
    levels.sum(cell.level(of)) += cell.sum;
  }
  return levels;
}

double mean_of(const Layout& layout) {
  double sum = 0.0;
  for (const StudyCell& cell : layout.cells) {
    for (const double value : cell.values) sum += value;
  }
  return sum / static_cast<double>(layout.readings);
}

Model model_of(const Layout& layout) {
  Model model{.readings = static_cast<double>(layout.readings)};
  const double mean = mean_of(layout);
  for (const StudyCell& from : layout.cells) {
    if (from.values.empty()) continue;
    Cell cell{.part = static_cast<Index>(from.part),
              .person = static_cast<Index>(from.person),
              .n = static_cast<double>(from.values.size())};
    for (const double value : from.values) {
      cell.sum += value - mean;
      model.sum_of_squares += (value - mean) * (value - mean);
    }
    model.cells.push_back(cell);
  }
  model.part = levels_of(model.cells, layout.parts.size(), Effect::part);
  model.person = levels_of(model.cells, layout.persons.size(), Effect::person);
  return model;
}

/// What some columns span: its dimension, and the squared lengths of what lies in it of the
/// readings and of all columns of part, of person and of cells: tr(Z' P Z).
struct Span {
  double rank = 0.0;
  double readings = 0.0, part = 0.0, person = 0.0, cell = 0.0;

  double& of(Effect effect) { return effect == Effect::part ? part : person; }
};

/// Columns of different levels do not meet.
Span span_of_levels(const Model& model, Effect of) {
  const Levels& levels = model.levels(of);
  Span span{.rank = static_cast<double>(levels.n.size())};
  span.readings = (levels.sum.array().square() / levels.n.array()).sum();
  for (const Cell& cell : model.cells) span.cell += cell.n * cell.n / levels.n(cell.level(of));
  span.part = span.person = span.cell;
  span.of(of) = model.readings;
  return span;
}

Span span_of_cells(const Model& model) {
  Span span{.rank = static_cast<double>(model.cells.size())};
  for (const Cell& cell : model.cells) span.readings += cell.sum * cell.sum / cell.n;
  span.part = span.person = span.cell = model.readings;
  return span;
}

/// Of part and person together: the span of the one with more levels, and what the other's columns,
/// the few, have beside it.
class SpanOfBoth {
 public:
  explicit SpanOfBoth(const Model& model)
      : model_(model),
        many_(model.part.n.size() >= model.person.n.size() ? Effect::part : Effect::person),
        few_(many_ == Effect::part ? Effect::person : Effect::part) {
    by_level_.resize(static_cast<std::size_t>(model.levels(many_).n.size()));
    for (const Cell& cell : model.cells) {
      by_level_[static_cast<std::size_t>(cell.level(many_))].push_back(cell);
    }
  }

  Span operator()() const {
    // What is left of a column within the others' span is round-off, or far larger.
    constexpr double kSameSpan = 1e-9;
    const MatrixXd beside = meetings_beside();
    const Eigen::SelfAdjointEigenSolver<MatrixXd> eigen(beside);
    const double least = kSameSpan * model_.levels(few_).n.maxCoeff();
    const VectorXd& sizes = eigen.eigenvalues();
    const VectorXd inverse =
        (sizes.array() > least).select(sizes.cwiseMax(least).cwiseInverse(), 0.0);
    const MatrixXd G =
        eigen.eigenvectors() * inverse.asDiagonal() * eigen.eigenvectors().transpose();
    Span span = span_of_levels(model_, many_);
    span.rank += static_cast<double>((sizes.array() > least).count());
    const VectorXd readings = readings_beside();
    span.readings += readings.dot(G * readings);
    span.of(few_) += (sizes.array() > least).select(sizes, 0.0).sum();
    span.cell += cells_beside(G);
    return span;
  }

 private:
  /// R'R, where R is the few's columns less their projections on the many's.
  MatrixXd meetings_beside() const {
    MatrixXd beside = model_.levels(few_).n.asDiagonal();
    for (const std::vector<Cell>& cells : by_level_) {
      for (const Cell& a : cells) {
        for (const Cell& b : cells) {
          beside(a.level(few_), b.level(few_)) -= a.n * b.n / n_of(a);
        }
      }
    }
    return beside;
  }

  VectorXd readings_beside() const {
    VectorXd beside = model_.levels(few_).sum;
    for (const Cell& cell : model_.cells) {
      beside(cell.level(few_)) -= cell.n * model_.levels(many_).sum(cell.level(many_)) / n_of(cell);
    }
    return beside;
  }

  double cells_beside(const MatrixXd& G) const {
    double sum = 0.0;
    for (const std::vector<Cell>& cells : by_level_) {
      VectorXd share = VectorXd::Zero(G.rows());
      for (const Cell& cell : cells) share(cell.level(few_)) += cell.n / n_of(cell);
      const VectorXd pulled = G * share;
      const double all = share.dot(pulled);
      for (const Cell& cell : cells) {
        const Index at = cell.level(few_);
        sum += cell.n * cell.n * (G(at, at) - 2.0 * pulled(at) + all);
      }
    }
    return sum;
  }

  double n_of(const Cell& cell) const { return model_.levels(many_).n(cell.level(many_)); }

  const Model& model_;
  Effect many_, few_;
  std::vector<std::vector<Cell>> by_level_;
};

/// What the larger span explains beyond the smaller one.
MeanSquare reduction(Effect effect, const Span& larger, const Span& smaller) {
  MeanSquare square{.effect = effect,
                    .dof = larger.rank - smaller.rank,
                    .sum_of_squares = std::max(larger.readings - smaller.readings, 0.0)};
  if (square.dof <= 0.0) return square;
  square.of_part = (larger.part - smaller.part) / square.dof;
  square.of_person = (larger.person - smaller.person) / square.dof;
  square.of_interaction = (larger.cell - smaller.cell) / square.dof;
  return square;
}

void require_connected(const Layout& layout, const Span& both) {
  const auto needed = static_cast<double>(layout.parts.size() + layout.persons.size() - 1);
  if (both.rank >= needed) return;
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
  const Span parts = span_of_levels(model, Effect::part);
  const Span persons = span_of_levels(model, Effect::person);
  const Span both = SpanOfBoth(model)();
  require_connected(layout, both);
  Effects effects;
  if (layout.parts.size() > 1) {
    effects.squares.push_back(reduction(Effect::part, both, persons));
  }
  if (layout.persons.size() > 1) {
    effects.squares.push_back(reduction(Effect::person, both, parts));
  }
  Span full = both;
  if (with_interaction) {
    full = span_of_cells(model);
    effects.squares.push_back(reduction(Effect::interaction, full, both));
  }
  MeanSquare rest{.effect = Effect::repeatability,
                  .dof = model.readings - full.rank,
                  .sum_of_squares = std::max(model.sum_of_squares - full.readings, 0.0)};
  require_repeats(rest.dof);
  effects.squares.push_back(rest);
  effects.total_dof = model.readings - 1.0;
  effects.total_sum_of_squares = model.sum_of_squares;
  return effects;
}

}  // namespace evenbevel::studies
