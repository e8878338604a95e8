"""The one registry of keys: complete, free of clashes, and what help and the palette show."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from textual.dom import DOMNode

from tests.screens.conftest import at_the_keys
from tracker.screens.actions import ACTIONS, ANYWHERE, SCREEN_TITLES, of_screen
from tracker.screens.app import DeckApp
from tracker.screens.asking import Question
from tracker.screens.buy import BuyScreen
from tracker.screens.choice import Choice
from tracker.screens.cost import CostScreen
from tracker.screens.cuts import CutScreen
from tracker.screens.finding import FindScreen
from tracker.screens.handover import HandoverScreen
from tracker.screens.help import help_page
from tracker.screens.history import HistoryScreen
from tracker.screens.hours import HoursScreen
from tracker.screens.job import JobScreen
from tracker.screens.jobs import JobsScreen
from tracker.screens.lots import LotsScreen
from tracker.screens.money import MoneyScreen
from tracker.screens.morning import MorningScreen
from tracker.screens.page import Page
from tracker.screens.palette import Applying
from tracker.screens.plan import PlanScreen
from tracker.screens.reading import ReadingScreen
from tracker.screens.sheet import SheetScreen
from tracker.screens.taking import TakingScreen
from tracker.screens.ticket import TicketScreen

SCREENS: dict[str, type[DOMNode]] = {
    ANYWHERE: DeckApp, "morning": MorningScreen, "finding": FindScreen, "jobs": JobsScreen, "job": JobScreen, "reading": ReadingScreen, "buy": BuyScreen,
    "history": HistoryScreen, "taking": TakingScreen, "lots": LotsScreen, "sheet": SheetScreen, "choice": Choice, "ticket": TicketScreen, "cuts": CutScreen, "cost": CostScreen, "money": MoneyScreen, "hours": HoursScreen, "plan": PlanScreen, "handover": HandoverScreen, "asking": Question, "page": Page,
}  # fmt: skip


def test_every_action_is_one_of_a_known_screen_with_its_method() -> None:
    assert set(SCREENS) == set(SCREEN_TITLES) == {action.screen for action in ACTIONS}
    for action in ACTIONS:
        assert hasattr(SCREENS[action.screen], f"action_{action.name}"), action.id


def test_ids_are_unique_and_no_two_actions_of_a_screen_share_a_key() -> None:
    ids = [action.id for action in ACTIONS]
    assert len(ids) == len(set(ids))
    for screen in SCREEN_TITLES:
        keys = [key for action in ACTIONS if action.screen == screen for key in action.keys.split(",")]
        assert len(keys) == len(set(keys)), screen


@pytest.mark.parametrize("screen", ["reading", "ticket", "asking", "taking"])
def test_keys_of_a_form_are_none_a_field_uses(screen: str) -> None:
    """A field takes letters, digits and its own control keys (Textual's Input bindings)."""
    taken = set("acdekuvwx")
    for action in of_screen(screen):
        for key in action.keys.split(","):
            assert len(key) > 1 and key not in {f"ctrl+{letter}" for letter in taken}, action.id


@pytest.mark.parametrize("screen", SCREEN_TITLES)
def test_help_lists_every_key(screen: str) -> None:
    text = help_page(screen, 200).text.plain
    assert text.index(SCREEN_TITLES[screen]) < min(
        text.index(f"\n{title}\n") for name, title in SCREEN_TITLES.items() if name != screen
    )
    for action in ACTIONS:
        told = r"\s+".join(map(re.escape, action.help.split()))
        assert re.search(rf"^{re.escape(action.shows)} +{told}$", text, re.MULTILINE), action.id


async def test_help_opens_from_a_field_by_f1(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("slash", "f1", until="Keys")
        await hands.press("escape", until="OPEN JOBS")


async def test_the_palette_offers_what_applies_and_does_it(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("enter", until="Site visit  ahead")
        offered = {action.id for action in Applying(hands.app.screen).applying()}
        assert {"job.start", "job.note", "anywhere.leave"} <= offered
        assert "job.reopen" not in offered and "job.read" not in offered
        await hands.press("ctrl+p")
        await hands.type("start this phase")
        await hands.until("start: start this phase")
        await hands.settle()
        await hands.press("enter", until="Site visit  under way")


async def test_daylight_colours(path: Path) -> None:
    async with at_the_keys(path) as hands:
        await hands.press("f9", until=lambda: hands.app.theme == "birch")
        await hands.press("f9", until=lambda: hands.app.theme == "chalk")
