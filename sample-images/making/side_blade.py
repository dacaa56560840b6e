"""The blade of the side view: two faces with flats, bevels, plunge lines and fillets, by x and z.

Blade frame: x to the tip, y to the left face, z from the edge up to the spine; z = 0 at the
straight part of the edge. x = 0 midway between the two plunge lines at mid-height of the bevels.
"""
import math

import numpy as np


def smooth_step(t):
    t = np.clip(t, 0.0, 1.0)
    return t * t * (3 - 2 * t)


class Face:
    """One face: distance of the steel from the mid-plane, and where its creases run."""

    def __init__(self, blade, sign, index):
        self.blade, self.sign = blade, sign
        bevel, plunge = blade.spec["bevel"], blade.spec["plunge"]
        self.height = bevel["height"][index]
        self.drift = bevel.get("drift", [0.0, 0.0])[index]  # mm per 100 mm, from x = 25 on
        self.wander = bevel.get("wander", [0.0, 0.0])[index]
        self.phase = bevel.get("phase", [0.1, 0.6])[index]
        self.fillet = plunge["fillet"][index]
        self.angle = math.radians(plunge["angle_deg"][index])
        self.radius = plunge["radius"][index]
        self.middle_x = sign * plunge["mismatch"] / 2
        middle_z = sum(bevel["height"]) / 4
        self.arc_from_z = self.height - self.radius + self.radius * math.sin(self.angle)
        if middle_z > self.arc_from_z:
            raise ValueError("the plunge line's curve reaches below mid-height")
        arc_from_x = self.middle_x + (self.arc_from_z - middle_z) * math.tan(self.angle)
        self.arc_to_x = arc_from_x + self.radius * math.cos(self.angle)
        self.at_edge_x = self.middle_x - middle_z * math.tan(self.angle)
        # Where the fillet has run out into the plane of the bevel, at the edge.
        self.full_depth_x = self.at_edge_x + float(self.reach(self.at_edge_x, 0.0))

    def land(self, x):
        """Distance of the finished land's border from the mid-plane."""
        return self.blade.land(x) / 2 + self.sign * self.blade.centre(x)

    def bevel_height(self, x):
        """From the edge to the bevel line, along z."""
        shrink = np.maximum(self.blade.tall(x) / self.blade.height, 0.0) ** 0.9
        forward = np.clip(np.asarray(x) - 25.0, 0.0, None)
        wander = self.wander * np.sin(2 * math.pi * (np.asarray(x) / 47 + self.phase)) * smooth_step(forward / 20)
        return (self.height + self.drift * forward / 100 + wander) * shrink

    def bevel_z(self, x):
        return self.blade.edge_z(x) + self.bevel_height(x)

    def slope(self, x):
        """Tangent of the bevel's angle against the mid-plane."""
        return (self.blade.half(x) - self.land(x)) / self.bevel_height(x)

    def crease_x(self, z):
        """Where the flat begins to drop into the plunge, at height z below the bevel line."""
        line = self.middle_x + (z - self.blade.middle_z) * math.tan(self.angle)
        up = np.clip(z - (self.height - self.radius), 0.0, self.radius)
        arc = self.arc_to_x - np.sqrt(self.radius**2 - up**2)
        return np.where(z < self.arc_from_z, line, arc)

    def crease_z(self, x):
        """The same curve by x: height of the plunge line, then of the bevel line."""
        x = np.asarray(x, float)
        line = self.blade.middle_z + (x - self.middle_x) / math.tan(self.angle)
        back = np.clip(self.arc_to_x - x, 0.0, self.radius)
        arc = self.height - self.radius + np.sqrt(self.radius**2 - back**2)
        plunge = np.where(line < self.arc_from_z, line, arc)
        return np.where(x >= self.arc_to_x, self.bevel_z(x), np.maximum(plunge, self.blade.edge_z(x)))

    def full_depth(self, x, z):
        return np.clip(self.slope(x) * (self.bevel_z(x) - z), 0.0, None)

    def reach(self, x, z):
        """Length of the fillet along x."""
        full = self.full_depth(x, z)
        return np.sqrt(2 * self.fillet * full - full**2)

    def cut(self, x, z):
        """Depth of the steel ground away from the flat."""
        behind = x - self.crease_x(z)
        full, reach = self.full_depth(x, z), self.reach(x, z)
        left = np.clip(reach - behind, 0.0, reach)
        lift = self.fillet - np.sqrt(self.fillet**2 - left**2)
        return np.where(behind <= 0, 0.0, np.clip(full - lift, 0.0, None))

    def surface(self, x, z):
        """Distance from the mid-plane."""
        half, corner = self.blade.half(x), self.blade.corner
        broken = half - corner + np.minimum(z - self.blade.edge_z(x), self.blade.spine_z(x) - z)
        return np.minimum(np.minimum(half, broken), half - self.cut(x, z))

    def plunge_row(self, z):
        """x where the drop starts, where it has a quarter and half of the full depth, where it ends."""
        start = float(self.crease_x(z))
        end = start + float(self.reach(start, z))
        for _ in range(20):
            end = start + float(self.reach(end, z))
        row = [start]
        for share in (0.25, 0.5):
            low, high = start, end
            for _ in range(50):
                x = (low + high) / 2
                low, high = (x, high) if self.cut(x, z) < share * self.full_depth(x, z) else (low, x)
            row.append((low + high) / 2)
        return dict(zip(("start_mm", "quarter_mm", "half_mm", "end_mm"), row + [end]))


class SideBlade:
    def __init__(self, spec):
        self.spec = spec
        self.from_x, self.to_x = spec["x"]
        self.height, self.corner = spec["height"], spec["break"]
        self.middle_z = sum(spec["bevel"]["height"]) / 4
        self.left, self.right = Face(self, +1, 0), Face(self, -1, 1)

    def half(self, x):
        """Half the thickness: distal taper is a straight one from end to end."""
        stock, tip = self.spec["thickness"], self.spec.get("tip_thickness", self.spec["thickness"])
        return (stock + (tip - stock) * (np.asarray(x, float) - self.from_x) / (self.to_x - self.from_x)) / 2

    def land(self, x):
        return self.spec["land"] + self.spec.get("land_wander", 0.0) * np.sin(2 * math.pi * (np.asarray(x) / 61 + 0.15))

    def centre(self, x):
        return self.spec.get("offset", 0.0) + 0.0 * np.asarray(x)

    def edge_z(self, x):
        """The belly, and behind the ricasso the step up into the tang."""
        x, belly = np.asarray(x, float), self.spec["belly"]
        t = np.clip((x - belly["from"]) / (self.to_x - belly["from"]), 0.0, None)
        z = belly["rise"] * t ** belly["power"]
        tang = self.spec.get("tang")
        if tang:
            z = z + tang["step"] * smooth_step((tang["to"] - x) / (tang["to"] - tang["from"]))
        return z

    def spine_z(self, x):
        x, drop = np.asarray(x, float), self.spec.get("spine_drop", {"from": 1e3, "drop": 0.0})
        t = np.clip((x - drop["from"]) / (self.to_x - drop["from"]) if drop["drop"] else 0.0 * x, 0.0, None)
        return self.height - drop["drop"] * t**1.8

    def tall(self, x):
        return self.spine_z(x) - self.edge_z(x)

    def zone(self, x):
        """edge: both faces ground to full depth; plunge: at least one face changes; ricasso."""
        ends = [f.full_depth_x for f in (self.left, self.right)]
        starts = [f.at_edge_x for f in (self.left, self.right)]
        tops = [f.arc_to_x for f in (self.left, self.right)]
        return "edge" if x >= max(ends + tops) else "ricasso" if x <= min(starts) else "plunge"

    def grid_x(self):
        """Columns of the mesh: dense across the plunges, where creases bend."""
        xs = [np.arange(self.from_x, self.to_x, 0.5), [self.to_x]]
        for f in (self.left, self.right):
            xs += [np.arange(f.at_edge_x - 0.3, f.arc_to_x + 1.0, 0.025),
                   np.arange(f.arc_to_x, max(f.full_depth_x, f.arc_to_x) + 2.0, 0.1), [f.at_edge_x, f.arc_to_x]]
        tang = self.spec.get("tang")
        if tang:
            xs.append(np.arange(tang["from"] - 1, tang["to"] + 1, 0.1))
        xs = np.unique(np.round(np.concatenate(xs), 5))
        return xs[(xs >= self.from_x) & (xs <= self.to_x)]

    def half_outline(self, face, x):
        """Points (distance, z) from the edge to the spine; as many at every x."""
        low, top = float(self.edge_z(x)), float(self.spine_z(x))
        crease = float(np.clip(face.crease_z(x), low + self.corner, top - self.corner))
        z = np.concatenate([[low, low + self.corner / 2], np.linspace(low + self.corner, crease, CUT_ROWS),
                            np.linspace(crease, top - self.corner, 4)[1:], [top]])
        return face.surface(x, z), z


CUT_ROWS = 48
BEVEL, FLAT, EDGE, SPINE, END = range(5)
SURFACES = ["Bevel_steel", "Flat_steel", "Edge_steel", "Spine_steel", "End_steel"]


def write_side_mesh(blade, path, placed):
    """The mesh in the blade frame, closed, as POV-Ray's mesh2."""
    xs = blade.grid_x()
    rings, kinds = [], []
    for x in xs:
        (ul, zl), (ur, zr) = blade.half_outline(blade.left, x), blade.half_outline(blade.right, x)
        rings.append(np.concatenate([np.stack([np.full(len(zl), x), ul, zl], axis=1)[::-1],
                                     np.stack([np.full(len(zr), x), -ur, zr], axis=1)]))
    rows = CUT_ROWS + 1  # pieces of a face below the crease
    face_kinds = [BEVEL] * rows + [FLAT] * 3 + [SPINE]
    kinds = face_kinds[::-1] + [EDGE] + face_kinds + [SPINE]
    n = len(kinds)
    assert len(rings[0]) == n
    faces = []
    for i in range(len(xs) - 1):
        uncut = [xs[i + 1] <= f.at_edge_x + 1e-6 for f in (blade.left, blade.right)]
        for j, kind in enumerate(kinds):
            if kind == BEVEL and uncut[0 if j < n // 2 else 1]:
                kind = FLAT
            a, b = i * n + j, i * n + (j + 1) % n
            faces += [(a, b, a + n, kind), (b, b + n, a + n, kind)]
    for base in (0, (len(xs) - 1) * n):
        for j in range(n // 2 - 1):
            a, b, c, d = base + j, base + j + 1, base + n - 2 - j, base + n - 1 - j
            faces += [(a, b, d, END)] + ([(b, c, d, END)] if b != c else [])
    write_mesh2(path, np.concatenate(rings), faces, SURFACES, placed)


def write_mesh2(path, vertices, faces, surfaces, placed=""):
    with open(path, "w") as out:
        out.write("mesh2 { vertex_vectors { %d" % len(vertices))
        out.write("".join(",\n<%.6f,%.6f,%.6f>" % tuple(v) for v in vertices))
        out.write(" }\ntexture_list { %d" % len(surfaces) + "".join(", texture { %s }" % s for s in surfaces))
        out.write(" }\nface_indices { %d" % len(faces))
        out.write("".join(",\n<%d,%d,%d>,%d" % f for f in faces) + " } %s }\n" % placed)
