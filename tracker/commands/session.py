"""What a command works with: the settings in force, the book, the hand that signs, and the way answers are
printed.
"""

from __future__ import annotations

import os
import sys
from argparse import Namespace
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from tracker.errors import ConflictError, InputError, RefusedError
from tracker.settings import Settings, device_id, load_settings
from tracker.text import clean

if TYPE_CHECKING:
    from tracker.book.hand import Hand
    from tracker.book.opening import Book
    from tracker.book.views import Recorded
    from tracker.reports.page import Page
    from tracker.trade.answer import Plain

PLAN_SECONDS = 2
"""How long a command that changed what a job has may go on working at its cut plans after its answer."""


def on_terminal(stream: TextIO | None) -> bool:
    """Whether a standard stream is open and a terminal."""
    return stream is not None and not stream.closed and stream.isatty()


def draws() -> bool:
    """Whether standard output is a terminal that can show emphasis and change what stands on it."""
    return sys.stdout.isatty() and os.environ.get("TERM", "") not in ("", "dumb", "unknown")


class Session:
    """One command line: ``given`` are its parsed options, ``words`` the command line as it was typed.

    What it has recorded or written is put into ``done``, in words, before the answer goes out: if that fails, the person is
    told all the same.
    """

    def __init__(self, given: Namespace, words: Sequence[str], done: list[str] | None = None) -> None:
        self._given = given
        self.words = tuple(words)
        self.done = [] if done is None else done
        self.json = bool(getattr(given, "json", False))

    @cached_property
    def settings(self) -> Settings:
        """The settings in force, read when first asked for."""
        given = self._given
        return load_settings(book=getattr(given, "book", None), who=getattr(given, "who", None))

    @property
    def today(self) -> date:
        """The local working day."""
        return self.settings.today

    def hand(self) -> Hand:
        """Whose hand makes an entry now."""
        from tracker.book.hand import hand

        return hand(self.settings.who, self.settings.now(), device_id())

    def book_exists(self) -> bool:
        """Whether there is a book to look into, or something that only opening it can put in words."""
        try:
            return self.settings.book.exists()
        except OSError:
            return True

    @contextmanager
    def book(self, *, create: bool = False) -> Iterator[Book]:
        """The open book, closed afterwards; what the opening has to say is printed first."""
        from tracker.book.damaged import told_when_damaged
        from tracker.book.opening import open_book

        if create:
            self.settings.make_folder()
        with told_when_damaged(self.settings.book):
            book = open_book(self.settings.book, create=create, at=self.settings.now())
        try:
            if not self.json:
                for notice in book.notices:
                    self.say(f"note: {notice}")
            with told_when_damaged(book.path):
                yield book
        finally:
            book.close()

    @contextmanager
    def entry_id(self) -> Iterator[str]:
        """The id of the entry to make: the one given with ``--id``, else one kept until this command has
        answered.
        """
        given = getattr(self._given, "id", None)
        if given is not None:
            import uuid

            try:
                chosen = str(uuid.UUID(given))
            except ValueError:
                raise InputError(f"--id {given[:40]!r} is not a UUID", "leave --id out, and one is made") from None
            yield chosen
            return
        from tracker.book.unanswered import unanswered

        with unanswered(self.settings.book, (*self.words, self.settings.who)) as entry_id:
            yield entry_id

    def named_book(self) -> bool:
        """Whether a book was named on the command line."""
        return getattr(self._given, "book", None) is not None

    def makes_no_entry(self) -> None:
        """Raise InputError when ``--id`` was given, for a command that only shows something."""
        if getattr(self._given, "id", None) is not None:
            raise InputError("--id is the id of an entry, and this makes none", "leave --id out")

    def write(
        self,
        do: Callable[[Book, Hand, str], Recorded],
        *,
        create: bool = False,
        tell: Callable[[Recorded], None] | None = None,
        plan: Sequence[str] = (),
    ) -> Recorded:
        """Make one entry and answer; the entry's id is let go only after the answer is out.

        Then the cut plans of the jobs ``plan`` are worked out, for the lists that are asked for next.
        """
        if create:
            self.settings.make_folder()
        with self.book(create=create) as book:
            with self.entry_id() as entry_id:
                recorded = self._once(do, book, entry_id)
                self.done.append("already recorded" if recorded.already else f"recorded: {recorded.text}")
                (tell or self.tell)(recorded)
                sys.stdout.flush()
            if plan:
                self.plan(book, plan)
        return recorded

    def _once(self, do: Callable[[Book, Hand, str], Recorded], book: Book, entry_id: str) -> Recorded:
        """Record; what a command whose answer was lost recorded is told, and never taken for what it says by now."""
        from tracker.book.views import IdUsedError
        from tracker.trade.dates import format_day

        hand, chosen = self.hand(), getattr(self._given, "id", None) is not None
        again = "nothing was written now; give the command once more to record that too"
        try:
            recorded = do(book, hand, entry_id)
        except IdUsedError as error:
            if chosen:
                raise
            raise ConflictError(
                "this command was recorded before, its answer was lost, and what it records has changed since: "
                f"recorded is {error.stands}; it would now be {error.sent}",
                again,
            ) from error
        if recorded.already and not chosen and recorded.day not in (None, hand.day):
            when = format_day(recorded.day, hand.day)
            raise ConflictError(
                f"this command was recorded before, on {when}, and its answer was lost: recorded is {recorded.text}",
                again,
            )
        return recorded

    def on_purpose(self, record: Callable[[bool], Recorded], *, anyway: bool) -> Recorded:
        """Do ``record(anyway)``; where that is asked about a person at a terminal is asked, and on a yes it is done anyway.

        Raises AskedError where nobody can be asked, RefusedError on a no.
        """
        from tracker.book.views import AskedError

        try:
            return record(anyway)
        except AskedError as error:
            if self.json or not (on_terminal(sys.stdin) and on_terminal(sys.stdout)):
                raise
            told, question = error.message, error.question
        self.say(told)
        try:
            answer = input(f"{question} Type yes to record it: ")
        except EOFError:
            answer = ""
        if answer.strip().lower() != "yes":
            raise RefusedError("nothing was recorded", told)
        return record(True)

    def plan(self, book: Book, codes: Sequence[str] = ()) -> None:
        """Work out and keep the cut plans of these jobs (of all open ones when none is named), for a few seconds at most.

        Call it when the answer is out: nothing that goes wrong here, Ctrl-C included, changes it.
        """
        import time

        from tracker.book.buying import plan_now

        sys.stdout.flush()
        end = time.monotonic() + PLAN_SECONDS
        with suppress(Exception, KeyboardInterrupt):
            plan_now(book, codes, self.today, lambda plan, bound_e4: time.monotonic() < end)

    def tell(self, recorded: Recorded) -> None:
        """Print what a write answered."""
        if self.json:
            from tracker.reports.jsonable import recorded_json

            self.data(recorded_json(recorded))
            return
        self.say(f"{'already recorded' if recorded.already else 'recorded'}: {recorded.text}")
        for notice in recorded.notices:
            self.say(f"note: {notice}")
        for blocker in recorded.blockers:
            self.say(f"in the way: {blocker.what}: {blocker.why}; clear it with: {blocker.clears}")

    def say(self, text: str) -> None:
        """Print one line, safe whatever its names hold."""
        print(clean(text))

    def say_lines(self, text: str) -> None:
        """Print a text of several lines."""
        for line in text.splitlines():
            self.say(line)

    def data(self, value: Plain) -> None:
        """Print a JSON value; ASCII, so that it is safe on every terminal and pipe."""
        import json

        print(json.dumps(value, indent=2))

    @property
    def width(self) -> int:
        """Cells a line of a page may take; 80 where nobody can say."""
        import shutil

        return max(shutil.get_terminal_size((80, 24)).columns, 40) if sys.stdout.isatty() else 80

    def show(self, page: Page) -> None:
        """Print a page: with emphasis on a terminal that can show it, as plain text anywhere else."""
        if draws():
            from rich.console import Console

            from tracker.reports.page import Printed

            Console(file=sys.stdout, highlight=False).print(Printed(page), end="")
            return
        from tracker.reports.page import plain

        print(plain(page, self.width), end="")

    def open_screens(self, book: Path | None = None, banner: str = "") -> int:
        """Open the screens on the book (or on ``book``); returns their exit code."""
        from tracker.screens.app import run_app

        settings = self.settings
        if book is None:
            settings.make_folder()
        return run_app(book or settings.book, settings.who, device_id(), settings.now, banner=banner)
