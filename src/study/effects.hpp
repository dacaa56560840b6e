#pragma once

#include <optional>
#include <string>
#include <vector>

#include "layout.hpp"

namespace evenbevel::studies {

enum class Effect { part, person, interaction, repeatability };
const char* name(Effect effect);

/// A mean square and what it is expected to be: a sum over effects of coefficient times variance.
struct MeanSquare {
  Effect effect = Effect::repeatability;
  double dof = 0.0, sum_of_squares = 0.0;
  double value() const { return dof > 0.0 ? sum_of_squares / dof : 0.0; }
  /// Coefficients of the variances of part, person, interaction; repeatability's is 1.
  double of_part = 0.0, of_person = 0.0, of_interaction = 0.0;
};

struct Effects {
  std::vector<MeanSquare> squares;  ///< Part, person, interaction, repeatability, as there are.
  double total_dof = 0.0, total_sum_of_squares = 0.0;
};

/// Sums of squares of the random model, each effect adjusted for the other, and their expectations
/// (Henderson's method 3). @param with_interaction  Else it is part of the repeatability.
/// @throws Error  Person and part cannot be told apart; nothing was read twice.
Effects effects_of(const Layout& layout, bool with_interaction);

/// Whether some cell of the two-way table was read twice, so that an interaction can be told from
/// the repeatability.
bool interaction_can_be_told(const Layout& layout);

}  // namespace evenbevel::studies
