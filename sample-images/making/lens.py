"""The lens card on its board."""
import math

import numpy as np

from making.camera import look, vec
from making.cards import CARDS
from making.files import base_truth
from making.render import light_lines


def tilted_pose(spec):
    """R, t from the card's frame into a camera whose axis stands tilt_deg off the card's normal."""
    c = spec["camera"]
    target = np.array([c["target"][0], c["target"][1], 0.0])
    tilt, toward = math.radians(c["tilt_deg"]), math.radians(c["toward_deg"])
    back = np.array([math.sin(tilt) * math.cos(toward), math.sin(tilt) * math.sin(toward), math.cos(tilt)])
    return look(target + c["distance"] * back, target, np.array([1.0, 0, 0]), c["roll_deg"])


def lens_lines(spec):
    wide, high = CARDS["lens"][5]
    bench = spec["bench"]
    return ["#declare Print_wide = %.6f; #declare Print_high = %.6f;" % (wide, high),
            "#declare Bench_turn = %g; #declare Bench_shift = %s;" % (bench["turn"], vec(bench["shift"] + [0]))] + light_lines(spec)


def lens_shot(spec, camera, folder):
    """What make_samples.py needs to render and to photograph this scene."""
    R, t = tilted_pose(spec)
    truth = base_truth(spec, camera)
    truth["card"] = {"present": True, "kind": "lens", "print_scale_along": 1.0, "print_scale_across": 1.0}
    truth["T_camera_card"] = {"R": R, "t_mm": t}
    return {"lines": lens_lines(spec), "pose": (R, t), "strip": None, "truth": truth}
