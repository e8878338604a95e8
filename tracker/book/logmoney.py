"""Lines of a job file's log that tell of money, hours and the punch list, entered by the operations everybody uses."""

from __future__ import annotations

from sqlmodel import Session

from tracker.book.hand import Hand
from tracker.book.hours import log_text_in
from tracker.book.invoices import invoice_in, receive_payment_in, spend_in
from tracker.book.money import ExtraCost, accept_quote_in, price_change_in, quote_in
from tracker.book.opening import Book
from tracker.book.punch import add_punch_in, close_punch_in
from tracker.book.views import Recorded
from tracker.planning.equipment import parse_equipment
from tracker.planning.options import beside_as_drawn
from tracker.trade.jobfile.model import Doing, LogEntry


def enter(book: Book, session: Session, by: Hand, taker: Hand, code: str, line: LogEntry, identity: str) -> Recorded:
    """Enter one line ``by`` whom it names; ``taker`` vouches for what only some may do. Raises as the operations do."""
    amount = line.amount_cents or 0
    match line.do:
        case Doing.HOURS:
            return log_text_in(book, session, by, code, line.reason, line.on, line.values, line.phase, identity)
        case Doing.QUOTE:
            options, equipment = beside_as_drawn(line.values), [parse_equipment(text) for text in line.equipment]
            return quote_in(book, session, by, code, options, equipment, line.draws, identity, on_whose_word=taker)
        case Doing.ACCEPT:
            return accept_quote_in(book, session, by, code, line.option, line.draws, identity, on_whose_word=taker)
        case Doing.EXTRA:
            cost = ExtraCost(line.phase, line.cost_cents, line.minutes) if line.cost_cents or line.minutes else None
            return price_change_in(
                book, session, by, code, line.reason, line.amount_cents, cost, identity, on_whose_word=taker
            )
        case Doing.INVOICE:
            return invoice_in(
                book, session, by, code, line.draws, line.amount_cents, line.reason, identity, on_whose_word=taker
            )
        case Doing.PAID:
            return receive_payment_in(
                book, session, by, code, amount, line.reason, line.on, 0, identity, anyway=True, on_whose_word=taker
            )
        case Doing.SPEND:
            return spend_in(book, session, by, code, amount, line.phase, line.reason, line.on, identity)
        case Doing.PUNCH if line.count:
            return close_punch_in(book, session, by, code, str(line.count), line.reason, identity)
        case Doing.PUNCH:
            return add_punch_in(book, session, by, code, line.reason, identity)
        case _:
            raise AssertionError(f"{line.do} is entered elsewhere")
