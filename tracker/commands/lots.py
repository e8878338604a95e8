"""The movements of lots: ordered, received, inspected, used, sent back, scrapped, offcuts put back, moved to another job."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from tracker.commands.checks import anyway_with_receive, receive_option, verdict_code, verdict_teller
from tracker.commands.jobs import job_argument
from tracker.commands.parser import Command
from tracker.commands.session import Session
from tracker.errors import InputError
from tracker.text import clean


def _lot_argument(parser: ArgumentParser) -> None:
    parser.add_argument("lot", metavar="LOT", help="the lot's code")


def _order_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument("item", metavar="ITEM", help="what, as the take-off knows it, like 2x8x12")
    parser.add_argument("count", metavar="COUNT", help="how many")
    parser.add_argument("--supplier", metavar="NAME", default="", help="from whom; else whom the price book names")
    parser.add_argument("--promised", metavar="DATE", help="the day it is promised")
    parser.add_argument("--price", metavar="PRICE", help="what one costs, like 18.15; else the price book's price")
    parser.add_argument("--lot", metavar="LOT", default="", help="the lot's code; made when left out")
    parser.add_argument(
        "--anyway",
        action="store_true",
        help="it is wanted as typed: far more than is left to buy, or an item much like one on the take-off",
    )
    parser.add_argument(
        "--wood", metavar="TEXT", default="", help="species and grade, where the job needs the board in several"
    )


def order(session: Session, args: Namespace) -> int:
    """Record an order."""
    from tracker.book.lots import order as order_lot
    from tracker.trade.dates import parse_day
    from tracker.trade.money import parse_price
    from tracker.trade.readings import parse_count

    number = parse_count(args.count, "a count")
    promised = parse_day(args.promised, session.today) if args.promised is not None else None
    price = parse_price(args.price) if args.price is not None else None
    session.write(
        lambda book, hand, entry: order_lot(
            book, hand, args.job, args.item, number,
            supplier=args.supplier, promised=promised, lot=args.lot, price_e4=price, wood=args.wood,
            anyway=args.anyway, entry_id=entry,
        ),
        plan=[args.job],
    )  # fmt: skip
    return 0


def _receive_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument("counts", nargs="+", metavar="LOT COUNT", help="lots and how many came of each")
    parser.add_argument("--anyway", action="store_true", help="they did come, though far fewer are due")


def receive(session: Session, args: Namespace) -> int:
    """Record what came of one lot, or of all lots on a delivery ticket."""
    from tracker.book import lots
    from tracker.book.receiving import receive_ticket
    from tracker.trade.readings import parse_count

    words: list[str] = args.counts
    if len(words) % 2:
        raise InputError(f"lot {clean(words[-1])[:40]!r} has no count", "write it like deckjobs receive 014 L1 12 L2 8")
    counts: dict[str, int] = {}
    for lot, text in zip(words[::2], words[1::2], strict=True):
        if lot.strip().casefold() in {known.strip().casefold() for known in counts}:
            raise InputError(f"lot {clean(lot)[:40]!r} is given twice", "give each lot once, with all that came of it")
        counts[lot] = parse_count(text, "a count")
    if len(counts) > 1:
        session.write(
            lambda book, hand, entry: receive_ticket(book, hand, args.job, counts, anyway=args.anyway, entry_id=entry),
            plan=[args.job],
        )
        return 0
    ((lot, number),) = counts.items()
    session.write(
        lambda book, hand, entry: lots.receive(book, hand, args.job, lot, number, anyway=args.anyway, entry_id=entry),
        plan=[args.job],
    )
    return 0


def _cancel_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    _lot_argument(parser)
    parser.add_argument("count", nargs="?", metavar="COUNT", help="how many; all that are still to come when left out")
    parser.add_argument("--reason", metavar="TEXT", required=True, help="why; it stays visible for ever")


def cancel(session: Session, args: Namespace) -> int:
    """Cancel what is still to come of an order, or some of it."""
    from tracker.book.lots import cancel as call_off
    from tracker.trade.readings import parse_count

    number = parse_count(args.count, "a count") if args.count is not None else None
    session.write(
        lambda book, hand, entry: call_off(book, hand, args.job, args.lot, number, args.reason, entry_id=entry),
        plan=[args.job],
    )
    return 0


def _moving(move: str, text: str) -> Command:
    """The command of one movement."""

    def add(parser: ArgumentParser) -> None:
        job_argument(parser)
        _lot_argument(parser)
        parser.add_argument("count", metavar="COUNT", help="how many")
        parser.set_defaults(move=move)

    return Command(add, _move, text, f"deckjobs {move} 014 L1 12", records=True)


def _move(session: Session, args: Namespace) -> int:
    from tracker.book import lots
    from tracker.trade.readings import parse_count

    move = {"use": lots.use, "return": lots.give_back, "scrap": lots.scrap}[args.move]
    number = parse_count(args.count, "a count")
    session.write(
        lambda book, hand, entry: move(book, hand, args.job, args.lot, number, entry_id=entry), plan=[args.job]
    )
    return 0


def _inspect_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    _lot_argument(parser)
    parser.add_argument(
        "values", nargs="+", metavar="NAME=VALUE", help="count=12, stamp=yes, tag=UC4A, moisture=18.5, culls=1"
    )
    parser.add_argument("--why", action="store_true", help="show the working and the source too")
    receive_option(parser)


def inspect(session: Session, args: Namespace) -> int:
    """Record what a lot looked like in the delivery check, and print the verdict on it."""
    from tracker.book.receiving import inspect as inspect_lot

    anyway_with_receive(args)
    recorded = session.write(
        lambda book, hand, entry: inspect_lot(
            book, hand, args.job, args.lot, args.values, entry_id=entry, receive=args.receive, anyway=args.anyway
        ),
        tell=verdict_teller(session, "delivery", why=args.why),
        plan=[args.job],
    )
    return verdict_code(recorded)


def _offcut_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument("lot", metavar="LOT", help="the lot whose boards they were cut from")
    parser.add_argument("length", metavar="LENGTH", help="how long each is")
    parser.add_argument("count", metavar="COUNT", help="how many")


def offcut(session: Session, args: Namespace) -> int:
    """Put offcuts of a lot's boards back to stock."""
    from tracker.book.jobs import unit_of
    from tracker.book.offcuts import put_back
    from tracker.trade.lengths import parse_length
    from tracker.trade.readings import parse_count

    number = parse_count(args.count, "a count")
    session.write(
        lambda book, hand, entry: put_back(
            book, hand, args.job, args.lot, parse_length(args.length, unit_of(book, args.job)), number, entry_id=entry
        ),
        plan=[args.job],
    )
    return 0


def _transfer_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    _lot_argument(parser)
    parser.add_argument("count", metavar="COUNT", help="how many")
    parser.add_argument("to", metavar="TO_JOB", help="the job they go to")


def transfer(session: Session, args: Namespace) -> int:
    """Move pieces on hand to another job."""
    from tracker.book.offcuts import transfer as move_over
    from tracker.trade.readings import parse_count

    number = parse_count(args.count, "a count")
    session.write(
        lambda book, hand, entry: move_over(book, hand, args.job, args.lot, number, args.to, entry_id=entry),
        plan=[args.job, args.to],
    )
    return 0


COMMANDS = {
    "order": Command(
        _order_arguments, order,
        "Record an order. Far more than is left to buy (by ten pieces, or by over a quarter) wants --anyway, and so does an\n"
        "item that is not on the take-off but reads much like one that is.",
        'deckjobs order 014 2x8x12 12 --supplier "Yard One" --promised 2026-05-14 --price 18.15', records=True,
    ),
    "receive": Command(
        _receive_arguments, receive,
        "Record what came of a lot, or of several lots on one delivery ticket: all of them or none. Far more than are\n"
        "due (by ten pieces, or by over a quarter) want --anyway.",
        "deckjobs receive 014 L1 12 L2 8", records=True,
    ),
    "cancel": Command(
        _cancel_arguments, cancel,
        "Cancel what is still to come of an order, or some of it; the promise and the price of the others stay.",
        'deckjobs cancel 014 L1 4 --reason "the client took the smaller deck"', records=True,
    ),
    "inspect": Command(
        _inspect_arguments, inspect,
        "Record what a lot looked like when it came: its part of the delivery check. The verdict is on this lot alone.\n"
        "Exit 0 passed, 1 failed or not enough readings. A lot that failed is not used until that is waived or mended;\n"
        "culls are not used, and are bought anew, until they are sent back (return) or scrapped and others came.",
        "deckjobs inspect 014 L1 count=12 stamp=yes tag=UC4A moisture=18.5 culls=0", records=True,
    ),
    "use": _moving("use", "Record pieces of a lot used."),
    "return": _moving("return", "Record pieces of a lot sent back."),
    "scrap": _moving("scrap", "Record pieces of a lot scrapped."),
    "offcut": Command(
        _offcut_arguments, offcut,
        "Put offcuts of a lot's used boards back to stock, as a lot of their own that the next cut plan takes first.",
        "deckjobs offcut 014 L1 5-3-1/2 2", records=True,
    ),
    "transfer": Command(
        _transfer_arguments, transfer, "Move pieces of a lot that are on hand to another job.",
        "deckjobs transfer 014 L1 4 015", records=True,
    ),
}  # fmt: skip
