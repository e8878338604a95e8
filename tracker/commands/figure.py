"""``figure NAME``: one trade figure with no job and no book."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, NamedTuple

from tracker.commands.parser import Command, Parser, new_parser
from tracker.commands.session import Session
from tracker.errors import InputError
from tracker.text import near

if TYPE_CHECKING:
    from tracker.trade.answer import Answer
    from tracker.trade.lengths import Unit


class Figure(NamedTuple):
    """One figure: its arguments, how it is asked, what it tells."""

    add: Callable[[ArgumentParser], None]
    ask: Callable[[Namespace, Unit], Answer]
    text: str
    example: str


def _length(args: Namespace, name: str, unit: Unit) -> int:
    """The length given with ``--name``; the error names the option."""
    return length_of(getattr(args, name.replace("-", "_")), f"--{name}", unit)


def length_of(text: str, option: str, unit: Unit, *, signed: bool = False) -> int:
    """A typed length; the error names the option it came with."""
    from tracker.trade.lengths import parse_length

    try:
        return parse_length(text, unit, signed=signed)
    except InputError as error:
        raise InputError(f"{option}: {error.message}", error.hint) from None


def _number(text: str, option: str, *, signed: bool = False) -> float:
    """A plain decimal; the error names the option it came with."""
    import re

    raw = text.strip().removesuffix("%").replace("\u2212", "-")
    if not re.fullmatch(r"[+-]?([0-9]{1,9}(\.[0-9]{0,6})?|\.[0-9]{1,6})", raw):
        raise InputError(f"{option}: {text[:40]!r} is not a number", "write it like 40 or 12.5, with the digits 0-9")
    if raw[0] in "+-" and not signed:
        raise InputError(f"{option}: {text[:40]!r} has a sign", "write it like 40 or 12.5")
    return float(raw)


def _tenths(text: str, option: str) -> int:
    from tracker.trade.readings import parse_tenths

    try:
        return parse_tenths(text, "a percentage", 200)
    except InputError as error:
        raise InputError(f"{option}: {error.message}", error.hint) from None


def _count(text: str, option: str) -> int:
    from tracker.trade.readings import parse_count

    try:
        return parse_count(text, "a count")
    except InputError as error:
        raise InputError(f"{option}: {error.message}", error.hint) from None


def _square_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--sides", nargs=2, metavar=("A", "B"), required=True, help="width, then depth")
    parser.add_argument("--diagonals", nargs=2, metavar=("D1", "D2"), required=True, help="corner to corner, both")


def _square(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.square import square_answer

    a, b = (length_of(text, "--sides", unit) for text in args.sides)
    d1, d2 = (length_of(text, "--diagonals", unit) for text in args.diagonals)
    return square_answer(a, b, d1, d2, unit)


def _level_arguments(parser: ArgumentParser) -> None:
    parser.add_argument(
        "--point",
        nargs="+",
        action="extend",
        metavar="NAME=HEIGHT",
        required=True,
        help="heights at named points",
    )
    parser.add_argument(
        "--at",
        nargs="+",
        action="extend",
        metavar="NAME=X,Y",
        default=[],
        help="where a point is: right, then back",
    )
    parser.add_argument("--rod", action="store_true", help="the heights are read down from a level line")


def _named(pairs: list[str], option: str) -> dict[str, str]:
    out: dict[str, str] = {}
    for pair in pairs:
        name, equals, text = pair.partition("=")
        if not equals or not name.strip():
            raise InputError(f"{option}: {pair[:60]!r} has no name and value", f"write it like {option} A=3-1/4")
        if name.strip() in out:
            raise InputError(f"{option}: {name.strip()!r} is given twice", "give each point once")
        out[name.strip()] = text
    return out


def _level(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.level import level_answer

    points = {
        name: length_of(text, f"--point {name}", unit, signed=True)
        for name, text in _named(args.point, "--point").items()
    }
    positions = {}
    for name, text in _named(args.at, "--at").items():
        x, comma, y = text.partition(",")
        if not comma:
            raise InputError(f"--at {name}: {text[:40]!r} is not two lengths", "write it like --at A=0,12'")
        if name not in points:
            raise InputError(f"--at {name}: there is no such point{near(name, points)}", "name it with --point first")
        positions[name] = (
            length_of(x, f"--at {name}", unit, signed=True),
            length_of(y, f"--at {name}", unit, signed=True),
        )
    return level_answer(points, unit, positions=positions or None, rod=args.rod)


def _layout_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--length", metavar="L", required=True, help="outside length of the rim")
    parser.add_argument("--spacing", metavar="S", required=True, help="joist spacing on centre")
    parser.add_argument("--thickness", metavar="T", help="thickness of a joist (default 1-1/2 in)")


def _layout(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.layout import layout_answer
    from tracker.trade.lengths import INCH

    thickness = _length(args, "thickness", unit) if args.thickness else INCH + INCH // 2
    return layout_answer(_length(args, "length", unit), _length(args, "spacing", unit), thickness, unit)


def _fasteners_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--size", metavar="2x8", required=True, help="nominal size of the joist")
    parser.add_argument("--joints", metavar="N", help="how many joints")
    parser.add_argument("--nail", metavar="NAME", help="the nail, like 10d box (default 16d common)")


def _fasteners(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.fasteners import fasteners_answer

    joints = None if args.joints is None else _count(args.joints, "--joints")
    return fasteners_answer(args.size, joints, unit, *([args.nail] if args.nail else []))


def _moisture_arguments(parser: ArgumentParser) -> None:
    air = parser.add_mutually_exclusive_group(required=True)
    air.add_argument("--temp-f", metavar="T", help="temperature of the air, degrees Fahrenheit")
    air.add_argument("--temp-c", metavar="T", help="temperature of the air, degrees Celsius")
    parser.add_argument("--humidity", metavar="RH", required=True, help="relative humidity, percent")


def _moisture(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.climate import moisture_answer

    return moisture_answer(
        humidity=_number(args.humidity, "--humidity"),
        temp_f=None if args.temp_f is None else _number(args.temp_f, "--temp-f", signed=True),
        temp_c=None if args.temp_c is None else _number(args.temp_c, "--temp-c", signed=True),
    )


def _gap_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--width", metavar="W", required=True, help="width of a board now")
    parser.add_argument("--species", metavar="S", required=True, help="the wood")
    parser.add_argument("--now", metavar="MC", required=True, help="moisture now, percent")
    parser.add_argument("--service", metavar="MC", required=True, help="moisture in service, percent")
    parser.add_argument("--grain", metavar="flat|edge", default="flat", help="how the board was sawn (default flat)")


def _gap(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.movement import gap_answer

    now, service = _tenths(args.now, "--now"), _tenths(args.service, "--service")
    return gap_answer(_length(args, "width", unit), args.species, now, service, unit, args.grain)


def _span_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--member", metavar="joist|beam", required=True, help="what it is")
    parser.add_argument("--size", metavar="2x8", required=True, help="nominal size")
    parser.add_argument("--plies", metavar="N", default="1", help="plies of a beam (default 1)")
    parser.add_argument("--species", metavar="S", required=True, help="the wood")
    parser.add_argument("--grade", metavar="G", required=True, help="the grade, like 2")
    across = parser.add_mutually_exclusive_group(required=True)
    across.add_argument("--spacing", metavar="S", help="joist spacing on centre")
    across.add_argument("--joist-span", metavar="L", help="span of the joists a beam carries")
    load = parser.add_mutually_exclusive_group()
    load.add_argument("--live", metavar="PSF", default="40", help="live load (default 40)")
    load.add_argument("--snow", metavar="PSF", help="ground snow load, in place of the live load")
    parser.add_argument("--dead", metavar="PSF", default="10", help="dead load (default 10)")


def _span(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.spans import span_answer

    return span_answer(
        args.member,
        args.size,
        args.species,
        args.grade,
        spacing_nm=_length(args, "spacing", unit) if args.spacing else None,
        joist_span_nm=_length(args, "joist-span", unit) if args.joist_span else None,
        plies=_count(args.plies, "--plies"),
        live_psf=_number(args.live, "--live"),
        snow_psf=None if args.snow is None else _number(args.snow, "--snow"),
        dead_psf=_number(args.dead, "--dead"),
        unit=unit,
    )


def _footing_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--area", metavar="FT2", required=True, help="deck area the footing carries, square feet")
    parser.add_argument("--soil", metavar="PSF", required=True, help="what the soil bears, pounds a square foot")
    parser.add_argument("--live", metavar="PSF", default="40", help="live load (default 40)")
    parser.add_argument("--dead", metavar="PSF", default="10", help="dead load (default 10)")


def _footing(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.loads import footing_answer

    return footing_answer(
        _number(args.area, "--area"),
        _number(args.soil, "--soil"),
        live_psf=_number(args.live, "--live"),
        dead_psf=_number(args.dead, "--dead"),
        unit=unit,
    )


def _ledger_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--joist-span", metavar="L", required=True, help="span of the joists on the ledger")
    parser.add_argument("--fastener", metavar="lag|bolt", required=True, help="what holds the ledger")
    parser.add_argument("--live", metavar="PSF", default="40", help="live load (default 40)")


def _ledger(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.loads import ledger_answer

    return ledger_answer(
        _length(args, "joist-span", unit), args.fastener, live_psf=_number(args.live, "--live"), unit=unit
    )


def _stairs_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--rise", metavar="H", required=True, help="from the landing to the walking surface")


def _stairs(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.stairs import stairs_answer

    return stairs_answer(_length(args, "rise", unit), unit=unit)


def _guard_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--height", metavar="H", required=True, help="walking surface above the ground beside it")


def _guard(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.guards import guard_answer

    return guard_answer(_length(args, "height", unit), unit=unit)


FIGURES: Mapping[str, Figure] = {
    "square": Figure(
        _square_arguments, _square, "Is a frame square, and the push that makes it so.",
        """deckjobs figure square --sides 16' 12' --diagonals 19'11-3/4 20'0-1/4""",
    ),
    "level": Figure(
        _level_arguments, _level, "The high point, and the blocks under the others.",
        "deckjobs figure level --point A=3-1/4 B=3 C=3-1/8",
    ),
    "layout": Figure(
        _layout_arguments, _layout, "Joist marks along a rim.",
        "deckjobs figure layout --length 16' --spacing 16"
    ),
    "fasteners": Figure(
        _fasteners_arguments, _fasteners, "Nails in a joint, and for all joints.",
        "deckjobs figure fasteners --size 2x8 --joints 26",
    ),
    "moisture": Figure(
        _moisture_arguments, _moisture, "The moisture sheltered wood comes to in this air.",
        "deckjobs figure moisture --temp-f 70 --humidity 65",
    ),
    "gap": Figure(
        _gap_arguments, _gap, "The gap to leave between deck boards now.",
        'deckjobs figure gap --width 5-1/2 --species "southern pine" --now 28 --service 12',
    ),
    "span": Figure(
        _span_arguments, _span, "How far a joist or a beam may reach.",
        'deckjobs figure span --member joist --size 2x8 --species "southern pine" --grade 2 --spacing 16',
    ),
    "footing": Figure(
        _footing_arguments, _footing, "The footing under so much deck.",
        "deckjobs figure footing --area 48 --soil 1500",
    ),
    "ledger": Figure(
        _ledger_arguments, _ledger, "Spacing of the fasteners of a ledger.",
        "deckjobs figure ledger --joist-span 12' --fastener lag",
    ),
    "stairs": Figure(
        _stairs_arguments, _stairs, "Risers, treads and run of a flight.", "deckjobs figure stairs --rise 40"
    ),
    "guard": Figure(
        _guard_arguments, _guard, "Whether a guard is required, how high, and its openings.",
        "deckjobs figure guard --height 36",
    ),
}  # fmt: skip


def _figure_text() -> str:
    lines = [f"  {name:<9}  {figure.text}" for name, figure in FIGURES.items()]
    return "\n".join(
        ["One trade figure with no job. Bare lengths are inches (--metric: millimetres).", "", *lines, "",
         "deckjobs figure NAME --help shows what a figure takes."]
    )  # fmt: skip


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument("name", metavar="NAME", nargs="?", help="the figure")


def figure_parser(name: str) -> Parser:
    """The parser of one figure; raises InputError with a near miss for any other word."""
    chosen = FIGURES.get(name)
    if chosen is None:
        raise InputError(f"there is no figure {name!r}{near(name, FIGURES)}", f"the figures are {', '.join(FIGURES)}")
    parser = new_parser(f"deckjobs figure {name}", chosen.text, chosen.example)
    chosen.add(parser)
    parser.add_argument("--metric", action="store_true", help="bare lengths are millimetres, and lengths print in them")
    parser.add_argument("--why", action="store_true", help="show the working and the source too")
    parser.set_defaults(name=name)
    return parser


def figure(session: Session, args: Namespace) -> int:
    """Print a figure; exit 0 whatever it says, for nothing of a job was judged."""
    if args.name is None:
        session.say_lines(_figure_text())
        return 0
    from tracker.trade.lengths import Unit

    answer = FIGURES[args.name].ask(args, Unit.MM if args.metric else Unit.INCH)
    if session.json:
        session.data(answer.as_json())
        return 0
    from tracker.reports.answers import answer_page

    session.show(answer_page(answer, why=args.why))
    return 0


COMMANDS = {
    "figure": Command(_arguments, figure, _figure_text(), "deckjobs figure stairs --rise 40", figure_parser),
}
