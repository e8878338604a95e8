"""What invented job files of every room's tests have in common: one platform of southern pine with deck boards laid wet."""

from __future__ import annotations


def platform_text(
    name: str = "deck", *, size: str = """["11'", "13'"]""", height: str = "12 in", support: str = "blocks",
    joists: str = "2x6",
) -> str:  # fmt: skip
    """The tables of one platform, for a job file; ``size`` is the list as TOML has it."""
    return f"""
[[platform]]
name = "{name}"
size = {size}
height = "{height}"
support = "{support}"
[platform.joists]
size = "{joists}"
species = "southern pine"
grade = "no.2"
spacing = "16 in"
use = "UC4A"
[platform.decking]
board = "5/4x6"
kind = "wood"
species = "southern pine"
lay = "tight"
gap = "3/16 in"
use = "UC4A"
"""
