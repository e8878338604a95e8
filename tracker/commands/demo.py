"""A demo: the invented sample jobs in a throw-away book, moved by whole weeks to the week of the day asked
for.
"""

from __future__ import annotations

import re
from argparse import ArgumentParser, Namespace
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

from tracker.commands.parser import Command
from tracker.commands.session import Session
from tracker.errors import InputError

SAMPLE_TUESDAY = date(2026, 5, 12)
"""The day around which the sample jobs are written."""
EVENING = time(17, 30)
BANNER = "Sample jobs, all invented. This book is thrown away when you leave."
PRICES = "prices.csv"
_DAY = re.compile(r"(?<![0-9-])[0-9]{4}-[0-9]{2}-[0-9]{2}(?![0-9-])")


def sample_folder() -> Path:
    """The folder of the sample jobs: inside the installed package, else beside it. Raises InputError when
    there is none.
    """
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "_sample_jobs", package.parent / "sample_jobs"):
        if any(folder.glob("*.toml")):
            return folder
    raise InputError("the sample jobs are missing from this installation", "install the program again")


def shifted(value: object, by: timedelta) -> object:
    """A parsed TOML value with every date in it, bare or within a text, moved by ``by``."""
    if isinstance(value, dict):
        return {key: shifted(inner, by) for key, inner in value.items()}
    if isinstance(value, list):
        return [shifted(inner, by) for inner in value]
    if isinstance(value, date):  # a datetime too
        return value + by
    if isinstance(value, str):
        return _DAY.sub(lambda match: _moved(match[0], by), value)
    return value


def _moved(text: str, by: timedelta) -> str:
    try:
        return (date.fromisoformat(text) + by).isoformat()
    except ValueError:
        return text


def weeks_to(day: date) -> timedelta:
    """How far the samples move so that their Tuesday falls into the week of ``day``."""
    return (day - timedelta(days=day.weekday())) - (SAMPLE_TUESDAY - timedelta(days=SAMPLE_TUESDAY.weekday()))


def fill(path: Path, session: Session, day: date) -> None:
    """Make the demo's book at ``path`` with the sample prices and jobs moved to the week of ``day``."""
    import tomllib

    from tracker.book.hand import Hand
    from tracker.book.jobs import take_job
    from tracker.book.opening import open_book
    from tracker.book.prices import take_prices
    from tracker.trade.jobfile import parse_job_table

    by = weeks_to(day)
    at = datetime.combine(day, EVENING).astimezone(UTC)
    book = open_book(path)
    try:
        listed = shifted((sample_folder() / PRICES).read_text("utf-8"), by)
        assert isinstance(listed, str)
        take_prices(book, Hand("Demo", at, day, "demo"), listed.encode(), PRICES)
        for file in sorted(sample_folder().glob("*.toml")):
            table = shifted(tomllib.loads(file.read_text("utf-8")), by)
            assert isinstance(table, dict)
            take_job(book, Hand("Demo", at, day, "demo"), parse_job_table(table, file.name))
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

    day = parse_day(args.date, session.today) if args.date else session.today
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
        return report(session, Namespace(date=None))


COMMANDS = {
    "demo": Command(
        _arguments, demo,
        "Invented sample jobs in a throw-away book, on the screens or (with --print) as a day sheet.",
        "deckjobs demo --print",
    ),
}  # fmt: skip
