"""Who signs entries, and who may waive a check."""

from __future__ import annotations

from datetime import date

from sqlmodel import Session, col, select

from tracker.book.hand import Hand
from tracker.book.ids import new_id
from tracker.book.opening import Book
from tracker.book.tables import PersonRow
from tracker.book.views import PersonView
from tracker.errors import RefusedError
from tracker.text import accept, clean, listing


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
        if role:
            row.role = accept(role, "the role", limit=40)
        session.flush()
        if session.exec(select(PersonRow).where(PersonRow.may_waive == 1)).first() is None:
            raise RefusedError("nobody could waive any more", "allow somebody else first")
        return _view(row)
