#pragma once

#include <Eigen/Geometry>

#include "evenbevel/camera.hpp"
#include "imaging.hpp"

namespace evenbevel::test {

/// The lens card through a lens: 13 x 9 cells of 20 mm, black when column + row is even, markers
/// from 0 of the 5x5 dictionary of 1000 in the white ones, on a sheet 297 x 210 mm on a grey table.
/// Drawn without any of the measuring code.
Light lens_card_light(const CameraModel& camera, const Eigen::Isometry3d& T_camera_card);

}  // namespace evenbevel::test
