#!/usr/bin/env python3
"""Makes the sample photos, their truth files and their camera files.

    make_samples.py --list
    make_samples.py                      everything (about 45 minutes on two cores)
    make_samples.py --only edge-usb      one photo
    make_samples.py --draft --only NAME  coarse rendering, to try a scene

POV-Ray 3.7 renders each scene (scenes/) through a pinhole; this script builds the blade's mesh and
the card's print, and then does what lens, sensor and phone do to a picture. Mesh and truth file
come from the same functions of Blade. Needs (Debian): povray, python3-opencv, exiftool,
libheif-examples. Frames, signs and units: README.md here.
"""
import argparse
import hashlib
import json
import math
import os
import subprocess
import sys
import tempfile
import zlib
from pathlib import Path

import cv2
import numpy as np

HERE = Path(__file__).resolve().parent
SCENES = HERE / "scenes"
CALIBRATION = HERE.parent / "calibration"
PRINT_PX_PER_MM = 28  # 711 dpi: cells, markers and marker modules all fall on whole pixels.


# ---------------------------------------------------------------- blade


class Side:
    """One face's half of the cross-section: distance from the mid-plane, by x and by depth."""

    def __init__(self, blade, sign, index):
        self.blade, self.sign = blade, sign
        spec, self.half = blade.spec, blade.spec["thickness"] / 2
        self.chamfer = spec.get("break", 0.0)
        self.cut = blade.stage != "scribed"
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
        if self.stage == "scribed":
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
        if self.stage != "scribed":
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


# ---------------------------------------------------------------- cards

CARDS = {  # columns, rows, pitch mm, first id, lane (column, row, columns, rows), sheet mm
    "edge": (26, 8, 10, 200, (0, 3, 26, 2), (284, 124)),
    "lens": (13, 9, 20, 0, None, (297, 210)),
}
PAPER, INK = (0.80, 0.80, 0.77), (0.034, 0.034, 0.037)  # linear reflectance, R G B
LANE = tuple(((v / 255 + 0.055) / 1.055) ** 2.4 if v > 10 else v / 255 / 12.92 for v in (0, 110, 60))


def card_cells(kind):
    """Yields (column, row, what, marker id) with what = black, marker or lane."""
    columns, rows, _, number, lane, _ = CARDS[kind]
    for r in range(rows):
        for c in range(columns):
            if lane and lane[0] <= c < lane[0] + lane[2] and lane[1] <= r < lane[1] + lane[3]:
                yield c, r, "lane", None
            elif (c + r) % 2 == 0:
                yield c, r, "black", None
            else:
                yield c, r, "marker", number
                number += 1


def card_corners(kind):
    """Inner points where four grid cells meet, card frame mm."""
    columns, rows, pitch, _, _, _ = CARDS[kind]
    lane = {(c, r) for c, r, what, _ in card_cells(kind) if what == "lane"}
    return np.array([((c - columns / 2) * pitch, (rows / 2 - r) * pitch, 0.0)
                     for r in range(1, rows) for c in range(1, columns)
                     if not {(c - 1, r - 1), (c, r - 1), (c - 1, r), (c, r)} & lane])


def write_card_print(kind, path):
    columns, rows, pitch, _, _, (wide, high) = CARDS[kind]
    s = PRINT_PX_PER_MM
    page = np.empty((high * s, wide * s, 3), np.float32)
    rng = np.random.default_rng(26031)  # mottle of the paper
    mottle = cv2.resize(rng.standard_normal((high * 2, wide * 2)).astype(np.float32), (wide * s, high * s), interpolation=cv2.INTER_CUBIC)
    page[:] = np.array(PAPER, np.float32)
    x0, y0 = (wide - columns * pitch) * s // 2, (high - rows * pitch) * s // 2
    dictionary = cv2.aruco.Dictionary_get(cv2.aruco.DICT_5X5_1000)
    side, edge = 3 * pitch * s // 4, pitch * s // 8
    for c, r, what, number in card_cells(kind):
        cell = page[y0 + r * pitch * s:y0 + (r + 1) * pitch * s, x0 + c * pitch * s:x0 + (c + 1) * pitch * s]
        if what == "marker":
            bits = cv2.aruco.drawMarker(dictionary, number, 7)
            mark = np.kron(bits, np.ones((side // 7, side // 7), np.uint8)) > 0
            cell[edge:edge + side, edge:edge + side] = np.where(mark[..., None], PAPER, INK)
        else:
            cell[:] = LANE if what == "lane" else INK
    # The check bar and a line of print under the grid.
    bar_y, bar_x = y0 + rows * pitch * s + 6 * s, wide * s // 2
    page[bar_y - 4:bar_y + 4, bar_x - 100 * s:bar_x + 100 * s] = INK
    for end in (-100, 100):
        page[bar_y - 2 * s:bar_y + 2 * s, bar_x + end * s - 4:bar_x + end * s + 4] = INK
    text = "200 mm  check with calipers        %s card" % kind
    mask = np.zeros(page.shape[:2], np.uint8)
    cv2.putText(mask, text, (bar_x - 60 * s, bar_y + 5 * s), cv2.FONT_HERSHEY_SIMPLEX, 2.4, 255, 5, cv2.LINE_AA)
    page += (np.array(INK, np.float32) - page) * (mask[..., None] / 255.0)
    page *= 1 + 0.010 * mottle[..., None]
    cv2.imwrite(str(path), np.clip(page[:, :, ::-1] * 255 + 0.5, 0, 255).astype(np.uint8))


# ---------------------------------------------------------------- camera and poses


class Camera:
    def __init__(self, spec):
        self.spec = spec
        self.width, self.height = spec["size"]
        self.fx, self.fy, self.cx, self.cy = spec["fx"], spec["fy"], spec["cx"], spec["cy"]
        self.dist = spec["distortion"]

    def matrix(self):
        return np.array([[self.fx, 0, self.cx], [0, self.fy, self.cy], [0, 0, 1.0]])

    def bend(self, x, y):
        """Brown-Conrady: pinhole to distorted, normalised coordinates."""
        k1, k2, p1, p2, k3 = self.dist
        r2 = x * x + y * y
        radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3))
        return (x * radial + 2 * p1 * x * y + p2 * (r2 + 2 * x * x),
                y * radial + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y)

    def unbend(self, xd, yd):
        x, y = xd.copy(), yd.copy()
        for _ in range(12):
            bx, by = self.bend(x, y)
            x, y = x + xd - bx, y + yd - by
        return x, y

    def project(self, points):
        p = np.atleast_2d(points)
        x, y = self.bend(p[:, 0] / p[:, 2], p[:, 1] / p[:, 2])
        return np.stack([self.fx * x + self.cx, self.fy * y + self.cy], axis=1)

    def pinhole(self, points):
        """Where the camera without distortion would see them; pixels as in project()."""
        p = np.atleast_2d(points)
        return np.stack([self.fx * p[:, 0] / p[:, 2] + self.cx, self.fy * p[:, 1] / p[:, 2] + self.cy], axis=1)


def turn(axis, degrees):
    v = np.zeros(3)
    v["xyz".index(axis)] = math.radians(degrees)
    return cv2.Rodrigues(v)[0]


def card_to_blade(spec):
    """R, t of the card in the blade frame (blade = R card + t)."""
    card = spec["card"]
    base = turn("x", 180) if spec["tip"] == "right" else turn("y", 180)
    tilt = turn("x", card.get("tilt_deg", 0)) @ turn("y", card.get("nod_deg", 0))
    return tilt @ turn("z", card.get("turn_deg", 0)) @ base, np.array([card["at"][0], card["at"][1], card["edge_above"]])


def look(at, target, right_hint, roll_deg):
    """R, t of a camera at `at` whose picture's right side is right_hint before the roll."""
    z = np.array(target, float) - at
    z /= np.linalg.norm(z)
    x = right_hint - z * (right_hint @ z)
    x /= np.linalg.norm(x)
    R = turn("z", roll_deg).T @ np.stack([x, np.cross(z, x), z])
    return R, -R @ at


def edge_pose(spec):
    """R, t from the blade frame into the camera."""
    c = spec["camera"]
    right = card_to_blade(spec)[0] @ np.array([1.0, 0, 0])
    at = np.array([c["along"], c["lateral"], -c["distance"]])
    return look(at, [c["target"][0], c["target"][1], 0], right, c["roll_deg"])


def lens_pose(spec):
    """R, t from the lens card's frame into the camera."""
    c = spec["camera"]
    target = np.array([c["target"][0], c["target"][1], 0.0])
    tilt, toward = math.radians(c["tilt_deg"]), math.radians(c["toward_deg"])
    back = np.array([math.sin(tilt) * math.cos(toward), math.sin(tilt) * math.sin(toward), math.cos(tilt)])
    return look(target + c["distance"] * back, target, np.array([1.0, 0, 0]), c["roll_deg"])


# ---------------------------------------------------------------- rendering


def vec(v):
    return "<%s>" % ", ".join("%.9g" % a for a in v)


def full_window(camera):
    """Pinhole window (left, top, width, height in px, continuous edges) that the photo needs."""
    w, h = camera.width, camera.height
    u = np.concatenate([np.linspace(-1, w, 99), np.linspace(-1, w, 99), np.full(99, -1.0), np.full(99, float(w))])
    v = np.concatenate([np.full(99, -1.0), np.full(99, float(h)), np.linspace(-1, h, 99), np.linspace(-1, h, 99)])
    x, y = camera.unbend((u - camera.cx) / camera.fx, (v - camera.cy) / camera.fy)
    return box_window(np.stack([x * camera.fx + camera.cx, y * camera.fy + camera.cy], axis=1), 12)


def box_window(points, margin):
    low = np.floor(points.min(axis=0)) - margin - 0.5
    high = np.ceil(points.max(axis=0)) + margin + 0.5
    w, h = (np.ceil((high - low) / 4) * 4).astype(int)  # whole samples at any scale in quarters
    return float(low[0]), float(low[1]), int(w), int(h)


def strip_window(camera, R, t, blade, spec):
    side, low = spec["blade"]["thickness"] / 2 + 3.0, spec["card"]["edge_above"]
    box = np.array([(x, y, z) for x in (blade.from_x - 1, blade.to_x + 1) for y in (-side, side) for z in (0.0, low)])
    left, top, w, h = box_window(camera.pinhole(box @ R.T + t), 10)
    l0, t0, w0, h0 = full_window(camera)
    right, bottom = min(left + w, l0 + w0), min(top + h, t0 + h0)
    left, top = max(left, l0), max(top, t0)
    return left, top, int(right - left), int(bottom - top)


def camera_lines(camera, R, t, window):
    left, top, w, h = window
    centre = np.array([(left + w / 2 - camera.cx) / camera.fx, (top + h / 2 - camera.cy) / camera.fy, 1.0])
    return ["#declare Cam_at = %s;" % vec(-R.T @ t),
            "#declare Cam_right = %s;" % vec(R.T @ np.array([w / camera.fx, 0, 0])),
            "#declare Cam_up = %s;" % vec(R.T @ np.array([0, -h / camera.fy, 0])),
            "#declare Cam_direction = %s;" % vec(R.T @ centre)]


def light_lines(spec):
    light = spec["light"]
    sky = "%g + %g * max(0, -z)" % (light["room"], light.get("ceiling", 0.1))
    for dx, dy, dz, spread, power in light["windows"]:
        n = math.sqrt(dx * dx + dy * dy + dz * dz)
        sky += " + %g * exp((x * %.5f + y * %.5f + z * %.5f - 1) / %g)" % (power, dx / n, dy / n, dz / n, spread)
    return ["#declare Sky = function(x, y, z) { (%s) * (1 - 0.8 * exp(-(1 + z) / 0.02)) }" % sky,
            "#declare Sky_full = %g; #declare Sky_tint = %s;" % (light.get("sky_full", 1.0), vec(light.get("tint", [1, 1, 1]))),
            "#declare Key_at = %s; #declare Key_power = %g; #declare Key_wide = %g; #declare Key_tint = %s;"
            % (vec(light["key_at"]), light["key"], light.get("key_wide", 120), vec(light.get("tint", [1, 1, 1]))),
            "#declare Fill_at = %s; #declare Fill_power = %g;" % (vec(light["fill_at"]), light["fill"])]


def matrix_text(R, t):
    return "matrix <%s>" % ", ".join("%.10g" % a for a in list(R.T.ravel()) + list(t))


def slot_outline(spec, rng):
    """The trimmed card with its hand-cut slot, as one closed polygon in card mm."""
    wide, high = CARDS["edge"][5]
    half_w, half_h = wide / 2 - 0.6, high / 2 - 0.6
    slot, open_at, closed_at = spec["card"]["slot"], spec["card"].get("open", "left"), spec["card"]["slot_end"]
    sign = -1 if open_at == "left" else 1
    xs = np.linspace(sign * half_w, closed_at, 14)
    wobble = lambda: 0.12 * rng.standard_normal(len(xs))
    upper = [(x, slot / 2 + d) for x, d in zip(xs, wobble())]
    lower = [(x, -slot / 2 + d) for x, d in zip(xs, wobble())][::-1]
    skew = 0.7
    outer = [(sign * half_w, -half_h), (-sign * half_w, -half_h + skew), (-sign * half_w, half_h), (sign * half_w, half_h - skew)]
    return upper + lower + outer


def specks(spec, blade, rng):
    """Dust, crumbs and lint lying on the blade."""
    out = []
    for _ in range(spec.get("dust", {}).get("specks", 0)):
        x = rng.uniform(blade.from_x, blade.to_x)
        points, _ = blade.outline(x)
        y = rng.uniform(-0.95, 0.95) * blade.left.half
        order = np.argsort(points[:, 0])
        z = np.interp(y, points[order, 0], points[order, 1]) if blade.stage != "bevelled" else blade.edge_z(x)
        size, grey = 0.015 + 0.045 * rng.random() ** 2, 0.02 + 0.35 * rng.random() ** 3
        out.append("sphere { %s %.4f pigment { rgb %.3f } finish { diffuse 0.8 } }" % (vec((x, y, z - 0.3 * size)), size, grey))
    for _ in range(spec.get("dust", {}).get("lint", 0)):
        x, y, a = rng.uniform(blade.from_x, blade.to_x), rng.uniform(-1, 1) * blade.left.half, rng.uniform(0, math.pi)
        p = np.array([x, y, float(blade.edge_z(x)) - 0.03])
        q = p + rng.uniform(0.8, 2.0) * np.array([math.cos(a), math.sin(a), -0.1])
        out.append("cylinder { %s %s 0.009 pigment { rgb 0.35 } finish { diffuse 0.9 } }" % (vec(p), vec(q)))
    return out


def edge_lines(spec, blade):
    R, t = card_to_blade(spec)
    card, bench, surface = spec["card"], spec["bench"], spec["blade"]
    rng = np.random.default_rng(zlib.crc32(spec["scene"].encode()))
    outline = slot_outline(spec, rng)
    outline.append(outline[0])
    wide, high = CARDS["edge"][5]
    scale = card["print_scale"]
    steel = surface.get("steel", {})
    middle = (blade.from_x + blade.to_x) / 2
    lines = ["#declare Blade_present = %d; #declare Card_present = %d;" % (spec.get("blade_present", True), spec.get("card_present", True)),
             "#declare Half_T = %.6f;" % (surface["thickness"] / 2),
             "#declare Blade_from = %g; #declare Blade_to = %g;" % (blade.from_x, blade.to_x),
             "#declare Finish_top = %d;" % (surface.get("surface") == "dye"),
             "#declare Dye_from = %g; #declare Dye_to = %g;" % tuple(surface.get("dye", [0, 0]))]
    for name, value in (("Top_light", 0.26), ("Top_mirror", 0.40), ("Facet_light", 0.85), ("Facet_mirror", 0.22)):
        lines.append("#declare %s = %g;" % (name, steel.get(name, value)))
    lines += ["#declare Edge_above_card = %g; #declare Card_thick = %g;" % (card["edge_above"], card["thick"]),
              "#declare Jaw_from = %g; #declare Jaw_to = %g;" % (middle - 84, middle + 81),
              "#declare Card_points = %d;" % len(outline),
              "#macro Card_outline() %s #end" % ", ".join("<%.4f, %.4f>" % p for p in outline),
              "#macro Card_to_blade() %s #end" % matrix_text(R, t),
              "#declare Print_wide = %.6f; #declare Print_high = %.6f;" % (wide * scale[0], high * scale[1]),
              "#declare Dust_seed = %d; #declare Dust_count = %d; #declare Speck_count = %d;"
              % (zlib.crc32(spec["scene"].encode()) % 9973, spec.get("dust", {}).get("card", 0), spec.get("dust", {}).get("jaws", 0)),
              "#declare Bench_z = %g; #declare Bench_turn = %g; #declare Bench_shift = %s;" % (bench["z"], bench["turn"], vec(bench["shift"] + [0])),
              "#declare Pencil_turn = %g; #declare Pencil_at = %s;" % (bench["pencil"][0], vec(bench["pencil"][1:] + [0])),
              "#declare Rule_turn = %g; #declare Rule_at = %s;" % (bench["rule"][0], vec(bench["rule"][1:] + [0])),
              "#macro Specks() union { sphere { <0, 0, 60> 0.01 } %s } #end" % "\n".join(specks(spec, blade, rng))]
    return lines + light_lines(spec)


def lens_lines(spec):
    wide, high = CARDS["lens"][5]
    bench = spec["bench"]
    return ["#declare Print_wide = %.6f; #declare Print_high = %.6f;" % (wide, high),
            "#declare Bench_turn = %g; #declare Bench_shift = %s;" % (bench["turn"], vec(bench["shift"] + [0]))] + light_lines(spec)


def render(scene, lines, window, scale, quality, folder, tag):
    """Runs POV-Ray in `folder` unless the same scene was rendered before; returns linear RGB."""
    source = "\n".join(lines)
    inputs = source + (folder / "blade.inc").read_text() if (folder / "blade.inc").exists() else source
    inputs += "".join(p.read_text() for p in sorted(SCENES.glob("*.[pi][on][vc]"))) + repr((scale, quality))
    digest = hashlib.sha256(inputs.encode()).hexdigest()
    picture, stamp = folder / (tag + ".png"), folder / (tag + ".sha256")
    if not (picture.exists() and stamp.exists() and stamp.read_text() == digest):
        (folder / "frame.inc").write_text(source + "\n")
        command = ["povray", "+I%s" % (SCENES / scene), "+L%s" % SCENES, "+L%s" % folder, "+O%s" % picture,
                   "+W%d" % round(window[2] * scale), "+H%d" % round(window[3] * scale), "+FN16", "-D",
                   "File_Gamma=1.0", "+WT%d" % (os.cpu_count() or 1)] + quality
        run = subprocess.run(command, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        if run.returncode != 0:
            sys.exit("POV-Ray failed on %s:\n%s" % (tag, run.stdout[-1500:]))
        stamp.write_text(digest)
    return cv2.imread(str(picture), cv2.IMREAD_UNCHANGED)[:, :, 2::-1]


# ---------------------------------------------------------------- lens, sensor, phone


def source_maps(camera, folder):
    """For each stored pixel, where the pinhole camera sees the same thing."""
    path = folder / ("maps-%s.npy" % hashlib.sha256(repr(camera.spec).encode()).hexdigest()[:12])
    if not path.exists():
        maps = np.empty((2, camera.height, camera.width), np.float32)
        u = (np.arange(camera.width) - camera.cx) / camera.fx
        for v in range(0, camera.height, 64):
            rows = (np.arange(v, min(v + 64, camera.height)) - camera.cy) / camera.fy
            x, y = camera.unbend(*np.meshgrid(u, rows))
            maps[0, v:v + 64], maps[1, v:v + 64] = x * camera.fx + camera.cx, y * camera.fy + camera.cy
        np.save(path, maps)
    return np.load(path)


def blur(channel, sigma_px):
    return channel if sigma_px < 0.05 else cv2.GaussianBlur(channel, (0, 0), sigma_px, borderType=cv2.BORDER_REPLICATE)


def sample(channel, window, scale, maps):
    # Sample i of a window covers left + [i, i + 1] / scale, so its centre is half a sample in.
    mx = (maps[0] - window[0]) * scale - 0.5
    my = (maps[1] - window[1]) * scale - 0.5
    return cv2.remap(channel, mx, my, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)


def lens_blur(scale, sigma):
    """Blur still to add, in samples: the sensor's pixel box is part of sigma, the sample box is in."""
    return scale * math.sqrt(max(0.0, sigma**2 - 1 / (12 * scale**2)))


def through_lens(spec, camera, layers, folder):
    """Linear picture on the sensor, before exposure. layers: whole frame, and strip or None."""
    maps = source_maps(camera, folder)
    look_spec = spec["look"]
    (full, window, scale), strip = layers
    out = np.empty((camera.height, camera.width, 3), np.float32)
    mask = None
    if "silhouette" in spec:  # What lies far below the plane in focus is blurred more.
        mask = np.zeros(full.shape[:2], np.float32)
        poly = (spec["silhouette"] - np.array(window[:2])) * scale - 0.5
        cv2.fillPoly(mask, [np.round(poly * 16).astype(np.int32)], 1.0, cv2.LINE_8, 4)
    for ch in range(3):
        plane = full[:, :, ch].astype(np.float32) / 65535
        near = blur(plane, lens_blur(scale, look_spec["card_blur_px"]))
        if mask is not None:
            soft = blur(mask, lens_blur(scale, look_spec["card_blur_px"]))
            far_sigma = look_spec["bench_blur_px"] * scale / 4  # on a quarter-size copy
            small = lambda a: cv2.resize(a, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
            weight = blur(small(1 - mask), far_sigma)
            far = blur(small(plane * (1 - mask)), far_sigma) / np.maximum(weight, 1e-3)
            far = cv2.resize(far, (plane.shape[1], plane.shape[0]), interpolation=cv2.INTER_LINEAR)
            inside = blur(plane * mask, lens_blur(scale, look_spec["card_blur_px"]))
            near = inside + far * (1 - soft)
        out[:, :, ch] = sample(near, window, scale, maps)
    if strip:
        picture, window, scale = strip
        m = 4
        inside = ((maps[0] > window[0] + m) & (maps[0] < window[0] + window[2] - m)
                  & (maps[1] > window[1] + m) & (maps[1] < window[1] + window[3] - m))
        rows, cols = np.flatnonzero(inside.any(axis=1)), np.flatnonzero(inside.any(axis=0))
        cut = np.s_[rows[0]:rows[-1] + 1, cols[0]:cols[-1] + 1]
        weight = cv2.blur(cv2.erode(inside[cut].astype(np.float32), np.ones((9, 9)), borderValue=0), (7, 7), borderType=cv2.BORDER_CONSTANT)
        weight = np.minimum(weight, inside[cut])
        for ch in range(3):
            plane = blur(picture[:, :, ch].astype(np.float32) / 65535, lens_blur(scale, look_spec["edge_blur_px"]))
            fine = sample(plane, window, scale, maps[(slice(None),) + cut])
            out[cut + (ch,)] += weight * (fine - out[cut + (ch,)])
    return np.maximum(out, 0)


def sensor(linear, spec, camera, rng):
    """Exposure, vignetting, shot and read noise, clipping; 1.0 is a full pixel."""
    look_spec = spec["look"]
    v, u = np.mgrid[0:camera.height, 0:camera.width].astype(np.float32)
    r2 = ((u - camera.cx) / camera.fx) ** 2 + ((v - camera.cy) / camera.fy) ** 2
    light = linear * look_spec["exposure"] / (1 + 0.45 * r2[..., None])
    light *= np.array(look_spec.get("gains", [1, 1, 1]), np.float32)
    full = look_spec["electrons"]
    noise = rng.standard_normal(light.shape, dtype=np.float32)
    # The phone keeps the noise in brightness and smears the noise in colour.
    grey = noise.mean(axis=2, keepdims=True)
    colour = np.stack([blur(noise[..., ch] - grey[..., 0], 1.1) for ch in range(3)], axis=2)
    noise = 1.55 * grey + 1.2 * colour
    return np.clip(light + noise * np.sqrt(light / full + (look_spec["read_noise"] / full) ** 2), 0, 1)


def tone_and_sharpen(light, spec):
    look_spec = spec["look"]
    curve = np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.power(np.maximum(light, 1e-6), 1 / 2.4) - 0.055)
    curve = curve - look_spec.get("contrast", 0.0) * np.sin(2 * math.pi * curve).astype(np.float32)
    grey = curve @ np.array([0.299, 0.587, 0.114], np.float32)
    sharp = look_spec["sharpen"] * (grey - blur(grey, look_spec["sharpen_px"]))
    limit = 0.12  # phones stop the halo from growing
    out = curve + np.clip(sharp, -limit, limit)[..., None]
    return np.clip(out * 255 + 0.5, 0, 255).astype(np.uint8)


def shake(linear, pixels, degrees):
    size = int(pixels) | 1
    kernel = np.zeros((size, size), np.float32)
    c, a = size // 2, math.radians(degrees)
    d = np.array([math.cos(a), math.sin(a)]) * c
    cv2.line(kernel, tuple(np.round(c - d).astype(int).tolist()), tuple(np.round(c + d).astype(int).tolist()), 1.0, 1, cv2.LINE_AA)
    return cv2.filter2D(linear, -1, kernel / kernel.sum(), borderType=cv2.BORDER_REPLICATE)


# ---------------------------------------------------------------- files


def rounded(value, digits=6):
    if isinstance(value, dict):
        return {k: rounded(v, digits) for k, v in value.items()}
    if isinstance(value, (list, tuple, np.ndarray)):
        return [rounded(v, digits) for v in value]
    if isinstance(value, (float, np.floating)):
        return round(float(value), digits) + 0.0
    return value


def write_text(path, text):
    temporary = path.with_name(path.name + ".part")
    temporary.write_text(text)
    temporary.replace(path)


def write_json(path, data):
    """One station a line, so that a difference between two versions can be read."""
    stations = data.pop("stations", None)
    text = json.dumps(rounded(data, 9), indent=1)
    if stations is not None:
        rows = ",\n  ".join(json.dumps(rounded(s, 6)) for s in stations)
        text = text[:-2] + ',\n "stations": [\n  ' + rows + "\n ]\n}"
    write_text(path, text + "\n")


def edge_stations(spec, blade, camera, R, t):
    def pixel(x, y, z):
        return camera.project(np.array([[x, y, z]]) @ R.T + t)[0]

    rows = []
    for x in range(math.ceil(blade.from_x), math.floor(blade.to_x) + 1):
        x = float(x)
        z, zone = float(blade.edge_z(x)), blade.zone(x)
        row = {"x_mm": x, "zone": zone, "z_mm": z, "thickness_mm": spec["blade"]["thickness"]}
        left, right = blade.borders(x)
        if blade.stage != "scribed":
            left, right = (s.sign * float(s.surface(x, 0.0)) for s in (blade.left, blade.right))
        name = "scribe" if blade.stage == "scribed" else "land"
        row[name + "_left_y_mm"], row[name + "_right_y_mm"] = left, right
        if zone == "edge":
            row["centreline_offset_mm"] = (left + right) / 2
            row["line_gap_mm" if blade.stage == "scribed" else "land_width_mm"] = left - right
        row["px"] = pixel(x, (left + right) / 2, z)
        row[name + "_left_px"], row[name + "_right_px"] = pixel(x, left, z), pixel(x, right, z)
        for side, word in ((blade.left, "left"), (blade.right, "right")):
            u, depth = side.shoulder(x)
            if blade.stage == "bevelled" and zone != "ricasso":
                row["shoulder_%s_mm" % word] = [side.sign * u, z + depth]  # hidden in the jaws
                continue
            if zone == "plunge":
                continue
            u, depth = (u, depth) if zone == "edge" else (side.half, side.chamfer)
            row["shoulder_%s_mm" % word] = [side.sign * u, z + depth]
            row["shoulder_%s_px" % word] = pixel(x, side.sign * u, z + depth)
            if side.cut and zone == "edge":
                row["facet_width_%s_mm" % word] = u - side.sign * (left if side.sign > 0 else right)
        rows.append(row)
    return rows


def edge_truth(spec, blade, camera, R, t):
    Rb, tb = card_to_blade(spec)
    truth = base_truth(spec, camera)
    scale = spec["card"]["print_scale"]
    truth["pass"] = {"thickness": "%gmm" % spec["blade"]["thickness"], "tip": spec["tip"],
                     "printed_bar": "%gmm" % (200 * scale[0])}
    truth["card"] = {"present": spec.get("card_present", True), "kind": "edge", "print_scale_along": scale[0],
                     "print_scale_across": scale[1], "thickness_mm": spec["card"]["thick"]}
    truth["T_camera_blade"] = {"R": R, "t_mm": t}
    truth["T_camera_card"] = {"R": R @ Rb, "t_mm": R @ tb + t}
    truth["T_blade_card"] = {"R": Rb, "t_mm": tb}
    truth["camera_in_blade_mm"] = -R.T @ t
    truth["edge_above_card_mm"] = spec["card"]["edge_above"]
    truth["tip"] = spec["tip"]
    truth["blade_present"] = spec.get("blade_present", True)
    if not truth["blade_present"]:
        del truth["pass"]["tip"], truth["tip"]
        return truth
    truth["stage"], truth["thickness_mm"] = blade.stage, spec["blade"]["thickness"]
    truth["blade_from_to_mm"] = [blade.from_x, blade.to_x]
    truth["broken_corners_mm"] = blade.left.chamfer
    if blade.stage != "scribed":
        truth["facet_angle_deg"] = dict(zip(("left", "right"), spec["blade"].get("angle") or
                                            [math.degrees(math.atan(s.slope(60.0))) for s in (blade.left, blade.right)]))
        levels = [0.0, 0.1, 0.25, 0.5, 0.75, 1.0, 2.0, 4.0] if blade.stage == "bevelled" else [0.0, 0.1, 0.25, 0.5, 0.75]
        at = [{"z_mm": z, "left_mm": blade.left.plunge_x(z), "right_mm": blade.right.plunge_x(z)} for z in levels]
        for row in at:
            row["mismatch_mm"] = row["left_mm"] - row["right_mm"]
        truth["plunge"] = dict(at[0], radius_left_mm=blade.left.radius, radius_right_mm=blade.right.radius,
                               full_depth_from_left_mm=blade.left.end_x, full_depth_from_right_mm=blade.right.end_x, levels=at)
    rows = edge_stations(spec, blade, camera, R, t)
    offsets = [r["centreline_offset_mm"] for r in rows if "centreline_offset_mm" in r]
    worst = max(offsets, key=abs)
    truth["summary"] = {"centreline_offset_mm": float(np.mean(offsets)), "centreline_offset_worst_mm": worst, "symmetry_mm": 2 * abs(worst)}
    truth["stations"] = rows
    return truth


def base_truth(spec, camera):
    return {"format": "evenbevel.truth/1", "photo": spec["file"], "what": spec["what"], "view": spec["view"],
            "image": {"width_px": camera.width, "height_px": camera.height, "exif_orientation": spec.get("orientation")},
            "camera": {"file": "calibration/sample-%s.yml" % spec["device"], "fx_px": camera.fx, "fy_px": camera.fy,
                       "cx_px": camera.cx, "cy_px": camera.cy, "distortion_k1_k2_p1_p2_k3": camera.dist}}


def write_camera_file(name, camera):
    identity = camera.spec.get("identity")
    lines = ["%YAML:1.0", "---", "# True intrinsics of the %s that the sample photos pretend to come from." % name,
             "image_width: %d" % camera.width, "image_height: %d" % camera.height,
             "camera_matrix: !!opencv-matrix", "   rows: 3", "   cols: 3", "   dt: d",
             "   data: [ %.10g, 0., %.10g, 0., %.10g, %.10g, 0., 0., 1. ]" % (camera.fx, camera.cx, camera.fy, camera.cy),
             "distortion_coefficients: !!opencv-matrix", "   rows: 1", "   cols: 5", "   dt: d",
             "   data: [ %s ]" % ", ".join("%.10g" % d for d in camera.dist)]
    if identity:
        lines += ['camera_make: "%s"' % identity["make"], 'camera_model: "%s"' % identity["model"], 'lens: "%s"' % identity["lens"],
                  "focal_length_mm: %g" % identity["focal_mm"], "focal_length_35mm: %g" % identity["focal_35mm"]]
    CALIBRATION.mkdir(exist_ok=True)
    write_text(CALIBRATION / ("sample-%s.yml" % name), "\n".join(lines) + "\n")


def add_exif(path, spec, camera):
    identity = camera.spec.get("identity")
    if not identity:
        return
    shot = spec["look"]
    tags = {"Make": identity["make"], "Model": identity["model"], "LensMake": identity["make"], "LensModel": identity["lens"],
            "FocalLength": identity["focal_mm"], "FocalLengthIn35mmFormat": identity["focal_35mm"], "FNumber": 1.8,
            "ISO": shot.get("iso", 64), "ExposureTime": shot.get("seconds", "1/100"), "Orientation#": spec["orientation"],
            "ExifImageWidth": camera.width, "ExifImageHeight": camera.height, "DateTimeOriginal": spec["taken"],
            "CreateDate": spec["taken"], "ColorSpace#": 1, "Flash#": 16, "MeteringMode#": 5}
    subprocess.run(["exiftool", "-q", "-overwrite_original"] + ["-%s=%s" % kv for kv in tags.items()] + [str(path)], check=True)


def write_photo(picture, spec, camera, folder):
    target = HERE / spec["file"]
    heic = target.suffix == ".heic"
    jpeg = folder / (spec["name"] + ".part.jpg")
    cv2.imwrite(str(jpeg), picture[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, 100 if heic else spec["look"]["quality"]])
    add_exif(jpeg, spec, camera)
    if heic:
        out = folder / (spec["name"] + ".part.heic")
        subprocess.run(["heif-enc", "-q", str(spec["look"]["quality"]), "-o", str(out), str(jpeg)], check=True, stdout=subprocess.DEVNULL)
        jpeg = out
    data = jpeg.read_bytes()
    temporary = target.with_name(target.name + ".part")
    temporary.write_bytes(data)
    temporary.replace(target)
    return len(data)


# ---------------------------------------------------------------- one photo


def make(spec, cameras, work, draft):
    camera = cameras[spec["device"]]
    folder = work / spec["scene"]
    folder.mkdir(parents=True, exist_ok=True)
    card = folder / "card.png"
    if not card.exists():
        write_card_print(spec["view"], card)
    window = full_window(camera)
    frame_scale, strip_scale = (0.5, 2) if draft else (spec["frame_scale"], spec["strip_scale"])
    frame_quality = ["-A"] if draft else ["+AM1", "+A0.06", "+R4", "+J1.0"]
    strip_quality = ["-A"] if draft else ["+AM1", "+A0.08", "+R3", "+J1.0"]
    strip = None
    if spec["view"] == "edge":
        blade = Blade(spec["blade"])
        R, t = edge_pose(spec)
        if spec.get("blade_present", True):
            write_mesh(blade, folder / "blade.inc")
        Rb, tb = card_to_blade(spec)
        lines = edge_lines(spec, blade)
        truth = edge_truth(spec, blade, camera, R, t)
        spec["silhouette"] = camera.pinhole(silhouette(spec, blade, Rb, tb) @ R.T + t)
        around = strip_window(camera, R, t, blade, spec)
        strip = (render("edge.pov", camera_lines(camera, R, t, around) + lines, around, strip_scale, strip_quality, folder, "strip"), around, strip_scale)
    else:
        R, t = lens_pose(spec)
        lines = lens_lines(spec)
        truth = base_truth(spec, camera)
        truth["card"] = {"present": True, "kind": "lens", "print_scale_along": 1.0, "print_scale_across": 1.0}
        truth["T_camera_card"] = {"R": R, "t_mm": t}
    full = render(spec["view"] + ".pov", camera_lines(camera, R, t, window) + lines, window, frame_scale, frame_quality, folder, "frame")
    linear = through_lens(spec, camera, ((full, window, frame_scale), strip), work)
    if "shake" in spec["look"]:
        linear = shake(linear, *spec["look"]["shake"])
    rng = np.random.Generator(np.random.SFC64(zlib.crc32(spec["name"].encode())))
    picture = tone_and_sharpen(sensor(linear, spec, camera, rng), spec)
    size = write_photo(picture, spec, camera, folder)
    write_json((HERE / spec["file"]).with_suffix(".json"), truth)
    print("%-24s %5.2f MB" % (spec["file"], size / 1e6), flush=True)


def silhouette(spec, blade, R, t):
    """Outline of what is near the plane in focus, blade frame."""
    if spec.get("card_present", True):
        wide, high = CARDS["edge"][5]
        return np.array([(a * (wide / 2 - 0.6), b * (high / 2 - 0.6), 0) for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]) @ R.T + t
    middle, half, z = (blade.from_x + blade.to_x) / 2, blade.left.half + 20, spec["card"]["edge_above"] + spec["card"]["thick"]
    return np.array([(middle - 84, -half, z), (middle + 81, -half, z), (middle + 81, half, z), (middle - 84, half, z)])


def merged(base, change):
    out = dict(base)
    for key, value in change.items():
        out[key] = merged(out[key], value) if isinstance(value, dict) and isinstance(out.get(key), dict) else value
    return out


def load_photos():
    """Each photo is its entry laid over the photo named in its "like", if any."""
    book = json.loads((SCENES / "photos.json").read_text())
    photos = {}
    for entry in book["photos"]:
        spec = merged(photos[entry["like"]], entry) if "like" in entry else merged(book["common"][entry["view"]], entry)
        spec["file"] = entry.get("file", entry["name"] + ".jpg")
        spec["scene"] = spec["like"] if entry.get("same_scene") else entry["name"]
        photos[entry["name"]] = spec
    return {k: Camera(v) for k, v in book["cameras"].items()}, photos


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--list", action="store_true", help="name the photos and stop")
    parser.add_argument("--only", action="append", metavar="NAME", help="make this photo (may be given again)")
    parser.add_argument("--draft", action="store_true", help="coarse rendering")
    parser.add_argument("--work", type=Path, metavar="DIR", help="keep renderings here and use them again")
    options = parser.parse_args()
    cameras, photos = load_photos()
    if options.list:
        for spec in photos.values():
            print("%-24s %s" % (spec["name"], spec["what"]))
        return
    unknown = set(options.only or []) - set(photos)
    if unknown:
        sys.exit("no such photo: %s (see --list)" % ", ".join(sorted(unknown)))
    for name, camera in cameras.items():
        write_camera_file(name, camera)
    with tempfile.TemporaryDirectory(prefix="samples-") as scratch:
        for name in options.only or photos:
            make(photos[name], cameras, options.work or Path(scratch), options.draft)


if __name__ == "__main__":
    main()
