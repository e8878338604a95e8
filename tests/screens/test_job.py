"""One job: its gates, its waivers, its material."""

from __future__ import annotations

from pathlib import Path

from tests.book.conftest import hand_of
from tests.screens.conftest import NOW, at_the_keys, in_book, put_job, to_phase
from tests.signed import sign_off_all_before
from tracker.book.hand import hand
from tracker.book.ids import new_id
from tracker.book.jobs import add_note, job_view
from tracker.book.opening import open_book
from tracker.book.views import CheckState, JobView, PhaseState
from tracker.screens.asking import Question
from tracker.screens.job import JobScreen
from tracker.screens.table import Table

OWNER = hand("M. Holt", NOW, "office")


def stored(path: Path) -> JobView:
    """The job as the book has it."""
    book = open_book(path)
    try:
        return job_view(book, "26-101", NOW.date())
    finally:
        book.close()


async def test_start_and_sign_off_by_keys(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("enter", until="Site visit  ahead")
        await hands.press("s", until="Site visit  under way")
        await hands.press("o", until="Site visit: signed off")
        after = stored(path).phases[1].title
        await hands.until(f"{after} ahead")
        await hands.press("left", until="Site visit  signed off")
    assert stored(path).phases[0].state is PhaseState.SIGNED_OFF
    assert stored(path).phases[0].signed_by == "M. Holt"


async def test_a_refused_sign_off_lists_what_stands_in_the_way_and_goes_there(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await to_phase(hands, "Frame")
        await hands.press("o", until="cannot be signed off")
        blockers = stored(path).phase("frame").stands_in_way
        assert blockers and blockers[0].what in hands.shown
        await hands.press("enter", until="To do: read")
        assert isinstance(hands.app.screen, JobScreen)
        assert hands.app.screen.phase_key == "frame"
    assert stored(path).phase("frame").state is PhaseState.AHEAD


async def test_a_refused_start_is_gone_past_with_a_reason_that_stays_in_sight(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await to_phase(hands, "Take-off and quote")
        await hands.press("s", until="cannot start")
        await hands.press("end", "enter", until="Go past all of it: why?")
        await hands.press("enter", until="is empty")
        await hands.type("asked by phone")
        await hands.press("enter", until="started past 2 things: asked by phone")
    view = stored(path).phase("quote")
    assert view.state is PhaseState.UNDER_WAY
    assert [(past.who, {thing.key for thing in past.things}) for past in view.past] == [
        ("M. Holt", {"visit", "design"})
    ]


async def test_a_hand_over_on_screen_asks_why_each_thing_stays_open(path: Path) -> None:
    book = open_book(path)
    sign_off_all_before(book, hand_of("M. Holt", NOW.date()), "26-101", "final")
    book.close()
    async with at_the_keys(path) as hands:
        await to_phase(hands, "Hand-over")
        await hands.press("o", until="cannot be signed off")
        await hands.press("end", "enter", until="why each?")
        await hands.type("the walk is on Friday")
        await hands.press("enter", until="signed off past Final walk-through")
    (past,) = stored(path).phase("hand-over").past
    assert [(thing.key, thing.reason) for thing in past.things] == [("final", "the walk is on Friday")]


async def test_a_waiver_asks_for_its_reason_and_keeps_the_text_when_left(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await to_phase(hands, "Layout")
        await hands.press("w", until="why?")
        await hands.press("enter", until="is empty")
        await hands.type("rebuilt on old lines")
        await hands.press("escape", until=lambda: "why?" not in hands.shown)
        await hands.press("w", until="rebuilt on old lines")
        await hands.press("enter", until="waived")
    check = stored(path).check("layout-square")
    assert check.state is CheckState.WAIVED
    assert (check.waivers[0].who, check.waivers[0].reason) == ("M. Holt", "rebuilt on old lines")


async def test_a_person_who_may_not_waive_is_told_who_may(path: Path) -> None:
    async with at_the_keys(path, who="R. Stone") as hands:
        await to_phase(hands, "Layout")
        await hands.press("w", until="why?")
        await hands.type("looks fine")
        await hands.press("enter", until="R. Stone may not waive")
        assert "M. Holt" in hands.shown and "looks fine" in hands.shown
    assert stored(path).check("layout-square").state is CheckState.OPEN


async def test_hold_reopen_and_note_ask_first(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("enter", until="Site visit  ahead")
        await hands.press("s", until="Site visit  under way")
        await hands.press("h", until="why?")
        await hands.type("dog in the yard", "enter")
        await hands.until("held: dog in the yard")
        await hands.press("s", until="Site visit  under way")
        await hands.press("o", until="Site visit: signed off")
        await hands.press("left", until="Site visit  signed off")
        await hands.press("u", until="why?")
        await hands.type("wrong fence", "enter")
        await hands.until("Site visit  under way")
        await hands.press("n", until="Note")
        await hands.type("key under the pot", "enter")
        await hands.until(lambda: bool(stored(path).notes))
    assert stored(path).notes[0].text == "key under the pot"


async def test_a_question_answered_otherwise_after_a_lost_answer_shows_both(path: Path) -> None:
    """What was typed first is in the book under the question's own id, and nobody was told so."""
    async with at_the_keys(path) as hands:
        await hands.press("enter", until="planned ")
        await hands.press("n", until="note")
        asking = hands.app.screen
        assert isinstance(asking, Question)
        asking.entry_id = new_id()
        in_book(path, lambda book: add_note(book, OWNER, "26-101", "key under the pot", entry_id=asking.entry_id))
        await hands.type("dog in the yard", "enter")
        await hands.until("recorded from here already: key under the pot")
        assert "--id" not in hands.shown and len(stored(path).notes) == 1
        await hands.press("enter")
        await hands.until(lambda: len(stored(path).notes) == 2)
    assert [note.text for note in stored(path).notes] == ["key under the pot", "dog in the yard"]


async def test_a_folded_list_still_reaches_every_phase(path: Path) -> None:
    async with at_the_keys(path, size=(60, 20)) as hands:
        await hands.press("enter", until="Site visit")
        assert not hands.app.screen.query_one("#phases").display
        titles = [phase.title for phase in stored(path).phases]
        for title in titles[1:]:
            await hands.press("right", until=title[:20])


async def test_two_apps_on_one_book_see_each_other_and_keep_their_row(path: Path) -> None:
    put_job(path, "26-102", "Steps to the pond")
    async with at_the_keys(path) as one, at_the_keys(path, who="R. Stone") as two:
        await two.press("down", until="26-102")
        rows = two.app.screen.query_one(Table)
        assert rows.key == "26-102"
        await one.press("enter", until="Site visit  ahead")
        await one.press("s", until="Site visit  under way")
        await one.press("escape", until="OPEN JOBS")
        await two.until(lambda: "Site visit" in two.shown and stored(path).phases[0].state is PhaseState.UNDER_WAY)
        assert rows.key == "26-102"
        await two.press("enter", until="Steps to the pond")
        assert stored(path).phases[0].state is PhaseState.UNDER_WAY
