"""The blade of the choil view: a cross-section by depth behind the edge, drawn out to the tip.

Blade frame: x to the tip, x = 0 at the heel, y to the left face, z from the edge up to the spine.
"""
import math

import numpy as np

from making.side_blade import write_mesh2


class SectionSide:
    """One side: distance from the mid-plane of the flats, by depth behind the edge."""

    def __init__(self, spec, sign, index):
        self.sign = sign
        self.half, self.height = spec["thickness"] / 2, spec["bevel_height"][index]
        self.land = spec["land"] / 2 + sign * spec.get("offset", 0.0)
        self.radius = spec["wheel"] / 2 if "wheel" in spec else None
        self.bulge = spec.get("bulge", [0.0, 0.0])[index]

    def distance(self, depth):
        depth = np.asarray(depth, float)
        if self.radius:
            along, across = self.height, self.half - self.land
            chord = math.hypot(along, across)
            reach = math.sqrt(self.radius**2 - chord**2 / 4) / chord
            centre = np.array([along / 2 - across * reach, (self.land + self.half) / 2 + along * reach])
            ground = centre[1] - np.sqrt(self.radius**2 - (depth - centre[0]) ** 2)
        else:
            t = depth / self.height
            ground = self.land + (self.half - self.land) * t + 4 * self.bulge * t * (1 - t)
        return np.where(depth < self.height, ground, self.half)

    def angle(self, low, high):
        """Angle of the straight line fitted to this side between two depths, degrees."""
        depth = np.linspace(low, high, 2001)
        return math.degrees(math.atan(np.polyfit(depth, self.distance(depth), 1)[0]))


class ChoilBlade:
    def __init__(self, spec):
        self.spec, self.height, self.length = spec, spec["height"], spec["length"]
        self.left, self.right = SectionSide(spec, +1, 0), SectionSide(spec, -1, 1)

    def depths(self):
        """Where the outline has its vertices: fine in a curved bevel, and at both bevel lines."""
        tops = {self.left.height, self.right.height}
        return np.array(sorted(set(np.round(np.linspace(0, max(tops), 161), 5)) | tops | {(max(tops) + self.height) / 2, self.height}))

    def polygon(self):
        """(y, z) round the section: down the left side from the spine, up the right one."""
        z = self.depths()
        return np.concatenate([np.stack([self.left.distance(z), z], axis=1)[::-1], np.stack([-self.right.distance(z), z], axis=1)])

    def ring(self, x):
        """The section at x: thinner toward the tip, the edge falling away."""
        points = self.polygon()
        share = x / self.length
        edge = self.spec["belly"] * share**2.2
        y = points[:, 0] * (1 - self.spec["taper"] * share)
        z = edge + points[:, 1] * (self.height - edge) / self.height
        return np.stack([np.full(len(y), x), y, z], axis=1)


BEVEL, FLAT, EDGE, SPINE, END = range(5)
SURFACES = ["Bevel_steel", "Flat_steel", "Edge_steel", "Spine_steel", "End_steel"]


def write_choil_mesh(blade, path, placed):
    xs = np.linspace(0, blade.length, 60)
    rings = [blade.ring(x) for x in xs]
    z = blade.depths()
    middle = (z[1:] + z[:-1]) / 2
    kinds = [FLAT if d > blade.left.height else BEVEL for d in middle[::-1]] + [EDGE]
    kinds += [FLAT if d > blade.right.height else BEVEL for d in middle] + [SPINE]
    n, faces = len(kinds), []
    for i in range(len(xs) - 1):
        for j, kind in enumerate(kinds):
            a, b = i * n + j, i * n + (j + 1) % n
            faces += [(a, b, a + n, kind), (b, b + n, a + n, kind)]
    for base in (0, (len(xs) - 1) * n):
        for j in range(n // 2 - 1):
            a, b, c, d = base + j, base + j + 1, base + n - 2 - j, base + n - 1 - j
            faces += [(a, b, d, END), (b, c, d, END)]
    write_mesh2(path, np.concatenate(rings), faces, SURFACES, placed)
