#pragma once

#include <array>
#include <functional>
#include <vector>

#include "evenbevel/plan.hpp"

namespace evenbevel {

/// Values of quantities, known or not; mm, rad.
class PlanNumbers {
 public:
  double operator[](PlanQuantity quantity) const {
    return numbers_[static_cast<std::size_t>(quantity)];
  }
  double& operator[](PlanQuantity quantity) { return numbers_[static_cast<std::size_t>(quantity)]; }

 private:
  std::array<double, kPlanQuantities> numbers_{};
};

/// One equation between a few quantities: all but one of them give that one.
struct PlanRelation {
  /// Not every unknown needs a way: what is left out is reached through another relation.
  struct Way {
    PlanQuantity unknown;
    std::function<double(const PlanNumbers&)> value;  ///< Not finite where there is no answer.
  };
  std::vector<PlanQuantity> quantities;
  std::vector<Way> ways;
};

const std::vector<PlanRelation>& plan_relations();

}  // namespace evenbevel
