"""What the papers a client gets are made of: no cost, no hours and no margin are in them, so none can reach the paper. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from tracker.book.ledger import Extra, Invoice, Ledger
from tracker.planning.bounds import Bound
from tracker.planning.cents import round_cents
from tracker.planning.draws import Share, split_draws
from tracker.trade.spec import JobSpec


@dataclass(frozen=True, slots=True)
class Letterhead:
    """Who the contractor is, as the papers say it; a line nobody gave is empty and left blank on paper to be filled in."""

    name: str = ""
    licence: str = ""
    phone: str = ""
    address: str = ""


LETTERHEAD_LINES: Mapping[str, str] = {
    "name": "contractor", "licence": "licence", "phone": "phone", "address": "address",
}  # fmt: skip
"""The lines of a letterhead, each with what stands before it on paper."""


@dataclass(frozen=True, slots=True)
class PaperOption:
    """One option as a client sees it: what it changes, what it comes to, the crew's working days on site.

    ``phases`` are the keys of those it has; ``besides`` is what is hired or bought in for it, by name. ``bound`` is what the
    total of a draft is of one that leaves nothing out; of a quote that was recorded it is what the client pays.
    ``not_in_price`` are items it leaves out since nobody prices them; ``faults`` the clauses of its design that fail.
    """

    label: str
    changes: tuple[tuple[str, str], ...]
    spec: JobSpec
    price_cents: int
    tax_cents: int
    total_cents: int
    days: int
    phases: tuple[str, ...]
    besides: tuple[str, ...]
    bound: Bound = Bound.EXACT
    not_in_price: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class QuotePaper:
    """A quote for its client. ``number`` 0 is a draft that nobody recorded; ``who`` made it.

    ``without_price`` are items in no figure of a draft (a quote that was recorded stands as it is); ``stands_on`` is on whose
    design it stood.
    """

    letterhead: Letterhead
    job: str
    title: str
    client: str
    place: str
    number: int
    day: date
    who: str
    stands_until: date
    options: tuple[PaperOption, ...]
    draws: tuple[Share, ...]
    without_price: tuple[str, ...] = ()
    stands_on: str = ""

    @property
    def not_checked(self) -> bool:
        """Whether the design of an option fails: then it is nothing to sign."""
        return any(option.faults for option in self.options)

    @property
    def is_draft(self) -> bool:
        """Whether nobody recorded it."""
        return self.number == 0

    def draws_of(self, option: PaperOption) -> tuple[int, ...]:
        """What each draw comes to when that option is taken; together all of it."""
        return tuple(split_draws(option.total_cents, self.draws))


@dataclass(frozen=True, slots=True)
class Since:
    """What came after an invoice that concerns it: a day, words, cents that lower (over 0) what is open of it, if any do."""

    day: date
    text: str
    cents: int | None


@dataclass(frozen=True, slots=True)
class InvoicePaper:
    """An invoice or credit note as it went out, with the account of the job on that moment, and what came since.

    ``contract`` is the accepted option in words; ``changes`` are the priced ones up to then. ``open_cents`` is what is open
    of it now. ``open_besides`` are the other open invoices, each with what is open of it, ``due_now_cents`` and
    ``credit_now_cents`` what is due of the job in all or the client's credit: once something came since as of now, until
    then as when it went out.
    """

    letterhead: Letterhead
    job: str
    invoice: Invoice
    contract: str
    quoted_cents: int
    changes: tuple[Extra, ...]
    contract_cents: int
    tax_cents: int
    invoiced_cents: int
    paid_cents: int
    open_then_cents: int
    open_besides: tuple[tuple[str, int], ...]
    open_cents: int
    due_now_cents: int
    credit_now_cents: int
    since: tuple[Since, ...]
    stands_on: str = ""

    @property
    def is_credit(self) -> bool:
        """Whether it is a credit note."""
        return self.invoice.cents < 0

    @property
    def due_cents(self) -> int:
        """What was due in all once it went out."""
        return max(self.invoiced_cents - self.paid_cents, 0)

    @property
    def to_invoice_cents(self) -> int:
        """What of the contract was still to invoice."""
        return self.contract_cents - self.invoiced_cents


def taxes_of(ledger: Ledger) -> Mapping[int, int]:
    """The sales tax in each invoice and credit note, by number.

    What is invoiced of the quote has its share of the quote's tax, what is invoiced of a change its share of that change's;
    each share is reckoned on the sum so far, so that all of it together is the tax of the contract to the cent. Amounts on
    account are of the quote until it is all invoiced, then of the changes in their order.
    """
    if ledger.accepted is None:
        return {}
    estimate = ledger.accepted.option.estimate
    parts = {"": (ledger.quoted_cents, estimate.tax_cents)}
    parts |= {change.name: (change.total_cents, change.tax_cents) for change in ledger.changes}
    so_far = dict.fromkeys(parts, 0)
    out: dict[int, int] = {}
    for invoice in sorted(ledger.invoices, key=lambda found: found.number):
        before = sum(_tax(so_far[name], *part) for name, part in parts.items())
        for line in invoice.lines:
            _put(so_far, parts, line.draw, line.cents)
        out[invoice.number] = sum(_tax(so_far[name], *part) for name, part in parts.items()) - before
    return out


def _tax(cents: int, whole_cents: int, tax_cents: int) -> int:
    return round_cents(Fraction(cents * tax_cents, whole_cents)) if whole_cents else 0


def _put(so_far: dict[str, int], parts: Mapping[str, tuple[int, int]], draw: str, cents: int) -> None:
    """Count an amount to the part of the contract it is of; one on account to the parts in order, as far as they go."""
    if draw:
        so_far[draw if draw in parts else ""] += cents
        return
    for name, (whole, _) in parts.items():
        step = max(min(cents, whole - so_far[name]), 0)
        so_far[name] += step
        cents -= step
    so_far[""] += cents
