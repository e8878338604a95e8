"""Taking an entry back, and putting the count of a movement right."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from tracker.commands.jobs import job_argument
from tracker.commands.parser import Command
from tracker.commands.session import Session
from tracker.errors import InputError

LAST = 10
"""Entries shown to choose from."""


def _undo_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument(
        "entry",
        nargs="?",
        metavar="ENTRY",
        help="its number in the job's history, or its id; left out, the last are shown",
    )
    parser.add_argument("--reason", metavar="TEXT", default="", help="why it is taken back; it stays visible for ever")


def undo(session: Session, args: Namespace) -> int:
    """Take an entry back, or show the last ones."""
    usage = f"deckjobs undo {args.job} {args.entry or 'ENTRY'} --reason TEXT"
    if args.entry is None:
        if args.reason:
            raise InputError("--reason goes with an entry", usage)
        session.makes_no_entry()
        return _last(session, args.job)
    if not args.reason.strip():
        raise InputError("an entry is taken back for a reason", usage)
    from tracker.book.undoing import undo as take_back

    session.write(
        lambda book, hand, entry: take_back(book, hand, args.job, args.entry, args.reason, entry_id=entry),
        plan=[args.job],
    )
    return 0


def _last(session: Session, job: str) -> int:
    from tracker.book.history import history
    from tracker.reports.historypages import history_json, history_page

    with session.book() as book:
        whole = history(book, job, session.today)
    found = whole.lines[-LAST:][::-1]
    if session.json:
        session.data(history_json(whole.code, found, len(whole.lines)))
    else:
        session.show(history_page(whole.code, found, len(whole.lines), session.today))
        if found:
            session.say(f"to take one back: deckjobs undo {whole.code} ENTRY --reason TEXT")
    return 0


def _correct_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument("entry", metavar="ENTRY", help="the movement's number in the job's history, or its id")
    parser.add_argument("count", metavar="COUNT", help="how many it really was")
    parser.add_argument("--anyway", action="store_true", help="so many did come, though far fewer are due")
    parser.add_argument("--reason", metavar="TEXT", required=True, help="why; it stays visible for ever")


def correct(session: Session, args: Namespace) -> int:
    """Put the count of a movement right."""
    from tracker.book.undoing import correct as put_right
    from tracker.trade.readings import parse_count

    number = parse_count(args.count, "a count")
    session.write(
        lambda book, hand, entry: put_right(
            book, hand, args.job, args.entry, number, args.reason, anyway=args.anyway, entry_id=entry
        ),
        plan=[args.job],
    )
    return 0


COMMANDS = {
    "undo": Command(
        _undo_arguments, undo,
        "Take an entry back, with a reason: a waiver, a start or sign-off, an order or other movement of material (both\n"
        "sides of a transfer), a reading, hours, a cost or payment, a punch item or that it is done, a note, a day off.\n"
        "It stays in the history, marked, and counts no more. Refused (exit 1) while something later rests on it; the\n"
        "refusal says what comes first. ENTRY is the number `deckjobs history JOB` lists.",
        'deckjobs undo 014 23 --reason "typed on the wrong job"', records=True,
    ),
    "correct": Command(
        _correct_arguments, correct,
        "Put the count of a movement of material right: ordered, received, used, sent back, scrapped, offcuts, a transfer\n"
        "(both sides). The new count stands in its place, at the same promise and price; the old one stays in the history.\n"
        "0 takes it back. ENTRY is the number `deckjobs history JOB` lists.",
        'deckjobs correct 014 23 12 --reason "counted again"', records=True,
    ),
}  # fmt: skip
