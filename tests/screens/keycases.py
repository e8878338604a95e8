"""What the table of every key is made of: a press, what has to come of it, and how a person got there."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Any

from tests.screens.conftest import Hands
from tracker.book.frontviews import Place, Room
from tracker.screens.actions import ANYWHERE
from tracker.screens.job import JobScreen

Test = Callable[[], bool]
Sees = Callable[[Hands], Test]
"""Looked up before the key is pressed; the test it gives back must fail then, and hold after the press."""
Go = Callable[[Hands], Awaitable[None]]

ROOMS = {Room.JOB: "job", Room.LOTS: "lots", Room.BUY: "buy", Room.HAND_OVER: "handover"}


@dataclass(frozen=True, slots=True)
class Case:
    """Pressing ``key`` does the action ``id`` when ``sees`` holds afterwards; ``before`` and ``after`` lead there and on."""

    id: str
    key: str
    sees: Sees
    before: Go | None = None
    after: Go | None = None

    async def play(self, hands: Hands) -> None:
        """Press the key where the action applies; raises AssertionError when nothing comes of it."""
        if self.before is not None:
            await self.before(hands)
        screen, name = self.id.split(".")
        if screen == ANYWHERE:
            assert hands.app.check_action(name, ()), f"{self.id} does not apply"
        else:
            assert front(hands) == screen, f"{self.id} is tried on the screen {front(hands)}\n{hands.shown}"
            applies = hands.app.screen.check_action(name, (self.key,) if name == "need" else ())
            assert applies, f"{self.id} does not apply\n{hands.shown}"
        came = self.sees(hands)
        assert not came(), f"{self.id}: what {self.key} is to bring is there already\n{hands.shown}"
        await hands.pilot.press(self.key)
        try:
            await hands.until(came)
        except AssertionError as never:
            raise AssertionError(f"{self.id}: {self.key} is dead\n{hands.shown}") from never
        if self.after is not None:
            await self.after(hands)


def front(hands: Hands) -> str:
    """The name of the screen in front."""
    return str(getattr(hands.app.screen, "NAME", type(hands.app.screen).__name__))


def on(name: str, says: str = "") -> Sees:
    """Another screen, with a text on it."""
    return lambda hands: lambda: front(hands) == name and (says in hands.shown or says in hands.said)


def says(text: str) -> Sees:
    """A text that was not on the screen."""
    return lambda hands: lambda: text in hands.shown or text in hands.said


def holds(what: Callable[[Any], bool], name: str = "") -> Sees:
    """Something that holds of the screen in front."""
    return lambda hands: lambda: (not name or front(hands) == name) and bool(what(hands.app.screen))


def moves(what: Callable[[Any], Any], by: int = 0) -> Sees:
    """A figure of the screen in front that grows (``by`` 1), shrinks (-1) or is another (0)."""

    def before(hands: Hands) -> Test:
        old = what(hands.app.screen)

        def test() -> bool:
            new = what(hands.app.screen)
            return bool(new != old if not by else new > old if by > 0 else new < old)

        return test

    return before


def left(hands: Hands) -> Test:
    """The program was left in good order."""
    return lambda: not hands.app.is_running and hands.app.return_code == 0


def field(screen: Any) -> str:
    """The field in hand."""
    return str(getattr(screen.focused, "value_name", "") or screen.focused)


def at_place(place: Callable[[Any], Place]) -> Sees:
    """The screen of a place, of the job the place is of."""

    def before(hands: Hands) -> Test:
        aim = place(hands.app.screen)
        return lambda: front(hands) == ROOMS[aim.room] and hands.app.screen.code == aim.job  # type: ignore[attr-defined]

    return before


def go(*keys: str, text: str = "", to: str = "", says: str = "") -> Go:
    """Press keys, type a text into the field in hand, and wait for a screen or a word."""

    async def going(hands: Hands) -> None:
        await hands.press(*keys)
        if text:
            await hands.type(text)
        if to:
            await hands.until(lambda: front(hands) == to)
        await hands.until(says)
        await hands.pilot.pause()

    return going


def then(*steps: Go) -> Go:
    """One after the other."""

    async def going(hands: Hands) -> None:
        for step in steps:
            await step(hands)

    return going


def wait(what: Callable[[Any], bool]) -> Go:
    """Wait until something holds of the screen in front."""

    async def going(hands: Hands) -> None:
        await hands.until(lambda: bool(what(hands.app.screen)))

    return going


def until_by(key: str, what: Callable[[Any], bool]) -> Go:
    """Press a key until something holds of the screen in front."""

    async def going(hands: Hands) -> None:
        for _ in range(40):
            if what(hands.app.screen):
                return
            await hands.press(key)
        raise AssertionError(f"{key} never led there\n{hands.shown}")

    return going


def to_check(phase: str, check: str) -> Go:
    """On the screen of a job: the cursor on a check."""

    async def going(hands: Hands) -> None:
        await hands.until(lambda: isinstance(hands.app.screen, JobScreen) and hands.app.screen.view is not None)
        screen = hands.app.screen
        assert isinstance(screen, JobScreen)
        screen.go_to(phase, check)
        await hands.until(lambda: screen.check is not None and screen.check.key == check)

    return going
