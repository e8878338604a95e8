"""The program driven in a terminal of its own by seeded random bursts of keys, and its book held against what was typed.

    python -m tests.screens.bursts --minutes 60 --seed 1

A burst is what a person who knows the way types without looking up: from the open jobs into the job, a note, a reading, hours
or a count, then enter or escape, and back. It goes out at once or in pieces, with the window made larger and smaller in
between; now and then the program is left, from the open jobs or out of a form, or killed, and opened again. Beside it a model
keeps what was said to be saved and what must still be offered as a draft. At the end each saved thing is in the book once, in
order, nothing else is, and the drafts are those of the model. Whatever differs comes again with the same seed.
"""

from __future__ import annotations

import argparse
import os
import random
import signal
import string
import sys
import tempfile
import time
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from tests.screens.conftest import JOB, NOW, in_book, quoted
from tests.screens.test_terminal import Window
from tracker.book.care import doctor
from tracker.book.hand import hand
from tracker.book.history import history
from tracker.book.hours import hours_of
from tracker.book.jobs import job_view, take_job
from tracker.book.lots import lots
from tracker.book.opening import Book, open_book
from tracker.book.views import PhaseState
from tracker.screens.drafts import kept_drafts
from tracker.trade.jobfile import parse_job_bytes

CODE, LOT, ORDERED = "26-101", "L1", 100_000
ENTER, TAB, RIGHT, SAVE, ALL_OUT = "\r", "\t", "\x1b[C", "\x13", "\x11"
ESCAPE = "\x1b[27u"
"""Escape as a terminal sends it that tells it from the beginning of another key."""
TO_JOBS = f"{ESCAPE}{ESCAPE}f"
"""Out of a form and out of the job; f on the open jobs says that all before it is dealt with."""
SIZES = ((80, 24), (120, 40), (100, 30), (60, 20))
WIDTH, DEPTH, DIAGONAL = ("12'", "12' 1/16", "11' 11-15/16"), ("9'", "9' 1/16"), ("15'", "15' 1/16")
KEPT_BY = 1.5
"""Seconds after which what stands in a form is on the disk, however the program ends."""


@dataclass
class Model:
    """What must be in the book, and what must be offered again."""

    notes: list[str] = field(default_factory=list)
    readings: list[list[str]] = field(default_factory=list)
    hours: list[str] = field(default_factory=list)
    pieces: list[int] = field(default_factory=list)
    note: str = ""
    line: str = ""
    values: list[str] = field(default_factory=list)
    count: str = ""


class Typist:
    """Types into one window after the other, on one book."""

    def __init__(self, folder: Path, seed: int) -> None:
        self.folder = folder
        self.path = folder / "jobs.book"
        self.dice = random.Random(seed)
        self.model = Model()
        self.last: deque[str] = deque(maxlen=100)
        self.number = 0
        self.bursts = 0
        self.check = ""
        self.rights = 0
        self.make()
        self.window = self.opened()

    # -- the book

    def make(self) -> None:
        """Take the job in: its first lot has more to come than anybody counts."""
        parts = {
            "title": "Platform by the pear tree",
            "client": "Client P",
            "supplier": "Yard One",
            "start": "2026-05-11",
        }
        text = JOB.format(code=CODE, **{name: quoted(value) for name, value in parts.items()})
        text = text.replace("ordered = 3", f"ordered = {ORDERED}")
        book = open_book(self.path)
        try:
            take_job(book, hand("M. Holt", NOW, "office"), parse_job_bytes(text.encode(), f"{CODE}.toml"))
        finally:
            book.close()
        phases = in_book(self.path, lambda book: job_view(book, CODE, NOW.date())).phases
        first = next(n for n, phase in enumerate(phases) if phase.state is not PhaseState.SIGNED_OFF)
        layout = next(n for n, phase in enumerate(phases) if phase.title == "Layout")
        self.rights, self.check = layout - first, phases[layout].checks[0].key

    def opened(self) -> Window:
        """The program on the open jobs."""
        window = Window(self.path, self.folder, self.dice.choice(SIZES))
        window.until("j jobs")
        window.press("j", "OPEN JOBS")
        window.until("Platform")
        return window

    # -- typing

    def send(self, keys: str) -> None:
        """Send keys at once or in pieces, the window now and then of another size between them."""
        cuts = sorted(self.dice.sample(range(1, len(keys)), min(self.dice.choice((0, 0, 1, 3)), len(keys) - 1)))
        cuts = [cut for cut in cuts if "\x1b" not in keys[max(cut - 4, 0) : cut]]  # no key is cut in two
        for start, end in zip([0, *cuts], [*cuts, len(keys)], strict=True):
            os.write(self.window.handle, keys[start:end].encode())
            if end < len(keys):
                self.window.read(self.dice.choice((0.0, 0.01, 0.05)))
                if self.dice.random() < 0.2:
                    self.window.resize(*self.dice.choice(SIZES))

    def words(self) -> str:
        """A text nobody typed before, of letters that are keys elsewhere."""
        self.number += 1
        letters = "".join(self.dice.choices(string.ascii_lowercase + "?/ ", k=self.dice.randint(1, 14))).strip()
        return " ".join(f"{letters} {self.number}x".split())

    def saved(self) -> bool:
        """Whether this time it is saved, not left as a draft."""
        return self.dice.random() < 0.65

    def burst(self) -> None:
        """One thing typed, from the open jobs and back to them."""
        act = self.dice.choice(
            (self.a_note, self.a_note, self.a_reading, self.a_reading, self.some_hours, self.a_count)
        )
        keys, closing, said = act()
        self.bursts += 1
        self.last.append(f"{act.__name__}: {ENTER + keys + closing!r}")
        if said and self.dice.random() < 0.5:
            self.send(ENTER + keys)
            self.window.until(lambda: any(text in self.window.shown for text in said.split("|")))
            os.write(self.window.handle, closing.encode())
        else:
            self.send(ENTER + keys + closing)
        self.back()

    def back(self) -> None:
        """Wait until all that was typed is dealt with: the last key shows the decks handed over, and the next the open jobs."""
        self.window.until("HANDED OVER")
        self.window.press("f", "OPEN JOBS")
        self.window.until("Platform")

    def a_note(self) -> tuple[str, str, str]:
        """A note, recorded or left: the keys, those that go back, and what says that it is done (one of several, or nothing)."""
        text = self.words()
        self.model.note += text
        if not self.saved():
            return f"n{text}", TO_JOBS, text[-8:]
        self.model.notes.append(self.model.note)
        self.model.note = ""
        return f"n{text}{ENTER}", f"{ESCAPE}f", "noted on"

    def a_reading(self) -> tuple[str, str, str]:
        """Values of the layout, from where the draft was left; saved when all are there, or left."""
        values = self.model.values
        wanted = [self.dice.choice(some) for some in (WIDTH, DEPTH, DIAGONAL, DIAGONAL)][len(values) :]
        typed = wanted if self.saved() else wanted[: self.dice.randint(0, len(wanted))]
        values += typed
        to_form = RIGHT * self.rights + ENTER
        texts = "".join(f"{text}{self.dice.choice((ENTER, ENTER, TAB))}" for text in typed)
        if len(values) < 4 or self.dice.random() < 0.2:
            return to_form + texts, TO_JOBS, ""
        self.model.readings.append(list(values))
        values.clear()
        return f"{to_form}{texts}{SAVE}", f"{ESCAPE}f", "PASSED: |FAILED: "

    def some_hours(self) -> tuple[str, str, str]:
        """Hours with a note, logged or left half typed."""
        text = f"0:15, {self.words()}" if not self.model.line else self.words()
        self.model.line += text
        if not self.saved():
            return f"t{text}", TO_JOBS, ""
        self.model.hours.append(self.model.line.partition(", ")[2])
        self.model.line = ""
        return f"t{text}{ENTER}", TO_JOBS, ""

    def a_count(self) -> tuple[str, str, str]:
        """Pieces off the ticket; a count come back to is typed anew."""
        number = self.dice.randint(1, 9)
        self.model.count = str(number)
        if not self.saved():
            return f"mr{number}", f"{ESCAPE}{TO_JOBS}", ""
        self.model.pieces.append(number)
        self.model.count = ""
        return f"mr{number}{SAVE}", f"{ESCAPE}{TO_JOBS}", "Go on to the delivery check?"

    # -- leaving

    def leave(self) -> None:
        """Leave, by the key, out of a form, or killed; then open it again."""
        match self.dice.choice(("q", "form", "kill")):
            case "q":
                self.last.append("leave: q")
                os.write(self.window.handle, b"q")
                self.wait_for_end()
            case "form":
                text = self.words()
                self.model.note += text
                keys = f"{ENTER}n{text}{ALL_OUT}"
                self.last.append(f"leave: {keys!r}")
                self.send(keys)
                self.wait_for_end()
            case _:
                if self.dice.random() < 0.5:
                    text = self.words()
                    self.model.note += text
                    self.send(f"{ENTER}n{text}")
                    self.window.until(text[-8:])
                self.last.append(f"kill, with {self.model.note!r} typed")
                self.window.read(KEPT_BY)
                os.kill(self.window.pid, signal.SIGKILL)
                self.wait_for_end()
        self.window = self.opened()

    def wait_for_end(self) -> None:
        """Wait until the program has left."""
        end = time.monotonic() + 40
        while os.waitpid(self.window.pid, os.WNOHANG) == (0, 0):
            if time.monotonic() > end:
                raise AssertionError(f"it does not leave\n{self.window.shown}")
            self.window.read(0.05)
        os.close(self.window.handle)

    # -- what came of it

    def differences(self) -> list[str]:
        """How the book and its drafts differ from the model; nothing where they do not."""
        model, out = self.model, list(in_book(self.path, lambda book: doctor(book.path).problems))

        def compare(what: str, found: Iterable[object], wanted: Iterable[object]) -> None:
            if (there := list(found)) != (typed := list(wanted)):
                out.append(f"{what}: the book has {there}, typed was {typed}")

        def look(book: Book) -> None:
            lines = history(book, CODE, NOW.date()).lines
            known = {"note", "reading", "hours", "movement"}
            compare("notes", (line.said for line in lines if line.kind == "note"), model.notes)
            view = job_view(book, CODE, NOW.date())
            read = {check.key: check.readings for phase in view.phases for check in phase.checks if check.readings}
            entered = [[text for _, text in reading.entered] for reading in read.pop(self.check, ())]
            compare("readings", entered, model.readings)
            compare("readings of other checks", read, ())
            stints = sorted(hours_of(book, CODE, NOW.date()).stints, key=lambda stint: stint.number)
            compare("hours", (stint.note for stint in stints), model.hours)
            compare(
                "pieces", (lot.received for lot in lots(book, CODE, NOW.date()) if lot.code == LOT), [sum(model.pieces)]
            )
            compare("other entries", {line.kind for line in lines} - known - self.taken_in, ())

        in_book(self.path, look)
        file = next(self.path.parent.glob(f".{self.path.name}.drafts-*"), None)
        held = kept_drafts(file) if file else {}
        found = {key: "|".join(draft.texts.values()) for key, draft in held.items()}
        wanted = {
            ("", f"Note ({CODE})\n"): model.note,
            ("", f"hours of {CODE}"): model.line,
            (CODE, self.check): "|".join(model.values),
            (CODE, "delivery ticket"): model.count,
        }
        compare("drafts", sorted(found.items()), sorted((key, text) for key, text in wanted.items() if text))
        return out

    @property
    def taken_in(self) -> set[str]:
        """The kinds of entry that taking the job in made."""
        return {"phase"}

    def run(self, bursts: int, until: float) -> None:
        """Type so many bursts, or until a moment; then leave and raise AssertionError where the book is not as typed."""
        try:
            while self.bursts < bursts and time.monotonic() < until:
                self.burst()
                if self.dice.random() < 0.08:
                    self.leave()
            os.write(self.window.handle, b"q")
            self.wait_for_end()
        except AssertionError as error:
            shown = "\n".join(self.last)
            raise AssertionError(f"{error}\nthe last bursts:\n{shown}\n{self.differences()}") from None
        if found := self.differences():
            raise AssertionError("\n".join([*found, "the last bursts:", *self.last]))


def main() -> int:
    """Type for some minutes, a book after the other; say what came of it."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--bursts", type=int, default=60, help="bursts in each book")
    args = parser.parse_args()
    end, seed, typed, bad = time.monotonic() + 60 * args.minutes, args.seed, 0, 0
    while time.monotonic() < end:
        with tempfile.TemporaryDirectory() as folder:
            typist = Typist(Path(folder), seed)
            try:
                typist.run(args.bursts, end)
            except AssertionError as error:
                bad += 1
                print(f"seed {seed}: {error}", flush=True)
                os.kill(typist.window.pid, signal.SIGKILL)
            typed += typist.bursts
            print(f"seed {seed}: {typist.bursts} bursts", flush=True)
        seed += 1
    print(f"{typed} bursts on {seed - args.seed} books, {bad} not as typed")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
