"""Who signs entries, and who may waive a check."""

from __future__ import annotations

from datetime import date

from sqlalchemy import func
from sqlmodel import Session, col, select

from tracker.book.hand import Hand
from tracker.book.ids import new_id
from tracker.book.opening import Book
from tracker.book.tables import EntryRow, PersonRow, StandingRow
from tracker.book.views import PersonView
from tracker.errors import InputError, RefusedError
from tracker.text import accept, clean, count, listing, near

MISTAKE = "added by mistake"
"""How the role of a person begins who was taken off again."""


def _view(row: PersonRow) -> PersonView:
    return PersonView(row.name, row.role, bool(row.may_waive), row.rev, date.fromisoformat(row.since))


def people(book: Book) -> tuple[PersonView, ...]:
    """Everybody who has signed an entry or was named, by name."""
    with book.reading() as session:
        return tuple(_view(row) for row in session.exec(select(PersonRow).order_by(col(PersonRow.name))))


def known(session: Session, hand: Hand) -> PersonRow:
    """The person behind a hand, made on the first entry they sign. The first person of a book is its owner."""
    row = session.exec(select(PersonRow).where(PersonRow.name == hand.who)).first()
    if row is None:
        first = session.exec(select(PersonRow)).first() is None
        row = PersonRow(
            id=new_id(),
            name=hand.who,
            role="owner" if first else "crew",
            may_waive=int(first),
            since=hand.day.isoformat(),
        )
        session.add(row)
        session.flush()
    elif row.role.startswith(MISTAKE):  # there is such a person after all
        row.role, row.rev = "crew", row.rev + 1
        session.flush()
    return row


def must_waive(session: Session, hand: Hand, what: str = "waive") -> None:
    """Raise RefusedError unless the person may waive (or do ``what`` else is the owner's), naming who may."""
    if known(session, hand).may_waive:
        return
    able = [clean(row.name) for row in session.exec(select(PersonRow).where(PersonRow.may_waive == 1))]
    raise RefusedError(
        f"{clean(hand.who)} may not {what}",
        f"{listing(able)} may; they can allow it: deckjobs --as NAME people --allow {clean(hand.who)!r}",
    )


def take_off(book: Book, hand: Hand, name: str, reason: str) -> PersonView:
    """Mark a person as added by mistake, with the reason: they stay in the list, marked, and may not waive.

    Raises InputError when there is no such person, RefusedError when they have signed something, or nobody could waive any
    more, or it was done already, or for anybody who may not say who may waive.
    """
    name, reason = accept(name, "the name"), accept(reason, "the reason", limit=100)
    with book.writing() as session:
        must_waive(session, hand, "take a person off")
        rows = session.exec(select(PersonRow)).all()
        row = next((row for row in rows if row.name == name), None)
        if row is None:
            raise InputError(
                f"there is no {clean(name)!r}{near(name, [r.name for r in rows])}", "deckjobs people lists them"
            )
        if row.role.startswith(MISTAKE):
            raise RefusedError(f"{clean(name)} is taken off already", "nothing was recorded")
        signed = sum(
            session.exec(select(func.count()).select_from(table).where(table.who == name)).one()
            for table in (EntryRow, StandingRow)
        )
        if signed:
            raise RefusedError(
                f"{clean(name)} has signed {count(signed, 'entry', 'entries')}: that stays",
                f"take back what they may do: deckjobs people --disallow {clean(name)!r}",
            )
        row.role, row.may_waive, row.rev = f"{MISTAKE}: {reason} ({hand.who}, {hand.day})", 0, row.rev + 1
        session.flush()
        if session.exec(select(PersonRow).where(PersonRow.may_waive == 1)).first() is None:
            raise RefusedError("nobody could waive any more", "allow somebody else first")
        return _view(row)


def allow(book: Book, hand: Hand, name: str, *, may_waive: bool, role: str = "") -> PersonView:
    """Let a person waive, or no longer; only somebody who may waive can change that, and one always remains.

    Raises RefusedError for anybody else, or when nobody could waive any more.
    """
    name = accept(name, "the name")
    with book.writing() as session:
        must_waive(session, hand, "say who may waive")
        row = session.exec(select(PersonRow).where(PersonRow.name == name)).first()
        if row is None:
            row = PersonRow(id=new_id(), name=name, role=role or "crew", since=hand.day.isoformat())
            session.add(row)
        else:
            row.rev += 1
        row.may_waive = int(may_waive)
        if row.role.startswith(MISTAKE):
            row.role = "crew"
        if role:
            row.role = accept(role, "the role", limit=40)
        session.flush()
        if session.exec(select(PersonRow).where(PersonRow.may_waive == 1)).first() is None:
            raise RefusedError("nobody could waive any more", "allow somebody else first")
        return _view(row)
