#include "report/side_quantities.hpp"

#include <array>

namespace evenbevel {
namespace {

using R = SideResult;

constexpr std::array kQuantities = {
    SideQuantity{"bevel_height_left", "bevel height, left, mean", &R::bevel_height_left_mm,
                 QuantityKind::length, kAtAGlance},
    SideQuantity{"bevel_height_right", "bevel height, right, mean", &R::bevel_height_right_mm,
                 QuantityKind::length, kAtAGlance},
    SideQuantity{"bevel_height_difference", "bevel difference, mean",
                 &R::bevel_height_difference_mm, QuantityKind::signed_length, kAtAGlance},
    SideQuantity{"bevel_height_difference_worst", "bevel difference, worst",
                 &R::bevel_height_difference_worst_mm, QuantityKind::signed_length, kAtAGlance},
    SideQuantity{"spine_to_bevel_left", "spine to bevel line, left", &R::spine_to_bevel_left_mm},
    SideQuantity{"spine_to_bevel_right", "spine to bevel line, right", &R::spine_to_bevel_right_mm},
    SideQuantity{"bevel_straightness_left", "bevel line straightness, left",
                 &R::bevel_straightness_left_mm},
    SideQuantity{"bevel_straightness_right", "bevel line straightness, right",
                 &R::bevel_straightness_right_mm},
    SideQuantity{"plunge_left", "plunge line, left, at x", &R::plunge_left_mm,
                 QuantityKind::signed_length},
    SideQuantity{"plunge_right", "plunge line, right, at x", &R::plunge_right_mm,
                 QuantityKind::signed_length},
    SideQuantity{"plunge_mismatch", "plunge mismatch, left - right", &R::plunge_mismatch_mm,
                 QuantityKind::signed_length, kAtAGlance},
    SideQuantity{"plunge_angle_left", "plunge line lean, left", &R::plunge_angle_left_rad,
                 QuantityKind::angle, kAtAGlance},
    SideQuantity{"plunge_angle_right", "plunge line lean, right", &R::plunge_angle_right_rad,
                 QuantityKind::angle, kAtAGlance},
    SideQuantity{"plunge_angle_difference", "plunge line lean, left - right",
                 &R::plunge_angle_difference_rad, QuantityKind::angle},
    SideQuantity{"plunge_radius_left", "plunge radius, left", &R::plunge_radius_left_mm},
    SideQuantity{"plunge_radius_right", "plunge radius, right", &R::plunge_radius_right_mm},
    SideQuantity{"plunge_radius_difference", "plunge radius, left - right",
                 &R::plunge_radius_difference_mm, QuantityKind::signed_length},
    SideQuantity{"bevel_angle_left", "bevel angle, left", &R::bevel_angle_left_rad,
                 QuantityKind::angle},
    SideQuantity{"bevel_angle_right", "bevel angle, right", &R::bevel_angle_right_rad,
                 QuantityKind::angle},
    SideQuantity{"included_angle", "included angle", &R::included_angle_rad, QuantityKind::angle,
                 kAtAGlance},
};

constexpr std::array kFaceQuantities = {
    QuantityOf<FaceStation>{"bevel_height", "bevel height", &FaceStation::bevel_height_mm},
    QuantityOf<FaceStation>{"spine_to_bevel", "spine to bevel", &FaceStation::spine_to_bevel_mm},
    QuantityOf<FaceStation>{"blade_height", "blade height", &FaceStation::blade_height_mm},
    QuantityOf<FaceStation>{"bevel_angle", "bevel angle", &FaceStation::bevel_angle_rad,
                            QuantityKind::angle},
};

constexpr std::array kSideStationQuantities = {
    QuantityOf<SideStation>{"bevel_height_difference", "left - right",
                            &SideStation::bevel_height_difference_mm, QuantityKind::signed_length},
    QuantityOf<SideStation>{"included_angle", "included angle", &SideStation::included_angle_rad,
                            QuantityKind::angle},
};

}  // namespace

std::span<const SideQuantity> side_quantities() { return kQuantities; }
std::span<const QuantityOf<FaceStation>> face_quantities() { return kFaceQuantities; }
std::span<const QuantityOf<SideStation>> side_station_quantities() {
  return kSideStationQuantities;
}

}  // namespace evenbevel
