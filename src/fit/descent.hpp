#pragma once

#include <functional>
#include <limits>

namespace evenbevel {

// The one loop of all damped least-squares fits (Levenberg's damping, with Marquardt's rule for
// how it follows what the steps bring). Each fit brings its own problem: how it is linearised where
// it stands, and how a step is tried.

struct Damping {
  double start = 1e-3;
  double eased = 0.2, stiffened = 6.0;  ///< Factors, after a step that was taken and one that not.
  double least = 0.0, most = std::numeric_limits<double>::infinity();
  int rounds = std::numeric_limits<int>::max();    ///< Linearisations at most,
  int attempts = std::numeric_limits<int>::max();  ///< steps tried from each,
  int steps = std::numeric_limits<int>::max();     ///< steps tried in all.
};

enum class Tried {
  taken,    ///< It is better: the fit stands there now.
  settled,  ///< Taken, and so small that it is the last.
  left,     ///< It is not better: the fit stands where it stood.
  failed    ///< There is no step.
};

enum class Descended { settled, stuck, unfinished, failed };

/// @param linearise  Where the fit stands; told the round, from 0.
/// @param attempt    Tries a step, damped that much.
/// @return  stuck: no step from the last linearisation was better; unfinished: out of rounds.
Descended descend(const Damping& rules, const std::function<void(int round)>& linearise,
                  const std::function<Tried(double damping)>& attempt);

}  // namespace evenbevel
