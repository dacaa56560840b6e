// The bench: a blade held edge up in two square jaws, the edge card dropped over it.
// World = blade frame, mm: x to the tip, y to the left face, z from the edge down into the blade.
// frame.inc and blade.inc are written by make_samples.py for each photo: camera window, card pose,
// lights, and the blade's mesh, which comes from the functions that also give the truth file.
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

#if (Blade_present)
  #if (Finish_top = 1)
    #declare Bare_top = Scratched_steel(0.30, 0.35, 0.30, <0.05, 5, 5>)
    #declare Top_steel = Dyed_steel(Dye_from, Dye_to, texture { Bare_top })
  #else
    #declare Top_steel = Scratched_steel(Top_light, Top_mirror, 0.35, <0.055, 6, 6>)
  #end
  #declare Corner_steel = Scratched_steel(0.50, 0.60, 0.25, <0.30, 4, 4>)
  #declare Facet_steel = Scratched_steel(Facet_light, Facet_mirror, Facet_slope, <Facet_grit, 7, 7>)
  #declare Flat_steel = Scratched_steel(0.26, 0.45, 0.30, <0.09, 3, 14>)
  #declare Groove_steel = Scratched_steel(0.85, 0.35, 0.25, <0.25, 2, 2>)
  #declare End_steel = Scratched_steel(0.22, 0.20, 0.30, <0.1, 5, 0.1>)
  #include "blade.inc"
#end

// Jaws, square-sided, closed on the flats.
#declare Jaw_top = Edge_above_card + Card_thick;
union {
  box { <Jaw_from, Half_T, Jaw_top> <Jaw_to, Half_T + 20, Jaw_top + 40> }
  box { <Jaw_from, -Half_T - 20, Jaw_top> <Jaw_to, -Half_T, Jaw_top + 40> }
  texture { Jaw_steel }
}
union {
  box { <Jaw_from + 8, Half_T + 20, Jaw_top + 6> <Jaw_to - 8, Half_T + 42, Bench_z> }
  box { <Jaw_from + 8, -Half_T - 42, Jaw_top + 6> <Jaw_to - 8, -Half_T - 20, Bench_z> }
  texture { Enamel }
}

// The card: a printed skin on a white core, one slot, open at one end.
#if (Card_present)
  #macro Sheet(From_z, To_z)
    prism { linear_sweep linear_spline From_z, To_z, Card_points Card_outline() matrix <1, 0, 0, 0, 0, 1, 0, 1, 0, 0, 0, 0> }
  #end
  union {
    object {
      Sheet(-0.02, 0)
      texture {
        #if (Plain_card & Laid_on)  // the print is laid on afterwards, at its full sharpness
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
    // Steel dust and a few crumbs of grit.
    #local Dice = seed(Dust_seed);
    #for (I, 1, Dust_count)
      #local At = <(rand(Dice) - 0.5) * 270, (rand(Dice) - 0.5) * 110, 0>;
      #local Size = 0.04 + 0.16 * pow(rand(Dice), 3);
      sphere { At Size pigment { rgb 0.03 + 0.25 * pow(rand(Dice), 4) } finish { diffuse 0.8 } }
    #end
    Card_to_blade()
  }
#end

// Dust on the steel beside the slot and a few specks and lint on the blade itself.
#if (Blade_present)
  Specks()
  #local Dice = seed(Dust_seed + 1);
  #for (I, 1, Speck_count)
    #local X = Blade_from + rand(Dice) * (Blade_to - Blade_from);
    sphere { <X, (Half_T + 0.3 + 3 * rand(Dice)) * (rand(Dice) < 0.5 ? 1 : -1), Jaw_top> 0.03 + 0.1 * pow(rand(Dice), 3)
      pigment { rgb 0.3 } finish { diffuse 0.8 } }
  #end
#end

// The bench and what lies about on it.
plane { z, Bench_z inverse texture { Bench_wood rotate z * Bench_turn translate Bench_shift } }
union {
  cylinder { <-75, 0, 0> <85, 0, 0> 3.6 texture { pigment { rgb <0.50, 0.21, 0.02> } finish { ambient 0.1 diffuse 0.8 } } }
  cone { <85, 0, 0> 3.6 <101, 0, 0> 0.6 texture { pigment { rgb <0.45, 0.32, 0.18> } finish { ambient 0.1 diffuse 0.8 } } }
  rotate z * Pencil_turn translate <Pencil_at.x, Pencil_at.y, Bench_z - 3.6>
}
box { <-150, -12.5, -0.9> <150, 12.5, 0>
  texture { pigment { rgb 0.20 } finish { ambient 0.05 diffuse 0.7 specular 0.3 roughness 0.05 reflection 0.12 } }
  rotate z * Rule_turn translate <Rule_at.x, Rule_at.y, Bench_z> }
