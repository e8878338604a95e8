"""The app: wiring only. First paint comes before the store is imported; then a thread opens the book."""

from __future__ import annotations

import asyncio
import os
import signal
import threading
from collections.abc import Callable, Coroutine
from contextlib import suppress
from datetime import datetime
from functools import partial
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Any, ClassVar

from textual.binding import Binding, BindingType
from textual.command import Provider
from textual.events import Key
from textual.widgets import Input
from textual.worker import Worker

from tracker.errors import BookError, TrackerError
from tracker.screens.actions import ANYWHERE, bindings
from tracker.screens.clears import by_keys
from tracker.screens.desk import Desk, draft_name
from tracker.screens.frame import Framed
from tracker.screens.help import help_page
from tracker.screens.inturn import Hold, Typed
from tracker.screens.morning import MorningScreen
from tracker.screens.page import Page
from tracker.screens.palette import Applying, JobHits
from tracker.screens.theme import LIGHTS, MEANT_FOR, keep_light, kept_light, next_light
from tracker.settings import state_folder

if TYPE_CHECKING:
    from tracker.book.opening import Book

WATCH = 1.0
"""Seconds between two looks at the book's stamp."""
KEEP = 0.5
"""Seconds between two looks whether a draft has changed."""
LEAVING = 5.0
"""Seconds the screens may take to leave once they were told to end."""
LAST_KEYS = 1.0
"""Seconds of these in which what was typed before that still has its turn."""
PATIENCE = 2000
"""Milliseconds a screen waits for a busy book before it says so; the person is there to try again."""


def open_the_book(path: Path, at: datetime) -> tuple[Book, int]:
    """Open the book; the store is imported here, in the thread, after the first paint."""
    from tracker.book import buying, finding, gates, jobs, lots, morning, offcuts, readings, receiving, sheet
    from tracker.book.damaged import told_when_damaged
    from tracker.book.opening import open_book
    from tracker.reports import daysheet

    _ = buying, finding, gates, jobs, lots, morning, offcuts, readings, receiving, sheet, daysheet
    with told_when_damaged(path):
        book = open_book(path, busy_ms=PATIENCE, at=at)
        return book, book.stamp()


class DeckApp(Desk):
    """The job book on a terminal."""

    TITLE = "deckjobs"
    CSS_PATH = "app.tcss"
    COMMANDS: ClassVar[set[type[Provider] | Callable[[], type[Provider]]]] = {Applying, JobHits}
    ENABLE_COMMAND_PALETTE = True
    BINDINGS: ClassVar[list[BindingType]] = [
        *bindings(ANYWHERE),
        Binding("ctrl+c", "help_quit", show=False, system=True),
    ]

    def __init__(
        self,
        path: Path,
        who: str,
        device: str,
        clock: Callable[[], datetime],
        *,
        banner: str = "",
        light_file: Path | None = None,
    ) -> None:
        super().__init__(path, who, device, clock, banner)
        self.light_file = light_file
        """Where this device keeps the colours chosen last; None keeps them only while the app runs."""
        self.exit_code = 0
        self.looking = False
        self.day = self.today
        """The local day what is in front was read on."""
        self.drafts_unkept = False
        self.last_time: list[tuple[str, str]] = []
        """The drafts of last time, as they were found when the book was opened."""
        self.notices: list[str] = []
        """What the book had to say when it was opened."""
        self.noticed_on: Framed[Any] | None = None
        """The screen that was in front then, and told of both."""
        self.noticed = ""
        self.begun = self.hold(Hold())
        """What is typed before the book is open waits for it."""

    def on_mount(self) -> None:
        """Paint the frame, then open the book."""
        self.heed_the_end()
        for light in LIGHTS:
            self.register_theme(light)
        self.theme = kept_light(self.light_file)
        self.home = MorningScreen()
        self.push_screen(self.home)
        self.call_after_refresh(self.action_open_book)

    def heed_the_end(self) -> None:
        """Leave in order when the terminal is closed or the program is told to end: what is typed is kept first."""
        if threading.current_thread() is not threading.main_thread():
            return
        for name in ("SIGTERM", "SIGHUP"):
            with suppress(AttributeError, NotImplementedError):  # not every system has them
                asyncio.get_running_loop().add_signal_handler(getattr(signal, name), self.told_to_end)

    def told_to_end(self) -> None:
        """Keep what is typed at once, then leave; a terminal that is gone can hold the leaving up only so long."""
        self.keep_typed(self.typed_now())
        last = threading.Timer(LEAVING, self.end_here)
        last.daemon = True
        last.start()
        self.set_timer(LAST_KEYS / 10, partial(self.after_the_last_keys, monotonic() + LAST_KEYS))

    def after_the_last_keys(self, end: float) -> None:
        """Leave when what was typed before the end has had its turn, or at ``end``: then it stays in its field as it is."""
        if self.keys_wait and monotonic() < end:
            self.set_timer(LAST_KEYS / 10, partial(self.after_the_last_keys, end))
            return
        field = self.focused
        if isinstance(field, Input) and (text := self.text_ahead()):
            field.replace(text, *field.selection)
        self.action_leave()

    def end_here(self) -> None:
        """End the process as it is: everything recorded is in the book, and what was typed is kept."""
        self.keep_typed(self.typed_now())
        os._exit(self.exit_code)

    def errand(self, work: Callable[[], Coroutine[Any, Any, None]], group: str) -> None:
        """Run a coroutine method of the app's own; a fault of ours ends the program with one plain line."""

        async def guarded() -> None:
            try:
                await work()
            except Exception as error:
                self.give_up(error)

        _: Worker[None] = self.run_worker(guarded, group=group, exit_on_error=False)

    def action_open_book(self) -> None:
        """Open the book, in a thread."""
        if self.begun.over:
            self.begun = self.hold(Hold())
        self.errand(self.opening, "opening")

    async def opening(self) -> None:
        """Open the book and show the morning, or say why not."""
        try:
            await self.open_and_show()
        finally:
            self.let_go(self.begun)

    async def open_and_show(self) -> None:
        """Open the book and show the morning, or say why not."""
        try:
            book, self.stamp = await self.in_thread(lambda: open_the_book(self.path, self.clock()))
        except BookError as error:
            self.exit_code = error.exit_code
            self.drop_ahead()
            self.home.opening_failed(error)
            return
        self.book, self.exit_code = book, 0
        notices = list(book.notices)
        if not self.drafts and not self.unsent:
            self.take_up(await self.in_thread(partial(self.on_disk.read, self.drafts_file)))
            self.last_time = self.kept_drafts
        self.notices, self.noticed_on = notices, self.front
        if told := self.notice():
            self.noticed = told
            self.noticed_on.tell(told)
        self.home.reread()
        self.set_interval(WATCH, self.look)
        self.set_interval(KEEP, self.keep)

    @property
    def front(self) -> Framed[Any]:
        """The full screen in front."""
        return next((screen for screen in reversed(self.screen_stack) if isinstance(screen, Framed)), self.home)

    def notice(self) -> str:
        """What is told at the opening: the notices of the book, and the drafts of last time that are there still."""
        kept = self.kept_drafts
        left = ", ".join(draft_name(key) for key in self.last_time if key in kept)
        of_drafts = [f"drafts from last time: {left} (k goes there)"] if left else []
        return by_keys("; ".join([*self.notices, *of_drafts]))

    def notice_again(self) -> None:
        """Where the drafts of last time are told of still, tell of those that are left."""
        screen, told = self.noticed_on, self.noticed
        if screen is not None and screen.is_attached and screen.last_told == told != (now := self.notice()):
            screen.put_told(now)
            self.noticed = now

    def keep(self) -> None:
        """Keep the drafts on the disk, in a thread."""
        self.notice_again()
        self.errand(self.keeping, "drafts")

    async def keeping(self) -> None:
        """Write the drafts when they changed; say so once when that fails."""
        wrong = await self.in_thread(partial(self.keep_typed, self.typed_now(), next(self.on_disk.turns)))
        if wrong and isinstance(self.screen, Framed) and not self.drafts_unkept:
            self.screen.tell(wrong)
        self.drafts_unkept = bool(wrong)

    def look(self) -> None:
        """Look whether anybody wrote to the book."""
        if not self.looking and self.book is not None:
            self.looking = True
            self.errand(self.watch_book, "watch")

    async def watch_book(self) -> None:
        """Read again what is in front when the stamp or the day has changed; say so when the book cannot be read."""
        from tracker.book.opening import Book

        try:
            stamp = await self.ask(Book.stamp)
        except TrackerError as error:
            self.set_trouble(f"what you see may be old: {error.message}")
            return
        finally:
            self.looking = False
        planning = self.book is not None and self.book.plans_in_hand > 0
        self.set_trouble("", "working out the cheapest boards…" if planning else "")
        turned = self.turn_day()
        front = self.front
        if stamp == self.stamp and not turned and not front.unread:
            return
        self.stamp = stamp
        front.old_day = False
        if front.unread:
            front.unread = False
            front.tell("")
        front.reread()

    def turn_day(self) -> bool:
        """Tell every screen when the local day has turned; whether it has."""
        before, self.day = self.day, self.today
        if before == self.day:
            return False
        for screen in self.screen_stack:
            if isinstance(screen, Framed):
                screen.turn_day(before, self.day)
        return True

    def set_trouble(self, text: str, working: str = "") -> None:
        """Show in every bar that the book cannot be read just now, or what takes a while; or no longer."""
        if (text, working) != (self.trouble, self.working):
            self.trouble, self.working = text, working
            for screen in self.screen_stack:
                if isinstance(screen, Framed):
                    screen.draw_bar()

    def overtakes(self, typed: Typed) -> bool:
        """On the morning its own key leaves too."""
        return super().overtakes(typed) or (isinstance(typed, Key) and typed.key == "q" and self.screen is self.home)

    def action_help(self) -> None:
        """List the keys."""
        if not isinstance(self.screen, Page):
            self.push_screen(help_page(getattr(self.screen, "NAME", ANYWHERE), self.size.width))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Finding opens over a whole screen, once, with a book to look in."""
        if action == "search":
            front = self.screen
            return self.book is not None and isinstance(front, Framed) and front.NAME != "finding"
        return True

    def action_search(self) -> None:
        """Find anything by its words."""
        from tracker.screens.finding import FindScreen

        self.push_screen(FindScreen())

    def action_other_light(self) -> None:
        """Go on to the next colours, and keep them for this device."""
        self.theme = name = next_light(self.theme)
        self.errand(lambda: self.in_thread(lambda: keep_light(self.light_file, name)), "light")
        if isinstance(self.screen, Framed):
            self.screen.tell(f"colours: {name} ({MEANT_FOR[name]})")

    def action_leave(self, said: str = "") -> None:
        """Leave, with a last word; what is typed and not saved stays as a draft for next time."""
        if not said and self.home.leave_after():
            return
        if self.home.filling:
            said = "left before all sample jobs were loaded; `deckjobs take` takes in those that are missing"
        self.keep_typed(self.typed_now())
        if drafts := self.draft_names:
            said += f"{'; ' if said else ''}kept as drafts, not in the book: {drafts}"
        self.exit(self.exit_code, return_code=self.exit_code, message=said or None)

    def action_quit(self) -> Coroutine[Any, Any, None]:
        """Textual's own quit is ours."""

        async def quitting() -> None:
            self.action_leave()

        return quitting()

    def _handle_exception(self, error: Exception) -> None:
        # Textual prints a traceback with the values of local variables: names and prices stay off the
        # terminal.
        super()._handle_exception(error)
        self._exit_renderables.clear()
        self.give_up(error)


def run_app(path: Path, who: str, device: str, clock: Callable[[], datetime], *, banner: str = "") -> int:
    """Open the screens on the book at ``path`` and give back the exit code.

    ``who`` signs the entries made on ``device``; ``clock`` gives an aware moment; ``banner`` stands on the
    top line.
    """
    state = state_folder()
    light_file = state / "colours" if state else None
    app = DeckApp(path, who, device, clock, banner=banner, light_file=light_file)
    app.run()
    app.keep_typed(app.typed_now())  # a page that was closed leaves without asking
    if app.book is not None:
        app.book.close()
    return app.return_code or 0
