"""What every screen looks like, at three sizes and in two sets of colours, kept as pictures beside this file.

Each size is laid out in its own way; the second colours are where the first are, so that before a change one size in them is
enough, and by night they are looked at in all. A change that is meant is taken with
``TESTS_PROFILE=nightly pytest -n 0 tests/screens/test_snapshots.py --snapshot-update`` and looked at.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest
from syrupy.assertion import SnapshotAssertion
from syrupy.extensions.single_file import SingleFileSnapshotExtension, WriteMode
from textual.widgets import Input

from tests.often import by_night
from tests.once import copy_once
from tests.screens.conftest import NOW, Hands, at_the_keys, in_book
from tracker.book.hand import hand
from tracker.book.jobs import take_job
from tracker.book.prices import take_prices
from tracker.screens.job import JobScreen
from tracker.trade.jobfile import parse_job_file

ROOT = Path(__file__).parents[2]
FIRST, SECOND = "cedar", "birch"
LOOKS = {"60x20": ((60, 20), (FIRST,)), "80x24": ((80, 24), (FIRST, SECOND)), "120x40": ((120, 40), (FIRST,))}
"""Sizes of the terminal, and the colours each is looked at in."""
BY_NIGHT = {"60x20-birch": ((60, 20), (SECOND,)), "120x40-birch": ((120, 40), (SECOND,))}

FETCHED = re.compile(r"<!--.*?-->|@font-face \{.*?\}", re.DOTALL)
"""What the toolkit puts into a picture that is not of the screen: its mark, and fonts from the network."""


class Svg(SingleFileSnapshotExtension):
    """One SVG file for each picture."""

    _file_extension = "svg"
    _write_mode = WriteMode.TEXT


@pytest.fixture(scope="module")
def samples(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book of the invented sample jobs with their price list."""
    return copy_once(tmp_path_factory.mktemp("samples") / "jobs.book", "samples and prices", take_samples)


def take_samples(path: Path) -> None:
    """Take the invented sample jobs and their price list into the book at ``path``."""
    owner = hand("M. Holt", NOW, "office")
    for file in sorted((ROOT / "sample_jobs").glob("26-*.toml")):
        job = parse_job_file(file.read_text("utf-8"), file.name)
        in_book(path, lambda book, job=job: take_job(book, owner, job))  # type: ignore[misc]
    prices = (ROOT / "sample_jobs" / "prices.csv").read_bytes()
    in_book(path, lambda book: take_prices(book, owner, prices, "prices.csv"))


Stop = tuple[str, Callable[[Hands], Awaitable[None]]]
"""The name of a picture and how a person gets there from the stop before."""


def by(*keys: str, until: str | Callable[[], bool]) -> Callable[[Hands], Awaitable[None]]:
    """Get there by keys."""

    async def go(hands: Hands) -> None:
        await hands.press(*keys, until=until)

    return go


def then(*ways: Callable[[Hands], Awaitable[None]]) -> Callable[[Hands], Awaitable[None]]:
    """Get there by one way after the other."""

    async def go(hands: Hands) -> None:
        for way in ways:
            await way(hands)

    return go


async def to_square(hands: Hands) -> None:
    """From the job to the form of its square, with a racked frame typed in."""
    screen = hands.app.screen
    assert isinstance(screen, JobScreen)
    screen.go_to("frame", "square")
    await hands.press("enter", until="diagonal")
    await hands.press("f4", until="last reading")
    await hands.until("FAILED")


async def to_material(hands: Hands) -> None:
    """From the plan, where a small screen's tape list goes first, back to the job and on to its material."""
    while not isinstance(hands.app.screen, JobScreen):
        await hands.press("escape")
    await hands.press("m", until="F1")


STOPS: list[Stop] = [
    ("morning", by(until="NEEDS YOU")),
    ("find", by("slash", "f", "e", "r", "n", until="26-014")),
    ("jobs", by("escape", "j", until="OPEN JOBS")),
    ("job", then(by("enter", until="Frame  under way"), by("home", until="Frame  under way"))),
    ("reading", to_square),
    ("plan", by("escape", "p", until="deck:")),
    ("tape", by("t", until="edge joist")),
    ("material", to_material),
    ("ticket", by("r", until="delivery ticket")),
    ("cut list", by("escape", "c", until="PROVEN")),
    ("cost", by("escape", "m", until="BY PHASE")),
    ("hours", by("escape", "escape", "t", until="hours")),
    ("money", by("escape", "c", until="contract")),
    ("history", by("escape", "y", until="R. Stone")),
    ("hand-over", by("escape", "v", until="not handed over")),
    ("change", by("escape", "e", until="change order")),
    ("buy", by("escape", "escape", "b", until="to buy")),
    ("order", by("o", until="Order ")),
    ("day sheet", by("escape", "escape", "d", until="Day sheet")),
    ("keys", by("escape", "question_mark", until="Keys")),
    ("more", by("escape", "ctrl+p", until="day sheet")),
    ("new job", by("escape", "n", until="1 of")),
]


@pytest.mark.parametrize(
    ("size", "colours"),
    [
        *(pytest.param(*look, id=name) for name, look in LOOKS.items()),
        *(by_night(*look, name=name) for name, look in BY_NIGHT.items()),
    ],
)
async def test_every_screen_looks_as_it_did(
    samples: Path, tmp_path: Path, size: tuple[int, int], colours: tuple[str, ...], snapshot: SnapshotAssertion
) -> None:
    pictures = snapshot.use_extension(Svg)
    different: list[str] = []
    path = Path(shutil.copy(samples, tmp_path / "jobs.book"))  # of its own: drafts are kept beside it
    async with at_the_keys(path, size=size, opened="NEEDS YOU") as hands:
        for name, go in STOPS:
            await go(hands)
            await hands.settle()
            for light in colours:
                hands.app.theme = light
                for field in hands.app.screen.query(Input):
                    field.cursor_blink = False
                await hands.pilot.pause()
                picture = FETCHED.sub("", hands.app.export_screenshot())
                if picture != pictures(name=f"{name}-{size[0]}x{size[1]}-{light}"):
                    different.append(f"{name} {light}\n{hands.shown}")
            hands.app.theme = FIRST
    assert not different, "\n\n".join(different)


def test_every_picture_belongs_to_a_stop() -> None:
    kept = {file.stem for file in (Path(__file__).parent / "__snapshots__" / "test_snapshots").iterdir()}
    test = test_every_screen_looks_as_it_did.__name__
    wanted = {
        f"{test}[{look}][{stop}-{size[0]}x{size[1]}-{light}]"
        for look, (size, colours) in {**LOOKS, **BY_NIGHT}.items()
        for light in colours
        for stop, _ in STOPS
    }
    assert kept == wanted
