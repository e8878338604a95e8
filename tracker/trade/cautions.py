"""The sentence every structural answer carries: who decides, and what edition it was computed from."""

from __future__ import annotations

DEFER = "The adopted local code, its amendments and a licensed professional decide"


def code_decides(edition: str) -> str:
    """The caution of a structural answer, naming the edition it was computed from."""
    return f"{DEFER}; this is a working check computed from {edition}."
