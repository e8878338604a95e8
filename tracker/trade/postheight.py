"""How tall a post may stand under its load: the published height tables and the column check, the least of them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from tracker.errors import InputError
from tracker.text import listing
from tracker.trade.answer import Answer, Plain
from tracker.trade.cautions import code_decides
from tracker.trade.columns import COLUMN_SOURCE, column
from tracker.trade.lengths import FOOT, INCH, Unit, format_trade, from_inches, inches
from tracker.trade.loads import post_area_ft2
from tracker.trade.lumber import FIRS, SOUTHERN, nominal_within, served_words, size_name, species
from tracker.trade.span_math import DEAD_TABLE_PSF, LIVE_LEAST_PSF, load_cases

POST_TABLE = "DCA 6 (2012 IRC edition) Table 4, 6x6 post heights"
POST_MEMORY = "from memory: IRC 2018 R507.4"
POST_PLAN = "a town's approved deck plan (2023): posts by deck area, No.2 wet and incised, 60 psf live and 10 psf dead, one source"

POST_JOIST_SPANS_FT = (10, 14, 18)


def _cells(text: str) -> tuple[tuple[int, ...], ...]:
    return tuple(tuple(int(feet) for feet in column.split()) for column in text.split("|"))


POST_6X6_FT: Mapping[int, tuple[tuple[int, ...], ...]] = {
    6: _cells("14 14 14 14 14 | 14 14 14 14 14 | 14 14 12 14 11"),
    8: _cells("14 14 14 14 14 | 14 14 12 14 11 | 14 13 11 12 8"),
    10: _cells("14 14 14 14 12 | 14 13 11 13 8 | 12 11 8 11 2"),
    12: _cells("14 14 12 14 10 | 13 12 9 11 5 | 11 9 6 9 2"),
    14: _cells("14 13 11 13 8 | 11 10 7 10 2 | 9 8 2 8 0"),
    16: _cells("13 12 10 12 6 | 10 9 5 9 2 | 7 5 2 7 0"),
    18: _cells("12 11 8 11 2 | 9 8 2 8 0 | 5 2 2 6 0"),
}
"""Greatest 6x6 post height in feet by beam span, for joist spans to 10, 14 and 18 ft, in five columns of species; 0 is not permitted
(``POST_TABLE``).

The headers of the copy read were smudged: the first is taken as southern pine, and every other wood takes the lowest of the five.
"""

POST_MOST_NM: Mapping[str, int] = {
    "4x4": 6 * FOOT + 9 * INCH,
    "4x6": 8 * FOOT,
    "6x6": 14 * FOOT,
    "8x8": 14 * FOOT,
}
"""Greatest height of a post by size, whatever it carries; from memory: IRC 2018 R507.4."""

PLAN_AREAS_FT2 = (20, 40, 60, 80, 100, 120, 140, 160)
PLAN_PSF = 70
"""Load on the areas of the plan, 60 psf live and 10 psf dead (``POST_PLAN``)."""
POST_PLAN_IN: Mapping[str, tuple[int, ...]] = {
    "4x4": (120, 120, 103, 84, 68, 49, 0, 0),
    "4x6": (166, 166, 133, 113, 98, 87, 76, 64),
    "6x6": (168, 168, 168, 168, 168, 159, 129, 83),
    "8x8": (168, 168, 168, 168, 168, 168, 168, 168),
}
"""Post heights in inches to the underside of the beam, Douglas fir, hem-fir and spruce-pine-fir, by area; 0 is not permitted
(``POST_PLAN``). The first cell of 4x6 was not legible and takes the second.
"""


@dataclass(frozen=True, slots=True)
class PostLimit:
    """One thing that limits a post's height: in inches (0 where it may not stand at all), in words, and its source."""

    height_in: float
    words: str
    source: str


def post_answer(
    size: str,
    beam_span_nm: int,
    joist_span_nm: int,
    *,
    wood: str = SOUTHERN,
    height_nm: int | None = None,
    adopted_nm: int | None = None,
    live_psf: float = LIVE_LEAST_PSF,
    dead_psf: float = DEAD_TABLE_PSF,
    unit: Unit = Unit.INCH,
) -> Answer:
    """Return how tall a post of ``size`` and ``wood`` may stand, and whether ``height_nm`` does.

    It carries beam span x 0.75 joist span of deck. The published tables, entered at the next larger spans, and the column check all
    bind. ``adopted_nm`` is the height of the adopted table as somebody read it: it stands in for the lowest column of the 6x6 table
    where the wood's own is not known, and never raises any other limit. Keys: ``allowed_height_in`` (None where it may not stand at
    all), ``ok`` (None without a height), ``load_lb``, ``capacity_lb`` at the height asked, else at the one allowed,
    ``column_height_in`` and ``published_height_in``. Raises InputError off the tables.
    """
    typed, name, found = size_name(size), nominal_within(size), species(wood)
    if name not in POST_MOST_NM:
        raise InputError(f"no post height is held for {typed}", f"posts are {listing(POST_MOST_NM)}")
    (case,) = load_cases(live_psf, None, dead_psf)
    table_joist_nm = round(joist_span_nm * max(1.0, case.total_psf / (LIVE_LEAST_PSF + DEAD_TABLE_PSF)))
    area = post_area_ft2(beam_span_nm, joist_span_nm)
    load = case.total_psf * area
    limits = _published(name, found.table_group, beam_span_nm, table_joist_nm, load, adopted_nm, unit)
    post = column(name, wood)
    limits.append(PostLimit(post.height_in(load), f"as a column under {load:,.0f} lb", COLUMN_SOURCE))
    least = min(limits, key=lambda limit: limit.height_in)
    allowed = math.floor(least.height_in + 1e-9) or None
    published = min(limit.height_in for limit in limits[:-1])
    at_in = inches(height_nm) if height_nm is not None else float(allowed or 0)
    ok = None if height_nm is None else allowed is not None and at_in <= allowed
    what = f"a {found.name} {typed} post"
    if allowed is None:
        headline = f"{what} may not carry {load:,.0f} lb at any height"
    else:
        headline = f"{what} under {load:,.0f} lb may stand {format_trade(from_inches(allowed), unit)}"
        if height_nm is not None:
            headline += f"; {format_trade(height_nm, unit)} is {'within it' if ok else 'too tall'}"
    answer: dict[str, Plain] = {
        "allowed_height_in": allowed,
        "ok": ok,
        "load_lb": round(load, 1),
        "capacity_lb": round(post.carries_lb(at_in), 1),
        "column_height_in": round(limits[-1].height_in, 1),
        "published_height_in": published,
    }
    return Answer(
        headline=headline,
        inputs={
            "size": typed, "species": found.name, "beam_span_in": inches(beam_span_nm), "joist_span_in": inches(joist_span_nm),
            "height_in": None if height_nm is None else inches(height_nm), "live_psf": live_psf, "dead_psf": dead_psf,
        },
        answer=answer,
        working=(
            *([] if typed == name else [served_words(typed, name)]),
            f"carries {area:.1f} ft2, beam span x 0.75 joist span, x {case.total_psf:g} psf = {load:,.0f} lb",
            *post.words,
            f"C_P at {format_trade(from_inches(at_in), unit)}: {post.stability(at_in):.3f}, so it carries {post.carries_lb(at_in):,.0f} lb",
            *(f"{_stands(limit.height_in, unit)}: {limit.words} ({limit.source})" for limit in limits),
        ),
        source=least.source,
        moves=("the beam bears on top of the post, in a cap or a full notch, never on bolts alone",),
        caution=code_decides(f"the post tables and {COLUMN_SOURCE.partition(' (')[0]}"),
    )  # fmt: skip


def _stands(height_in: float, unit: Unit) -> str:
    return format_trade(from_inches(math.floor(height_in)), unit) if height_in >= 1 else "not at all"


def _published(
    name: str, group: str, beam_span_nm: int, joist_span_nm: int, load_lb: float, adopted_nm: int | None, unit: Unit
) -> list[PostLimit]:
    """What the published tables allow; raises InputError off them."""
    column_ft = next((n for n, feet in enumerate(POST_JOIST_SPANS_FT) if joist_span_nm <= feet * FOOT), None)
    row = next((feet for feet in POST_6X6_FT if beam_span_nm <= feet * FOOT), None)
    if column_ft is None or row is None:
        raise InputError(
            "the post table stops at 18 ft of beam and 18 ft of joist under 50 psf",
            "give spans of more than 0 and at most 18 ft, or add posts",
        )
    limits = [PostLimit(inches(POST_MOST_NM[name]), f"{name} at most", POST_MEMORY)]
    known = name != "6x6" or group == SOUTHERN
    if name == "6x6":
        feet = POST_6X6_FT[row][column_ft]
        cell = feet[0] if known or adopted_nm is not None else min(feet)
        whose = "first column" if known or adopted_nm is not None else "lowest of its columns, the wood's own not known"
        limits.append(
            PostLimit(
                cell * 12, f"beam to {row} ft, joists to {POST_JOIST_SPANS_FT[column_ft]} ft, {whose}", POST_TABLE
            )
        )
    if group == FIRS:
        place = next(
            (n for n, area in enumerate(PLAN_AREAS_FT2) if load_lb <= area * PLAN_PSF), len(PLAN_AREAS_FT2) - 1
        )
        most = PLAN_AREAS_FT2[place] * PLAN_PSF
        limits.append(
            PostLimit(POST_PLAN_IN[name][place], f"under {most:,} lb{' and more' * (load_lb > most)}", POST_PLAN)
        )
    if adopted_nm is not None:
        limits.append(
            PostLimit(inches(adopted_nm), f"typed, {format_trade(adopted_nm, unit)}", "the adopted table as read")
        )
    return limits
