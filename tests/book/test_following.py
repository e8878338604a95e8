"""Phases and checks follow the template whenever it changes: by a house rule, a job file, or a newer program."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path

import pytest

from tests.book.conftest import DAY, hand_of, job_text
from tests.handed_over import hand_over
from tests.signed import sign_off_all_before, sign_off_waived
from tracker.book.care import doctor
from tracker.book.gates import reopen, sign_off, start
from tracker.book.hand import Hand
from tracker.book.history import history
from tracker.book.houserules import take_rules_file
from tracker.book.jobs import add_note, handed_over_lines, job_lines, job_view, take_job
from tracker.book.opening import Book, open_book, template_mark
from tracker.book.readings import record
from tracker.book.sheet import day_sheet
from tracker.book.undoing import undo
from tracker.book.views import GateShutError, JobView, PhaseState, TakeResult
from tracker.trade.effort import Effort
from tracker.trade.jobfile import parse_job_bytes
from tracker.trade.phases import PHASES, Phase

Take = Callable[..., str]
LATER = DAY + timedelta(days=1)


def rule(book: Book, text: str, day: date = DAY) -> tuple[str, ...]:
    return take_rules_file(book, hand_of("Owner Plover", day), text.encode(), "house.toml")


def skipping(key: str, skip: bool = True) -> str:
    return f"[phases.{key}]\nskip = {str(skip).lower()}\n"


def without(phase: str, *checks: str) -> str:
    return f"[phases.{phase}]\nwithout_checks = [{', '.join(repr(key) for key in checks)}]\n"


def take_file(book: Book, text: str, day: date = DAY) -> TakeResult:
    return take_job(book, hand_of("Owner Plover", day), parse_job_bytes(text.encode(), "job.toml"))


def phases_of(view: JobView) -> list[str]:
    return [phase.key for phase in view.phases]


def checks_of(view: JobView) -> set[str]:
    return {check.key for phase in view.phases for check in phase.checks}


def sound(book: Book) -> None:
    report = doctor(book.path)
    assert report.problems == ()


@pytest.mark.parametrize("key", [phase.key for phase in PHASES if phase.key not in ("first-call",)])
def test_any_phase_left_out_by_a_rule_and_asked_for_again_comes_back(book: Book, key: str) -> None:
    rule(book, skipping(key))
    take_file(book, job_text(permit=True, digging=True).replace('finish = "none"', 'finish = "oil"'))
    left_out = phases_of(job_view(book, "26-101", DAY))
    assert key not in left_out
    said = rule(book, skipping(key, False))
    view = job_view(book, "26-101", DAY)
    order = [phase.key for phase in PHASES]
    if key in phases_of(view):  # the others the job does not call for
        assert f"26-101: phase {key} is part of it now" in said
        assert phases_of(view) == sorted({*left_out, key}, key=order.index)
    assert [line.code for line in job_lines(book, DAY)] == ["26-101"]
    assert day_sheet(book, DAY).jobs
    sound(book)


def test_a_phase_added_is_a_gate_like_any_other(book: Book, hand: Hand) -> None:
    rule(book, skipping("pads"))
    code = take_file(book, job_text()).code
    sign_off_all_before(book, hand, code, "posts")
    rule(book, skipping("pads", False))
    view = job_view(book, code, DAY)
    assert view.phase("pads").state is PhaseState.AHEAD
    with pytest.raises(GateShutError) as shut:
        start(book, hand, code, "posts")
    assert "pads" in {blocker.phase for blocker in shut.value.blockers}
    sign_off_waived(book, hand, code, "pads")
    start(book, hand, code, "posts")
    numbers = history(book, code).lines
    undo(book, hand, code, str(numbers[-1].number), "too soon")
    assert job_view(book, code, DAY).phase("posts").state is not PhaseState.UNDER_WAY
    sound(book)


def test_a_past_day_reads_as_it_was_known(book: Book) -> None:
    rule(book, skipping("site-close"))
    take_file(book, job_text())
    before = day_sheet(book, DAY)
    rule(book, skipping("site-close", False), LATER)
    assert day_sheet(book, DAY) == before
    assert "site-close" in phases_of(job_view(book, "26-101", LATER))


LOG = """
[[log]]
on = 2026-05-05
do = "signoff"
phase = "visit"
who = "Owner Plover"
[[log]]
on = 2026-05-05
do = "signoff"
phase = "design"
who = "Owner Plover"
[[log]]
on = 2026-05-06
do = "signoff"
phase = "quote"
who = "Owner Plover"
"""


def test_a_rule_and_a_log_of_days_before_it_go_together(book: Book) -> None:
    rule(book, skipping("site-close"))
    take_file(book, job_text(more=LOG))
    for days in range(12):
        assert day_sheet(book, date(2026, 5, 4) + timedelta(days=days)) is not None
    rule(book, skipping("site-close", False), LATER)
    for days in range(12):
        assert day_sheet(book, date(2026, 5, 4) + timedelta(days=days)) is not None
    sound(book)


def test_a_check_left_out_by_a_rule_and_asked_for_again_reaches_a_job_already_taken(book: Book, hand: Hand) -> None:
    rule(book, without("frame", "crown", "level"))
    text = job_text()
    take_file(book, text)
    assert not {"crown", "level"} & checks_of(job_view(book, "26-101", DAY))
    said = rule(book, without("frame", "level"))
    assert said == ("26-101: check crown is part of it now",)
    assert checks_of(job_view(book, "26-101", DAY)) & {"crown", "level"} == {"crown"}
    assert rule(book, without("frame", "crown")) == (
        "26-101: check level is part of it now", "26-101: check crown is no longer part of it",
    )  # fmt: skip
    assert take_file(book, text).change == "unchanged"
    sound(book)


def test_taking_a_file_again_says_what_the_template_adds(book: Book) -> None:
    take_file(book, job_text())
    with book.writing() as session:  # rows as a program left them that did not let them follow
        session.connection().exec_driver_sql("UPDATE job_check SET dropped = 1 WHERE key = 'crown'")
    result = take_file(book, job_text())
    assert (result.change, result.details) == ("changed", ("check crown is part of it now",))
    assert take_file(book, job_text()).change == "unchanged"


def test_what_was_signed_off_stays_as_it_was_signed(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    record(book, hand, code, "layout-square", ["132", "156", "204-3/8", "204-3/8"])
    sign_off_all_before(book, hand, code, "strip")
    assert rule(book, skipping("layout") + without("visit")) == ()
    view = job_view(book, code, DAY)
    assert view.phase("layout").state is PhaseState.SIGNED_OFF
    assert rule(book, "[phases.layout]\nskip = false\nwithout_checks = ['layout-square']\n") == ()
    assert "layout-square" in checks_of(job_view(book, code, DAY))
    sound(book)


def test_a_check_asked_for_again_does_not_open_what_was_signed_without_it(book: Book, hand: Hand) -> None:
    rule(book, without("layout", "layout-square"))
    code = take_file(book, job_text()).code
    sign_off_all_before(book, hand, code, "strip")
    assert rule(book, without("layout")) == ()
    assert job_view(book, code, DAY).phase("layout").state is PhaseState.SIGNED_OFF
    start(book, hand, code, "strip")
    reopen(book, hand, code, "layout", "moved the fence")
    assert rule(book, without("layout")) == (f"{code}: check layout-square is part of it now",)


def test_a_job_finished_long_ago_stays_finished(book: Book, hand: Hand) -> None:
    rule(book, skipping("visit") + without("frame", "crown"))
    code = take_file(book, job_text()).code
    hand_over(book, hand, code)
    before = job_view(book, code, DAY)
    assert before.line.finished
    assert rule(book, skipping("visit", False) + without("frame")) == ()
    assert take_file(book, job_text()).change == "unchanged"
    after = job_view(book, code, DAY)
    assert (phases_of(after), after.line.finished) == (phases_of(before), True)
    assert rule(book, skipping("hand-over") + skipping("frame")) == ()
    assert [line.code for line in handed_over_lines(book, DAY)] == [code]
    assert phases_of(job_view(book, code, DAY)) == phases_of(before)
    sound(book)


def test_a_deck_handed_over_gets_only_what_comes_after(book: Book, hand: Hand) -> None:
    rule(book, skipping("visit") + skipping("care"))
    code = take_file(book, job_text().replace('finish = "none"', 'finish = "oil"')).code
    hand_over(book, hand, code, without=("finish",))
    assert rule(book, skipping("visit", False) + skipping("care", False)) == (f"{code}: phase care is part of it now",)
    assert job_view(book, code, DAY).line.finished is False
    sound(book)


# -- a newer program


@pytest.fixture
def newer(monkeypatch: pytest.MonkeyPatch) -> Callable[[], None]:
    """A version of the program whose template has one phase more, before the boards."""

    def become() -> None:
        at = next(number for number, phase in enumerate(PHASES) if phase.key == "boards")
        more = Phase("flashing", "Joist flashing", Effort(1), outdoors=True)
        template = (*PHASES[:at], more, *PHASES[at:])
        by_key = {phase.key: phase for phase in template}
        for module in ("tracker.trade.phases", "tracker.book.following"):
            monkeypatch.setattr(f"{module}.PHASES", template)
        for module in ("tracker.trade.phases", "tracker.book.examine"):
            monkeypatch.setattr(f"{module}.{'BY_KEY' if 'trade' in module else 'PHASES'}", by_key)

    return become


def taken(path: Path) -> None:
    book = open_book(path)
    by = hand_of("Owner Plover")
    take_file(book, job_text())
    take_file(book, job_text("26-102", "Finished"))
    hand_over(book, by, "26-102")
    take_file(book, job_text("26-103", "Boarding"))
    sign_off_all_before(book, by, "26-103", "board-gap")
    book.close()


def test_a_phase_line_added_to_the_template_reaches_the_open_jobs_and_is_said(
    tmp_path: Path, newer: Callable[[], None]
) -> None:
    path = tmp_path / "jobs.book"
    taken(path)
    before = open_book(path)
    sheet, finished = day_sheet(before, DAY), job_view(before, "26-102", DAY)
    before.close()
    newer()
    at = hand_of("x", LATER).at
    book = open_book(path, at=at)
    assert book.notices == tuple(f"{code}: phase flashing is part of it now" for code in ("26-101", "26-103"))
    view = job_view(book, "26-101", LATER)
    assert phases_of(view)[phases_of(view).index("boards") - 1] == "flashing"
    assert {line.code for line in job_lines(book, LATER)} == {"26-101", "26-103"}
    assert job_view(book, "26-102", DAY) == finished
    assert day_sheet(book, DAY) == sheet
    sound(book)
    sign_off_waived(book, hand_of("Owner Plover", LATER), "26-103", "board-gap")
    with pytest.raises(GateShutError) as shut:
        sign_off(book, hand_of("Owner Plover", LATER), "26-103", "boards")
    assert "flashing" in {blocker.phase for blocker in shut.value.blockers}
    book.close()
    assert open_book(path, at=at).notices == ()


def test_a_book_that_cannot_be_written_reads_as_it_was(tmp_path: Path, newer: Callable[[], None]) -> None:
    path = tmp_path / "jobs.book"
    taken(path)
    newer()
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        book = open_book(path, busy_ms=50)
        assert book.notices == () and "flashing" not in phases_of(job_view(book, "26-101", DAY))
        other.execute("ROLLBACK")
    book.close()
    assert open_book(path).notices != ()


def test_a_book_of_a_version_that_did_not_follow_is_put_in_step_once(book: Book) -> None:
    take_file(book, job_text())
    add_note(book, hand_of("Owner Plover"), "26-101", "seen")
    with book.writing() as session:
        run = session.connection().exec_driver_sql
        run("PRAGMA user_version = 0")
        run("UPDATE phase SET dropped = 1 WHERE key = 'site-close'")
    book.close()
    again = open_book(book.path)
    assert again.notices == ("26-101: phase site-close is part of it now",)
    assert "site-close" in phases_of(job_view(again, "26-101", DAY))
    again.close()
    with closing(sqlite3.connect(book.path)) as db:
        assert db.execute("PRAGMA user_version").fetchone() == (template_mark(),)
