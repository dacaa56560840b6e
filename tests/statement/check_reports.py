#!/usr/bin/env python3
"""Measures sample photos and checks their reports against the report's JSON Schema, and that every
number has a budget whose lines add up to its standard uncertainty.

    check_reports.py PROGRAM SOURCE_FOLDER VIEW      VIEW: edge, practice, side, choil,
                                            finish or kept

kept: the reports of earlier versions in reports/, and that the schema refuses damaged ones.
"""
import copy
import json
import math
import os
import pathlib
import subprocess
import sys
import tempfile

try:
    import jsonschema
except ImportError:
    sys.exit("check_reports.py: install python3-jsonschema (setup.sh packages does)")

PHONE = ["--camera-file", "calibration/sample-phone.yml"]
USB = ["--camera-file", "calibration/sample-usb.yml"]
LAMP = ["--camera-file", "calibration/sample-finish.yml"]

# As sample-images/README.md says; those that cannot be measured make no report.
RUNS = {
    "edge": [
        ["edge-scribed-dye.jpg", "--thickness", "3.4mm", "--tip", "right", *PHONE],
        ["edge-scribed-bare.jpg", "--thickness", "3mm", "--tip", "right", "--units", "in", *PHONE],
        ["edge-ground-offcentre.jpg", "--thickness", "3.4mm", "--tolerance", "0.05mm", *PHONE],
        ["edge-ground-centred.jpg", "--thickness", "3.175mm", "--tip", "left", *PHONE],
        ["edge-bevelled.jpg", "--thickness", "3.2mm", "--tip", "left", "--printed-bar", "199.5mm",
         *PHONE],
        ["edge-usb.jpg", "--thickness", "3mm", "--monte-carlo", "200", *USB],
        ["edge-turned-a.jpg", "--turned", "sample-images/edge-turned-b.jpg", "--thickness", "3mm",
         *PHONE],
        ["edge-three-1.jpg", "sample-images/edge-three-2.jpg", "sample-images/edge-three-3.jpg",
         "--thickness", "3.175mm", "--shows", "ground", *PHONE],
        ["edge-ground-offcentre.jpg", "--thickness", "3.4mm", "--edge-height", "6mm", *PHONE],
        ["edge-no-card.jpg", "--thickness", "3.4mm", "--no-card"],
        ["record-demo/1-scribed.jpg", "--thickness", "3.2mm", "--tip", "right", *USB],
        ["record-demo/3-grit60.jpg", "--thickness", "3.2mm", *USB],
        ["study-a1.jpg", "--thickness", "3mm", *USB],
    ],
    "practice": [
        ["practice-true.jpg", "--practice", "--printed-bar", "200mm", *PHONE],
        ["practice-small-bent.jpg", "--practice", "--units", "in", *PHONE],
    ],
    "side": [
        ["side-clean-left.jpg", "--right", "sample-images/side-clean-right.jpg", "--thickness",
         "3mm", "--land", "0.28mm", "--at", "20mm,60mm", *PHONE],
        ["side-mismatch-left.jpg", "--right", "sample-images/side-mismatch-right.jpg",
         "--thickness", "3.2mm", "--tolerance", "0.3mm", *PHONE],
        ["side-taper-left.jpg", "--right", "sample-images/side-taper-right.jpg", "--thickness",
         "3.6mm", "--tip-thickness", "2mm", "--land", "0.35mm", "--printed-bar", "199.5mm", *PHONE],
        ["side-grey-left.jpg", "--thickness", "3mm", "--land", "0.28mm", *PHONE],
    ],
    "choil": [
        ["choil-symmetric.jpg", *PHONE],
        ["choil-asymmetric.jpg", "--printed-bar", "59.88mm", "--thickness", "2.8mm", *PHONE],
        ["choil-hollow.jpg", "--units", "in", "--tolerance", "0.05mm", *PHONE],
    ],
    "finish": [
        ["finish-scratched-1.jpg", "sample-images/finish-scratched-2.jpg", "sample-images/finish-scratched-3.jpg",
         "sample-images/finish-scratched-4.jpg", "--thickness", "3.2mm", "--grit", "220", "--before", "60",
         "--tolerance", "0.2", *LAMP],
        ["finish-lamp-along.jpg", "--thickness", "3.2mm", "--units", "in", *LAMP],
    ],
}


def validator(source):
    schema = json.loads((source / "src/statement/report.schema.json").read_text())
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def faults(check, report):
    return [f"{'/'.join(map(str, fault.absolute_path))}: {fault.message[:200]}"
            for fault in check.iter_errors(report)]


ROUNDED = 5e-6  # Numbers stand to 5 decimals.


def missing(name, number, lines):
    """Nothing, or why the lines are not the number's budget."""
    if number["u"] == 0.0:
        return []
    if not lines:
        return [f"{name} has no budget"]
    total = math.sqrt(sum(u * u for u in lines))
    # Each line is rounded, those that round to nothing are left out.
    if abs(total - number["u"]) > ROUNDED * (2.0 + 2.0 * math.sqrt(len(lines))):
        return [f"{name}: u is {number['u']}, its lines make {total:.6f}"]
    return []


def is_number(value):
    return isinstance(value, dict) and "u" in value


def numbers_of_blade(report):
    """Each number of the whole blade by the name that the budget has for it."""
    for name, value in report["quantities"].items():
        for at in value if isinstance(value, list) else [value]:
            depth = f"_{at['depth']:g}" if isinstance(value, list) else ""
            yield name + depth, at
            for beside, other in at.items():
                if is_number(other):
                    yield f"{beside}_at{depth}", other


def budget_faults(report):
    lines, found, count = {}, [], 0
    for line in report["budget"]:
        lines.setdefault(line["quantity"], []).append(line["u"])
    for name, number in numbers_of_blade(report):
        count += 1
        found += missing(name, number, lines.get(name))
    for station in report["stations"]:
        numbers = {name: value for name, value in station.items() if is_number(value)}
        for i, (name, number) in enumerate(numbers.items()):
            count += 1
            of_first = [line["u"] for line in station.get("budget", [])]
            others = list(station.get("budgets", {}).get(name, {}).values())
            where = f"{name} at {station.get('x', station.get('depth'))}"
            found += missing(where, number, others if i else of_first)
    return found if count else ["no number at all"]


def measured(program, source, view, run, folder):
    photo, *options = run
    named = ["--left"] if view in ("side", "finish") else []
    command = [program, "edge" if view == "practice" else view, *named, f"sample-images/{photo}", *options, "-o",
               folder]
    # Not the developer's own settings and camera files.
    own = {"XDG_CONFIG_HOME": f"{folder}/config", "XDG_DATA_HOME": f"{folder}/data"}
    done = subprocess.run(command, cwd=source, capture_output=True, text=True, check=False,
                          env=os.environ | own)
    if done.returncode not in (0, 1):
        sys.exit(f"{photo} was not measured: {done.stderr}")
    return json.loads((pathlib.Path(folder) / "report.json").read_text())


def check_view(program, source, view):
    check = validator(source)
    found = []
    for run in RUNS[view]:
        with tempfile.TemporaryDirectory() as folder:
            report = measured(program, source, view, run, folder)
        found += [f"{run[0]}: {fault}" for fault in faults(check, report) + budget_faults(report)[:5]]
    return found


def damages():
    """Each a name and what it does to a sound edge report."""
    def path(*keys):
        def remove(report):
            for key in keys[:-1]:
                report = report[key]
            del report[keys[-1]]
        return remove

    def put(value, *keys):
        def change(report):
            for key in keys[:-1]:
                report = report[key]
            report[keys[-1]] = value
        return change

    yield "no uncertainty", path("quantities", "centreline_offset", "u")
    yield "null for a number", put(None, "quantities", "land_width", "value")
    yield "a text for a number", put("0.3", "quantities", "land_width", "value")
    yield "a negative uncertainty", put(-0.1, "quantities", "land_width", "u")
    yield "another schema", put("evenbevel.report/1", "schema")
    yield "an unknown part", put({}, "surprise")
    yield "no photo's name", path("input", "photo")
    yield "a station without its place", path("stations", 0, "x")
    yield "a pixel of one number", put([1.0], "stations", 0, "px")
    yield "a budget line without its cause", path("budget", 0, "source")
    yield "an unknown verdict", put("good", "verdict")
    yield "warnings that are no remarks", put(["The photo is soft."], "warnings")
    yield "a warning without its text", put([{"code": "quick_look", "values": {}}], "warnings")
    yield "a setting from nowhere", put({"thickness": "a guess"}, "settings", "from")
    yield "a value that is a list", put(
        [{"code": "card_bent", "values": {"bend_mm": [1.0]}, "text": "Bent."}], "warnings")


def check_kept(source):
    check = validator(source)
    kept = sorted((source / "tests/statement/reports").glob("*.json"))
    found = [] if kept else ["no kept reports"]
    for file in kept:
        found += [f"{file.name}: {fault}" for fault in faults(check, json.loads(file.read_text()))]
    sound = json.loads((source / "tests/statement/reports/edge-ground.json").read_text())
    for name, damage in damages():
        damaged = copy.deepcopy(sound)
        damage(damaged)
        if not faults(check, damaged):
            found.append(f"the schema takes a report with {name}")
    return found


def main():
    program, source, view = sys.argv[1], pathlib.Path(sys.argv[2]), sys.argv[3]
    found = check_kept(source) if view == "kept" else check_view(program, source, view)
    print("\n".join(found))
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
