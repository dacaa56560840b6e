"""Photos, truth files and camera files."""
import json
import subprocess

import cv2
import numpy as np

from making.places import CALIBRATION, HERE


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
    target.parent.mkdir(exist_ok=True)
    temporary = target.with_name(target.name + ".part")
    temporary.write_bytes(data)
    temporary.replace(target)
    return len(data)
