"""From a key to the repaint, on a real terminal: the screens on large books beside bare applications of the same toolkit
with the same number of rows.

    python -m tests.benchmarks.keys [--runs N] [--jobs N]

Prints median and 95th percentile of N keys each, and the ratio of the medians. A repaint counts from writing the key's
bytes to the terminal until the first bytes of the answer come back.
"""

from __future__ import annotations

import argparse
import fcntl
import os
import pty
import re
import select
import statistics
import struct
import sys
import tempfile
import termios
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path

from tests.benchmarks.ratios import ROOT, environment, make_book

SAMPLE_DECK = ROOT / "sample_jobs" / "26-015-ridge-step.toml"
COLUMNS, LINES = 120, 40
QUIET = 0.15
"""Seconds without output after which a screen is taken to stand still."""
DOWN, UP, RIGHT, LEFT = b"\x1b[B", b"\x1b[A", b"\x1b[C", b"\x1b[D"

BARE_TABLE = """
import sys
from textual.app import App
from textual.widgets import DataTable
class Bare(App):
    def compose(self):
        yield DataTable(cursor_type="row")
    def on_mount(self):
        table = self.query_one(DataTable)
        table.add_columns("code", "title", "phases", "where", "late", "money", "hold")
        for n in range(int(sys.argv[1])):
            table.add_row(f"26-{n}", "A platform in a back yard", "·" * 14, "Frame: under way", "2 days", "$900 of $1,900", "square")
        table.focus()
Bare().run()
"""
BARE_LIST = """
import sys
from textual.app import App
from textual.widgets import OptionList
class Bare(App):
    def compose(self):
        yield OptionList(*(f"· open    check number {n}\\n          no reading yet" for n in range(int(sys.argv[1]))))
    def on_mount(self):
        self.query_one(OptionList).focus()
Bare().run()
"""
MANY = 'code = "26-200"\ntitle = "Twelve platforms (invented)"'
PLATFORMS = 12


def make_large_job(path: Path) -> int:
    """A book with one job of many platforms; returns how many checks it has."""
    from tracker.book.hand import Hand
    from tracker.book.jobs import job_view, take_job
    from tracker.book.opening import open_book
    from tracker.trade.jobfile import parse_job_bytes

    hand = Hand("Bench (invented)", datetime(2026, 5, 12, 17, 30, tzinfo=UTC), date(2026, 5, 12), "bench")
    head, platform = SAMPLE_DECK.read_text("utf-8").split("[[lot]]")[0].split("[[platform]]")
    head = re.sub(r"code = .*\ntitle = .*", lambda _: MANY, head)
    parts = [re.sub(r'name = ".*"', f'name = "p{n:02}"', platform, count=1) for n in range(PLATFORMS)]
    text = "[[platform]]".join([head, *parts])
    book = open_book(path)
    try:
        code = take_job(book, hand, parse_job_bytes(text.encode(), "bench.toml")).code
        return sum(len(phase.checks) for phase in job_view(book, code, hand.day).phases)
    finally:
        book.close()


class Terminal:
    """A program on a terminal of its own."""

    def __init__(self, words: list[str], env: dict[str, str]) -> None:
        self.pid, self.handle = pty.fork()
        if self.pid == 0:
            os.execve(sys.executable, [sys.executable, *words], {**env, "COLUMNS": str(COLUMNS), "LINES": str(LINES)})
        fcntl.ioctl(self.handle, termios.TIOCSWINSZ, struct.pack("HHHH", LINES, COLUMNS, 0, 0))

    def settle(self, quiet: float = QUIET, most: float = 60) -> bytes:
        """Read until nothing has come for ``quiet`` seconds."""
        seen, end = b"", time.perf_counter() + most
        while time.perf_counter() < end and select.select([self.handle], [], [], quiet)[0]:
            seen += os.read(self.handle, 1 << 16)
        return seen

    def until(self, text: bytes, most: float = 60) -> None:
        """Read until a text was drawn, then until the screen stands still."""
        seen, end = b"", time.perf_counter() + most
        while text not in seen:
            if time.perf_counter() > end:
                raise RuntimeError(f"{text!r} was never drawn")
            seen += self.settle(0.05, 1)
        self.settle(0.5)

    def press(self, key: bytes) -> float:
        """Seconds from a key to the first bytes of the repaint."""
        start = time.perf_counter()
        os.write(self.handle, key)
        if not select.select([self.handle], [], [], 10)[0]:
            raise RuntimeError(f"{key!r} changed nothing")
        took = time.perf_counter() - start
        self.settle()
        return took


@contextmanager
def running(words: list[str], env: dict[str, str]) -> Iterator[Terminal]:
    """A program on a terminal, ended afterwards."""
    terminal = Terminal(words, env)
    try:
        yield terminal
    finally:
        os.kill(terminal.pid, 9)
        os.waitpid(terminal.pid, 0)
        os.close(terminal.handle)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--runs", type=int, default=60)
    parser.add_argument("--jobs", type=int, default=500)
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        jobs, job = Path(folder) / "jobs.book", Path(folder) / "job.book"
        make_book(jobs, args.jobs, log=False)
        checks = make_large_job(job)
        rows: list[tuple[str, list[float]]] = []

        def measure(
            name: str, words: list[str], book: Path, before: list[tuple[bytes, bytes]], there: bytes, back: bytes
        ) -> None:
            with running(words, environment(book)) as terminal:
                for text, key in before:
                    terminal.until(text)
                    if key:
                        os.write(terminal.handle, key)
                terminal.settle(0.5)
                keys = ([there] * 10 + [back] * 10) * (args.runs // 20)
                rows.append((name, [terminal.press(key) for key in keys]))

        deck, jobs_shown = ["-m", "tracker"], [(b"NEEDS YOU", b"j"), (b"OPEN JOBS", b"")]
        measure(f"open jobs, {args.jobs} rows", deck, jobs, jobs_shown, DOWN, UP)
        measure(f"bare table, {args.jobs} rows", ["-c", BARE_TABLE, str(args.jobs)], jobs, [(b"26-0", b"")], DOWN, UP)
        job_shown = [(b"NEEDS YOU", b"j"), (b"OPEN JOBS", b"\r"), (b"planned", b"")]
        measure(f"phases of a job, {checks} checks", deck, job, job_shown, RIGHT, LEFT)
        measure(f"bare list, {checks} rows", ["-c", BARE_LIST, str(checks)], job, [(b"number 0", b"")], DOWN, UP)
    print(f"{'what':<34}{'median ms':>11}{'95th ms':>10}{'ratio':>8}")
    for ours, bare in zip(rows[::2], rows[1::2], strict=True):
        base = statistics.median(bare[1])
        for name, times in (ours, bare):
            high = statistics.quantiles(times, n=20)[-1]
            middle = statistics.median(times)
            print(f"{name:<34}{middle * 1000:>11.1f}{high * 1000:>10.1f}{middle / base:>8.2f}")


if __name__ == "__main__":
    main()
