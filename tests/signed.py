"""Jobs taken up to one of their phases: everything it stands on signed off, with what was not measured waived."""

from __future__ import annotations

from tracker.book.gates import sign_off
from tracker.book.hand import Hand
from tracker.book.jobs import job_view
from tracker.book.opening import Book
from tracker.book.readings import waive
from tracker.book.uses import UsesAskedError
from tracker.book.views import PhaseState


def sign_off_all_before(book: Book, hand: Hand, code: str, phase: str) -> None:
    """Sign off every phase before ``phase`` in the order of the job, waiving its checks that are not settled."""
    for before in job_view(book, code, hand.day).phases:
        if before.key == phase:
            return
        if before.state is not PhaseState.SIGNED_OFF:
            sign_off_waived(book, hand, code, before.key)


def sign_off_waived(book: Book, hand: Hand, code: str, phase: str) -> None:
    """Sign a phase off, its checks waived that are not settled."""
    for check in job_view(book, code, hand.day).phase(phase).checks:
        if not check.settled:
            waive(book, hand, code, check.key, "not measured in this test")
    try:
        sign_off(book, hand, code, phase)
    except UsesAskedError as asked:  # what had not come was not built in
        sign_off(book, hand, code, phase, used={use.item: min(use.suggested, use.usable) for use in asked.uses})
