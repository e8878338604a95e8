"""Money: price, quote, accept, change the price, invoice, receive, spend, and the money page of a job."""

from __future__ import annotations

import re
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from typing import TYPE_CHECKING

from tracker.commands.jobfiles import means_file, read_jobs
from tracker.commands.jobs import job_argument
from tracker.commands.moneypapers import (
    invoice_on_paper,
    named_files,
    paper_arguments,
    quote_on_paper,
    record_on_paper,
    shown,
)
from tracker.commands.parser import Command, refuse_options
from tracker.commands.session import Session
from tracker.errors import InputError
from tracker.planning.options import OPTION_KEYS
from tracker.text import listing

if TYPE_CHECKING:
    from tracker.book.moneyviews import PricedJob
    from tracker.planning.estimate import Equipment
    from tracker.planning.options import Option


def _option_arguments(parser: ArgumentParser) -> None:
    parser.add_argument(
        "--option", action="append", default=[], metavar="NAME: KEY=VALUE,...",
        help=f"another way to build it, beside as drawn: {listing(OPTION_KEYS)}; price= sets its price by hand",
    )  # fmt: skip
    parser.add_argument(
        "--equipment", action="append", default=[], metavar="PHASE: WHAT, AMOUNT",
        help='hire or a lump sum, like "strip: compactor, 2 days at 85"',
    )  # fmt: skip


def _price_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("job", metavar="JOB|FILE", help="a job of the book, or a job file that need not be in it")
    _option_arguments(parser)
    parser.add_argument("--why", action="store_true", help="every line, and how the price came about")


def _options(texts: Sequence[str]) -> list[Option]:
    """The options asked for; as drawn comes first unless it is named itself."""
    from tracker.planning.options import beside_as_drawn

    return beside_as_drawn(texts)


def _equipment(texts: Sequence[str]) -> list[Equipment]:
    from tracker.planning.equipment import parse_equipment

    return [parse_equipment(text) for text in texts]


def price(session: Session, args: Namespace) -> int:
    """What a job should cost and be sold for."""
    from tracker.reports.estimatepage import price_json, price_page

    found = _price(session, args)
    if session.json:
        session.data(price_json(found))
    else:
        session.show(price_page(found, why=args.why))
    return 0


def _price(session: Session, args: Namespace) -> PricedJob:
    from tracker.book.pricing import price_file, price_job

    options, equipment = _options(args.option), _equipment(args.equipment)
    if not means_file(args.job):
        with session.book() as book:
            return price_job(book, args.job, session.today, options, equipment)
    from tracker.book.plans import Shelf
    from tracker.trade.rules import Rules

    (file,), prices = read_jobs(session, [args.job])
    changes, house = {}, Rules()
    if session.book_exists():
        from tracker.book.houserules import house_rules, phase_changes

        with session.book() as book:
            changes, house = dict(phase_changes(book)), house_rules(book)
    return price_file(file, changes, house, prices, Shelf(), options, equipment)


def _quote_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    _option_arguments(parser)
    parser.add_argument(
        "--draw",
        action="append",
        default=[],
        metavar="PHASE=SHARE",
        help="the draws offered, like deposit=10%% or final=rest",
    )
    parser.add_argument("--record", action="store_true", help="record the quote, as drawn when no option is given")
    parser.add_argument("--replace", action="store_true", help="record it although a quote priced by hand stands")
    parser.add_argument("--unpriced-too", action="store_true", help="quote although some items have no price")
    paper_arguments(parser, "the quote")


def quote(session: Session, args: Namespace) -> int:
    """Show the quote that stands, record one with its options side by side, or put one on paper."""
    from tracker.book.money import quote as make

    options, equipment, paths = _options(args.option), _equipment(args.equipment), named_files(args)
    if paths or args.show is not None:
        refuse_options(
            args, ("--record", "--replace", "--unpriced-too"), "a quote put on paper is not recorded",
            "record it first, then put it on paper",
        )  # fmt: skip
        session.makes_no_entry()
        return quote_on_paper(session, args, options, equipment, paths)
    if not (args.record or args.replace or args.option or args.equipment or args.draw or args.unpriced_too):
        session.makes_no_entry()
        return _show_quote(session, args)
    session.write(
        lambda book, hand, entry: make(
            book,
            hand,
            args.job,
            options,
            equipment,
            args.draw,
            unpriced_too=args.unpriced_too,
            replace_it=args.replace,
            entry_id=entry,
        )
    )
    return 0


def _show_quote(session: Session, args: Namespace) -> int:
    from tracker.book.moneyread import money_of
    from tracker.reports.moneypages import standing_quote_json, standing_quote_page

    with session.book() as book:
        found = money_of(book, args.job, session.today)
    if session.json:
        session.data(standing_quote_json(found))
    else:
        session.show(standing_quote_page(found))
    return 0


def _accept_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument(
        "option", nargs="*", metavar="OPTION", help="the option's name or number; none when there is one"
    )
    parser.add_argument(
        "--draw", action="append", default=[], metavar="PHASE=SHARE", help="like deposit=10%% or final=rest"
    )


def accept(session: Session, args: Namespace) -> int:
    """Record that the client took an option."""
    from tracker.book.money import accept_quote

    option = " ".join(args.option)
    session.write(lambda book, hand, entry: accept_quote(book, hand, args.job, option, args.draw, entry_id=entry))
    return 0


def _terms_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument(
        "draws", nargs="+", metavar="PHASE=SHARE", help="like deposit=10%% frame=40%% boards=3000 final=rest"
    )


def terms(session: Session, args: Namespace) -> int:
    """Agree another schedule of draws."""
    from tracker.book.money import set_draws

    session.write(lambda book, hand, entry: set_draws(book, hand, args.job, args.draws, entry_id=entry))
    return 0


def _extra_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument(
        "words", nargs="*", metavar="AMOUNT TEXT", help="the price before tax, -50 takes off; then what it is"
    )
    parser.add_argument("--cost", metavar="AMOUNT", help="what it costs us, besides hours")
    parser.add_argument("--hours", metavar="HOURS", help="the hours it takes, like 6h or 2 x 4h")
    parser.add_argument(
        "--phase", metavar="PHASE", default="", help="the phase it belongs to; the one at hand when left out"
    )


def extra(session: Session, args: Namespace) -> int:
    """Add the price of a change to the contract."""
    from tracker.book.money import ExtraCost, price_change
    from tracker.trade.money import parse_money
    from tracker.trade.worktime import parse_hours

    words: list[str] = args.words
    amount = None
    if words and re.match(r"[-+\u2212]?\$?\d", words[0]):
        first = words[0].replace("\u2212", "-")
        amount = parse_money(first.lstrip("+-")) * (-1 if first.startswith("-") else 1)
        words = words[1:]
    cost = None
    if args.cost is not None or args.hours is not None:
        worked = parse_hours(args.hours) if args.hours is not None else None
        minutes = worked.minutes * max(worked.people, 1) if worked else 0
        cost = ExtraCost(args.phase, parse_money(args.cost) if args.cost is not None else 0, minutes)
    elif args.phase:
        raise InputError("--phase says where the cost goes, and no cost is given", "give --cost or --hours with it")
    text = " ".join(words)
    session.write(lambda book, hand, entry: price_change(book, hand, args.job, text, amount, cost, entry_id=entry))
    return 0


def _invoice_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument(
        "amount", nargs="?", metavar="AMOUNT", help="an amount on account; none invoices all that is ready"
    )
    parser.add_argument(
        "--draw", action="append", default=[], metavar="NAME", help="only this draw, like frame or change 1"
    )
    parser.add_argument("--text", metavar="TEXT", default="", help="words on the invoice")
    paper_arguments(parser, "the invoice or credit note")


def invoice(session: Session, args: Namespace) -> int:
    """Invoice what is ready, a draw, or an amount; or show an invoice there is."""
    from tracker.book.invoices import invoice as make
    from tracker.trade.money import parse_money

    if args.show is not None:
        if args.amount is not None or args.draw or args.text:
            raise InputError("--show is of an invoice that was made", "leave the amount, the draws and the text out")
        session.makes_no_entry()
        return invoice_on_paper(session, args, named_files(args))
    cents = parse_money(args.amount) if args.amount is not None else None
    return record_on_paper(
        session,
        args,
        lambda book, hand, entry: make(book, hand, args.job, args.draw, cents, args.text, entry_id=entry),
    )


def _credit_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument("invoice", metavar="INVOICE", help="the number of the invoice")
    parser.add_argument("amount", nargs="?", metavar="AMOUNT", help="how much of it; all that is left when left out")
    parser.add_argument("--reason", metavar="TEXT", required=True, help="why")
    paper_arguments(parser, "")


def credit(session: Session, args: Namespace) -> int:
    """Take from an invoice with a credit note."""
    from tracker.book.invoices import credit as make
    from tracker.trade.money import parse_money
    from tracker.trade.readings import parse_count

    number = parse_count(args.invoice, "an invoice's number")
    cents = parse_money(args.amount) if args.amount is not None else None
    return record_on_paper(
        session, args, lambda book, hand, entry: make(book, hand, args.job, number, args.reason, cents, entry_id=entry)
    )


def _paid_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument("amount", metavar="AMOUNT", help="what came, like 1904.50")
    parser.add_argument("how", nargs="*", metavar="HOW", help="how, like check 118")
    parser.add_argument("--invoice", metavar="NO", help="the invoice it is for; the oldest open one when left out")
    parser.add_argument("--day", metavar="DAY", help="the day it came; today when left out")
    parser.add_argument("--back", action="store_true", help="paid back to the client instead")
    parser.add_argument(
        "--anyway",
        action="store_true",
        help="it is another one, though the same amount with the same words stands already",
    )


def paid(session: Session, args: Namespace) -> int:
    """Record money received."""
    from tracker.book.invoices import receive_payment
    from tracker.trade.dates import parse_day
    from tracker.trade.money import parse_money
    from tracker.trade.readings import parse_count

    cents, how = parse_money(args.amount), " ".join(args.how)
    day = parse_day(args.day, session.today) if args.day is not None else None
    number = parse_count(args.invoice, "an invoice's number") if args.invoice is not None else 0
    session.write(
        lambda book, hand, entry: session.on_purpose(
            lambda anyway: receive_payment(
                book, hand, args.job, cents, how, day, number, back=args.back, anyway=anyway, entry_id=entry
            ),
            anyway=args.anyway,
        )
    )
    return 0


def _spend_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument("amount", metavar="AMOUNT", help="what it cost, like 85.00")
    parser.add_argument("phase", metavar="PHASE", help="the phase it was for")
    parser.add_argument("text", nargs="+", metavar="TEXT", help="what it was: hire, dump fee, permit fee")
    parser.add_argument("--day", metavar="DAY", help="the day; today when left out")


def spend(session: Session, args: Namespace) -> int:
    """Record a cost that is no lot."""
    from tracker.book.invoices import spend as make
    from tracker.trade.dates import parse_day
    from tracker.trade.money import parse_money

    cents, text = parse_money(args.amount), " ".join(args.text)
    day = parse_day(args.day, session.today) if args.day is not None else None
    session.write(lambda book, hand, entry: make(book, hand, args.job, cents, args.phase, text, day, entry_id=entry))
    return 0


def _money_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument(
        "--undo", metavar="WHAT", help='take back "payment 2", "cost 1", "change 1", "quote 1" or acceptance'
    )
    parser.add_argument("--reason", metavar="TEXT", default="", help="why it is taken back")
    paper_arguments(parser, "")


def money(session: Session, args: Namespace) -> int:
    """The money page of a job, on paper for the office too, or something of it taken back."""
    paths = named_files(args)
    if args.undo is not None and paths:
        raise InputError("--undo and a file at once", "take it back first, then write the page")
    if args.undo is not None:
        from tracker.book.invoices import take_back

        session.write(lambda book, hand, entry: take_back(book, hand, args.job, args.undo, args.reason, entry_id=entry))
        return 0
    refuse_options(args, ("--reason",), "nothing is taken back", "say what with --undo, or leave it out")
    session.makes_no_entry()
    from tracker.book.moneyread import money_of
    from tracker.reports.moneypages import money_json, money_page

    with session.book() as book:
        found = money_of(book, args.job, session.today)
    if paths:
        from tracker.reports.moneypaper import money_document

        return shown(session, args, money_document(found), paths)
    if session.json:
        session.data(money_json(found))
    else:
        session.show(money_page(found))
    return 0


COMMANDS = {
    "price": Command(
        _price_arguments, price,
        "What a job should cost and be sold for: material as the cut plan buys it, labour, equipment, overhead, profit, tax.\n"
        "Profit is put on as a margin (a share of the price) or, when the house rule markup is set, as a markup (on the\n"
        "cost). Options stand side by side. Nothing is recorded.",
        'deckjobs price 014 --option "2x6 boards: board=2x6" --why',
    ),
    "quote": Command(
        _quote_arguments, quote,
        "Alone it shows the quote that stands and records nothing. With --record, an option, hire or draws it records a quote:\n"
        "as drawn and the options side by side, each with its estimate of today. One priced by hand is replaced with --replace\n"
        "only; one recorded by mistake is taken back: deckjobs money JOB --undo \"quote 1\" --reason TEXT.\n"
        "With --pdf or --html nothing is recorded: the last quote is put on paper for its client (--show N an earlier one);\n"
        "with options, or while there is none, a DRAFT of it.",
        'deckjobs quote 014 --option "2x6 boards: board=2x6" --equipment "strip: compactor, 2 days at 85"', records=True,
    ),
    "accept": Command(
        _accept_arguments, accept,
        "Record the option the client took: it is the contract. Draws are shares of it, due at the deposit and when phases\n"
        "are signed off; left out, the house's schedule is taken.",
        "deckjobs accept 014 as drawn --draw deposit=33.33% --draw frame=50% --draw final=rest", records=True,
    ),
    "terms": Command(
        _terms_arguments, terms,
        "Agree another schedule of draws for the contract. Refused (exit 1) when a draw would come to less than is invoiced of\n"
        "it: a schedule gives no money back, a credit note does (deckjobs credit).",
        "deckjobs terms 014 deposit=10% frame=40% boards=3000 final=rest", records=True,
    ),
    "extra": Command(
        _extra_arguments, extra,
        "Add the price of a change to the contract, before tax. It prices the change orders that have none yet; without an\n"
        "amount the price is worked out from their material and hours by the terms of the quote. Its sales tax is at the rate of\n"
        "the day it is agreed (common practice; local law decides).",
        'deckjobs extra 014 350 "gate at the steps" --cost 90 --hours 3h --phase boards', records=True,
    ),
    "invoice": Command(
        _invoice_arguments, invoice,
        "Invoice every draw that is ready, one of them, or an amount on account. Refused (exit 1) for a draw whose phase is\n"
        "not signed off. Invoices and credit notes are numbered over the whole book. With --pdf or --html its paper is written\n"
        "too; --show N shows or writes one there is.",
        "deckjobs invoice 014 --draw frame --pdf invoice.pdf", records=True,
    ),
    "credit": Command(
        _credit_arguments, credit, "Take an invoice back with a credit note, all of it or an amount.",
        'deckjobs credit 014 7 --reason "billed twice"', records=True,
    ),
    "paid": Command(
        _paid_arguments, paid,
        "Record money received. The same amount with the same words as a payment that stands is asked about at a terminal, and\n"
        "refused (exit 1) where there is none: --anyway says that it is another one.",
        "deckjobs paid 014 1904.50 check 118 --invoice 7", records=True,
    ),
    "spend": Command(
        _spend_arguments, spend, "Record what a phase cost that is no lot: equipment hire, a dump fee, a permit fee. An amount of 0 says that nothing of\n"
        "what was estimated for it was spent; until something is recorded, a phase signed off counts as estimated.",
        "deckjobs spend 014 85.00 strip compactor, one day", records=True,
    ),
    "money": Command(
        _money_arguments, money,
        "The money of a job: contract, draws, invoices, payments, cost by phase against the quote, forecast and margin.\n"
        "With --pdf or --html it is written for the office.",
        'deckjobs money 014 --undo "payment 2" --reason "wrong job"', records=True,
    ),
}  # fmt: skip
