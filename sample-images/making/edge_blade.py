"""The blade of the edge view: cross-sections by x, and their mesh."""
import math

import numpy as np

class Side:
    """One face's half of the cross-section: distance from the mid-plane, by x and by depth."""

    def __init__(self, blade, sign, index):
        self.blade, self.sign = blade, sign
        spec, self.half = blade.spec, blade.spec["thickness"] / 2
        self.chamfer = spec.get("break", 0.0)
        self.cut = blade.stage not in ("scribed", "plain")
        self.height = None
        if not self.cut:
            return
        self.tangent = math.tan(math.radians(spec["angle"][index])) if "angle" in spec else None
        self.height = spec["bevel_height"][index] if "bevel_height" in spec else None
        plunge = spec["plunge"]
        self.radius = plunge["radius"][index]
        self.lean = math.tan(math.radians(plunge.get("lean_deg", [0, 0])[index]))
        self.half_depth_x = sign * plunge["mismatch"] / 2
        self.end_x = self.half_depth_x + self._back(self.half_depth_x, 0.0)

    def land(self, x):
        """Distance of the finished land's border from the mid-plane."""
        left, right = self.blade.borders(x)
        return left if self.sign > 0 else -right

    def slope(self, x):
        return self.tangent if self.tangent else (self.half - self.land(x)) / self.height

    def _back(self, x, z):
        """How far before the end of the fillet the cut is half as deep as it will be."""
        depth = self.half - self.land(x) - self.slope(x) * z
        return np.sqrt(self.radius * depth - depth**2 / 4)

    def plunge_x(self, z):
        """Where the cut has half its full depth, at depth z under the edge."""
        x = self.half_depth_x
        for _ in range(30):
            x = self.end_x + self.lean * z - self._back(x, z)
        return float(x)

    def lift(self, x, z):
        """How far the plunge's fillet keeps the cut away from its full depth."""
        before = np.clip(self.end_x + self.lean * z - x, 0.0, None)
        inside = np.minimum(before, self.radius)
        arc = self.radius - np.sqrt(self.radius**2 - inside**2)
        return np.where(before > self.radius, 1e3, arc)

    def surface(self, x, z):
        """Distance of the steel's surface from the mid-plane, z under the edge at that x."""
        flat = np.minimum(self.half, self.half - self.chamfer + z)
        if not self.cut:
            return flat
        return np.minimum(flat, self.land(x) + self.slope(x) * z + self.lift(x, z))

    def levels(self, x):
        """Depths at which the outline at x has its vertices; always the same number."""
        if not self.cut:
            return np.array([0.0, self.chamfer])
        if self.height:
            steps = np.linspace(0, 1, 45)[1:] ** 1.6
            return np.concatenate([[0.0, self.chamfer / 2, self.chamfer], self.chamfer + (self.height - self.chamfer) * steps])
        depth = self.half - self.land(x) - float(self.lift(x, 0.0))
        # Facet and broken corner stand at about the same angle: one straight piece for either.
        return np.array([0.0, max(depth / self.slope(x), self.chamfer)])

    def kinds(self, x, z):
        """Which surface lies at each depth: cut, broken corner or flat."""
        if not self.cut:
            return [CORNER] * len(z)
        facet = self.land(x) + self.slope(x) * z + self.lift(x, z)
        uncut = np.where(z < self.chamfer, CORNER, FLAT) if self.height else CORNER
        return list(np.where(facet < np.minimum(self.half, self.half - self.chamfer + z), FACET, uncut))

    def shoulder(self, x):
        """(distance from the mid-plane, z under the edge) where the face's flat begins."""
        if not self.cut:
            return self.half, self.chamfer
        if self.height:
            return self.half, self.height
        return self.half, float(self.levels(x)[1])


class Blade:
    """Stage "plain": a flat gauge, with nothing on its top."""

    def __init__(self, spec):
        self.spec, self.stage = spec, spec["stage"]
        self.from_x, self.to_x = spec["x"]
        self.left, self.right = Side(self, +1, 0), Side(self, -1, 1)

    def centre(self, x):
        o = self.spec["offset"]
        wander = o.get("amplitude", 0) * np.sin(2 * math.pi * (x / o.get("period", 80) + o.get("phase", 0)))
        second = o.get("second", 0) * np.sin(2 * math.pi * (x / o.get("second_period", 23) + 0.3))
        return o["mean"] + o.get("slope", 0) * (x - 60) + wander + second

    def width(self, x):
        """Land width, or the gap between the scribe lines."""
        w = self.spec.get("land", self.spec.get("gap"))
        return w + self.spec.get("land_wander", 0) * np.sin(2 * math.pi * (x / 61 + 0.15))

    def borders(self, x):
        return self.centre(x) + self.width(x) / 2, self.centre(x) - self.width(x) / 2

    def edge_z(self, x):
        """The belly: how far the edge falls away toward the tip."""
        belly = self.spec.get("belly")
        if not belly:
            return 0.0 * x
        t = np.clip((x - belly["from"]) / (self.to_x - belly["from"]), 0, None)
        return belly["drop"] * t**2.2

    def zone(self, x):
        if self.stage in ("scribed", "plain"):
            return "edge"
        ends = [s.end_x for s in (self.left, self.right)]
        starts = [s.end_x - s.radius for s in (self.left, self.right)]
        return "edge" if x >= max(ends) else "ricasso" if x <= min(starts) else "plunge"

    def outline(self, x):
        """(points (y, z), a surface class for each piece) from the left spine over the edge."""
        spine = self.spec["height"]
        edge = float(self.edge_z(x))
        half = []
        for side in (self.left, self.right):
            z = side.levels(x)
            u = side.surface(x, z)
            if side.cut and not side.height:
                u[1] = side.half
            middle = (z[1:] + z[:-1]) / 2
            half.append((side.sign * u, z + edge, side.kinds(x, middle)))
        (yl, zl, kl), (yr, zr, kr) = half
        points = [(yl[-1], spine)] + list(zip(yl[::-1], zl[::-1]))
        kinds = [FLAT] + kl[::-1]
        if self.stage == "scribed":
            wide, deep = self.spec["groove"]
            for border in self.borders(x):
                points += [(border + wide / 2, edge), (border, edge + deep), (border - wide / 2, edge)]
                kinds += [TOP, GROOVE, GROOVE]
        points += list(zip(yr, zr)) + [(yr[-1], spine)]
        kinds += [TOP] + kr + [FLAT]
        return np.array(points), kinds

    def grid_x(self):
        xs = [np.arange(self.from_x, self.to_x + 1e-9, 0.5)]
        if self.left.cut:
            for s in (self.left, self.right):
                reach = s.lean * (s.height or 0)
                xs.append(np.arange(s.end_x - s.radius, s.end_x + reach + 0.03, 0.03))
                xs.append([s.end_x - s.radius - 1e-4])
        xs = np.unique(np.round(np.concatenate(xs), 6))
        return xs[(xs >= self.from_x) & (xs <= self.to_x)]


TOP, CORNER, FACET, FLAT, GROOVE, END = range(6)
SURFACES = ["Top_steel", "Corner_steel", "Facet_steel", "Flat_steel", "Groove_steel", "End_steel"]


def write_mesh(blade, path):
    xs = blade.grid_x()
    sections = [blade.outline(x) for x in xs]
    middles = [blade.outline(x)[1] for x in (xs[1:] + xs[:-1]) / 2]
    n = len(sections[0][0])
    vertices = [(x, y, z) for x, (points, _) in zip(xs, sections) for y, z in points]
    faces = []
    for i, kinds in enumerate(middles):
        for j, kind in enumerate(kinds):
            a, b = i * n + j, (i + 1) * n + j
            faces += [(a, a + 1, b, kind), (a + 1, b + 1, b, kind)]
    for base in (0, (len(xs) - 1) * n):
        faces += [(base + j, base + j + 1, base + n - 1 - j, END) for j in range(n // 2)]
        faces += [(base + j + 1, base + n - 2 - j, base + n - 1 - j, END) for j in range(n // 2 - 1)]
    with open(path, "w") as out:
        out.write("mesh2 { vertex_vectors { %d" % len(vertices))
        out.write("".join(",\n<%.7f,%.7f,%.7f>" % v for v in vertices))
        out.write(" }\ntexture_list { %d" % len(SURFACES) + "".join(", texture { %s }" % s for s in SURFACES))
        out.write(" }\nface_indices { %d" % len(faces))
        out.write("".join(",\n<%d,%d,%d>,%d" % f for f in faces) + " } }\n")
