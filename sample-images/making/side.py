"""The side view: the blade flat on the side card, one face up."""
import math
import zlib

import numpy as np

from making.camera import turn, vec
from making.cards import CARDS, PAPER
from making.files import base_truth
from making.lens import tilted_pose
from making.render import clipped_window, light_lines, matrix_text, write_sheet
from making.side_blade import SideBlade, write_side_mesh


def blade_to_card(spec, blade):
    """R, t of the blade in the card frame (card = R blade + t): its lower flat on the print."""
    card = spec["card"]
    left = spec["face"] == "left"
    base = np.array([[-1.0, 0, 0], [0, 0, 1], [0, 1, 0]] if left else [[1.0, 0, 0], [0, 0, 1], [0, -1, 0]])
    # Distal taper: the flats stand at this angle to the mid-plane, and the lower one lies flush.
    slope = float(blade.half(1.0) - blade.half(0.0))
    lean = turn("y", math.degrees(math.atan(slope)) * (1 if left else -1))
    R = turn("z", card.get("turn_deg", 0)) @ lean @ base
    up = float(blade.half(0.0)) * math.cos(math.atan(slope))
    return R, np.array([card["at"][0], card["at"][1], up + 0.01])


def bend(spec):
    """Height of the print by its place along the page: (x, z) points, x measured in the air."""
    curl = spec["card"].get("curl")
    wide = CARDS["side"][5][0] / 2
    if not curl:
        return np.array([[-wide, 0.0], [wide, 0.0]])
    x = np.concatenate([np.linspace(-wide, curl["from"], 60), [wide]])
    t = np.clip((curl["from"] - x) / (wide + curl["from"]), 0, None)
    return np.stack([x, curl["height"] * t**2], axis=1)


def specks(spec, blade, R, t, rng):
    """Dust, crumbs and lint on the upper face, card frame."""
    face = blade.left if spec["face"] == "left" else blade.right
    out = []
    for i in range(spec["dust"]["specks"] + spec["dust"]["lint"]):
        x = rng.uniform(blade.from_x + 2, blade.to_x - 8)
        z = rng.uniform(float(blade.edge_z(x)) + 0.3, float(blade.spine_z(x)) - 0.3)
        at = R @ np.array([x, face.sign * float(face.surface(x, z)), z]) + t
        if i < spec["dust"]["specks"]:
            size, grey = 0.03 + 0.09 * rng.random() ** 3, 0.02 + 0.35 * rng.random() ** 3
            out.append("sphere { %s %.4f pigment { rgb %.3f } finish { diffuse 0.8 } }" % (vec(at), size, grey))
        else:
            a = rng.uniform(0, math.pi)
            tip = at + rng.uniform(1.0, 3.5) * np.array([math.cos(a), math.sin(a), 0.05])
            out.append("cylinder { %s %s 0.022 pigment { rgb 0.35 } finish { diffuse 0.9 } }" % (vec(at), vec(tip)))
    return out


def side_lines(spec, blade, R, t, camera_R, camera_t):
    rng = np.random.default_rng(zlib.crc32(spec["scene"].encode()))
    card, bench, steel = spec["card"], spec["bench"], spec["blade"]["steel"]
    wide, high = CARDS["side"][5]
    scale = card["print_scale"]
    lines = ["#declare %s = %g;" % (name, steel[name]) for name in
             ("Flat_light", "Flat_mirror", "Flat_slope", "Bevel_light", "Bevel_mirror", "Bevel_slope", "Bevel_grit", "Smudge_depth")]
    shift = rng.uniform(-50, 50, 3)
    lines += ["#declare Smudge_shift = %s; #declare Paper_white = %s;" % (vec(shift), vec(PAPER)),
              "#declare Print_wide = %.6f; #declare Print_high = %.6f; #declare Card_thick = %g;" % (wide * scale[0], high * scale[1], card["thick"]),
              "#declare Dust_seed = %d; #declare Dust_count = %d; #declare Dust_from = %g;"
              % (zlib.crc32(spec["scene"].encode()) % 9973, spec["dust"]["card"], card["curl"]["from"] if "curl" in card else -1e3),
              "#macro Blade_to_card() %s #end" % matrix_text(R, t),
              "#macro Phone_to_card() %s #end" % matrix_text(camera_R.T @ turn("x", 180), -camera_R.T @ camera_t),
              "#declare Bench_turn = %g; #declare Bench_shift = %s;" % (bench["turn"], vec(bench["shift"] + [0])),
              "#declare Pencil_turn = %g; #declare Pencil_at = %s;" % (bench["pencil"][0], vec(bench["pencil"][1:] + [0])),
              "#macro Specks() union { sphere { <0, 0, -60> 0.01 } %s } #end" % "\n".join(specks(spec, blade, R, t, rng))]
    return lines + light_lines(spec, "z")


def side_stations(spec, blade, pixel):
    seen = blade.left if spec["face"] == "left" else blade.right
    rows = []
    for x in range(math.ceil(blade.from_x), math.floor(blade.to_x) + 1):
        x = float(x)
        low, top, zone = float(blade.edge_z(x)), float(blade.spine_z(x)), blade.zone(x)
        left, right = (f.sign * float(f.surface(x, low)) for f in (blade.left, blade.right))
        row = {"x_mm": x, "zone": zone, "edge_z_mm": low, "spine_z_mm": top, "thickness_mm": 2 * float(blade.half(x)),
               "land_left_y_mm": left, "land_right_y_mm": right}
        if zone == "edge":
            for f, word in ((blade.left, "left"), (blade.right, "right")):
                row["bevel_z_%s_mm" % word] = float(f.bevel_z(x))
                row["bevel_height_%s_mm" % word] = float(f.bevel_height(x))
                row["bevel_angle_%s_deg" % word] = math.degrees(math.atan(float(f.slope(x))))
            row["bevel_height_difference_mm"] = row["bevel_height_left_mm"] - row["bevel_height_right_mm"]
            row["bevel_px"] = pixel(x, seen.sign * float(blade.half(x)), float(seen.bevel_z(x)))
        near, far = (left, right) if seen.sign > 0 else (right, left)
        row["edge_px"], row["edge_far_px"] = pixel(x, near, low), pixel(x, far, low)
        row["spine_px"] = pixel(x, seen.sign * (float(blade.half(x)) - blade.corner), top)
        rows.append(row)
    return rows


def plunge_truth(spec, blade, pixel):
    word, seen = spec["face"], blade.left if spec["face"] == "left" else blade.right
    low = min(f.height for f in (blade.left, blade.right))
    levels = []
    for z in sorted({0.0, blade.middle_z} | {round(low * k / 8, 3) for k in range(1, 8)}):
        left, right = blade.left.plunge_row(z), blade.right.plunge_row(z)
        row = {"z_mm": z, "left": left, "right": right, "mismatch_mm": left["start_mm"] - right["start_mm"]}
        mine = left if word == "left" else right
        for name, x in mine.items():
            row[name.replace("_mm", "_px")] = pixel(x, seen.sign * float(seen.surface(x, z)), z)
        levels.append(row)
    out = {"z_mm": blade.middle_z, "left_mm": blade.left.middle_x, "right_mm": blade.right.middle_x,
           "mismatch_mm": blade.left.middle_x - blade.right.middle_x}
    for f, name in ((blade.left, "left"), (blade.right, "right")):
        out["angle_%s_deg" % name] = math.degrees(f.angle)
        out["radius_%s_mm" % name] = f.radius
        out["fillet_radius_%s_mm" % name] = f.fillet
        out["curve_%s" % name] = {"from_z_mm": f.arc_from_z, "to_x_mm": f.arc_to_x, "to_z_mm": f.height}
    xs = np.linspace(seen.at_edge_x, seen.arc_to_x, 60)
    out["crease_px"] = [pixel(x, seen.sign * float(blade.half(x)), float(seen.crease_z(x))) for x in xs]
    out["levels"] = levels
    return out


def side_truth(spec, blade, camera, R, t, camera_R, camera_t):
    def pixel(x, y, z):
        return camera.project(np.array([[x, y, z]]) @ (camera_R @ R).T + camera_R @ t + camera_t)[0]

    truth, b = base_truth(spec, camera), spec["blade"]
    scale = spec["card"]["print_scale"]
    tip = b.get("tip_thickness", b["thickness"])
    truth["face"] = spec["face"]
    truth["pass"] = {"thickness": "%gmm" % b["thickness"], "printed_bar": "%gmm" % (200 * scale[0]), "land": "%gmm" % b["land"]}
    if tip != b["thickness"]:
        truth["pass"]["tip_thickness"] = "%gmm" % tip
    truth["card"] = {"present": True, "kind": "side", "print": spec["card"].get("print", "colour"), "print_scale_along": scale[0],
                     "print_scale_across": scale[1], "thickness_mm": spec["card"]["thick"], "flat": "curl" not in spec["card"]}
    if "curl" in spec["card"]:
        truth["card"]["curl_from_x_mm"], truth["card"]["curl_height_mm"] = spec["card"]["curl"]["from"], spec["card"]["curl"]["height"]
    truth["T_camera_card"] = {"R": camera_R, "t_mm": camera_t}
    truth["T_card_blade"] = {"R": R, "t_mm": t}
    truth["T_camera_blade"] = {"R": camera_R @ R, "t_mm": camera_R @ t + camera_t}
    truth["camera_in_card_mm"] = -camera_R.T @ camera_t
    truth["thickness_mm"], truth["tip_thickness_mm"] = b["thickness"], tip
    truth["blade_from_to_mm"], truth["height_mm"] = [blade.from_x, blade.to_x], blade.height
    truth["broken_corners_mm"], truth["land_mm"] = blade.corner, b["land"]
    truth["centreline_offset_mm"] = b.get("offset", 0.0)
    truth["plunge"] = plunge_truth(spec, blade, pixel)
    rows = side_stations(spec, blade, pixel)
    cut = [r for r in rows if r["zone"] == "edge"]
    differences = [r["bevel_height_difference_mm"] for r in cut]
    truth["summary"] = {"bevel_height_left_mm": float(np.mean([r["bevel_height_left_mm"] for r in cut])),
                        "bevel_height_right_mm": float(np.mean([r["bevel_height_right_mm"] for r in cut])),
                        "bevel_height_difference_mm": float(np.mean(differences)),
                        "bevel_height_difference_worst_mm": max(differences, key=abs), "plunge_mismatch_mm": truth["plunge"]["mismatch_mm"]}
    truth["stations"] = rows
    return truth


def side_shot(spec, camera, folder):
    """What make_samples.py needs to render and to photograph this scene."""
    blade = SideBlade(spec["blade"])
    R, t = blade_to_card(spec, blade)
    camera_R, camera_t = tilted_pose(spec)
    write_side_mesh(blade, folder / "blade.inc", "Blade_to_card()")
    paper = bend(spec)
    write_sheet(folder / "sheet.inc", paper, CARDS["side"][5][1], spec["card"]["thick"])
    box = np.array([(x, y, z) for x in (blade.from_x - 4, blade.to_x + 4) for y in (-4, 4) for z in (-5, blade.height + 5)])
    window = clipped_window(camera, camera.pinhole((box @ R.T + t) @ camera_R.T + camera_t), 10)
    return {"lines": side_lines(spec, blade, R, t, camera_R, camera_t), "pose": (camera_R, camera_t), "strip": window,
            "truth": side_truth(spec, blade, camera, R, t, camera_R, camera_t),
            "sheet": {"pose": (camera_R, camera_t), "paper": paper, "scale": spec["card"]["print_scale"]}}
