"""Taking a job in by keys alone, from an empty book to its file; and changing one by a change order."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from io import BytesIO
from pathlib import Path

import pytest
from textual.events import Key

from tests.book.conftest import change_orders_of
from tests.screens.conftest import NOW, Hands, at_the_keys, in_book, put_prices
from tracker.book.changing import accept_change, difference
from tracker.book.gates import sign_off, start
from tracker.book.hand import hand
from tracker.book.jobs import job_view
from tracker.book.opening import Book, open_book
from tracker.book.proposal import job_source
from tracker.book.readings import record
from tracker.book.views import CheckState, JobView, PhaseState
from tracker.errors import InputError
from tracker.screens.answering import CHECK, AnswerCell
from tracker.screens.changing import ChangingScreen
from tracker.screens.drafts import drafts_path, kept_drafts
from tracker.screens.job import JobScreen
from tracker.screens.morning import MorningScreen
from tracker.screens.planwidget import PlanView
from tracker.screens.rows import Rows
from tracker.screens.taking import TakingScreen
from tracker.trade.jobfile import parse_job_bytes
from tracker.trade.jobfile.form import JobForm
from tracker.trade.lengths import FOOT

SIZES = [(60, 20), (120, 40)]
EMPTY = "No open job in this book yet"


@pytest.fixture
def empty(tmp_path: Path) -> Path:
    """A book with nothing in it."""
    path = tmp_path / "new.book"
    open_book(path).close()
    return path


def view_of(path: Path, code: str) -> JobView:
    return in_book(path, lambda book: job_view(book, code, NOW.date()))


def form(hands: Hands) -> TakingScreen:
    screen = hands.app.screen
    assert isinstance(screen, TakingScreen)
    return screen


def answers(hands: Hands) -> JobForm:
    found = form(hands).form
    assert found is not None
    return found


async def at_field(hands: Hands, key: str) -> None:
    """Wait until a field is in hand."""
    await hands.until(lambda: isinstance(hands.app.focused, AnswerCell) and hands.app.focused.value_name == key)


async def to_field(hands: Hands, key: str) -> None:
    """Go down to a field of the step."""
    for _ in range(30):
        if isinstance(hands.app.focused, AnswerCell) and hands.app.focused.value_name == key:
            return
        await hands.press("down")
    raise AssertionError(f"no field {key}\n{hands.shown}")


async def next_step(hands: Hands, first: str) -> None:
    await hands.press("pagedown")
    await at_field(hands, first)


async def open_form(hands: Hands) -> None:
    await hands.press("n", until=lambda: isinstance(hands.app.screen, TakingScreen))
    await at_field(hands, "code")


async def first_answers(hands: Hands) -> None:
    """Who, where, and three sizes of a raised deck on the house."""
    await open_form(hands)
    await hands.press("enter")
    await at_field(hands, "title")
    await hands.type("Porch deck", "enter")
    await hands.type("Client Q", "enter")
    await next_step(hands, "platform.0.name")
    await to_field(hands, "platform.0.size.0")
    await hands.type("16'", "enter")
    await hands.type("12'", "enter")
    await hands.type("5' 6", "enter")
    await next_step(hands, "platform.0.attachment")


@pytest.mark.parametrize("size", SIZES)
async def test_from_an_empty_book_to_a_taken_job_and_its_file(empty: Path, size: tuple[int, int]) -> None:
    put_prices(empty)
    async with at_the_keys(empty, size=size, opened=EMPTY) as hands:
        await first_answers(hands)
        await hands.press("right", until=lambda: "platform.0.beam.0.at" in answers(hands).by_key)
        await hands.until("attached")
        await hands.press("ctrl+s", until="Frost depth")
        assert "needed" in hands.shown, "what is missing is named by its step and field"
        await hands.press("enter")
        await at_field(hands, "site_facts.frost_depth")
        await hands.type("36 in")
        await hands.press("ctrl+s", until="26-001 Porch deck")
        await hands.until(lambda: "goods not priced, 5.9 crew" in hands.shown)
        await hands.press("pagedown", "pageup", "pageup", until=lambda: form(hands).step.key != CHECK)
        await hands.press("ctrl+s", until="26-001 Porch deck")
        await hands.until(lambda: "goods not priced, 5.9 crew" in hands.shown)
        await hands.press("ctrl+s", until="Write the job file to:")
        await hands.press("enter", until="written:")
        assert isinstance(hands.app.screen, MorningScreen)
        await hands.until(lambda: not kept_drafts(drafts_path(empty.resolve(), "tablet")))
    view = view_of(empty, "26-001")
    (platform,) = view.spec.platforms
    assert (platform.width_nm, platform.depth_nm, platform.attached) == (16 * FOOT, 12 * FOOT, True)
    assert platform.guard is not None and len(platform.beams) == 1
    file = parse_job_bytes((empty.parent / "26-001-porch-deck.toml").read_bytes(), "26-001-porch-deck.toml")
    assert file.spec == view.spec and file.source == in_book(empty, lambda book: job_source(book, "26-001"))


async def test_the_plan_and_the_price_stand_beside_the_form_as_it_is_typed(empty: Path) -> None:
    put_prices(empty)
    async with at_the_keys(empty, size=(120, 40), opened=EMPTY) as hands:
        await first_answers(hands)
        await hands.until("13 joists")
        plan = hands.app.screen.query_one(PlanView)
        assert plan.drawing is not None and plan.drawing.width_nm == 16 * FOOT
        assert "so far:" in hands.said and "ASK THE PERMIT OFFICE" not in hands.shown
        await hands.press("pageup")
        await at_field(hands, "platform.0.name")
        await to_field(hands, "platform.0.size.0")
        await hands.press("backspace", "backspace", "backspace")
        await hands.type("12'")
        await hands.until("10 joists")


async def test_on_a_narrow_screen_a_key_shows_them_in_its_place(empty: Path) -> None:
    async with at_the_keys(empty, opened=EMPTY) as hands:
        await first_answers(hands)
        await hands.press("f4", until="FRAME")
        assert hands.app.screen.query_one(PlanView).display
        await hands.press("escape", until="Stands")
        assert isinstance(hands.app.screen, TakingScreen)


@pytest.mark.parametrize("size", SIZES)
async def test_a_wrong_answer_is_named_at_its_field_and_stops_the_save(empty: Path, size: tuple[int, int]) -> None:
    async with at_the_keys(empty, size=size, opened=EMPTY) as hands:
        await first_answers(hands)
        await hands.press("pageup")
        await at_field(hands, "platform.0.name")
        await to_field(hands, "platform.0.height")
        await hands.press("backspace", "backspace", "backspace", "backspace")
        await hands.type("3 in")
        await hands.until("or more")
        await hands.press("backspace", "backspace", "backspace", "backspace")
        await hands.type("soon")
        await hands.until("not understood")
        await hands.press("ctrl+s", until="Size and height, Height")
        await hands.press("ctrl+s", until="to give or mend first")
        rows = hands.app.screen.query_one("#faults", Rows)
        while rows.key != "platform.0.height":
            await hands.press("down")
        await hands.press("enter")
        await at_field(hands, "platform.0.height")
    with pytest.raises(InputError, match="no jobs"):
        view_of(empty, "26-001")


async def test_escape_keeps_the_draft_and_k_brings_it_back(empty: Path) -> None:
    async with at_the_keys(empty, opened=EMPTY) as hands:
        await first_answers(hands)
        await hands.press("escape", until=lambda: isinstance(hands.app.screen, MorningScreen))
        await hands.press("ctrl+q")
    assert kept_drafts(drafts_path(empty.resolve(), "tablet"))
    async with at_the_keys(empty, opened=EMPTY) as hands:
        await hands.until("job form of a new job")
        await hands.press("k", until="your draft is back")
        await at_field(hands, "platform.0.attachment")
        await hands.press("pageup")
        await at_field(hands, "platform.0.name")
        assert "= 16'" in hands.shown and "= 5' 6\"" in hands.shown


async def test_choices_go_by_arrows_by_a_list_and_by_their_first_letters(empty: Path) -> None:
    async with at_the_keys(empty, opened=EMPTY) as hands:
        await first_answers(hands)
        await to_field(hands, "platform.0.support")
        await hands.press("f3", until="blocks on the ground")
        await hands.press("down", "enter", until=lambda: isinstance(hands.app.screen, TakingScreen))
        assert answers(hands).value("platform.0.support") == "blocks"
        await hands.until(lambda: "platform.0.beam.0.at" not in {cell.value_name for cell in form(hands).cells()})
        await hands.press("right", until="footings")
        await hands.until(lambda: "platform.0.beam.0.at" in {cell.value_name for cell in form(hands).cells()})
        await hands.press("backspace", "backspace", "backspace", "backspace", "backspace", until="= footings")


async def test_a_second_platform_is_added_and_taken_out(empty: Path) -> None:
    async with at_the_keys(empty, opened=EMPTY) as hands:
        await first_answers(hands)
        await hands.press("f7")
        await at_field(hands, "platform.1.name")
        await hands.until("upper: Size and height")
        await hands.press("f8", until="upper is taken out")
        await at_field(hands, "code")
        assert answers(hands).platforms == 1


async def test_a_code_that_is_taken_is_said_at_once(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await open_form(hands)
        await hands.type("26-101")
        await hands.until("26-101 is taken: Platform by the pear tree")


async def test_in_a_browser_the_file_is_a_download(empty: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async with at_the_keys(empty, opened=EMPTY) as hands:
        sent: dict[str, bytes] = {}

        def deliver(path_or_file: BytesIO, *, save_filename: str, **more: object) -> str:
            sent[save_filename] = path_or_file.read()
            return "key"

        await first_answers(hands)
        await hands.press("ctrl+s", until="Frost depth")
        await hands.press("enter")
        await at_field(hands, "site_facts.frost_depth")
        await hands.type("36 in")
        await hands.press("ctrl+s", until="26-001 Porch deck")
        monkeypatch.setattr(type(hands.app), "is_web", property(lambda app: True))
        monkeypatch.setattr(hands.app, "deliver_binary", deliver)
        await hands.press("ctrl+s", until="downloads of your browser")
        assert list(sent) == ["26-001-porch-deck.toml"] and b'title = "Porch deck"' in sent["26-001-porch-deck.toml"]
    assert not list(empty.parent.glob("*.toml"))


# -- a change order


def begun(path: Path) -> None:
    """A job with its layout read and signed off and its frame under way with a square reading."""

    def work() -> None:
        owner, code = hand("M. Holt", NOW, "office"), "26-101"
        book = open_book(path)
        try:
            for phase in ("visit", "design", "quote"):
                sign_off(book, owner, code, phase)
            record(book, owner, code, "layout-square", ["12'", "9'", "15'", "15'"])
            sign_off(book, owner, code, "layout")
            start(book, owner, code, "strip")
        finally:
            book.close()

    work()


async def wider(hands: Hands) -> None:
    """From the open jobs to the differences of a platform 16' wide."""
    await hands.press("enter", until=lambda: isinstance(hands.app.screen, JobScreen))
    await hands.until("Strip and grade")
    await hands.press("e", until=lambda: isinstance(hands.app.screen, ChangingScreen))
    await at_field(hands, "title")
    await next_step(hands, "platform.0.name")
    await to_field(hands, "platform.0.size.0")
    await hands.press("backspace", "backspace", "backspace")
    await hands.type("16'")
    await hands.press("ctrl+s", until="is now 16' x 9'")


@pytest.mark.parametrize("size", SIZES)
async def test_a_change_order_shows_its_differences_before_it_is_accepted(path: Path, size: tuple[int, int]) -> None:
    begun(path)
    async with at_the_keys(path, size=size) as hands:
        await wider(hands)
        await hands.until("COST AND DAYS")
        await hands.press("end", until="open again: Layout")
        assert view_of(path, "26-101").check("layout-square").state is CheckState.PASSED
        await hands.press("ctrl+s", until="why?")
        await hands.type("a table has to fit", "enter")
        await hands.until("read again: layout-square")
        await hands.until(lambda: not kept_drafts(drafts_path(path.resolve(), "tablet")))
    view = view_of(path, "26-101")
    assert view.spec.platforms[0].width_nm == 16 * FOOT
    assert view.phase("layout").state is PhaseState.UNDER_WAY
    assert view.check("layout-square").state is CheckState.OPEN
    (order,) = in_book(path, lambda book: change_orders_of(book, "26-101"))
    assert (order.who, order.reason) == ("M. Holt", "a table has to fit")


async def test_only_the_owner_accepts_and_the_typing_is_kept(path: Path) -> None:
    begun(path)
    async with at_the_keys(path, who="R. Stone") as hands:
        await wider(hands)
        await hands.until("COST AND DAYS")
        await hands.press("ctrl+s", until="why?")
        await hands.type("wider", "enter")
        await hands.until("R. Stone may not accept a change order")
        await hands.press("escape", until="COST AND DAYS")
        await hands.press("escape", until=lambda: isinstance(hands.app.screen, JobScreen))
        await hands.press("e")
        await hands.until("your draft is back")
    assert not in_book(path, lambda book: change_orders_of(book, "26-101"))


async def test_nothing_changed_is_no_change_order(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("enter", until="Site visit")
        await hands.press("e", until=lambda: isinstance(hands.app.screen, ChangingScreen))
        await at_field(hands, "title")
        await hands.press("ctrl+s", until="nothing is changed")
        await hands.press("ctrl+s", until="page up goes back")
        await hands.press("escape", until=lambda: isinstance(hands.app.screen, JobScreen))


@pytest.mark.usefixtures("patient")
async def test_escape_waits_for_a_job_that_is_being_saved(empty: Path) -> None:
    async with at_the_keys(empty, opened=EMPTY) as hands:
        await first_answers(hands)
        await hands.press("ctrl+s", until="Frost depth")
        await hands.press("enter")
        await at_field(hands, "site_facts.frost_depth")
        await hands.type("36 in")
        await hands.press("ctrl+s", until="26-001 Porch deck")
        with closing(sqlite3.connect(empty, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            await hands.press("ctrl+s", until="saving")
            await hands.press("escape")
            other.execute("ROLLBACK")
        # It waits until the job is in the book. Typed at once it then answers what is asked next; typed when saving had
        # gone on for a while it was meant for the form, which is left anyhow.
        await hands.until(lambda: hands.shows("nothing was written") or hands.shows("Write the job file to:"))
        assert in_book(empty, lambda book: job_view(book, "26-001", NOW.date())).line.code == "26-001"
        assert not hands.app.kept_drafts, "what is in the book is not offered again"


async def test_page_up_goes_back_from_the_last_step(empty: Path) -> None:
    async with at_the_keys(empty, size=(80, 24), opened=EMPTY) as hands:
        await open_form(hands)
        await hands.press("ctrl+s", until="Who and where, Title")
        await hands.press("pageup")
        await at_field(hands, "crew")


async def test_a_new_job_can_be_started_over_and_put_back(empty: Path) -> None:
    async with at_the_keys(empty, opened=EMPTY) as hands:
        await first_answers(hands)
        await hands.press("f2", until="thrown out")
        await at_field(hands, "code")
        assert not answers(hands).typed and not form(hands).draft().texts
        await hands.press("f2", until="is back")
        await hands.until(lambda: answers(hands).value("title") == "Porch deck")
        assert answers(hands).nm("platform.0.size.0") == 16 * FOOT


async def test_the_first_platform_is_drawn_while_the_second_is_typed(empty: Path) -> None:
    put_prices(empty)
    async with at_the_keys(empty, size=(120, 40), opened=EMPTY) as hands:
        await open_form(hands)
        await to_field(hands, "platforms")
        await hands.type("2", "enter")
        await at_field(hands, "platform.0.name")
        await to_field(hands, "platform.0.size.0")
        await hands.type("12'", "enter")
        await hands.type("12'", "enter")
        await hands.type("11 in")
        await hands.until("without upper, which is not whole yet")
        plan = hands.app.screen.query_one(PlanView)
        assert plan.drawing is not None and plan.drawing.width_nm == 12 * FOOT
        await hands.press("pagedown")
        await at_field(hands, "platform.0.attachment")
        assert "deck: Support and framing" in hands.shown, "no heading is cut"


def higher(path: Path) -> None:
    """Somebody else accepts a change order meanwhile: the platform 14 in high."""

    def work(book: Book) -> None:
        source = job_source(book, "26-101")
        source["platform"][0]["height"] = "14 in"  # type: ignore[index, call-overload]
        rev = difference(book, "26-101", source, NOW.date()).rev
        accept_change(book, hand("M. Holt", NOW, "office"), "26-101", source, "the client wants it higher", rev)

    in_book(path, work)


async def test_a_change_order_accepted_meanwhile_is_not_undone(path: Path) -> None:
    begun(path)
    async with at_the_keys(path) as hands:
        await wider(hands)
        await hands.until("COST AND DAYS")
        higher(path)
        await hands.press("ctrl+s", until="26-101 was changed meanwhile")
        await hands.until("COST AND DAYS")
        assert "the differences again" in hands.said and "is now 16' x 9'" in hands.said
        assert "height" not in hands.said, "the other's change is none of ours"
        await hands.press("ctrl+s", until="why?")
        await hands.type("a table has to fit", "enter")
        await hands.until("change order of 26-101")
    source = in_book(path, lambda book: job_source(book, "26-101"))
    assert (source["platform"][0]["size"][0], source["platform"][0]["height"]) == ("16'", "14 in")  # type: ignore[index, call-overload]


async def test_a_change_order_accepted_while_the_reason_is_typed_is_not_undone(path: Path) -> None:
    begun(path)
    async with at_the_keys(path) as hands:
        await wider(hands)
        await hands.until("COST AND DAYS")
        await hands.press("ctrl+s", until="why?")
        higher(path)
        await hands.type("a table has to fit", "enter")
        await hands.until("26-101 was changed meanwhile")
        await hands.press("enter", until="26-101 was changed meanwhile")
        await hands.press("escape", until="COST AND DAYS")
        await hands.press("ctrl+s", until="a table has to fit")
        await hands.press("enter", until="change order of 26-101")
    source = in_book(path, lambda book: job_source(book, "26-101"))
    assert (source["platform"][0]["size"][0], source["platform"][0]["height"]) == ("16'", "14 in")  # type: ignore[index, call-overload]


async def test_what_comes_after_the_last_question_of_a_job_goes_into_no_other(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("n", until="1 of")
        screen = hands.app.screen
        assert isinstance(screen, TakingScreen)
        await screen.show(len(screen.steps) - 2)
        for char in "\r" * len(screen.cells()) + "foo\rbar\r9\r":
            hands.app.post_message(Key("enter" if char == "\r" else char, char))
        await hands.until("what came after it was not taken")
        await hands.type("bar", "enter")
        await hands.pilot.pause(0.3)
        assert not screen.draft().texts and not screen.cells()
        await hands.press("down", "up", "enter", until="1 of")
