"""The edge view: blade edge up in two jaws, the edge card dropped over it."""
import math
import zlib

import numpy as np

from making.camera import look, turn, vec
from making.cards import CARDS, PAPER
from making.files import base_truth
from making.edge_blade import Blade, write_mesh
from making.render import clipped_window, light_lines, matrix_text


def card_to_blade(spec):
    """R, t of the card in the blade frame (blade = R card + t)."""
    card = spec["card"]
    base = turn("x", 180) if spec["tip"] == "right" else turn("y", 180)
    tilt = turn("x", card.get("tilt_deg", 0)) @ turn("y", card.get("nod_deg", 0))
    return tilt @ turn("z", card.get("turn_deg", 0)) @ base, np.array([card["at"][0], card["at"][1], card["edge_above"]])


def edge_pose(spec):
    """R, t from the blade frame into the camera."""
    c = spec["camera"]
    right = card_to_blade(spec)[0] @ np.array([1.0, 0, 0])
    at = np.array([c["along"], c["lateral"], -c["distance"]])
    return look(at, [c["target"][0], c["target"][1], 0], right, c["roll_deg"])


def strip_window(camera, R, t, blade, spec):
    side, low = spec["blade"]["thickness"] / 2 + 3.0, spec["card"]["edge_above"]
    ends = (blade.from_x - 1, blade.to_x + 1)
    if spec.get("laid_on"):  # the whole of the slot, which the laid-on print does not know
        half = CARDS["edge"][5][0] / 2 + 1
        ends, side = (spec["card"]["at"][0] - half, spec["card"]["at"][0] + half), side + 1.5
    box = np.array([(x, y, z) for x in ends for y in (-side, side) for z in (0.0, low)])
    return clipped_window(camera, camera.pinhole(box @ R.T + t), 10)


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
    rng = np.random.default_rng(zlib.crc32(spec.get("set_up", spec["scene"]).encode()))
    outline = slot_outline(spec, rng)
    outline.append(outline[0])
    wide, high = CARDS["edge"][5]
    scale = card["print_scale"]
    steel = surface.get("steel", {})
    middle = (blade.from_x + blade.to_x) / 2
    lines = ["#declare Laid_on = %d; #declare Paper_white = %s;" % (spec.get("laid_on", False), vec(PAPER)),
             "#declare Blade_present = %d; #declare Card_present = %d;" % (spec.get("blade_present", True), spec.get("card_present", True)),
             "#declare Half_T = %.6f;" % (surface["thickness"] / 2),
             "#declare Blade_from = %g; #declare Blade_to = %g;" % (blade.from_x, blade.to_x),
             "#declare Finish_top = %d;" % (surface.get("surface") == "dye"),
             "#declare Dye_from = %g; #declare Dye_to = %g;" % tuple(surface.get("dye", [0, 0]))]
    for name, value in (("Top_light", 0.26), ("Top_mirror", 0.40), ("Facet_light", 0.85), ("Facet_mirror", 0.22),
                        ("Facet_slope", 0.40), ("Facet_grit", 0.045)):
        lines.append("#declare %s = %g;" % (name, steel.get(name, value)))
    lines += ["#declare Edge_above_card = %g; #declare Card_thick = %g;" % (card["edge_above"], card["thick"]),
              "#declare Jaw_from = %g; #declare Jaw_to = %g;" % (middle - 84, middle + 81),
              "#declare Card_points = %d;" % len(outline),
              "#macro Card_outline() %s #end" % ", ".join("<%.4f, %.4f>" % p for p in outline),
              "#macro Card_to_blade() %s #end" % matrix_text(R, t),
              "#declare Print_wide = %.6f; #declare Print_high = %.6f;" % (wide * scale[0], high * scale[1]),
              "#declare Dust_seed = %d; #declare Dust_count = %d; #declare Speck_count = %d;"
              % (zlib.crc32(spec.get("set_up", spec["scene"]).encode()) % 9973, spec.get("dust", {}).get("card", 0), spec.get("dust", {}).get("jaws", 0)),
              "#declare Bench_z = %g; #declare Bench_turn = %g; #declare Bench_shift = %s;" % (bench["z"], bench["turn"], vec(bench["shift"] + [0])),
              "#declare Pencil_turn = %g; #declare Pencil_at = %s;" % (bench["pencil"][0], vec(bench["pencil"][1:] + [0])),
              "#declare Rule_turn = %g; #declare Rule_at = %s;" % (bench["rule"][0], vec(bench["rule"][1:] + [0])),
              "#macro Specks() union { sphere { <0, 0, 60> 0.01 } %s } #end" % "\n".join(specks(spec, blade, rng))]
    return lines + light_lines(spec)


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
    if "set_up" in spec:
        truth["set_up"], truth["knife"] = spec["set_up"], spec["knife"]
        truth["lean_deg"] = float(np.degrees(np.arcsin(Rb[1, 2])))
    truth["blade_present"] = spec.get("blade_present", True)
    if not truth["blade_present"]:
        del truth["pass"]["tip"], truth["tip"]
        return truth
    truth["stage"], truth["thickness_mm"] = blade.stage, spec["blade"]["thickness"]
    truth["blade_from_to_mm"] = [blade.from_x, blade.to_x]
    truth["broken_corners_mm"] = blade.left.chamfer
    if blade.stage == "plain":
        truth["pass"] = {"known": "%gmm" % spec["blade"]["thickness"], "edge_height": "%gmm" % spec["card"]["edge_above"]}
        del truth["tip"]
        return truth
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


def silhouette(spec, blade, R, t):
    """Outline of what is near the plane in focus, blade frame."""
    if spec.get("card_present", True):
        wide, high = CARDS["edge"][5]
        return np.array([(a * (wide / 2 - 0.6), b * (high / 2 - 0.6), 0) for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]) @ R.T + t
    middle, half, z = (blade.from_x + blade.to_x) / 2, blade.left.half + 20, spec["card"]["edge_above"] + spec["card"]["thick"]
    return np.array([(middle - 84, -half, z), (middle + 81, -half, z), (middle + 81, half, z), (middle - 84, half, z)])


def turned_about(spec):
    """The same bench, jaws, card and lights for a blade that was turned end for end in the jaws."""
    other, back = dict(spec), lambda v: [-v[0], -v[1]] + list(v[2:])
    card, light, bench = spec["card"], spec["light"], spec["bench"]
    other["card"] = dict(card, tilt_deg=-card["tilt_deg"], nod_deg=-card["nod_deg"])
    other["light"] = dict(light, key_at=back(light["key_at"]), fill_at=back(light["fill_at"]), windows=[back(w) for w in light["windows"]])
    turned = {name: [bench[name][0] + 180] + [-v for v in bench[name][1:]] for name in ("pencil", "rule")}
    other["bench"] = dict(bench, turn=bench["turn"] + 180, shift=[-v for v in bench["shift"]], **turned)
    return other


def edge_shot(spec, camera, folder):
    """What make_samples.py needs to render and to photograph this scene."""
    if spec.get("turned"):
        spec = turned_about(spec)
    blade = Blade(spec["blade"])
    R, t = edge_pose(spec)
    if spec.get("blade_present", True):
        write_mesh(blade, folder / "blade.inc")
    Rb, tb = card_to_blade(spec)
    shot = {"lines": edge_lines(spec, blade), "pose": (R, t), "strip": strip_window(camera, R, t, blade, spec),
            "truth": edge_truth(spec, blade, camera, R, t),
            "near": [camera.pinhole(silhouette(spec, blade, Rb, tb) @ R.T + t)]}
    if spec.get("laid_on"):
        half = CARDS["edge"][5][0] / 2
        shot["sheet"] = {"pose": (R @ Rb, R @ tb + t), "paper": np.array([[-half, 0.0], [half, 0.0]]),
                         "scale": spec["card"]["print_scale"]}
    return shot
