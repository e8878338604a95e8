"""No command line and no job file, however odd, may end in a fault of our own (exit 70), and no option is passed over.

The command lines are built from the real parsers, option by option; the job files are the samples, damaged. The same ones every
time before a change; other and many more ones by night (``TESTS_PROFILE=nightly``).
"""

from __future__ import annotations

import argparse
import os
import random
import re
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest

from tests.commands.conftest import Deck
from tests.often import examples
from tests.once import copy_once
from tracker.cli import COMMANDS, find_command
from tracker.commands.figure import FIGURES, figure_parser
from tracker.commands.parser import Parser, new_parser

SAMPLES = sorted((Path(__file__).parents[2] / "sample_jobs").glob("*.toml"))
PRICES = SAMPLES[0].with_name("prices.csv")
LINES, FILES = examples(90, 1000), examples(24, 500)
TURN = 20
"""Lines between two fresh copies of the book."""
LEFT_OUT = {"serve", "demo"}
"""Words that open something that waits, or that make whole books."""

ODD = (
    "", " ", "-", "--", "-1", "-1/8", "0", "00", "1", "3", "12", "1e3", "NaN", "inf", "999999999999999999999", "9" * 400, "4_2", "0x10",
    "٤٢", "４２", "½", "1/0", "3/", "12'", "12' 3-1/4\"", "5'13\"", "1,500", "$12.345", "12.50", "-12.50", "3740mm", "3.74m",
    "=1+1", "＝1", "\u200b", "\ufeff=", "a=b", "=", "=x", "x=", "a=b=c", "level=", "level=3/16", "frame=0.42", "deposit=50%", "final=rest",
    "deposit=10%", "2x8x12=9", "2x8x12", "2x6", "A=3", "B=0", "C=-2", "A=0,12-0", "33-1/2*7", "12-0@11.90", "8-0@0", "5-3*2", "*", "@",
    "today", "tomorrow", "yesterday", "fri", "2026-05-12", "2026-02-30", "9999-12-31", "0000-00-00", "03/04/2026", "2026", "12:30",
    "6h", "3 x 7h30", "6:30", "25h", "99999h", "frame 6h", "6h frame, rain", "014", "26-014", "Fern", "26-999", "*", "%", "_", "frame",
    "boards", "visit", "square", "level", "delivery", "crown", "wash", "strip", "L1", "26-014-L1", "joist", "beam", "southern pine", "2",
    "SP", "lag", "clay", "flat", "UC4A", "US-OH", "US", "XX", "payment 1", "quote 1", "acceptance", "change 1", "as drawn", "Rosa",
    "Yard One", "2x6 boards: board=2x6", "x: board=", ": ", "x: price=", "x: price=1", "strip: compactor, 2 days at 85", "strip:", "[/b]",
    "[bold]", "'; DROP TABLE entry;--", "a\tb", "a\nb", "\x1b[2J", "\u202e", "木材", "🔨", "e\u0301", "x" * 201, "x" * 5000, "x" * 10_001,
    "/x" * 3000, ".", "..", "no/such", "job.toml", "bad.toml", "list.csv", "days.ics", "book.sqlite", "out.html", "a4", "letter", "10',4'",
    ",", "1,2,3", "a:b", "http://x", "~", "~nobody", "{0}", "%s", "--json", "phase", "note", "yes", "no", "count=12", "stamp=yes", "ac=1",
)  # fmt: skip


class Read(argparse.Namespace):
    """Options that remember which of them were looked at."""

    def __init__(self, given: argparse.Namespace) -> None:
        super().__init__(**vars(given))
        object.__setattr__(self, "looked_at", set())

    def __getattribute__(self, name: str) -> object:
        if not name.startswith("_") and name != "looked_at":
            object.__getattribute__(self, "looked_at").add(name)
        return super().__getattribute__(name)


def parsers() -> dict[str, Parser]:
    """Every command's and every figure's own parser, by the words that lead to it."""
    out = {f"figure {name}": figure_parser(name) for name in FIGURES}
    for word in sorted(set(COMMANDS) - LEFT_OUT):
        out[word] = new_parser(f"deckjobs {word}", "")
        find_command(word).add(out[word])
    return out


def values(pick: random.Random, action: argparse.Action) -> list[str]:
    """Odd values for one argument, so many as it may take."""
    some: dict[object, Sequence[int]] = {"?": (0, 1), "*": (0, 1, 1, 2, 4), "+": (1, 1, 2, 4), None: (1,)}
    counts = some.get(action.nargs, (action.nargs if isinstance(action.nargs, int) else 1,))
    choices = [str(choice) for choice in action.choices] if action.choices else []
    return [pick.choice(choices if choices and pick.random() < 0.9 else ODD) for _ in range(pick.choice(list(counts)))]


LIKELY = {
    "job": ("014", "015", "26-014", "job.toml"),
    "to": ("015",),
    "phase": ("frame", "visit", "boards"),
    "key": ("square", "level", "crown", "delivery"),
}


def line(pick: random.Random, words: str, parser: Parser) -> list[str]:
    """One command line: most of what is needed, some of what is not, in any order."""
    out: list[list[str]] = []
    for action in parser._actions:
        if "--help" in action.option_strings:
            continue
        if action.option_strings:
            if not (action.required and pick.random() < 0.95) and pick.random() > 0.16:
                continue
            option = pick.choice(action.option_strings)
            if action.nargs == 0 or isinstance(action, argparse.BooleanOptionalAction):
                out.append([option])
            else:
                given = values(pick, action)
                joined = len(given) == 1 and (given[0].startswith("-") or pick.random() < 0.5)
                out.append([f"{option}={given[0]}"] if joined else [option, *given])
        elif action.dest in LIKELY and pick.random() < 0.9:
            out.append([pick.choice(LIKELY[action.dest])])
        elif not (action.nargs in ("?", "*") and pick.random() < 0.5):
            out.append(values(pick, action))
    if pick.random() < 0.2:
        pick.shuffle(out)
    return [*words.split(), *(word for words in out for word in words)]


@pytest.fixture
def yard(deck: Deck, home: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[], None]]:
    """A folder of files of every kind; calling it puts a book of two sample jobs and the prices in order again."""
    monkeypatch.chdir(home)

    def fresh() -> None:
        for path in [*home.rglob(".jobs.book*"), *home.glob("jobs.book*")]:
            path.unlink()
        copy_once(deck.path, "two samples", lambda _: _make(deck))
        (home / "job.toml").write_bytes(SAMPLES[0].read_bytes())
        (home / "bad.toml").write_text("code = 1\n[[platform]]\n")
        (home / "list.csv").write_text("supplier,item,price\nYard,2x8x12,8.90\n")
        (home / "days.ics").write_text("BEGIN:VCALENDAR\nBEGIN:VEVENT\nDTSTART:20260525\nEND:VEVENT\nEND:VCALENDAR\n")
        (home / "book.sqlite").write_bytes(b"SQLite format 3\0" + b"x" * 100)

    fresh()
    yield fresh


def _make(deck: Deck) -> None:
    assert deck("prices", str(PRICES)).code == 0
    assert deck("take", *map(str, SAMPLES[:2])).code == 0


def seed(number: int) -> random.Random:
    """The same lines before every change, others every night."""
    return random.Random(number if examples(0, 1) == 0 else f"{number} {os.urandom(8).hex()}")


def test_no_command_line_ends_in_a_fault_of_our_own(deck: Deck, home: Path, yard: Callable[[], None]) -> None:
    pick, known = seed(11), parsers()
    words = list(known)
    ends: dict[int, int] = {}
    for number in range(LINES):
        if number % TURN == 0:
            yard()
        name = words[number % len(words)]
        argv = line(pick, name, known[name])
        result = deck(*argv)
        ends[result.code] = ends.get(result.code, 0) + 1
        crash = [path.read_text() for path in home.rglob("crash-*.txt")]
        assert result.code in (0, 1, 2, 3, 4), (argv, result.err, crash)
        assert "Traceback" not in result.err and len(result.err) < 20_000, argv
        assert bool(result.err) is (result.code in (2, 3, 4)) or result.code == 1, (argv, result)
        if not deck.path.exists():
            yard()
    assert ends.get(0, 0) > LINES // 20 and ends.get(2, 0) > LINES // 20  # some are right, some are wrong


def test_no_option_of_a_command_that_was_done_is_passed_over(
    deck: Deck, yard: Callable[[], None], capsys: pytest.CaptureFixture[str]
) -> None:
    from tracker.commands.session import Session
    from tracker.errors import TrackerError

    pick, known = seed(12), parsers()
    del known["figure"]  # only the list of figures; each figure is there by its own words
    words = list(known)
    done = 0
    for number in range(LINES):
        if number % TURN == 0:
            yard()
        name = words[number % len(words)]
        argv = line(pick, name, known[name])
        try:
            given = known[name].read(argv[len(name.split()) :], argparse.Namespace())
            kept = Read(given)
            code = find_command(argv[0]).run(Session(kept, tuple(argv)), kept)
        except TrackerError:
            continue
        finally:
            capsys.readouterr()
            if not deck.path.exists():
                yard()
        if code not in (0, 1):
            continue
        done += 1
        passed_over = {
            option
            for action in known[name]._actions
            for option in action.option_strings
            if getattr(given, action.dest, None) not in (None, action.default)
            and action.dest not in object.__getattribute__(kept, "looked_at")
        } - {"--as", "--book", "--json", "--why"}
        if not find_command(argv[0]).records:  # refused before the command runs
            passed_over.discard("--id")
        assert not passed_over, (argv, passed_over)
    assert done > LINES // 20


def damaged(pick: random.Random, text: str) -> str:
    """A job file with one to four faults: a value, a line, a letter or a stretch of it."""
    for _ in range(pick.randint(1, 4)):
        lines = text.split("\n")
        at = pick.randrange(len(lines))
        match pick.randrange(8):
            case 0 | 1 | 2:
                key, equals, _value = lines[at].partition("=")
                if equals:
                    odd = pick.choice(ODD)
                    plain = pick.choice(
                        (
                            odd,
                            f'"{odd}"',
                            f"[{odd}]",
                            f"{{ x = {odd} }}",
                            "true",
                            "[]",
                            "{}",
                            "1979-05-27T07:32:00Z",
                            "07:32:00",
                            "-0",
                            "1e400",
                            '""',
                            "[[]]",
                        )
                    )
                    lines[at] = f"{key}= {plain}"
            case 3:
                del lines[at]
            case 4:
                lines.insert(at, pick.choice(lines))
            case 5:
                lines[at] = re.sub(
                    r"\d+", lambda found: pick.choice(("0", "-1", "9" * 30, found[0] * 3, "1.5")), lines[at]
                )
            case 6:
                where = pick.randrange(len(text))
                lines = (
                    text[:where]
                    + chr(pick.choice((0, 9, 10, 34, 39, 61, 91, 93, 0xE9, 0x202E, 0x1F528, 0xD7FF)))
                    + text[where + 1 :]
                ).split("\n")
            case _:
                other = pick.randrange(len(lines))
                lines[at], lines[other] = lines[other], lines[at]
        text = "\n".join(lines)
    return text


def test_no_damaged_job_file_ends_in_a_fault_of_our_own(deck: Deck, home: Path, yard: Callable[[], None]) -> None:
    pick = seed(13)
    file = home / "damaged.toml"
    taken = 0
    for number in range(FILES):
        if number % TURN == 0:
            yard()
        text = damaged(pick, SAMPLES[number % len(SAMPLES)].read_text("utf-8"))
        data = text.encode("utf-8", "surrogatepass")
        if pick.random() < 0.1:
            data = data[: pick.randrange(len(data))] + bytes([pick.randrange(256)]) + data[pick.randrange(len(data)) :]
        file.write_bytes(data)
        real = (
            [["takeoff", "damaged.toml"], ["draw", "damaged.toml"], ["take", "damaged.toml"]] if number % 6 == 0 else []
        )
        for argv in (["take", "damaged.toml", "--dry-run"], *real):
            result = deck(*argv)
            crash = [path.read_text() for path in home.rglob("crash-*.txt")]
            assert result.code in (0, 2), (text, result.err, crash)
            assert bool(result.err) is (result.code == 2), (text, result.err)
        taken += result.code == 0
    assert 0 < taken < FILES
