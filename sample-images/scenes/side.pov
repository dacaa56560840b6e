// The blade lying on the side card, camera above.
// World = card frame, mm: origin at the grid's centre, x right, y up the page, z toward the reader.
// frame.inc, blade.inc and sheet.inc are written by make_samples.py for each photo. For the whole
// frame the paper stays blank (Plain_card): the print is laid on afterwards, at its full sharpness.
#version 3.7;
#include "functions.inc"
#include "frame.inc"
#include "materials.inc"
global_settings { assumed_gamma 1.0 max_trace_level 4 noise_generator 3 }
camera { perspective location Cam_at right Cam_right up Cam_up direction Cam_direction }

// Room and windows, seen only as reflections.
sky_sphere {
  pigment {
    function { min(1, Sky(x, y, z)) }
    color_map { [0 rgb 0] [1 rgb Sky_full * Sky_tint] }
  }
}
light_source {
  Key_at rgb Key_power * Key_tint
  area_light Key_wide * x, Key_wide * y, 5, 5 adaptive 0 circular orient
}
light_source { Fill_at rgb Fill_power shadowless }

// Flats with the lengthwise texture of the bar, bevels with scratches straight across.
#declare Smudge = texture {
  pigment {
    bozo turbulence 0.5 scale <13, 9, 9> translate Smudge_shift
    color_map { [0.60 rgbt <0.5, 0.5, 0.5, 1>] [0.85 rgbt <0.16, 0.13, 0.09, 1 - Smudge_depth>] }
  }
  finish { ambient 0.02 diffuse 0.6 }
}
#declare Flat_steel = Scratched_steel(Flat_light, Flat_mirror, Flat_slope, <11, 1, 0.075>) texture { Smudge }
#declare Bevel_steel = Scratched_steel(Bevel_light, Bevel_mirror, Bevel_slope, <Bevel_grit, 6, 6>) texture { Smudge }
#declare Edge_steel = Scratched_steel(0.40, 0.40, 0.30, <0.06, 5, 5>)
#declare Spine_steel = Scratched_steel(0.30, 0.40, 0.30, <9, 1, 0.1>)
#declare End_steel = Scratched_steel(0.25, 0.25, 0.35, <0.1, 5, 0.1>)
#include "blade.inc"

#declare Print = texture {
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
#include "sheet.inc"

// Dust and crumbs of grit on the card.
#local Dice = seed(Dust_seed);
#for (I, 1, Dust_count)
  #local At = <(rand(Dice) - 0.5) * 280, (rand(Dice) - 0.5) * 195, 0>;
  #local Size = 0.05 + 0.18 * pow(rand(Dice), 3);
  #if (At.x > Dust_from)
    sphere { At Size pigment { rgb 0.04 + 0.25 * pow(rand(Dice), 4) } finish { diffuse 0.8 } }
  #end
#end
Specks()

// The phone that takes the picture, as the steel mirrors it.
box { <-14, -58, 1.5> <58, 90, 10> pigment { rgb 0.012 } finish { ambient 0 diffuse 0.6 } no_shadow Phone_to_card() }

// The bench and what lies about on it.
plane { z, -Card_thick texture { Bench_wood rotate z * Bench_turn translate Bench_shift } }
union {
  cylinder { <-75, 0, 0> <85, 0, 0> 3.6 texture { pigment { rgb <0.08, 0.16, 0.06> } finish { ambient 0.1 diffuse 0.8 } } }
  cone { <85, 0, 0> 3.6 <101, 0, 0> 0.6 texture { pigment { rgb <0.45, 0.32, 0.18> } finish { ambient 0.1 diffuse 0.8 } } }
  rotate z * Pencil_turn translate <Pencil_at.x, Pencil_at.y, 3.6 - Card_thick>
}
