"""The outermost edge: help, near misses, exit codes, hostile texts, odd terminals, faults of our own."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import unicodedata
from pathlib import Path

import pytest

from tests.commands.conftest import NOW, Deck, job_text
from tracker import __version__
from tracker.cli import COMMANDS, find_command, help_text, main
from tracker.commands.figure import FIGURES
from tracker.errors import BookError, ConflictError, InputError, RefusedError, TrackerError

ROOT = Path(__file__).parents[2]


def shell(
    home: Path, *argv: str | bytes, env: dict[str, str] | None = None, script: str = ""
) -> subprocess.CompletedProcess[bytes]:
    """Run the real program in a process of its own, with a home of its own."""
    where = {
        "PATH": os.environ["PATH"],
        "HOME": str(home),
        "TZ": "UTC",
        "PYTHONPATH": str(ROOT),
        "PYTHONWARNINGS": "error",
        "DECKJOBS_NOW": NOW,
        "DECKJOBS_AS": "Rosa (invented)",
        "DECKJOBS_BOOK": str(home / "jobs.book"),
        **(env or {}),
    }
    command: list[str | bytes] = ["sh", "-c", script, "sh"] if script else []
    return subprocess.run(
        [*command, sys.executable, "-m", "tracker", *argv],
        env=where,
        cwd=home,
        capture_output=True,
        timeout=300,
        check=False,
    )


def test_exit_codes_are_the_documented_ones() -> None:
    codes = {RefusedError: 1, InputError: 2, BookError: 3, ConflictError: 4, TrackerError: 70}
    assert {kind: kind.exit_code for kind in codes} == codes


@pytest.mark.parametrize("word", sorted(COMMANDS))
def test_every_command_explains_itself(deck: Deck, word: str) -> None:
    result = deck(word, "--help")
    assert result.code == 0 and result.err == ""
    assert result.out.startswith(f"usage: deckjobs {word} ")
    for option in ("--book FILE", "--as NAME", "--json"):
        assert option in result.out
    assert ("--id UUID" in result.out) is find_command(word).records
    command = find_command(word)
    assert command.text.splitlines()[0] in result.out
    assert not deck.path.exists()


def test_the_short_help_names_every_command_and_fits_80_columns(deck: Deck) -> None:
    for words in (["--help"], ["-h"], ["help"], ["--json", "--help"]):
        result = deck(*words)
        assert (result.code, result.err) == (0, "")
        assert all(f"  {word} " in result.out for word in COMMANDS)
    assert max(len(line) for line in help_text().splitlines()) <= 80
    assert deck("--version").out == f"deckjobs {__version__}\n"


def test_the_documents_mention_every_command() -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    missing = [word for word in COMMANDS if not re.search(rf"deckjobs {word}\b|`{word}[ `]", readme)]
    assert not missing


def test_the_job_file_of_the_readme_is_taken_as_it_stands(deck: Deck, tmp_path: Path) -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    text = readme.partition("<!-- job -->\n```toml\n")[2].partition("```")[0]
    file = tmp_path / "willow.toml"
    file.write_text(text, "utf-8")
    result = deck("take", str(file))
    assert (result.code, result.err) == (0, "") and "26-031" in result.out and "note:" not in result.out


def test_no_example_loses_its_foot_marks_in_a_shell(deck: Deck) -> None:
    """What a person copies out of the help or the README must reach the program as it is printed."""
    readme = (ROOT / "README.md").read_text("utf-8")
    examples = re.findall(r"`(deckjobs [^`]*)`", readme)
    for word in COMMANDS:
        examples += re.findall(r"example: (.*)", deck(word, "--help").out)
    for name in FIGURES:
        examples += re.findall(r"example: (.*)", deck("figure", name, "--help").out)
    assert len(examples) > len(COMMANDS)
    for example in examples:
        bare = re.sub(r'"(\\.|[^"\\])*"', "", example)
        assert not re.search("[0-9]['\"]", bare), example


def test_nothing_asked_and_no_book_is_the_short_help(deck: Deck) -> None:
    result = deck()
    assert (result.code, result.err) == (0, "") and "start here:  deckjobs demo" in result.out
    assert not deck.path.exists()


def test_nothing_asked_with_a_book_but_no_terminal_is_a_usage_error(deck: Deck) -> None:
    deck.take()
    result = deck()
    assert result.code == 2 and "no terminal" in result.err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("chek", "101"), "there is no command 'chek' (did you mean check?)"),
        (("xyzzy",), "there is no command 'xyzzy'"),
        (("jobs", "--jsn"), "unknown option --jsn (did you mean --json?)"),
        (("--bok", "x", "jobs"), "unknown option --bok (did you mean --book?)"),
        (("jobs", "extra"), "'extra' is one argument too many"),
        (("show",), "JOB is missing"),
        (("hold", "101", "--reason"), "--reason: expected one argument"),
        (("waive", "101", "level", "--reason", "-wet"), "joined with =, like --reason=-wet"),
        (("--book",), "--book: expected one argument"),
        (("--book", "", "jobs"), "--book is empty"),
        (("--as", " ", "jobs"), "--as is empty"),
    ],
)
def test_a_wrong_command_line_says_what_would_be_right(deck: Deck, words: tuple[str, ...], says: str) -> None:
    result = deck(*words)
    assert result.code == 2 and result.out == ""
    assert says in result.err and len(result.err.splitlines()) <= 2
    assert not deck.path.exists()


def test_a_reason_may_begin_with_a_dash_and_a_digit(deck: Deck) -> None:
    deck.take()
    assert deck("note", "101", "-3 in at the rim").code == 0
    assert "-3 in at the rim" in deck("show", "101").out
    assert deck("off", "tomorrow", "--reason=-wet").code == 0


def test_an_address_with_a_password_is_never_echoed(deck: Deck) -> None:
    result = deck("--book", "postgresql://owner:hunter2@db/deck?password=alsosecret", "jobs")
    assert result.code == 2 and "an address, not a file" in result.err
    assert "hunter2" not in result.err and "alsosecret" not in result.err


@pytest.mark.parametrize("name", ["a b%20#?.book", "süd.book", "100%s.book", "it's.book"])
def test_the_book_is_exactly_the_file_named(deck: Deck, name: str) -> None:
    path = deck.home / name
    assert deck("--book", str(path), "take", deck.file()).code == 0
    assert [found.name for found in deck.home.glob("*.book")] == [name]
    assert "26-101" in deck("jobs", "--book", str(path)).out


@pytest.mark.parametrize(
    ("text", "says"), [("", "is empty"), (" \t", "is empty"), ("x" * 5000, "the limit is"), ("a\0b", "NUL")]
)
def test_a_text_that_cannot_be_kept_is_refused(deck: Deck, text: str, says: str) -> None:
    deck.take()
    before = deck.entries()
    result = deck("note", "101", text)
    assert result.code == 2 and says in result.err
    assert deck.entries() == before


HOSTILE = (
    "'; DROP TABLE entry;--",
    "deck [/foo] [bold red]PAID[/] [@click=app.quit]x[/] [/",
    "clear\x1b[2J\x1b]0;title\x07 clip\x1b]52;c;aGk=\x07",
    "c1\x9b31m bell\x07 back\x08\r\nforged: line",
    "a\u202egnp.exe \u2066iso\u2069",
    "木材 デッキ 🔨 e\u0301 \u05d3\u05e7",
    "{0} %s %(x)s ${HOME} `id`",
)


def harmless(text: str) -> bool:
    """No character that steers a terminal or turns the reading direction."""
    marks = set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\u061c")
    return not any(c in marks or (unicodedata.category(c) in ("Cc", "Cs") and c != "\n") for c in text)


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_names_are_shown_safely_on_every_page(deck: Deck, text: str) -> None:
    deck.path.unlink(missing_ok=True)
    taken = deck("take", deck.file(title=text, client=text))
    if taken.code == 2:  # a control character has no place in a job file: then it is refused in words
        assert harmless(taken.err)
        deck.take()
    assert deck("note", "101", text, "--as", text.replace("\r\n", " ")).code == 0
    assert deck("order", "101", "2x6x12", "1", "--supplier", text).code in (0, 2)
    assert deck("hold", "101", "--reason", text).code in (0, 1, 2)
    assert deck("off", "tomorrow", "--reason", text).code in (0, 2)
    pages = [
        ["jobs"],
        ["show", "101"],
        ["report"],
        ["buy"],
        ["people"],
        ["check", "101"],
        ["takeoff", "101"],
        ["doctor"],
    ]
    for words in pages:
        result = deck(*words)
        assert result.code == 0, result.err
        assert harmless(result.out), words
        assert "\nforged: line" not in result.out
        answer = deck(*words, "--json")
        assert answer.code == 0 and answer.out.isascii() and harmless(answer.out)
        answer.json  # noqa: B018 - it must parse
    shown = deck("show", "101", "--json").json["notes"][-1]["text"]
    assert unicodedata.normalize("NFC", text.strip()) == shown


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_arguments_are_safe_in_messages(deck: Deck, text: str) -> None:
    deck.take()
    for words in (
        [text],
        ["show", text],
        ["check", "101", text],
        ["check", "101", "square", text],
        ["start", "101", text],
    ):
        result = deck(*words)
        assert result.code == 2, words
        assert harmless(result.err) and result.out == ""


def test_undecodable_bytes_are_named_by_their_place(home: Path) -> None:
    result = shell(home, "note", "101", b"caf\xe9")
    assert result.returncode == 2
    assert result.stderr.decode().splitlines()[0] == "deckjobs: argument 3 is not valid text"


def test_ascii_output_never_fails(home: Path) -> None:
    (home / "j.toml").write_text(job_text(title="木材 deck ½ × 3°"), "utf-8")
    assert shell(home, "take", "j.toml").returncode == 0
    plain = {"LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"}
    figure = ["figure", "level", "--point", "A=0", "B=3"]
    for env, every in (
        (plain, (["jobs"], ["show", "101"], ["report"], figure)),
        ({"PYTHONIOENCODING": "ascii"}, (["show", "101"],)),
        ({"TERM": "dumb"}, (["show", "101"],)),
    ):
        for words in every:
            result = shell(home, *words, env={**env, "NO_COLOR": "1"})
            assert result.returncode == 0, result.stderr
            assert b"\x1b" not in result.stdout and result.stderr == b""
            if "TERM" not in env:
                assert result.stdout.isascii()


def on_a_terminal(home: Path, *argv: str, **env: str) -> str:
    """What the real program draws on a pseudo-terminal of 80 columns."""
    import fcntl
    import pty
    import struct
    import termios

    inside, outside = pty.openpty()
    fcntl.ioctl(outside, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    where = {
        "PATH": os.environ["PATH"], "HOME": str(home), "PYTHONPATH": str(ROOT), "TERM": "xterm-256color", "TZ": "UTC",
        "LANG": "C.UTF-8", "DECKJOBS_NOW": NOW, "DECKJOBS_AS": "Rosa", "DECKJOBS_BOOK": str(home / "jobs.book"), **env,
    }  # fmt: skip
    program = subprocess.Popen([sys.executable, "-m", "tracker", *argv], env=where, stdin=outside, stdout=outside)
    os.close(outside)
    drawn = b""
    while True:
        try:
            part = os.read(inside, 65536)
        except OSError:  # the terminal is gone once the program has ended
            break
        if not part:
            break
        drawn += part
    os.close(inside)
    assert program.wait(60) == 0
    return drawn.decode()


def test_a_terminal_gets_emphasis_and_never_more_than_its_width(home: Path) -> None:
    (home / "j.toml").write_text(job_text(title="[bold]木材[/] deck " + "long " * 30), "utf-8")
    assert shell(home, "take", "j.toml").returncode == 0
    for words in (["show", "101"],):
        drawn = on_a_terminal(home, *words)
        assert "\x1b[1m" in drawn
        bare = re.sub(r"\x1b\[[0-9;]*m", "", drawn).replace("\r\n", "\n")
        assert harmless(bare) and "[bold]木材[/]" in bare
        assert bare.splitlines() == shell(home, *words).stdout.decode().splitlines()
    assert "\x1b" not in on_a_terminal(home, "report", TERM="dumb")
    assert not re.search(r"\x1b\[[0-9;]*3[0-7]m", on_a_terminal(home, "report", NO_COLOR="1"))


def test_a_reader_that_leaves_early_is_met_with_silence(home: Path) -> None:
    (home / "j.toml").write_text(job_text(), "utf-8")
    assert shell(home, "take", "j.toml").returncode == 0
    script = '"$@" | head -n 1; exit 0'
    result = shell(home, "show", "101", "--json", script=script)
    assert (result.stdout, result.stderr) == (b"{\n", b"")
    gone = shell(home, "note", "101", "kept all the same", script='"$@" >&-')
    assert b"Traceback" not in gone.stderr
    assert b"kept all the same" in shell(home, "show", "101").stdout


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_a_full_disk_behind_the_output_is_told_and_the_entry_is_kept(home: Path) -> None:
    (home / "j.toml").write_text(job_text(), "utf-8")
    assert shell(home, "take", "j.toml").returncode == 0
    result = shell(home, "note", "101", "written once", script='"$@" >/dev/full')
    assert result.returncode == 3
    assert b"writing failed: No space left on device" in result.stderr and b"Traceback" not in result.stderr
    # The same words again are the same entry: the first got no answer.
    again = shell(home, "note", "101", "written once")
    assert again.stdout == b"already recorded: written once (Rosa (invented), Tue 12 May)\n"
    assert shell(home, "show", "101").stdout.count(b"written once") == 1


def test_ctrl_c_is_130_and_says_so(deck: Deck, monkeypatch: pytest.MonkeyPatch) -> None:
    import builtins
    import io

    deck.take()
    copy = deck.home / "copy.book"
    assert deck("backup", str(copy)).code == 0

    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    def interrupted(prompt: str) -> str:
        raise KeyboardInterrupt

    before = deck.entries()
    monkeypatch.setattr(sys, "stdin", Terminal())
    monkeypatch.setattr(builtins, "input", interrupted)
    monkeypatch.setattr(type(sys.stdout), "isatty", lambda self: True, raising=False)
    result = deck("restore", str(copy))
    assert result.code == 130 and result.err == "deckjobs: stopped\n"
    monkeypatch.setattr(builtins, "input", lambda prompt: "no")
    assert deck("restore", str(copy)).code == 1
    assert deck.entries() == before


def test_a_fault_of_ours_writes_a_crash_file_and_shows_no_traceback(home: Path) -> None:
    # A folder whose name is the settings file's makes no fault; a broken import does: shadow one of our
    # modules.
    broken = home / "broken"
    (broken / "tracker_fault").mkdir(parents=True)
    (broken / "sitecustomize.py").write_text(
        "import sys, types\nsys.modules['tracker.reports.jobpages'] = types.ModuleType('tracker.reports.jobpages')\n"
    )
    (home / "j.toml").write_text(job_text(), "utf-8")
    assert shell(home, "take", "j.toml").returncode == 0
    result = shell(home, "jobs", env={"PYTHONPATH": f"{broken}{os.pathsep}{ROOT}"})
    assert result.returncode == 70
    text = result.stderr.decode()
    assert text.startswith("deckjobs: our own fault: ImportError") and "Traceback" not in text
    kept = Path(text.splitlines()[1].removeprefix("  details are in "))
    assert kept.parent == home / ".local/state/deckjobs" and kept.stat().st_mode & 0o777 == 0o600
    assert "tracker/commands/jobs.py" in kept.read_text() and "ImportError" in kept.read_text()
    debug = shell(home, "jobs", env={"PYTHONPATH": f"{broken}{os.pathsep}{ROOT}", "DECKJOBS_DEBUG": "1"})
    assert b"Traceback" in debug.stderr


def test_help_starts_fast_and_imports_nothing_heavy(home: Path) -> None:
    heavy = (
        "rich",
        "textual",
        "sqlmodel",
        "sqlalchemy",
        "alembic",
        "sqlite3",
        "dateutil",
        "platformdirs",
        "tomllib",
        "json",
    )
    code = (
        "import sys; from tracker.cli import main; code = main(sys.argv[1:]);"
        f"print([m for m in {heavy!r} if m in sys.modules], file=sys.stderr); sys.exit(code)"
    )
    for words in (["--help"], ["--version"], ["check", "--help"], ["figure", "span", "--help"]):
        result = subprocess.run(
            [sys.executable, "-c", code, *words], cwd=ROOT, capture_output=True, text=True, timeout=300, check=False
        )
        assert (result.returncode, result.stderr.strip()) == (0, "[]")


def test_main_is_what_the_console_script_runs(deck: Deck) -> None:
    assert main(["--version"]) == 0
