"""Names from files and people are shown as text, whatever they hold."""

from __future__ import annotations

from pathlib import Path

import pytest
from rich.cells import cell_len

from tests.screens.conftest import at_the_keys, put_job

HOSTILE = [
    "Deck [/x] [bold]PAID[/bold]",
    "[@click=app.leave]press[/] [link=http://example.invalid]a[/link]",
    "a\u202egnp.exe \x1b[2J\x1b]0;owned\x07",
    "木材の床 \U0001f528 café",
    "[/",
    "$error bold \\[x] {0} %s",
]


@pytest.mark.parametrize(("name", "size"), [(name, ((120, 40), (60, 20))[at % 2]) for at, name in enumerate(HOSTILE)])
async def test_a_hostile_name_is_shown_harmlessly_everywhere(tmp_path: Path, name: str, size: tuple[int, int]) -> None:
    path = tmp_path / "jobs.book"
    put_job(path, title=name, client=name, supplier=name[:40])
    async with at_the_keys(path, who=name, size=size) as hands:
        pages = [hands.shown]
        for keys, until in (
            (("enter",), "Site visit"),
            (("n",), "Note"),
            (("escape", "m"), "lot"),
            (("r",), "delivery ticket"),
            (("escape", "c"), "cut list"),
            (("escape", "escape", "escape", "b"), "to buy"),
            (("escape", "d"), "Day sheet"),
            (("question_mark",), "Keys"),
        ):
            await hands.press(*keys, until=until)
            pages.append(hands.shown)
        hands.app.notify(name, markup=False)
        await hands.pilot.pause()
    plain = name.replace("\u202e", "\ufffd").replace("\x1b", "\ufffd").replace("\x07", "\ufffd")
    assert plain.split()[0] in pages[1]
    if size[0] > 60:
        assert plain in pages[1], "the whole name heads the job's own screen"
    for page in pages:
        assert not any(ord(char) < 32 and char != "\n" for char in page)
        assert "\u202e" not in page
        assert all(cell_len(line) <= size[0] for line in page.splitlines())
    assert hands.app.return_code in (None, 0)
