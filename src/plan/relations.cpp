#include "plan/relations.hpp"

#include <cmath>

namespace evenbevel {
namespace {

using Q = PlanQuantity;
using N = const PlanNumbers&;

/// y = factor x.
PlanRelation proportion(Q y, double factor, Q x) {
  return {{y, x},
          {{y, [=](N n) { return factor * n[x]; }}, {x, [=](N n) { return n[y] / factor; }}}};
}

/// total = a + factor b.
PlanRelation sum(Q total, Q a, double factor, Q b) {
  return {{total, a, b},
          {{total, [=](N n) { return n[a] + factor * n[b]; }},
           {a, [=](N n) { return n[total] - factor * n[b]; }},
           {b, [=](N n) { return (n[total] - n[a]) / factor; }}}};
}

/// A right triangle of which `across` is `share` of the side that faces the angle.
struct Triangle {
  Q along, across;
  double share;
  Q angle;
};

/// across = share along tan(angle).
PlanRelation tangent(const Triangle& t) {
  return {{t.along, t.across, t.angle},
          {{t.angle, [t](N n) { return std::atan(n[t.across] / (t.share * n[t.along])); }},
           {t.along, [t](N n) { return n[t.across] / (t.share * std::tan(n[t.angle])); }},
           {t.across, [t](N n) { return t.share * n[t.along] * std::tan(n[t.angle]); }}}};
}

/// along = slope cos(angle).
PlanRelation cosine(const Triangle& t, Q slope) {
  return {{t.along, slope, t.angle},
          {{t.angle, [=](N n) { return std::acos(n[t.along] / n[slope]); }},
           {t.along, [=](N n) { return n[slope] * std::cos(n[t.angle]); }},
           {slope, [=](N n) { return n[t.along] / std::cos(n[t.angle]); }}}};
}

/// across = share slope sin(angle).
PlanRelation sine(const Triangle& t, Q slope) {
  return {{t.across, slope, t.angle},
          {{t.angle, [=](N n) { return std::asin(n[t.across] / (t.share * n[slope])); }},
           {slope, [=](N n) { return n[t.across] / (t.share * std::sin(n[t.angle])); }},
           {t.across, [=](N n) { return t.share * n[slope] * std::sin(n[t.angle]); }}}};
}

/// slope^2 = along^2 + (across / share)^2.
PlanRelation pythagoras(const Triangle& t, Q slope) {
  const auto leg = [](double hypotenuse, double other) {
    return std::sqrt((hypotenuse - other) * (hypotenuse + other));
  };
  return {{t.along, t.across, slope},
          {{t.along, [=](N n) { return leg(n[slope], n[t.across] / t.share); }},
           {slope, [=](N n) { return std::hypot(n[t.along], n[t.across] / t.share); }},
           {t.across, [=](N n) { return t.share * leg(n[slope], n[t.along]); }}}};
}

constexpr Triangle kBevel{Q::bevel_height, Q::scribe_height, 1.0, Q::bevel_angle};
constexpr Triangle kSharpened{Q::sharpened_height, Q::shoulder_thickness, 2.0, Q::sharpening_angle};
constexpr Triangle kTaper{Q::length, Q::taper, 2.0, Q::taper_angle};

/// shoulder = land + 2 sharpened_height tan(bevel): the shoulder lies on the bevel.
PlanRelation shoulder_above_land() {
  return {
      {Q::shoulder_thickness, Q::land, Q::sharpened_height, Q::bevel_angle},
      {{Q::shoulder_thickness,
        [](N n) {
          return n[Q::land] + 2.0 * n[Q::sharpened_height] * std::tan(n[Q::bevel_angle]);
        }},
       {Q::land,
        [](N n) {
          return n[Q::shoulder_thickness] -
                 2.0 * n[Q::sharpened_height] * std::tan(n[Q::bevel_angle]);
        }},
       {Q::bevel_angle,
        [](N n) {
          return std::atan((n[Q::shoulder_thickness] - n[Q::land]) / 2.0 / n[Q::sharpened_height]);
        }},
       {Q::sharpened_height, [](N n) {
          return (n[Q::shoulder_thickness] - n[Q::land]) / 2.0 / std::tan(n[Q::bevel_angle]);
        }}}};
}

/// stock - shoulder = 2 (bevel_height - sharpened_height) tan(bevel): so does the bevel line.
PlanRelation stock_above_shoulder() {
  return {{Q::stock, Q::shoulder_thickness, Q::bevel_height, Q::sharpened_height, Q::bevel_angle},
          {{Q::stock,
            [](N n) {
              return n[Q::shoulder_thickness] + 2.0 *
                                                    (n[Q::bevel_height] - n[Q::sharpened_height]) *
                                                    std::tan(n[Q::bevel_angle]);
            }},
           {Q::bevel_height,
            [](N n) {
              return n[Q::sharpened_height] +
                     (n[Q::stock] - n[Q::shoulder_thickness]) / 2.0 / std::tan(n[Q::bevel_angle]);
            }},
           {Q::bevel_angle, [](N n) {
              return std::atan((n[Q::stock] - n[Q::shoulder_thickness]) / 2.0 /
                               (n[Q::bevel_height] - n[Q::sharpened_height]));
            }}}};
}

/// land = 2 sharpened_height (tan(sharpening) - tan(bevel)): sharpened to an apex in the middle of
/// the land, no height lost.
PlanRelation apex_by_height() {
  return {
      {Q::sharpened_height, Q::land, Q::sharpening_angle, Q::bevel_angle},
      {{Q::sharpened_height,
        [](N n) {
          return n[Q::land] / 2.0 /
                 (std::tan(n[Q::sharpening_angle]) - std::tan(n[Q::bevel_angle]));
        }},
       {Q::land,
        [](N n) {
          return 2.0 * n[Q::sharpened_height] *
                 (std::tan(n[Q::sharpening_angle]) - std::tan(n[Q::bevel_angle]));
        }},
       {Q::sharpening_angle,
        [](N n) {
          return std::atan(std::tan(n[Q::bevel_angle]) + n[Q::land] / 2.0 / n[Q::sharpened_height]);
        }},
       {Q::bevel_angle, [](N n) {
          return std::atan(std::tan(n[Q::sharpening_angle]) -
                           n[Q::land] / 2.0 / n[Q::sharpened_height]);
        }}}};
}

/// The same by the width: land cos(bevel) = 2 sharpened_width sin(sharpening - bevel).
PlanRelation apex_by_width() {
  return {{Q::sharpened_width, Q::land, Q::sharpening_angle, Q::bevel_angle},
          {{Q::sharpening_angle,
            [](N n) {
              return n[Q::bevel_angle] + std::asin(n[Q::land] * std::cos(n[Q::bevel_angle]) / 2.0 /
                                                   n[Q::sharpened_width]);
            }},
           {Q::sharpened_width, [](N n) {
              return n[Q::land] * std::cos(n[Q::bevel_angle]) / 2.0 /
                     std::sin(n[Q::sharpening_angle] - n[Q::bevel_angle]);
            }}}};
}

/// The same by the shoulder: land tan(sharpening) = shoulder (tan(sharpening) - tan(bevel)).
PlanRelation apex_by_shoulder() {
  return {{Q::shoulder_thickness, Q::land, Q::sharpening_angle, Q::bevel_angle},
          {{Q::sharpening_angle, [](N n) {
              return std::atan(std::tan(n[Q::bevel_angle]) /
                               (1.0 - n[Q::land] / n[Q::shoulder_thickness]));
            }}}};
}

}  // namespace

const std::vector<PlanRelation>& plan_relations() {
  static const std::vector<PlanRelation> all{
      sum(Q::stock, Q::land, 2.0, Q::scribe_height),
      proportion(Q::drill, 2.0, Q::scribe_height),
      proportion(Q::bevel_included, 2.0, Q::bevel_angle),
      proportion(Q::sharpening_included, 2.0, Q::sharpening_angle),
      sum(Q::blade_height, Q::bevel_height, 1.0, Q::flat_height),
      tangent(kBevel),
      cosine(kBevel, Q::bevel_face),
      sine(kBevel, Q::bevel_face),
      pythagoras(kBevel, Q::bevel_face),
      apex_by_height(),
      tangent(kSharpened),
      cosine(kSharpened, Q::sharpened_width),
      sine(kSharpened, Q::sharpened_width),
      pythagoras(kSharpened, Q::sharpened_width),
      shoulder_above_land(),
      stock_above_shoulder(),
      apex_by_width(),
      apex_by_shoulder(),
      sum(Q::stock, Q::tip_thickness, 1.0, Q::taper),
      tangent(kTaper),
      {{Q::shim, Q::rest_length, Q::bevel_angle},
       {{Q::shim, [](N n) { return n[Q::rest_length] * std::sin(n[Q::bevel_angle]); }},
        {Q::rest_length, [](N n) { return n[Q::shim] / std::sin(n[Q::bevel_angle]); }},
        {Q::bevel_angle, [](N n) { return std::asin(n[Q::shim] / n[Q::rest_length]); }}}}};
  return all;
}

}  // namespace evenbevel
