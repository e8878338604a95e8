"""The questions a job form asks, step by step, and the table of a job file that its answers make.

An answer is a text by the way of its key (``platform.0.joists.size``). Some questions only steer others (how many beams,
whether there is a guard): their keys stand in no job file.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from tracker.errors import InputError
from tracker.text import NOTE_LIMIT, accept, listing, near
from tracker.trade.dates import format_long_day, parse_day
from tracker.trade.lengths import FOOT, Unit, format_length, format_small, parse_length
from tracker.trade.loading import HEAVY, load_in
from tracker.trade.lumber import GRADES, SPECIES_GROUPS
from tracker.trade.metric import in_unit
from tracker.trade.movement import SPECIES
from tracker.trade.outline import Corner, Facing
from tracker.trade.spec import Attachment, BoardKind, Finish, GapIntent, Ground, Stringers, Support

MOST_PLATFORMS, MOST_BEAMS, MOST_FLIGHTS, MOST_CORNERS = 12, 8, 6, 4
YES, NO = "yes", "no"
TO_SIZE, UNCUT = "cut to size", "uncut boards"
CUT_OUT, CLIPPED = "cut out", "clipped at 45 degrees"


class Ask(StrEnum):
    """How an answer is read; ``SIDES`` are words with commas between them, a list in the job file."""

    TEXT = "text"
    LENGTH = "length"
    WHOLE = "whole number"
    DAY = "day"
    YESNO = "yes or no"
    CHOICE = "choice"
    SIDES = "sides"


@dataclass(frozen=True, slots=True)
class Question:
    """One question: ``key`` is the way of its value in the job file, ``asks`` what is meant in one line.

    ``choices`` are offered as a list; with ``open`` other texts are taken too. ``rest`` is what no answer means to the job
    file, None when it must have one. ``steers`` marks a key that no job file has.
    """

    key: str
    label: str
    asks: str
    ask: Ask = Ask.TEXT
    choices: tuple[str, ...] = ()
    open: bool = False
    example: str = ""
    rest: str | None = None
    steers: bool = False

    @property
    def needed(self) -> bool:
        """Whether the job file must have it."""
        return self.rest is None and not self.steers


@dataclass(frozen=True, slots=True)
class Step:
    """A few questions asked together; ``platform`` is the number of the platform they are of, None for the whole job."""

    key: str
    title: str
    questions: tuple[Question, ...]
    platform: int | None = None


_SIZES = {Unit.INCH: ("2x6", "2x8", "2x10", "2x12"), Unit.MM: ("45x145", "45x195", "45x220", "45x245", "45x295")}
_BOARDS = {Unit.INCH: ("5/4x6", "2x6", "5/4x4", "2x4"), Unit.MM: ("28x120", "28x145", "34x145", "45x145")}
_POSTS = {Unit.INCH: ("6x6", "4x4"), Unit.MM: ("145x145", "95x95")}
_SPACINGS = {Unit.INCH: ("16 in", "12 in", "24 in"), Unit.MM: ("400", "300", "600")}
_USES = ("UC4A", "UC3B", "UC4B")
_SOILS = ("unknown", "clay", "sand", "gravel", "sedimentary rock", "bedrock")
_LONG = {Unit.INCH: "14'", Unit.MM: "4200"}
_SHORT = {Unit.INCH: "11 in", Unit.MM: "280"}
_OLD = {Unit.INCH: "10' x 12'", Unit.MM: "3000 x 3600"}
_YESNO = (NO, YES)
SIDES = tuple(side.value for side in (Facing.FRONT, Facing.LEFT, Facing.RIGHT, Facing.BACK))


def _yes(key: str, label: str, asks: str, *, steers: bool = False) -> Question:
    return Question(key, label, asks, Ask.YESNO, _YESNO, rest=NO, steers=steers)


def _number(key: str, label: str, asks: str, least: int, most: int) -> Question:
    return Question(
        key, label, asks, Ask.WHOLE, tuple(str(n) for n in range(least, most + 1)), steers=True, rest=str(least)
    )


def job_step() -> Step:
    """Who and where."""
    return Step(
        "job", "Who and where",
        (
            Question("code", "Job code", "two digits of the year, a dash, three digits", example="26-014"),
            Question("title", "Title", "what the job is called", example="Platform by the pear tree"),
            Question("client", "Client", "whose deck it is", example="Client Hollow Lane"),
            Question("site", "Site", "where it is, and what a person finds there", rest=""),
            Question("unit", "Bare numbers", "what a bare number means: inches or millimetres", Ask.CHOICE,
                     tuple(unit.value for unit in Unit), rest=Unit.INCH.value),
            _number("platforms", "Platforms", "how many platforms the deck has", 1, MOST_PLATFORMS),
        ),
    )  # fmt: skip


def size_questions(at: int, unit: Unit, uncut: bool, cuts: tuple[bool, ...]) -> tuple[Question, ...]:
    """Size and height of a platform; ``cuts`` are its cut corners, true for one that is clipped."""
    key, long = f"platform.{at}.", _LONG[unit]
    out = [
        Question(f"{key}name", "Name", "a short name: a-z, 0-9 and -", example="deck"),
        Question(f"{key}make", "Frame", "cut to a size, or built of boards left uncut", Ask.CHOICE, (TO_SIZE, UNCUT),
                 steers=True, rest=TO_SIZE),
    ]  # fmt: skip
    if uncut:
        out += [
            Question(f"{key}uncut.rims", "Rim boards", "stock length of the rims, which gives the width", Ask.LENGTH, example=long),
            Question(f"{key}uncut.joists", "Joist boards", "stock length of the joists; two rims more give the depth", Ask.LENGTH, example=long),
        ]  # fmt: skip
    else:
        out += [
            Question(f"{key}size.0", "Width", "left to right, outside the rims", Ask.LENGTH, example=long),
            Question(f"{key}size.1", "Depth", "house side to yard side, outside the rims", Ask.LENGTH, example=long),
        ]
    out.append(
        Question(f"{key}height", "Height", "from the ground to the top of the boards, where it is highest", Ask.LENGTH,
                 example=_SHORT[unit])
    )  # fmt: skip
    if not uncut:
        out.append(_number(f"{key}corners", "Corners cut", "how many corners are cut out or clipped", 0, MOST_CORNERS))
        for n, clipped in enumerate(cuts):
            cut = f"{key}cut.{n}."
            out += [
                Question(f"{cut}corner", f"Corner {n + 1}", "seen from the yard, the house at the back", Ask.CHOICE,
                         tuple(corner.value for corner in Corner)),
                Question(f"{cut}kind", f"Corner {n + 1} is", "cut out square, or clipped", Ask.CHOICE, (CUT_OUT, CLIPPED),
                         steers=True, rest=CUT_OUT),
            ]  # fmt: skip
            if clipped:
                out.append(Question(f"{cut}leg", "Leg", "along each edge, from the corner", Ask.LENGTH, example=long))
            else:
                out += [
                    Question(f"{cut}width", "Cut width", "along the rim", Ask.LENGTH, example=long),
                    Question(f"{cut}depth", "Cut depth", "along the joists", Ask.LENGTH, example=long),
                ]
    return tuple(out)


def frame_questions(at: int, unit: Unit, beams: int | None, pads: bool, attached: bool) -> tuple[Question, ...]:
    """Support and framing of a platform; ``beams`` None where it takes none; with ``pads`` they lie on pad blocks."""
    key = f"platform.{at}."
    supports = tuple(x.value for x in Support if at or x is not Support.PLATFORM)
    out = [
        Question(f"{key}attachment", "Stands", "free, or hung on the house by a ledger", Ask.CHOICE,
                 tuple(x.value for x in Attachment), rest=Attachment.FREE.value),
        Question(f"{key}support", "Carried by", "wood blocks, pad blocks on the ground, beams on footings, or the platform below",
                 Ask.CHOICE, supports),
    ]  # fmt: skip
    if not attached:
        asks = "whether the house closes its back, so that nobody falls off there"
        out.insert(1, _yes(f"{key}beside_house", "House behind", asks))
    out += [
        Question(f"{key}joists.species", "Joist wood", "as the grade stamp names it", Ask.CHOICE, tuple(SPECIES_GROUPS), open=True),
        Question(f"{key}joists.grade", "Joist grade", "as the grade stamp says", Ask.CHOICE, GRADES[:3], open=True),
        Question(f"{key}joists.spacing", "On centre", "joist spacing", Ask.LENGTH, _SPACINGS[unit], open=True),
    ]  # fmt: skip
    if beams is not None:
        asks = "on pads; 0: a block under every joist" if pads else "how many beams carry the joists"
        out.append(_number(f"{key}beams", "Beams", asks, 0 if pads else 1, MOST_BEAMS))
        for n in range(beams):
            beam = f"{key}beam.{n}."
            out += [
                Question(f"{beam}at", f"Beam {n + 1} at", "its centre line, from the back edge", Ask.LENGTH, example=_LONG[unit]),
                Question(f"{beam}plies", "Plies", "boards nailed together", Ask.WHOLE, ("2", "3", "1", "4")),
                Question(f"{beam}size", "Beam size", "size of a ply", Ask.CHOICE, _SIZES[unit][1:], open=True),
            ]  # fmt: skip
            along = tuple(str(k) for k in range(2, 9))
            if pads:
                out.append(Question(f"{beam}pads", "Pads", "pad blocks along it", Ask.WHOLE, along, open=True))
                continue
            out += [
                Question(f"{beam}posts", "Posts", "posts along it", Ask.WHOLE, along, open=True),
                Question(f"{beam}post", "Post size", "size of a post", Ask.CHOICE, _POSTS[unit], open=True),
            ]
    out += [
        Question(f"{key}joists.size", "Joist size", "size of the joists", Ask.CHOICE, _SIZES[unit], open=True),
        Question(f"{key}joists.use", "Joist treated", "use category on the end tag", Ask.CHOICE, _USES),
    ]
    return tuple(out)


def board_questions(at: int, unit: Unit, wood: bool) -> tuple[Question, ...]:
    """The deck boards of a platform."""
    key = f"platform.{at}.decking."
    narrow = ("3/16 in", "1/8 in", "1/4 in") if unit is Unit.INCH else ("5", "3", "6")
    out = [
        Question(f"{key}board", "Board", "size of a deck board", Ask.CHOICE, _BOARDS[unit], open=True),
        Question(f"{key}kind", "Made of", "wood or composite", Ask.CHOICE, tuple(x.value for x in BoardKind)),
    ]
    if wood:
        out.append(Question(f"{key}species", "Board wood", "the tree it is of", Ask.CHOICE, SPECIES, open=True))
    out += [
        Question(f"{key}angle", "Angle", "0 across the joists, 45 diagonal, 90 along them", Ask.WHOLE, ("0", "45", "90"), rest="0"),
        Question(f"{key}lay", "Laid", "wet boards tight, or with a spacer", Ask.CHOICE, tuple(x.value for x in GapIntent)),
        Question(f"{key}gap", "Gap wanted", "between boards in service", Ask.LENGTH, narrow, open=True),
    ]  # fmt: skip
    if wood:
        out.append(Question(f"{key}use", "Board treated", "use category on the end tag", Ask.CHOICE, _USES))
    out += [
        Question(f"{key}overhang", "Overhang", "how far boards stand past the frame", Ask.LENGTH,
                 example="1 in" if unit is Unit.INCH else "25", rest=""),
        _yes(f"{key}border", "Border", "one mitred board all round"),
    ]  # fmt: skip
    return tuple(out)


@dataclass(frozen=True, slots=True)
class FlightRails:
    """Whether a flight has a handrail and a guard, and is ``high`` enough to want a guard on its open sides."""

    handrail: bool
    guard: bool
    high: bool


def climb_questions(at: int, unit: Unit, flights: Sequence[FlightRails], guard: bool) -> tuple[Question, ...]:
    """Stairs and guard of a platform."""
    key = f"platform.{at}."
    out = [_number(f"{key}flights", "Stairs", "how many flights of stairs", 0, MOST_FLIGHTS)]
    long, tall = _LONG[unit], "36 in" if unit is Unit.INCH else "914"
    for n, rails in enumerate(flights):
        flight, wide = f"{key}stairs.{n}.", "4'" if unit is Unit.INCH else "1200"
        out += [
            Question(f"{flight}width", f"Flight {n + 1} wide", "clear width", Ask.LENGTH, example=wide),
            Question(f"{flight}rise", "Rise", "from the landing to the top of the boards", Ask.LENGTH, example=_SHORT[unit]),
            Question(f"{flight}edge", "Leaves from", "the side it leaves from", Ask.CHOICE, SIDES, rest=""),
            Question(f"{flight}from", "Starts at", "along that side, from the left of who faces it", Ask.LENGTH,
                     example=long, rest=""),
            Question(f"{flight}stringers", "Stringers", "notched for the steps, or solid with brackets", Ask.CHOICE,
                     tuple(x.value for x in Stringers), rest=Stringers.CUT.value),
            _yes(f"{flight}handrail", "Handrail", "a graspable handrail along it"),
        ]  # fmt: skip
        if rails.handrail:
            out.append(Question(f"{flight}handrail_height", "Rail height", "straight up from the nosings, 34 to 38 in", Ask.LENGTH,
                                example=tall, rest=""))  # fmt: skip
        if rails.guard or rails.high:
            out.append(Question(f"{flight}open_sides", "Open sides", "of the flight: fewer than 2 beside a wall", Ask.WHOLE,
                                ("2", "1", "0"), rest="2"))  # fmt: skip
        out.append(_yes(f"{flight}guard", "Flight guard", "a guard on its open sides"))
        if rails.guard:
            out.append(Question(f"{flight}guard_height", "Its height", "straight up from the nosings, 34 in at the least", Ask.LENGTH,
                                example=tall, rest=""))  # fmt: skip
    out.append(_yes(f"{key}guarded", "Guard", "a guard along the open sides", steers=True))
    if guard:
        out += [
            Question(f"{key}guard.height", "Guard height", "above the boards", Ask.LENGTH),
            Question(
                f"{key}guard.length",
                "Guard run",
                "all its sides together; left out, its edges less the stairs",
                Ask.LENGTH,
                example=long,
                rest="",
            ),
            Question(
                f"{key}guard.edges",
                "Guard sides",
                "the sides it stands on, with commas",
                Ask.SIDES,
                SIDES,
                open=True,
                example="left, front, right",
                rest="",
            ),
        ]
    return tuple(out)


def yard_step(unit: Unit, frost_counts: bool) -> Step:
    """The ground, the papers, the finish; ``frost_counts`` where footings are dug, or a platform hangs on the house."""
    frost = Question(
        "site_facts.frost_depth", "Frost depth", "how deep the ground freezes: ask the local office", Ask.LENGTH,
        example="30 in" if unit is Unit.INCH else "600", rest=None if frost_counts else "",
    )  # fmt: skip
    per_area = in_unit("pounds a square foot", unit)

    def loads(*psf: int) -> tuple[str, ...]:
        return tuple(str(load_in(load, unit)) for load in psf)

    return Step(
        "yard", "Ground, papers, finish",
        (
            frost,
            Question("site_facts.soil", "Soil", "what the footings stand on; unknown counts as clay", Ask.CHOICE, _SOILS,
                     rest="unknown"),
            Question("site_facts.service_moisture", "Climate", "or the moisture wood keeps outdoors, in percent", Ask.CHOICE,
                     ("temperate", "desert", "dry", "humid", "marine"), open=True, rest=""),
            Question("site_facts.ground", "Ground", "bare: it is stripped and made ready; ready: cloth and base are in place",
                     Ask.CHOICE, tuple(x.value for x in Ground), rest=Ground.BARE.value),
            Question("site_facts.digging", "Digging", "sod stripped, a stone bed, any hole: then a utility locate comes first",
                     Ask.YESNO, _YESNO, rest=""),
            _yes("site_facts.electric", "Wiring", "any wiring on the deck"),
            Question("site_facts.carries", "Stands on it", "a hot tub, a roof or a screen room, with commas: those are for a designer",
                     Ask.SIDES, HEAVY, open=True, rest=""),
            Question("site_facts.live", "Live load", f"{per_area}, where this place asks more than the house's figure",
                     Ask.WHOLE, loads(40, 50, 60), open=True, rest=""),
            Question("site_facts.snow", "Snow load", f"ground snow, {per_area}: ask the local office", Ask.WHOLE,
                     loads(20, 30, 50), open=True, rest=""),
            Question("site_facts.old_deck", "Old deck", "width x depth of one that is taken away first; empty: none is there",
                     example=_OLD[unit], rest=""),
            Question("site_facts.drain", "Drain", "length of a drain laid in the ground; empty: none", Ask.LENGTH, example=_LONG[unit],
                     rest=""),
            _yes("permit", "Permit", "the local office asks for one, or you do not know yet"),
            Question("no_permit", "No permit, says", "who at the office said that none is needed, and when", rest=""),
            Question("finish", "Finish", "what goes on the boards at the end", Ask.CHOICE,
                     tuple(x.value for x in Finish), rest=Finish.NONE.value),
        ),
    )  # fmt: skip


def dates_step(crews: tuple[str, ...] = ()) -> Step:
    """Crew and start."""
    return Step(
        "dates", "Crew and start",
        (
            Question("crew", "Crew", "who builds it", Ask.CHOICE if crews else Ask.TEXT, crews, open=True, rest=""),
            Question("start", "Start", "the first day: 2026-05-18, today, mon", Ask.DAY),
        ),
    )  # fmt: skip


def every_question(platforms: int, unit: Unit) -> Mapping[str, Question]:
    """Every question a form of so many platforms can ask, by key, whatever the answers are."""
    found = [*job_step().questions, *yard_step(unit, True).questions, *dates_step().questions]
    for at in range(platforms):
        for uncut in (True, False):
            for clipped in (True, False):
                found += size_questions(at, unit, uncut, (clipped,) * MOST_CORNERS)
        for pads in (True, False):
            found += frame_questions(at, unit, MOST_BEAMS, pads, attached=False)
        found += board_questions(at, unit, True)
        found += climb_questions(at, unit, (FlightRails(True, True, True),) * MOST_FLIGHTS, True)
    return {question.key: question for question in found}


def number(text: str, least: int, most: int) -> int:
    """The whole number of a steering answer, held between its bounds; ``least`` for what is none."""
    return min(max(int(text), least), most) if text.isdecimal() and len(text) < 4 else least


def joined(path: tuple[str | int, ...]) -> str:
    """The way of a fault as a question's key."""
    return ".".join(str(part) for part in path)


def choice_of(text: str, question: Question) -> str:
    """The choice a text begins, when there is only one; else the text as it is."""
    word = " ".join(text.lower().split())
    if word in question.choices or not word:
        return word if word in question.choices else text
    begun = [choice for choice in question.choices if choice.lower().startswith(word)]
    return begun[0] if len(begun) == 1 else text


def understood(question: Question, text: str, unit: Unit, today: date) -> str:
    """How the text of an answer is understood, in words; empty when there is nothing to add to it. Raises InputError."""
    if not text:
        return ""
    match question.ask:
        case Ask.LENGTH:
            nm = parse_length(text, unit)
            return f"= {format_length(nm, unit) if nm >= FOOT else format_small(nm, unit)}"
        case Ask.DAY:
            return f"= {format_long_day(parse_day(text, today))}"
        case Ask.WHOLE if not text.isdecimal():
            raise InputError(f"{text[:40]!r} is not a whole number", f"write a number like {question.choices[0]}")
        case Ask.CHOICE | Ask.YESNO | Ask.WHOLE if question.choices and not question.open:
            word = choice_of(text, question)
            if word not in question.choices:
                hint = f"choose {listing(question.choices)}"
                raise InputError(f"{text[:40]!r} is not one of the choices{near(word, question.choices)}", hint)
            return f"= {word}" if word != text else ""
        case _:
            accept(text, question.label.lower(), limit=NOTE_LIMIT)
            return ""


_STEERED_BY = {
    "beam": "beams",
    "cut": "corners",
    "stairs": "flights",
    "guard": "guarded",
    "uncut": "make",
    "": "size.0",
}


def owner_of(path: tuple[str | int, ...], asked: Collection[str]) -> str:
    """The key of the question, of those ``asked``, that a fault at ``path`` of the job file belongs to; empty for none."""
    parts = [str(part) for part in path]
    while parts:
        key = ".".join(parts)
        if key in asked:
            return key
        if len(parts) in (2, 3) and parts[0] == "platform":
            steers = f"platform.{parts[1]}.{_STEERED_BY.get(parts[2] if len(parts) > 2 else '', '')}"
            if steers in asked:
                return steers
        if inside := next((question for question in asked if question.startswith(f"{key}.")), ""):
            return inside
        parts.pop()
    return ""
