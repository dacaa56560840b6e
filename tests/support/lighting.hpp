#pragma once

#include <vector>

#include <Eigen/Core>

#include "paint.hpp"

namespace evenbevel::test {

// Light as a cause: where the lamps stand, what surrounds the bench, and how steel throws it back.

enum class LightKind { soft, window, bulb, tubes };
const char* name(LightKind kind);

/// A round patch of light: a bulb, a window, or a piece of a tube.
struct Glow {
  Eigen::Vector3d place_mm = {0.0, 0.0, 500.0};  ///< Card frame.
  double radius_mm = 20.0;                       ///< Gaussian sigma of the patch.
  Paint strength = grey_paint(1.0);              ///< What white paper facing it 1 m away sends on.
};

/// Light from everywhere else, as levels that a mirror would show.
struct Surroundings {
  Paint above = grey_paint(0.2);  ///< Ceiling.
  Paint level = grey_paint(0.1);  ///< Walls and clutter at the edge's height.
  double phone = 0.5;             ///< Share of the ceiling that the phone and its owner take away.
};

struct Lighting {
  LightKind kind = LightKind::soft;
  std::vector<Glow> glows;
  Surroundings around;
  double exposure = 1.0;
};

/// How a surface throws light back: evenly, and in a lobe about the mirror's direction that is
/// narrow along the scratches and wide across them.
struct Sheen {
  double even = 0.35;                 ///< The rest of the light goes into the lobe.
  double along = 0.08, across = 0.3;  ///< Spread of the normals about their mean, rad.
};
struct Finishes {
  Sheen face{.even = 0.4, .along = 0.08, .across = 0.3};
  Sheen facet{.even = 0.3, .along = 0.1, .across = 0.3};
  Sheen corner{.even = 0.3, .along = 0.2, .across = 0.4};
  Sheen flat{.even = 0.4, .along = 0.1, .across = 0.3};
  Sheen line{.even = 0.4, .along = 0.2, .across = 0.4};  ///< Either wall of a groove.
};

/// A spot of a surface. All in one frame, mm; normal and scratch are unit vectors.
struct Spot {
  Eigen::Vector3d place, normal, scratch;
};

/// Lamps, eye and "up" brought into the frame of the spots.
struct LightOnSpot {
  std::vector<Glow> glows;
  Surroundings around;
  Paint below = grey_paint(0.05);  ///< What lies below: jaws, as a mirror would show them.
  Eigen::Vector3d eye, up;
};

/// What a spot sends to the eye, for a reflectance of 1.
///
/// Lobe after G. Ward, "Measuring and modeling anisotropic reflection", SIGGRAPH 1992, eq. 5a; a
/// lamp's size widens it.
Paint sent_to_eye(const Spot& spot, const Sheen& sheen, const LightOnSpot& light);

/// What white paper throws back of one lamp's light, for a strength of 1.
double on_paper(const Glow& glow, const Eigen::Vector3d& place, const Eigen::Vector3d& normal);

/// The same of the surroundings, for a spot that looks up.
Paint paper_from_around(const Surroundings& around);

}  // namespace evenbevel::test
