"""House: days off, people, and the tolerances in force."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.commands.parser import Command
from tracker.commands.session import Session
from tracker.errors import InputError
from tracker.files import read_file

if TYPE_CHECKING:
    from tracker.planning.daysoff import OffDay
    from tracker.trade.answer import Plain
    from tracker.trade.lengths import Unit
    from tracker.trade.phases import PhaseChange
    from tracker.trade.rules import Rules


def _off_arguments(parser: ArgumentParser) -> None:
    parser.add_argument(
        "day", nargs="?", metavar="DAY", help="like 2026-05-25, today or tomorrow; left out, they are listed"
    )
    parser.add_argument("last", nargs="?", metavar="LAST", help="the last day, for every day from DAY to it")
    many = parser.add_mutually_exclusive_group()
    many.add_argument(
        "--from", dest="file", metavar="FILE", help="every day of a file: lines of days, or a calendar (.ics)"
    )
    many.add_argument("--holidays", metavar="PLACE", help="the public holidays of a country or state, like US or US-OH")
    parser.add_argument(
        "--year", type=int, metavar="YEAR", help="of which year, with --holidays (else what is left of this)"
    )
    parser.add_argument("--rain", action="store_true", help="only outdoor work stops")
    parser.add_argument("--works", action="store_true", help="take them back: working days again")
    parser.add_argument("--job", metavar="JOB", help="only at this job")
    parser.add_argument("--reason", metavar="TEXT", default="", help="why")


def off(session: Session, args: Namespace) -> int:
    """List the days off, or record some, or take some back."""
    from tracker.book.days import add_days_off

    if args.day is None and args.file is None and args.holidays is None:
        if args.works or args.reason or args.year is not None:
            raise InputError("which day is meant is missing", "give it, like: deckjobs off 2026-05-25 --reason holiday")
        session.makes_no_entry()
        return _list_off(session, args)
    days = _asked_days(session, args)
    session.write(
        lambda book, hand, entry: add_days_off(
            book, hand, days, job=_job_of(args), rain=args.rain, works=args.works, entry_id=entry
        ),
        create=True,
    )
    return 0


def _job_of(args: Namespace) -> str:
    """The job the days are off at; empty for all."""
    if args.job is not None and not args.job.strip():
        raise InputError("--job names no job", "give a job, or leave --job out for all of them")
    return args.job or ""


def _asked_days(session: Session, args: Namespace) -> tuple[OffDay, ...]:
    from tracker.planning.daysoff import days_between, days_of_file, public_holidays
    from tracker.trade.dates import parse_day

    several = args.file is not None or args.holidays is not None
    if several and (args.day is not None or args.reason):
        raise InputError("a list brings its days and reasons with it", "leave DAY and --reason out, or the list")
    if args.year is not None and args.holidays is None:
        raise InputError("--year goes with --holidays", "give the days themselves with their year")
    if args.file is not None:
        return days_of_file(read_file(Path(args.file), "a list of days", example="days.txt"), args.file, session.today)
    if args.holidays is not None:
        kept = public_holidays(args.holidays, args.year or session.today.year)
        left = tuple(day for day in kept if args.year is not None or day.day >= session.today)
        if not left:
            raise InputError(f"no holiday is left in {session.today.year}", f"give --year {session.today.year + 1}")
        return left
    first = parse_day(args.day, session.today)
    last = parse_day(args.last, session.today) if args.last is not None else first
    why = args.reason or ("working again" if args.works else "rain" if args.rain else "day off")
    return days_between(first, last, why)


def _list_off(session: Session, args: Namespace) -> int:
    """The days off from today on; with --job those that concern it, with --rain the rain days alone."""
    from tracker.book.days import days_off
    from tracker.reports.dayspage import days_json, days_page

    code, rain = "", args.rain
    with session.book() as book:
        if args.job is not None:
            from tracker.book.jobs import job_view

            code = job_view(book, _job_of(args), session.today).line.code
        found = days_off(book, session.today)
    found = tuple(view for view in found if (not code or view.job in ("", code)) and (view.rain or not rain))
    if session.json:
        session.data({"day": session.today.isoformat(), "days": days_json(found)})
    else:
        session.show(days_page(found, session.today))
    return 0


def _people_arguments(parser: ArgumentParser) -> None:
    choice = parser.add_mutually_exclusive_group()
    choice.add_argument("--allow", metavar="NAME", help="let this person waive checks, quote, price and accept changes")
    choice.add_argument("--disallow", metavar="NAME", help="let this person do that no more")
    choice.add_argument(
        "--remove", metavar="NAME", help="added by mistake: marked so, with --reason; for one who signed nothing"
    )
    parser.add_argument("--reason", metavar="TEXT", default="", help="with --remove: why")
    parser.add_argument("--role", metavar="TEXT", default="", help="what the person does, like crew lead")


def people(session: Session, args: Namespace) -> int:
    """List the people, or change who may waive."""
    from tracker.book.people import allow, take_off
    from tracker.book.people import people as everybody

    if bool(args.reason.strip()) != (args.remove is not None):
        raise InputError("a person is taken off for a reason", "deckjobs people --remove NAME --reason TEXT")

    name = args.allow if args.allow is not None else args.disallow
    if args.role and name is None:
        raise InputError("--role goes with --allow or --disallow", "deckjobs people --allow NAME --role TEXT")
    with session.book(create=name is not None) as book:
        if name is not None:
            allow(book, session.hand(), name, may_waive=args.allow is not None, role=args.role)
        if args.remove is not None:
            take_off(book, session.hand(), args.remove, args.reason)
        if name is not None or args.remove is not None:
            session.done.append("recorded: the list of people")
        found = everybody(book)
    if session.json:
        from tracker.reports.jsonable import person_json

        session.data({"people": [person_json(person) for person in found]})
        return 0
    from tracker.reports.page import Grid, Line

    rows = tuple((p.name, p.role, "may waive" if p.may_waive else "may not waive") for p in found)
    session.show((Grid((), rows),) if rows else (Line("Nobody has signed anything yet."),))
    return 0


def _rules_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("file", nargs="?", metavar="FILE", help="a TOML file with [rules] and [phases.KEY] to take in")
    parser.add_argument(
        "--set",
        action="append",
        default=[],
        metavar="KEY=VALUE",
        help="your own figure; KEY= puts the default back",
    )
    parser.add_argument(
        "--hours",
        action="append",
        default=[],
        metavar="PHASE=HOURS",
        help="person-hours for each unit of work of a phase (frame=0.42 is for each joist); PHASE= puts the usual back",
    )
    parser.add_argument("--metric", action="store_true", help="bare numbers are millimetres, lengths print in them")


def _pairs(option: str, words: list[str], example: str) -> dict[str, str]:
    typed: dict[str, str] = {}
    for pair in words:
        key, equals, text = pair.partition("=")
        if not equals:
            raise InputError(f"{option} {pair!r} has no =", f"write it like {option} {example}")
        typed[key.strip()] = text
    return typed


def _hours_json(changes: Mapping[str, PhaseChange]) -> dict[str, Plain]:
    """The contractor's own hours: by phase, for each unit of work and for the whole phase."""
    return {key: {"each": change.each, "whole": change.hours} for key, change in changes.items() if change.sets_hours}


def _set_lines(
    found: Rules, changes: Mapping[str, PhaseChange], typed: Mapping[str, str], hours: Mapping[str, str], unit: Unit
) -> list[str]:
    """What was set, a line each."""
    lines = []
    for key in typed:
        limit = found.limit(key, unit)
        beside = f"; {limit.published}" if limit.published else ""
        lines.append(f"{key} is {limit.text} now: {limit.what} ({limit.source}{beside})")
    for key in hours:
        change = changes.get(key)
        figure = None if change is None else change.hours if change.each is None else change.each
        lines.append(f"hours of {key}: " + ("the usual ones again" if figure is None else f"{figure:g}, house rule"))
    return lines


def rules(session: Session, args: Namespace) -> int:
    """List the rules in force, or set the contractor's own."""
    from tracker.book.houserules import house_rules, phase_changes, set_house_rules, set_phase_hours, take_rules_file
    from tracker.trade.lengths import Unit
    from tracker.trade.rules import RULES, Rules

    unit = Unit.MM if args.metric else Unit.INCH
    typed, hours = _pairs("--set", args.set, "level=3/16"), _pairs("--hours", args.hours, "frame=0.42")
    writes = bool(typed or hours or args.file is not None)
    changes: Mapping[str, PhaseChange] = {}
    followed: tuple[str, ...] = ()
    if not writes and not session.book_exists():
        found = Rules()
    else:
        with session.book(create=writes) as book:
            if args.file is not None:
                rules_file = read_file(Path(args.file), "a rules file")
                followed = take_rules_file(book, session.hand(), rules_file, args.file)
            if typed:
                set_house_rules(book, session.hand(), typed, unit)
            if hours:
                set_phase_hours(book, session.hand(), hours)
            if writes:
                session.done.append("recorded: the house rules")
            found, changes = house_rules(book), phase_changes(book)
    if session.json:
        from tracker.reports.jsonable import rules_json

        session.data(
            {"rules": rules_json(found, unit), "phase_hours": _hours_json(changes), "followed": list(followed)}
        )
        return 0
    for line in followed:
        session.say(line)
    if typed or hours:
        session.say_lines("\n".join(_set_lines(found, changes, typed, hours, unit)))
        return 0
    from tracker.reports.page import Grid, Tone

    rows = []
    for rule in RULES:
        limit = found.limit(rule.key, unit)
        beside = f"; {limit.published}" if limit.published else ""
        rows.append((rule.key, limit.text, f"{limit.what} ({limit.source}{beside})"))
    own_hours = _hours_json(changes)
    for key, figures in own_hours.items():
        assert isinstance(figures, dict)
        unit_of = "for each unit of work" if figures["each"] is not None else "for the whole phase"
        figure = figures["whole"] if figures["each"] is None else figures["each"]
        rows.append((f"hours of {key}", f"{figure:g}", f"person-hours {unit_of} (house rule)"))
    tones = tuple(Tone.TITLE if rule.key in found.own else Tone.PLAIN for rule in RULES)
    tones += (Tone.TITLE,) * len(own_hours)
    session.show(
        (
            Grid(
                ("rule", "figure", "of what, and where the figure comes from"), tuple(rows), frozenset({1}), tones=tones
            ),
        )
    )
    return 0


def _letterhead_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--name", metavar="TEXT", help="the contractor's name")
    parser.add_argument("--licence", metavar="TEXT", help="licence or registration, as the state asks it on papers")
    parser.add_argument("--phone", metavar="TEXT", help="the office, for clients and crews")
    parser.add_argument("--address", metavar="TEXT", help="the office, on one line")


def letterhead(session: Session, args: Namespace) -> int:
    """Show the letterhead, or set lines of it."""
    from tracker.book.letterhead import letterhead as read
    from tracker.book.letterhead import set_letterhead
    from tracker.book.paperviews import LETTERHEAD_LINES

    typed = {key: getattr(args, key) for key in LETTERHEAD_LINES if getattr(args, key) is not None}
    with session.book(create=bool(typed)) as book:
        head = set_letterhead(book, session.hand(), typed) if typed else read(book)
    if typed:
        session.done.append("recorded: the letterhead")
    lines = {key: str(getattr(head, key)) for key in LETTERHEAD_LINES}
    if session.json:
        session.data({"letterhead": dict(lines)})
        return 0
    from tracker.reports.page import Grid

    rows = tuple(
        (LETTERHEAD_LINES[key], text or ("not given" if key == "address" else "not given: a blank on paper"))
        for key, text in lines.items()
    )
    session.show((Grid((), rows),))
    return 0


COMMANDS = {
    "letterhead": Command(
        _letterhead_arguments, letterhead,
        "Who you are on quotes, invoices, the field packet and the care sheet. A line not given is a blank to write in;\n"
        'an empty text ("") takes a line off. A paper keeps the letterhead of its day; one from before there was any takes the first.',
        'deckjobs letterhead --name "Two Ponds Decks" --phone 555-0142',
    ),
    "off": Command(
        _off_arguments, off,
        "Take days out of the calendar on which nobody works, or (with --rain) no outdoor\n"
        "work is done: one, from one day to another, those of a file, or the public holidays\n"
        "of a place. Alone it lists them; with --works it takes them back.",
        "deckjobs off 2026-12-24 2027-01-01 --reason \"shop closed\"", records=True,
    ),
    "people": Command(
        _people_arguments, people,
        "Who signs, and who may waive a check. Whoever may waive speaks for the house: quotes, prices, invoices,\n"
        "change orders, house rules, and who else may.",
        'deckjobs people --allow "Rosa"',
    ),
    "rules": Command(
        _rules_arguments, rules,
        "The tolerances in force with their sources, and your own.\n"
        "A house rule replaces a figure; the default stays in sight.",
        "deckjobs rules --set level=3/16",
    ),
}  # fmt: skip
