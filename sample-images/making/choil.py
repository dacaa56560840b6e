"""The choil view: blade edge up, heel toward the camera, the heel card in the plane of the heel."""
import zlib

import numpy as np

from making.camera import turn, vec
from making.cards import CARDS, PAPER
from making.choil_blade import ChoilBlade, write_choil_mesh
from making.files import base_truth
from making.lens import tilted_pose
from making.render import clipped_window, light_lines, matrix_text

JAW_TOP = -50.0  # the card's lower rim stands on it
DEPTHS = [0.0, 0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0]


def blade_to_card(spec):
    """R, t of the blade in the card frame: end face in the plane of the print, edge up."""
    base = np.array([[0.0, 1, 0], [0, 0, -1], [-1, 0, 0]])
    return turn("z", spec["card"].get("turn_deg", 0)) @ base, np.array([spec["card"]["at"][0], spec["card"]["at"][1], 0.0])


def card_outline(spec):
    """The card with its hand-cut lane, one closed polygon, card mm."""
    rng = np.random.default_rng(zlib.crc32(spec["scene"].encode()))
    half, side, top = CARDS["heel"][5][0] / 2, 10.0, 30.0
    ys = np.linspace(-half, top, 10)
    left = [(-side + d, y) for y, d in zip(ys, 0.12 * rng.standard_normal(len(ys)))]
    right = [(side + d, y) for y, d in zip(ys[::-1], 0.12 * rng.standard_normal(len(ys)))]
    return np.array(left + right + [(half, -half), (half - 0.3, half), (-half + 0.2, half - 0.2), (-half, -half)])


def choil_lines(spec, blade, R, t, camera_R, camera_t):
    wide, high = CARDS["heel"][5]
    scale, bench, outline = spec["card"]["print_scale"], spec["bench"], card_outline(spec)
    outline = np.concatenate([outline, outline[:1]])
    return ["#declare Half_T = %.6f; #declare Jaw_front = %g; #declare Blade_x = %g;" % (blade.left.half + 0.01, spec["jaw_front"], t[0]),
            "#declare End_light = %g; #declare End_mirror = %g;" % tuple(spec["blade"]["end_steel"]),
            "#declare Face_light = %g; #declare Face_mirror = %g;" % tuple(spec["blade"]["face_steel"]),
            "#declare Behind = %g; #declare Behind_light = %g; #declare Paper_white = %s;" % (*spec["behind"], vec(PAPER)),
            "#declare Print_wide = %.6f; #declare Print_high = %.6f; #declare Card_thick = %g;" % (wide * scale[0], high * scale[1], spec["card"]["thick"]),
            "#declare Card_points = %d;" % len(outline),
            "#macro Card_outline() %s #end" % ", ".join("<%.4f, %.4f>" % tuple(p) for p in outline),
            "#declare Bench_turn = %g; #declare Bench_shift = %s;" % (bench["turn"], vec(bench["shift"])),
            "#macro Blade_to_card() %s #end" % matrix_text(R, t),
            "#macro Phone_to_card() %s #end" % matrix_text(camera_R.T @ turn("x", 180), -camera_R.T @ camera_t)] + light_lines(spec, "y")


def choil_truth(spec, blade, camera, R, t, camera_R, camera_t):
    def pixels(points):
        return camera.project((np.array(points) @ R.T + t) @ camera_R.T + camera_t)

    truth, b, scale = base_truth(spec, camera), spec["blade"], spec["card"]["print_scale"]
    truth["pass"] = {"thickness": "%gmm" % b["thickness"], "printed_bar": "%gmm" % (60 * scale[0])}
    truth["card"] = {"present": True, "kind": "heel", "print_scale_along": scale[0], "print_scale_across": scale[1],
                     "thickness_mm": spec["card"]["thick"]}
    truth["T_camera_card"] = {"R": camera_R, "t_mm": camera_t}
    truth["T_card_blade"] = {"R": R, "t_mm": t}
    truth["T_camera_blade"] = {"R": camera_R @ R, "t_mm": camera_R @ t + camera_t}
    truth["camera_in_blade_mm"] = R.T @ (-camera_R.T @ camera_t - t)
    truth["thickness_mm"], truth["height_mm"], truth["edge_thickness_mm"] = b["thickness"], blade.height, b["land"]
    truth["seen_depth_mm"] = t[1] - JAW_TOP
    truth["shape"] = "hollow" if blade.left.radius else "flat"
    truth["bevel_height_left_mm"], truth["bevel_height_right_mm"] = blade.left.height, blade.right.height
    if blade.left.radius:
        truth["hollow_radius_left_mm"] = truth["hollow_radius_right_mm"] = blade.left.radius
    low, high = 1.0, min(blade.left.height, blade.right.height, truth["seen_depth_mm"])
    angles = [side.angle(low, high) for side in (blade.left, blade.right)]
    truth["angle"] = {"from_mm": low, "to_mm": high, "left_deg": angles[0], "right_deg": angles[1], "included_deg": sum(angles)}
    rows = []
    for depth in DEPTHS:
        left, right = (float(side.distance(depth)) for side in (blade.left, blade.right))
        ends = pixels([[0, left, depth], [0, -right, depth]])
        rows.append({"depth_mm": depth, "thickness_mm": left + right, "half_left_mm": left, "half_right_mm": right, "asymmetry_mm": left - right,
                     "median_y_mm": (left - right) / 2, "left_px": ends[0], "right_px": ends[1]})
    truth["thickness_at"] = rows
    middle = np.array([[0, (blade.left.land - blade.right.land) / 2, 0.0]])
    truth["edge_px"] = pixels(middle)[0]
    polygon = blade.polygon()
    points = pixels(np.column_stack([np.zeros(len(polygon)), polygon]))
    truth["stations"] = [{"y_mm": y, "z_mm": z, "px": p} for (y, z), p in zip(polygon, points)]
    return truth


def choil_shot(spec, camera, folder):
    """What make_samples.py needs to render and to photograph this scene."""
    blade = ChoilBlade(spec["blade"])
    R, t = blade_to_card(spec)
    camera_R, camera_t = tilted_pose(spec)
    write_choil_mesh(blade, folder / "blade.inc", "Blade_to_card()")

    def seen(points):
        return camera.pinhole(np.array(points) @ camera_R.T + camera_t)

    section = np.column_stack([np.zeros(len(blade.polygon())), blade.polygon()]) @ R.T + t
    outline = card_outline(spec)
    half, front = blade.left.half, spec["jaw_front"]
    jaws = [[(t[0] + s * x, y, front) for x, y in ((half, JAW_TOP), (half + 34, JAW_TOP), (half + 34, JAW_TOP - 38), (half, JAW_TOP - 38))]
            for s in (1, -1)]
    near = [seen(np.column_stack([outline, np.zeros(len(outline))])), seen(section)] + [seen(j) for j in jaws]
    strip = clipped_window(camera, seen([(x, y, 0) for x in (-14, 14) for y in (JAW_TOP - 8, 34)]), 10)
    return {"lines": choil_lines(spec, blade, R, t, camera_R, camera_t), "pose": (camera_R, camera_t), "strip": strip, "near": near,
            "near_strip": near, "truth": choil_truth(spec, blade, camera, R, t, camera_R, camera_t),
            "sheet": {"pose": (camera_R, camera_t), "paper": np.array([[-50.0, 0.0], [50.0, 0.0]]), "scale": spec["card"]["print_scale"]}}
