"""Phases: start, sign off, hold, reopen; and notes."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from tracker.commands.jobs import job_argument
from tracker.commands.parser import Command
from tracker.commands.session import Session


def _phase_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument("phase", nargs="?", metavar="PHASE", help="a phase, like frame; left out, the one at hand")


def _reason_arguments(parser: ArgumentParser) -> None:
    _phase_arguments(parser)
    parser.add_argument("--reason", metavar="TEXT", required=True, help="why")


def _reopen_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument("phase", metavar="PHASE", help="the phase to open again")
    parser.add_argument("--reason", metavar="TEXT", required=True, help="why")


def _note_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument("text", nargs="+", metavar="TEXT", help="the note")


def start(session: Session, args: Namespace) -> int:
    """Start a phase; refused while something stands in the way."""
    from tracker.book import gates

    session.write(lambda book, hand, entry: gates.start(book, hand, args.job, args.phase, entry_id=entry))
    return 0


def signoff(session: Session, args: Namespace) -> int:
    """Sign a phase off; refused while a check of it is open or failed."""
    from tracker.book import gates

    session.write(
        lambda book, hand, entry: gates.sign_off(book, hand, args.job, args.phase, entry_id=entry), plan=[args.job]
    )
    return 0


def hold(session: Session, args: Namespace) -> int:
    """Hold a phase."""
    from tracker.book import gates

    session.write(lambda book, hand, entry: gates.hold(book, hand, args.job, args.phase, args.reason, entry_id=entry))
    return 0


def reopen(session: Session, args: Namespace) -> int:
    """Open a signed-off phase again."""
    from tracker.book import gates

    session.write(
        lambda book, hand, entry: gates.reopen(book, hand, args.job, args.phase, args.reason, entry_id=entry),
        plan=[args.job],
    )
    return 0


def note(session: Session, args: Namespace) -> int:
    """Write a note."""
    from tracker.book.jobs import add_note

    text = " ".join(args.text)
    session.write(lambda book, hand, entry: add_note(book, hand, args.job, text, entry_id=entry))
    return 0


COMMANDS = {
    "start": Command(
        _phase_arguments, start,
        "Start a phase. Refused (exit 1) while an earlier hold point is open;\n"
        "the refusal says what would clear it.",
        "deckjobs start 014 frame",
    ),
    "signoff": Command(
        _phase_arguments, signoff,
        "Sign a phase off. Refused (exit 1) while a check of it is open or failed;\n"
        "the refusal says what would clear it.",
        "deckjobs signoff 014 frame --as Rosa",
    ),
    "hold": Command(
        _reason_arguments, hold, "Hold a phase: it stays held until it is started again.",
        'deckjobs hold 014 frame --reason "two joists split"',
    ),
    "reopen": Command(
        _reopen_arguments, reopen, "Open a signed-off phase again.",
        'deckjobs reopen 014 frame --reason "rim replaced"',
    ),
    "note": Command(
        _note_arguments, note, "Write a note on a job.", "deckjobs note 014 gate code is with the client"
    ),
}  # fmt: skip
