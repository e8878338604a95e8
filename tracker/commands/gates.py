"""Phases: start, sign off, hold, reopen; and notes."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Sequence

from tracker.commands.jobs import job_argument
from tracker.commands.parser import Command, refuse_options
from tracker.commands.session import Session
from tracker.errors import InputError


def _phase_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument("phase", nargs="?", metavar="PHASE", help="a phase, like frame; left out, the one at hand")


def _start_arguments(parser: ArgumentParser) -> None:
    _phase_arguments(parser)
    parser.add_argument("--past", metavar="REASON", help="past what it stands on and is not settled; it stays visible")


def _signoff_arguments(parser: ArgumentParser) -> None:
    _start_arguments(parser)
    parser.add_argument(
        "--leave", metavar="KEY=REASON", action="append", default=[],
        help="at the hand-over: leave a phase, check or punch item open; once for each",
    )  # fmt: skip
    parser.add_argument(
        "--used",
        metavar="ITEM=COUNT",
        action="append",
        default=[],
        help="pieces the phase used beyond what `use` booked before, once for each item; else what was counted, or the take-off says",
    )
    parser.add_argument(
        "--anyway", action="store_true", help="--used is right, though the checks or the take-off say otherwise"
    )  # fmt: skip


def _used(texts: Sequence[str]) -> dict[str, int] | None:
    from tracker.trade.readings import parse_count

    out: dict[str, int] = {}
    for text in texts:
        item, is_given, number = text.rpartition("=")
        if not is_given or not item.strip():
            raise InputError(f"--used {text[:60]!r} names no count", "write it like --used 2x8x12=9")
        if item.strip() in out:
            raise InputError(f"--used names {item.strip()[:60]!r} twice", "give each item once")
        out[item.strip()] = parse_count(number, "a count")
    return out or None


def _leave(texts: Sequence[str]) -> list[tuple[str, str]]:
    out: list[tuple[str, str]] = []
    for text in texts:
        key, is_given, reason = text.partition("=")
        if not is_given or not key.strip() or not reason.strip():
            raise InputError(
                f"--leave {text[:60]!r} names no reason", 'write it like --leave "punch.2=the cap is on order"'
            )
        out.append((key.strip(), reason.strip()))
    return out


def _past(text: str | None) -> str:
    if text is not None and not text.strip():
        raise InputError("--past needs a reason", 'write it like --past "the inspector comes at noon"')
    return text or ""


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
    """Start a phase; refused while anything it stands on is not settled."""
    from tracker.book import gates

    past = _past(args.past)
    session.write(lambda book, hand, entry: gates.start(book, hand, args.job, args.phase, past=past, entry_id=entry))
    return 0


def signoff(session: Session, args: Namespace) -> int:
    """Sign a phase off; refused while a check of it, or anything it stands on, is not settled."""
    from tracker.book import gates

    past, leave, used = _past(args.past), _leave(args.leave), _used(args.used)
    if used is None:
        refuse_options(
            args, ("--anyway",), "it goes with --used", "say what was used with --used ITEM=COUNT, or leave it out"
        )
    session.write(
        lambda book, hand, entry: gates.sign_off(
            book, hand, args.job, args.phase, past=past, leave=leave, used=used, anyway=args.anyway, entry_id=entry
        ),
        plan=[args.job],
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
        _start_arguments, start,
        "Start a phase. Refused (exit 1) while anything it stands on is not settled, all\n"
        "the way down: a phase not signed off, a check open or failed. The refusal says\n"
        "what would clear each. Somebody who may waive goes past it with --past REASON,\n"
        "which stays visible.",
        "deckjobs start 014 frame", records=True,
    ),
    "signoff": Command(
        _signoff_arguments, signoff,
        "Sign a phase off. Refused (exit 1) while a check of it is open or failed, or\n"
        "anything it stands on is not settled; the refusal says what would clear it.\n"
        "The hand-over settles every phase, check and punch item before it, or leaves\n"
        "each by name: --leave KEY=REASON. What the phase used of the job's lots is booked\n"
        "with it: as the checks counted it or the take-off says where that is on hand, else as\n"
        "--used says. A count that the checks or the take-off contradict wants --anyway.",
        "deckjobs signoff 014 frame --as Rosa", records=True,
    ),
    "hold": Command(
        _reason_arguments, hold, "Hold a phase: it stays held until it is started again.",
        'deckjobs hold 014 frame --reason "two joists split"', records=True,
    ),
    "reopen": Command(
        _reopen_arguments, reopen, "Open a signed-off phase again.",
        'deckjobs reopen 014 frame --reason "rim replaced"', records=True,
    ),
    "note": Command(
        _note_arguments, note, "Write a note on a job.", "deckjobs note 014 gate code is with the client", records=True
    ),
}  # fmt: skip
