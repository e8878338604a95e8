"""What was typed and not saved outlives a closed terminal: it is kept beside the book and offered next time."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from textual.widgets import Static

from tests.often import examples
from tests.screens.conftest import NOW, Hands, at_the_keys, in_book
from tests.screens.test_reading import RACKED, enter, open_check, stored
from tracker.book.hand import hand
from tracker.book.jobs import job_view
from tracker.book.lots import order
from tracker.screens.app import DeckApp
from tracker.screens.drafts import Draft, DraftsFile, drafts_path, first_name, kept_drafts, plain
from tracker.screens.hours import HoursScreen
from tracker.screens.job import JobScreen
from tracker.screens.reading import ReadingScreen
from tracker.screens.ticket import TicketScreen


async def test_a_terminal_closed_in_the_middle_of_a_form_loses_nothing(path: Path) -> None:
    file = drafts_path(path.resolve(), "tablet")
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED[:3])
        await hands.until(lambda: file.exists() and RACKED[2] in str(kept_drafts(file)))
        assert file.stat().st_mode & 0o777 == 0o600
    async with at_the_keys(path, opened="drafts from last time: square of 26-101") as hands:
        await hands.press("j", until="OPEN JOBS")
        await open_check(hands, "Frame", "square")
        await hands.until("your draft is back")
        # Typing goes on where it was broken off: after what the draft holds.
        await hands.type(RACKED[3], "enter")
        await hands.press("ctrl+s", until="failed")
        await hands.until(lambda: not file.exists())
    assert [text for _, text in stored(path, "square").readings[-1].entered] == list(RACKED)


async def test_a_key_of_the_open_jobs_goes_to_a_kept_draft(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED[:2])
        await hands.press("escape", "escape", until="OPEN JOBS")
        await hands.press("k", until="your draft is back")
        assert "= 12'" in hands.shown and "square" in hands.shown
        await hands.press("escape", "escape", "enter", until="Site visit")
        await open_check_of_layout(hands)
        await hands.press("escape", "escape", until="OPEN JOBS")
        await hands.press("k", until="Typed and not saved: which?")
        await hands.press("end", "enter", until="your draft is back")
        assert "Layout square" in hands.shown


async def test_the_key_to_the_drafts_is_offered_once_there_is_one(path: Path) -> None:
    async with at_the_keys(path, size=(120, 40)) as hands:
        await hands.settle()
        assert "k drafts" not in hands.shown
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED[:2])
        await hands.press("escape", "escape", until="OPEN JOBS")
        await hands.settle()
        assert "k drafts" in hands.shown


async def test_an_answer_half_typed_outlives_the_terminal(path: Path) -> None:
    file = drafts_path(path.resolve(), "tablet")
    async with at_the_keys(path) as hands:
        await hands.press("enter", until="planned ")
        await hands.press("n", until="Note (26-101)")
        await hands.type("the gate is")
        await hands.until(lambda: "the gate is" in (file.read_text("ascii") if file.exists() else ""))
    async with at_the_keys(path) as hands:
        assert hands.app.draft_names == "Note (26-101)"
        await hands.press("enter", until="planned ")
        await hands.press("n", until="your draft is back: typing goes on with it, ctrl+u empties it")
        assert "the gate is" in hands.shown
        await hands.type(" stiff", "enter")
        await hands.until("noted on 26-101")
        await hands.until(lambda: not file.exists())


async def test_a_count_on_the_ticket_come_back_to_is_counted_again(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("enter", until="planned ")
        await hands.press("m", until="L1")
        await hands.press("r", until="an empty field: nothing came")
        await hands.press("1", until="= 1 board")
        await hands.press("escape", until=lambda: not isinstance(hands.app.screen, TicketScreen))
        await hands.press("r", until="your draft is back")
        await hands.press("2", until="= 2 boards")


async def open_check_of_layout(hands: Hands) -> None:
    """From the job to its layout check, with one value typed."""
    screen = hands.app.screen
    assert isinstance(screen, JobScreen)
    screen.go_to("layout", "layout-square")
    await hands.press("enter", until=lambda: isinstance(hands.app.screen, ReadingScreen))
    await hands.type("12'")
    await hands.until("= 12'")


def test_drafts_come_back_as_they_were(tmp_path: Path) -> None:
    drafts = {("26-101", "square.upper"): Draft("id", {"ac": "15' ½ \u202e"}, ["extra"], {"ac": "15'"})}
    window = DraftsFile()
    window.keep(tmp_path / "drafts", plain(drafts))
    assert kept_drafts(tmp_path / "drafts") == DraftsFile().read(tmp_path / "drafts") == drafts
    window.keep(tmp_path / "drafts", plain({("26-101", "square"): Draft("id")}))
    assert not (tmp_path / "drafts").exists()


KEYS = [("26-101", "square"), ("26-101", "level"), ("", "Note (26-101)\n")]
ACTS = st.lists(st.tuples(st.integers(0, 2), st.sampled_from(KEYS), st.sampled_from(["", "1", "12'"])), max_size=30)


@settings(max_examples=examples(60, 1200), deadline=None)
@given(ACTS)
@example(acts=[(n, KEYS[0], text) for n, text in ((1, "1"), (0, "1"), (0, ""), (2, "12'"), (0, "1"))])
def test_windows_on_one_book_keep_each_other_s_drafts(acts: list[tuple[int, tuple[str, str], str]]) -> None:
    """Whatever each window typed last into a form is there, and what it was done with is not, whoever came first."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "drafts"
        windows: list[tuple[DraftsFile, dict[tuple[str, str], Draft]]] = [(DraftsFile(), {}) for _ in range(3)]
        for number, key, text in acts:
            window, typed = windows[number]
            typed[key] = Draft("id", {"a": text} if text else {})
            window.keep(path, plain(typed))
        wanted = [(key, draft.texts["a"]) for _, typed in windows for key, draft in typed.items() if draft.texts]
        found = [((code, first_name(name)), draft.texts["a"]) for (code, name), draft in kept_drafts(path).items()]
        assert sorted(found) == sorted(wanted)


def test_what_was_looked_at_earlier_is_never_written_over_what_came_later(tmp_path: Path) -> None:
    path, window = tmp_path / "drafts", DraftsFile()
    texts = [str(n) for n in range(40)]
    looked = [(plain({KEYS[0]: Draft("id", {"a": text})}), next(window.turns)) for text in texts]
    with ThreadPoolExecutor(8) as threads:
        for typed, turn in reversed(looked):
            threads.submit(window.keep, path, typed, turn)
    assert [(key, draft.texts) for key, draft in kept_drafts(path).items()] == [(KEYS[0], {"a": texts[-1]})]


async def test_two_windows_on_one_form_lose_neither_draft(path: Path) -> None:
    one, other = (DeckApp(path, "M. Holt", "tablet", lambda: NOW) for _ in range(2))
    async with at_the_keys(path, app=one) as first, at_the_keys(path, app=other) as second:
        for hands, value in ((first, "12'"), (second, "11'")):
            await open_check(hands, "Frame", "square")
            await enter(hands, (value,))
        for hands in (first, second):
            await hands.press("escape", "escape", until="OPEN JOBS")
            hands.app.action_leave()
    async with at_the_keys(path, opened="square of 26-101, square, other window 2 of 26-101") as hands:
        await hands.press("j", "k", until="Typed and not saved: which?")
        await hands.press("end", "enter", until="your draft is back")
        await hands.until("= 11'")
        await hands.press("escape", "escape", until="OPEN JOBS")
        await hands.press("k", until="Typed and not saved: which?")
        await hands.press("end", "enter", until="your draft is back")
        await hands.until("= 12'")
        for value in RACKED[1:]:
            await hands.type(value, "enter")
        await hands.press("ctrl+s", until="failed")
        await hands.until(lambda: len(kept_drafts(drafts_path(path.resolve(), "tablet"))) == 1)
    assert [text for _, text in stored(path, "square").readings[-1].entered] == list(RACKED)
    (left,) = kept_drafts(drafts_path(path.resolve(), "tablet")).values()
    assert left.texts["width"] == "11'"


async def test_two_windows_answering_one_question_lose_neither_answer(path: Path, patient: None) -> None:
    one, other = (DeckApp(path, "M. Holt", "tablet", lambda: NOW) for _ in range(2))
    async with at_the_keys(path, app=one) as first, at_the_keys(path, app=other) as second:
        for hands, text in ((first, "the gate sticks"), (second, "ring at noon")):
            await hands.press("enter", until="planned ")
            await hands.press("n", until="Note (26-101)")
            await hands.type(text)
        for hands in (first, second):
            await hands.press("escape", "escape", until="OPEN JOBS")
            hands.app.action_leave()
    async with at_the_keys(path) as hands:
        await hands.press("enter", until="planned ")
        for _ in range(2):  # which comes first is whose was kept first, and that is the clock's to say
            await hands.press("n", until="your draft is back")
            await hands.press("enter", until=lambda: "Note (26-101)" not in hands.said)
            await hands.until("noted on 26-101")
    noted = in_book(path, lambda book: [note.text for note in job_view(book, "26-101", NOW.date()).notes])
    assert sorted(noted) == ["ring at noon", "the gate sticks"]


async def test_a_draft_of_last_time_is_told_of_while_it_is_there(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("enter", until="planned ")
        await hands.press("n", until="Note (26-101)")
        await hands.type("the gate")
        await hands.press("escape", "escape", until="OPEN JOBS")
        hands.app.action_leave()
    async with at_the_keys(path, opened="drafts from last time: Note (26-101) (k goes there)") as hands:
        await hands.press("k", until="it is offered again")
        await hands.press("n", until="your draft is back")
        await hands.press("enter", until="noted on 26-101")
        while hands.app.screen is not hands.app.home:
            await hands.press("escape")
        await hands.until(lambda: "drafts from last time" not in hands.said)


async def test_every_kind_of_draft_is_named_at_leaving_and_next_time_and_k_goes_there(path: Path) -> None:
    who = hand("M. Holt", NOW, "tablet")
    in_book(path, lambda book: order(book, who, "26-101", "block", 3, lot="B1", anyway=True))
    names = "square of 26-101, Note (26-101), Waive Frame square: why? (26-101), hours of 26-101, "
    names += "Cancel what is still to come of lot B1 of 26-101, block: 3 pieces"
    async with at_the_keys(path, size=(120, 40)) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED[:1])
        await hands.press("escape", "n", until="Note (26-101)")
        await hands.type("the gate")
        await hands.press("escape", "w", until="Waive Frame square: why? (26-101)")
        await hands.type("no tape")
        await hands.press("escape", "t", until=lambda: isinstance(hands.app.screen, HoursScreen))
        await hands.type("3h")
        await hands.press("escape", "m", until="B1")
        await hands.press("k", until="Cancel what is still to come")
        await hands.type("2")
        await hands.press("escape", "escape", "escape", until="OPEN JOBS")
        assert hands.app.draft_names == names
        hands.app.action_leave()
        assert str(hands.app._exit_renderables[-1]) == f"kept as drafts, not in the book: {names}"
    async with at_the_keys(path, size=(120, 40), opened="drafts from last time: ") as hands:
        told = str(hands.app.home.query_one("#told", Static).content)
        assert told == f"drafts from last time: {names} (k goes there)"
        for number, there in enumerate(
            ("your draft is back", "it is offered again", "it is offered again", "3h", "lot B1 of")
        ):
            await hands.press("k", until="Typed and not saved: which?")
            assert all(
                name in hands.said
                for name in ("square of 26-101", "Note (26-101)", "Waive Frame", "hours of", "Cancel")
            )
            await hands.press(*["down"] * number, "enter", until=there)
            while hands.app.screen is not hands.app.home:
                await hands.press("escape")


@pytest.mark.parametrize(
    "text", ["", "{", "[]", '{"a/b": {}}', '{"a/b": {"entry_id": 1, "texts": 2, "rows": 3}}', "\xff"]
)
def test_a_drafts_file_that_is_not_ours_is_as_good_as_none(tmp_path: Path, text: str) -> None:
    (tmp_path / "drafts").write_text(text, "utf-8")
    assert kept_drafts(tmp_path / "drafts") == {}
