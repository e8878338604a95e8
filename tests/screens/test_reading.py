"""Readings entered by keys alone, on the real book."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.screens.conftest import NOW, Hands, at_the_keys, in_book, to_phase
from tracker.book.hand import hand
from tracker.book.jobs import job_view
from tracker.book.opening import open_book
from tracker.book.readings import record, take_back
from tracker.book.views import CheckState, CheckView
from tracker.screens.cells import unit_of
from tracker.screens.job import JobScreen
from tracker.screens.reading import ReadingScreen
from tracker.screens.rows import Rows
from tracker.trade.lengths import Unit
from tracker.trade.readings import Field, Kind


def stored(path: Path, key: str) -> CheckView:
    """A check of the job as the book has it."""
    book = open_book(path)
    try:
        return job_view(book, "26-101", NOW.date()).check(key)
    finally:
        book.close()


async def open_check(hands: Hands, phase: str, key: str) -> None:
    """Go to a check's form."""
    await to_phase(hands, phase)
    checks = hands.app.screen.query_one("#checks", Rows)
    await hands.press("home")
    for _ in range(12):
        if checks.key == key:
            break
        await hands.press("down")
    await hands.press("enter", until=lambda: isinstance(hands.app.screen, ReadingScreen))


# A 9 by 12 rectangle has the diagonal 15 (Pythagoras). A frame racked by s has d1^2 - d2^2 = 4 a s, by the law of
# cosines; with d1 = 15 ft + 1/4 in, d2 = 15 ft - 1/4 in and a = 144 in: s = 0.5 x 360 / 576 = 0.3125 = 5/16 in.
RACKED = ("12'", "9'", "15' 1/4", "14' 11-3/4")


async def enter(hands: Hands, values: tuple[str, ...]) -> None:
    for value in values:
        await hands.type(value, "enter")


async def test_square_fails_with_the_push_then_passes(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED)
        await hands.until("1/2 in between the diagonals")
        assert "FAILED" in hands.shown
        assert "5/16 in" in hands.shown
        assert "= 14' 11-3/4\"" in hands.shown
        await hands.press("ctrl+s", until="failed")
        assert stored(path, "square").state is CheckState.FAILED
        await hands.press("enter", until="F4 fills in")
        await enter(hands, ("12'", "9'", "15'", "15'"))
        await hands.until("PASSED")
        await hands.press("f10", until="passed")
    check = stored(path, "square")
    assert check.state is CheckState.PASSED
    assert [reading.who for reading in check.readings] == ["M. Holt", "M. Holt"]
    assert ("ac", "15' 1/4") in check.readings[0].entered


async def test_a_wrong_value_is_said_beside_and_stops_the_save(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, ("12'", "9'", "15 feet or so"))
        await hands.until("not understood")
        await hands.press("ctrl+s", until="Mend it, then save")
        assert not stored(path, "square").readings
        await hands.press("up", until=lambda: "15 feet or so" in hands.shown)


async def test_escape_keeps_a_draft_and_offers_it_again(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, ("12'", "9'"))
        await hands.press("escape", until="(draft)")
        await hands.press("enter", until="your draft is back")
        assert "= 12'" in hands.shown and "= 9'" in hands.shown
        await hands.press("escape", until="(draft)")
        await hands.press("enter", "f8", until="F8 again puts back")
        await hands.press("f8", until="what you had typed is back")
        assert "= 12'" in hands.shown and "= 9'" in hands.shown
        await hands.press("f8", until="every field is empty")
        await hands.press("escape", until=lambda: "(draft)" not in hands.shown)


async def test_a_busy_book_keeps_the_values_and_a_second_save_records_once(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED)
        await hands.until("FAILED")
        with closing(sqlite3.connect(path, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            await hands.press("ctrl+s", until="the book is busy")
            assert "= 14' 11-3/4\"" in hands.shown
            other.execute("ROLLBACK")
        await hands.press("ctrl+s", "ctrl+s", until="failed")
    assert len(stored(path, "square").readings) == 1


async def test_a_draft_changed_after_a_save_whose_answer_was_lost_is_told_what_was_recorded(path: Path) -> None:
    """The program was killed after the save and before its answer: the draft came back, and was changed."""
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED)
        draft = hands.app.drafts["26-101", "square"]
        await hands.press("ctrl+s", until="failed")
        draft.tried = None
        hands.app.drafts["26-101", "square"] = draft
        await hands.press("enter", until="your draft is back")
        await hands.type("0", "ctrl+s")
        await hands.until("recorded from here already")
        assert "--id" not in hands.shown and len(stored(path, "square").readings) == 1
        await hands.press("escape", "ctrl+s")
        await hands.until(lambda: not isinstance(hands.app.screen, ReadingScreen))
    assert len(stored(path, "square").readings) == 2


async def test_the_same_draft_saved_twice_records_once(path: Path) -> None:
    """A save whose answer was lost: the draft, its id kept, is saved a second time."""
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED)
        draft = hands.app.drafts["26-101", "square"]
        await hands.press("ctrl+s", until="failed")
        hands.app.drafts["26-101", "square"] = draft
        await hands.press("enter", until="your draft is back")
        await hands.press("ctrl+s", until="already recorded")
        hands.app.drafts["26-101", "square"] = draft
        await hands.press("enter", until="your draft is back")
        await hands.type("0", "ctrl+s")
        await hands.until(lambda: not isinstance(hands.app.screen, ReadingScreen))
    assert len(stored(path, "square").readings) == 2


async def test_last_values_fill_only_empty_fields(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED)
        await hands.press("ctrl+s", until="failed")
        await hands.press("enter", "down", "down", until="F4 fills in")
        await hands.type("15'")
        await hands.press("f4", until="the empty fields hold the last reading")
        screen = hands.app.screen
        assert isinstance(screen, ReadingScreen)
        assert screen.texts() == {"width": "12'", "depth": "9'", "ac": "15'", "bd": "14' 11-3/4"}


async def test_a_long_table_scrolls_to_the_field_in_hand_and_takes_a_row_more(path: Path) -> None:
    async with at_the_keys(path, size=(60, 20)) as hands:
        await open_check(hands, "Frame", "crown")
        rows = len(stored(path, "crown").form.rows)
        assert rows > 8
        await hands.press(*["enter"] * (rows - 1), until=f"joist {rows}")
        await hands.type("+1/8")
        await hands.until('= 1/8"')
        await hands.press("f3", until="Add a joist")
        await hands.press("enter", until=f"joist {rows + 1}")
        await hands.type("1/16", "escape")
        await hands.press("enter", until="your draft is back")
        screen = hands.app.screen
        assert isinstance(screen, ReadingScreen)
        assert screen.texts() == {str(rows): "+1/8", str(rows + 1): "1/16"}


async def test_the_working_shows_the_source(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED)
        await hands.until("FAILED")
        await hands.press("f2", until="Working: Frame square")
        await hands.press("end", until="Source")


async def test_wide_screens_put_the_verdict_beside_the_fields(path: Path) -> None:
    async with at_the_keys(path, size=(120, 40)) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED)
        await hands.until("FAILED")
        line = next(line for line in hands.shown.splitlines() if "FAILED" in line)
        assert line.index("FAILED") > 60


SIZES = ((120, 40), (60, 20))


def read(path: Path, *values: str, key: str = "square") -> str:
    """Record a reading without the screens; gives back its id."""
    return in_book(path, lambda book: record(book, hand("R. Vale", NOW, "office"), "26-101", key, values).id)


def row_of(hands: Hands, text: str) -> int:
    """The row of the screen on which a text stands."""
    return next(row for row, line in enumerate(hands.shown.splitlines()) if text in line)


@pytest.mark.parametrize("size", SIZES)
async def test_every_key_of_the_form_does_what_help_says(path: Path, size: tuple[int, int]) -> None:
    read(path, *RACKED)
    async with at_the_keys(path, size=size) as hands:
        await open_check(hands, "Frame", "square")
        await hands.until("last read by R. Vale")
        screen = hands.app.screen
        assert isinstance(screen, ReadingScreen)
        await hands.press("f1", until="Keys")
        await hands.press("escape", until=lambda: hands.app.screen is screen)
        await hands.press("f4", until="the empty fields hold the last reading")
        assert screen.texts()["ac"] == RACKED[2]
        await hands.until("FAILED")
        await hands.press("f2", until="Working: Frame square")
        await hands.press("escape", until=lambda: hands.app.screen is screen)
        await hands.press("f8", until="every field is empty")
        assert screen.texts() == {}
        await hands.press("f8", until="what you had typed is back")
        await hands.press("up", "up", until=lambda: getattr(screen.focused, "value_name", "") == "ac")
        await hands.press("up", until=lambda: getattr(screen.focused, "value_name", "") == "depth")
        await hands.press("f5", until="CORRECTS the reading by R. Vale" if size[0] >= 80 else "takes the place of")
        await hands.press("f5", until="saving adds a new reading")
        if size == (120, 40):
            assert screen.check_action("picture", ()) is False
        else:
            await hands.press("f6", until="drawn 100 x too skewed")
            await hands.press("f6", until="F6 shows the picture")
        await hands.press("f7", until="Take back the reading of Frame square by R. Vale")
        await hands.press("escape", until=lambda: hands.app.screen is screen)
        await hands.press("f10", until=lambda: hands.app.screen is not screen)
    assert len(stored(path, "square").readings) == 2


@pytest.mark.parametrize("size", SIZES)
async def test_the_picture_follows_what_is_typed_and_nothing_jumps(path: Path, size: tuple[int, int]) -> None:
    async with at_the_keys(path, size=size) as hands:
        await open_check(hands, "Frame", "square")
        await hands.until("NOT ENOUGH YET")
        if size != (120, 40):
            await hands.press("f6", until="A-C ?")
        word = row_of(hands, "NOT ENOUGH YET")
        await enter(hands, RACKED[:3])
        await hands.until("A-C 15' 1/4\"")
        assert row_of(hands, "NOT ENOUGH YET") == word
        await hands.type(RACKED[3])
        await hands.until("drawn 100 x too skewed")
        # The push of RACKED by the law of cosines, worked out above: 5/16 in; the back edge goes to the left.
        await hands.until("← push the back edge 5/16 in to")
        assert row_of(hands, "FAILED") == word
        await hands.press(*["backspace"] * len(RACKED[3]))
        await hands.type("15' 1/4")
        await hands.until("square, drawn true")
        assert row_of(hands, "PASSED") == word


async def test_the_verdict_in_front_gives_way_to_the_picture_and_comes_back(path: Path) -> None:
    async with at_the_keys(path, size=(60, 20)) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED)
        await hands.until("FAILED")
        await hands.until("do ")
        assert "too skewed" not in hands.said
        await hands.press("f6", until="too skewed")
        assert "1/2 in between the diagonals" in hands.said
        await hands.press("f6", until="do ")
        assert "too skewed" not in hands.said


async def test_a_check_without_a_picture_leaves_the_room_to_the_verdict(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_check(hands, "Delivery and yard check", "delivery")
        screen = hands.app.screen
        assert isinstance(screen, ReadingScreen)
        assert screen.check_action("picture", ()) is False
        assert not screen.query_one("#picture").display and screen.query_one("#verdict").display
        assert "F6" not in hands.shown


async def test_units_and_the_last_reading_stand_beside_the_fields(path: Path) -> None:
    read(path, *RACKED)
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        line = next(line for line in hands.shown.splitlines() if "Diagonal A to C" in line)
        assert " in " in line and f"last {RACKED[2]}" in line


def test_the_unit_of_a_field_is_that_of_a_bare_number() -> None:
    def shown(kind: Kind, unit: Unit, own: str = "") -> str:
        return unit_of(Field("key", "label", kind, unit=own), unit)

    assert [shown(kind, Unit.INCH) for kind in (Kind.LENGTH, Kind.SIGNED, Kind.LENGTHS)] == ["in"] * 3
    assert shown(Kind.LENGTH, Unit.MM) == "mm" and shown(Kind.PERCENT, Unit.MM) == "%"
    assert shown(Kind.NUMBER, Unit.INCH, "°F") == "°F" and shown(Kind.COUNT, Unit.INCH) == ""


@pytest.mark.parametrize(("size", "apart"), [((120, 40), 2), ((80, 24), 1), ((60, 20), 1)])
async def test_fields_stand_apart_where_there_is_room(path: Path, size: tuple[int, int], apart: int) -> None:
    async with at_the_keys(path, size=size) as hands:
        await open_check(hands, "Frame", "square")
        assert row_of(hands, "Depth, A to D") - row_of(hands, "Width, A to B") == apart


async def test_correcting_takes_the_place_of_the_last_reading(path: Path) -> None:
    wrong = read(path, *RACKED)
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await hands.press("f5", until="CORRECTS the reading by R. Vale")
        screen = hands.app.screen
        assert isinstance(screen, ReadingScreen)
        assert screen.texts()["bd"] == RACKED[3]
        await hands.press("down", "down")
        await hands.press("end", *["backspace"] * len(RACKED[2]))
        await hands.type("14' 11-3/4")
        await hands.until("PASSED")
        await hands.press("ctrl+s", until="passed")
    check = stored(path, "square")
    assert check.state is CheckState.PASSED
    assert [reading.corrects for reading in check.readings] == ["", wrong]
    assert check.last is not None and check.last.corrects == wrong


async def test_a_correction_says_what_another_window_has_read_since(path: Path) -> None:
    older = read(path, *RACKED)
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await hands.press("f5", until="CORRECTS the reading by R. Vale")
        await hands.press("down", "down")
        await hands.press("end", *["backspace"] * len(RACKED[2]))
        await hands.type("14' 11-3/4")
        await hands.until("PASSED")
        newer = read(path, *RACKED)
        await hands.press("ctrl+s", until="has been read since: FAILED")
        await hands.press("escape", "ctrl+s", until="the newest reading decides")
    check = stored(path, "square")
    assert check.state is CheckState.FAILED and check.last is not None and check.last.id == newer
    assert [reading.corrects for reading in check.readings] == ["", "", older]


async def test_the_same_numbers_saved_from_two_windows_are_asked_about(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, ("144", *RACKED[1:]))
        in_book(path, lambda book: record(book, hand("R. Stone", NOW, "phone"), "26-101", "square", list(RACKED)))
        await hands.press("ctrl+s", until="Is this another one?")
        assert "R. Stone recorded the same numbers, Tue 12 May. Is" in hands.said
        await hands.press("enter", until="Nothing was recorded; what you typed stays")
        assert len(stored(path, "square").readings) == 1
        await hands.press("ctrl+s", until="Is this another one?")
        await hands.type("yes", "enter")  # words and enter choose no line that happens to be in hand
        await hands.until("nothing is chosen by typing")
        assert len(stored(path, "square").readings) == 1
        await hands.press("down", "enter", until="failed")
        await hands.until(lambda: isinstance(hands.app.screen, JobScreen))
    assert len(stored(path, "square").readings) == 2


async def test_numbers_that_were_known_are_measured_again_without_a_question(path: Path) -> None:
    in_book(path, lambda book: record(book, hand("R. Stone", NOW, "phone"), "26-101", "square", list(RACKED)))
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED)
        await hands.press("ctrl+s", until="failed")
    assert len(stored(path, "square").readings) == 2


async def test_a_correction_left_as_a_draft_is_one_still_when_it_comes_back(path: Path) -> None:
    wrong = read(path, *RACKED)
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await hands.press("f5", until="CORRECTS the reading by R. Vale")
        file = hands.app.drafts_file
        await hands.until(lambda: file.exists() and wrong in file.read_text("ascii"))
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await hands.until("CORRECTS the reading by R. Vale")
        await hands.press("ctrl+s", until="failed")
    assert [reading.corrects for reading in stored(path, "square").readings] == ["", wrong]


@pytest.mark.parametrize("size", SIZES)
async def test_a_reading_is_taken_back_from_its_form(path: Path, size: tuple[int, int]) -> None:
    read(path, "12'", "9'", "15'", "15'")
    read(path, *RACKED)
    async with at_the_keys(path, size=size) as hands:
        await open_check(hands, "Frame", "square")
        await hands.press("f7", until="why?")
        await hands.type("tape on the wrong corner", "enter")
        await hands.until("taken back")
        await hands.until(lambda: isinstance(hands.app.screen, JobScreen))
    check = stored(path, "square")
    assert check.state is CheckState.PASSED
    assert [bool(reading.withdrawn) for reading in check.readings] == [False, True]


async def test_x_on_the_job_takes_a_reading_back_and_is_offered_only_where_there_is_one(path: Path) -> None:
    async with at_the_keys(path, size=(120, 40)) as hands:
        await open_check(hands, "Frame", "square")
        await hands.press("escape")
        screen = hands.app.screen
        assert isinstance(screen, JobScreen)
        assert screen.check_action("take_back", ()) is False
        read(path, *RACKED)
        await hands.until("failed")
        await hands.press("x", until="why?")
        await hands.press("enter", until="is empty")
        await hands.type("read on the other deck", "enter")
        await hands.until("none is left")
        await hands.until("was taken back: read")
    assert stored(path, "square").state is CheckState.OPEN


async def test_what_is_typed_stays_when_a_reading_is_taken_back(path: Path) -> None:
    read(path, *RACKED)
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await hands.type("12'")
        await hands.press("f7", until="why?")
        await hands.type("a slip", "enter")
        await hands.until("(draft)")
        await hands.press("enter", until="your draft is back")


async def test_a_reading_taken_back_by_somebody_else_meanwhile_is_not_taken_back_twice(path: Path) -> None:
    read(path, "12'", "9'", "15'", "15'")
    read(path, *RACKED)
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await hands.press("f7", until="why?")
        in_book(path, lambda book: take_back(book, hand("R. Vale", NOW, "office"), "26-101", "square", "a slip"))
        await hands.type("a slip", "enter")
        await hands.until("another one by now")
    assert stored(path, "square").state is CheckState.PASSED


async def test_values_that_cannot_be_judged_keep_the_picture_of_the_rest(path: Path) -> None:
    async with at_the_keys(path, size=(120, 40)) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, ("1",))
        await hands.until("CANNOT BE RIGHT")
        assert 'A-B 1"' in hands.said


async def test_the_picture_of_a_table_follows_row_by_row(path: Path) -> None:
    async with at_the_keys(path, size=(120, 40)) as hands:
        await open_check(hands, "Frame", "fasteners")
        # Typing starts at the first joint, past the fasteners left and their coating, which may stay empty.
        await enter(hands, ("4", "3"))
        # One fastener for every 2 in of nominal depth (common practice): 4 in a 2x8 joint.
        await hands.until("1R ●●●○ !")
        assert "missing: 1 at 1R" in hands.said


async def test_what_was_said_of_an_empty_form_is_gone_with_the_next_typing(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await enter(hands, RACKED[:2])
        await hands.press("f8", until="F8 again puts back what was in them")
        await hands.type("14'")
        await hands.until(lambda: "F8 again" not in hands.said)


async def test_a_complaint_is_gone_with_the_next_typing(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_check(hands, "Frame", "square")
        await hands.press("ctrl+s", until="nothing is typed yet")
        await hands.type("14")
        await hands.until("= 1' 2\"")
        await hands.until(lambda: "nothing is typed yet" not in hands.said)
