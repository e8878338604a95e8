"""The book itself: copy it, put a copy back, look it over."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from pathlib import Path

from tracker.commands.parser import Command
from tracker.commands.session import Session
from tracker.errors import BookError, InputError


def _file_argument(parser: ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help="the copy")


def backup(session: Session, args: Namespace) -> int:
    """Copy the book."""
    from tracker.book.care import backup as copy_book

    with session.book() as book:
        made = copy_book(book, Path(args.file))
        session.done.append(f"copied to {made}")
    if session.json:
        session.data({"copy": str(made)})
    else:
        session.say(f"copied to {made}")
    return 0


def _restore_arguments(parser: ArgumentParser) -> None:
    _file_argument(parser)
    parser.add_argument("--yes", action="store_true", help="do not ask")


def restore(session: Session, args: Namespace) -> int:
    """Put a copy in the book's place; the book that was there is kept."""
    from tracker.book.care import restore as put_back

    path = session.settings.book
    if not args.yes:
        if not (sys.stdin.isatty() and sys.stdout.isatty()):
            raise InputError("restoring replaces the book, and there is no terminal to ask on", "add --yes to do it")
        session.say(f"{args.file} takes the place of {path}; the book there now is kept beside it.")
        try:
            answer = input("Type yes to go on: ")
        except EOFError:
            answer = ""
        if answer.strip().lower() not in ("yes", "y"):
            session.say("nothing was changed")
            return 1
    session.settings.make_folder()
    kept = put_back(path, Path(args.file))
    session.done.append(f"restored {path}")
    if session.json:
        session.data({"book": str(path), "kept": None if kept is None else str(kept)})
    else:
        session.say(f"restored {path}" + (f"; the book that was there is kept as {kept}" if kept else ""))
    return 0


def _doctor_arguments(parser: ArgumentParser) -> None:
    parser.add_argument(
        "--mend", action="store_true",
        help="take out triggers and indexes another program put in, put back those missing; a copy is kept first",
    )  # fmt: skip


def doctor(session: Session, args: Namespace) -> int:
    """Look the book over; exit 3 when it is damaged."""
    from tracker.book.care import doctor as look_over
    from tracker.book.care import mend

    mended = mend(session.settings.book) if args.mend else ()
    report = look_over(session.settings.book)
    if session.json:
        from tracker.reports.jsonable import doctor_json

        session.data({**doctor_json(report), "mended": list(mended)})
    else:
        for text in mended or (("nothing was to be mended",) if args.mend else ()):
            session.say(text)
        word = f"{len(report.problems)} found" if report.problems else "none: the book is sound"
        session.say(f"{report.path}")
        session.say(f"  damage: {word}")
        for text in report.problems:
            session.say(f"  DAMAGE: {text}")
        for text in report.warnings:
            session.say(f"  warning: {text}")
        for text in report.facts:
            session.say(f"  {text}")
        if report.advice:
            session.say(f"  {report.advice}")
    return BookError.exit_code if report.problems else 0


COMMANDS = {
    "backup": Command(
        _file_argument, backup, "Copy the book into a new file, safely while others write.",
        "deckjobs backup may.book",
    ),
    "restore": Command(
        _restore_arguments, restore, "Put a copy in the book's place. The book that was there is kept.",
        "deckjobs restore may.book",
    ),
    "doctor": Command(
        _doctor_arguments, doctor,
        "Look the book over: damage, what it holds, what to watch. Exit 3 when damaged.",
    ),
}  # fmt: skip
