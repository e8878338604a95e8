"""Ctrl-C while the program is still being read, closed and broken standard streams, odd clocks and time zones."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.commands.conftest import Deck
from tests.commands.test_cli import ROOT, shell

STOP_AT = """
import os, signal, sys
class Stop:
    def find_spec(self, name, path=None, target=None):
        if name == os.environ["STOP_AT"]:
            sys.meta_path.remove(self)
            os.kill(os.getpid(), signal.SIGINT)
sys.meta_path.insert(0, Stop())
"""
"""As ``sitecustomize``: a real Ctrl-C at the moment a module begins to be imported."""


@pytest.mark.parametrize(
    "module", ["tracker.cli", "tracker.errors", "argparse", "tracker.commands.parser", "tracker.commands.jobs",
               "tracker.commands.session", "json", "tracker.book.opening", "sqlalchemy", "pydantic", "sqlmodel", "tracker.book.jobs"]
)  # fmt: skip
def test_ctrl_c_while_the_program_is_read_ends_it_in_order(home: Path, module: str) -> None:
    (home / "stop").mkdir()
    (home / "stop" / "sitecustomize.py").write_text(STOP_AT)
    result = shell(home, "jobs", "--json", env={"PYTHONPATH": f"{home / 'stop'}{os.pathsep}{ROOT}", "STOP_AT": module})
    if result.returncode == 3:  # not needed without a book
        pytest.fail(f"{module} is not imported any more: {result.stderr!r}")
    assert (result.returncode, result.stdout, result.stderr) == (130, b"", b"deckjobs: stopped\n")


def test_ctrl_c_at_any_moment_of_a_command_shows_no_traceback(deck: Deck, home: Path) -> None:
    deck.take()
    (home / "stop").mkdir()
    (home / "stop" / "sitecustomize.py").write_text(
        STOP_AT.replace("os.kill(os.getpid(), signal.SIGINT)", "os.write(1, b'.')")
    )
    env = {
        "PATH": os.environ["PATH"], "HOME": str(home), "TZ": "UTC", "PYTHONPATH": f"{home / 'stop'}{os.pathsep}{ROOT}",
        "DECKJOBS_AS": "Rosa", "DECKJOBS_BOOK": str(home / "jobs.book"), "STOP_AT": "tracker.cli",
    }  # fmt: skip
    ends = set()
    for pause in (0, 0.01, 0.03, 0.1, 0.3):
        program = subprocess.Popen(
            [sys.executable, "-m", "tracker", "show", "101"], env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE
        )
        assert program.stdout is not None and program.stdout.read(1) == b"."
        time.sleep(pause)
        program.send_signal(signal.SIGINT)
        _, said = program.communicate(timeout=60)
        assert b"Traceback" not in said and b"Interrupt" not in said, (pause, said)
        assert said in (b"", b"deckjobs: stopped\n"), (pause, said)
        ends.add(program.returncode)
    assert 130 in ends and ends <= {0, 130}


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [((), 0, ""), (("restore", "copy.book"), 2, "no terminal to ask on"), (("demo",), 2, "the screens need a terminal"),
     (("figure", "stairs", "--rise", "40"), 0, "")],
)  # fmt: skip
def test_closed_standard_input_is_no_terminal(home: Path, words: tuple[str, ...], code: int, says: str) -> None:
    result = shell(home, *words, script='"$@" <&-')
    assert result.returncode == code, result.stderr
    assert says in result.stderr.decode() and b"fault" not in result.stderr


def test_with_every_standard_stream_closed_an_entry_is_recorded_and_the_book_is_whole(deck: Deck, home: Path) -> None:
    deck.take()
    assert shell(home, "note", "101", "told to nobody", script='"$@" <&- >&- 2>&-').returncode == 0
    assert shell(home, "report", "--csv", "day.csv", script='"$@" <&- >&- 2>&-').returncode == 0
    assert (home / "day.csv").read_bytes().startswith(b"\xef\xbb\xbf")
    assert "told to nobody" in deck("show", "101").out and deck("doctor").code == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
@pytest.mark.parametrize(
    ("words", "recorded"),
    [(("note", "101", "gate code"), "recorded: noted on 26-101"), (("take", "plover.toml"), "26-101: unchanged"),
     ],
)  # fmt: skip
def test_an_entry_whose_answer_has_nowhere_to_go_is_told_to_be_recorded(
    deck: Deck, home: Path, words: tuple[str, ...], recorded: str
) -> None:
    deck.take()
    full = shell(home, *words, script='"$@" >/dev/full')
    assert full.returncode == 3
    assert full.stderr.decode().splitlines() == [
        "deckjobs: writing failed: No space left on device", f"  this is done all the same: {recorded}",
    ]  # fmt: skip
    closed = shell(home, *words, script='"$@" >&-').stderr.decode()
    assert closed.startswith("deckjobs: ") and closed.endswith(" (standard output is closed)\n")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_an_answer_that_has_nowhere_to_go_does_not_claim_an_entry(deck: Deck, home: Path) -> None:
    deck.take()
    result = shell(home, "show", "101", script='"$@" >/dev/full')
    assert result.returncode == 3 and b"done all the same" not in result.stderr
    assert shell(home, "show", "101", script='"$@" >&-').stderr == b""


@pytest.fixture
def zone(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """A time zone in force in this process."""
    name: str = request.param
    with monkeypatch.context() as patch:
        patch.setenv("TZ", name)
        time.tzset()
        yield name
    time.tzset()


@pytest.mark.parametrize("zone", ["UTC+25", "UTC-167", "UTC+24", "AAA0BBB-30", "<+30>-30"], indirect=True)
def test_a_time_zone_a_day_away_is_refused_in_words(deck: Deck, zone: str) -> None:
    file = deck.file()
    for words in (("take", file), ("jobs",), ("note", "101", "x"), ()):
        result = deck(*words)
        assert result.code == 2, (words, result.err)
        assert result.err.startswith(f"deckjobs: TZ is '{zone}', a time zone a day or more away from UTC\n")
    assert not deck.path.exists()


@pytest.mark.parametrize(
    "zone", ["UTC+23:59:59", "XX", "", ":/etc/passwd", "../../etc/passwd", "EST5EDT,M3.2.0,M11.1.0"], indirect=True
)
def test_a_time_zone_that_can_be_or_is_not_understood_is_taken_as_the_system_takes_it(deck: Deck, zone: str) -> None:
    deck.take()
    assert deck("report").code == 0


WORDS = (
    ("jobs",), ("report",), ("buy",), ("show", "101"), ("calendar",), ("note", "101", "x"), ("off", "today"),
    ("hours", "101", "2h"), ("handover", "101"), ("packet", "101"), ("care", "101"), ("start", "101"), ("price", "101"),
    ("demo", "--print"), ("quote", "101", "--record"), ("order", "101", "2x6x12", "1"),
)  # fmt: skip


@pytest.mark.parametrize(("moment", "code"), [
    ("9999-12-31T23:59", 2), ("9999-01-01T00:00+14:00", 2), ("2100-01-01T12:00", 2), ("0001-01-01T00:00", 2),
    ("1969-06-01T00:00", 2), ("2099-12-30T12:00", None), ("1970-01-01T00:30", None),
])  # fmt: skip
def test_a_clock_that_cannot_be_right_is_told_in_words(
    deck: Deck, monkeypatch: pytest.MonkeyPatch, moment: str, code: int | None
) -> None:
    deck.take()
    monkeypatch.setenv("DECKJOBS_NOW", moment)
    for words in WORDS:
        result = deck(*words)
        if code is None:  # the last days and the first: whatever the answer is, it is an answer
            assert result.code in (0, 1, 2, 3), (words, result.err)
        else:
            assert result.code == code, (words, result.err)
            assert result.err.startswith("deckjobs: DECKJOBS_NOW ")


@pytest.mark.parametrize(
    "name", ["x" * 10_001, "x" * 300 + "/" + "y" * 300, "/x" * 5000, "~" * 5000], ids=["name", "folder", "path", "home"]
)
def test_a_name_too_long_for_any_file_is_refused_in_words(deck: Deck, name: str) -> None:
    deck.take()
    for words in (
        ("cutlist", name), ("takeoff", name), ("price", name), ("draw", name), ("take", name), ("change", "101", name),
        ("prices", name), ("prices", "--out", name), ("rules", name), ("off", "--from", name), ("verify", name), ("backup", name),
        ("restore", name, "--yes"), ("report", "--csv", name), ("report", "--pdf", name), ("draw", "101", "--svg", name),
        ("calendar", "--ics", name), ("buy", "--sheet", name), ("packet", "101", "--html", name),
        ("figure", "cuts", "--file", name), ("figure", "permit", "--file", name), ("--book", name, "jobs"), ("--book", name, "rules"),
        ("--book", name, "takeoff", str(deck.home / "plover.toml")), ("--book", name, "take", str(deck.home / "plover.toml")),
        ("--book", name, "doctor"), ("--book", name, "backup", "c"), ("--book", name),
    ):  # fmt: skip
        result = deck(*words)
        assert result.code in (2, 3), (words[0], words[1][:9], result.code, result.err[:300])
