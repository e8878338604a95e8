"""Small texts: a result told once, a move as an instruction, days as a person says them."""

from __future__ import annotations

from datetime import date

import pytest

from tracker.book.views import NeedView
from tracker.reports.answers import answer_page
from tracker.reports.page import plain
from tracker.reports.words import due_words, job_codes
from tracker.trade.answer import Answer, Verdict, result, steps

PUSH = "push the back edge 3/8 in to the left"
AGAIN = "then read both diagonals again"


@pytest.mark.parametrize(
    ("headline", "moves", "name", "said", "left"),
    [
        (f"out of square: 1/2 in apart, {PUSH}", (PUSH, AGAIN), "square", "1/2 in apart", (PUSH, AGAIN)),
        (f"out of square: 1/2 in apart, {PUSH}", (PUSH,), "", "out of square: 1/2 in apart", (PUSH,)),
        ("square: 0 in apart", (), "layout-square", "0 in apart", ()),
        ("spacing good: worst joist 4", (), "joist-spacing", "worst joist 4", ()),
        ("R4: 13 short", ("get 13 more",), "delivery", "R4: 13 short", ("get 13 more",)),
        ("not enough readings: A to C", ("read A to C",), "square", "not enough readings", ("read A to C",)),
        ("lay the boards touching; each shrinks", ("lay the boards touching", "bark up"), "gap",
         "lay the boards touching; each shrinks", ("bark up",)),
        (PUSH, (PUSH,), "square", PUSH, ()),
    ],
)  # fmt: skip
def test_result_and_moves_say_everything_once(
    headline: str, moves: tuple[str, ...], name: str, said: str, left: tuple[str, ...]
) -> None:
    answer = Answer(headline, {}, {}, working=(), source="common practice", verdict=Verdict.FAILED, moves=moves)
    assert result(answer, name) == said and steps(answer, name) == left
    printed = " ".join(plain(answer_page(answer, name=name), 400).split())
    assert all(printed.count(move) == 1 for move in moves)


@pytest.mark.parametrize(
    ("day", "said"),
    [(11, "by Fri 15 May"), (14, "due tomorrow"), (15, "due today"), (18, "was due Fri 15 May")],
)
def test_when_a_need_is_due(day: int, said: str) -> None:
    need = NeedView("26-101", "block", "pad block", "piece", "pads", date(2026, 5, 15), 9, 0, 0, 0, 9, None, ())
    assert due_words(need, date(2026, 5, day)) == said


def test_many_jobs_are_counted_and_not_all_named() -> None:
    assert job_codes(["26-001", "26-002", "26-001"]) == "26-001, 26-002"
    assert job_codes(f"26-00{n}" for n in range(1, 6)) == "26-001, 26-002, 26-003, 26-004, 26-005"
    assert job_codes(f"26-{n:03d}" for n in range(1, 61)) == "26-001, 26-002, 26-003, 26-004 and 56 more"
