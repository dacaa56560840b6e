#pragma once

#include <string>
#include <string_view>

#include "card/pen.hpp"
#include "evenbevel/plan.hpp"

namespace evenbevel {

inline constexpr Ink kPaleGrey{0.93, 0.93, 0.93};
inline constexpr Ink kDarkGrey{0.35, 0.35, 0.35};

enum class TextAlign { left, centre, right };

/// A plan on its page; borrowed, for the time of drawing.
struct PlanDrawing {
  Pen& pen;
  const Plan& plan;
  LengthUnit unit;

  void write(std::string_view text, const Eigen::Vector2d& baseline_mm, const TextStyle& style,
             TextAlign align = TextAlign::left) const;
  /// The largest size, up to the style's, at which the text fits into the width.
  TextStyle fitted(std::string_view text, TextStyle style, double width_mm) const;

  std::string length(double mm) const;         ///< "0.0450 in"
  std::string length_number(double mm) const;  ///< "0.0450"
  std::string other_length(double mm) const;   ///< "1.143 mm"
  std::string unit_name() const;
  static std::string angle(double angle_rad);  ///< "3.27°"
};

/// The blade's cross-section, edge down, with its dimensions.
void draw_section(const PlanDrawing& drawing, const PageBox& area);

/// Drills, thickness behind the edge, rest settings, bevel line; one below the other.
void draw_tables(const PlanDrawing& drawing, const PageBox& area);

/// What draw_taper fills; 0 when there is no taper.
double taper_height(const PlanDrawing& drawing);

/// The blade from above with its stations, and what holds at each.
void draw_taper(const PlanDrawing& drawing, const PageBox& area);

}  // namespace evenbevel
