#include <algorithm>

#include "report/edge_picture_parts.hpp"

namespace evenbevel {

void draw_ribbon(Canvas& canvas, const Box& box, Face face, const StripView& view,
                 const BladeLine& line, const GrindPlan& plan, LengthUnit unit) {
  const Clip clip(canvas, box);
  for (const Zone& zone : plan.zones) {
    const double a = view.page({line.s_of_x(zone.from_mm), 0.0}).x;
    const double b = view.page({line.s_of_x(zone.to_mm), 0.0}).x;
    const double left = std::max(std::min(a, b), box.x);
    const double right = std::min(std::max(a, b), box.right());
    if (right <= left) continue;
    draw_ribbon_part(canvas, {left + 1.0, box.y, right - left - 2.0, box.height},
                     face_standing(zone, face, plan.context),
                     sentence(face_remark(zone, face, plan.context), unit));
  }
}

}  // namespace evenbevel
