"""The day sheet: on the terminal, and as HTML, PDF and CSV files."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Callable

from tracker.commands.paperfiles import add_paper_options, asked_files, write_papers
from tracker.commands.parser import Command
from tracker.commands.session import Session


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--date", metavar="DATE", help="the day; today when left out")
    add_paper_options(parser)
    parser.add_argument("--csv", metavar="FILE", help="write its lines for a spreadsheet; no cell can run as a formula")


def report(session: Session, args: Namespace) -> int:
    """Print the day sheet, or write it to the files that were named."""
    from tracker.book.sheet import day_sheet
    from tracker.trade.dates import parse_day

    paths = asked_files(args, "html", "pdf", "csv")
    day = parse_day(args.date, session.today) if args.date is not None else session.today
    with session.book() as book:
        sheet = day_sheet(book, day)
    if paths:
        from tracker.reports.daycsv import sheet_csv
        from tracker.reports.daypaper import day_document

        more: dict[str, Callable[[], bytes]] = {"csv": lambda: sheet_csv(sheet)}
        write_papers(session, args, paths, lambda: day_document(sheet), more)
        return 0
    if session.json:
        from tracker.reports.jsonable import sheet_json

        session.data(sheet_json(sheet))
        return 0
    from tracker.reports.daysheet import page

    session.show(page(sheet, session.today))
    return 0


COMMANDS = {
    "report": Command(
        _arguments,
        report,
        "The day sheet: what needs you, every open job, what to buy, and the totals,\n"
        "as known at the end of that day. On paper: a summary page, then a page a job.",
        "deckjobs report --date 2026-05-12 --pdf day.pdf",
    ),
}
