#!/usr/bin/env python3
"""Makes the sample photos, their truth files and their camera files.

    make_samples.py --list
    make_samples.py                      everything (some hours on two cores)
    make_samples.py --only edge-usb      one photo
    make_samples.py --draft --only NAME  coarse rendering, to try a scene

POV-Ray 3.7 renders each scene (scenes/) through a pinhole; the modules in making/ build the blade's
mesh and the card's print, and then do what lens, sensor and phone do to a picture. Mesh and truth
file come from the same functions of the blade. Needs (Debian): povray, python3-opencv, exiftool,
libheif-examples. Frames, signs and units: README.md here.
"""
import argparse
import json
import sys
import tempfile
import time
import zlib
from pathlib import Path

import numpy as np

from making.camera import Camera, camera_lines, full_window
from making.cards import write_card_print
from making.choil import choil_shot
from making.edge import edge_shot
from making.files import write_camera_file, write_json, write_photo
from making.lens import lens_shot
from making.phone import blur, lens_blur, print_on_sheet, sensor, shake, source_maps, through_lens, tone_and_sharpen
from making.places import HERE, SCENES
from making.practice import bare_light, practice_shot
from making.render import render
from making.shown import make_shown
from making.side import side_shot

SHOTS = {"edge": edge_shot, "lens": lens_shot, "side": side_shot, "choil": choil_shot, "practice": practice_shot}
CARD_OF = {"edge": "edge", "lens": "lens", "side": "side", "choil": "heel"}


def set_up(spec, camera, folder):
    """Writes what the scene includes into `folder`; returns what to render and the truth."""
    folder.mkdir(parents=True, exist_ok=True)
    card = folder / "card.png"
    if not card.exists() and spec["view"] in CARD_OF:
        write_card_print(CARD_OF[spec["view"]], card, spec.get("card", {}).get("print", "colour"))
    shot = SHOTS[spec["view"]](spec, camera, folder)
    if "sheet" in shot:
        shot["sheet"]["file"] = card
    return shot


def page_in_lens(spec, camera, shot, work):
    """A printed page on a table, without a scene."""
    maps = source_maps(camera, work)
    linear = bare_light(spec, shot, camera, maps) * print_on_sheet(shot["sheet"], camera, maps, work)
    return np.stack([blur(linear[:, :, ch], lens_blur(1, spec["look"]["card_blur_px"])) for ch in range(3)], axis=2)


def scene_in_lens(spec, camera, shot, folder, work, draft):
    """What POV-Ray makes of the scene, through the lens."""
    frame_scale, strip_scale = spec["frame_scale"], spec["strip_scale"]
    frame_quality = ["+AM1", "+A%g" % spec.get("frame_threshold", 0.06), "+R%d" % spec.get("frame_rays", 4), "+J1.0"]
    strip_quality = ["+AM1", "+A%g" % spec.get("strip_threshold", 0.08), "+R3", "+J1.0"]
    if draft:
        frame_scale, strip_scale, frame_quality, strip_quality = 0.5, 1, ["-A"], ["-A"]

    def rendering(tag, window, scale, quality, *more):
        lines = camera_lines(camera, *shot["pose"], window) + shot["lines"] + list(more)
        return render(spec["view"] + ".pov", lines, window, scale, quality, folder, tag), window, scale

    strip = rendering("strip", shot["strip"], strip_scale, strip_quality, "#declare Plain_card = 0;") if shot["strip"] else None
    frame = rendering("frame", full_window(camera), frame_scale, frame_quality, "#declare Plain_card = 1;")
    return through_lens(spec, camera, shot, frame, strip, work)


def make(spec, cameras, work, draft):
    began, camera = time.monotonic(), cameras[spec["device"]]
    folder = work / spec["scene"]
    shot = set_up(spec, camera, folder)
    if spec["view"] == "practice":
        linear = page_in_lens(spec, camera, shot, work)
    else:
        linear = scene_in_lens(spec, camera, shot, folder, work, draft)
    if "shake" in spec["look"]:
        linear = shake(linear, *spec["look"]["shake"])
    rng = np.random.Generator(np.random.SFC64(zlib.crc32(spec["name"].encode())))
    picture = tone_and_sharpen(sensor(linear, spec, camera, rng), spec)
    size = write_photo(picture, spec, camera, folder)
    write_json((HERE / spec["file"]).with_suffix(".json"), shot["truth"])
    print("%-24s %5.2f MB %4.0f s" % (spec["file"], size / 1e6, time.monotonic() - began), flush=True)


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
    return {k: Camera(v) for k, v in book["cameras"].items()}, photos, {s["name"]: s for s in book["shown"]}


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--list", action="store_true", help="name the photos and stop")
    parser.add_argument("--only", action="append", metavar="NAME", help="make this photo (may be given again)")
    parser.add_argument("--draft", action="store_true", help="coarse rendering")
    parser.add_argument("--work", type=Path, metavar="DIR", help="keep renderings here and use them again")
    options = parser.parse_args()
    cameras, photos, shown = load_photos()
    if options.list:
        for spec in list(photos.values()) + list(shown.values()):
            print("%-24s %s" % (spec["name"], spec["what"]))
        return
    unknown = set(options.only or []) - set(photos) - set(shown)
    if unknown:
        sys.exit("no such photo: %s (see --list)" % ", ".join(sorted(unknown)))
    for name, camera in cameras.items():
        write_camera_file(name, camera)
    with tempfile.TemporaryDirectory(prefix="samples-") as scratch:
        work = options.work or Path(scratch)
        for name in options.only or list(photos) + list(shown):
            if name in photos:
                make(photos[name], cameras, work, options.draft)
                continue
            spec, folder = photos[shown[name]["of"]], work / name
            make_shown(shown[name], set_up(spec, cameras[spec["device"]], folder), spec["view"], folder, options.draft)


if __name__ == "__main__":
    main()
