"""Material: the take-off, what is left to buy, and the movements of lots."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path

from tracker.commands.files import read_file
from tracker.commands.jobs import job_argument
from tracker.commands.parser import Command
from tracker.commands.session import Session


def _takeoff_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("job", metavar="JOB|FILE", help="a job of the book, or a job file that need not be in it")
    parser.add_argument("--why", action="store_true", help="show the working of every line")


def takeoff(session: Session, args: Namespace) -> int:
    """The material list of a job or a job file."""
    from tracker.planning.cuts import material_list
    from tracker.reports.materialpages import takeoff_json, takeoff_page

    if args.job.endswith(".toml") or "/" in args.job or Path(args.job).is_file():
        from tracker.trade.jobfile import parse_job_bytes

        file = parse_job_bytes(read_file(Path(args.job)), args.job)
        code, title, spec = file.code, file.title, file.spec
    else:
        from tracker.book.jobs import job_view

        with session.book() as book:
            view = job_view(book, args.job, session.today)
        code, title, spec = view.line.code, view.line.title, view.spec
    lines = material_list(spec)
    if session.json:
        session.data(takeoff_json(code, title, lines, spec.unit))
    else:
        session.show(takeoff_page(f"{code} {title}", lines, spec.unit, why=args.why))
    return 0


def buy(session: Session, args: Namespace) -> int:
    """What is left to buy."""
    from tracker.book.lots import needs

    with session.book() as book:
        found = needs(book, session.today, args.jobs)
    if session.json:
        from tracker.reports.jsonable import need_json

        session.data({"day": session.today.isoformat(), "needs": [need_json(need) for need in found]})
        return 0
    from tracker.reports.materialpages import buy_page

    session.show(buy_page(found, session.today))
    return 0


def _order_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument("item", metavar="ITEM", help="what, as the take-off knows it, like 2x8x12")
    parser.add_argument("count", metavar="COUNT", help="how many")
    parser.add_argument("--supplier", metavar="NAME", default="", help="from whom")
    parser.add_argument("--promised", metavar="DATE", help="the day it is promised")
    parser.add_argument("--lot", metavar="LOT", default="", help="the lot's code; made when left out")


def order(session: Session, args: Namespace) -> int:
    """Record an order."""
    from tracker.book.lots import order as order_lot
    from tracker.trade.dates import parse_day
    from tracker.trade.readings import parse_count

    number = parse_count(args.count, "a count")
    promised = parse_day(args.promised, session.today) if args.promised else None
    session.write(
        lambda book, hand, entry: order_lot(
            book, hand, args.job, args.item, number,
            supplier=args.supplier, promised=promised, lot=args.lot, entry_id=entry,
        )
    )  # fmt: skip
    return 0


def _moving(move: str, text: str) -> Command:
    """The command of one movement."""

    def add(parser: ArgumentParser) -> None:
        job_argument(parser)
        parser.add_argument("lot", metavar="LOT", help="the lot's code")
        parser.add_argument("count", metavar="COUNT", help="how many")
        parser.set_defaults(move=move)

    return Command(add, _move, text, f"deckjobs {move} 014 L1 12")


def _move(session: Session, args: Namespace) -> int:
    from tracker.book import lots
    from tracker.trade.readings import parse_count

    move = {"receive": lots.receive, "use": lots.use, "return": lots.give_back, "scrap": lots.scrap}[args.move]
    number = parse_count(args.count, "a count")
    session.write(lambda book, hand, entry: move(book, hand, args.job, args.lot, number, entry_id=entry))
    return 0


COMMANDS = {
    "takeoff": Command(
        _takeoff_arguments, takeoff, "The material list of a job or of a job file, with its working.",
        "deckjobs takeoff 014 --why",
    ),
    "buy": Command(
        lambda parser: parser.add_argument("jobs", nargs="*", metavar="JOB", help="only these jobs"), buy,
        "What is left to buy over the open jobs: needed, less what is used, on hand or on order.",
    ),
    "order": Command(
        _order_arguments, order, "Record an order.",
        'deckjobs order 014 2x8x12 12 --supplier "Yard One" --promised 2026-05-14',
    ),
    "receive": _moving("receive", "Record pieces of a lot received."),
    "use": _moving("use", "Record pieces of a lot used."),
    "return": _moving("return", "Record pieces of a lot sent back."),
    "scrap": _moving("scrap", "Record pieces of a lot scrapped."),
}  # fmt: skip
