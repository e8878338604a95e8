"""Hours on a real book: logged, corrected, taken back, never more than a day has; and what finished phases took."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from fractions import Fraction

import pytest

from tests.book.conftest import DAY, hand_of, job_text
from tests.book.hourly import log_hours
from tests.handed_over import hand_over
from tracker.book.gates import sign_off, start
from tracker.book.hand import Hand
from tracker.book.hours import hours_of, hours_summary, log_text, productivity, take_back_hours
from tracker.book.houserules import phase_changes, set_house_rules, set_phase_hours
from tracker.book.jobs import job_view, take_job
from tracker.book.moneyread import money_of
from tracker.book.opening import Book
from tracker.book.pricing import price_job
from tracker.book.readings import waive
from tracker.errors import InputError, RefusedError
from tracker.planning.options import AS_DRAWN, Option
from tracker.trade.jobfile import parse_job_bytes

Take = Callable[..., str]
LEAD = hand_of("Lead Wren")


def test_hours_go_to_the_phase_at_hand_or_the_one_named(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    assert (
        log_text(book, LEAD, code, "3 x 7h30, rain from noon").text == "3 x 7:30 h = 22:30 h on site visit, Tue 12 May"
    )
    assert log_text(book, LEAD, code, "6h Frame", DAY - timedelta(days=1)).text == "6:00 h on frame, Mon 11 May"
    assert log_text(book, LEAD, code, "1h", names=["Hand Finch", "Hand Siskin"]).text.startswith("2 x 1:00 h")
    found = hours_of(book, code, DAY)
    assert [(s.day.day, s.phase, s.people, s.names) for s in found.stints] == [
        (11, "frame", 1, ("Lead Wren",)), (12, "visit", 3, ("Lead Wren",)), (12, "visit", 2, ("Hand Finch", "Hand Siskin")),
    ]  # fmt: skip
    # 22.5 h + 2 h on the visit and 6 h on the frame at 55.00 an hour.
    assert {p.phase: (p.minutes, p.cents) for p in found.phases if p.minutes} == {
        "visit": (1470, 134_750),
        "frame": (360, 33_000),
    }
    assert (found.minutes, found.cents) == (1830, 167_750)


def test_nobody_works_more_than_a_day_has(book: Book, hand: Hand, take: Take) -> None:
    one, two = take(), take(code="26-102", title="Other")
    log_hours(book, LEAD, one, "frame", DAY, 14 * 60)
    with pytest.raises(RefusedError, match="Lead Wren has 14:00 h on Tue 12 May already: with 10:30 h more") as refused:
        log_hours(book, LEAD, two, "frame", DAY, 630)
    assert "take the wrong entry back" in refused.value.hint
    log_hours(book, LEAD, two, "frame", DAY, 600)
    log_hours(book, LEAD, two, "frame", DAY - timedelta(days=1), 630)
    log_hours(book, LEAD, two, "frame", DAY, 630, ["Hand Finch"])
    with pytest.raises(RefusedError, match="LEAD WREN has 24:00 h"):
        log_hours(book, hand, two, "frame", DAY, 1, ["LEAD WREN"])


@pytest.mark.parametrize(
    ("minutes", "people", "day", "why"),
    [
        (0, 1, 0, "no time"), (1441, 1, 0, "more than a day"), (60, 0, 0, "no crew"), (60, 51, 0, "no crew"),
        (60, 1, 1, "still to come"), (60, ["A", "a"], 0, "there twice"), (60, [" "], 0, "name"),
    ],
)  # fmt: skip
def test_senseless_hours_are_refused(
    book: Book, take: Take, minutes: int, people: int | list[str], day: int, why: str
) -> None:
    code = take()
    with pytest.raises(InputError, match=why):
        log_hours(book, LEAD, code, "frame", DAY + timedelta(days=day), minutes, people)
    assert hours_of(book, code, DAY).stints == ()


def test_names_and_a_number_must_agree(book: Book, take: Take) -> None:
    with pytest.raises(InputError, match="3 people and 2 names"):
        log_text(book, LEAD, take(), "3 x 6h", names=["A", "B"])


def test_a_correction_takes_the_place_of_an_entry(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    log_hours(book, LEAD, code, "frame", DAY, 20 * 60)
    log_hours(book, LEAD, code, "boards", DAY, 6 * 60, corrects=1)
    (stint,) = hours_of(book, code, DAY).stints
    assert (stint.number, stint.phase, stint.minutes) == (2, "boards", 360)
    with pytest.raises(InputError, match="has no hours entry 1"):
        take_back_hours(book, LEAD, code, 1, "again")
    with pytest.raises(RefusedError, match="Hand Finch may not change what Lead Wren logged"):
        take_back_hours(book, hand_of("Hand Finch"), code, 2, "not so")
    take_back_hours(book, hand, code, 2, "wrong job")
    assert hours_of(book, code, DAY).stints == ()


def test_the_same_id_records_once(book: Book, take: Take) -> None:
    code, identity = take(), "0190a6a0-0000-7000-8000-000000000002"
    assert not log_text(book, LEAD, code, "6h frame", entry_id=identity).already
    assert log_text(book, LEAD, code, "6h frame", entry_id=identity).already
    assert hours_of(book, code, DAY).minutes == 360


def test_labour_keeps_the_rate_of_its_day(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    log_hours(book, LEAD, code, "frame", DAY, 60)
    set_house_rules(book, hand, {"labour_rate": "70"})
    log_hours(book, LEAD, code, "frame", DAY, 60)
    (frame,) = [phase for phase in money_of(book, code, DAY).phases if phase.phase == "frame"]
    assert frame.cost_cents == 5_500 + 7_000


LATER = "the phases between are written up later"


def layout_done(book: Book, hand: Hand, code: str, minutes: int) -> None:
    log_hours(book, hand, code, "layout", DAY, minutes)
    log_hours(book, hand, code, "pads", DAY, minutes)
    view = job_view(book, code, DAY)
    for check in (*view.phase("layout").checks, *view.phase("pads").checks):
        waive(book, hand, code, check.key, "on paper")
    sign_off(book, hand, code, "layout", past=LATER)
    sign_off(book, hand, code, "pads", past=LATER)
    start(book, hand, code, "frame", past=LATER)
    log_hours(book, hand, code, "frame", DAY, 60)


def test_what_finished_phases_took_by_hand(book: Book, hand: Hand, take: Take) -> None:
    for code, minutes in (("26-101", 120), ("26-102", 240)):
        take(code=code, title=f"Deck {code}")
        layout_done(book, hand, code, minutes)
    found = {p.phase: p for p in productivity(book, DAY)}
    assert set(found) == {"layout", "pads"}, "the frame is not signed off"
    # Layout counts whole: 2 h and 4 h, median 3, now 0.55 h + 0.003 h x 143 sq ft = 0.979 h, 59 min. Pads by the block, 40
    # each: 3/60 and 6/60 h, median 0.075; an estimate counts 0.25 h + 0.1 h x 40 + 0.02 h x 143 sq ft = 7.11 h, 427 min.
    layout, pads = found["layout"], found["pads"]
    assert (layout.median, layout.now, layout.unit, layout.jobs) == (Fraction(3), Fraction(59, 60), "", 2)
    assert (pads.median, pads.now, pads.unit) == (Fraction(3, 40), Fraction(427, 60 * 40), "block")
    assert (pads.least, pads.most) == (Fraction(1, 20), Fraction(1, 10))
    assert pads.trust == "2 jobs only" and pads.typed == "pads=0.075"
    assert [job.job for job in hours_summary(book, DAY).jobs] == ["26-101", "26-102"]


def test_a_suggestion_counts_only_once_it_is_taken_by_hand(book: Book, hand: Hand, take: Take) -> None:
    code = take()

    def minutes(phase: str) -> int:
        return price_job(book, code, DAY, [Option(AS_DRAWN)]).options[0].estimate.minutes_of(phase)

    assert (minutes("pads"), minutes("layout")) == (427, 59)
    set_phase_hours(book, hand, {"pads": "0.075", "layout": "2.5"})
    assert (minutes("pads"), minutes("layout")) == (180, 150)
    set_phase_hours(book, hand, {"pads": ""})
    assert (minutes("pads"), minutes("layout")) == (427, 150)
    assert phase_changes(book)["layout"].hours == 2.5
    with pytest.raises(InputError, match="did you mean pads"):
        set_phase_hours(book, hand, {"padz": "1"})
    with pytest.raises(InputError, match="'-1' is not a number of hours"):
        set_phase_hours(book, hand, {"pads": "-1"})
    with pytest.raises(RefusedError, match="Lead Wren may not"):
        set_phase_hours(book, LEAD, {"pads": "1"})


def test_a_job_file_may_give_hours_for_each(book: Book, hand: Hand) -> None:
    more = "[phases.pads]\nhours_each = 0.25\n"
    code = take_job(book, hand, parse_job_bytes(job_text(more=more).encode(), "job.toml")).code
    assert price_job(book, code, DAY).options[0].estimate.minutes_of("pads") == 600  # 40 blocks
    with pytest.raises(InputError, match="layout is not counted by a unit"):
        parse_job_bytes(job_text(more="[phases.layout]\nhours_each = 1\n").encode(), "job.toml")


def test_hours_far_over_the_estimate_are_told_once(book: Book, take: Callable[..., str]) -> None:
    code = take()
    planned = next(row for row in hours_of(book, code, DAY).phases if row.phase == "layout").estimate_minutes
    assert 0 < planned < 6 * 60
    assert log_text(book, LEAD, code, "1h layout").notices == ()
    (told,) = log_text(book, LEAD, code, "3 x 20h layout").notices
    assert "61:00 h in all" in told and "estimated" in told
    assert log_text(book, LEAD, code, "1h layout", DAY - timedelta(days=1)).notices == ()


def test_a_day_among_the_words_is_the_day_worked(book: Book, take: Callable[..., str]) -> None:
    code = take()
    assert log_text(book, LEAD, code, "1h frame yesterday").text == "1:00 h on frame, Mon 11 May"
    with pytest.raises(InputError, match="Tue 12 May is given and Mon 11 May is typed"):
        log_text(book, LEAD, code, "1h yesterday", DAY)


def test_a_correction_keeps_what_is_not_typed(book: Book, hand: Hand, take: Callable[..., str]) -> None:
    code = take()
    set_house_rules(book, hand, {"labour_rate": "50"})
    log_text(book, LEAD, code, "3 x 6h frame, roots in the way", DAY - timedelta(days=1))
    log_text(book, LEAD, code, "2h layout", names=["Hand Finch", "Hand Siskin"])
    set_house_rules(book, hand, {"labour_rate": "80"})
    log_text(book, LEAD, code, "5h", corrects=1)
    log_text(book, hand, code, "3h", corrects=2)
    first, second = hours_of(book, code, DAY).stints
    assert (first.phase, first.day, first.people, first.minutes, first.note, first.rate_cents) == (
        "frame", DAY - timedelta(days=1), 3, 300, "roots in the way", 5000,
    )  # fmt: skip
    assert (second.phase, second.names, second.minutes, second.rate_cents) == (
        "layout", ("Hand Finch", "Hand Siskin"), 180, 5000,
    )  # fmt: skip
    log_text(book, LEAD, code, "2 x 4h boards today, another word", corrects=3)
    last = hours_of(book, code, DAY).stints[-1]
    assert {(s.phase, s.day, s.people, s.note) for s in hours_of(book, code, DAY).stints} >= {
        ("boards", DAY, 2, "another word")
    }, last


def handed(book: Book, hand: Hand, code: str, minutes: dict[str, int]) -> None:
    """A deck handed over, with hours on some of its phases."""
    take_job(book, hand, parse_job_bytes(job_text(code, f"Deck {code}").encode(), "job.toml"))
    for phase, worked in minutes.items():
        log_hours(book, hand, code, phase, DAY, worked, [f"Hand {code}"])
    hand_over(book, hand, code)


def test_a_pace_is_proposed_from_finished_decks_with_its_spread(book: Book, hand: Hand) -> None:
    # The figures at par for 11 x 13 ft: pads 427 min, layout 59 min (by hand above), together 486.
    # Ratios 1, 1, 2 and 2: the median is 1.5, halfway between the second and the third.
    set_house_rules(book, hand, {"hours_few": "4"})
    handed(book, hand, "26-101", {"pads": 427})
    handed(book, hand, "26-102", {"pads": 427, "layout": 59})
    handed(book, hand, "26-103", {"pads": 854})
    few = hours_summary(book, DAY).pace
    assert (few.jobs, few.few, few.typed) == (3, True, "")
    handed(book, hand, "26-104", {"pads": 854, "layout": 118})
    pace = hours_summary(book, DAY).pace
    assert (pace.jobs, pace.few, pace.typed) == (4, False, "pace=150")
    assert [pace.quartile(number) for number in range(5)] == [1, 1, Fraction(3, 2), 2, 2]
    set_house_rules(book, hand, {"pace": "150"})
    again = hours_summary(book, DAY).pace
    assert (again.now, again.typed) == (Fraction(3, 2), "pace=150"), "the proposal is over the figures at par"


def test_hours_nobody_logged_never_make_the_pace_look_better(book: Book, hand: Hand) -> None:
    set_house_rules(book, hand, {"hours_few": "2"})
    handed(book, hand, "26-101", {"pads": 854})
    handed(book, hand, "26-102", {"pads": 854, "layout": 118})
    before = hours_summary(book, DAY).pace
    handed(book, hand, "26-103", {})
    after = hours_summary(book, DAY).pace
    assert after.samples == before.samples == (Fraction(2), Fraction(2))
    assert (before.no_hours, after.no_hours) == (0, 1) and after.without_hours == before.without_hours > 2
    take_job(book, hand, parse_job_bytes(job_text("26-104", "Half way").encode(), "job.toml"))
    log_hours(book, hand, "26-104", "pads", DAY, 10, ["Hand 26-104"])
    assert hours_summary(book, DAY).pace.samples == after.samples, "a job under way tells no pace"


def test_hours_set_by_hand_tell_no_pace(book: Book, hand: Hand) -> None:
    set_house_rules(book, hand, {"hours_few": "2"})
    handed(book, hand, "26-101", {"pads": 427, "layout": 118})
    assert hours_summary(book, DAY).pace.samples == (Fraction(427 + 118, 486),)
    set_phase_hours(book, hand, {"pads": "0.5"})
    assert hours_summary(book, DAY).pace.samples == (Fraction(2),)
