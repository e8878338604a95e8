"""From the bytes of a job file, or a table the book kept, to a ``JobFile``: all faults at once, each with its line."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import replace
from typing import cast

from tracker.errors import InputError, InputErrors
from tracker.text import NOTE_LIMIT, clean
from tracker.trade.answer import Plain
from tracker.trade.climate import service_tenths
from tracker.trade.framing import UNKNOWN_SOIL
from tracker.trade.jobfile.lines import Path, key_lines
from tracker.trade.jobfile.model import JobFile
from tracker.trade.jobfile.platforms import LARGEST_SIDE, SMALLEST_SIDE, read_platforms
from tracker.trade.jobfile.record import json_safe, read_changes, read_log, read_lots, read_prices, read_rules
from tracker.trade.jobfile.table import Problems, Table
from tracker.trade.lengths import FOOT, Unit, format_length, parse_length
from tracker.trade.loading import HEAVY, LIVE_USUAL_PSF, parse_heavy, parse_load, show_load
from tracker.trade.loads import SOIL_BEARING_PSF
from tracker.trade.rules import Rules
from tracker.trade.spec import Finish, Ground, JobSpec, Site, Support
from tracker.trade.takeoff import take_off

LARGEST = 1_000_000
"""Bytes a job file may have."""
DRAIN_MOST = 500 * FOOT
MOST_PLATFORMS = 12
MOST_LOTS = 500
MOST_LOG = 5000
LOAD_MOST_PSF = 200
"""Live and snow loads are taken up to this; more is for a designer anyway, a bound of this program."""
CODE = re.compile(r"[0-9]{2}-[0-9]{3}")
SOILS = (*SOIL_BEARING_PSF, UNKNOWN_SOIL)
SERVICE_MOISTURE_TENTHS = 120
"""Sheltered wood outdoors in a temperate climate: about 12 % (common practice)."""
_AT = re.compile(r"\s*\(at (?:line (?P<line>\d+), column \d+|end of document)\)")


def parse_job_bytes(data: bytes, name: str, *, house: Rules | None = None) -> JobFile:
    """Return the job in the bytes of a file called ``name``; a UTF-8 byte order mark is accepted.

    Raises InputError when it is over 1 MB, not UTF-8 or holds a NUL; otherwise as ``parse_job_file``.
    """
    return parse_job_file(text_of(data, name), name, house=house)


def text_of(data: bytes, name: str) -> str:
    """The text of a file's bytes. Raises InputError when it is over 1 MB, not UTF-8 or holds a NUL."""
    shown = clean(name)
    if len(data) > LARGEST:
        raise InputError(f"{shown}: {len(data):,} bytes is no job file", f"a job file has at most {LARGEST:,} bytes")
    if b"\0" in data:
        line = data[: data.index(b"\0")].count(b"\n") + 1
        raise InputError(
            f"{shown}:{line}: there is a NUL byte", "a job file is plain text in UTF-8; save it again as such"
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise InputError(f"{shown}:{line}: not UTF-8", "save the file as UTF-8 and try again") from None


def parse_job_file(text: str, name: str, *, house: Rules | None = None) -> JobFile:
    """Return the job a TOML text describes; ``house`` are the rules its own lie over.

    Raises InputErrors with one line a fault, ``name:LINE: key: what is wrong; what is allowed``, in the file's order.
    """
    table, lines = toml_of(text, name)
    return parse_job_table(table, name, lines, house=house)


def toml_of(text: str, name: str) -> tuple[dict[str, object], dict[Path, int]]:
    """A TOML text as a table, and the line of each key. Raises InputErrors when it is empty or not TOML."""
    shown = clean(name)
    text = text.removeprefix("\ufeff")
    if not text.strip():
        raise InputErrors([f"{shown}:1: the file is empty; sample_jobs/ shows what to write"])
    try:
        return tomllib.loads(text), key_lines(text)
    except tomllib.TOMLDecodeError as error:
        raise InputErrors([_syntax(shown, str(error), text)]) from None
    except RecursionError:
        raise InputErrors([f"{shown}: brackets are nested too deep; two levels are all it takes"]) from None
    except ValueError:  # a number with thousands of digits, a date off the calendar
        raise InputErrors(
            [f"{shown}: a number or date in it cannot be read; write lengths and dates in quotes"]
        ) from None


def _syntax(name: str, message: str, text: str) -> str:
    at = _AT.search(message)
    line = int(at["line"]) if at and at["line"] else text.count("\n") + 1
    what = _AT.sub("", message)
    fault = f"this is not TOML: {what[:1].lower()}{what[1:]}"
    return clean(f"{name}:{line}: {fault}; write key = value, and texts and lengths in quotes")


def parse_job_table(
    table: Mapping[str, object], name: str, lines: Mapping[Path, int] | None = None, *, house: Rules | None = None
) -> JobFile:
    """Return the job a parsed table describes: a TOML document, or the ``source`` of an earlier ``JobFile``.

    Raises InputErrors as ``parse_job_file`` does, without line numbers when ``lines`` is None.
    """
    problems = Problems(clean(name), lines)
    top = Table(table, (), problems)
    unit = top.choice("unit", [x.value for x in Unit], Unit.INCH.value)
    top.unit = Unit(unit or Unit.INCH.value)
    code = top.text("code", "26-014")
    if code is not None and not CODE.fullmatch(code):
        top.fault(
            "code",
            f"{code[:40]!r} is not a job code",
            "write two digits of the year, a dash and three digits, like 26-014",
        )
    title = top.text("title", "Ground-level platform")
    client = top.text("client", "Client Hollow Lane")
    site = top.text("site", limit=NOTE_LIMIT, empty=True)
    crew = top.text("crew", empty=True)
    start = top.day("start", "2026-05-04")
    permit = top.flag("permit")
    no_permit = top.text("no_permit", limit=NOTE_LIMIT, empty=True)
    finish = top.choice("finish", [x.value for x in Finish], Finish.NONE.value)
    facts = top.table("site_facts")
    sections = top.tables("platform", "[[platform]]", MOST_PLATFORMS)
    if not table.get("platform", []):
        top.fault("platform", "missing", "add at least one [[platform]]")
    own = read_rules(top.table("rules"))
    platforms = read_platforms(sections)
    # Frost moves what stands on the ground and not the house: whoever hangs a platform on it says how deep it goes.
    frost_counts = any(x.support is Support.FOOTINGS or x.attached for x in platforms)
    yard = _site(facts, site or "", frost_counts, problems)
    lots = read_lots(top.tables("lot", "[[lot]]", MOST_LOTS))
    prices = read_prices(top.table("prices"))
    changes = read_changes(top.table("phases"))
    spec = None
    rules = (house or Rules()).for_job(own, top.unit)
    if sections and len(platforms) == len(sections) and yard is not None and permit is not None and finish is not None:
        crew_size = rules.figure("crew_size")
        spec = JobSpec(top.unit, platforms, yard, permit, Finish(finish), rules, crew_size, no_permit or "")
        if lines is not None and not problems.found:
            for section, platform in zip(sections, platforms, strict=True):
                # A size that parses may still make no frame; the file is where to say so.
                section.via("", take_off, replace(spec, platforms=(platform,)))
    log = read_log(top.tables("log", "[[log]]", MOST_LOG), spec, dict(changes), {lot.code for lot in lots})
    top.close()
    problems.raise_any()
    assert spec is not None and start is not None
    return JobFile(
        code=code or "",
        title=title or "",
        client=client or "",
        site=site or "",
        unit=top.unit,
        crew=crew or "",
        start=start,
        spec=spec,
        lots=lots,
        prices=prices,
        phase_changes=changes,
        log=log,
        source=cast("dict[str, Plain]", json_safe(table)),
    )


def _site(facts: Table | None, place: str, frost_counts: bool, problems: Problems) -> Site | None:
    part = facts or Table({}, ("site_facts",), problems)
    frost = part.length("frost_depth", 0, 10 * FOOT, "30 in" if frost_counts else "", default=0)
    soil = part.choice("soil", SOILS, UNKNOWN_SOIL)
    typed = part.typed_number("service_moisture")
    moisture: int | None = None if part.has("service_moisture") else SERVICE_MOISTURE_TENTHS
    if typed is not None:
        moisture = part.via("service_moisture", service_tenths, typed)
    digging = part.flag("digging") if part.has("digging") else None
    part.asked.append("digging")
    electric = part.flag("electric")
    live, snow = _load(part, "live", LIVE_USUAL_PSF), _load(part, "snow", 0)
    carries = tuple(dict.fromkeys(thing for _, thing in part.each("carries", parse_heavy, most=len(HEAVY))))
    ground = part.choice("ground", [x.value for x in Ground], Ground.BARE.value)
    drain = part.length("drain", 0, DRAIN_MOST, default=0)
    typed_old = part.text("old_deck", empty=True)
    old = part.via("old_deck", old_deck, typed_old, part.unit) if typed_old else ()
    part.close()
    if frost is None or soil is None or moisture is None or electric is None or ground is None:
        return None
    if live is None or snow is None or old is None or drain is None:
        return None
    return Site(place, frost, soil, moisture, digging, electric, Ground(ground), live, snow, carries, old, drain)


def _load(part: Table, key: str, least: int) -> int | None:
    """A load in pounds a square foot; 0 where none is written, None for one that cannot be."""
    if (typed := part.typed_number(key)) is None:
        return None if part.has(key) else 0
    psf = part.via(key, parse_load, typed, part.unit)
    if psf is None or least <= psf <= LOAD_MOST_PSF:
        return psf
    low, most = show_load(least, part.unit), show_load(LOAD_MOST_PSF, part.unit)
    part.fault(key, f"{typed[:20]} is out of range", f"it may be {low} to {most}")
    return None


def old_deck(text: str, unit: Unit) -> tuple[int, ...]:
    """Width and depth of the deck that is taken away first, from ``10' x 12'``; raises InputError with what would be right."""
    sides = re.split(r"\s*(?:[x\u00d7]|\bby\b)\s*", text.strip().lower())
    example = "10' x 12'" if unit is Unit.INCH else "3000 x 3600"
    if len(sides) != 2 or not all(sides):
        raise InputError(f"{clean(text).strip()[:40]!r} is no width and depth", f"write it like {example}")
    wide, deep = (parse_length(side, unit) for side in sides)
    if not all(SMALLEST_SIDE <= side <= LARGEST_SIDE for side in (wide, deep)):
        low, high = (format_length(side, unit) for side in (SMALLEST_SIDE, LARGEST_SIDE))
        raise InputError(
            f"an old deck of {clean(text).strip()[:40]}", f"each side may be {low} to {high}, like {example}"
        )
    return wide, deep
