"""Care dates worked out by hand, and what each kind of deck is told."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.book.conftest import job_text
from tracker.trade.care import LAST_DAY, add_months, care_cautions, care_dates, care_notes, care_tasks
from tracker.trade.jobfile import parse_job_bytes
from tracker.trade.spec import Attachment, BoardKind, Finish, Guard, JobSpec, Stairs

SPEC = parse_job_bytes(job_text().encode(), "job.toml").spec
FOOT = 304_800_000


def deck(finish: Finish = Finish.NONE, kind: BoardKind = BoardKind.WOOD, **changes: object) -> JobSpec:
    platform = SPEC.platforms[0]
    platform = replace(platform, decking=replace(platform.decking, kind=kind), **changes)  # type: ignore[arg-type]
    return replace(SPEC, finish=finish, platforms=(platform,))


@pytest.mark.parametrize(
    ("day", "months", "then"),
    [
        (date(2026, 6, 5), 12, date(2027, 6, 5)),
        (date(2026, 8, 31), 6, date(2027, 2, 28)),
        (date(2028, 2, 29), 12, date(2029, 2, 28)),
        (date(2026, 12, 30), 1, date(2027, 1, 28)),
        (date(2026, 7, 1), 6, date(2027, 1, 1)),
    ],
)
def test_months_are_added_to_the_same_day_the_28th_at_the_latest(day: date, months: int, then: date) -> None:
    assert add_months(day, months) == then


def test_an_oiled_deck_handed_over_on_friday_5_june() -> None:
    """By hand: 5 June + 45 days = 20 July (25 days left in June, 20 in July); the oil went on 19 June."""
    dates = {found.task.key: found.due for found in care_dates(deck(Finish.OIL), date(2026, 6, 5), date(2026, 6, 19))}
    assert dates == {
        "settle": date(2026, 7, 20),
        "sweep": date(2026, 12, 5),
        "wash": date(2027, 6, 5),
        "look-over": date(2027, 6, 5),
        "coat": date(2027, 6, 19),
    }


def test_stain_is_renewed_after_two_years_and_no_finish_never() -> None:
    """Pigmented finishes last 2 to 3 years, clear ones about 1 (Wood Handbook, finishing of wood)."""
    coats = {f: [t for t in care_tasks(deck(f)) if t.key == "coat"] for f in Finish}
    assert [task.months for task in coats[Finish.STAIN]] == [24]
    assert [task.months for task in coats[Finish.OIL]] == [12]
    assert not coats[Finish.NONE]
    assert all("Wood Handbook" in task.source for found in coats.values() for task in found)


def test_composite_is_washed_twice_a_year_and_never_oiled() -> None:
    tasks = {task.key: task for task in care_tasks(deck(Finish.OIL, BoardKind.COMPOSITE))}
    assert tasks["wash"].months == 6
    assert "coat" not in tasks
    assert any("maker" in note for note in care_notes(deck(kind=BoardKind.COMPOSITE)))


def test_what_was_done_counts_from_the_day_it_was_done_and_what_is_done_once_is_gone() -> None:
    done = {"wash": date(2027, 5, 20), "settle": date(2026, 7, 18)}
    dates = {found.task.key: found for found in care_dates(deck(), date(2026, 6, 5), None, done)}
    assert dates["wash"].due == date(2028, 5, 20)
    assert dates["wash"].done == date(2027, 5, 20)
    assert "settle" not in dates


def test_only_what_the_deck_has_is_looked_over() -> None:
    plain = next(task.what for task in care_tasks(deck()) if task.key == "look-over")
    assert not any(word in plain for word in ("ledger", "guard", "stairs"))
    full = deck(attachment=Attachment.HOUSE, guard=Guard(3 * FOOT, 20 * FOOT), stairs=(Stairs(3 * FOOT, 2 * FOOT),))
    told = next(task.what for task in care_tasks(full) if task.key == "look-over")
    assert all(word in told for word in ("ledger", "guard", "stairs"))
    assert any("loose guard" in text for text in care_cautions(full))


def test_rags_are_warned_of_where_something_is_wiped_on_and_treated_wood_where_it_is() -> None:
    assert any("rags" in text for text in care_cautions(deck(Finish.OIL)))
    assert not any("rags" in text for text in care_cautions(deck()))
    assert any("never burn it" in text for text in care_cautions(deck()))


@given(st.dates(date(2020, 1, 1), date(2060, 12, 31)), st.sampled_from(Finish), st.sampled_from(BoardKind))
def test_every_repeated_date_is_one_every_month_has_and_none_is_before_the_hand_over(
    day: date, finish: Finish, kind: BoardKind
) -> None:
    for found in care_dates(deck(finish, kind), day, day + timedelta(days=30)):
        assert found.due > day
        assert not found.task.months or found.due.day <= LAST_DAY
