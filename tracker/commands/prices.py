"""The price book: show it, take a supplier's list into it, write it as a list."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path

from tracker.book.outfile import write_file
from tracker.commands.parser import Command, refuse_options
from tracker.commands.session import Session
from tracker.errors import InputError
from tracker.files import read_file


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument("file", nargs="?", metavar="FILE", help="a price list (CSV) to take in")
    parser.add_argument("--out", metavar="FILE", help="write all prices into a new list (CSV)")
    parser.add_argument("--force", action="store_true", help="let --out replace a file that is there")
    parser.add_argument("--item", metavar="TEXT", help="show only items with this in their name")
    parser.add_argument("--undo", metavar="ITEM", help="take the last change of an item's price back, with --reason")
    parser.add_argument(
        "--supplier", metavar="NAME", default="", help="with --undo: whose price, where several have one"
    )
    parser.add_argument("--reason", metavar="TEXT", default="", help="with --undo: why; it is kept")


def prices(session: Session, args: Namespace) -> int:
    """Show, take or write prices."""
    if args.undo is not None:
        if args.file is not None or args.out is not None or args.item is not None or not args.reason.strip():
            raise InputError("a price is taken back alone, for a reason", "deckjobs prices --undo ITEM --reason TEXT")
        refuse_options(args, ("--force",), "it lets --out replace a file", "leave it out")
        return _undo(session, args)
    if args.supplier or args.reason:
        raise InputError("--supplier and --reason go with --undo", "deckjobs prices --undo ITEM --reason TEXT")
    if (args.file is not None) + (args.out is not None) + (args.item is not None) > 1:
        raise InputError("FILE takes a list, --out writes one, --item shows some", "give one of them")
    if args.force and args.out is None:
        raise InputError("--force goes with --out", "add --out FILE, or leave --force out")
    if args.file is not None:
        return _take(session, Path(args.file))
    if args.out is not None:
        return _write(session, Path(args.out), force=args.force)
    return _show(session, args.item or "")


def _take(session: Session, path: Path) -> int:
    from tracker.book.prices import take_prices
    from tracker.planning.pricefile import LARGEST_FILE
    from tracker.reports.pricepages import taken_json, taken_text

    data = read_file(path, "a price list", largest=LARGEST_FILE, example="prices.csv")
    with session.book(create=True) as book:
        taken = take_prices(book, session.hand(), data, str(path))
        session.done.append(f"{path}: {taken_text(taken)}")
        if session.json:
            session.data(taken_json(taken))
        else:
            session.say(f"{path}: {taken_text(taken)}")
        if taken.new or taken.changed:
            session.plan(book)
    return 0


def _undo(session: Session, args: Namespace) -> int:
    from tracker.book.prices import put_price_back

    with session.book() as book:
        text = put_price_back(book, session.hand(), args.undo, args.supplier, args.reason)
        session.done.append(f"recorded: {text}")
        if session.json:
            session.data({"text": text})
        else:
            session.say(f"recorded: {text}")
        session.plan(book)
    return 0


def _write(session: Session, path: Path, *, force: bool) -> int:
    from tracker.book.prices import price_book
    from tracker.planning.pricefile import format_prices

    with session.book() as book:
        found = price_book(book)
    write_file(path, format_prices(found).encode(), force=force)
    if session.json:
        session.data({"file": str(path), "written": len(found.offers)})
    else:
        from tracker.text import count

        session.say(f"{path}: {count(len(found.offers), 'price')} written")
    return 0


def _show(session: Session, item: str) -> int:
    from tracker.book.houserules import house_rules
    from tracker.book.prices import price_book
    from tracker.reports.pricepages import only, prices_json, prices_page
    from tracker.trade.material import item_name

    with session.book() as book:
        found = price_book(book)
        days = house_rules(book).figure("price_days")
    if item.strip():
        known = {offer.item for offer in found.offers}
        found = only(found, item_name(item))
        if not found.offers:
            from tracker.text import near

            raise InputError(
                f"no price for an item like {item[:80]!r}{near(item, known)}", "deckjobs prices lists them"
            )
    if session.json:
        session.data(prices_json(found, session.today, days))
    else:
        session.show(prices_page(found, session.today, days))
    return 0


COMMANDS = {
    "prices": Command(
        _arguments, prices,
        "The price book. A list is CSV with the columns supplier, item and price, and if you like pack, seen,\n"
        "use, wood, lead_days, delivery and minimum. It is taken whole or not at all; the same list twice changes\n"
        "nothing. --undo puts an item's price back to the one before.",
        "deckjobs prices yard-one.csv",
    ),
}  # fmt: skip
