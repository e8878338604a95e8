"""The day sheet."""

from __future__ import annotations

from argparse import Namespace

from tracker.commands.parser import Command
from tracker.commands.session import Session


def report(session: Session, args: Namespace) -> int:
    """Print the day sheet."""
    from tracker.book.sheet import day_sheet
    from tracker.trade.dates import parse_day

    day = parse_day(args.date, session.today) if args.date else session.today
    with session.book() as book:
        sheet = day_sheet(book, day, session.today)
    if session.json:
        from tracker.reports.jsonable import sheet_json

        session.data(sheet_json(sheet))
        return 0
    from tracker.reports.daysheet import page

    session.show(page(sheet, session.today))
    return 0


COMMANDS = {
    "report": Command(
        lambda parser: parser.add_argument("--date", metavar="DATE", help="the day; today when left out"),
        report,
        "The day sheet: what needs you, every open job, what to buy, and the totals,\n"
        "as known at the end of that day.",
        "deckjobs report --date 2026-05-12",
    ),
}  # fmt: skip
