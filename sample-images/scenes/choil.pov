// The blade edge up in two jaws, its heel toward the camera, the heel card standing round it.
// World = card frame, mm: origin at the grid's centre, x right, y up the page, z toward the reader.
// frame.inc and blade.inc are written by make_samples.py for each photo. For the whole frame the
// card stays blank (Plain_card): the print is laid on afterwards, at its full sharpness.
#version 3.7;
#include "functions.inc"
#include "frame.inc"
#include "materials.inc"
global_settings { assumed_gamma 1.0 max_trace_level 4 noise_generator 3 }
camera { perspective location Cam_at right Cam_right up Cam_up direction Cam_direction }

sky_sphere {
  pigment {
    function { min(1, Sky(x, y, z)) }
    color_map { [0 rgb 0] [1 rgb Sky_full * Sky_tint] }
  }
}
light_source {
  Key_at rgb Key_power * Key_tint
  area_light Key_wide * x, Key_wide * z, 5, 5 adaptive 0 circular orient
}
light_source { Fill_at rgb Fill_power shadowless }

// The end face is filed square: scratches run slantwise across it.
#declare Filed_steel = Scratched_steel(End_light, End_mirror, 0.25, <0.1, 5, 0.08>)
#declare End_steel = texture { Filed_steel rotate x * 35 }
// Seen at a grazing angle, the faces mirror the white paper behind.
#declare Bevel_steel = Scratched_steel(Face_light, Face_mirror, 0.10, <0.06, 6, 6>)
#declare Flat_steel = Scratched_steel(Face_light, Face_mirror, 0.08, <11, 1, 0.075>)
#declare Edge_steel = Scratched_steel(0.40, 0.40, 0.30, <0.06, 5, 5>)
#declare Spine_steel = Scratched_steel(0.30, 0.40, 0.30, <9, 1, 0.1>)
#include "blade.inc"

// The card, the lane cut out and open at the bottom.
#macro Sheet(From_z, To_z)
  prism { linear_sweep linear_spline From_z, To_z, Card_points Card_outline() matrix <1, 0, 0, 0, 0, 1, 0, 1, 0, 0, 0, 0> }
#end
object {
  Sheet(-0.02, 0)
  texture {
    #if (Plain_card)
      pigment { rgb Paper_white }
    #else
      pigment {
        image_map { png "card.png" gamma 1.0 once }
        scale <Print_wide, Print_high, 1> translate <-Print_wide / 2, -Print_high / 2, 0>
      }
    #end
    finish { ambient 0.04 diffuse 0.80 }
  }
}
object { Sheet(-Card_thick, -0.02) texture { Paper_core } }

// Jaws, closed on the blade above the spine, and the vice they lie in.
#declare Jaw_y = -50;
union {
  box { <Half_T, Jaw_y - 38, -95> <Half_T + 34, Jaw_y, Jaw_front> }
  box { <-Half_T - 34, Jaw_y - 38, -95> <-Half_T, Jaw_y, Jaw_front> }
  texture { Jaw_steel rotate y * 90 }
  translate x * Blade_x
}
box { <-90, Jaw_y - 80, -110> <90, Jaw_y - 38, Jaw_front - 4> texture { Enamel } }

// White paper standing behind.
box { <-160, -130, -0.4> <170, 150, 0>
  pigment { rgb <0.83, 0.83, 0.81> } finish { ambient Behind_light diffuse 0.80 } translate z * -Behind }

plane { y, Jaw_y - 80 texture { Bench_wood rotate x * 90 rotate y * Bench_turn translate Bench_shift } }

// The phone, as the steel mirrors it.
box { <-14, -58, 1.5> <58, 90, 10> pigment { rgb 0.012 } finish { ambient 0 diffuse 0.6 } no_shadow Phone_to_card() }
