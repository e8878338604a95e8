"""A small invented job taken through all its phases to the hand-over, for the tests of what comes after it."""

from __future__ import annotations

from tests.book.conftest import job_text
from tracker.book.gates import sign_off
from tracker.book.hand import Hand
from tracker.book.handover import handover
from tracker.book.jobs import job_view, take_job
from tracker.book.opening import Book
from tracker.book.readings import record, waive
from tracker.trade.jobfile import parse_job_bytes


def oiled(code: str = "26-101", title: str = "Plover Lane platform", more: str = "") -> str:
    """A ground-level job whose boards are oiled."""
    return job_text(code, title, more=more).replace('finish = "none"', 'finish = "oil"')


LOT = """
[[lot]]
code = "P1"
item = "2x6x12"
supplier = "Yard Plover (invented)"
ordered = 12
received = 12
use = "UC4A"
"""


def take(book: Book, hand: Hand, text: str) -> None:
    """Take a job file."""
    take_job(book, hand, parse_job_bytes(text.encode(), "job.toml"))


def measured(book: Book, hand: Hand, code: str = "26-101") -> None:
    """A layout square that failed and was put right, and one with a tape read wrong that was corrected."""
    bad = record(book, hand, code, "layout-square", ["width=11'", "depth=13'", "ac=17' 1", "bd=17'"])
    record(book, hand, code, "layout-square", ["width=11'", "depth=13'", "ac=17' 3/8", "bd=17' 3/8"])
    assert bad.answer is not None and bad.answer.verdict is not None


def hand_over(book: Book, hand: Hand, code: str = "26-101", *, without: tuple[str, ...] = ()) -> None:
    """Waive every open check and wait and sign every phase off in order, ``without`` left as they are; what stands open on
    the punch list is left so, by name.
    """
    for phase in job_view(book, code, hand.day).phases:
        if phase.key in without or phase.signed_off:
            continue
        for check in phase.checks:
            if not check.settled:
                waive(book, hand, code, check.key, "not measured in this test")
        if phase.key == "finish":
            waive(book, hand, code, "wait.finish", "not waited for in this test")
        leave = open_punch(book, hand, code) if phase.key == "hand-over" else ()
        sign_off(book, hand, code, phase.key, leave=leave)


def open_punch(book: Book, hand: Hand, code: str) -> tuple[tuple[str, str], ...]:
    """What stands open on the punch list, to be left so at the hand-over."""
    items = handover(book, code, hand.day).punch
    return tuple((f"punch.{item.number}", "mended after the hand-over") for item in items if item.done is None)
