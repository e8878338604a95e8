"""Any acts, taken back in any order: going back step by step meets every state on the way, and nothing is ever lost."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.book.conftest import DAY, hand_of, job_text
from tests.often import examples
from tests.once import copy_once
from tracker.book.care import doctor
from tracker.book.days import add_day_off
from tracker.book.gates import hold, sign_off, start
from tracker.book.handover import handover
from tracker.book.history import history
from tracker.book.jobs import add_note, job_view, take_job
from tracker.book.load import load_job
from tracker.book.lots import cancel, give_back, lots, needs, order, receive, scrap, use
from tracker.book.offcuts import put_back, transfer
from tracker.book.opening import Book, open_book
from tracker.book.punch import add_punch, close_punch
from tracker.book.readings import record, waive
from tracker.book.sheet import day_sheet
from tracker.book.undoing import correct, undo
from tracker.book.views import PhaseState
from tracker.errors import InputError, RefusedError
from tracker.trade.jobfile import parse_job_bytes
from tracker.trade.lengths import INCH
from tracker.trade.phases import stands_on

OWNER = hand_of("Owner Plover")
LATER = hand_of("Owner Plover", date(2026, 5, 14))
CODE, OTHER = "26-101", "26-102"
GOOD = ("width=11'", "depth=13'", "ac=17' 3/8", "bd=17' 3/8")  # Pythagoras: 204.353 in

Act = Callable[[Book, int], Any]
ACTS: dict[str, Act] = {
    "order": lambda book, n: order(book, OWNER, CODE, "2x6x14", n, lot="J1", anyway=True),
    "receive": lambda book, n: receive(book, OWNER, CODE, "J1", n, anyway=True),
    "use": lambda book, n: use(book, OWNER, CODE, "J1", n),
    "return": lambda book, n: give_back(book, OWNER, CODE, "J1", n),
    "scrap": lambda book, n: scrap(book, OWNER, CODE, "J1", n),
    "cancel": lambda book, n: cancel(book, OWNER, CODE, "J1", n, "the smaller deck"),
    "offcut": lambda book, n: put_back(book, OWNER, CODE, "J1", 30 * INCH, n),
    "transfer": lambda book, n: transfer(book, OWNER, CODE, "J1", n, OTHER),
    "correct": lambda book, n: correct(book, OWNER, CODE, newest(book, "movement"), n, "counted again"),
    "visit": lambda book, _: sign_off(book, OWNER, CODE, "visit"),
    "design": lambda book, _: sign_off(book, OWNER, CODE, "design"),
    "quote": lambda book, _: sign_off(book, OWNER, CODE, "quote"),
    "start": lambda book, _: start(book, OWNER, CODE, "layout"),
    "hold": lambda book, _: hold(book, OWNER, CODE, "layout", "rain"),
    "read": lambda book, _: record(book, OWNER, CODE, "layout-square", GOOD),
    "waive": lambda book, _: waive(book, OWNER, CODE, "layout-square", "old lines kept"),
    "layout": lambda book, _: sign_off(book, OWNER, CODE, "layout"),
    "strip": lambda book, _: start(book, OWNER, CODE, "strip"),
    "note": lambda book, n: add_note(book, OWNER, CODE, f"note {n}"),
    "punch": lambda book, n: add_punch(book, OWNER, CODE, f"item {n}"),
    "done": lambda book, n: close_punch(book, OWNER, CODE, str(n % 3 + 1)),
    "off": lambda book, n: add_day_off(book, OWNER, date(2026, 5, 13 + n % 9), "away", job=CODE, rain=n % 2 == 0),
}


def newest(book: Book, kind: str) -> str:
    """The newest entry of that kind that still counts; "0", which there is none of, when there is none."""
    lines = history(book, CODE).lines
    return next((str(x.number) for x in reversed(lines) if x.kind == kind and not x.standing and not x.takes_back), "0")


def seen(book: Book) -> tuple[object, ...]:
    """What every page is made of, without the readings themselves: those taken back stay in sight, marked."""
    out: list[object] = []
    for code in (CODE, OTHER):
        view = job_view(book, code, DAY)
        phases = view.phases
        out += [
            [(p.key, p.state, p.started, p.signed_off, p.held_why, p.undone_by, p.planned_start, p.planned_end)
             for p in phases],
            [(c.key, c.state, c.waivers, c.answer) for p in phases for c in p.checks],
            view.lots, view.notes, handover(book, code, LATER.day).punch, needs(book, DAY, [code]),
        ]  # fmt: skip
    return tuple(out)


def sound(book: Book) -> None:
    """No pieces out of nothing, and no phase on one that is not signed off."""
    moved = came = 0
    for code in (CODE, OTHER):
        for lot in lots(book, code, DAY):
            counts = (lot.ordered, lot.received, lot.used, lot.returned, lot.scrapped, lot.found, lot.moved_out)
            assert min(*counts, lot.canceled, lot.on_hand, lot.usable, lot.on_order) >= 0
            gone = lot.used + lot.returned + lot.scrapped + lot.moved_out
            assert lot.received + lot.found == lot.on_hand + gone
            moved, came = moved + lot.moved_out, came + (lot.found if code == OTHER else 0)
    assert moved == came
    view = job_view(book, CODE, DAY)
    with book.reading() as session:
        down = stands_on(load_job(book, session, CODE, DAY).phases)
    for phase in view.phases:
        if phase.state in (PhaseState.UNDER_WAY, PhaseState.SIGNED_OFF):
            assert all(view.phase(key).state is PhaseState.SIGNED_OFF for key in down[phase.key])


def begin(path: Path) -> None:
    """A book of two jobs."""
    book = open_book(path)
    for code in (CODE, OTHER):
        take_job(book, OWNER, parse_job_bytes(job_text(code).encode(), "job.toml"))
    book.close()


STEPS = st.lists(st.tuples(st.sampled_from(sorted(ACTS)), st.integers(1, 12)), max_size=12)
PIECES = [
    ("order", 12),
    ("receive", 10),
    ("transfer", 3),
    ("use", 4),
    ("offcut", 2),
    ("correct", 1),
    ("cancel", 1),
    ("scrap", 2),
]
GATES = [
    ("visit", 1),
    ("design", 1),
    ("quote", 1),
    ("waive", 1),
    ("layout", 1),
    ("strip", 1),
    ("read", 1),
    ("hold", 1),
    ("off", 4),
    ("punch", 1),
    ("done", 3),
]


@settings(max_examples=examples(8, 160), deadline=None)
@given(steps=STEPS, picks=st.lists(st.integers(0, 40), max_size=6))
@example(steps=PIECES, picks=[])
@example(steps=GATES, picks=[])
@example(steps=[("hold", 1), ("visit", 1)], picks=[])
@example(steps=PIECES, picks=[0, 1, 3, 2])
@example(steps=GATES, picks=[1, 3, 4, 2])
def test_going_back_meets_every_state_on_the_way_and_nothing_is_lost(
    steps: list[tuple[str, int]], picks: list[int]
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "jobs.book"
        copy_once(path, "two invented jobs", begin)
        book = open_book(path)
        done: list[tuple[str, tuple[object, ...]]] = []
        for name, number in steps:
            before = seen(book)
            try:
                recorded = ACTS[name](book, number)
            except (RefusedError, InputError):
                assert seen(book) == before
                continue
            done.append((recorded.id, before))
            sound(book)
        evening, kept = day_sheet(book, DAY), len(history(book, CODE).lines)
        said = [(line.id, line.said, line.digest) for line in history(book, CODE).lines]
        taken: set[str] = set()
        for pick in picks:  # in any order: refused, or all still holds
            if not done:
                break
            entry = done[pick % len(done)][0]
            try:
                undo(book, LATER, CODE, entry, "a slip")
                taken.add(entry)
            except RefusedError:
                pass
            sound(book)
        if not taken:
            for entry, before in reversed(done):
                undo(book, LATER, CODE, entry, "a slip")
                assert seen(book) == before
        lines = history(book, CODE).lines
        assert len(lines) >= kept and [(line.id, line.said, line.digest) for line in lines[:kept]] == said
        assert day_sheet(book, DAY) == evening
        assert doctor(path).problems == ()
        book.close()
