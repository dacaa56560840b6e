"""What every scene tells POV-Ray, and running it."""
import hashlib
import math
import os
import subprocess
import sys

import cv2

from making.camera import full_window, box_window, vec
from making.places import SCENES


def light_lines(spec, up="-z"):
    """Lights and sky; up is the direction of the ceiling."""
    light = spec["light"]
    sky = "%g + %g * max(0, %s)" % (light["room"], light.get("ceiling", 0.1), up)
    for dx, dy, dz, spread, power in light["windows"]:
        n = math.sqrt(dx * dx + dy * dy + dz * dz)
        sky += " + %g * exp((x * %.5f + y * %.5f + z * %.5f - 1) / %g)" % (power, dx / n, dy / n, dz / n, spread)
    if up == "-z":  # The phone's own shadow; the side and choil scenes hold a phone.
        sky = "(%s) * (1 - 0.8 * exp(-(1 + z) / 0.02))" % sky
    return ["#declare Sky = function(x, y, z) { %s }" % sky,
            "#declare Sky_full = %g; #declare Sky_tint = %s;" % (light.get("sky_full", 1.0), vec(light.get("tint", [1, 1, 1]))),
            "#declare Key_at = %s; #declare Key_power = %g; #declare Key_wide = %g; #declare Key_tint = %s;"
            % (vec(light["key_at"]), light["key"], light.get("key_wide", 120), vec(light.get("tint", [1, 1, 1]))),
            "#declare Fill_at = %s; #declare Fill_power = %g;" % (vec(light["fill_at"]), light["fill"])]


def matrix_text(R, t):
    return "matrix <%s>" % ", ".join("%.10g" % a for a in list(R.T.ravel()) + list(t))


def clipped_window(camera, points, margin):
    """Window around the points, as far as the photo shows them."""
    left, top, w, h = box_window(points, margin)
    l0, t0, w0, h0 = full_window(camera)
    right, bottom = min(left + w, l0 + w0), min(top + h, t0 + h0)
    left, top = max(left, l0), max(top, t0)
    return left, top, int(right - left), int(bottom - top)


def write_sheet(path, paper, high, thick):
    """The card as a mesh that may be bent along the page; its texture is Print."""
    n, half = len(paper), high / 2
    points = [(x, y, z) for x, z in paper for y in (-half, half)]
    below = [(x, y, z - thick) for x, y, z in points]
    faces = []
    for i in range(n - 1):
        a = 2 * i
        faces += [(a, a + 2, a + 1), (a + 1, a + 2, a + 3)]
        for k in (0, 1):
            faces += [(a + k, a + k + 2, 2 * n + a + k), (a + k + 2, 2 * n + a + k + 2, 2 * n + a + k)]
    for a in (0, 2 * n - 2):
        faces += [(a, a + 1, 2 * n + a), (a + 1, 2 * n + a + 1, 2 * n + a)]
    with open(path, "w") as out:
        out.write("mesh2 { vertex_vectors { %d" % (4 * n) + "".join(", <%.5f,%.5f,%.5f>" % p for p in points + below) + " }\n")
        out.write("face_indices { %d" % len(faces) + "".join(", <%d,%d,%d>" % f for f in faces) + " } texture { Print } }\n")


def render(scene, lines, window, scale, quality, folder, tag):
    """Runs POV-Ray in `folder` unless the same scene was rendered before; returns linear RGB."""
    source = "\n".join(lines)
    parts = [folder / "blade.inc", folder / "sheet.inc", folder / "shown.inc", SCENES / "materials.inc", SCENES / scene]
    inputs = source + "".join(p.read_text() for p in parts if p.exists()) + repr((scale, quality))
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
