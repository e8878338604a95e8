"""Received, counted and built in are one chain: no sequence of acts makes pieces, loses pieces, or stores two counts apart."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from tests.book.conftest import DAY, hand_of, job_text
from tests.often import examples
from tests.once import copy_once
from tracker.book.counted import CountsApartError
from tracker.book.gates import reopen, sign_off
from tracker.book.jobs import job_view, take_job
from tracker.book.lots import give_back, lots, needs, order, receive, scrap, use
from tracker.book.opening import Book, open_book
from tracker.book.readings import record, waive
from tracker.book.receiving import inspect
from tracker.book.undoing import undo
from tracker.book.views import LotView, PhaseState
from tracker.errors import InputError, RefusedError
from tracker.trade.jobfile import parse_job_bytes

OWNER, CODE = hand_of("Owner Plover"), "26-101"
ITEMS = ("block", "cloth")
COUNT = st.integers(1, 30)


def ready(path: Path) -> None:
    """A small job whose early phases are signed off, so that the pads (which take blocks and cloth) may be."""
    book = open_book(path)
    take_job(book, OWNER, parse_job_bytes(job_text().encode(), "job.toml"))
    for phase in job_view(book, CODE, DAY).phases:
        for check in phase.checks:
            if not check.settled:
                waive(book, OWNER, CODE, check.key, "not measured in this test")
        if phase.key in ("visit", "design", "quote", "permit", "layout", "strip", "delivery"):
            sign_off(book, OWNER, CODE, phase.key)
    book.close()


class OneCount(RuleBasedStateMachine):
    """Orders, receipts, counts, culls, use, returns, scrapping, sign-offs, reopening and taking back, in any order."""

    book: Book

    @initialize()
    def begin(self) -> None:
        self.folder = tempfile.TemporaryDirectory()
        self.book = open_book(copy_once(Path(self.folder.name) / "jobs.book", "one count", ready))
        self.acts: list[str] = []
        for item, number in (("block", 44), ("cloth", 3)):
            self.order(item, number)
            self.receive(item, number)

    def lots(self) -> dict[str, LotView]:
        return {lot.code: lot for lot in lots(self.book, CODE, DAY)}

    @rule(item=st.sampled_from(ITEMS), count=COUNT)
    def order_some(self, item: str, count: int) -> None:
        self.order(item, count)

    @rule(item=st.sampled_from(ITEMS), count=COUNT)
    def receive_some(self, item: str, count: int) -> None:
        self.receive(item, count)

    def order(self, item: str, count: int) -> None:
        self.acts.append(order(self.book, OWNER, CODE, item, count, lot=item.upper(), anyway=True).id)

    def receive(self, item: str, count: int) -> None:
        if item.upper() in self.lots():
            self.acts.append(receive(self.book, OWNER, CODE, item.upper(), count, anyway=True).id)

    @rule(
        item=st.sampled_from(ITEMS), off=st.sampled_from([0, 0, 0, -1, 2]), culls=st.integers(0, 5), receives=st.booleans()
    )  # fmt: skip
    def inspect(self, item: str, off: int, culls: int, receives: bool) -> None:
        lot = self.lots().get(item.upper())
        if lot is None:
            return
        count = max(lot.received + off, 0)
        try:
            done = inspect(
                self.book, OWNER, CODE, lot.code, [f"count={count}", f"culls={culls}"], receive=receives, anyway=True
            )  # fmt: skip
        except CountsApartError:
            assert count < lot.received or (count > lot.received and not receives)
        except InputError:
            assert culls > count or lot.used > max(count, lot.received) - culls
        else:
            assert count == lot.received or receives
            assert self.lots()[lot.code].received == count
            self.acts.append(done.id)

    @rule(item=st.sampled_from(ITEMS), extra=st.integers(0, 3))
    def count_as_received(self, item: str, extra: int) -> None:
        lot = self.lots().get(item.upper())
        if lot is not None:
            record(
                self.book,
                OWNER,
                CODE,
                "delivery",
                [f"{lot.code}.count={lot.received + extra}"],
                receive=True,
                anyway=True,
            )
            assert self.lots()[lot.code].received == lot.received + extra

    @rule(item=st.sampled_from(ITEMS), count=COUNT, move=st.sampled_from([use, give_back, scrap]))
    def move(self, item: str, count: int, move: object) -> None:
        lot = self.lots().get(item.upper())
        if lot is None:
            return
        most = lot.usable if move is use else lot.on_hand
        try:
            self.acts.append(move(self.book, OWNER, CODE, lot.code, count).id)  # type: ignore[operator]
        except RefusedError:
            assert count > most
        else:
            assert count <= most

    @rule(some=st.none() | st.integers(0, 40))
    def sign_off(self, some: int | None) -> None:
        before = self.lots()
        if some is not None and "BLOCK" not in before:
            return
        given = None if some is None else {"block": some}
        try:
            done = sign_off(self.book, OWNER, CODE, "pads", used=given, anyway=True)
        except RefusedError:
            return
        self.acts.append(done.id)
        if given is not None:
            assert self.lots()["BLOCK"].used == before["BLOCK"].used + given["block"]
        for need in needs(self.book, DAY, [CODE]):
            assert need.phase != "pads"

    @rule()
    def reopen(self) -> None:
        if job_view(self.book, CODE, DAY).phase("pads").state is PhaseState.SIGNED_OFF:
            reopen(self.book, OWNER, CODE, "pads", "one pad sinks")

    @rule(which=st.integers(0, 30))
    def take_back(self, which: int) -> None:
        if self.acts:
            try:
                undo(self.book, OWNER, CODE, self.acts[which % len(self.acts)], "not so")
            except (RefusedError, InputError):
                return

    @invariant()
    def pieces_are_conserved(self) -> None:
        for lot in self.lots().values():
            gone = lot.used + lot.returned + lot.scrapped + lot.moved_out
            assert lot.received + lot.found == gone + lot.on_hand
            assert lot.on_hand == lot.usable + lot.culls and min(lot.on_hand, lot.usable, lot.culls) >= 0

    @invariant()
    def every_page_counts_alike(self) -> None:
        by_code = self.lots()
        for need in needs(self.book, DAY, [CODE]):
            assert need.need == need.used + need.on_hand + need.on_order + need.to_buy
            mine = [lot for lot in by_code.values() if lot.item == need.item]
            assert need.on_hand <= sum(lot.usable for lot in mine) and need.used <= sum(lot.used for lot in mine)
        assert {lot.code: lot for lot in job_view(self.book, CODE, DAY).lots} == by_code

    def teardown(self) -> None:
        self.book.close()
        self.folder.cleanup()


TestOneCount = OneCount.TestCase
TestOneCount.settings = settings(max_examples=examples(6, 240), stateful_step_count=12, deadline=None)
