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
    from tracker.trade.answer import Plain
    from tracker.trade.phases import PhaseChange


def _off_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("day", metavar="DAY", help="like 2026-05-25, today or tomorrow")
    kind = parser.add_mutually_exclusive_group()
    kind.add_argument("--rain", action="store_true", help="only outdoor work stops")
    kind.add_argument("--works", action="store_true", help="take it back: a working day again")
    parser.add_argument("--job", metavar="JOB", help="only at this job")
    parser.add_argument("--reason", metavar="TEXT", default="", help="why")


def off(session: Session, args: Namespace) -> int:
    """Record a day off or a rain day."""
    from tracker.book.days import add_day_off
    from tracker.trade.dates import parse_day

    day = parse_day(args.day, session.today)
    why = args.reason or ("rain" if args.rain else "working again" if args.works else "day off")
    session.write(
        lambda book, hand, entry: add_day_off(
            book, hand, day, why, job=args.job or "", rain=args.rain, works=args.works, entry_id=entry
        ),
        create=True,
    )
    return 0


def _people_arguments(parser: ArgumentParser) -> None:
    choice = parser.add_mutually_exclusive_group()
    choice.add_argument("--allow", metavar="NAME", help="let this person waive checks, quote, price and accept changes")
    choice.add_argument("--disallow", metavar="NAME", help="let this person do that no more")
    parser.add_argument("--role", metavar="TEXT", default="", help="what the person does, like crew lead")


def people(session: Session, args: Namespace) -> int:
    """List the people, or change who may waive."""
    from tracker.book.people import allow
    from tracker.book.people import people as everybody

    name = args.allow if args.allow is not None else args.disallow
    with session.book(create=name is not None) as book:
        if name is not None:
            allow(book, session.hand(), name, may_waive=args.allow is not None, role=args.role)
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
    return {
        key: {"each": change.each, "whole": change.hours}
        for key, change in changes.items()
        if change.each is not None or change.hours is not None
    }


def rules(session: Session, args: Namespace) -> int:
    """List the rules in force, or set the contractor's own."""
    from tracker.book.houserules import house_rules, phase_changes, set_house_rules, set_phase_hours, take_rules_file
    from tracker.trade.lengths import Unit
    from tracker.trade.rules import RULES, Rules

    unit = Unit.MM if args.metric else Unit.INCH
    typed, hours = _pairs("--set", args.set, "level=3/16"), _pairs("--hours", args.hours, "frame=0.42")
    writes = bool(typed or hours or args.file)
    changes: Mapping[str, PhaseChange] = {}
    if not writes and not session.book_exists():
        found = Rules()
    else:
        with session.book(create=writes) as book:
            if args.file:
                take_rules_file(book, session.hand(), read_file(Path(args.file), "a rules file"), args.file)
            if typed:
                set_house_rules(book, session.hand(), typed, unit)
            if hours:
                set_phase_hours(book, session.hand(), hours)
            found, changes = house_rules(book), phase_changes(book)
    if session.json:
        from tracker.reports.jsonable import rules_json

        session.data({"rules": rules_json(found, unit), "phase_hours": _hours_json(changes)})
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
        _off_arguments, off, "Record a day on which nobody works, or (with --rain) no outdoor work is done.",
        "deckjobs off tomorrow --rain --job 014",
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
