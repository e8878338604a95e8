"""What is typed, in turn: the next key or paste is given on only when all that the one before set going has been done.

The toolkit gives every key to the field that has the cursor when the key comes in. Who types fast, pastes, or reads with a
measuring tape that types, sends `12 enter 13 enter` at once: all of it would go into the first field, because the cursor
moves on some messages later. And who knows the way sends `n`, a note and enter at once: the note is for the question that
`n` opens, which is not there yet. So a key waits while a screen is opening and while the book is asked for it (``hold``);
what was typed after something that was refused is dropped (``drop_ahead``), for it was meant for what did not come.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from enum import Enum
from functools import partial
from time import monotonic
from typing import Any

from textual import events
from textual.app import App, ReturnType
from textual.message_pump import MessagePump
from textual.screen import Screen
from textual.timer import Timer

Typed = events.Key | events.Paste
PATIENCE = 1.0
"""Seconds after which a key that leaves does not wait for what is longer in coming. (Typed before that, or in one go with
what is before it, it was typed ahead and has its turn.)
"""
LONGEST = 15.0
"""Seconds a turn lasts at most, whatever a widget is busy with."""
SEEN = 3.0
"""Seconds after which a person has seen that a screen is there and still reads: what is typed then is meant for it as it is,
and one that is only brought up to date is waited for no longer.
(A book somebody else writes to has been given up by then: what takes longer is work.)
"""
LOOK = 0.1
"""Seconds between two looks whether what is waited for is still coming."""

LINE_FEED = "ctrl+j"
"""What enter is in what was typed before the terminal was the program's, and in lines that are sent without a paste."""


class Wait(Enum):
    """How long keys wait for something."""

    OPENING = "till it is over: another screen may come of it"
    READING = "till it is over, but for what is typed once it was seen that it takes long"
    REREADING = "some moments: the screen is there, and only brought up to date"


@dataclass(slots=True, eq=False)
class Hold:
    """Something keys wait for while ``screen`` is in front (None: whatever is), until it is over."""

    screen: Screen[Any] | None = None
    wait: Wait = Wait.OPENING
    gone: Callable[[], bool] = lambda: False
    """Whether it ended without a word."""
    over: bool = False
    since: float = field(default_factory=monotonic)

    def keeps(self, came: float, now: float) -> bool:
        """Whether a key that ``came`` then still waits ``now``."""
        match self.wait:
            case Wait.OPENING:
                return True
            case Wait.READING:
                return came - self.since <= SEEN
            case Wait.REREADING:
                return now - self.since <= SEEN


class InTurn(App[ReturnType]):
    """An app that gives what is typed on in turn."""

    def __init__(self) -> None:
        super().__init__()
        self._ahead: deque[tuple[float, Typed]] = deque()
        """What was typed and not given on yet, and when it came."""
        self._turn = 0
        """Counts the turns; word of an older one comes too late."""
        self._began = 0.0
        self._at: MessagePump | None = None
        """Whose messages the turn waits behind."""
        self._busy = False
        self._holds: list[Hold] = []
        self._watchdog: Timer | None = None

    async def on_event(self, event: events.Event) -> None:
        """Give what is typed on in turn; all else goes its way at once."""
        if not isinstance(event, events.Key | events.Paste) or event.is_forwarded:
            await super().on_event(event)
            return
        if isinstance(event, events.Key) and event.key == LINE_FEED:
            event = events.Key("enter", "\r")
        if self._exit:
            return  # typed while the program leaves: there is nobody any more to take it
        self._ahead.append((monotonic(), event))
        self._next()

    # -- what keys wait for

    @property
    def in_turn(self) -> bool:
        """Whether something typed is being dealt with just now."""
        return self._busy

    def hold(self, hold: Hold) -> Hold:
        """Let what is typed wait for something."""
        self._holds.append(hold)
        return hold

    def let_go(self, hold: Hold) -> None:
        """It is over: give what was typed meanwhile on."""
        hold.over = True
        if self._ahead:
            self.call_later(self._next)

    @property
    def keys_wait(self) -> bool:
        """Whether something typed has not had its turn yet."""
        return self._busy or bool(self._ahead)

    def text_ahead(self) -> str:
        """The text that waits to be given on, up to the first key that is none."""
        text = ""
        for _, typed in self._ahead:
            if isinstance(typed, events.Paste):
                text += " ".join(typed.text.split())
            elif typed.character is not None and typed.is_printable:
                text += typed.character
            else:
                break
        return text

    def drop_ahead(self) -> int:
        """Drop what was typed for something that does not come; how much it was."""
        dropped = len(self._ahead)
        self._ahead.clear()
        return dropped

    def type_next(self, typed: Iterable[Typed]) -> None:
        """Put something before all that waits to be given on, as if it had been typed just now."""
        self._ahead.extendleft((monotonic(), one) for one in reversed(list(typed)))

    def overtakes(self, typed: Typed) -> bool:
        """Whether something typed leaves what is in front: it does not wait for what is long in coming."""
        return isinstance(typed, events.Key) and typed.key in ("escape", "ctrl+q")

    def _held(self) -> bool:
        """Whether the next one waits for something still."""
        self._holds = [hold for hold in self._holds if not hold.over and not hold.gone()]
        now, (came, _) = monotonic(), self._ahead[0]
        holds = [hold for hold in self._holds if hold.screen in (None, self.screen) and hold.keeps(came, now)]
        if not holds:
            return False
        late = min(hold.since for hold in holds) + PATIENCE
        before, at = 0.0, None
        for n, (came, typed) in enumerate(self._ahead):
            if came > late and came - before > PATIENCE and self.overtakes(typed):
                at = n
                break
            before = came
        for _ in range(at or 0):
            self._ahead.popleft()  # it was meant for what never came
        return at is None

    # -- turns

    def _next(self) -> None:
        """Begin the turn of the next one, when nothing is in the way."""
        if not self._ahead:
            return
        if self._watchdog is None:
            self._watchdog = self.set_interval(LOOK, self._look)
        if self._busy or not self._screen_stack:
            return
        self._busy, self._turn, self._began = True, self._turn + 1, monotonic()
        self._settle(partial(self._give_on, self._turn))

    async def _give_on(self, turn: int) -> None:
        """Give the next one on, and follow it."""
        if turn != self._turn or not self._busy:
            return
        if not self._ahead or not self._screen_stack or self._held():
            self._busy = False
            return
        _, event = self._ahead.popleft()
        at: MessagePump = self.focused or self.screen
        done = partial(self._settle, partial(self._done, turn))
        # A key goes from the cursor up to the app, where it is looked up; what that sets going (a field that says it is
        # complete) goes the same way once more. Whatever goes behind it from widget to widget arrives after it.
        await super().on_event(event)
        self._behind(at, event, done, partial(self._behind, at, None, done, done))

    def _settle(self, then: Callable[[], object]) -> None:
        """Do ``then`` when the screen in front is there and has dealt with all that came to it before now."""
        if not self._screen_stack:
            self.call_later(then)
            return
        front = self.screen

        def through() -> None:
            self.call_later(again)

        def again() -> None:
            if self._screen_stack and self.screen is not front:
                self._settle(then)
            else:
                self.call_later(then)

        self._at = front
        # A screen that is opening takes no message before it is there.
        if not front.call_later(through):
            self.call_later(again)

    def _behind(
        self, at: MessagePump | None, event: Typed | None, kept: Callable[[], None], then: Callable[[], None]
    ) -> None:
        """Go behind the messages of a widget and of all it stands in, up to the app, then do ``then``; ``kept`` where a
        widget keeps the ``event`` for itself: it goes no further, and nothing follows.
        """
        self._at = at
        if at is None or at is self or not at.call_later(self._one_up, at, event, kept, then):
            self.call_later(then)

    def _one_up(self, at: MessagePump, event: Typed | None, kept: Callable[[], None], then: Callable[[], None]) -> None:
        # On a screen every key is marked as going no further than the app.
        if event is not None and event._stop_propagation and not isinstance(at, Screen):
            kept()
        else:
            self._behind(at._parent, event, kept, then)

    def _done(self, turn: int) -> None:
        """What was given on is done with: the next one's turn."""
        if turn == self._turn and self._busy:
            self._busy = False
            self._next()

    def _look(self) -> None:
        """Look whether what is waited for still comes; stop looking when nothing waits."""
        gone = self._at is not None and (self._at._closing or self._at._closed)
        if self._busy and (gone or monotonic() - self._began > LONGEST):
            self._done(self._turn)
        if not self._ahead:
            if not self._busy:
                self._no_more_looks()
        elif not self._busy:
            self._next()

    def _no_more_looks(self) -> None:
        if self._watchdog is not None:
            self._watchdog.stop()
            self._watchdog = None
