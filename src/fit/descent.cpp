#include "descent.hpp"

#include <algorithm>

namespace evenbevel {

Descended descend(const Damping& rules, const std::function<void(int round)>& linearise,
                  const std::function<Tried(double damping)>& attempt) {
  double damping = rules.start;
  int steps = 0;
  for (int round = 0; round < rules.rounds; ++round) {
    linearise(round);
    bool taken = false;
    for (int tried = 0; tried < rules.attempts && !taken; ++tried) {
      if (steps++ >= rules.steps || damping >= rules.most) return Descended::stuck;
      switch (attempt(damping)) {
        case Tried::failed:
          return Descended::failed;
        case Tried::settled:
          return Descended::settled;
        case Tried::left:
          damping *= rules.stiffened;
          break;
        case Tried::taken:
          damping = std::max(rules.eased * damping, rules.least);
          taken = true;
          break;
      }
    }
    if (!taken) return Descended::stuck;
  }
  return Descended::unfinished;
}

}  // namespace evenbevel
