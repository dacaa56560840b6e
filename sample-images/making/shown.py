"""Small pictures that show a maker the set-ups: the photos' own scenes, seen from aside."""
import cv2
import numpy as np

from making.camera import Camera, camera_lines, full_window, look, turn, vec
from making.places import HERE
from making.render import matrix_text, render


def make_shown(entry, shot, view, folder, draft):
    """Renders one of them from the scene that `shot` describes and writes shown/NAME.jpg."""
    wide, high = entry["size"]
    camera = Camera({"size": entry["size"], "fx": entry["focal_px"], "fy": entry["focal_px"], "cx": (wide - 1) / 2,
                     "cy": (high - 1) / 2, "distortion": [0, 0, 0, 0, 0]})
    at, target, up = (np.array(entry[k], float) for k in ("from", "target", "up"))
    R, t = look(at, target, np.cross(target - at, up), 0.0)
    phone_R, phone_t = shot["pose"]
    lines = camera_lines(camera, R, t, full_window(camera)) + shot["lines"]
    lines += ["#declare Plain_card = 0;"]
    placed = ['#declare Scene_file = "%s.pov";' % view, "#declare Stand_foot = %s;" % vec(entry["stand_foot"]),
              "#macro Shown_phone() %s #end" % matrix_text(phone_R.T @ turn("x", 180), -phone_R.T @ phone_t)]
    (folder / "shown.inc").write_text("\n".join(placed) + "\n")
    scale = 1 if draft else 2
    picture = render("setup.pov", lines, full_window(camera), scale, ["-A"] if draft else ["+AM1", "+A0.1", "+R2"], folder, "shown")
    linear = picture.astype(np.float32) / 65535 * entry["exposure"]
    bright = linear / (1 + 0.35 * linear) * 1.2
    encoded = np.where(bright <= 0.0031308, 12.92 * bright, 1.055 * np.power(np.maximum(bright, 1e-6), 1 / 2.4) - 0.055)
    encoded = cv2.resize(encoded, (encoded.shape[1] // scale, encoded.shape[0] // scale), interpolation=cv2.INTER_AREA)[:high, :wide]
    path = HERE / "shown" / (entry["name"] + ".jpg")
    cv2.imwrite(str(path), np.clip(encoded[:, :, ::-1] * 255 + 0.5, 0, 255).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, 84])
    print("%-24s %5.0f kB" % (path.name, path.stat().st_size / 1e3), flush=True)
