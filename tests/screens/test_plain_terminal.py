"""A terminal that shows ASCII only is sent ASCII only."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from tests.screens.test_terminal import Window
from tracker.screens.plainterm import in_ascii, shows_ascii_only


@pytest.mark.parametrize("locale", [{"LANG": "C"}, {"LC_ALL": "POSIX", "LANG": "C.UTF-8"}], ids=["C", "POSIX"])
def test_a_plain_terminal_gets_plain_signs(path: Path, tmp_path: Path, locale: dict[str, str]) -> None:
    window = Window(path, tmp_path, locale=locale)
    try:
        window.until("NEEDS YOU")
        window.press("j", lambda: "OPEN JOBS" in window.shown and ">26-101" in window.shown)
        window.press("\r", "planned")
        window.press("n", "Note (26-101)")
        window.press("caf\u00e9 \u00bd", "caf")
        window.rest()
        assert "+--" in window.shown and "|" in window.shown
        assert bytes(window.sent).isascii()
    finally:
        window.end()


@given(st.text())
def test_plain_text_is_ascii_and_as_wide(text: str) -> None:
    plain = in_ascii(text)
    assert plain.isascii()
    assert cell_len(plain) == cell_len(text) or not text.isprintable()


@pytest.mark.parametrize(
    ("around", "encoding", "utf8_mode", "plain"),
    [
        ({"LANG": "C.UTF-8"}, "utf-8", 0, False),
        ({"LANG": "en_US.UTF-8"}, "utf-8", 0, False),
        ({"LC_CTYPE": "C.UTF-8"}, "utf-8", 0, False),
        ({"LANG": "C", "LC_CTYPE": "C.UTF-8"}, "utf-8", 1, True),  # as Python leaves LANG=C
        ({"LC_ALL": "POSIX", "LANG": "en_US.UTF-8"}, "utf-8", 1, True),
        ({}, "utf-8", 1, True),
        ({"LANG": "en_US.ISO-8859-1"}, "iso8859-1", 0, True),
        ({"LANG": "C", "PYTHONUTF8": "1"}, "utf-8", 1, False),
    ],
)
def test_what_the_environment_says_of_the_terminal(
    around: dict[str, str], encoding: str, utf8_mode: int, plain: bool
) -> None:
    assert shows_ascii_only(around, encoding, utf8_mode) is plain
