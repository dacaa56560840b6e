"""Folders."""
from pathlib import Path

HERE = Path(__file__).resolve().parent.parent
SCENES = HERE / "scenes"
CALIBRATION = HERE.parent / "calibration"
