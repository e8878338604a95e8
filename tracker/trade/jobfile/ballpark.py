"""The first phone call: a size, and what else was said, as the answers of a job form; the rest is suggested. Pure."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from tracker.errors import InputError
from tracker.trade.jobfile.form import JobForm
from tracker.trade.jobfile.platforms import HIGHEST, LARGEST_SIDE, SMALLEST_SIDE
from tracker.trade.jobfile.questions import MOST_FLIGHTS, Ask, Question
from tracker.trade.lengths import Unit, format_length, parse_length
from tracker.trade.loading import parse_heavy
from tracker.trade.lumber import dressed
from tracker.trade.outline import Facing
from tracker.trade.spec import Attachment, BoardKind, Ground
from tracker.trade.suggest import GROUND_SIZES

STEP = {Unit.INCH: "8 in", Unit.MM: "200"}
"""The height of a free-standing deck nobody told the height of: about a step (common practice)."""
BY_THE_DOOR = {Unit.INCH: "24 in", Unit.MM: "600"}
"""The height of a deck on the house nobody told the height of: three steps (common practice)."""
FROST = {Unit.INCH: "36 in", Unit.MM: "900"}
"""The frost depth footings are reckoned with before the local office was asked (our planning figure)."""
_ACROSS = re.compile(r"\s*(?:x|X|×|by)\s*")
_WANTED = "give width by depth in feet, like 10x12, or 10-6x12 for ten foot six"
_LEFT_OUT = ("code", "title", "client", "site", "crew", "start")


@dataclass(frozen=True, slots=True)
class Asked:
    """What was said on the phone; empty texts were not said. ``board`` is what boards are made of, or a size; ``carries`` what
    stands on it that no deck table covers (``loading.HEAVY``).
    """

    size: str
    height: str = ""
    attached: bool = False
    board: str = ""
    ground: str = ""
    stairs: int = 0
    unit: Unit = Unit.INCH
    title: str = ""
    client: str = ""
    carries: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Assumed:
    """An answer nobody gave: the question's label, the answer, and why."""

    label: str
    text: str
    why: str


def sides_of(text: str, unit: Unit) -> tuple[str, str]:
    """Width and depth of a size like ``10x12``; bare numbers are feet (millimetres in a metric job).

    Raises InputError for anything else.
    """
    parts = _ACROSS.split(text.strip())
    if len(parts) != 2 or not all(parts):
        raise InputError(f"{text.strip()[:40]!r} is not a size", _WANTED)
    sides = []
    for part in parts:
        bare = re.fullmatch(r"[0-9]+(\.[0-9]+)?", part)
        typed = f"{part}'" if bare and unit is Unit.INCH else part
        try:
            sides.append(format_length(parse_length(typed, unit), unit))
        except InputError as error:
            raise InputError(f"{part[:40]!r} in the size {text.strip()[:40]!r}: {error.message}", _WANTED) from None
    return sides[0], sides[1]


def ballpark_form(asked: Asked, today: date, code: str) -> JobForm:
    """The form of a job with what was said typed in, and a height and a frost depth where they were not.

    Raises InputError for a size, a height, a board, a ground, a load or a number of flights that cannot be.
    """
    width, depth = sides_of(asked.size, asked.unit)
    unit = asked.unit
    typed = {
        "title": asked.title or f"Deck {width} x {depth}",
        "client": asked.client or "Client not named yet",
        "unit": unit.value,
        "platform.0.size.0": width,
        "platform.0.size.1": depth,
        "platform.0.height": asked.height or (BY_THE_DOOR if asked.attached else STEP)[unit],
        "platform.0.attachment": (Attachment.HOUSE if asked.attached else Attachment.FREE).value,
    }
    if asked.board in tuple(BoardKind):
        typed["platform.0.decking.kind"] = asked.board
    elif asked.board:
        typed["platform.0.decking.board"] = asked.board
    if asked.ground:
        if asked.ground not in tuple(Ground):
            raise InputError(
                f"{asked.ground[:40]!r} is no ground", "bare: it is made ready; ready: cloth and base are there"
            )
        typed["site_facts.ground"] = asked.ground
    if asked.carries:
        typed["site_facts.carries"] = ", ".join(map(parse_heavy, asked.carries))
    form = JobForm({}, typed, today, code)
    _within_range(form)
    if asked.stairs:
        typed |= _flights(asked, form)
        form = JobForm({}, typed, today, code)
    frost = form.by_key["site_facts.frost_depth"]
    return JobForm({}, {**typed, frost.key: FROST[unit]}, today, code) if frost.rest is None else form


def _within_range(form: JobForm) -> None:
    """Raises InputError for a side or a height no deck of a job file has, before anything is suggested for it."""
    key, unit = "platform.0.", form.unit
    try:
        board = dressed(form.value(f"{key}decking.board")).thickness_nm
    except InputError:
        board = 0
    least = board + dressed(GROUND_SIZES[unit][-1]).depth_nm
    for field, low, high in (("size.0", SMALLEST_SIDE, LARGEST_SIDE), ("size.1", SMALLEST_SIDE, LARGEST_SIDE), ("height", least, HIGHEST)):  # fmt: skip
        nm = form.nm(key + field)
        if nm is not None and not low <= nm <= high:
            label = form.by_key[key + field].label
            from_ground = ", from the ground to the top of the boards" if field == "height" else ""
            raise InputError(
                f"{label}: {format_length(nm, unit)} is out of range",
                f"it may be {format_length(low, unit)} to {format_length(high, unit)}{from_ground}",
            )


def _flights(asked: Asked, form: JobForm) -> dict[str, str]:
    """The answers for so many flights of the suggested width: the front takes what fits, then the other sides without the house.

    Raises InputError for more than a job file holds, or than the sides hold.
    """
    key = "platform.0."
    trial = JobForm({}, {**form.typed, f"{key}flights": "1"}, form.today, form.code)
    width, depth, wide = (trial.nm(key + field) for field in ("size.0", "size.1", "stairs.0.width"))
    if asked.stairs > MOST_FLIGHTS:
        raise InputError(
            f"{asked.stairs} flights of stairs are more than a platform takes", f"give 0 to {MOST_FLIGHTS}"
        )
    if width is None or depth is None or not wide:
        return {f"{key}flights": str(asked.stairs)}
    sides = [(Facing.FRONT, width), (Facing.LEFT, depth), (Facing.RIGHT, depth)]
    sides += [] if asked.attached else [(Facing.BACK, width)]
    room = [side for side, long in sides for _ in range(long // wide)]
    if asked.stairs > len(room):
        few = f"give 0 to {len(room)}" if room else "make it wider, or leave the stairs out"
        what = "1 flight of stairs" if asked.stairs == 1 else f"{asked.stairs} flights of stairs"
        raise InputError(f"no room for {what} {format_length(wide, asked.unit)} wide along its open sides", few)
    edges = {
        f"{key}stairs.{n}.edge": side.value for n, side in enumerate(room[: asked.stairs]) if side is not Facing.FRONT
    }
    return {f"{key}flights": str(asked.stairs), **edges}


def assumed(asked: Asked, form: JobForm) -> tuple[Assumed, ...]:
    """Everything in a ballpark's form that nobody said, in the order of the form."""
    found: list[Assumed] = []
    said = {
        "unit", "platform.0.size.0", "platform.0.size.1", "platform.0.attachment",
        *(["platform.0.height"] if asked.height else []),
    }  # fmt: skip
    own = {
        "platform.0.height": "not said: about a step" if not asked.attached else "not said: three steps",
        "site_facts.frost_depth": "not asked yet: the local office knows it",
        "site_facts.soil": "counts as clay",
        "site_facts.ground": "it is stripped and made ready",
    }
    for question in form.by_key.values():
        key = question.key
        if key in said or key in _LEFT_OUT or key.endswith(".name") or (key in form.typed and key not in own):
            continue
        text = form.value(key)
        if text and (text != question.rest or _matters(question)):
            suggested = form.suggestion(question)
            found.append(Assumed(question.label, text, own.get(key) or suggested.why))
    return tuple(found)


def _matters(question: Question) -> bool:
    """Whether an answer left at its rest is still worth saying: it is a choice of the yard."""
    return question.ask is Ask.CHOICE and question.key.startswith("site_facts.")
