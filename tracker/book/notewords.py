"""A note in words that tell a punch item and care from what a person simply wrote. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

_DONE = "done: "


def note_said(body: Mapping[str, Any]) -> str:
    """What the note with this body says; a note of care says itself that it is one."""
    text = str(body["text"])
    match body.get("punch"):
        case "open":
            return f"put on the punch list: {text}"
        case "done":
            return f"off the punch list: {text.removeprefix(_DONE)}"
    return text
