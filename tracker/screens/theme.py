"""Our colours: cedar for dusk and the office, birch for daylight, chalk for weak eyes and strong sun, pencil without any.

A state never leans on them alone. Text keeps the contrast of WCAG 2.2: 4.5 to 1 (1.4.3), chalk 7 to 1 (1.4.6).
"""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from textual.theme import Theme

# The dark grounds are kept nearly grey: a terminal of 256 colours would turn a browner one into red.

CEDAR = Theme(
    name="cedar",
    dark=True,
    primary="#d8a25f",
    secondary="#a9b58c",
    accent="#e9c48a",
    foreground="#f0e7d8",
    background="#191714",
    surface="#221f1c",
    panel="#322d28",
    success="#a4c37c",
    warning="#e8b455",
    error="#ef8a6c",
    variables={"faint": "#b5a58e", "input-selection-background": "#d8a25f 40%", "scrollbar": "#5a4836"},
)
BIRCH = Theme(
    name="birch",
    dark=False,
    primary="#8a4f14",
    secondary="#4d6132",
    accent="#6e3d0c",
    foreground="#241a10",
    background="#fbf7ef",
    surface="#f3ecdf",
    panel="#e6dac5",
    success="#3a661a",
    warning="#7a5000",
    error="#a62f12",
    variables={"faint": "#6b5a45", "input-selection-background": "#8a4f14 30%", "scrollbar": "#b9a588"},
)
CHALK = Theme(
    name="chalk",
    dark=True,
    primary="#ffd75f",
    secondary="#ffffff",
    accent="#ffffff",
    foreground="#ffffff",
    background="#000000",
    surface="#000000",
    panel="#262626",
    success="#87ff87",
    warning="#ffff5f",
    error="#ffafaf",
    variables={"faint": "#e4e4e4", "input-selection-background": "#ffd75f 50%", "scrollbar": "#bcbcbc"},
)
PENCIL = Theme(
    name="pencil",
    dark=True,
    primary="#ffffff",
    secondary="#d0d0d0",
    accent="#eeeeee",
    foreground="#dadada",
    background="#121212",
    surface="#1c1c1c",
    panel="#303030",
    success="#dadada",
    warning="#ffffff",
    error="#ffffff",
    variables={"faint": "#b2b2b2", "input-selection-background": "#ffffff 30%", "scrollbar": "#767676"},
)
LIGHTS = (CEDAR, BIRCH, CHALK, PENCIL)
"""In the order the key goes through them; the first is where a new device starts."""
MEANT_FOR = {"cedar": "dark", "birch": "daylight", "chalk": "high contrast", "pencil": "no colours"}


def next_light(name: str) -> str:
    """The theme after the one called ``name``."""
    names = [light.name for light in LIGHTS]
    return names[(names.index(name) + 1) % len(names)] if name in names else names[0]


def kept_light(file: Path | None) -> str:
    """The theme this device kept in ``file``; the first where there is none, or a name of no theme of ours."""
    try:
        name = file.read_text("ascii").strip() if file else ""
    except (OSError, UnicodeDecodeError):
        name = ""
    return name if name in {light.name for light in LIGHTS} else LIGHTS[0].name


def keep_light(file: Path | None, name: str) -> None:
    """Keep the theme for the next time; where the disk does not take it, the next time starts as a new device."""
    if file is not None:
        with suppress(OSError):
            file.write_text(f"{name}\n", "ascii")
