"""Every key of every screen is pressed where it applies, and something comes of it: no key is dead, none is left out.

The table is compared with the registry: an action without a case fails, a case without an action too.
"""

from __future__ import annotations

import re
from pathlib import Path
from threading import Event

import pytest

from tests.screens import test_cuts, test_snapshots
from tests.screens.conftest import at_the_keys
from tests.screens.keycases import (
    Go,
    front,
    go,
    then,
    to_check,
    until_by,
)
from tests.screens.keytable import BACK, FIELD, HOME, RUNS, Run, need_cases
from tracker.screens.actions import ACTIONS, ANYWHERE, SCREEN_TITLES, of_screen
from tracker.screens.frame import Framed, KeyLine

samples, slow = test_snapshots.samples, test_cuts.slow
ELSEWHERE = {"anywhere.suspend_process": "the terminal does it: test_terminal.py stops and wakes a real process"}


@pytest.fixture(autouse=True)
def in_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A key may write a file."""
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize("run", RUNS, ids=lambda run: run.name)
async def test_every_key_does_what_help_says(run: Run, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    if run.slow:
        go_on = request.getfixturevalue("slow")
        assert isinstance(go_on, Event)
    path = tmp_path / "jobs.book"
    run.book(path)
    async with at_the_keys(path, size=run.size, opened=run.opened) as hands:
        if run.way is not None:
            await run.way(hands)
        for case in run.cases:
            if case.id == "morning.stop":
                continue  # pressed while the samples are loading
            await case.play(hands)


async def test_each_number_goes_to_its_line_of_needs_you(samples: Path) -> None:
    async with at_the_keys(samples, opened="NEEDS YOU") as hands:
        for case in need_cases():
            await case.play(hands)


def test_no_action_is_without_a_case_and_no_case_without_an_action() -> None:
    tried = {(case.id, case.key) for run in RUNS for case in run.cases} | {(c.id, c.key) for c in need_cases()}
    known = {(action.id, key) for action in ACTIONS if action.id not in ELSEWHERE for key in action.keys.split(",")}
    assert tried - known == set(), "cases of keys that no action has"
    assert known - tried == set(), "keys that nobody tries"
    assert set(ELSEWHERE) <= {action.id for action in ACTIONS}


def out_to(name: str) -> Go:
    """Escape until a screen is in front."""
    return until_by("escape", lambda screen: getattr(screen, "NAME", "") == name)


STOPS = [
    (go(), "morning"),
    (go("slash"), "finding"),
    (then(HOME, go("j")), "jobs"),
    (go("enter"), "job"),
    (then(to_check("frame", "square"), go("enter")), "reading"),
    (then(BACK, go("p")), "plan"),
    (then(out_to("job"), go("m")), "lots"),
    (go("r"), "ticket"),
    (then(BACK, go("c")), "cuts"),
    (then(out_to("lots"), go("m")), "cost"),
    (then(out_to("job"), go("t")), "hours"),
    (then(BACK, go("c")), "money"),
    (then(BACK, go("y")), "history"),
    (then(BACK, go("v")), "handover"),
    (then(BACK, go("e"), FIELD), "taking"),
    (then(out_to("jobs"), go("b")), "buy"),
    (then(BACK, go("d")), "sheet"),
]


@pytest.mark.parametrize("size", [(60, 20)], ids=lambda size: f"{size[0]}x{size[1]}")
async def test_no_label_of_the_key_line_is_cut_and_help_ends_it(samples: Path, size: tuple[int, int]) -> None:
    assert {name for _, name in STOPS} == set(SCREEN_TITLES) - {ANYWHERE, "choice", "asking", "page"}
    async with at_the_keys(samples, size=size, opened="NEEDS YOU") as hands:
        for way, stop in STOPS:
            await way(hands)
            await hands.until(lambda stop=stop: front(hands) == stop)  # type: ignore[misc]
            screen = hands.app.screen
            assert isinstance(screen, Framed)
            await hands.settle()
            region = screen.query_one(KeyLine).region
            lines = hands.shown.splitlines()[region.y : region.bottom]
            offered = {
                f"{action.shows} {action.label}"
                for action in of_screen(screen.NAME)
                if action.listed and action.name != "help" and screen.check_action(action.name, ()) is True
            }
            shown = {part for line in lines for part in re.split(r"\s{2,}", line.strip())}
            assert lines[-1].rstrip().endswith(("? help", "F1 help")), stop
            assert shown <= offered | {"ctrl+p more", "? help", "F1 help"}, (stop, shown - offered)
            assert offered <= shown or "ctrl+p more" in shown, (stop, offered - shown)
