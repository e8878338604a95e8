"""Start-up and report times as ratios, so that they mean the same on every machine: run it, read the last
column.

    python tests/benchmarks/ratios.py [--runs N]

Prints medians of N runs and, for each, how many times as long it takes as its yardstick: the day sheet of
the demo against importing the libraries it stands on, the report on 500 jobs against 10, the first paint of
the screens against an empty application of the same toolkit.
"""

from __future__ import annotations

import argparse
import os
import pty
import select
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_jobs" / "26-014-fern-court.toml"
EMPTY_APP = """
from textual.app import App
from textual.widgets import Static
class Empty(App):
    def compose(self):
        yield Static("painted")
Empty().run()
"""


def environment(book: Path) -> dict[str, str]:
    """A home of its own, so that no settings of this machine take part."""
    return {
        **os.environ,
        "HOME": str(book.parent),
        "PYTHONPATH": str(ROOT),
        "TERM": "xterm-256color",
        "DECKJOBS_BOOK": str(book),
        "DECKJOBS_AS": "Bench (invented)",
        "DECKJOBS_NOW": "2026-05-12T17:30",
    }


def wall(words: list[str], env: dict[str, str]) -> float:
    """Seconds a command takes."""
    start = time.perf_counter()
    subprocess.run([sys.executable, *words], env=env, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def first_paint(words: list[str], env: dict[str, str]) -> float:
    """Seconds until a full-screen program has drawn a screenful on a terminal of 80 x 24."""
    start = time.perf_counter()
    pid, terminal = pty.fork()
    if pid == 0:
        os.execve(sys.executable, [sys.executable, *words], {**env, "COLUMNS": "80", "LINES": "24"})
    drawn = b""
    try:
        while time.perf_counter() - start < 30:
            if select.select([terminal], [], [], 0.05)[0]:
                drawn += os.read(terminal, 65536)
            # The alternate screen is on and something stands on it.
            if b"\x1b[?1049h" in drawn and len(drawn.partition(b"\x1b[?1049h")[2]) > 1500:
                return time.perf_counter() - start
    finally:
        os.kill(pid, 9)
        os.waitpid(pid, 0)
        os.close(terminal)
    raise RuntimeError("nothing was drawn within 30 s")


def make_book(path: Path, jobs: int, *, log: bool = True) -> None:
    """A book with that many copies of a sample job, with all that was recorded of it or, without ``log``, nothing."""
    from tracker.book.hand import Hand
    from tracker.book.jobs import take_job
    from tracker.book.opening import open_book
    from tracker.trade.jobfile import parse_job_bytes

    hand = Hand("Bench (invented)", datetime(2026, 5, 12, 17, 30, tzinfo=UTC), date(2026, 5, 12), "bench")
    text = SAMPLE.read_text("utf-8")
    text = text if log else text.partition("[[log]]")[0]
    book = open_book(path)
    try:
        for number in range(jobs):
            code = f"{26 + number // 900}-{100 + number % 900}"
            copy = text.replace('code = "26-014"', f'code = "{code}"')
            for name in ("R. Stone", "M. Holt"):  # nobody works in all jobs on one day
                copy = copy.replace(f'"{name}"', f'"{name} of {code}"')
            take_job(book, hand, parse_job_bytes(copy.encode(), "bench"))
    finally:
        book.close()


def median(runs: int, measure: Callable[[], float]) -> float:
    """The median after one run to warm the caches."""
    measure()
    return statistics.median(measure() for _ in range(runs))


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--jobs", type=int, default=500, help="size of the large book")
    args = parser.parse_args()
    sys.path.insert(0, str(ROOT))
    with tempfile.TemporaryDirectory() as folder:
        small, large = Path(folder) / "small.book", Path(folder) / "large.book"
        make_book(small, 10)
        make_book(large, args.jobs)
        env, big = environment(small), environment(large)
        deck = ["-m", "tracker"]
        rows: list[tuple[str, float, str, float]] = []

        def add(name: str, seconds: float, against: str, yardstick: float) -> None:
            rows.append((name, seconds, against, yardstick))

        bare = median(args.runs, lambda: wall(["-c", "pass"], env))
        libraries = median(args.runs, lambda: wall(["-c", "import textual, sqlmodel, rich"], env))
        add("--help", median(args.runs, lambda: wall([*deck, "--help"], env)), "an empty python", bare)
        add(
            "demo --print",
            median(args.runs, lambda: wall([*deck, "demo", "--print"], env)),
            "import the libraries",
            libraries,
        )
        ten = median(args.runs, lambda: wall([*deck, "report"], env))
        add("report, 10 jobs", ten, "import the libraries", libraries)
        many = median(args.runs, lambda: wall([*deck, "report"], big))
        add(f"report, {args.jobs} jobs", many, "report, 10 jobs", ten)
        empty = median(args.runs, lambda: first_paint(["-c", EMPTY_APP], env))
        add("first paint, 10 jobs", median(args.runs, lambda: first_paint(deck, env)), "an empty application", empty)
        add(
            f"first paint, {args.jobs} jobs",
            median(args.runs, lambda: first_paint(deck, big)),
            "an empty application",
            empty,
        )
        print(f"{'what':<24}{'median s':>10}  {'against':<24}{'median s':>10}{'ratio':>8}")
        for name, seconds, against, yardstick in rows:
            print(f"{name:<24}{seconds:>10.3f}  {against:<24}{yardstick:>10.3f}{seconds / yardstick:>8.2f}")


if __name__ == "__main__":
    main()
