"""The practice strip: the page that the program prints, lying on a table. No blade, no scene: the
page is the program's own drawing (`evenbevel card practice`), laid on in the picture point by
point; what is printed on it stands in scenes/photos.json, read off the page, and is the truth."""
import math
import os
import subprocess

import cv2
import numpy as np

from making.cards import INK, LANE, PAPER, PRINT_PX_PER_MM
from making.files import base_truth
from making.lens import tilted_pose
from making.places import HERE

SHEET = (284, 116)  # mm about the middle of the grid that are shown
DOTS_PER_MM = 600 / 25.4
GRID_MIDDLE = (148.5, 65.0)  # mm from the A4 page's top left corner
TABLE = (0.23, 0.16, 0.10)  # linear reflectance


def program():
    return os.environ.get("EVENBEVEL", str(HERE.parent / "build" / "release" / "evenbevel"))


def write_practice_print(path, ink_spread_mm):
    """The page as linear reflectance, as write_card_print has it: from the program's PNG, whose
    dots are those of a printer of 600 dpi."""
    drawn = path.with_name("practice-page.png")
    subprocess.run([program(), "card", "practice", "--sheet", "a4", "-o", str(drawn)], check=True, capture_output=True)
    page = cv2.imread(str(drawn))
    left, top = (round((m - s / 2) * DOTS_PER_MM) for m, s in zip(GRID_MIDDLE, SHEET))
    wide, high = (round(s * DOTS_PER_MM) for s in SHEET)
    page = page[top:top + high, left:left + wide]
    inks = np.empty(page.shape, np.float32)
    inks[:] = PAPER[::-1]
    inks[page.max(axis=2) < 40] = INK[::-1]
    inks[(page[:, :, 1] > 60) & (page[:, :, 2] < 40)] = LANE[::-1]
    inks = cv2.GaussianBlur(inks, (0, 0), ink_spread_mm * DOTS_PER_MM)
    # Where the middle of the grid lies among these dots, to the middle of the picture.
    s = PRINT_PX_PER_MM
    size = (SHEET[0] * s, SHEET[1] * s)
    scale = DOTS_PER_MM / s
    shift = [m * DOTS_PER_MM - at - 0.5 - (n / 2 - 0.5) * scale for m, at, n in zip(GRID_MIDDLE, (left, top), size)]
    to_dots = np.array([[scale, 0, shift[0]], [0, scale, shift[1]]], np.float32)
    inks = cv2.warpAffine(inks, to_dots, size, flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP, borderMode=cv2.BORDER_REPLICATE)
    rng = np.random.default_rng(26031)  # mottle of the paper
    mottle = cv2.resize(rng.standard_normal((SHEET[1] * 2, SHEET[0] * 2)).astype(np.float32), size, interpolation=cv2.INTER_CUBIC)
    cv2.imwrite(str(path), np.clip(inks * (1 + 0.010 * mottle[..., None]) * 255 + 0.5, 0, 255).astype(np.uint8))


def bow(card):
    """Height of the paper by its place along the page: its middle stands up, part of a cylinder."""
    half = SHEET[0] / 2
    if not card.get("bow_mm"):
        return np.array([[-half, 0.0], [half, 0.0]])
    x = np.linspace(-half, half, 200)
    return np.stack([x, card["bow_mm"] * (1 - (x / 130.0) ** 2)], axis=1)


def lamps(spec, x, y):
    """Light on the page from two large lamps and the room, by place."""
    light = spec["light"]
    total = np.full(x.shape, light["room"], np.float32)
    for name in ("key", "fill"):
        at = light[name + "_at"]
        far = np.sqrt((x - at[0]) ** 2 + (y - at[1]) ** 2 + at[2] ** 2)
        reference = math.sqrt(at[0] ** 2 + at[1] ** 2 + at[2] ** 2)
        total += light[name] * (reference / far) ** 3
    return total


def practice_shot(spec, camera, folder):
    card = spec["card"]
    R, t = tilted_pose(spec)
    write_practice_print(folder / "card.png", card["ink_spread_mm"])
    sheet = {"pose": (R, t), "paper": bow(card), "scale": card["print_scale"]}
    return {"pose": (R, t), "sheet": sheet, "truth": practice_truth(spec, camera, R, t)}


def bare_light(spec, shot, camera, maps):
    """The picture without its print: paper, or table beside it, in the light of the lamps."""
    R, t = shot["pose"]
    eye = -R.T @ t
    u, v = (maps[0] - camera.cx) / camera.fx, (maps[1] - camera.cy) / camera.fy
    ray = [R[0, k] * u + R[1, k] * v + R[2, k] for k in range(3)]
    x, y = (eye[k] - eye[2] / ray[2] * ray[k] for k in (0, 1))
    inside = (np.abs(x) < SHEET[0] / 2) & (np.abs(y) < SHEET[1] / 2)
    light = lamps(spec, x, y)
    tint = spec["light"]["tint"]
    return np.stack([np.where(inside, PAPER[ch], TABLE[ch]) * light * tint[ch] for ch in range(3)], axis=2).astype(np.float32)


def practice_truth(spec, camera, R, t):
    truth, strip, card = base_truth(spec, camera), spec["strip"], spec["card"]
    along, across = card["print_scale"]
    truth["pass"] = {"printed_bar": "%gmm" % (200 * along)}
    truth["card"] = {"present": True, "kind": "practice", "print_scale_along": along, "print_scale_across": across,
                     "bow_mm": card.get("bow_mm", 0.0)}
    truth["T_camera_card"] = {"R": R, "t_mm": t}
    truth["printed_mm"] = strip
    truth["on_this_print_mm"] = {k: v * (along if k == "plunge_mismatch" else across) for k, v in strip.items()}
    return truth
