"""The table of a job file by the ways of a form's questions: reading texts out of it, putting values in and out. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from tracker.trade.answer import Plain
from tracker.trade.jobfile.questions import CLIPPED, CUT_OUT, NO, TO_SIZE, UNCUT, YES
from tracker.trade.jobfile.table import number_text
from tracker.trade.spec import Support


def put(table: dict[str, Any], key: str, value: Plain) -> None:
    """Put a value at its way into nested tables and lists, made as they are needed."""
    way, place = key.split("."), table  # type: list[str], Any
    for part, after in pairwise(way):
        fresh: Any = [] if after.isdecimal() else {}
        if isinstance(place, list):
            while len(place) <= int(part):
                place.append([] if after.isdecimal() else {})
            place = place[int(part)]
        else:
            place = place.setdefault(part, fresh)
    last = way[-1]
    if not isinstance(place, list):
        place[last] = value
    elif int(last) < len(place):
        place[int(last)] = value
    else:
        place.append(value)


def unset(table: dict[str, Any], key: str) -> None:
    """Take the value of a key out, and a table that holds nothing then."""
    way, places = key.split("."), [table]  # type: list[str], list[Any]
    for part in way[:-1]:
        place = places[-1]
        if isinstance(place, list) and int(part) < len(place):
            places.append(place[int(part)])
        elif isinstance(place, dict) and part in place:
            places.append(place[part])
        else:
            return
    if isinstance(places[-1], dict) and places[-1].pop(way[-1], None) is not None:
        for part, outer, inner in zip(reversed(way[:-1]), reversed(places[:-1]), reversed(places[1:]), strict=True):
            if inner or not isinstance(outer, dict):
                return
            del outer[part]


def sized(table: dict[str, Any], key: str, count: int) -> list[dict[str, Any]]:
    """The list of tables at ``key`` with just so many in it; none leave no list."""
    there = table.get(key)
    found = [item if isinstance(item, dict) else {} for item in there[:count]] if isinstance(there, list) else []
    found += [{} for _ in range(count - len(found))]
    if found:
        table[key] = found
    else:
        table.pop(key, None)
    return found


def raw_at(table: Mapping[str, Plain], key: str) -> Plain:
    """The value of a table at a question's key; None where there is none."""
    place: Any = table
    for part in key.split("."):
        if isinstance(place, list) and part.isdecimal() and int(part) < len(place):
            place = place[int(part)]
        elif isinstance(place, Mapping) and part in place:
            place = place[part]
        else:
            return None
    found: Plain = place
    return found


def texts_of(source: Mapping[str, Plain]) -> dict[str, str]:
    """A job file's table as texts by question key, those that only steer too; a value no question has is left out."""
    out: dict[str, str] = {}

    def walk(value: Plain, way: str) -> None:
        if way.endswith((".guard.edges", ".carries")) and isinstance(value, list):
            out[way] = ", ".join(str(side) for side in value)
        elif isinstance(value, Mapping):
            for key, item in value.items():
                walk(item, f"{way}.{key}" if way else str(key))
        elif isinstance(value, list):
            for n, item in enumerate(value):
                walk(item, f"{way}.{n}")
        elif isinstance(value, bool):
            out[way] = YES if value else NO
        elif value is not None:
            out[way] = number_text(value)

    walk({key: value for key, value in source.items() if key not in ("log", "lot", "prices", "rules", "phases")}, "")
    platforms = source.get("platform")
    if not isinstance(platforms, list):
        return out
    out["platforms"] = str(len(platforms))
    for at, platform in enumerate(platforms):
        if not isinstance(platform, Mapping):
            continue
        key = f"platform.{at}."
        out[f"{key}make"] = UNCUT if "uncut" in platform else TO_SIZE
        for name, steers in (("cut", "corners"), ("beam", "beams"), ("stairs", "flights")):
            there = platform.get(name)
            if isinstance(there, list) and there:
                out[key + steers] = str(len(there))
            elif name == "beam" and platform.get("support") == Support.BLOCKS.value:
                out[key + steers] = "0"
        cuts = platform.get("cut")
        for n, cut in enumerate(cuts if isinstance(cuts, list) else ()):
            out[f"{key}cut.{n}.kind"] = CLIPPED if isinstance(cut, Mapping) and "leg" in cut else CUT_OUT
        out[f"{key}guarded"] = YES if "guard" in platform else NO
    return out
