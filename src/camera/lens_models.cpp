#include "camera/lens_models.hpp"

#include <algorithm>
#include <array>
#include <cassert>

namespace evenbevel {

std::span<const LensModel* const> lens_models() {
  static const std::array all = {&pinhole_model(), &fisheye_model()};
  return all;
}

const LensModel* find_lens_model(std::string_view name) {
  const auto models = lens_models();
  const auto found = std::ranges::find(models, name, &LensModel::name);
  return found == models.end() ? nullptr : *found;
}

Lens::Lens(const LensModel& model)
    : model_(&model),
      values_(LensCoefficients::Zero(static_cast<Eigen::Index>(model.coefficients().size()))) {}

Lens::Lens(std::string_view model, std::initializer_list<double> values)
    : Lens(*find_lens_model(model)) {
  assert(values.size() <= model_->coefficients().size());
  std::ranges::copy(values, values_.begin());
}

}  // namespace evenbevel
