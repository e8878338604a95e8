"""The calendar of jobs: printed, or as an iCalendar file."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path

from tracker.book.outfile import write_file
from tracker.commands.parser import Command, refuse_options
from tracker.commands.session import Session
from tracker.text import count, listing

KINDS = ("phase", "delivery", "inspection", "paper", "care")


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument("jobs", nargs="*", metavar="JOB", help="jobs; left out, every open job and all care")
    parser.add_argument("--ics", metavar="FILE", help="write it as an iCalendar file, for any calendar to import")
    parser.add_argument(
        "--only",
        action="append",
        choices=KINDS,
        metavar="KIND",
        help=f"only these, as often as wanted: {listing(KINDS)}",
    )
    parser.add_argument("--force", action="store_true", help="let --ics replace a file that is there")


def calendar(session: Session, args: Namespace) -> int:
    """Print the calendar, or write it."""
    from tracker.book.agenda import agenda
    from tracker.planning.calendar import EventKind

    if args.ics is None:
        refuse_options(args, ("--force",), "it lets --ics replace a file", "add --ics FILE, or leave it out")
    kinds = tuple(EventKind(kind) for kind in args.only or KINDS)
    with session.book() as book:
        events = agenda(book, args.jobs, session.today, kinds, dropped=args.ics is not None)
    if args.ics is not None:
        from tracker.reports.icalendar import to_ics

        write_file(Path(args.ics), to_ics(events, "Deck jobs"), force=args.force)
        if session.json:
            session.data({"file": args.ics, "events": len(events)})
        else:
            session.say(f"written: {args.ics}, {count(len(events), 'event')}")
        return 0
    if session.json:
        from tracker.reports.handoverjson import events_json

        session.data({"day": session.today.isoformat(), "events": events_json(events)})
        return 0
    from tracker.reports.agendapage import agenda_page

    session.show(agenda_page(events, session.today))
    return 0


COMMANDS = {
    "calendar": Command(
        _arguments,
        calendar,
        "Phases, deliveries, inspections, papers that run out, and care: the days still to\n"
        "come, printed, or all of them as an iCalendar file. Importing it again moves what\n"
        "has moved and drops what was dropped; nothing comes twice.",
        "deckjobs calendar 014 --ics fern-court.ics",
    ),
}
