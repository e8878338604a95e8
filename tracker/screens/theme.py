"""Our colours: cedar for dusk and the office, birch for daylight. A state never leans on them alone."""

from __future__ import annotations

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
    success="#3d6a1c",
    warning="#8a5a00",
    error="#a62f12",
    variables={"faint": "#6b5a45", "input-selection-background": "#8a4f14 30%", "scrollbar": "#b9a588"},
)
