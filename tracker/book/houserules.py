"""House rules: the contractor's own tolerances and changes to the phase template, kept in the book."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import replace

from sqlmodel import Session, select

from tracker.book.following import follow
from tracker.book.hand import Hand
from tracker.book.ids import new_id
from tracker.book.load import load_house
from tracker.book.opening import Book
from tracker.book.people import must_waive
from tracker.book.standing import keep
from tracker.book.tables import HouseRuleRow
from tracker.errors import InputErrors, RefusedError
from tracker.text import clean, near
from tracker.trade.jobfile import parse_rules_bytes
from tracker.trade.lengths import Unit
from tracker.trade.money import percent_text
from tracker.trade.phases import BY_KEY as PHASES
from tracker.trade.phases import PhaseChange
from tracker.trade.rules import BY_KEY, Rules, kept_figure, parse_rules, show_rule


def house_rules(book: Book) -> Rules:
    """The contractor's own figures."""
    with book.reading() as session:
        return load_house(session).rules


def phase_changes(book: Book) -> Mapping[str, PhaseChange]:
    """The contractor's own changes to the phase template."""
    with book.reading() as session:
        return load_house(session).changes


def set_house_rules(book: Book, hand: Hand, typed: Mapping[str, str], unit: Unit = Unit.INCH) -> Rules:
    """Set rules from typed texts; an empty text puts the default back. Raises InputErrors for unknown or wrong ones."""
    figures = parse_rules({key: text for key, text in typed.items() if text.strip()}, unit)
    if unknown := [key for key, text in typed.items() if not text.strip() and key not in BY_KEY]:
        raise InputErrors(
            [f"{clean(key)}: no such rule{near(key, BY_KEY)}; `deckjobs rules` lists them" for key in unknown]
        )
    with book.writing() as session:
        must_waive(session, hand, "change the house rules")
        _not_taxed_twice(load_house(session).rules, figures)
        for key in typed:
            put_house_rule(session, hand, "rule", key, figures.get(key))
        session.flush()
        return load_house(session).rules


def _not_taxed_twice(there: Rules, figures: Mapping[str, int]) -> None:
    """Raise RefusedError where one sales tax is set while the other stands: the material would be taxed twice.

    Who sets both at once means it.
    """
    for key, other in (("tax_on_price", "tax_on_material"), ("tax_on_material", "tax_on_price")):
        if figures.get(key) and other not in figures and (stands := there.figure(other)):
            now = [
                f"--set {name}={percent_text(figure, 3).removesuffix(' %')}"
                for name, figure in ((key, figures[key]), (other, stands))
            ]
            raise RefusedError(
                f"{other} is {show_rule(BY_KEY[other], stands, Unit.INCH)} already: with {key} the material would be taxed twice",
                f"put one in the place of the other: deckjobs rules {now[0]} --set {other}=0; to tax it twice on purpose set "
                f"both at once: deckjobs rules {' '.join(now)}",
            )


def take_rules_file(book: Book, hand: Hand, data: bytes, name: str) -> tuple[str, ...]:
    """Take a house-rules file (TOML with ``[rules]`` and ``[phases.KEY]``, as in a job file). Raises InputErrors.

    What the file does not name stays as it is. Open jobs follow: returns a line for each phase or check one of them gets or
    loses.
    """
    figures, changes = parse_rules_bytes(data, name)
    with book.writing() as session:
        must_waive(session, hand, "change the house rules")
        _not_taxed_twice(load_house(session).rules, figures)
        for key, figure in figures.items():
            put_house_rule(session, hand, "rule", key, figure)
        for key, change in changes:
            put_house_rule(session, hand, "phase", key, _change_json(change))
        session.flush()
        return follow(book, session, hand) if changes else ()


def set_phase_hours(book: Book, hand: Hand, typed: Mapping[str, str]) -> Mapping[str, PhaseChange]:
    """Set person-hours of phases from typed texts: for each unit of work where the phase has one, else for the whole phase.

    An empty text puts the usual hours back; the phase's other changes stay. Raises InputErrors for unknown phases or texts
    that are no hours.
    """
    hours = _typed_hours(typed)
    with book.writing() as session:
        must_waive(session, hand, "change the house rules")
        there = load_house(session).changes
        for key, figure in hours.items():
            change = there.get(key, PhaseChange())
            each = figure if PHASES[key].effort.per else None
            whole = None if PHASES[key].effort.per else figure
            put_house_rule(session, hand, "phase", key, _change_json(replace(change, hours=whole, each=each)))
        session.flush()
        return load_house(session).changes


def _typed_hours(typed: Mapping[str, str]) -> dict[str, float | None]:
    out: dict[str, float | None] = {}
    problems: list[str] = []
    for key, text in typed.items():
        if key not in PHASES:
            problems.append(f"{clean(key)}: no such phase{near(key, PHASES)}")
        elif text.strip() and not re.fullmatch(r"[0-9]{1,4}(\.[0-9]{1,4})?", text.strip()):
            problems.append(f"{key}: {clean(text).strip()[:20]!r} is not a number of hours; write it like 0.42")
        else:
            out[key] = float(text) if text.strip() else None
    if problems:
        raise InputErrors(problems)
    return out


def _change_json(change: PhaseChange) -> dict[str, object]:
    return {
        "skip": change.skip, "hours": change.hours, "without_checks": change.without_checks, "each": change.each,
    }  # fmt: skip


def put_house_rule(session: Session, hand: Hand, kind: str, key: str, value: object) -> None:
    """Put in, change or (with None) take out one row of the house rules, keeping its version."""
    row = session.exec(select(HouseRuleRow).where(HouseRuleRow.kind == kind, HouseRuleRow.key == key)).first()
    if value is None:
        if row is not None:
            keep(session, hand, row, gone=True)
            session.delete(row)
        return
    text = json.dumps(kept_figure(key, value) if kind == "rule" and isinstance(value, int) else value)
    if row is None:
        row = HouseRuleRow(id=new_id(), kind=kind, key=key, value=text)
        session.add(row)
    elif row.value != text:
        row.value, row.rev = text, row.rev + 1
    keep(session, hand, row)
