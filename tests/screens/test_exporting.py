"""Writing a page from a screen: a name is asked, nothing is replaced without a yes, a browser downloads it."""

from __future__ import annotations

from pathlib import Path
from typing import BinaryIO

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.screens.conftest import Hands, at_the_keys
from tracker.errors import InputError
from tracker.screens.exporting import export, file_name
from tracker.screens.frame import Framed

PAGE = b"\x00page\xff"


async def begin(hands: Hands, name: str = "sheet.bin") -> None:
    """Have a screen write a page."""
    screen = hands.app.screen
    assert isinstance(screen, Framed)
    export(screen, name, lambda: PAGE, what="the page")


@pytest.fixture(autouse=True)
def in_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working folder of its own."""
    folder = tmp_path / "work"
    folder.mkdir()
    monkeypatch.chdir(folder)
    return folder


async def test_the_suggested_name_goes_to_the_working_folder(path: Path, in_folder: Path) -> None:
    async with at_the_keys(path) as hands:
        await begin(hands)
        await hands.until("Write the page to:")
        await hands.press("enter", until="written: ")
    assert (in_folder / "sheet.bin").read_bytes() == PAGE


async def test_a_file_that_is_there_is_kept_unless_a_person_says_yes(path: Path, in_folder: Path) -> None:
    there = in_folder / "sheet.bin"
    there.write_bytes(b"old")
    async with at_the_keys(path) as hands:
        await begin(hands)
        await hands.press("enter", until="sheet.bin is there already")
        await hands.press("escape", until="nothing was written")
        assert there.read_bytes() == b"old"
        await begin(hands)
        await hands.press("enter", until="is there already")
        await hands.press("enter", until="Write the page to:")
        await hands.type("sheet.bin2", then="enter")
        await hands.until("written: ")
        assert there.read_bytes() == b"old" and (in_folder / "sheet.bin2").read_bytes() == PAGE
        await begin(hands)
        await hands.press("enter", until="is there already")
        await hands.press("down", "enter", until="replaced: ")
        assert there.read_bytes() == PAGE


@pytest.mark.parametrize(
    ("name", "told"),
    [("no-such/sheet.bin", "cannot be written"), ("~nobody-here/x", "nobody here is called ~nobody-here")],
)
async def test_a_place_that_cannot_be_written_is_told_and_the_name_stays(path: Path, name: str, told: str) -> None:
    async with at_the_keys(path) as hands:
        await begin(hands)
        await hands.until("Write the page to:")
        await hands.press("ctrl+u")
        for char in name:
            await hands.pilot.press({"/": "slash", "-": "minus", "~": "tilde", ".": "full_stop"}.get(char, char))
        await hands.press("enter", until=told)
        assert name in hands.shown
        await hands.press("escape", until="nothing was written")


async def test_a_folder_is_no_file(path: Path, in_folder: Path) -> None:
    (in_folder / "sheet.bin").mkdir()
    async with at_the_keys(path) as hands:
        await begin(hands)
        await hands.press("enter", until="is a folder")


async def test_a_page_that_cannot_be_made_writes_nothing(path: Path, in_folder: Path) -> None:
    def fails() -> bytes:
        raise InputError("the page has no lines", "choose another day")

    async with at_the_keys(path) as hands:
        screen = hands.app.screen
        assert isinstance(screen, Framed)
        export(screen, "sheet.bin", fails)
        await hands.press("enter", until="the page has no lines")
    assert list(in_folder.iterdir()) == []


async def test_a_browser_downloads_it_under_a_clean_name(path: Path, in_folder: Path) -> None:
    """The driver of a browser session is stood in for: no browser runs here."""
    sent: list[tuple[bytes, str]] = []
    async with at_the_keys(path) as hands:
        driver = hands.app._driver
        assert driver is not None

        def deliver(binary: BinaryIO, *, save_path: Path, **_: object) -> None:
            sent.append((binary.read(), save_path.name))

        driver.deliver_binary = deliver  # type: ignore[method-assign,assignment]
        type(driver).is_web = property(lambda _: True)  # type: ignore[method-assign,assignment]
        try:
            await begin(hands, "../26-014 [deck]/plan\x1b.svg")
            await hands.until("goes to the downloads of your browser")
        finally:
            type(driver).is_web = property(lambda _: False)  # type: ignore[method-assign,assignment]
    assert sent == [(PAGE, "26-014-deck-plan-.svg")]
    assert list(in_folder.iterdir()) == []


@given(st.text(max_size=200))
def test_a_file_name_is_never_a_path(text: str) -> None:
    name = file_name(text)
    assert name and "/" not in name and "\\" not in name and not name.startswith(("-", "."))
    assert Path(name).name == name and len(name) <= 100 and name.isprintable()
