"""``figure NAME``: one trade figure with no job and no book."""

from __future__ import annotations

import re
from argparse import ArgumentParser, Namespace
from collections.abc import Mapping
from typing import TYPE_CHECKING

from tracker.commands.loadfigures import LOAD_FIGURES
from tracker.commands.parser import Command, Parser, new_parser
from tracker.commands.session import Session
from tracker.commands.typed import Figure, count_of, length_for, length_of, number_of, tenths_of
from tracker.errors import InputError
from tracker.text import near

if TYPE_CHECKING:
    from tracker.trade.answer import Answer
    from tracker.trade.lengths import Unit


def _square_arguments(parser: ArgumentParser) -> None:
    parser.add_argument(
        "--sides", nargs="+", metavar="A", required=True,
        help="width, then depth; or all four edges, AB BC CD DA, so that a misread tape is named",
    )  # fmt: skip
    parser.add_argument("--diagonals", nargs=2, metavar=("D1", "D2"), required=True, help="corner to corner, both")


def _square(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.sixtapes import six_tapes_answer
    from tracker.trade.square import square_answer

    sides = [length_of(text, "--sides", unit) for text in args.sides]
    d1, d2 = (length_of(text, "--diagonals", unit) for text in args.diagonals)
    if len(sides) == 4:
        return six_tapes_answer(sides, (d1, d2), unit)
    if len(sides) != 2:
        raise InputError(f"--sides takes 2 or 4 lengths, not {len(sides)}", "give width and depth, or AB BC CD DA")
    return square_answer(sides[0], sides[1], d1, d2, unit)


def _boards_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--run", required=True, help="what the boards cover, across them")
    parser.add_argument("--width", default='5-1/2"', help="dressed width of a board")
    parser.add_argument("--gap", default="0", help="gap between boards; 0 for boards laid touching")


def _boards(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.boardrun import boards_answer

    run, width, gap = (length_of(getattr(args, name), f"--{name}", unit) for name in ("run", "width", "gap"))
    return boards_answer(run, width, gap, unit)


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
            raise InputError(f"--at {name}: {text[:40]!r} is not two lengths", "write it like --at A=0,12-0")
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

    thickness = length_for(args, "thickness", unit) if args.thickness is not None else INCH + INCH // 2
    return layout_answer(length_for(args, "length", unit), length_for(args, "spacing", unit), thickness, unit)


def _fasteners_arguments(parser: ArgumentParser) -> None:
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument("--size", metavar="2x8", help="nominal size of the joist")
    what.add_argument("--boards", metavar="N", help="rows of deck boards, in place of a joist size")
    parser.add_argument("--joists", metavar="N", help="joist lines under the boards")
    parser.add_argument("--joints", metavar="N", help="how many joints")
    parser.add_argument("--nail", metavar="NAME", help="the nail, like 10d box (default 16d common)")


def _fasteners(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.fasteners import boards_answer, fasteners_answer

    if args.boards is not None:
        if args.joists is None or args.joints is not None or args.nail is not None:
            raise InputError("--boards goes with --joists alone", "write it like --boards 28 --joists 13")
        return boards_answer(count_of(args.boards, "--boards"), count_of(args.joists, "--joists"))
    if args.joists is not None:
        raise InputError("--joists goes with --boards", "with --size give --joints, how many joints")
    joints = None if args.joints is None else count_of(args.joints, "--joints")
    return fasteners_answer(args.size, joints, unit, *([args.nail] if args.nail is not None else []))


def _moisture_arguments(parser: ArgumentParser) -> None:
    air = parser.add_mutually_exclusive_group(required=True)
    air.add_argument("--temp-f", metavar="T", help="temperature of the air, degrees Fahrenheit")
    air.add_argument("--temp-c", metavar="T", help="temperature of the air, degrees Celsius")
    parser.add_argument("--humidity", metavar="RH", required=True, help="relative humidity, percent")


def _moisture(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.climate import moisture_answer

    return moisture_answer(
        humidity=number_of(args.humidity, "--humidity"),
        temp_f=None if args.temp_f is None else number_of(args.temp_f, "--temp-f", signed=True),
        temp_c=None if args.temp_c is None else number_of(args.temp_c, "--temp-c", signed=True),
    )


def _gap_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--width", metavar="W", required=True, help="width of a board now")
    parser.add_argument("--species", metavar="S", required=True, help="the wood")
    parser.add_argument("--now", metavar="MC", required=True, help="moisture now, percent")
    parser.add_argument(
        "--service",
        metavar="MC",
        required=True,
        help="moisture in service, percent; driest and wettest month, like '9 to 15'; or a climate",
    )
    parser.add_argument("--grain", metavar="flat|edge", default="flat", help="how the board was sawn (default flat)")


def _gap(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.climate import find_service
    from tracker.trade.movement import gap_answer

    now = tenths_of(args.now, "--now")
    try:
        service = find_service(args.service)
    except InputError as error:
        raise InputError(f"--service: {error.message}", error.hint) from None
    return gap_answer(
        length_for(args, "width", unit), args.species, now, service.mean_tenths, unit, args.grain,
        season=(service.driest_tenths, service.wettest_tenths),
    )  # fmt: skip


def _cuts_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--need", nargs="+", action="extend", default=[], metavar="LEN*QTY", help="pieces to cut")
    parser.add_argument(
        "--stock", nargs="+", action="extend", default=[], metavar="LEN@PRICE", help="boards to buy, one at that price"
    )
    parser.add_argument(
        "--have",
        nargs="+",
        action="extend",
        default=[],
        metavar="LEN*QTY",
        help="boards and offcuts on hand, at no cost",
    )
    parser.add_argument("--kerf", metavar="K", help="what a saw cut takes (default 1/8 in)")
    parser.add_argument("--trim", metavar="T", help="what squaring one end of a board takes (default 0)")
    parser.add_argument(
        "--file", metavar="CSV", help="more of them: columns kind (need, stock, have), length, quantity, price"
    )


def _cuts(args: Namespace, unit: Unit) -> Answer:
    from tracker.commands.cutfigure import cuts_figure

    return cuts_figure(args, unit)


_DEFAULTS = ('5-1/2"',)
"""Lengths that stand for what was not typed."""

FIGURES: Mapping[str, Figure] = {
    "boards": Figure(
        _boards_arguments, _boards, "How many boards cover a run, and what is left of the last.",
        "deckjobs figure boards --run 147 --width 5-1/2",
    ),
    "square": Figure(
        _square_arguments, _square, "Is a frame square, and the push that makes it so.",
        "deckjobs figure square --sides 16-0 12-0 --diagonals 19-11-3/4 20-0-1/4",
    ),
    "level": Figure(
        _level_arguments, _level, "The high point, and the blocks under the others.",
        "deckjobs figure level --point A=3-1/4 B=3 C=3-1/8",
    ),
    "layout": Figure(
        _layout_arguments, _layout, "Joist marks along a rim.",
        "deckjobs figure layout --length 16-0 --spacing 16"
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
    "cuts": Figure(
        _cuts_arguments, _cuts, "The cheapest boards to cut a list of pieces from, with the proof.",
        "deckjobs figure cuts --need 33-1/2*7 6-3*4 --stock 8-0@7.10 12-0@11.90 16-0@15.80 --have 5-3*2",
    ),
    **LOAD_FIGURES,
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
    parser.add_argument(
        "--metric",
        action="store_true",
        help="bare lengths are millimetres, and lengths print in them; so too when lengths are typed in mm, cm or m",
    )
    parser.add_argument("--why", action="store_true", help="show the working and the source too")
    parser.set_defaults(name=name)
    return parser


def _typed_metric(args: Namespace) -> bool:
    """Whether lengths are typed in mm, cm or m and none in feet or inches."""
    values = [value for value in vars(args).values() if isinstance(value, str | list)]
    texts = [str(text) for value in values for text in (value if isinstance(value, list) else [value])]
    metric = any(re.search(r"\d\s*(?:mm|cm|m)(?![a-z])", text) for text in texts)
    # A default (5-1/2") is nobody's typing; what is typed with a foot or inch mark is.
    typed = (text for text in texts if text not in _DEFAULTS)
    return metric and not any(re.search(r"\d\s*(?:['\"]|in\b|ft\b)|\d/\d", text) for text in typed)


def figure(session: Session, args: Namespace) -> int:
    """Print a figure; exit 0 whatever it says, for nothing of a job was judged."""
    if args.name is None:
        if session.json:
            raise InputError("NAME is missing", "name the figure, like: deckjobs figure stairs --rise 40 --json")
        session.say_lines(_figure_text())
        return 0
    from tracker.trade.lengths import Unit
    from tracker.trade.metric import answer_in_unit, told_in_unit

    unit = Unit.MM if args.metric or _typed_metric(args) else Unit.INCH
    with told_in_unit(unit):
        answer = answer_in_unit(FIGURES[args.name].ask(args, unit), unit)
    if session.json:
        session.data(answer.as_json())
        return 0
    from tracker.reports.answers import answer_page

    session.show(answer_page(answer, why=args.why))
    return 0


COMMANDS = {
    "figure": Command(_arguments, figure, _figure_text(), "deckjobs figure stairs --rise 40", figure_parser),
}
