"""What the book answers about a job's money, and how it is reckoned from its ledger. Pure.

Conserved whatever happens: contract = quote + changes = invoiced + to invoice = the sum of the draws; invoiced + credit
= paid + due; the cost by phase adds up to the cost.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from tracker.book.ledger import Accepted, Extra, Invoice, Ledger, Payment, Quote, Spent, Undone
from tracker.planning.bounds import Gaps, all_gaps
from tracker.planning.cents import share_out
from tracker.planning.draws import DEPOSIT, split_draws
from tracker.planning.estimate import Estimate
from tracker.planning.jobcost import Margin, PhaseCost
from tracker.planning.options import Option

if TYPE_CHECKING:
    from tracker.book.changes import ChangeOrder


@dataclass(frozen=True, slots=True)
class PricedOption:
    """One option with its estimate; ``titles`` name its phases. ``same``: what it would change is so as drawn. ``faults``
    are the clauses of its design that fail, ``design`` tells that design from others.
    """

    option: Option
    estimate: Estimate
    titles: Mapping[str, str]
    same: bool = False
    faults: tuple[str, ...] = ()
    design: str = ""

    @property
    def no_change(self) -> str:
        """A word when the option changes nothing, else empty."""
        said = ", ".join(f"{key} {value}" for key, value in self.option.changes)
        return f"{self.option.label} changes nothing: the job is drawn with {said}" if self.same else ""


@dataclass(frozen=True, slots=True)
class PricedJob:
    """A job's options side by side, the first as it is drawn unless another was asked for alone. ``rev``: the job's.

    All are reckoned as if nothing were bought yet; ``has_lots`` says that something is. ``stands_on`` is on whose design
    options of it stand, ``covered`` tells which design that is; both are empty where none does.
    """

    job: str
    title: str
    options: tuple[PricedOption, ...]
    rev: int = 0
    has_lots: bool = False
    stands_on: str = ""
    covered: str = ""

    def standing_on(self, stands_on: str, covered: str) -> PricedJob:
        """With the design that is recorded now, where an option is the deck that it was drawn for; else with none."""
        if not any(found.design == covered for found in self.options):
            stands_on = covered = ""
        return replace(self, stands_on=stands_on, covered=covered)

    def faults_of(self, found: PricedOption) -> tuple[str, ...]:
        """The clauses of an option's design that fail while no design of its own covers it."""
        return () if found.design == self.covered else found.faults


@dataclass(frozen=True, slots=True)
class DrawView:
    """A draw: what it comes to, what of it is invoiced, whether its phase is signed off (a priced change is ready at once)."""

    name: str
    title: str
    phase: str
    cents: int
    invoiced_cents: int
    ready: bool

    @property
    def left_cents(self) -> int:
        """What is still to invoice of it."""
        return self.cents - self.invoiced_cents

    @property
    def word(self) -> str:
        """Where it stands."""
        if not self.left_cents:
            return "invoiced"
        if self.ready:
            return "ready to invoice"
        return "part invoiced" if self.invoiced_cents else "not yet"


@dataclass(frozen=True, slots=True)
class InvoiceView:
    """An invoice and what is still open of it after credit notes and payments."""

    invoice: Invoice
    open_cents: int

    @property
    def word(self) -> str:
        """Where it stands."""
        if self.invoice.cents <= 0:
            return "credit"
        if not self.open_cents:
            return "settled"
        return "open" if self.open_cents == self.invoice.cents else "part paid"


@dataclass(frozen=True, slots=True)
class LastChange:
    """What the last priced change did: the margin forecast without its price and what it was reckoned to cost, and with them."""

    change: Extra
    before: Margin
    after: Margin


@dataclass(frozen=True, slots=True)
class MoneyView:
    """The money of a job on a day. ``against`` says which estimate the cost is held against, in words.

    ``settled`` is what each payment settled, by its id: invoice numbers and cents. ``estimate_gaps`` are what that estimate leaves out, ``gaps`` what the forecast does.
    """

    job: str
    title: str
    day: date
    quotes: tuple[Quote, ...]
    accepted: Accepted | None
    changes: tuple[Extra, ...]
    not_priced: tuple[ChangeOrder, ...]
    draws: tuple[DrawView, ...]
    invoices: tuple[InvoiceView, ...]
    payments: tuple[Payment, ...]
    settled: Mapping[str, tuple[tuple[int, int], ...]]
    spent: tuple[Spent, ...]
    undone: tuple[Undone, ...]
    quoted_cents: int
    changes_cents: int
    invoiced_cents: int
    paid_cents: int
    deposit_held_cents: int
    phases: tuple[PhaseCost, ...]
    against: str
    estimate_gaps: Gaps
    gaps: Gaps
    margin_quoted: Margin | None
    margin_now: Margin | None
    last_change: LastChange | None

    @property
    def unpriced(self) -> tuple[str, ...]:
        """Items nobody priced, in the estimate or in what it cost."""
        return (self.estimate_gaps | self.gaps | self.cost_gaps).goods

    @property
    def cost_gaps(self) -> Gaps:
        """What the cost so far leaves out."""
        return all_gaps(phase.not_paid for phase in self.phases)

    @property
    def contract_cents(self) -> int:
        """What the client is to pay: quote and changes, tax included."""
        return self.quoted_cents + self.changes_cents

    @property
    def to_invoice_cents(self) -> int:
        """What of the contract is not invoiced."""
        return self.contract_cents - self.invoiced_cents

    @property
    def due_cents(self) -> int:
        """What is invoiced and not paid."""
        return max(self.invoiced_cents - self.paid_cents, 0)

    @property
    def credit_cents(self) -> int:
        """What was paid over what is invoiced: the client's credit."""
        return max(self.paid_cents - self.invoiced_cents, 0)

    @property
    def ready(self) -> tuple[DrawView, ...]:
        """Draws that can be invoiced now."""
        return tuple(draw for draw in self.draws if draw.ready and draw.left_cents)

    @property
    def ready_cents(self) -> int:
        """What they come to."""
        return sum(draw.left_cents for draw in self.ready)

    @property
    def cost_cents(self) -> int:
        """Direct cost so far."""
        return sum(phase.cost_cents for phase in self.phases)

    @property
    def estimate_cents(self) -> int:
        """Direct cost as estimated, changes included."""
        return sum(phase.estimate_cents for phase in self.phases)

    @property
    def forecast_cents(self) -> int:
        """Direct cost at completion."""
        return sum(phase.forecast_cents for phase in self.phases)


def draws_of(
    ledger: Ledger, titles: Mapping[str, str], signed: Collection[str], finished: bool
) -> tuple[DrawView, ...]:
    """The draws of a contract; together they are the contract, and what is left of them is what is to invoice.

    An invoiced amount that names no draw (or one the schedule no longer has) fills the draws from the first on.
    """
    if ledger.accepted is None:
        return ()
    amounts = split_draws(ledger.quoted_cents, ledger.shares)
    found: list[tuple[str, str, str, int, bool]] = []
    for share, cents in zip(ledger.shares, amounts, strict=True):
        deposit = share.name == DEPOSIT
        ready = deposit or share.name in signed or (finished and share.name not in titles)
        title = "deposit" if deposit else titles.get(share.name, share.name)
        found.append((share.name, title, "" if deposit else share.name, cents, ready))
    found += [(change.name, change.text, "", change.total_cents, True) for change in ledger.changes]
    invoiced = dict.fromkeys((name for name, *_ in found), 0)
    loose = 0
    for line in (line for invoice in ledger.invoices for line in invoice.lines):
        if line.draw in invoiced:
            invoiced[line.draw] += line.cents
        else:
            loose += line.cents
    for name, _, _, cents, _ in found:
        step = max(min(loose, cents - invoiced[name]), 0)
        invoiced[name] += step
        loose -= step
    if loose and found:
        invoiced[found[-1][0]] += loose
    return tuple(
        DrawView(name, title, phase, cents, invoiced[name], ready) for name, title, phase, cents, ready in found
    )


def invoices_of(ledger: Ledger) -> tuple[InvoiceView, ...]:
    """Every invoice with what is open of it.

    Credit notes and payments go to the invoice they name; what names none, or is more than that invoice, goes to the
    oldest still open.
    """
    left, _ = _settled(ledger)
    return tuple(InvoiceView(invoice, left[invoice.number]) for invoice in ledger.invoices)


def settled_by(ledger: Ledger) -> Mapping[str, tuple[tuple[int, int], ...]]:
    """What each payment settled: by its id, invoice numbers with the cents that went to them."""
    _, went = _settled(ledger)
    return {
        payment.id: tuple((number, cents) for (who, number), cents in went.items() if who == payment.id and cents)
        for payment in ledger.payments
    }


def _settled(ledger: Ledger) -> tuple[dict[int, int], dict[tuple[str, int], int]]:
    """What is open of each invoice, and what went to it from each payment and credit note."""
    left = {invoice.number: max(invoice.cents, 0) for invoice in ledger.invoices}
    went: dict[tuple[str, int], int] = {}

    def pay(who: str, number: int, cents: int) -> int:
        taken = max(min(cents, left.get(number, 0)), 0)
        if taken:
            left[number] -= taken
            went[who, number] = went.get((who, number), 0) + taken
        return taken

    pool: list[list[Any]] = []  # who, and the cents that are over
    for who, number, cents in (
        *((invoice.id, invoice.against, -invoice.cents) for invoice in ledger.invoices if invoice.cents < 0),
        *((payment.id, payment.invoice, payment.cents) for payment in ledger.payments),
    ):
        pool.append([who, cents - pay(who, number, cents)])
    owed = -sum(cents for _, cents in pool if cents < 0)  # paid back: out of what was over last
    for over in reversed(pool):
        step = max(min(over[1], owed), 0)
        over[1] -= step
        owed -= step
    for number in left:
        for over in pool:
            over[1] -= pay(over[0], number, over[1])
    for invoice in reversed(ledger.invoices):  # more was paid back than was over: it is owed again
        for who, number in reversed([key for key in went if key[1] == invoice.number]):
            step = min(owed, went[who, number])
            went[who, number] -= step
            left[number] += step
            owed -= step
    return left, went


def deposit_held(
    ledger: Ledger, draws: Sequence[DrawView], estimated: Sequence[tuple[str, int]], signed: Collection[str]
) -> int:
    """What of the deposit the client has paid ahead of the work: paid, less the contract's share of the phases signed off.

    ``estimated`` is the estimated direct cost by phase, by which the contract is shared.
    """
    deposit = next((draw.cents for draw in draws if draw.name == DEPOSIT), 0)
    if not deposit or not estimated:
        return 0
    shares = share_out(max(ledger.contract_cents, 0), [max(cents, 0) for _, cents in estimated])
    earned = sum(part for (phase, _), part in zip(estimated, shares, strict=True) if phase in signed)
    return max(min(deposit, ledger.paid_cents - earned), 0)
