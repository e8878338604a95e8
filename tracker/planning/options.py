"""Options of a quote: the same job with other boards, joists or sizes, as changes to its job file. Pure."""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tracker.errors import InputError
from tracker.text import accept, clean, listing, near
from tracker.trade.money import parse_money

AS_DRAWN = "as drawn"
EXAMPLE = 'write it like "cedar: species=western redcedar, gap=1/4 in" or just "board=2x6"'

_WHERE: Mapping[str, tuple[str, ...]] = {
    "board": ("decking", "board"),
    "kind": ("decking", "kind"),
    "species": ("decking", "species"),
    "lay": ("decking", "lay"),
    "gap": ("decking", "gap"),
    "use": ("decking", "use"),
    "angle": ("decking", "angle"),
    "joists": ("joists", "size"),
    "spacing": ("joists", "spacing"),
    "size": ("size",),
    "height": ("height",),
}
"""What an option may change on every platform, and where the job file keeps it; ``finish`` is the job's own."""
OPTION_KEYS = (*_WHERE, "finish")
"""What an option may change."""


@dataclass(frozen=True, slots=True)
class Option:
    """One option asked for: its label and its changes; ``price_cents`` is a price before tax set by hand."""

    label: str
    changes: tuple[tuple[str, str], ...] = ()
    price_cents: int | None = None


def parse_option(text: str) -> Option:
    """Read ``LABEL: key=value, key=value``; the label may be left out, and ``price=1904.50`` sets the price by hand.

    Raises InputError naming the key that is not known.
    """
    head, colon, tail = text.partition(":")
    label, rest = (head, tail) if colon and "=" not in head else ("", text)
    changes: list[tuple[str, str]] = []
    price: int | None = None
    for part in rest.split(","):
        if not part.strip():
            continue
        key, equals, value = part.partition("=")
        key, value = key.strip().lower(), value.strip()
        if not equals or not value:
            raise InputError(f"{clean(part).strip()[:40]!r} changes nothing", EXAMPLE)
        if key == "price":
            price = parse_money(value)
            continue
        if key not in OPTION_KEYS:
            known = (*OPTION_KEYS, "price")
            raise InputError(
                f"an option cannot change {clean(key)[:40]!r}{near(key, known)}", f"it may set {listing(known, 'and')}"
            )
        changes.append((key, value))
    if not changes and price is None and label.strip().casefold() != AS_DRAWN:
        raise InputError(f"{clean(text)[:40]!r} is no option", EXAMPLE)
    if changes and label.strip().casefold() == AS_DRAWN:
        raise InputError(f"{AS_DRAWN} is the job without a change", "give the option another name, or none")
    said = ", ".join(f"{key} {value}" for key, value in changes) or AS_DRAWN
    return Option(accept(label or said, "the option's name", limit=80), tuple(changes), price)


def beside_as_drawn(texts: Sequence[str]) -> list[Option]:
    """The options that were typed; as drawn comes first unless it is named itself."""
    found = [parse_option(text) for text in texts]
    return found if any(option.label == AS_DRAWN for option in found) else [Option(AS_DRAWN), *found]


def with_changes(source: Mapping[str, Any], changes: Sequence[tuple[str, str]]) -> dict[str, Any]:
    """A job file's table with an option's changes on every platform; what was built and logged is left out.

    A composite board takes no wood's species and no treatment: those that are not named are taken out.
    """
    table = copy.deepcopy(dict(source))
    for key in ("log", "lot"):
        table.pop(key, None)
    given = dict(changes)
    for key, value in changes:
        if key == "finish":
            table["finish"] = value
            continue
        for platform in table.get("platform", ()):
            *folders, name = _WHERE[key]
            part = platform
            for folder in folders:
                part = part.setdefault(folder, {})
            part[name] = _value(key, value)
    if given.get("kind") == "composite":
        for platform in table.get("platform", ()):
            for key in {"species", "use"} - given.keys():
                platform.get("decking", {}).pop(key, None)
    return table


def _value(key: str, value: str) -> str | int | list[str]:
    if key == "angle" and value.isdecimal():
        return int(value)
    return _sides(value) if key == "size" else value


def _sides(value: str) -> list[str]:
    sides = [side.strip() for side in value.lower().split(" by ")]
    if len(sides) != 2:
        raise InputError(f"{clean(value)[:40]!r} is no size", "write width and depth like size=12' by 14'")
    return sides
