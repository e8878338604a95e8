"""The frame of every full screen: the bar on top, the body, the last word, the keys. Nothing in it moves."""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Sequence
from datetime import date
from functools import partial
from typing import Any, ClassVar, Concatenate, Generic, ParamSpec, TypeVar

from textual import events
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.css.query import NoMatches
from textual.geometry import Size
from textual.reactive import reactive
from textual.screen import ModalScreen, Screen
from textual.style import Style
from textual.widget import Widget
from textual.widgets import DataTable, Input, OptionList
from textual.worker import Worker

from tracker.errors import BookError, ConflictError, InputErrors, TrackerError
from tracker.screens import words
from tracker.screens.actions import ANYWHERE, Action, of_screen
from tracker.screens.clears import by_keys
from tracker.screens.desk import Desk
from tracker.screens.inturn import Hold, Wait
from tracker.screens.oneline import OneLine
from tracker.screens.static import Static
from tracker.text import clean

P = ParamSpec("P")
R = TypeVar("R")
S = TypeVar("S", bound="Asking")
WRITE = "write"
"""The group of the errands that write."""


class Asking(Widget):
    """What a screen needs in order to talk with the book and to tell what came of it."""

    unread = False
    """The book could not be read when it was asked last (busy, say): it is asked again once it can be."""

    @property
    def desk(self) -> Desk:
        """The app, with its ``ask``."""
        app = self.app
        assert isinstance(app, Desk)
        return app

    @property
    def writing(self) -> bool:
        """Whether something is on its way into the book: who leaves now never learns whether it got there."""
        return any(w.node is self and w.group == WRITE and not w.is_finished for w in self.workers)

    def tell(self, text: str, style: str = "") -> None:
        """Show the last word in its fixed place."""
        raise NotImplementedError

    def wrong(self, error: TrackerError, *, wrote: bool = True) -> str:
        """What went wrong, where something was to be written or only read, and what would be right; the book by its name alone."""
        return words_of(error, wrote=wrote).replace(str(self.desk.path), self.desk.path.name)

    def complain(self, error: TrackerError, *, wrote: bool = True) -> None:
        """Show what went wrong and what would be right."""
        self.tell(self.wrong(error, wrote=wrote), "$error")

    def on_one_line_left_out(self, event: OneLine.LeftOut) -> None:
        """Say what of a paste a field did not take; what it does not take is not in the draft either."""
        event.stop()
        self.tell(event.text, "$error")

    def turn_down(self, text: str) -> None:
        """Say why what was asked for is not done; what was typed ahead of it was meant for what does not come."""
        if self.desk.drop_ahead():
            text += f"{'' if text.endswith(('.', '?')) else '.'} What you typed after it was not taken"
        self.tell(text, "$error")


def words_of(error: TrackerError, *, wrote: bool = True) -> str:
    """An error in words, with what is safe; of a read that was to write nothing, nothing is said of writing."""
    lines = error.problems if isinstance(error, InputErrors) else (error.message,)
    text = "; ".join(by_keys(line) for line in lines if line)
    if hint := by_keys(error.hint):
        text += f"{'' if text.endswith('?') else '.'} {hint[0].upper()}{hint[1:]}"
    if wrote and isinstance(error, BookError) and "othing" not in text:
        text += ". Nothing was written"
    if isinstance(error, ConflictError):
        text += ". What you typed is kept"
    return text.replace("\n", "; ")


def _errand(
    method: Callable[Concatenate[S, P], Coroutine[Any, Any, None]], *, writes: bool = False, waited_for: bool = True
) -> Callable[Concatenate[S, P], None]:
    group = WRITE if writes else method.__name__

    async def guarded(self: S, hold: Hold | None, *args: P.args, **kwargs: P.kwargs) -> None:
        try:
            await method(self, *args, **kwargs)
        except TrackerError as error:
            if hold is None:
                self.complain(error, wrote=writes)
            else:
                self.turn_down(self.wrong(error, wrote=writes))
            self.unread = isinstance(error, BookError) and not writes
        except NoMatches as error:
            # A screen that goes away while the book is asked loses its parts before it leaves the tree itself.
            if self.is_attached and id(self) in map(id, self.desk.screen_stack):
                self.desk.give_up(error)
        except Exception as error:
            self.desk.give_up(error)
        finally:
            if hold is not None:
                self.desk.let_go(hold)

    def begin(self: S, /, *args: P.args, **kwargs: P.kwargs) -> None:
        if writes and self.writing:
            return
        hold = None
        again = method.__name__ == "reread" and isinstance(self, Framed) and self.read_under is not None
        if waited_for and (self.desk.in_turn or not again):
            first = Wait.READING if method.__name__ == "reread" else Wait.OPENING
            hold = self.desk.hold(Hold(self.screen, Wait.REREADING if again else first))
        worker: Worker[None] = self.run_worker(
            partial(guarded, self, hold, *args, **kwargs), group=group, exclusive=not writes, exit_on_error=False
        )
        if hold is not None:
            hold.gone = partial(_over, worker)

    begin.__doc__ = method.__doc__
    return begin


def _over(worker: Worker[None]) -> bool:
    # One that a newer took the place of before it began never ends by itself.
    return worker.is_finished or worker.is_cancelled


def reads(
    method: Callable[Concatenate[S, P], Coroutine[Any, Any, None]],
) -> Callable[Concatenate[S, P], None]:
    """Make a coroutine method an errand that reads: a newer call of it takes the place of an older one, and keys wait."""
    return _errand(method)


def shows(
    method: Callable[Concatenate[S, P], Coroutine[Any, Any, None]],
) -> Callable[Concatenate[S, P], None]:
    """Make a coroutine method an errand that reads what is only looked at beside the typing: no key waits for it."""
    return _errand(method, waited_for=False)


def writes(
    method: Callable[Concatenate[S, P], Coroutine[Any, Any, None]],
) -> Callable[Concatenate[S, P], None]:
    """Make a coroutine method an errand that writes: while one is on its way a second press does nothing, and keys wait."""
    return _errand(method, writes=True)


def works(
    method: Callable[Concatenate[S, P], Coroutine[Any, Any, None]],
) -> Callable[Concatenate[S, P], None]:
    """Make a coroutine method an errand that writes for a good while, says so and can be stopped: no key waits for it."""
    return _errand(method, writes=True, waited_for=False)


TAP = "tap"
"""What a part of the key line holds: the action it does. (Textual's own name for it would underline the part.)"""
HELP, MORE = (
    next(action for action in of_screen(ANYWHERE) if action.name == name) for name in ("help", "command_palette")
)


def tapped(part: Content, action: Action) -> Content:
    """The part of the key line of an action, which a mouse or a finger does as well as its key."""
    if action.name == "need":  # its keys each mean another line
        return part
    room = "app" if action.screen == ANYWHERE else "screen"
    return part.stylize(Style.from_meta({TAP: f"{room}.{action.name}"}))


class KeyLine(Static):
    """The keys that work here, on one line or two, help always among them."""

    LINES = 2

    def __init__(self, screen_name: str) -> None:
        super().__init__(markup=False)
        self.screen_name = screen_name

    @property
    def help_key(self) -> str:
        """The key that lists all keys: a field takes the question mark for itself."""
        return "F1" if isinstance(self.screen.focused, Input) else "?"

    def on_mount(self) -> None:
        """Follow the cursor in and out of fields."""
        self.watch(self.screen, "focused", self.refocused, init=False)

    def refocused(self, before: Widget | None, after: Widget | None) -> None:
        """Name the other key."""
        if isinstance(before, Input) is not isinstance(after, Input):
            self.refresh(layout=True)

    def lines(self, width: int) -> list[Content]:
        """The keys by the width of a line: as many as fit on two; the last ones tell where all the others are."""
        parts = [
            tapped(words.line(words.say(action.shows, words.HEADING), f" {action.label}  "), action)
            for action in of_screen(self.screen_name)
            if action.listed and action.name != "help" and self.screen.check_action(action.name, ()) is True
        ]
        last = tapped(words.line(words.say(self.help_key, words.HEADING), " help"), HELP)
        laid = self.laid(parts, last, width)
        if len(laid) > self.LINES:
            more = words.line(words.say(MORE.shows, words.HEADING), f" {MORE.label}  ")
            last = words.line(tapped(more, MORE), last)
            while len(laid) > self.LINES:
                parts.pop()
                laid = self.laid(parts, last, width)
        return laid

    def laid(self, parts: Sequence[Content], last: Content, width: int) -> list[Content]:
        """Parts side by side, on as many lines as they need."""
        out = [Content("")]
        for part in (*parts, last):
            if out[-1].cell_length + part.cell_length > width + 2 * (part is not last):  # its own gap may hang over
                out.append(Content(""))
            out[-1] = words.line(out[-1], part)
        return out

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """One line, or two when the keys need them."""
        return len(self.lines(width))

    async def on_click(self, event: events.Click) -> None:
        """Do what the part under the pointer says."""
        if action := event.style.meta.get(TAP):
            event.stop()
            await self.run_action(action)

    def render(self) -> Content:
        """The keys by the width of the line."""
        return words.stack(self.lines(self.size.width or 80))


class Framed(Screen[R], Asking, Generic[R]):
    """A full screen: ``NAME`` is its name in the action registry."""

    NAME: ClassVar[str]
    AUTO_FOCUS: ClassVar[str | None] = None
    title_text: reactive[str] = reactive("")
    aside_text: reactive[str] = reactive("")

    def __init__(self) -> None:
        super().__init__()
        self.read_under: int | None = None
        self.old_day = False
        """What was read is of a day that has turned since."""
        self.last_told = ""
        """The last word as it stands."""

    def compose(self) -> ComposeResult:
        """The frame round the body."""
        yield Static(id="bar", markup=False)
        yield from self.body()
        yield Static(id="told", markup=False)
        yield KeyLine(self.NAME)

    def body(self) -> ComposeResult:
        """The widgets between the bar and the last word."""
        raise NotImplementedError

    def reread(self) -> None:
        """Ask the book again and show the answer, the cursor on the same row."""

    def turn_day(self, before: date, today: date) -> None:
        """The local day has turned; what stood on the day ``before`` as today follows. It is read again in front."""
        self.old_day = True

    @property
    def focus_chain(self) -> list[Widget]:
        """Where tab stops: at fields, at lists that hold something, at panes that scroll; there one sees where one is."""
        chain = super().focus_chain
        return [widget for widget in chain if _shows_where(widget)] or chain

    def on_screen_resume(self) -> None:
        """Read again when the book or the day moved on while another screen was in front; what applies may be another."""
        self.draw_bar()
        for keys in self.query(KeyLine):
            keys.refresh(layout=True)
        if self.read_under is not None and (self.old_day or self.read_under != self.desk.stamp):
            self.old_day = False
            self.reread()

    def on_resize(self) -> None:
        """Fit the bar and the rows to the new width."""
        self.draw_bar()
        self.call_after_refresh(self.redraw)

    def redraw(self) -> None:
        """Draw again what was read, for the width there is now."""

    def watch_title_text(self) -> None:
        """Draw the bar."""
        self.draw_bar()

    def watch_aside_text(self) -> None:
        """Draw the bar."""
        self.draw_bar()

    def draw_bar(self) -> None:
        """Draw the top line."""
        if not self.query("#bar"):
            return
        width = max(self.size.width - 2, 20)
        title, trouble = words.say(self.title_text, "bold"), self.desk.trouble
        right = trouble or self.desk.working or self.aside_text or self.desk.banner
        room = width // 2 if trouble else max(width - title.cell_length - 2, 0)
        aside = words.say(right, "$error bold" if trouble else words.FAINT)
        if aside.cell_length > room:
            aside = aside.truncate(room, ellipsis=True) if room > 12 else Content("")
        self.query_one("#bar", Static).update(words.ends(title, aside, width))

    def tell(self, text: str, style: str = "") -> None:
        """Show the last word; one that does not fit its two lines opens on a page of its own."""
        if not self.query("#told"):
            self.desk.notify(clean(text), markup=False)
            return
        text = by_keys(text)
        self.put_told(text, style)
        if len(text) > 2 * max(self.size.width - 2, 20):
            from tracker.screens.page import Page

            self.desk.push_screen(Page("What happened", words.say(text)))

    def put_told(self, text: str, style: str = "") -> None:
        """Put the last word in its place, as much of it as fits."""
        self.last_told = text
        self.query_one("#told", Static).update(words.say(text, style))

    def refresh_keys(self) -> None:
        """Draw the key line again after what applies has changed."""
        self.query_one(KeyLine).refresh(layout=True)


def _shows_where(widget: Widget) -> bool:
    """Whether a place for the cursor can show it: an empty list has no line in hand, a pane that does not scroll no use for it."""
    match widget:
        case OptionList():
            return bool(widget.option_count)
        case DataTable():
            return bool(widget.row_count)
        case VerticalScroll():
            return widget.max_scroll_y > 0
    return True


class Boxed(ModalScreen[R], Generic[R]):
    """A box over a screen: ``NAME`` is its name in the action registry; its keys stand in its last line."""

    NAME: ClassVar[str]
    CSS_PATH = "boxed.tcss"
