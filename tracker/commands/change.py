"""Change orders: a new job file of a job in the book, its differences first, then taken with a reason."""

from __future__ import annotations

import shlex
from argparse import ArgumentParser, Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.commands.jobs import job_argument
from tracker.commands.parser import Command, refuse_options
from tracker.commands.session import Session
from tracker.errors import InputError
from tracker.files import read_file

if TYPE_CHECKING:
    from tracker.book.changeviews import Change
    from tracker.book.hand import Hand
    from tracker.book.opening import Book
    from tracker.book.views import Recorded
    from tracker.trade.answer import Plain


def _arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument("file", metavar="FILE", help="the job file as it is to be")
    parser.add_argument("--reason", metavar="TEXT", help="why; needed with --yes, and kept for ever")
    parser.add_argument("--yes", action="store_true", help="accept the change order")


def change(session: Session, args: Namespace) -> int:
    """Show what the new file changes; with ``--yes`` accept it. Exit 1 while there are differences not accepted."""
    from tracker.book.changing import UnchangedError, accept_change, difference
    from tracker.book.houserules import house_rules
    from tracker.trade.jobfile import parse_job_bytes

    if args.yes and not (args.reason or "").strip():
        raise InputError("a change order needs a reason", "add --reason TEXT")
    if not args.yes:
        refuse_options(
            args, ("--reason",), "what would change is only shown", "add --yes to accept the change, or leave it out"
        )
        session.makes_no_entry()
    with session.book() as book:
        file = parse_job_bytes(read_file(Path(args.file)), args.file, house=house_rules(book))
        source = {key: value for key, value in file.source.items() if key != "log"}
        found = difference(book, args.job, source, session.today, proven=True)
        if not args.yes:
            _show(session, found, args.file)
            return 1 if found.anything else 0

    def accept(book: Book, hand: Hand, entry_id: str) -> Recorded:
        return accept_change(book, hand, found.code, source, args.reason, found.rev, entry_id=entry_id)

    def tell(recorded: Recorded) -> None:
        _show(session, found, args.file, recorded)

    try:
        session.write(accept, tell=tell, plan=[found.code])
    except UnchangedError:
        _show(session, found, args.file)
    return 0


def _show(session: Session, found: Change, file: str, recorded: Recorded | None = None) -> None:
    from tracker.reports.changepages import change_json, change_page

    if session.json:
        from tracker.reports.jsonable import recorded_json

        taken: Plain = recorded_json(recorded) if recorded else None
        session.data({**change_json(found), "accepted": recorded is not None, "entry": taken})
        return
    session.show(change_page(found))
    if recorded is not None:
        session.tell(recorded)
    elif found.anything:
        file = shlex.quote(file)
        session.say(f"nothing was written; accept it with: deckjobs change {found.code} {file} --reason TEXT --yes")


COMMANDS = {
    "change": Command(
        _arguments, change,
        "What a new job file of a job would change: material to add and to give back, cost, days,\n"
        "phases and checks. With --yes and a reason it is accepted as a change order: readings of\n"
        "what changed no longer count, and phases that built it open again. The owner accepts.",
        "deckjobs change 014 fern-court-2.toml --reason 'wider, asked for on 12 May' --yes", records=True,
    ),
}  # fmt: skip
