"""Material: the take-off, what is left to buy, and what it costs."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.book.outfile import write_file
from tracker.commands.jobfiles import means_file, read_jobs
from tracker.commands.jobs import job_argument
from tracker.commands.parser import Command
from tracker.commands.session import Session
from tracker.errors import InputError

if TYPE_CHECKING:
    from tracker.book.buyviews import Purchase
    from tracker.book.opening import Book


def _takeoff_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("job", metavar="JOB|FILE", help="a job of the book, or a job file that need not be in it")
    parser.add_argument("--why", action="store_true", help="show the working of every line")


def takeoff(session: Session, args: Namespace) -> int:
    """The material list of a job or a job file."""
    from tracker.reports.materialpages import takeoff_json, takeoff_page

    if means_file(args.job):
        from tracker.book.buying import material_of_file
        from tracker.book.plans import Shelf

        (file,), prices = read_jobs(session, [args.job])
        view = material_of_file(file, prices, Shelf())
    else:
        from tracker.book.buying import material_list

        with session.book() as book:
            view = material_list(book, args.job, session.today)
    if session.json:
        session.data(takeoff_json(view.job, view.title, view.lines, view.unit))
    else:
        session.show(takeoff_page(f"{view.job} {view.title}", view.lines, view.unit, why=args.why))
    return 0


def _buy_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("jobs", nargs="*", metavar="JOB", help="only these jobs")
    parser.add_argument("--supplier", metavar="NAME", help="only what this supplier sells")
    parser.add_argument("--csv", metavar="FILE", help="write it as a list (CSV)")
    parser.add_argument("--sheet", metavar="FILE", help="write an order sheet for each supplier, for paper")
    parser.add_argument("--force", action="store_true", help="let --csv and --sheet replace files that are there")


def buy(session: Session, args: Namespace) -> int:
    """What is left to buy, by supplier and day."""
    from tracker.book.buying import needs_and_purchases
    from tracker.reports.purchasepages import buy_csv, buy_page, only_from, purchase_json

    files = [Path(name) for name in (args.csv, args.sheet) if name is not None]
    if args.force and not files:
        raise InputError("--force goes with --csv or --sheet", "add one of them, or leave --force out")
    if len(files) == 2 and files[0] == files[1]:
        raise InputError(f"{files[0]} cannot be both the list and the order sheet", "give each a name of its own")
    with session.book() as book:
        needs, found = needs_and_purchases(book, session.today, args.jobs)
        if args.supplier is not None:
            _known_supplier(book, args.supplier, found)
            found = only_from(found, args.supplier)
            named = {purchase.supplier for purchase in found}
            needs = tuple(need for need in needs if need.supplier in named)
    if args.csv is not None:
        write_file(Path(args.csv), buy_csv(found).encode(), force=args.force)
    if args.sheet is not None:
        from tracker.reports.ordersheet import order_sheets

        sheets = order_sheets(found, session.today, session.settings.who)
        write_file(Path(args.sheet), sheets.encode(), force=args.force)
    if session.json:
        from tracker.reports.jsonable import need_json

        session.data(
            {
                "day": session.today.isoformat(),
                "needs": [need_json(need) for need in needs],
                "purchases": [purchase_json(purchase) for purchase in found],
                "files": [str(path) for path in files],
            }
        )
    elif files:
        from tracker.text import count

        lines = sum(len(purchase.lines) for purchase in found)
        for path in files:
            session.say(f"{path}: {count(lines, 'item')} of {count(len(found), 'supplier')} written")
    else:
        session.show(buy_page(found, session.today))
    return 0


def _known_supplier(book: Book, name: str, found: tuple[Purchase, ...]) -> None:
    """Raise InputError for a supplier that neither sells what is left to buy nor is in the price book."""
    from tracker.book.prices import price_book

    known = {purchase.supplier for purchase in found} | set(price_book(book).terms)
    if name.strip().casefold() not in {one.casefold() for one in known}:
        from tracker.text import listing, near

        some = listing(sorted(filter(None, known)), "and") or "none yet; `deckjobs prices FILE` takes a list"
        raise InputError(f"there is no supplier {name[:80]!r}{near(name, known)}", f"suppliers are {some}")


def cost(session: Session, args: Namespace) -> int:
    """What a job's material costs: estimate against what was ordered, received and used."""
    from tracker.book.buying import cost_of
    from tracker.reports.costpages import cost_json, cost_page

    with session.book() as book:
        found = cost_of(book, args.job, session.today)
    if session.json:
        session.data(cost_json(found))
    else:
        session.show(cost_page(found))
    return 0


COMMANDS = {
    "takeoff": Command(
        _takeoff_arguments, takeoff,
        "The material list with its working: for a job of the book cut from what it has and the cheapest boards, for\n"
        "a job file as if it had nothing.",
        "deckjobs takeoff 014 --why",
    ),
    "buy": Command(
        _buy_arguments, buy,
        "What is left to buy over the open jobs, by supplier: late, to order today, tomorrow, or later; in whole packs.\n"
        "The list and the order sheets hold the same.",
        'deckjobs buy --supplier "Yard One" --sheet yard-one.txt',
    ),
    "cost": Command(
        job_argument, cost,
        "A job's material cost: the estimate by phase and item, and what was ordered, received and used of it.",
        "deckjobs cost 014",
    ),
}  # fmt: skip
