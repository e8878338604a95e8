"""Keys and pastes in turn: the next one is given on only when all that the one before set going has been done.

The toolkit gives every key to the field that has the cursor when the key comes in. Who types fast, pastes, or reads with a
measuring tape that types, sends `12 enter 13 enter` at once: all of it would go into the first field, because the cursor
moves on some messages later.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable
from functools import partial

from textual import events
from textual.app import App, ReturnType
from textual.message_pump import MessagePump
from textual.screen import Screen
from textual.timer import Timer

Typed = events.Key | events.Paste
PATIENCE = 1.0
"""Seconds the next key waits at most: the widget that had the one before may be gone, or busy for long."""


class InTurn(App[ReturnType]):
    """An app that gives what is typed on in turn."""

    def __init__(self) -> None:
        super().__init__()
        self._ahead: deque[Typed] = deque()
        """What was typed and not given on yet."""
        self._turn = 0
        """Counts what was given on; word of an older turn comes too late."""
        self._busy = False
        self._held = False
        self._watchdog: Timer | None = None

    async def on_event(self, event: events.Event) -> None:
        """Give what is typed on in turn; all else goes its way at once."""
        if not isinstance(event, events.Key | events.Paste):
            await super().on_event(event)
            return
        if not self._screen_stack:
            return  # typed while the program leaves: there is nobody any more to take it
        if event.is_forwarded:
            await super().on_event(event)
            return
        self._ahead.append(event)
        if not (self._busy or self._held):
            await self._give_on()
        elif self._watchdog is None:
            self._watchdog = self.set_timer(PATIENCE, self._waited_long)

    def hold(self) -> None:
        """Let what is typed wait until ``let_go``: the fields it is meant for are not there yet."""
        self._held = True

    def let_go(self) -> None:
        """Give what was typed meanwhile on."""
        self._held = False
        self.call_later(self._give_on)

    def type_next(self, typed: Iterable[Typed]) -> None:
        """Put something before all that waits to be given on, as if it had been typed just now."""
        self._ahead.extendleft(reversed(list(typed)))

    async def _give_on(self) -> None:
        """Give the next one on, and follow it."""
        if self._busy or self._held or not self._ahead or not self._screen_stack:
            return
        event = self._ahead.popleft()
        at: MessagePump = self.focused or self.screen
        self._busy, self._turn = True, self._turn + 1
        turn = self._turn

        done = partial(self._done, turn)
        # A key goes from the cursor up to the app, where it is looked up; what that sets going (a field that says it is
        # complete) goes the same way once more. Whatever goes behind it from widget to widget arrives after it.
        await super().on_event(event)
        self._behind(at, event, done, partial(self._behind, at, None, done, done))

    def _behind(
        self, at: MessagePump | None, event: Typed | None, kept: Callable[[], None], then: Callable[[], None]
    ) -> None:
        """Go behind the messages of a widget and of all it stands in, up to the app, then do ``then``; ``kept`` where a
        widget keeps the ``event`` for itself: it goes no further, and nothing follows.
        """
        if at is None or at is self or not at.call_later(self._one_up, at, event, kept, then):
            self.call_later(then)

    def _one_up(self, at: MessagePump, event: Typed | None, kept: Callable[[], None], then: Callable[[], None]) -> None:
        # On a screen every key is marked as going no further than the app.
        if event is not None and event._stop_propagation and not isinstance(at, Screen):
            kept()
        else:
            self._behind(at._parent, event, kept, then)

    def _waited_long(self) -> None:
        self._watchdog, self._held = None, False
        self._done(self._turn)
        self.call_later(self._give_on)

    def _done(self, turn: int) -> None:
        """What was given on is done with: the next one's turn."""
        if turn != self._turn or not self._busy:
            return
        self._busy = False
        if self._watchdog is not None:
            self._watchdog.stop()
            self._watchdog = None
        if self._ahead:
            self.call_later(self._give_on)
