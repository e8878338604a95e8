"""Checks: what one asks for, recording its readings, waiving it."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from dataclasses import replace

from tracker.book.views import Recorded
from tracker.commands.jobs import job_argument
from tracker.commands.parser import Command, refuse_options
from tracker.commands.session import Session
from tracker.errors import InputError
from tracker.text import near
from tracker.trade.answer import Verdict


def _check_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument("key", nargs="?", metavar="KEY", help="a check, like square; left out, all are listed")
    parser.add_argument(
        "values",
        nargs="*",
        metavar="VALUE",
        help="readings in the order asked for, or NAME=VALUE; left out, the form",
    )
    parser.add_argument("--why", action="store_true", help="show the working and the source too")
    parser.add_argument(
        "--corrects",
        metavar="ENTRY",
        default="",
        help="the reading that this one corrects: its number in the history, or its id",
    )
    parser.add_argument(
        "--take-back",
        "--undo",
        action="store_true",
        dest="take_back",
        help="take the last reading of the check back; it stays in the book, the one before is in force again",
    )
    parser.add_argument("--reason", metavar="TEXT", default="", help="with --take-back: why")
    receive_option(parser)


def receive_option(parser: ArgumentParser) -> None:
    """The option that books in what a delivery check counted."""
    parser.add_argument(
        "--receive",
        action="store_true",
        help="receive what was counted beyond what has come of a lot, together with the reading",
    )
    parser.add_argument("--anyway", action="store_true", help="with --receive: they did come, though far fewer are due")


def anyway_with_receive(args: Namespace) -> None:
    """Raise InputError for ``--anyway`` without the ``--receive`` it is of."""
    if not args.receive:
        refuse_options(args, ("--anyway",), "it goes with --receive", "add --receive, or leave it out")


def check(session: Session, args: Namespace) -> int:
    """List the checks, show what one asks for, record its readings and print the verdict, or take the last ones back."""
    if args.take_back or args.reason:
        return _take_back(session, args)
    if not args.values:
        refuse_options(
            args, ("--why", "--corrects", "--receive", "--anyway"), "without readings nothing is recorded or judged",
            f"deckjobs check {args.job} {args.key or 'KEY'} VALUE...",
        )  # fmt: skip
        session.makes_no_entry()
        return _ask(session, args.job, args.key)
    anyway_with_receive(args)
    from tracker.book.readings import record

    recorded = session.write(
        lambda book, hand, entry: record(
            book,
            hand,
            args.job,
            args.key,
            args.values,
            entry_id=entry,
            corrects=args.corrects,
            receive=args.receive,
            anyway=args.anyway,
        ),
        tell=verdict_teller(session, args.key, why=args.why),
    )
    return verdict_code(recorded)


def _take_back(session: Session, args: Namespace) -> int:
    usage = f"deckjobs check {args.job} {args.key or 'KEY'} --take-back --reason TEXT"
    if not args.take_back:
        raise InputError("--reason goes with --take-back", usage)
    if args.key is None or args.values or args.corrects:
        raise InputError("--take-back takes a check and no values", usage)
    if not args.reason.strip():
        raise InputError("a reading is taken back for a reason", usage)
    refuse_options(args, ("--why", "--receive", "--anyway"), "a reading is taken back as it is", usage)
    from tracker.book.readings import take_back

    session.write(lambda book, hand, entry: take_back(book, hand, args.job, args.key, args.reason, entry_id=entry))
    return 0


def verdict_teller(session: Session, key: str, *, why: bool) -> Callable[[Recorded], None]:
    """How the verdict on readings of the check ``key`` is told."""

    def tell(recorded: Recorded) -> None:
        if not session.json and recorded.answer is not None:
            from tracker.reports.answers import answer_page

            session.show(answer_page(recorded.answer, name=key, why=why))
            session.tell(replace(recorded, text=recorded.text if recorded.already else key, blockers=()))
        else:
            session.tell(recorded)

    return tell


def verdict_code(recorded: Recorded) -> int:
    """The exit code of recorded readings, now or before: 0 passed, 1 failed or not enough readings."""
    return 0 if recorded.answer is None or recorded.answer.verdict is Verdict.PASSED else 1


def _ask(session: Session, job: str, key: str | None) -> int:
    from tracker.book.jobs import job_view
    from tracker.reports.jsonable import check_json
    from tracker.trade.checks.design import DESIGN

    with session.book() as book:
        view = job_view(book, job, session.today)
    checks = [found for phase in view.phases for found in phase.checks]
    if key is None:
        if session.json:
            session.data({"job": view.line.code, "checks": [check_json(found) for found in checks]})
            return 0
        from tracker.reports.jobpages import checks_page

        session.show(checks_page(view))
        return 0
    chosen = next((found for found in checks if found.key == key.strip()), None)
    if chosen is None:
        known = [found.key for found in checks]
        raise InputError(
            f"job {view.line.code} has no check {key!r}{near(key, known)}",
            f"its checks are {', '.join(known)}",
        )
    # The design is judged without a reading: to ask for it is to ask for its verdict.
    judged = chosen.answer if chosen.key == DESIGN else None
    code = int(judged is not None and judged.verdict is Verdict.FAILED)
    if session.json:
        session.data({"job": view.line.code, "check": check_json(chosen)})
        return code
    from tracker.reports.answers import answer_page, form_page

    if judged is not None:
        session.show(answer_page(judged, name=chosen.key, why=True))
    session.show(form_page(view.line.code, chosen))
    return code


def _waive_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument("key", metavar="KEY", help="the check to waive")
    parser.add_argument("--reason", metavar="TEXT", required=True, help="why; it stays visible for ever")


def waive(session: Session, args: Namespace) -> int:
    """Waive a check."""
    from tracker.book.readings import waive as waive_check

    session.write(lambda book, hand, entry: waive_check(book, hand, args.job, args.key, args.reason, entry_id=entry))
    return 0


COMMANDS = {
    "check": Command(
        _check_arguments, check,
        "Record readings for a check and print the verdict: exit 0 passed, 1 failed or not enough readings.\n"
        "Without KEY the checks are listed; without VALUE the check says what it asks for. --take-back takes the last\n"
        "reading back: it stays in the history, and the one before it is in force again. The check design reads nothing: alone\n"
        "it answers with every clause; by, document and day record on whose design the deck stands.",
        """deckjobs check 014 square "14'" "12' 3" "18' 7-1/4" "18' 6-3/4\"""", records=True,
    ),
    "waive": Command(
        _waive_arguments, waive,
        "Waive a check: only a person allowed to, and only with a reason.",
        'deckjobs waive 014 level --as Rosa --reason "client accepts the fall"', records=True,
    ),
}  # fmt: skip
