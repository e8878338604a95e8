"""The app as every screen knows it: whose hand signs, the drafts, and ``ask``, the one way to the book."""

from __future__ import annotations

from asyncio import CancelledError
from collections.abc import Callable, Mapping
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Concatenate, ParamSpec, TypeVar

from textual import constants
from textual.driver import Driver
from textual.worker import WorkerCancelled, WorkerFailed

from tracker.book.damaged import told_when_damaged
from tracker.book.hand import Hand, hand
from tracker.errors import BookError
from tracker.screens.drafts import SEPARATOR, SOUGHT, Draft, DraftsFile, Plain, drafts_path, first_name, form_of, plain
from tracker.screens.inturn import InTurn
from tracker.screens.plainterm import for_this_terminal
from tracker.text import clean

if TYPE_CHECKING:
    from tracker.book.opening import Book

UNSENT = ""
"""In place of a job's code: the draft on the disk is the answer of a question, typed and not recorded."""
P = ParamSpec("P")
T = TypeVar("T")


def draft_name(key: tuple[str, str]) -> str:
    """What is typed and not saved, in words: a form by its name and its job, a question by what it asks."""
    code, name = key
    return clean(name) if code == UNSENT else f"{clean(name)} of {clean(code)}"


class Desk(InTurn[int]):
    """What the screens share."""

    def __init__(self, path: Path, who: str, device: str, clock: Callable[[], datetime], banner: str) -> None:
        super().__init__()
        self.path = path
        self.who = who
        self.device = device
        self.clock = clock
        self.banner = banner
        self.book: Book | None = None
        self.drafts: dict[tuple[str, str], Draft] = {}
        self.on_disk = DraftsFile()
        """The drafts beside the book."""
        self.unsent: dict[str, str] = {}
        """Texts typed as the answer of a question and not recorded, by the question."""
        self.stamp: int | None = None
        """The book's stamp when it was last looked at; a screen compares it with the one it read under."""
        self.working = ""
        """What takes a while just now; empty for nothing."""
        self.trouble = ""
        """Why the book could not be read just now; empty when it could."""

    def action_open_book(self) -> None:
        """Open the book, in a thread."""
        raise NotImplementedError

    def action_leave(self, said: str = "") -> None:
        """Leave the program, with a last word."""
        raise NotImplementedError

    def get_driver_class(self) -> type[Driver]:
        """What draws on the terminal, in signs the terminal can show; a browser shows them all."""
        driver = super().get_driver_class()
        return driver if constants.DRIVER else for_this_terminal(driver)

    @property
    def encoding(self) -> str:
        """The encoding of what is drawn."""
        return "ascii" if getattr(self._driver, "ascii_only", False) else self.console.encoding

    def hand(self) -> Hand:
        """The hand that signs an entry made now."""
        return hand(self.who, self.clock(), self.device)

    @property
    def today(self) -> date:
        """The local working day."""
        return self.clock().astimezone().date()

    def has_draft(self, code: str, check: str) -> bool:
        """Whether values were typed for a check and not recorded."""
        draft = self.drafts.get((code, check))
        return draft is not None and bool(draft.texts)

    @property
    def kept_drafts(self) -> list[tuple[str, str]]:
        """The job and the name of everything typed and not saved: forms first, then questions, those under UNSENT."""
        questions = dict.fromkeys(form_of(name) for name in self.unsent if name != SOUGHT)
        return [*(key for key in self.drafts if self.has_draft(*key)), *((UNSENT, name) for name in questions)]

    @property
    def draft_names(self) -> str:
        """Everything typed and not saved, in words."""
        return ", ".join(map(draft_name, self.kept_drafts))

    @property
    def drafts_file(self) -> Path:
        """Where the drafts are kept while they are not in the book."""
        return drafts_path(self.path.resolve(), self.device)

    def typed_now(self) -> dict[str, Plain]:
        """Everything typed and not recorded, drafts and answers, as plain values that go on the disk."""
        answers = {(UNSENT, name): Draft("", {"": text}) for name, text in self.unsent.items()}
        return plain({**self.drafts, **answers})

    def keep_typed(self, typed: dict[str, Plain], turn: int | None = None) -> str:
        """Write what is typed beside the book when it has changed; returns what is wrong when that fails.

        ``turn`` is that of the moment it was looked at, for a thread that may come late.
        """
        try:
            self.on_disk.keep(self.drafts_file, typed, turn)
        except OSError as error:
            return f"drafts cannot be kept beside the book: {error.strerror}"
        self.part_drafts()
        return ""

    def part_drafts(self) -> None:
        """Give drafts that have left those of another window an entry of their own: the other's may be recorded by now."""
        from tracker.book.opening import default_entry_id

        while self.on_disk.parted:
            code, _, name = self.on_disk.parted.pop().partition(SEPARATOR)
            draft = self.drafts.get((code, name))
            if draft is not None and draft.tried is None:
                draft.entry_id = default_entry_id()

    def answer_of(self, name: str) -> str:
        """The text kept for the field of a question; without one, what another window typed there."""
        if name not in self.unsent:
            others = [other for other in self.unsent if other != name and first_name(other) == name]
            if others:
                self.unsent[name] = self.unsent.pop(min(others))
        return self.unsent.get(name, "")

    def bring_forward(self, key: tuple[str, str]) -> tuple[str, str]:
        """Make what another window typed into a form the form's draft, what that held taking its place; the form's key."""
        form = (key[0], first_name(key[1]))
        if form != key and key in self.drafts:
            held, self.drafts[form] = self.drafts.get(form), self.drafts.pop(key)
            if held is not None and held.texts:
                self.drafts[key] = held
        return form

    def take_up(self, drafts: Mapping[tuple[str, str], Draft]) -> None:
        """Go on with what was typed last time."""
        for key, draft in drafts.items():
            if key[0] == UNSENT:
                self.unsent.setdefault(key[1], draft.texts[""])
            else:
                self.drafts.setdefault(key, draft)

    async def ask(self, operation: Callable[Concatenate[Book, P], T], *args: P.args, **kwargs: P.kwargs) -> T:
        """Run one operation of the book in a thread and give back its answer or raise its error.

        No other code of the screens calls the book: keys are still answered while the book waits for a lock.
        """
        if self.book is None:
            raise BookError("the book is not open", "r tries to open it again")
        book, work = self.book, partial(operation, self.book, *args, **kwargs)

        def asked() -> T:
            try:
                with told_when_damaged(book.path):
                    return work()
            finally:
                book.write_plans()

        return await self.in_thread(asked)

    async def in_thread(self, work: Callable[[], T]) -> T:
        """Run ``work`` in a thread worker; it is not cut short when the screen that asked goes away."""
        worker = self.run_worker(work, thread=True, exit_on_error=False, group="book")
        try:
            return await worker.wait()
        except WorkerFailed as failed:
            raise failed.error from None
        except WorkerCancelled:
            # The errand that asked was called off (a newer one took its place): it ends like any other.
            raise CancelledError from None

    def give_up(self, error: BaseException) -> None:
        """Leave because of a fault of ours: one plain line, no typed value printed."""
        trace = error.__traceback__
        while trace is not None and trace.tb_next is not None:
            trace = trace.tb_next
        where = f" at {Path(trace.tb_frame.f_code.co_filename).name}:{trace.tb_lineno}" if trace else ""
        self.exit(
            return_code=70,
            message=f"error: our own fault ({type(error).__name__}{where}); what was saved is in the book, "
            "readings typed and not saved are kept as drafts",
        )
