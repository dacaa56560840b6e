// A blade in the edge card, for a ray tracer: its ground edge stands beside the middle by a known
// amount. ray_traced_edge.jpg, and ray_traced_edge_test.cpp measures it. Remade (POV-Ray 3.7,
// ImageMagick 6) by
//
//     povray ray_traced_edge.pov +Oray_traced_edge.png +W2400 +H1200 +FN16 +A0.02 +AM2 +R3 -J -D
//     convert ray_traced_edge.png -colorspace RGB -gaussian-blur 0x0.6 -colorspace sRGB \
//       -depth 8 -quality 92 ray_traced_edge.jpg
//
// mm, card frame: x along the lane, y up the page, z toward the reader.
#version 3.7;
global_settings { assumed_gamma 1.0 }

// Blade: tip along +x, so that the left face looks toward -y. Only what the picture shows.
#declare Thickness = 3.6;
#declare Land = 0.45;
#declare Offset = 0.06;         // Of the land's middle, toward the left face.
#declare Edge = 5.0;            // Above the card.
#declare Heel = -74;
#declare Plunge_left = -45.6;   // Where the facets reach their full depth.
#declare Plunge_right = -46.4;
#declare Fillet = 4.0;          // Radius, of the platen's edge.

// Camera: pinhole, 4500 px, picture 2400 x 1200; rows of its rotation from the card frame.
#declare Eye = <5, 4, 300>;
#declare Right = <0.999783511, 0.011888302, -0.017076290>;
#declare Down = <0.012109290, -0.999843508, 0.012896701>;
#declare Forward = <-0.016920298, -0.013100691, -0.999771011>;
camera {
  location Eye
  direction Forward
  right Right * 2400 / 4500
  up -Down * 1200 / 4500
}

// Two softboxes, the one on the left face's side the brighter.
#macro softbox(Side, Brightness)
  light_source {
    <20, Side * 380, 420> color rgb Brightness
    area_light <500, 0, 0>, <0, 140, Side * -150>, 9, 5 adaptive 1
  }
#end
softbox(-1, 0.62)
softbox(+1, 0.48)
#default { finish { ambient rgb 0.08 diffuse 0.9 } }
background { color rgb 0.02 }

// Cell by cell from the top left: black where column + row is even, else a marker of 0.75 cell, five
// by five modules in a rim of one (OpenCV's DICT_5X5_1000, from 200 on; 1 is white).
#declare Modules = array[78] {
  "0110100010111000001011110",
  "1001100100001111000010111",
  "1001100111011000001001101",
  "1110010001011111000011101",
  "0001110100010000011011101",
  "0010101011000001001100001",
  "0011010001000001011000111",
  "0011011111000000011101001",
  "0011111100110101110010111",
  "0101011010100000010011000",
  "0101011100111000001110011",
  "0110011010011000101110000",
  "0111001110100101000101110",
  "0111111100101100111111011",
  "1000101101000111111010010",
  "1010010111000011100101110",
  "1010100110101001111010110",
  "1011010100011001101101110",
  "1011001011011010100110011",
  "1100010011000001111101000",
  "1100101010111001000111100",
  "1101100001101111101000111",
  "1101111110001101100011100",
  "1110010101100110100011111",
  "1110110101000111000110101",
  "1111000001100111100001101",
  "0000010000101001111011101",
  "0000000000100011010001111",
  "0000000010100010111110110",
  "0000010011001000110011100",
  "0000000011010010111000011",
  "0000110000001010000011110",
  "0000100010001011110001100",
  "0000110010000110010110110",
  "0000010110000001111111010",
  "0000000101110001000111100",
  "0000000111000010000101011",
  "0000000111100111011100010",
  "0000100100101001101111110",
  "0000110100010000000110111",
  "0000110100000101000110000",
  "0000110111101101001011111",
  "0000110101100110110111100",
  "0000100111110010011101100",
  "0000001011010000100000101",
  "0000001001100010110010010",
  "0000011011110011101010010",
  "0000011011101111001000110",
  "0000111000111110000100100",
  "0000101010011010110111011",
  "0000101001100001011011011",
  "0000101011111111010100010",
  "0000011111100110011100101",
  "0000101110011010000000010",
  "0000111111010000100011100",
  "0000111101001001100100110",
  "0000111111110111011110110",
  "0001000010011110011000001",
  "0001000001010001111011010",
  "0001010001111010110111101",
  "0001110010000101001111101",
  "0001110000100011011010000",
  "0001100011000111001101000",
  "0001010111111011100000101",
  "0001000101001110100100111",
  "0001100110100000111010101",
  "0001001000011000010011000",
  "0001001010100011101011100",
  "0001111010101100001111000",
  "0001111011001001011011000",
  "0001111011101001101000111",
  "0001101001110110110110000",
  "0001001110110110000001111",
  "0001011101000110101111000",
  "0001111100010101011110010",
  "0001101100100011011111010",
  "0001101110111111100100100",
  "0001111110010110100110101"
}
#declare Ink = 0.002;  // Thick.
#macro ink(X, Y, W, H) box { <X, Y - H, 0>, <X + W, Y, Ink> } #end
#macro marker(Left, Top, Bits)
  #local M = 7.5 / 7;
  ink(Left, Top, 7 * M, M) ink(Left, Top - 6 * M, 7 * M, M)
  ink(Left, Top - M, M, 5 * M) ink(Left + 6 * M, Top - M, M, 5 * M)
  #for (Row, 0, 4)
    #for (Column, 0, 4)
      #if (strcmp(substr(Bits, 5 * Row + Column + 1, 1), "0") = 0)
        ink(Left + (Column + 1) * M, Top - (Row + 1) * M, M, M)
      #end
    #end
  #end
#end
#declare Slot = 2.6;  // Half of it.
union {
  box { <-140, Slot, -0.3>, <140, 50, 0> }
  box { <-140, -50, -0.3>, <140, -Slot, 0> }
  pigment { color rgb 0.85 }
}
union {
  box { <-130, Slot, 0>, <130, 10, Ink> }
  box { <-130, -10, 0>, <130, -Slot, Ink> }
  pigment { color srgb <0, 110, 60> / 255 }
}
union {
  #local Next = 0;
  #for (Row, 0, 7)
    #for (Column, 0, 25)
      #if (Row != 3 & Row != 4)
        #local Left = -130 + 10 * Column;
        #local Top = 40 - 10 * Row;
        #if (mod(Column + Row, 2) = 0)
          ink(Left, Top, 10, 10)
        #else
          marker(Left + 1.25, Top - 1.25, Modules[Next])
          #local Next = Next + 1;
        #end
      #end
    #end
  #end
  pigment { color rgb 0.035 }
}

// Jaws, of dark steel.
union {
  box { <-200, 0.5 * Thickness, -40>, <200, 40, -0.3> }
  box { <-200, -40, -40>, <200, -0.5 * Thickness, -0.3> }
  pigment { color rgb 0.10 }
}

// What a belt takes off: all above a plane at 45 degrees, from a fillet on. Made for the face that
// looks toward +y and turned over for the other.
#macro cut(Border, Full)
  union {
    box { <Full, -20, 0>, <300, 20, 20> }
    cylinder { <Full, -20, Fillet>, <Full, 20, Fillet>, Fillet }
    rotate x * -45
    translate <0, Border, Edge>
  }
#end
#declare Steel = finish { ambient rgb 0.08 diffuse 0.55 specular 0.25 roughness 0.06 }
#declare Face = texture {  // Drawn lengthwise.
  pigment { bozo scale <6, 0.05, 0.05> color_map { [0 rgb 0.30] [1 rgb 0.36] } }
  finish { Steel }
}
#declare Facet = texture {  // Scratches across.
  pigment { bozo scale <0.08, 3, 3> color_map { [0 rgb 0.44] [1 rgb 0.52] } }
  finish { Steel }
}
difference {
  box { <Heel, -0.5 * Thickness, -30>, <200, 0.5 * Thickness, Edge> texture { Face } }
  object { cut(0.5 * Land - Offset, Plunge_right) texture { Facet } }
  object { cut(0.5 * Land + Offset, Plunge_left) scale <1, -1, 1> texture { Facet } }
}
