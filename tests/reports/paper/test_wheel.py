"""What is installed has the fonts with their licences and the style, and stays small."""

from __future__ import annotations

import zipfile
from pathlib import Path

from hatchling.builders.wheel import WheelBuilder

from tracker.reports.paper.letters import FONTS

ROOT = Path(__file__).parents[3]
LARGEST = 8_000_000


def test_the_wheel_holds_fonts_licences_and_style(tmp_path: Path) -> None:
    (built,) = WheelBuilder(str(ROOT)).build(directory=str(tmp_path), versions=["standard"])
    assert Path(built).stat().st_size < LARGEST
    folder = "tracker/reports/paper/"
    with zipfile.ZipFile(built) as wheel:
        names = set(wheel.namelist())
        for font in FONTS.values():
            assert wheel.read(f"{folder}fonts/{font}")[:4] == b"\0\1\0\0"  # a TrueType font
        assert b"Bitstream Vera" in wheel.read(f"{folder}fonts/DejaVu-LICENSE.txt")
        assert b"Apache License" in wheel.read(f"{folder}fonts/Droid-LICENSE.txt")
    assert f"{folder}paper.css" in names
