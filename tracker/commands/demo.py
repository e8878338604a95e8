"""A demo: the invented sample jobs in a throw-away book, moved by whole weeks to the week of the day asked
for.
"""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from dataclasses import replace
from datetime import UTC, date, datetime, time
from pathlib import Path
from tempfile import TemporaryDirectory

from tracker.commands.parser import Command
from tracker.commands.session import Session
from tracker.errors import InputError

EVENING = time(17, 30)
BANNER = "Sample jobs, all invented. This book is thrown away when you leave."


def fill(path: Path, session: Session, day: date) -> None:
    """Make the demo's book at ``path`` with the sample prices and jobs moved to the week of ``day``."""
    from tracker.book.hand import Hand
    from tracker.book.opening import open_book
    from tracker.book.samples import sample_files, take_sample, take_sample_prices

    hand = Hand("Demo", datetime.combine(day, EVENING).astimezone(UTC), day, "demo")
    book = open_book(path)
    try:
        take_sample_prices(book, hand)
        for file in sample_files():
            take_sample(book, hand, file)
    finally:
        book.close()


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--print", action="store_true", help="print the day sheet instead of opening the screens")
    parser.add_argument("--date", metavar="DATE", help="the day to show; today when left out")


def demo(session: Session, args: Namespace) -> int:
    """Show the sample jobs on the screens, or print their day sheet."""
    import sys

    from tracker.commands.sheet import report
    from tracker.trade.dates import parse_day

    if session.named_book():
        raise InputError("the demo makes a book of its own", "leave --book out; deckjobs --book FILE opens a book")
    day = parse_day(args.date, session.today) if args.date is not None else session.today
    screens = not args.print and not session.json
    if screens and not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise InputError("the screens need a terminal", "deckjobs demo --print prints the day sheet")
    if not session.json:
        session.say(BANNER)
        sys.stdout.flush()
    with TemporaryDirectory(prefix="deckjobs-demo-") as folder:
        path = Path(folder) / "demo.book"
        fill(path, session, day)
        session.settings = replace(
            session.settings, book=path, at=datetime.combine(day, EVENING).astimezone(UTC), own_folder=False
        )
        if screens:
            return session.open_screens(path, BANNER)
        if not session.json:
            session.say("")
        return report(session, Namespace(date=None, html=None, pdf=None, csv=None, paper=None, force=False))


COMMANDS = {
    "demo": Command(
        _arguments, demo,
        "Invented sample jobs in a throw-away book, on the screens or (with --print) as a day sheet.",
        "deckjobs demo --print",
    ),
}  # fmt: skip
