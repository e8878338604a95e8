"""Somebody leans on the keys: thousands of random keys, clicks, wheel turns and resizes, and nothing ever breaks.

The seeds are fixed, so a failure comes again; the last steps are in the message.
"""

from __future__ import annotations

import random
from collections import deque
from pathlib import Path

import pytest

from tests.often import examples
from tests.screens.conftest import Hands, at_the_keys, in_book, put_job, put_prices
from tracker.book.care import doctor
from tracker.book.opening import open_book
from tracker.screens.actions import ACTIONS
from tracker.screens.frame import Framed

STEPS = examples(400, 1500)
LEAVING = {"leave", "suspend_process"}
KEYS = sorted(
    {key for action in ACTIONS if action.name not in LEAVING for key in action.keys.split(",")}
    - {"q", "ctrl+q", "ctrl+z"}
)
MOVES = ["down", "up", "left", "right", "enter", "tab", "shift+tab", "home", "end", "pagedown", "pageup", "escape"]
TYPED = ["1", "2", "7", "0", "apostrophe", "quotation_mark", "slash", "minus", "space", "a", "y", "backspace", "delete"]
SIZES = [(60, 20), (80, 24), (120, 40), (240, 60), (61, 21), (100, 30)]
NAMES = [
    "Platform by the pear tree",
    "[/b] [bold]x [@click=app.quit]",
    "\u202edeck \u05e9\u05dc\u05d5\u05dd",
    "台所の甲板 " * 6,
    "x" * 200,
]


@pytest.mark.parametrize("seed", range(examples(2, 12)))
async def test_no_key_no_click_and_no_size_breaks_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    monkeypatch.chdir(tmp_path)  # a key may write a file
    path = tmp_path / "jobs.book"
    for number, name in enumerate(NAMES):
        put_job(path, f"26-10{number}", name, client=name)
    put_prices(path)
    dice = random.Random(seed)
    last: deque[str] = deque(maxlen=40)
    left = STEPS
    while left:
        async with at_the_keys(path, size=(80, 24), opened="") as hands:
            while left and hands.app.is_running:  # the key line can be clicked, and with it quit
                step = await one_step(hands, dice)
                left -= 1
                last.append(f"{type(hands.app.screen).__name__}: {step}")
                if hands.app.is_running:
                    await shown(hands, list(last))
            assert hands.app.return_code in (None, 0), list(last)
    assert in_book(path, lambda book: doctor(book.path).problems) == ()
    open_book(path).close()


async def one_step(hands: Hands, dice: random.Random) -> str:
    """Do one random thing; returns what it was."""
    width, height = hands.app.size
    match dice.choices(["key", "move", "type", "click", "wheel", "resize"], [40, 30, 15, 8, 5, 2])[0]:
        case "key":
            step = dice.choice(KEYS)
            await hands.pilot.press(step)
        case "move":
            step = dice.choice(MOVES)
            await hands.pilot.press(step)
        case "type":
            step = " ".join(keys := dice.choices(TYPED, k=dice.randint(1, 2)))
            await hands.pilot.press(*keys)
        case "click":
            at = (dice.randrange(width), dice.randrange(height))
            step = f"click {at}"
            await hands.pilot.click(offset=at)
        case "wheel":
            step = dice.choice(["scroll_down", "scroll_up"])
            for widget in hands.app.screen.focus_chain[:1]:
                getattr(widget, step)(animate=False)
        case _:
            size = dice.choice(SIZES)
            step = f"resize {size}"
            await hands.pilot.resize_terminal(*size)
    await hands.pilot.pause()
    return step


async def shown(hands: Hands, last: list[str]) -> None:
    """Nothing runs over the edge, and a full screen always tells the help key in its last line.

    A busy machine lays a screen out a moment after the window has got another size.
    """

    def fits() -> bool:
        lines = hands.shown.splitlines()
        if max(map(len, lines), default=0) > hands.app.size.width:
            return False
        if isinstance(hands.app.screen, Framed) and lines:
            return bool({"? help", "F1 help"} & {line[-7:].strip() for line in map(str.rstrip, lines[-3:])})
        return True

    try:
        await hands.until(fits)
    except AssertionError as error:
        raise AssertionError(last, hands.shown) from error
