"""The newest standing reading decides: correcting an older one, in whatever order, never beats a newer one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.book.conftest import DAY, hand_of
from tests.often import examples
from tests.signed import sign_off_all_before
from tracker.book.entries import Entry
from tracker.book.fold import fold_check
from tracker.book.gates import sign_off
from tracker.book.hand import Hand
from tracker.book.history import history
from tracker.book.jobs import job_view
from tracker.book.opening import Book
from tracker.book.readings import ReadSinceError, record, take_back, waive
from tracker.book.undoing import undo
from tracker.book.views import CheckState, PhaseState
from tracker.errors import InputError

Take = Callable[..., str]

# 11 ft by 13 ft has the diagonal 204.353 in, 17' 3/8" to the 1/16 in (Pythagoras); 1/2 in apart is out of square.
GOOD = ("width=11'", "depth=13'", "ac=17' 3/8", "bd=17' 3/8")
BAD = ("width=11'", "depth=13'", "ac=17' 5/8", "bd=17' 1/8")


def state_of(book: Book, code: str, key: str = "square") -> tuple[CheckState, str]:
    check = job_view(book, code, DAY).check(key)
    return check.state, check.last.id if check.last else ""


def test_a_correction_of_an_older_reading_does_not_bury_a_newer_failure(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    older = record(book, hand, code, "square", BAD).id
    newer = record(book, hand_of("Lead Wren"), code, "square", BAD).id
    corrected = record(book, hand, code, "square", GOOD, corrects=older)
    (told,) = corrected.notices
    assert told.startswith("read since: FAILED, ") and "(Lead Wren, Tue 12 May)" in told
    assert told.endswith("the newest reading decides")
    assert state_of(book, code) == (CheckState.FAILED, newer)
    # A correction of a correction stays where the first one was, and taking them back changes nothing either.
    again = record(book, hand, code, "square", GOOD, corrects=corrected.id).id
    assert state_of(book, code) == (CheckState.FAILED, newer)
    undo(book, hand, code, again, "a slip")
    assert state_of(book, code) == (CheckState.FAILED, newer)
    # The newest one corrected decides at once.
    last = record(book, hand, code, "square", GOOD, corrects=newer)
    assert last.notices == () and state_of(book, code) == (CheckState.PASSED, last.id)


def test_the_history_says_what_a_reading_corrects_and_whether_it_decides(book: Book, hand: Hand, take: Take) -> None:
    """A reading is named for a correction as the history numbers it, as for taking back."""
    code = take()
    record(book, hand, code, "square", BAD)
    record(book, hand, code, "square", GOOD, corrects="1")
    record(book, hand, code, "square", BAD)
    record(book, hand, code, "square", GOOD, corrects="2")
    assert job_view(book, code, DAY).check("square").readings[1].corrects
    said = [line.said for line in history(book, code).lines]
    assert said[1].endswith(" (corrects entry 1)") and said[3].endswith(" (corrects entry 2; a newer reading decides)")
    assert not any("corrects" in text for text in (said[0], said[2]))
    for wrong in ("0", "99", "nothing"):
        with pytest.raises(InputError, match="is no reading of square"):
            record(book, hand, code, "square", GOOD, corrects=wrong)


def test_an_older_reading_corrected_to_a_failure_does_not_undo_a_sign_off(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    sign_off_all_before(book, hand, code, "layout")
    older = record(book, hand, code, "layout-square", GOOD).id
    newer = record(book, hand, code, "layout-square", GOOD).id
    sign_off(book, hand, code, "layout")
    told = record(book, hand, code, "layout-square", BAD, corrects=older).notices
    assert [notice.partition(":")[0] for notice in told] == ["read since"]
    assert job_view(book, code, DAY).phase("layout").state is PhaseState.SIGNED_OFF
    told = record(book, hand, code, "layout-square", BAD, corrects=newer).notices
    assert told == ("this undoes the sign-off of Layout",)
    # The one before the newest is in force once that is taken back.
    take_back(book, hand, code, "layout-square", "wrong deck")
    assert job_view(book, code, DAY).phase("layout").state is PhaseState.SIGNED_OFF


def test_a_waiver_given_after_the_newest_reading_outlives_the_correction_of_an_older_one(
    book: Book, hand: Hand, take: Take
) -> None:
    code = take()
    older = record(book, hand, code, "square", GOOD).id
    record(book, hand, code, "square", BAD)
    waive(book, hand, code, "square", "the client wants it so")
    record(book, hand, code, "square", BAD, corrects=older)
    assert state_of(book, code)[0] is CheckState.WAIVED


def test_who_corrects_without_knowing_of_a_newer_reading_is_told_and_nothing_is_written(
    book: Book, hand: Hand, take: Take
) -> None:
    code = take()
    seen = record(book, hand, code, "square", BAD).id
    newer = record(book, hand_of("Lead Wren"), code, "square", BAD).id
    with pytest.raises(ReadSinceError, match=r"has been read since: FAILED, .*\(Lead Wren, Tue 12 May\)") as told:
        record(book, hand, code, "square", GOOD, corrects=seen, newest=seen)
    assert told.value.newest == newer and told.value.exit_code == 4
    assert len(job_view(book, code, DAY).check("square").readings) == 2
    assert record(book, hand, code, "square", GOOD, corrects=seen, newest=newer).notices
    assert state_of(book, code) == (CheckState.FAILED, newer)


@dataclass(frozen=True)
class Step:
    """A new reading, the correction of an entry ``of`` places back, or that entry taken back."""

    what: str
    passes: bool
    of: int


STEPS = st.lists(
    st.builds(Step, st.sampled_from(["read", "correct", "back"]), st.booleans(), st.integers(0, 8)), max_size=16
)


def entry(number: int, step: Step, corrects: str) -> Entry:
    at = datetime(2026, 5, 12, 9, tzinfo=UTC)
    answer = {
        "headline": "", "inputs": {}, "answer": {}, "moves": [], "limits": [], "working": [], "source": "",
        "caution": "", "verdict": "passed" if step.passes else "failed",
    }  # fmt: skip
    body: dict[str, object] = {"entered": [], "unit": "in", "answer": answer}
    if step.what == "back":
        body["withdrawn"] = "a slip"
    return Entry(number, f"e{number}", "reading", "j", "", "c", "", at, DAY, "Lead Wren", corrects, 0, body)


@settings(max_examples=examples(150, 3000), deadline=None)
@given(steps=STEPS)
def test_the_last_measurement_that_still_has_a_reading_decides(steps: list[Step]) -> None:
    """Against measurements kept as piles: a new reading begins one, a correction of the top goes on its pile, a reading taken
    back is lifted out. The last pile that is not empty decides, by its top.
    """
    log: list[Entry] = []
    piles: list[list[str]] = []
    for number, step in enumerate(steps, 1):
        tops = [pile[-1] for pile in piles if pile]
        aim = tops[-1 - step.of % len(tops)] if tops else ""
        if step.what != "read" and not aim:
            continue
        made = entry(number, step, "" if step.what == "read" else aim)
        log.append(made)
        if step.what == "read":
            piles.append([made.id])
            continue
        pile = next(pile for pile in piles if pile and pile[-1] == aim)
        if step.what == "back":
            pile.pop()
        else:
            pile.append(made.id)
    fold = fold_check(log)
    tops = [pile[-1] for pile in piles if pile]
    assert (fold.last.id if fold.last else None) == (tops[-1] if tops else None)
    assert [view.id for view in fold.standing] == tops
