"""The cut list on the screen: a plan at once, the search seen and stopped, the proof in words, boards to scale."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from threading import Event

import pytest

from tests.screens.conftest import NOW, Hands, at_the_keys, in_book, put_job, put_prices
from tracker.book.buying import cut_list
from tracker.planning.cutplan import CutPlan
from tracker.screens import cuts
from tracker.screens.buy import BuyScreen
from tracker.screens.cuts import CutScreen
from tracker.screens.lots import LotsScreen


async def open_cuts(hands: Hands, until: str | Callable[[], bool]) -> CutScreen:
    """From the open jobs to the cut list of the job."""
    await hands.press("enter", until="Site visit")
    await hands.press("m", until="to come")
    await hands.press("c", until=until)
    screen = hands.app.screen
    assert isinstance(screen, CutScreen)
    return screen


async def open_together(hands: Hands, until: str | Callable[[], bool]) -> CutScreen:
    """From the open jobs to the cut list of all jobs bought together, which no list has asked for before."""
    await hands.press("b", until="cut plans, proven")
    await hands.press("c", until=until)
    screen = hands.app.screen
    assert isinstance(screen, CutScreen)
    return screen


def costs(screen: CutScreen) -> list[int]:
    """What each size costs on the screen."""
    return [size.plan.cost_e4 for size in screen.view.sizes] if screen.view else []


@pytest.mark.parametrize("size", [(60, 20), (120, 40)])
async def test_every_board_is_shown_and_the_plan_is_proven(path: Path, size: tuple[int, int]) -> None:
    put_prices(path)
    view = in_book(path, lambda book: cut_list(book, NOW.date(), ["26-101"]))
    async with at_the_keys(path, size=size) as hands:
        screen = await open_cuts(hands, hands.proven)
        assert screen.view is not None
        assert costs(screen) == [size.plan.cost_e4 for size in view.sizes]
        shown = [way.number for size_plan in screen.view.sizes for way, _ in screen.ways(size_plan)]
        assert sum(shown) == sum(len(size.plan.sticks) for size in view.sizes)
        for _, content in screen.lines(size[0] - 4):
            assert all(len(line) <= size[0] - 4 for line in str(content).splitlines())
        assert "|" in hands.shown and "no plan is cheaper" in hands.said
        await hands.press("enter", until="Working: cut list")
        await hands.press("end", until="Source")
        await hands.press("escape", "escape", until=lambda: isinstance(hands.app.screen, LotsScreen))


async def test_the_working_shows_no_price_that_nobody_gave(path: Path) -> None:
    async with at_the_keys(path, size=(120, 40)) as hands:
        await open_cuts(hands, hands.proven)
        assert "not priced" in hands.said
        await hands.press("enter", until="Working: cut list")
        assert ", not priced" in hands.said and "counted by their length: no plan takes less" in hands.said
        assert "$" not in hands.shown


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> Event:
    """A slow machine: the search waits at its first plan until it is told to stop or the test lets it go on."""
    go_on = Event()
    real: Callable[[cuts.Seeking, CutPlan, int], bool] = cuts.Seeking.__call__

    def slowly(self: cuts.Seeking, best: CutPlan, bound_e4: int) -> bool:
        keep = real(self, best, bound_e4)
        for _ in range(6000):
            if self.halt.wait(0.01) or go_on.is_set():
                break
        return keep and not self.halt.is_set()

    monkeypatch.setattr(cuts.Seeking, "__call__", slowly)
    return go_on


@pytest.mark.parametrize("key", ["s", "escape"])
async def test_a_search_is_stopped_and_its_best_kept(path: Path, slow: Event, key: str) -> None:
    put_prices(path)
    put_job(path, "26-102", "Steps to the pond")
    async with at_the_keys(path) as hands:
        screen = await open_together(hands, "LOOKING")
        first = costs(screen)
        assert "0 of" in hands.shown and "NOT PROVEN" in hands.shown
        await hands.press(key, until="STOPPED: the best found is kept")
        assert costs(screen) <= first and "not proven" in hands.said
        slow.set()
        await hands.press("r", until=hands.proven)
        assert costs(screen) <= first
        await hands.press("escape", until=lambda: isinstance(hands.app.screen, BuyScreen))


async def test_a_better_plan_takes_its_place_while_it_looks(path: Path, slow: Event) -> None:
    put_prices(path)
    put_job(path, "26-102", "Steps to the pond")
    async with at_the_keys(path) as hands:
        await open_together(hands, "LOOKING")
        await hands.until("(s stops)")
        slow.set()
        await hands.until(hands.proven)


async def test_leaving_ends_the_search(path: Path, slow: Event) -> None:
    put_prices(path)
    put_job(path, "26-102", "Steps to the pond")
    async with at_the_keys(path) as hands:
        screen = await open_together(hands, "LOOKING")
        seeking = screen.seeking
        assert seeking is not None and not seeking.halt.is_set()
        await hands.press("ctrl+q")
        await hands.until(seeking.halt.is_set)


async def test_jobs_bought_together_are_cut_together(path: Path) -> None:
    put_prices(path)
    put_job(path, "26-102", "Steps to the pond")
    async with at_the_keys(path, size=(120, 40)) as hands:
        screen = await open_together(hands, hands.proven)
        assert screen.view is not None and set(screen.view.jobs) == {"26-101", "26-102"}
        assert "26-102 " in hands.shown
