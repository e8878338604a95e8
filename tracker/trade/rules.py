"""House rules: every tolerance and limit a check applies, its default, its source, and the contractor's own figure.

A rule is one line of ``RULES``. A house rule may replace the figure; the published one stays visible beside it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

from tracker.errors import InputError, InputErrors
from tracker.text import listing, near
from tracker.trade.answer import Limit
from tracker.trade.beam_tables import BEAM_SOURCES, BeamTable
from tracker.trade.lengths import FOOT, INCH, MM, SIXTEENTH, TENTH_MM, Unit, exact_small, nearest, parse_length
from tracker.trade.loading import LIVE_USUAL_PSF, parse_load, show_load
from tracker.trade.metric import limit_in_unit
from tracker.trade.money import format_money, parse_money, parse_percent, percent_text
from tracker.trade.readings import parse_count

COMMON = "common practice"
HOUSE_RULE = "house rule"
FOR_THIS_JOB = "set for this job"
AS_TYPED = "as typed"
OWN = "our own planning figure; set your own"
NONE_KNOWN = "none until you set it: local law decides"


class RuleKind(StrEnum):
    """How a rule's figure is typed: a length (nm), a count, tenths of a percent, money (cents), a temperature or a
    difference of temperatures (whole °F), or one of several names (its place among the rule's ``choices``).
    """

    LENGTH = "length"
    COUNT = "count"
    PERCENT = "percent"
    MONEY = "money"
    TEMPERATURE = "temperature"
    DEGREES = "degrees"
    CHOICE = "choice"
    LOAD = "load"


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule: ``default`` in the unit of its kind, ``source`` of the default, ``published`` a limit beside it.

    A figure under ``least`` or over ``most`` makes no sense and is refused. A percentage is in tenths of a percent, or in
    hundredths or thousandths where it takes 2 or 3 ``decimals``. A name keeps its place among ``choices`` for ever, as books
    hold the place.
    """

    key: str
    what: str
    kind: RuleKind
    default: int
    source: str = COMMON
    published: str = ""
    least: int = 0
    most: int | None = None
    decimals: int = 1
    choices: tuple[str, ...] = ()


_YEAR = 366
_L, _C, _P, _M = RuleKind.LENGTH, RuleKind.COUNT, RuleKind.PERCENT, RuleKind.MONEY
_T, _D = RuleKind.TEMPERATURE, RuleKind.DEGREES

RULES: tuple[Rule, ...] = (
    Rule("stock_length_spread", "longest minus shortest of the boards used uncut", _L, INCH // 8),
    Rule("stock_length_over", "a mill may leave a board this much long", _L, INCH, COMMON),
    Rule("crown_most", "crown a joist may have and still be used", _L, INCH // 4),
    Rule("crown_neighbours", "difference in crown between joists side by side", _L, INCH // 8),
    Rule("joist_spacing", "joist off its layout mark", _L, INCH // 8, COMMON),
    Rule("sample_every", "joists side by side of which one is read at least, and the worst; the rest may be judged by eye",
         _C, 4, COMMON, least=1, most=8),
    Rule("square_small", "between the diagonals, diagonal up to 12 ft", _L, INCH // 8, COMMON),
    Rule("square_medium", "between the diagonals, diagonal up to 20 ft", _L, INCH // 4, COMMON),
    Rule("square_large", "between the diagonals, diagonal over 20 ft", _L, 3 * INCH // 8, COMMON),
    Rule("tape_disagreement", "sides and diagonals may disagree before a tape is re-read", _L, INCH // 4, COMMON),
    Rule("level", "highest minus lowest point of the frame, fall taken out", _L, INCH // 4, COMMON,
         "complaint limit 3/4 in within 20 ft (remodeler performance standard, deck level)"),
    Rule("concrete_short", "concrete short of what the holes hold, percent", _P, 100, COMMON),
    Rule("post_plumb", "post out of plumb in 8 ft, pro rata", _L, INCH // 4, COMMON),
    Rule("beam_table", "edition of the deck beam table in force", RuleKind.CHOICE, 0,
         "the shorter spans of the two; the office says which it adopted", BEAM_SOURCES[BeamTable.DCA],
         choices=tuple(BeamTable)),
    Rule("ply_spacing", "nails of a beam's plies apart, along each edge", _L, 16 * INCH,
         "from memory: IRC 2018 R507.5, two rows of 10d at 16 in", least=1),
    Rule("support_longest", "unsupported stretch of a joist on the ground", _L, 5 * FOOT, least=1),
    Rule("shim_most", "shims under a point of a frame, stacked; what wants more is bedded again", _L, INCH // 2, COMMON),
    Rule("strip_depth", "sod and topsoil stripped, least", _L, 2 * INCH, COMMON),
    Rule("soil_clearance", "soil or stone to the lowest wood of the frame, least", _L, INCH, COMMON,
         "joists under 18 in and girders under 12 in want treated or durable wood (Uniform Building Code 2317.3, crawl spaces)"),
    Rule("drainage_fall", "fall of the ground below the deck, percent", _P, 20, COMMON, most=500),
    Rule("joist_tape", "tape on the top of joists, rims and beams before boards go on", RuleKind.CHOICE, 0, COMMON,
         choices=("no", "yes")),
    Rule("fascia", "boards over the outside of the rims, along every open edge", RuleKind.CHOICE, 0, COMMON, choices=("no", "yes")),
    Rule("stair_landing", "what stairs come down on", RuleKind.CHOICE, 0, COMMON, choices=("what is there", "slab")),
    Rule("gap_tolerance", "deck board gap off the one decided", _L, SIXTEENTH, COMMON),
    Rule("gap_least_service", "gap left between boards in service, for drainage", _L, INCH // 8, COMMON),
    Rule("gap_most_service", "gap between boards in service, for heels", _L, INCH // 4,
         "a town's published deck notes cap it; local rules differ"),
    Rule("board_taper", "board run out of parallel over the deck", _L, INCH // 4, COMMON),
    Rule("last_board_least", "width of the last board, as a share of a full one in percent", _P, 500, COMMON),
    Rule("screw_edge_least", "screw to the long edge of the board, least", _L, 3 * INCH // 4, COMMON),
    Rule("screw_edge_most", "screw to the long edge of the board, most", _L, INCH + INCH // 4, COMMON),
    Rule("screws_per_crossing", "screws where a board crosses a joist", _C, 2,
         "from memory: IRC 2018 R507 decking table, 2 #8 screws at each joist", least=1),
    Rule("moisture_most_delivery", "moisture of lumber sold as dry", _P, 190,
         "from memory: PS 20, dry lumber is 19 % or less at surfacing"),
    Rule("finish_moisture_most", "moisture of deck boards when the finish goes on", _P, 150, COMMON,
         "20 % at most, 15 % is better (from memory: Forest Products Laboratory notes on finishing decks)"),
    Rule("finish_rain_days", "dry days since rain before the finish", _C, 2, COMMON, most=60),
    Rule("finish_dry_hours", "hours of dry forecast after the finish", _C, 24, COMMON, most=240),
    Rule("finish_coldest", "coldest air for the finish", _T, 50, COMMON, most=120),
    Rule("finish_hottest", "hottest air for the finish", _T, 90, COMMON, most=130),
    Rule("dew_margin", "surface above the dew point", _D, 5,
         "from memory: ISO 8502-4, 3 °C above the dew point", most=60),
    Rule("waste_boards", "spare deck boards ordered, percent", _P, 50, COMMON),
    Rule("ready_mix_over", "bags of concrete for a job above which a truck brings it ready-mixed", _C, 45,
         "common practice: 45 bags of 80 lb make a cubic yard", most=10_000),
    Rule("waste_concrete", "spare concrete ordered from a truck, percent", _P, 100, COMMON),
    Rule("culls_framing", "framing boards expected to be culls, bought besides, percent; set it for the grade you buy", _P, 0,
         COMMON, most=500),
    Rule("waste_fasteners", "spare fasteners ordered, percent", _P, 50, COMMON),
    Rule("live_load", "live load a deck is designed for, pounds a square foot", RuleKind.LOAD, LIVE_USUAL_PSF,
         "from memory: IRC Table R301.5, 40 psf on decks; some places ask 60", least=LIVE_USUAL_PSF, most=200),
    Rule("locate_lead", "working days between the locate call and digging", _C, 3,
         "state one-call notices ask 2 to 3 business days; local law decides", most=_YEAR),
    Rule("inspection_lead", "working days ahead an inspector is booked", _C, 1, COMMON,
         "offices differ: many want the call the working day before, some days more; ask yours", most=_YEAR),
    Rule("kerf", "what a saw cut takes", _L, INCH // 8),
    Rule("end_trim", "cut off one end of a board to square it", _L, INCH // 4),
    Rule("offcut_least", "shortest offcut worth putting back to stock", _L, 3 * FOOT),
    Rule("offcut_blocking", "shortest offcut good for blocking", _L, 13 * INCH),
    Rule("order_margin", "working days material should be there before it is needed", _C, 1),
    Rule("crew_size", "people in a crew when the job does not say", _C, 2, least=1),
    Rule("hours_per_day", "working hours in a crew day", _C, 8, least=1, most=24),
    Rule("cure_days", "days from pour until framing loads it", _C, 3, COMMON, most=_YEAR),
    Rule("price_days", "days after which a price seen counts as old", _C, 30, COMMON, least=1, most=_YEAR),
    Rule("drying_days", "days from the last board until the finish", _C, 28, COMMON, most=_YEAR),
    Rule("labour_rate", "what an hour of one person costs, wages with all that goes with them", _M, 5500, OWN, most=100_000),
    Rule("overhead", "overhead on the direct cost, percent", _P, 100, OWN),
    Rule("margin", "margin: profit as a share of the price, percent", _P, 200, OWN, most=900),
    Rule("markup", "markup: profit on the cost, percent; when it is not 0 it takes the place of the margin", _P, 0, OWN),
    Rule("tax_on_price", "sales tax on the whole price, percent", _P, 0, NONE_KNOWN, most=40_000, decimals=3),
    Rule("tax_on_material", "sales tax on the cost of the material alone, percent", _P, 0, NONE_KNOWN, most=40_000, decimals=3),
    Rule("quote_days", "days a quote stands", _C, 30, COMMON, least=1, most=_YEAR),
    Rule("deposit", "deposit when the quote is accepted, share of the price in percent", _P, 1000, OWN,
         "some states cap it: from memory, California Business and Professions Code 7159.5, 10 % or $1,000, the lesser", decimals=2),
    Rule("draw_frame", "draw when the frame is signed off, share of the price in percent", _P, 4000, OWN, decimals=2),
    Rule("draw_boards", "draw when the deck boards are signed off, share in percent; the last draw is the rest", _P, 3000, OWN, decimals=2),
    Rule("small_phases", "phases of a small platform that have no check of their own: folded into their neighbor, or each apart",
         RuleKind.CHOICE, 0, OWN, choices=("folded", "apart")),
    Rule("pace", "hours your crews take where the planning figures say 100; hours of a phase that you set yourself stand as set",
         _C, 100, OWN, least=10, most=500),
    Rule("hours_few", "jobs under which hours per unit are too few to go by", _C, 5, OWN, least=2, most=100),
)  # fmt: skip

BY_KEY: Mapping[str, Rule] = {rule.key: rule for rule in RULES}


@dataclass(frozen=True, slots=True)
class Rules:
    """The rules in force for a job: the defaults, the book's ``house`` rules over them, then what the ``job`` says itself.

    ``set_by`` is how the latter are called as a source: the job's own, or typed with a question. In a job in millimetres
    (``unit``) a figure given in inches is the nearest whole millimetre.
    """

    house: Mapping[str, int] = field(default_factory=dict)
    job: Mapping[str, int] = field(default_factory=dict)
    set_by: str = FOR_THIS_JOB
    unit: Unit = Unit.INCH

    def __hash__(self) -> int:
        return hash((frozenset(self.house.items()), frozenset(self.job.items()), self.set_by, self.unit))

    @property
    def own(self) -> Mapping[str, int]:
        """Every figure that is not the default's."""
        return {**self.house, **self.job}

    def figure(self, key: str) -> int:
        """The figure in force: nanometres, a count, a percentage in its last decimal, or cents."""
        figure = self.job.get(key, self.house.get(key, BY_KEY[key].default))
        if self.unit is Unit.MM and BY_KEY[key].kind is RuleKind.LENGTH and figure % TENTH_MM:
            return nearest(figure, MM)
        return figure

    @property
    def beam_table(self) -> BeamTable:
        """The edition of the beam table in force."""
        return tuple(BeamTable)[self.figure("beam_table")]

    def source(self, key: str) -> str:
        """Who set the figure: the job's file, the contractor for all jobs, or the default's source."""
        if key in self.job:
            return self.set_by
        return HOUSE_RULE if key in self.house else BY_KEY[key].source

    def text(self, key: str, unit: Unit) -> str:
        """The figure in force as text."""
        return show_rule(BY_KEY[key], self.figure(key), unit)

    def limit(self, key: str, unit: Unit) -> Limit:
        """The limit as a verdict shows it: what it replaced stays in sight, the house rule or the default."""
        rule = BY_KEY[key]
        published = [rule.published] if rule.published else []
        if key in self.job and key in self.house:
            published.insert(0, f"instead of {Rules(self.house, unit=unit).text(key, unit)} ({HOUSE_RULE})")
        elif key in self.job or key in self.house:
            published.insert(0, f"instead of {Rules(unit=unit).text(key, unit)} ({rule.source})")
        limit = Limit(rule.what, self.text(key, unit), self.source(key), "; ".join(published))
        return limit_in_unit(limit, unit)

    def for_job(self, own: Mapping[str, int], unit: Unit = Unit.INCH) -> Rules:
        """These rules with what a job of this unit says itself laid over them."""
        return Rules(self.house, {**self.job, **own}, unit=unit)

    def as_typed(self, own: Mapping[str, int]) -> Rules:
        """These rules with figures that somebody typed with a question laid over them."""
        return Rules(self.house, {**self.job, **own}, AS_TYPED, self.unit)


def kept_figure(key: str, figure: int) -> int | dict[str, str]:
    """A figure as the book keeps it: a percentage in whole tenths, or written out where it is finer than that."""
    rule = BY_KEY.get(key)
    if rule is None or rule.kind is not RuleKind.PERCENT:
        return figure
    scale: int = 10 ** (rule.decimals - 1)
    tenths, finer = divmod(figure, scale)
    return {"percent": percent_text(figure, rule.decimals).removesuffix(" %")} if finer else tenths


def figure_kept(key: str, kept: int | Mapping[str, str]) -> int:
    """The figure the book keeps; a percentage was always in whole tenths where it is a bare number."""
    rule = BY_KEY.get(key)
    if rule is None or rule.kind is not RuleKind.PERCENT:
        assert isinstance(kept, int)
        return kept
    if isinstance(kept, int):
        scale: int = 10 ** (rule.decimals - 1)
        return kept * scale
    return parse_percent(kept["percent"], "a percentage", rule.decimals)


def show_rule(rule: Rule, figure: int, unit: Unit) -> str:
    """Print a rule's figure; ``parse_rule`` reads it back unchanged."""
    match rule.kind:
        case RuleKind.LENGTH:
            return exact_small(figure, unit)
        case RuleKind.PERCENT:
            return percent_text(figure, rule.decimals)
        case RuleKind.MONEY:
            return format_money(figure)
        case RuleKind.TEMPERATURE:
            return f"{in_celsius(figure)} °C" if unit is Unit.MM else f"{figure} °F"
        case RuleKind.DEGREES:
            return f"{celsius_steps(figure)} °C" if unit is Unit.MM else f"{figure} °F"
        case RuleKind.COUNT:
            return str(figure)
        case RuleKind.CHOICE:
            return rule.choices[figure]
        case RuleKind.LOAD:
            return show_load(figure, unit)


def in_celsius(fahrenheit: int) -> int:
    """The nearest whole °C; every whole °C survives the way to °F and back."""
    return int((Fraction(5, 9) * (fahrenheit - 32) + Fraction(1, 2)).__floor__())


def celsius_steps(steps: int) -> int:
    """A difference of °F in whole °C."""
    return int((Fraction(5, 9) * steps + Fraction(1, 2)).__floor__())


def parse_rules(typed: Mapping[str, str], unit: Unit) -> dict[str, int]:
    """Return rule figures from typed texts; raises InputErrors naming each unknown key or wrong figure."""
    out: dict[str, int] = {}
    problems: list[str] = []
    for key, text in typed.items():
        rule = BY_KEY.get(key)
        if rule is None:
            problems.append(f"{key}: no such rule{near(key, BY_KEY)}; `deckjobs rules` lists them")
            continue
        try:
            out[key] = parse_rule(rule, text, unit)
        except InputError as error:
            problems.append(f"{key}: {error.message}; {error.hint}")
    if problems:
        raise InputErrors(problems)
    return out


def parse_rule(rule: Rule, text: str, unit: Unit) -> int:
    """Return one rule's figure from text; raises InputError with what would be right."""
    match rule.kind:
        case RuleKind.LENGTH:
            figure = parse_length(text, unit)
            _plausible(rule, text, figure, unit)
        case RuleKind.COUNT:
            figure = parse_count(text, "a count")
        case RuleKind.PERCENT:
            figure = parse_percent(text, "a percentage", rule.decimals)
        case RuleKind.MONEY:
            figure = parse_money(text)
        case RuleKind.TEMPERATURE | RuleKind.DEGREES:
            figure = _parse_degrees(text, rule.kind, unit)
        case RuleKind.CHOICE:
            figure = _parse_choice(text, rule)
        case RuleKind.LOAD:
            figure = parse_load(text, unit)
    usual = f"the default is {show_rule(rule, rule.default, unit)}"
    if figure < rule.least:
        least = show_rule(rule, rule.least, unit) if rule.kind is not RuleKind.LENGTH else "more than nothing"
        raise InputError(f"{text.strip()[:40]!r} is too little: {rule.what}, {least} at least", usual)
    if rule.most is not None and figure > rule.most:
        most = show_rule(rule, rule.most, unit)
        raise InputError(f"{text.strip()[:40]!r} is too much: {rule.what}, {most} at most", usual)
    return figure


def _parse_choice(text: str, rule: Rule) -> int:
    """The place of a name among a rule's, whatever its case and spaces."""
    wanted = "".join(text.lower().split())
    for place, choice in enumerate(rule.choices):
        if wanted == "".join(choice.lower().split()):
            return place
    raise InputError(
        f"{text.strip()[:40]!r} is no {rule.what}{near(text, rule.choices)}", f"choose {listing(rule.choices)}"
    )


FAR = 6
"""A length this many times the default, or this part of it, is asked about when its unit is not written."""


def _plausible(rule: Rule, text: str, figure: int, unit: Unit) -> None:
    """Refuse a bare number that makes a figure far from the default; who writes its unit insists on it."""
    if (
        not figure
        or not re.fullmatch(r"[\d\s./-]+", text.strip())
        or rule.default / FAR <= figure <= rule.default * FAR
    ):
        return
    other = Unit.MM if unit is Unit.INCH else Unit.INCH
    bare = text.strip()
    readings = [f"{exact_small(figure, unit)}, as typed here"]
    with suppress(InputError):
        readings.append(f"{exact_small(parse_length(bare, other), other)}, if it is in the other unit")
    raise InputError(
        f"{bare[:40]!r} is far from the usual {show_rule(rule, rule.default, unit)} for {rule.what}: {' or '.join(readings)}",
        f"write its unit to insist, like {bare}{'in' if unit is Unit.INCH else 'mm'} or {bare}{'mm' if unit is Unit.INCH else 'in'}",
    )


def _parse_degrees(text: str, kind: RuleKind, unit: Unit) -> int:
    """Whole °F of a typed temperature or difference; a bare number is in °F, in a job in millimetres in °C."""
    found = re.fullmatch(r"(-?\d{1,3})\s*(?:°\s*)?([FCfc]?)", text.strip())
    if found is None:
        raise InputError(f"{text.strip()[:40]!r} is not a temperature", "write whole degrees, like 50 °F or 10 °C")
    degrees, mark = int(found[1]), found[2].upper() or ("C" if unit is Unit.MM else "F")
    if mark == "F":
        return degrees
    return int((Fraction(9, 5) * degrees + (32 if kind is RuleKind.TEMPERATURE else 0) + Fraction(1, 2)).__floor__())
