"""Money is conserved whatever is done in whatever order, and numbers of invoices have no gaps."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from tests.book.conftest import DAY, hand_of, job_text
from tests.book.hourly import log_hours
from tests.book.test_money import CODE, DRAWN, HIRE, MORE, conserved
from tests.often import examples
from tracker.book.gates import reopen, sign_off
from tracker.book.hours import take_back_hours
from tracker.book.invoices import credit, invoice, receive_payment, spend, take_back
from tracker.book.jobs import job_view, take_job
from tracker.book.ledger import Invoice, InvoiceLine, Ledger, Payment
from tracker.book.money import ExtraCost, accept_quote, price_change, quote, set_draws
from tracker.book.moneyread import money_of
from tracker.book.moneyviews import MoneyView, invoices_of
from tracker.book.opening import open_book
from tracker.book.readings import waive
from tracker.book.views import PhaseState
from tracker.errors import InputError, RefusedError
from tracker.trade.jobfile import parse_job_bytes

OWNER = hand_of("Owner Plover")
CENTS = st.integers(1, 900_000)


class Money(RuleBasedStateMachine):
    """Any sequence of quotes, changes, invoices, credit notes, payments, costs and hours of one job."""

    @initialize()
    def begin(self) -> None:
        self.folder = tempfile.TemporaryDirectory()
        self.book = open_book(Path(self.folder.name) / "jobs.book")
        take_job(self.book, OWNER, parse_job_bytes(job_text(more=MORE).encode(), "job.toml"))
        quote(self.book, OWNER, CODE, [DRAWN], HIRE)
        accept_quote(self.book, OWNER, CODE)

    def tried(self, act: Callable[[], object]) -> bool:
        """Do it; a refusal leaves the money as it was."""
        before = self.money()
        try:
            act()
        except (RefusedError, InputError):
            assert self.money() == before
            return False
        return True

    def money(self) -> MoneyView:
        """The money now."""
        return money_of(self.book, CODE, DAY)

    @rule(cents=st.integers(-50_000, 50_000), cost=st.integers(0, 20_000), minutes=st.integers(0, 600))
    def change(self, cents: int, cost: int, minutes: int) -> None:
        contract = self.money().contract_cents
        if self.tried(lambda: price_change(self.book, OWNER, CODE, "gate", cents, ExtraCost("frame", cost, minutes))):
            assert self.money().contract_cents == contract + cents

    @rule(cents=CENTS)
    def on_account(self, cents: int) -> None:
        left = self.money().to_invoice_cents
        assert self.tried(lambda: invoice(self.book, OWNER, CODE, cents=cents)) == (cents <= left)

    @rule()
    def what_is_ready(self) -> None:
        ready = self.money().ready_cents
        if self.tried(lambda: invoice(self.book, OWNER, CODE)):
            assert ready and not self.money().ready

    @rule(number=st.integers(1, 8), part=st.none() | CENTS)
    def credit(self, number: int, part: int | None) -> None:
        self.tried(lambda: credit(self.book, OWNER, CODE, number, "wrong", part))

    @rule(cents=CENTS, number=st.integers(0, 6), back=st.booleans())
    def pay(self, cents: int, number: int, back: bool) -> None:
        self.tried(lambda: receive_payment(self.book, OWNER, CODE, cents, invoice_number=number, back=back))

    @rule(what=st.sampled_from(["payment 1", "payment 2", "cost 1", "change 1", "change 2", "acceptance"]))
    def undo(self, what: str) -> None:
        self.tried(lambda: take_back(self.book, OWNER, CODE, what, "wrong") if what != "acceptance" else None)

    @rule(cents=CENTS, phase=st.sampled_from(["strip", "frame"]))
    def spend(self, cents: int, phase: str) -> None:
        before = self.money().cost_cents
        spend(self.book, OWNER, CODE, cents, phase, "hire")
        assert self.money().cost_cents == before + cents

    @rule(minutes=st.integers(1, 300), phase=st.sampled_from(["layout", "frame"]))
    def work(self, minutes: int, phase: str) -> None:
        self.tried(lambda: log_hours(self.book, OWNER, CODE, phase, DAY, minutes))

    @rule(number=st.integers(1, 4))
    def unwork(self, number: int) -> None:
        self.tried(lambda: take_back_hours(self.book, OWNER, CODE, number, "wrong"))

    @rule(
        words=st.sampled_from(
            [["deposit=10%", "layout=1000", "final=rest"], ["layout=25%", "frame=75%"], ["frame=rest"]]
        )
    )
    def other_draws(self, words: list[str]) -> None:
        self.tried(lambda: set_draws(self.book, OWNER, CODE, words))

    @rule()
    def layout(self) -> None:
        phase = job_view(self.book, CODE, DAY).phase("layout")
        if phase.state is PhaseState.SIGNED_OFF:
            reopen(self.book, OWNER, CODE, "layout", "string moved")
            return
        for check in phase.checks:
            if not check.settled:
                waive(self.book, OWNER, CODE, check.key, "on paper")
        sign_off(self.book, OWNER, CODE, "layout", past="only the layout matters here")

    @invariant()
    def kept(self) -> None:
        money = self.money()
        conserved(money)
        numbers = [view.invoice.number for view in money.invoices]
        assert numbers == list(range(1, len(numbers) + 1))
        assert 0 <= money.deposit_held_cents <= max(money.paid_cents, 0)
        assert all(0 <= view.open_cents <= max(view.invoice.cents, 0) for view in money.invoices)
        assert money.contract_cents >= 0

    def teardown(self) -> None:
        self.book.close()
        self.folder.cleanup()


TestMoney = Money.TestCase
TestMoney.settings = settings(max_examples=examples(10, 200), stateful_step_count=14, deadline=None)


@given(
    st.lists(st.integers(-5_000, 10_000).filter(bool), max_size=6),
    st.lists(st.tuples(st.integers(-4_000, 12_000).filter(bool), st.integers(0, 6)), max_size=6),
)
def test_what_is_open_is_what_is_due(invoices: list[int], payments: list[tuple[int, int]]) -> None:
    """Whatever is invoiced, credited, paid and paid back: open amounts add up to what is due, none is more than its
    invoice.
    """
    ledger = Ledger(
        invoices=tuple(
            Invoice(str(n), n, DAY, "O", (InvoiceLine("", "", cents),)) for n, cents in enumerate(invoices, 1)
        ),
        payments=tuple(
            Payment(str(n), n, cents, DAY, "O", "", number if cents > 0 else 0)
            for n, (cents, number) in enumerate(payments, 1)
        ),
    )
    found = invoices_of(ledger)
    due = max(ledger.invoiced_cents - ledger.paid_cents, 0)
    charged = sum(max(cents, 0) for cents in invoices)
    assert sum(view.open_cents for view in found) == min(due, charged)
    assert all(0 <= view.open_cents <= max(view.invoice.cents, 0) for view in found)
