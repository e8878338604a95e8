"""The plan on the screen, by keys and mouse on real books: nearer, across, layer by layer, joist by joist, to a file."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TypeVar

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from rich.cells import cell_len
from textual import events
from textual.app import App, ComposeResult

from tests.often import examples
from tests.once import copy_once
from tests.reports.drawing_cases import FILES, SAMPLES, Sizes, sample, sizes
from tests.screens.conftest import NOW, Hands, at_the_keys, in_book, put_job
from tracker.book.hand import hand
from tracker.book.jobs import job_view, take_job
from tracker.book.readings import record
from tracker.book.views import JobView
from tracker.reports.drawing import draw_of, draw_platform
from tracker.reports.drawing_plot import View
from tracker.reports.drawing_shapes import USUAL, Drawing, Layer, layers_of
from tracker.reports.drawing_svg import draw_svg
from tracker.reports.drawing_text import plan_rows
from tracker.screens.actions import of_screen
from tracker.screens.job import JobScreen
from tracker.screens.plan import PlanScreen
from tracker.screens.planwidget import PlanView
from tracker.screens.reading import ReadingScreen
from tracker.trade.jobfile import parse_job_bytes
from tracker.trade.phases import BY_KEY
from tracker.trade.spec import Platform

Notch = TypeVar("Notch", events.MouseScrollUp, events.MouseScrollDown)
SIZES = pytest.mark.parametrize("size", [(60, 20), (120, 40)])
TURNED = ["1/16", "1/8", "1/8", "1/8", "-3/16", "3/16", "3/16", "1/8", "1/8", "1/16", "1/16", "0"]
"""Crowns of the twelve joists of the job 26-014; the fifth lies the wrong way up."""


def put_sample(path: Path, name: str) -> None:
    """Take a sample job with its log into the book at ``path``."""
    file = next(file for file in FILES if file.name.startswith(name))
    job = parse_job_bytes(file.read_bytes(), file.name)
    in_book(path, lambda book: take_job(book, hand("M. Holt", NOW, "office"), job))


@pytest.fixture
def square_book(tmp_path: Path) -> Path:
    """A book with the job 26-014: its square has failed, and so has the crown of joist 5."""

    def make(path: Path) -> None:
        put_sample(path, "26-014")
        in_book(path, lambda book: record(book, hand("R. Stone", NOW, "yard"), "26-014", "crown", TURNED))

    return copy_once(tmp_path / "jobs.book", "a turned joist", make)


def plan_screen(hands: Hands) -> PlanScreen:
    """The plan in front."""
    screen = hands.app.screen
    assert isinstance(screen, PlanScreen)
    return screen


async def open_plan(hands: Hands) -> PlanScreen:
    """From the open jobs to the plan of the first."""
    await hands.press("enter", until="planned ")
    await hands.press("p", until=lambda: isinstance(hands.app.screen, PlanScreen))
    screen = plan_screen(hands)
    await hands.until(lambda: screen.drawing is not None)
    await hands.pilot.pause()
    return screen


def drawn(screen: PlanScreen) -> str:
    """What the widget shows, as text."""
    return screen.plan.render().plain


@SIZES
async def test_every_key_does_what_it_says(square_book: Path, size: tuple[int, int]) -> None:
    async with at_the_keys(square_book, size=size) as hands:
        screen = await open_plan(hands)
        whole = drawn(screen)
        assert screen.plan.parts == layers_of("frame") and "frame, supports and checks" in hands.said
        closer = ["plus"] * 4
        await hands.press(*closer, until="5.1 times closer")
        near = drawn(screen)
        assert near != whole and screen.plan.view.zoom > 5
        middle = screen.plan.view
        for key, sign in (("left", -1), ("right", 1), ("up", -1), ("down", 1)):
            await hands.press(key)
            view = screen.plan.view
            gone = view.x - middle.x if key in ("left", "right") else view.y - middle.y
            assert gone * sign > 0 and drawn(screen) != near, key
            await hands.press("0", *closer)
            assert drawn(screen) == near
        await hands.press(*["right"] * 20, until="the plan ends there")
        await hands.press(*["minus"] * 4, until="deck: all of it")
        await hands.press("minus", until="that is all of it")
        await hands.press("plus", "0", until="all of it")
        assert drawn(screen) == whole, "0 brings back what was there"
        await hands.press("left", until="all of it is in view: + comes closer")
        for key, layer in (("f", Layer.FRAME), ("s", Layer.SUPPORTS), ("b", Layer.BOARDS), ("c", Layer.CHECKS)):
            before = layer in screen.plan.parts
            await hands.press(key)
            assert (layer in screen.plan.parts) is not before
            await hands.until(lambda: (layer.value in str(screen.query_one("#over").render())) is not before)  # noqa: B023
        await hands.press("b", until="outline only")
        await hands.press("m", until=lambda: screen.plan.parts == USUAL)
        assert drawn(screen) == whole
        await hands.press("full_stop", until="joist 5 of 12")
        assert "crown 3/16 in DOWN" in hands.said and "FAIL Crowns up" in hands.said
        await hands.press("full_stop", until="joist 6 of 12")
        await hands.press("comma", "comma", until="joist 4 of 12")
        assert "63-1/4 in X" not in hands.said and "tape: 47-1/4 in X on the back rim" in hands.said
        await hands.press("t", until="hook the tape")
        await hands.press("pagedown", "pagedown", "pagedown", until="cut in this order")
        await hands.press("l", until="! Crowns up FAIL [joist 5]")
        if screen.has_class("-list"):
            await hands.press("escape", until=lambda: not screen.has_class("-list"))
        await hands.press("escape", until=lambda: isinstance(hands.app.screen, JobScreen))


async def test_a_plan_drawn_slowly_looks_like_one_drawn_at_once(
    square_book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What stands round the plan is fitted to the room the plan got, whichever came first: the room or the drawing."""

    def slowly(view: JobView, platform: Platform) -> Drawing:
        time.sleep(0.4)
        return draw_of(view, platform)

    monkeypatch.setattr("tracker.reports.drawing.draw_of", slowly)
    async with at_the_keys(square_book) as hands:
        screen = await open_plan(hands)
        await hands.settle()
        shown = hands.shown
        screen.redraw()
        await hands.settle()
        assert hands.shown == shown
        for size in ((110, 30), (84, 22), (60, 20), (120, 40), (96, 29)):
            await hands.pilot.resize_terminal(*size)
            await hands.settle()
            shown = hands.shown
            screen.redraw()
            await hands.settle()
            assert hands.shown == shown, size


@SIZES
async def test_no_key_shown_is_dead_and_no_line_is_too_long(square_book: Path, size: tuple[int, int]) -> None:
    async with at_the_keys(square_book, size=size) as hands:
        screen = await open_plan(hands)
        assert screen.plan.chosen == 5, "the check under the cursor failed there"
        for before in ((), ("plus",), ("full_stop", "comma"), ("t",)):
            await hands.press(*before)
            assert all(cell_len(line) <= size[0] for line in hands.shown.splitlines())
        offered = {action.name for action in of_screen("plan") if screen.check_action(action.name, ())}
        assert "other_platform" not in offered, "the job has one platform"
        assert ("check" in offered) is (not screen.has_class("-list"))


async def test_the_plan_opens_at_the_joist_the_check_failed_at_and_enter_goes_to_the_check(square_book: Path) -> None:
    async with at_the_keys(square_book) as hands:
        await hands.press("enter", until="planned ")
        job = hands.app.screen
        assert isinstance(job, JobScreen)
        job.go_to("frame", "crown")
        await hands.pilot.pause()
        await hands.press("p", until="joist 5 of 12")
        assert "enter check" in hands.said
        await hands.press("enter", until=lambda: isinstance(hands.app.screen, ReadingScreen))
        form = hands.app.screen
        assert isinstance(form, ReadingScreen) and form.check.key == "crown"
        await hands.press("escape", until="joist 5 of 12")


async def test_what_is_recorded_meanwhile_is_drawn(square_book: Path) -> None:
    async with at_the_keys(square_book, size=(120, 40)) as hands:
        screen = await open_plan(hands)
        assert "!" in drawn(screen)
        good = [value.removeprefix("-") for value in TURNED]
        in_book(square_book, lambda book: record(book, hand("R. Stone", NOW, "yard"), "26-014", "crown", good))
        await hands.until(lambda: "!" not in drawn(screen))


@pytest.mark.parametrize("key", ["n", "tab"])
async def test_the_next_platform(tmp_path: Path, key: str) -> None:
    path = tmp_path / "jobs.book"
    put_sample(path, "26-017")
    async with at_the_keys(path) as hands:
        screen = await open_plan(hands)
        assert "lower, 1 of 2" in hands.said and "for cloth, gravel and pads: supports and checks" in hands.said
        assert "f shows the joists" in hands.said and not screen.check_action("joist_after", ())
        lower = drawn(screen)
        await hands.press(key, until="upper, 2 of 2")
        assert drawn(screen) != lower
        await hands.press(key, until="lower, 1 of 2")
        assert drawn(screen) == lower


async def test_wheel_drag_and_click(square_book: Path) -> None:
    async with at_the_keys(square_book, size=(120, 40)) as hands:
        screen = await open_plan(hands)
        plan = screen.plan
        assert plan.plan is not None
        at = (plan.plan.joist_columns[9], plan.plan.plot.top + 5)
        await hands.pilot.click(PlanView, offset=at)
        await hands.until("joist 9 of 12")
        await hands.pilot.click(PlanView, offset=(0, at[1]))
        await hands.until("FAIL Crowns up")
        assert plan.chosen == 0, "beside the joists none is chosen"

        def under(column: int, row: int) -> tuple[float, float]:
            assert plan.plan is not None
            plot = plan.plan.plot
            return (plot.x_nm + (column - plot.left) * plot.across_nm, plot.y_nm + (row - plot.top) * plot.along_nm)

        before, step = under(*at), plan.plan.plot.across_nm
        for _ in range(3):
            plan.on_mouse_scroll_up(wheel(events.MouseScrollUp, at))
        assert plan.view.zoom > 1.9
        assert all(abs(a - b) <= 2 * step for a, b in zip(under(*at), before, strict=True))
        held = drawn(screen)
        await hands.pilot.mouse_down(PlanView, offset=(20, 15))
        await hands.pilot.hover(PlanView, offset=(14, 15))
        await hands.pilot.mouse_up(PlanView, offset=(14, 15))
        await hands.pilot.pause()
        assert drawn(screen) != held and plan.chosen == 0, "a drag moves and chooses nothing"
        for _ in range(5):
            plan.on_mouse_scroll_down(wheel(events.MouseScrollDown, at))
        assert plan.view == View()


def wheel(kind: type[Notch], at: tuple[int, int]) -> Notch:
    """A notch of the wheel at a cell of the widget."""
    return kind(None, at[0], at[1], 0, 0, 0, False, False, False, at[0], at[1])


async def test_the_page_is_the_one_the_command_writes(
    square_book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    view = in_book(square_book, lambda book: job_view(book, "26-014", NOW.date()))
    (platform,) = view.spec.platforms
    async with at_the_keys(square_book) as hands:
        await open_plan(hands)
        await hands.press("b", "g", until="Write the plan as SVG to:")
        await hands.press("enter", until="written: ")
        wanted = draw_svg(draw_of(view, platform), layers=USUAL | {Layer.BOARDS})
        assert (tmp_path / "26-014-deck-plan.svg").read_text() == wanted


class Alone(App[None]):
    """The widget with nothing round it."""

    def compose(self) -> ComposeResult:
        """The widget."""
        yield PlanView()


async def test_the_widget_says_what_it_is_told_and_keeps_the_view_of_one_platform() -> None:
    async with Alone().run_test(size=(80, 24)) as pilot:
        plan = pilot.app.query_one(PlanView)
        plan.show(None, "size: write it like 12'")
        assert plan.render().plain == "size: write it like 12'" and plan.plan is None
        assert not plan.zoom(2) and not plan.pan(1, 0)
        drawing = draw_platform(*sample("26-025"))
        plan.show(drawing)
        assert plan.zoom(3) and plan.pan(1, 1)
        view = plan.view
        plan.show(draw_platform(*sample("26-025")), "size: 24 ft")
        assert plan.view == view and plan.render().plain.splitlines()[-1].rstrip() == "size: 24 ft"
        plan.show(draw_platform(*sample("26-023")))
        assert plan.view == View()
        plan.show(drawing)
        while plan.zoom(2):
            pass
        plan.choose(20)
        shown = plan_rows(drawing, 80, 24, view=plan.view)
        assert 20 in shown.joist_columns, "a chosen joist is brought into view"


@settings(max_examples=examples(10, 200), deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(sizes(), st.integers(1, 130), st.integers(1, 45), st.floats(1, 30), st.sampled_from(sorted(BY_KEY)))
async def test_nothing_is_drawn_outside_the_widget(
    size: Sizes, width: int, height: int, zoom: float, phase: str
) -> None:
    async with Alone().run_test(size=(width, height)) as pilot:
        plan = pilot.app.query_one(PlanView)
        plan.parts = layers_of(phase)
        plan.show(size.drawing(), "told" if zoom > 15 else "")
        plan.view = View(zoom, 0.3, 0.7)
        rows = plan.render().plain.splitlines()
        assert len(rows) <= height
        assert all(cell_len(row) <= width for row in rows) or plan.plan is None


def test_every_sample_has_a_plan_for_every_phase() -> None:
    for job, platform in SAMPLES.values():
        drawing = draw_platform(job, platform)
        for phase in BY_KEY:
            assert draw_svg(drawing, layers=layers_of(phase)).startswith("<?xml")


@SIZES
async def test_a_hostile_name_heads_the_plan_harmlessly(tmp_path: Path, size: tuple[int, int]) -> None:
    path = tmp_path / "jobs.book"
    put_job(path, title="Deck [/x] [bold]PAID[/bold] \x1b[2J")
    async with at_the_keys(path, size=size) as hands:
        await hands.press("enter", until="Site visit")
        await hands.press("p", until=lambda: isinstance(hands.app.screen, PlanScreen))
        await hands.until(lambda: plan_screen(hands).drawing is not None)
        await hands.press("l")
        assert "\x1b" not in hands.shown and "Deck [/x] [bold]" in hands.said
