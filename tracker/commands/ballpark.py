"""The first phone call, from a shell: a size in, a plan, its material, hours, cost and price out; no job and no file."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from tracker.commands.parser import Command
from tracker.commands.session import Session

if TYPE_CHECKING:
    from tracker.book.ballparkviews import Ballpark
    from tracker.book.opening import Book
    from tracker.reports.drawing_shapes import Drawing
    from tracker.trade.lengths import Unit

ROWS = 28
"""Lines of the drawing, so that the answer stands beside it on one screen or two."""


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument("size", metavar="SIZE", help="width by depth in feet, 10x12, or 10-6x12 for ten foot six")
    parser.add_argument(
        "--height", metavar="H", help="ground to the top of the boards: 8in; about a step when left out"
    )
    parser.add_argument("--attached", action="store_true", help="hung on the house; free-standing when left out")
    parser.add_argument("--board", metavar="BOARD", help="wood, composite, or a board size like 2x6")
    parser.add_argument("--ground", metavar="GROUND", help="bare, or ready: cloth and base are in place")
    parser.add_argument("--stairs", metavar="N", help="how many flights of stairs")
    parser.add_argument(
        "--carries", action="append", default=[], metavar="WHAT",
        help="a hot tub, a roof or a screen room stands on it: then its sizes are for a designer; once for each",
    )  # fmt: skip
    parser.add_argument(
        "--unit", choices=("in", "mm"), default="in", metavar="UNIT", help="in or mm; bare numbers are mm then"
    )
    parser.add_argument("--take", action="store_true", help="make it a job of the book")
    parser.add_argument("--title", metavar="TITLE", help="what the job is called")
    parser.add_argument("--client", metavar="NAME", help="who called")


def ballpark(session: Session, args: Namespace) -> int:
    """Answer a first call."""
    from tracker.book.ballpark import ballpark as worked_out
    from tracker.reports.ballparkpages import ballpark_json
    from tracker.reports.drawing import draw_platform
    from tracker.trade.jobfile.ballpark import Asked
    from tracker.trade.lengths import Unit
    from tracker.trade.readings import parse_count

    asked = Asked(
        size=args.size, height=args.height or "", attached=args.attached, board=(args.board or "").strip().lower(),
        ground=(args.ground or "").strip().lower(), stairs=parse_count(args.stairs, "a number of flights") if args.stairs else 0,
        unit=Unit(args.unit), title=args.title or "", client=args.client or "",
        carries=tuple(args.carries),
    )  # fmt: skip
    with _book(session, take=args.take) as book:
        found = worked_out(book, asked, session.today)
        code = ""
        if args.take:
            from tracker.book.proposal import take_new

            code = take_new(book, session.hand(), found.source).code
        spec = found.proposal.spec
        assert spec is not None
        drawing = draw_platform(spec, spec.platforms[0], (), found.proposal.title)
        if session.json:
            session.data(ballpark_json(found, drawing, code))
        else:
            _show(session, found, drawing, asked.unit)
            if code:
                session.say(f"{code} is in the book: deckjobs show {code}")
        if code:
            session.plan(book, [code])
    return 0


def _show(session: Session, found: Ballpark, drawing: Drawing, unit: Unit) -> None:
    import sys

    from tracker.commands.drawing import print_rows
    from tracker.reports.ballparkpages import head_page, rest_page
    from tracker.reports.drawing_shapes import USUAL
    from tracker.reports.drawing_text import draw_rows, needs_ascii
    from tracker.reports.page import BLANK

    session.show((*head_page(found), BLANK))
    sys.stdout.flush()
    print_rows(draw_rows(drawing, session.width, ROWS, layers=USUAL, ascii_only=needs_ascii(sys.stdout.encoding)))
    session.show((BLANK, *rest_page(found, unit)))


@contextmanager
def _book(session: Session, *, take: bool) -> Iterator[Book]:
    """The book for its prices, rules and finished jobs; where there is none and none is to be made, one that is thrown away."""
    if take or session.book_exists():
        with session.book(create=take) as book:
            yield book
        return
    from tracker.book.opening import open_book

    with TemporaryDirectory(prefix="deckjobs-ballpark-") as folder:
        book = open_book(Path(folder) / "ballpark.book")
        try:
            yield book
        finally:
            book.close()


COMMANDS = {
    "ballpark": Command(
        _arguments,
        ballpark,
        "The first phone call: what a deck of a size would be, from the answers a new job's form suggests. Plan, what\n"
        "carries it and why, material with its cuts, hours, days, cost and price as ranges, what to ask, what was assumed.\n"
        "Nothing is recorded without --take, which makes it a job.",
        "deckjobs ballpark 10x12 --height 8in --board composite",
    ),
}
