"""The price book in the book: taking a supplier's list in, reading all prices, writing them as a list."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from sqlalchemy import func
from sqlmodel import Session, col, select

from tracker.book.buyviews import PricesTaken
from tracker.book.hand import Hand
from tracker.book.ids import new_id
from tracker.book.opening import Book
from tracker.book.people import known
from tracker.book.standing import TAKEN_BACK, body_of, keep, rows_at
from tracker.book.tables import PriceRow, StandingRow, SupplierRow
from tracker.errors import InputError, InputErrors
from tracker.planning.pricefile import PriceList, StatedTerms, parse_prices
from tracker.planning.pricing import Offer, PriceBook, Terms, format_price
from tracker.text import NOTE_LIMIT, accept, clean, listing, near


def price_book(book: Book) -> PriceBook:
    """Every price and every supplier's terms."""
    with book.reading() as session:
        return load_prices(session)


def load_prices(session: Session, until: date | None = None) -> PriceBook:
    """``price_book`` inside the caller's transaction, as it was at the end of a day when ``until`` is given: two queries."""
    known_then = sorted(rows_at(session, SupplierRow, until), key=lambda row: row.name)
    suppliers = {row.id: row for row in known_then}
    rows = rows_at(session, PriceRow, until)
    if any(row.supplier_id not in suppliers for row in rows):
        # A clock was set back: the supplier is known from a later day only. One the book never had is damage.
        since = set(session.exec(select(SupplierRow.id))) - suppliers.keys()
        rows = [row for row in rows if row.supplier_id not in since]
    offers = [
        Offer(
            suppliers[row.supplier_id].name, row.item, row.price_e4, row.pack,
            date.fromisoformat(row.seen) if row.seen else None, row.use_category, row.wood,
        )
        for row in rows
    ]  # fmt: skip
    offers.sort(key=lambda o: (o.supplier, o.item, o.use, o.wood))
    terms = {
        row.name: Terms(row.name, row.lead_days, row.delivery_cents, row.minimum_cents) for row in suppliers.values()
    }
    return PriceBook(tuple(offers), terms)


def take_prices(book: Book, hand: Hand, data: bytes, name: str) -> PricesTaken:
    """Take a price list (CSV) in whole, or raise InputErrors with its faults and take nothing.

    Prices and terms the list does not name stay as they are; the same list again changes nothing. A price that comes again
    without a day keeps the day it was seen.
    """
    listed = parse_prices(data, name)
    with book.writing() as session:
        known(session, hand)
        suppliers, suppliers_new, terms_changed = _suppliers(session, hand, listed, name)
        there = {(p.supplier_id, p.item, p.use_category, p.wood): p for p in session.exec(select(PriceRow))}
        new = changed = 0
        edited: list[PriceRow] = []
        for offer in listed.offers:
            supplier = suppliers[offer.supplier]
            row = there.get((supplier.id, offer.item, offer.use, offer.wood))
            seen = offer.seen.isoformat() if offer.seen else ""
            if row is None:
                new += 1
                row = PriceRow(id=new_id(), supplier_id=supplier.id, item=offer.item, use_category=offer.use,
                               wood=offer.wood, price_e4=offer.price_e4, pack=offer.pack, seen=seen)  # fmt: skip
                session.add(row)
                edited.append(row)
                continue
            if not seen and row.price_e4 == offer.price_e4:
                seen = row.seen
            if (row.price_e4, row.pack, row.seen) != (offer.price_e4, offer.pack, seen):
                changed += 1
                row.price_e4, row.pack, row.seen, row.rev = offer.price_e4, offer.pack, seen, row.rev + 1
                edited.append(row)
        keep(session, hand, *edited)
        return PricesTaken(new, changed, len(listed.offers) - new - changed, suppliers_new, terms_changed)


def put_price_back(book: Book, hand: Hand, item: str, supplier: str, reason: str) -> str:
    """Take the last change of a price back: the one before it stands again, or none when it was the first. Says which.

    The version taken back stays among the kept ones, with the reason. Raises InputError when there is no such price, or
    several suppliers have one.
    """
    reason = accept(reason, "the reason", limit=NOTE_LIMIT)
    with book.writing() as session:
        known(session, hand)
        row = _price_named(session, item, supplier)
        name = session.exec(select(SupplierRow.name).where(SupplierRow.id == row.supplier_id)).one()
        versions: list[dict[str, Any]] = []
        kept = select(StandingRow).where(StandingRow.row_id == row.id).order_by(col(StandingRow.arrived))
        for version in session.exec(kept).all():
            body = body_of(PriceRow, version.body)
            if body.get(TAKEN_BACK):
                versions.pop()
            else:
                versions.append(body)
        was = f"{clean(row.item)} of {clean(name)} at ${format_price(row.price_e4)} is taken back"
        noted = {TAKEN_BACK: reason}
        if len(versions) < 2:
            keep(session, hand, row, gone=True, noted=noted)
            session.delete(row)
            session.flush()
            return f"{was}: there is no price of it from them any more"
        before = versions[-2]
        row.price_e4, row.pack, row.seen, row.rev = before["price_e4"], before["pack"], before["seen"], row.rev + 1
        keep(session, hand, row, noted=noted)
        return f"{was}: it is ${format_price(row.price_e4)} again"


def _price_named(session: Session, item: str, supplier: str) -> PriceRow:
    """The price of an item a person means: the one changed last where a supplier has several (by use or wood)."""
    names = {row.id: row.name for row in session.exec(select(SupplierRow))}
    every = session.exec(select(PriceRow)).all()
    mine = [row for row in every if row.item.casefold() == item.strip().casefold()]
    if not mine:
        known_items = {row.item for row in every}
        raise InputError(f"no price of {clean(item)[:80]!r}{near(item, known_items)}", "deckjobs prices lists them")
    sellers = {row.supplier_id: names[row.supplier_id] for row in mine}
    if supplier:
        mine = [row for row in mine if names[row.supplier_id].casefold() == supplier.strip().casefold()]
    if not mine or len({row.supplier_id for row in mine}) > 1:
        raise InputError(
            f"{clean(item)} has prices of {listing(sorted(sellers.values()), 'and')}",
            "name one of them with --supplier",
        )
    last = {
        row.id: session.exec(select(func.max(StandingRow.arrived)).where(StandingRow.row_id == row.id)).one() or 0
        for row in mine
    }
    return max(mine, key=lambda row: last[row.id])


def _suppliers(
    session: Session, hand: Hand, listed: PriceList, name: str
) -> tuple[Mapping[str, SupplierRow], int, int]:
    """The rows of the list's suppliers with its terms put in; how many are new, how many of the others changed."""
    rows = {row.name: row for row in session.exec(select(SupplierRow))}
    spelled = {known_name.casefold(): known_name for known_name in rows}
    others = [(new, spelled[new.casefold()]) for new in listed.terms if new not in rows and new.casefold() in spelled]
    if others:
        problems = [f"{name}: supplier {new[:40]!r} is {old[:40]!r} in the price book" for new, old in others]
        raise InputErrors(problems, "write it as the price book does; nothing was taken")
    new = changed = 0
    for supplier, stated in listed.terms.items():
        row = rows.get(supplier)
        if row is None:
            row = rows[supplier] = SupplierRow(id=new_id(), name=supplier)
            _put_terms(row, stated)
            new += 1
            session.add(row)
            keep(session, hand, row)
        elif _put_terms(row, stated):
            row.rev += 1
            changed += 1
            keep(session, hand, row)
    return rows, new, changed


def _put_terms(row: SupplierRow, stated: StatedTerms) -> bool:
    before = (row.lead_days, row.delivery_cents, row.minimum_cents)
    said = (stated.lead_days, stated.delivery_cents, stated.minimum_cents)
    after = tuple(old if new is None else new for old, new in zip(before, said, strict=True))
    row.lead_days, row.delivery_cents, row.minimum_cents = after
    return after != before
