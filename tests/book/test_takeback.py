"""Taking a reading back: a correcting entry; the reading before it is in force again, and nothing is ever lost."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from itertools import count

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from tests.book.conftest import DAY, hand_of
from tests.often import examples
from tests.signed import sign_off_all_before
from tracker.book.care import doctor
from tracker.book.entries import Entry
from tracker.book.fold import fold_check
from tracker.book.gates import sign_off, start
from tracker.book.hand import Hand
from tracker.book.ids import new_id
from tracker.book.jobs import job_view
from tracker.book.opening import Book
from tracker.book.readings import record, take_back, try_out, waive
from tracker.book.views import CheckState, CheckView, GateShutError
from tracker.errors import ConflictError, InputError, RefusedError
from tracker.reports.jsonable import check_json
from tracker.trade.answer import Verdict

Take = Callable[..., str]

# 11 ft by 13 ft has the diagonal 204.353 in, 17' 3/8" to the 1/16 in (Pythagoras); 1/2 in apart is out of square.
GOOD = ("width=11'", "depth=13'", "ac=17' 3/8", "bd=17' 3/8")
BAD = ("width=11'", "depth=13'", "ac=17' 5/8", "bd=17' 1/8")


def square(book: Book, code: str) -> CheckView:
    return job_view(book, code, DAY).check("square")


def test_the_reading_before_is_in_force_again(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    first = record(book, hand, code, "square", GOOD).id
    second = record(book, hand, code, "square", BAD).id
    assert square(book, code).state is CheckState.FAILED
    done = take_back(book, hand_of("Lead Wren"), code, "square", "the tape hung on a nail")
    assert done.text == (
        "Frame square: the reading by Owner Plover, Tue 12 May, is taken back; the one before is in force again: passed"
    )
    check = square(book, code)
    assert check.state is CheckState.PASSED and check.last is not None and check.last.id == first
    assert [reading.id for reading in check.readings] == [first, second]
    assert check.readings[0].withdrawn == ""
    assert check.readings[1].withdrawn == "the tape hung on a nail (Lead Wren, Tue 12 May)"
    assert check.taken_back is not None and check.taken_back.id == second
    assert [row["withdrawn"] for row in check_json(check)["readings"]] == ["", check.readings[1].withdrawn]  # type: ignore[call-overload,index,union-attr]
    assert doctor(book.path).problems == ()


def test_the_only_reading_taken_back_leaves_the_check_open(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    record(book, hand, code, "square", GOOD)
    take_back(book, hand, code, "square", "wrong deck")
    check = square(book, code)
    assert (check.state, check.last, check.answer) == (CheckState.OPEN, None, None)
    assert check.headline == "its reading was taken back"
    with pytest.raises(RefusedError, match="no reading in force"):
        take_back(book, hand, code, "square", "again")


def test_taking_a_correction_back_puts_what_it_corrected_in_force_again(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    first = record(book, hand, code, "square", BAD).id
    record(book, hand, code, "square", GOOD, corrects=first)
    assert square(book, code).state is CheckState.PASSED
    take_back(book, hand, code, "square", "it was right the first time")
    check = square(book, code)
    assert check.state is CheckState.FAILED and check.last is not None and check.last.id == first


def test_a_waiver_given_meanwhile_stays(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    record(book, hand, code, "square", BAD)
    waive(book, hand, code, "square", "client accepts it")
    record(book, hand, code, "square", BAD)
    assert square(book, code).state is CheckState.FAILED
    take_back(book, hand, code, "square", "read on the wrong platform")
    assert square(book, code).state is CheckState.WAIVED


def layout_signed(book: Book, hand: Hand, code: str) -> None:
    """Sign the layout off on strings that are square."""
    sign_off_all_before(book, hand, code, "layout")
    record(book, hand, code, "layout-square", GOOD)
    sign_off(book, hand, code, "layout")


def layout_state(book: Book, code: str) -> tuple[str, tuple[str, ...]]:
    layout = job_view(book, code, DAY).phase("layout")
    return layout.state.value, layout.undone_by


def test_a_sign_off_that_loses_its_reading_is_undone_and_said(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    layout_signed(book, hand, code)
    assert layout_state(book, code) == ("signed off", ())
    done = take_back(book, hand, code, "layout-square", "the strings had moved")
    assert done.notices == ("this undoes the sign-off of Layout",)
    assert layout_state(book, code) == ("under way", ("layout-square",))
    with pytest.raises(GateShutError) as shut:
        start(book, hand, code, "frame")
    layout = next(blocker for blocker in shut.value.blockers if blocker.phase == "layout" and not blocker.check)
    assert "the reading of layout-square was taken back" in layout.why
    with pytest.raises(GateShutError, match="Layout"):
        sign_off(book, hand, code, "layout")
    record(book, hand, code, "layout-square", GOOD)
    assert layout_state(book, code) == ("signed off", ())


def test_a_failing_reading_taken_back_restores_the_sign_off(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    layout_signed(book, hand, code)
    record(book, hand, code, "layout-square", BAD)
    assert layout_state(book, code) == ("under way", ("layout-square",))
    assert take_back(book, hand, code, "layout-square", "read from the wrong mark").notices == ()
    assert layout_state(book, code) == ("signed off", ())


def test_a_sign_off_does_not_stand_on_an_older_failed_reading(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    record(book, hand, code, "layout-square", BAD)
    layout_signed(book, hand, code)
    take_back(book, hand, code, "layout-square", "it was another deck")
    assert layout_state(book, code) == ("under way", ("layout-square",))


def test_the_same_id_takes_back_once(book: Book, hand: Hand, take: Take) -> None:
    code, identity = take(), new_id()
    record(book, hand, code, "square", GOOD)
    record(book, hand, code, "square", BAD)
    first = take_back(book, hand, code, "square", "a slip", entry_id=identity)
    again = take_back(book, hand, code, "square", "a slip", entry_id=identity)
    assert (first.already, again.already, again.id) == (False, True, first.id)
    assert square(book, code).state is CheckState.PASSED


def test_a_reading_somebody_else_took_back_meanwhile_is_a_conflict(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    record(book, hand, code, "square", GOOD)
    seen = record(book, hand, code, "square", BAD).id
    take_back(book, hand_of("Lead Wren"), code, "square", "a slip", reading=seen)
    with pytest.raises(ConflictError, match="another one by now, by Owner Plover"):
        take_back(book, hand, code, "square", "a slip", reading=seen)
    assert square(book, code).state is CheckState.PASSED


@pytest.mark.parametrize("reason", ["", "   ", "x" * 5000])
def test_a_reason_is_wanted(book: Book, hand: Hand, take: Take, reason: str) -> None:
    code = take()
    record(book, hand, code, "square", GOOD)
    with pytest.raises(InputError, match="the reason"):
        take_back(book, hand, code, "square", reason)
    assert square(book, code).state is CheckState.PASSED


def test_a_draft_that_cannot_be_judged_says_why_and_keeps_its_values(book: Book, take: Take) -> None:
    code = take()
    tried = try_out(book, code, "square", [("width", "1"), ("ac", "17'"), ("bd", "17'")], DAY)
    assert tried.answer is None and tried.refused is not None and "width" in tried.refused.message
    assert tried.readings.has("width", "ac", "bd") and tried.check == "square"
    tried = try_out(book, code, "square", [("ac", "17' 3/8"), ("bd", "17' 3/8")], DAY)
    assert tried.refused is None and tried.answer is not None and tried.answer.verdict is Verdict.PASSED


# A plain re-evaluation: what was taken back is struck out of the log, with the entries that took it back.
@dataclass(frozen=True)
class Step:
    """What a person does: ``read``, ``correct`` (the reading in force), ``back`` or ``waive``."""

    what: str
    passes: bool = True


STEPS = st.lists(st.builds(Step, st.sampled_from(["read", "correct", "back", "waive"]), st.booleans()), max_size=14)


def struck(entries: Sequence[Entry]) -> list[Entry]:
    gone = {entry.corrects for entry in entries if entry.body.get("withdrawn")}
    return [entry for entry in entries if entry.id not in gone and not entry.body.get("withdrawn")]


def entry(number: int, kind: str, body: dict[str, object], corrects: str = "") -> Entry:
    at = datetime(2026, 5, 12, 9, tzinfo=UTC)
    return Entry(number, f"e{number}", kind, "j", "", "c", "", at, DAY, "Lead Wren", corrects, 0, body)


def reading_body(passes: bool) -> dict[str, object]:
    answer = {
        "headline": "", "inputs": {}, "answer": {}, "moves": [], "limits": [], "working": [], "source": "",
        "caution": "", "verdict": "passed" if passes else "failed",
    }  # fmt: skip
    return {"entered": [], "unit": "in", "answer": answer}


@settings(max_examples=examples(150, 3000), deadline=None)
@given(steps=STEPS)
def test_any_history_folds_as_if_what_was_taken_back_had_never_been(steps: list[Step]) -> None:
    log: list[Entry] = []
    for number, step in enumerate(steps, 1):
        last = fold_check(log).last
        if step.what == "waive":
            log.append(entry(number, "waiver", {"reason": "as it is"}))
        elif step.what == "back" and last is not None:
            log.append(entry(number, "reading", {**reading_body(True), "withdrawn": "a slip"}, last.id))
        elif step.what in ("read", "correct"):
            target = last.id if step.what == "correct" and last is not None else ""
            log.append(entry(number, "reading", reading_body(step.passes), target))
    whole, plain = fold_check(log), fold_check(struck(log))
    assert (whole.last and whole.last.id) == (plain.last and plain.last.id)
    assert whole.last_arrived == plain.last_arrived and whole.waived_arrived == plain.waived_arrived
    answer = whole.last.answer if whole.last else None
    assert whole.state(answer) is plain.state(answer)
    # Nothing is lost: every reading is in the history, those taken back say so, the others as they were.
    readings = [one for one in log if one.kind == "reading" and not one.body.get("withdrawn")]
    assert [view.id for view in whole.readings] == [one.id for one in readings]
    assert tuple(view for view in whole.readings if not view.withdrawn) == plain.readings
    assert all(
        view.withdrawn == "a slip (Lead Wren, Tue 12 May 2026)" for view in whole.readings if view not in plain.readings
    )
    assert plain.readings == tuple(replace(view, withdrawn="") for view in plain.readings)


@dataclass(frozen=True)
class Stood:
    """A reading that stands in the model, with the one it took the place of."""

    id: str
    passes: bool
    moment: int
    corrected: Stood | None = None


CODES = count(200)


@settings(max_examples=examples(6, 120), deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    steps=st.lists(st.builds(Step, st.sampled_from(["read", "correct", "back", "waive"]), st.booleans()), max_size=8)
)
@example(steps=[Step("read"), Step("correct"), Step("correct", False), Step("back"), Step("back"), Step("back")])
@example(steps=[Step("read", False), Step("waive"), Step("read", False), Step("back"), Step("back"), Step("back")])
def test_the_book_answers_as_a_plain_stack_of_readings_does(
    book: Book, hand: Hand, take: Take, steps: list[Step]
) -> None:
    """The same on the real book, against a model that keeps only what stands: a stack, the last on top."""
    code = take(code=f"26-{next(CODES)}")
    stack: list[Stood] = []
    waived = recorded = 0
    for moment, step in enumerate(steps, 1):
        top = stack[-1] if stack else None
        if step.what == "waive":
            if top is not None and top.passes:
                with pytest.raises(RefusedError):
                    waive(book, hand, code, "square", "as it is")
            else:
                waive(book, hand, code, "square", "as it is")
                waived = moment
        elif step.what == "back":
            if top is None:
                with pytest.raises(RefusedError):
                    take_back(book, hand, code, "square", "a slip")
            else:
                take_back(book, hand, code, "square", "a slip")
                stack.pop()
                stack += [top.corrected] if top.corrected else []
        else:
            corrected = stack.pop() if step.what == "correct" and stack else None
            values = GOOD if step.passes else BAD
            done = record(book, hand, code, "square", values, corrects=corrected.id if corrected else "")
            stack.append(Stood(done.id, step.passes, moment, corrected))
            recorded += 1
    check = square(book, code)
    top = stack[-1] if stack else None
    assert (check.last.id if check.last else None) == (top.id if top else None)
    assert len(check.readings) == recorded
    if top is not None and top.passes:
        expected = CheckState.PASSED
    elif waived > (top.moment if top else 0):
        expected = CheckState.WAIVED
    else:
        expected = CheckState.FAILED if top else CheckState.OPEN
    assert check.state is expected
