// The lens card, glued flat to a board that lies on the bench.
// World = card frame, mm: origin at the grid's centre, x right, y up the page, z toward the reader.
#version 3.7;
#include "frame.inc"
#include "materials.inc"
global_settings { assumed_gamma 1.0 max_trace_level 3 noise_generator 3 }
camera { perspective location Cam_at right Cam_right up Cam_up direction Cam_direction }
light_source { Key_at rgb Key_power * Key_tint }
light_source { Fill_at rgb Fill_power shadowless }
box { <-148.5, -105, -0.2> <148.5, 105, 0>
  texture {
    pigment {
      image_map { png "card.png" gamma 1.0 once }
      scale <Print_wide, Print_high, 1> translate <-Print_wide / 2, -Print_high / 2, 0>
    }
    finish { ambient 0.04 diffuse 0.80 }
  }
}
box { <-163, -118, -12> <158, 116, -0.2>
  texture { pigment { bozo scale <3, 1, 1> color_map { [0 rgb <0.24, 0.16, 0.09>] [1 rgb <0.29, 0.20, 0.12>] } }
    finish { ambient 0.1 diffuse 0.75 } } }
plane { z, -12 texture { Bench_wood rotate z * Bench_turn translate Bench_shift } }
