"""The colours: contrast as WCAG 2.2 asks for, and a device that remembers its choice."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from textual.color import Color
from textual.theme import Theme

from tests.screens.conftest import NOW, at_the_keys
from tracker.screens.app import DeckApp
from tracker.screens.theme import CHALK, LIGHTS, PENCIL

STATES = ("success", "warning", "error", "primary", "accent")


def luminance(color: Color) -> float:
    """Relative luminance (WCAG 2.2, definition of relative luminance)."""
    parts = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in color.normalized]
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio (WCAG 2.2, definition of contrast ratio)."""
    low, high = sorted((luminance(Color.parse(one)), luminance(Color.parse(other))))
    return (high + 0.05) / (low + 0.05)


def test_the_ratio_is_the_standards() -> None:
    # WCAG 2.2: black on white has the largest ratio there is, 21 to 1; #777777 on white 4.48 (W3C, Understanding 1.4.3).
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("theme", LIGHTS, ids=lambda theme: theme.name)
def test_every_text_can_be_read_on_every_ground(theme: Theme) -> None:
    least = 7.0 if theme is CHALK else 4.5  # 1.4.6 and 1.4.3 of WCAG 2.2
    texts = {name: getattr(theme, name) for name in ("foreground", *STATES)} | {"faint": theme.variables["faint"]}
    grounds = {name: getattr(theme, name) or "" for name in ("background", "surface", "panel")}
    sheet = (Path(__file__).parents[2] / "tracker" / "screens" / "app.tcss").read_text()
    (share,) = set(re.findall(r"\$primary (\d+)%", sheet))  # the ground of the row under the cursor
    grounds["cursor"] = Color.parse(grounds["background"]).blend(Color.parse(theme.primary), int(share) / 100).hex
    for name, text in texts.items():
        for ground, colour in grounds.items():
            assert contrast(text, colour) >= least, (name, ground)


def test_pencil_has_no_colour() -> None:
    for name in ("foreground", "background", "surface", "panel", "secondary", *STATES):
        red, green, blue = Color.parse(getattr(PENCIL, name)).rgb
        assert red == green == blue, name


async def test_the_key_goes_through_all_and_the_device_remembers(path: Path, tmp_path: Path) -> None:
    kept = tmp_path / "colours"

    def app() -> DeckApp:
        return DeckApp(path, "M. Holt", "tablet", lambda: NOW, light_file=kept)

    names = [theme.name for theme in LIGHTS]
    async with at_the_keys(path, app=app()) as hands:
        assert hands.app.theme == names[0]
        for name in names[1:]:
            await hands.press("f9", until=f"colours: {name}")
        await hands.until(lambda: kept.exists() and kept.read_text().strip() == names[-1])
    async with at_the_keys(path, app=app()) as hands:
        assert hands.app.theme == names[-1]
        await hands.press("f9", until=f"colours: {names[0]}")


@pytest.mark.parametrize("kept", [b"", b"mauve", b"\xff\xfe", b"../x"])
async def test_a_broken_choice_starts_as_a_new_device(path: Path, tmp_path: Path, kept: bytes) -> None:
    file = tmp_path / "colours"
    file.write_bytes(kept)
    async with at_the_keys(path, app=DeckApp(path, "M. Holt", "tablet", lambda: NOW, light_file=file)) as hands:
        assert hands.app.theme == LIGHTS[0].name


def test_no_style_sheet_names_a_colour_of_its_own() -> None:
    folder = Path(__file__).parents[2] / "tracker" / "screens"
    for sheet in folder.rglob("*.tcss"):
        assert not re.search(r":[^;]*#[0-9a-fA-F]{3,8}\b", sheet.read_text()), sheet.name
