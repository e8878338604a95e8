"""Crew hours: logged in one line, looked at by job, and what finished phases took."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from tracker.commands.parser import Command, refuse_options
from tracker.commands.session import Session
from tracker.errors import InputError


def _hours_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("job", nargs="?", metavar="JOB", help="a job code, its tail or a piece of the title")
    parser.add_argument(
        "text", nargs="*", metavar="HOURS", help="like 6h, 6:30, frame 6h, 3 x 7h30, 6h yesterday; none lists them"
    )
    parser.add_argument("--day", metavar="DAY", help="the day worked; today when left out")
    parser.add_argument("--who", dest="workers", metavar="NAMES", help="who worked, commas between; you when left out")
    parser.add_argument("--correct", metavar="NO", help="these hours take the place of the entry of that number")
    parser.add_argument("--undo", metavar="NO", help="take the entry of that number back, with --reason")
    parser.add_argument("--reason", metavar="TEXT", default="", help="why it is taken back")
    parser.add_argument("--anyway", action="store_true", help="log them though the phase has not started")
    parser.add_argument("--summary", action="store_true", help="all jobs, and what finished phases took")


def hours(session: Session, args: Namespace) -> int:
    """Log hours, take an entry back, list a job's, or sum them all up."""
    from tracker.trade.dates import parse_day

    if args.summary:
        if args.job is not None or args.text:
            raise InputError("--summary lists all jobs and logs nothing", "give it alone")
        refuse_options(
            args,
            ("--day", "--who", "--correct", "--undo", "--reason", "--anyway"),
            "--summary lists and logs nothing",
            "give it alone",
        )
        session.makes_no_entry()
        return _summary(session)
    if args.job is None:
        raise InputError("JOB is missing", "deckjobs hours 014 6h frame, or deckjobs hours --summary")
    if args.undo is not None:
        return _undo(session, args)
    if not args.text:
        hint = f"add the hours, like: deckjobs hours {args.job} 6h"
        refuse_options(
            args, ("--day", "--who", "--correct", "--reason", "--anyway"), "without hours the job's are listed", hint
        )
        session.makes_no_entry()
        return _list(session, args.job)
    refuse_options(
        args, ("--reason",), "hours are logged without one", "a note stands after a comma: 6h frame, rain from noon"
    )
    from tracker.book.hours import log_text
    from tracker.trade.readings import parse_count

    text, day = " ".join(args.text), parse_day(args.day, session.today, past=True) if args.day is not None else None
    names = [name.strip() for name in (args.workers or "").split(",") if name.strip()]
    corrects = parse_count(args.correct, "an entry's number") if args.correct is not None else 0
    session.write(
        lambda book, hand, entry: session.on_purpose(
            lambda anyway: log_text(
                book, hand, args.job, text, day, names, corrects=corrects, asks=not anyway, entry_id=entry
            ),
            anyway=args.anyway,
        )
    )
    return 0


def _undo(session: Session, args: Namespace) -> int:
    from tracker.book.hours import take_back_hours
    from tracker.trade.readings import parse_count

    if args.text:
        raise InputError("--undo logs nothing", "log the right hours with a line of their own")
    refuse_options(
        args, ("--day", "--who", "--correct", "--anyway"), "--undo takes an entry back as it is", "leave it out"
    )
    number = parse_count(args.undo, "an entry's number")
    session.write(lambda book, hand, entry: take_back_hours(book, hand, args.job, number, args.reason, entry_id=entry))
    return 0


def _list(session: Session, job: str) -> int:
    from tracker.book.hours import hours_of
    from tracker.reports.hourspages import hours_json, hours_page

    with session.book() as book:
        found = hours_of(book, job, session.today)
    if session.json:
        session.data(hours_json(found))
    else:
        session.show(hours_page(found))
    return 0


def _summary(session: Session) -> int:
    from tracker.book.hours import hours_summary
    from tracker.reports.hourspages import summary_json, summary_page

    with session.book() as book:
        found = hours_summary(book, session.today)
    if session.json:
        session.data(summary_json(found))
    else:
        session.show(summary_page(found))
    return 0


COMMANDS = {
    "hours": Command(
        _hours_arguments, hours,
        "Log crew hours: for a phase named in the text, else for the one at hand; a note after a comma. Without hours it\n"
        "lists a job's, by phase and day. Nobody can work more than 24 hours a day. Hours of crew work that has not started and\n"
        "is not the next to start are asked about; --anyway logs them. --summary adds what each phase took for\n"
        "each unit of work over finished jobs, as a figure for the next estimate (deckjobs rules --hours takes it).",
        "deckjobs hours 014 3 x 7h30 frame, rain from noon", records=True,
    ),
}  # fmt: skip
