#pragma once

#include <functional>
#include <string>

#include "pen.hpp"

namespace evenbevel {

/// One PDF page to exact size; the same page is the same bytes, whenever it is drawn.
std::string pdf_page(const Eigen::Vector2d& size_mm, const std::string& title,
                     const std::function<void(Pen&)>& draw);

}  // namespace evenbevel
