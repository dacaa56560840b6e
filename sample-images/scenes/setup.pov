// A set-up as the maker sees it: one of the photo scenes from aside, with the phone on its stand.
// Scene_file, Shown_phone() and Stand_foot come from shown.inc; Stand_foot is in the phone's frame:
// origin at the lens, x and y along the screen, z away from what the phone looks at.
#version 3.7;
#include "shown.inc"
#include Scene_file

// A box with its edges rounded by R.
#macro Rounded(Low, High, R)
  #local L = Low + <R, R, R>;
  #local H = High - <R, R, R>;
  union {
    box { <Low.x, L.y, L.z> <High.x, H.y, H.z> }
    box { <L.x, Low.y, L.z> <H.x, High.y, H.z> }
    box { <L.x, L.y, Low.z> <H.x, H.y, High.z> }
    #for (A, 0, 1)
      #for (B, 0, 1)
        #local X = L.x + A * (H.x - L.x);
        #local Y = L.y + A * (H.y - L.y);
        #local Z = L.z + B * (H.z - L.z);
        #local Y2 = L.y + B * (H.y - L.y);
        cylinder { <X, Y2, L.z> <X, Y2, H.z> R }
        cylinder { <L.x, Y, Z> <H.x, Y, Z> R }
        cylinder { <X, L.y, Z> <X, H.y, Z> R }
        sphere { <X, Y2, L.z> R }
        sphere { <X, Y2, H.z> R }
      #end
    #end
  }
#end

#declare Phone_shell = texture {
  pigment { rgb <0.045, 0.052, 0.065> }
  finish { ambient 0.06 diffuse 0.8 specular 0.35 roughness 0.03 reflection 0.06 }
}
#declare Stand_paint = texture {
  pigment { rgb <0.30, 0.30, 0.31> }
  finish { ambient 0.05 diffuse 0.7 specular 0.4 roughness 0.04 reflection 0.10 }
}
#declare Arm_end = <Stand_foot.x, 16, 6>;
union {
  object { Rounded(<-15, -59, 0.6>, <59, 91, 10.6>, 4.5) texture { Phone_shell } }
  cylinder { <0, 0, -1.2> <0, 0, 1.5> 6.5 texture { Stand_paint } }
  cylinder { <0, 0, -1.25> <0, 0, -1.2> 4.2 pigment { rgb 0.01 } finish { specular 0.8 roughness 0.01 reflection 0.1 } }
  object { Rounded(<-10, -54, 10.4>, <54, 86, 10.75>, 0.17)
    pigment { rgb <0.10, 0.16, 0.20> } finish { ambient 0.5 diffuse 0.4 reflection 0.08 } }
  object { Rounded(<50, 2, -1.5>, <66, 30, 13>, 1.4) texture { Stand_paint } }
  cylinder { <62, 16, 6> Arm_end 3.5 texture { Stand_paint } }
  sphere { Arm_end 7 texture { Stand_paint } }
  cylinder { Arm_end Stand_foot 4.5 texture { Stand_paint } }
  Shown_phone()
}
