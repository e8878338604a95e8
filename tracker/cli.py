"""The command ``deckjobs``: finds the command word, runs it, and is the only owner of standard error and
exit codes.

Exit 0 done, 1 the answer is no, 2 the input was wrong, 3 the book cannot be used, 4 somebody else changed it
meanwhile, 70 our own fault, 130 stopped with Ctrl-C. Everything heavy is imported by the command that needs
it.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from typing import TYPE_CHECKING, Literal, NoReturn, TextIO

from tracker import __version__
from tracker.errors import BookError, InputError, InputErrors, TrackerError

if TYPE_CHECKING:
    from tracker.commands.parser import Command

PROG = "deckjobs"
DONE, OUR_FAULT, STOPPED = 0, 70, 130

GROUPS: tuple[tuple[str, tuple[tuple[str, str, str], ...]], ...] = (
    ("jobs", (
        ("demo", "demo", "a throw-away book of invented jobs, on the screens or printed"),
        ("ballpark", "ballpark", "the first phone call: what a deck of a size would be and cost"),
        ("take", "jobs", "take job files (TOML) into the book"),
        ("change", "change", "what a new job file changes; a change order with its reason"),
        ("jobs", "jobs", "every open job: phase, what holds it, next delivery, money"),
        ("show", "jobs", "one job: phases, checks, readings, holds"),
        ("draw", "drawing", "the platforms of a job or a job file, drawn to scale"),
        ("report", "sheet", "the day sheet; --html, --pdf and --csv write it to files"),
        ("packet", "packet", "the field packet of a job for the crew lead, on paper"),
        ("history", "history", "every entry of a job, searched by words"),
        ("serve", "serve", "the same screens in a browser, for a tablet"),
    )),
    ("work", (
        ("check", "checks", "record readings for a check and print the verdict"),
        ("waive", "checks", "waive a check, with a reason that stays visible"),
        ("start", "gates", "start a phase"),
        ("signoff", "gates", "sign a phase off"),
        ("hold", "gates", "hold a phase, with a reason"),
        ("reopen", "gates", "open a signed-off phase again, with a reason"),
        ("undo", "undo", "take an entry back, with a reason that stays visible"),
        ("note", "gates", "write a note on a job"),
        ("punch", "handover", "the punch list of a job: show it, add to it, close an item"),
        ("handover", "handover", "punch list, walk-through sheet, as-built record, care sheet"),
        ("verify", "handover", "tell whether a copy of an as-built record was changed"),
        ("care", "handover", "care of a handed-over deck: when, done, ended"),
        ("calendar", "calendar", "phases, deliveries, inspections, care as a calendar (.ics)"),
    )),
    ("material", (
        ("takeoff", "material", "the material list of a job or a job file, with its working"),
        ("prices", "prices", "the price book: show it, take a list (CSV), write one"),
        ("cutlist", "cutlist", "what to cut from which board, at the least cost, drawn"),
        ("buy", "material", "what is left to buy, by supplier and day; lists, order sheets"),
        ("cost", "material", "a job's material cost: estimate against actual"),
        ("order", "lots", "record an order"),
        ("cancel", "lots", "cancel what is still to come of an order, or some of it"),
        ("receive", "lots", "record pieces received, one lot or a whole ticket"),
        ("inspect", "lots", "record what a lot looked like when it came"),
        ("use", "lots", "record pieces used"),
        ("return", "lots", "record pieces sent back"),
        ("scrap", "lots", "record pieces scrapped"),
        ("offcut", "lots", "put offcuts back to stock"),
        ("transfer", "lots", "move pieces to another job"),
        ("correct", "undo", "put the count of a movement right, with a reason"),
    )),
    ("money and hours", (
        ("price", "money", "what a job should cost and be sold for, options side by side"),
        ("quote", "money", "record a quote"),
        ("accept", "money", "the client took an option: the contract and its draws"),
        ("terms", "money", "agree another schedule of draws"),
        ("extra", "money", "the price of a change: it goes on the contract"),
        ("invoice", "money", "invoice what is ready, a draw, or an amount"),
        ("credit", "money", "take an invoice back with a credit note"),
        ("paid", "money", "record money received"),
        ("spend", "money", "record hire, a fee, or another cost that is no lot"),
        ("money", "money", "a job's money: contract, draws, cost by phase, margin"),
        ("hours", "hours", "log crew hours; list them; what finished phases took"),
    )),
    ("house", (
        ("off", "house", "a day nobody works, or a rain day"),
        ("people", "house", "who signs, and who may waive"),
        ("rules", "house", "the tolerances in force, and your own"),
        ("letterhead", "house", "who you are, on quotes, invoices and packets"),
    )),
    ("figures", (("figure", "figure", "one trade figure with no job"),)),
    ("the book", (
        ("backup", "care", "copy the book into a file"),
        ("restore", "care", "put a copy back in the book's place"),
        ("doctor", "care", "look the book over for damage"),
    )),
)  # fmt: skip

COMMANDS = {word: (module, text) for _, group in GROUPS for word, module, text in group}
"""Every command word: the module that has it and one line of help."""


def run() -> NoReturn:
    """Run the command line and leave with its exit code."""
    code = main(sys.argv[1:])
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except (OSError, ValueError):  # a terminal that was closed meanwhile
            _quiet(stream)
    import signal

    signal.signal(
        signal.SIGINT, signal.SIG_IGN
    )  # the answer is out: stopping the last few milliseconds changes nothing
    sys.exit(code)


def main(argv: Sequence[str]) -> int:
    """Run one command line (without the program's name); returns the exit code. Never raises, never prints a
    traceback.

    With ``DECKJOBS_DEBUG=1`` in the environment an unexpected fault is raised instead.
    """
    done: list[str] = []
    try:
        unheard = _open_streams()
        code = _dispatch(argv, done)
        sys.stdout.flush()
    except TrackerError as error:
        _complain(error)
        _say_before(done)
        return _flushed(error.exit_code)
    except KeyboardInterrupt:
        return _stopped(done)
    except BrokenPipeError:
        _quiet_stdout()
        _say_done(done, "nobody reads the answer")
        return DONE
    except Exception as error:
        if os.environ.get("DECKJOBS_DEBUG") == "1":
            raise
        if _comes_of_a_stop(error):
            return _stopped(done)
        return _flushed(_our_fault(error, done))
    if unheard:
        _say_done(done, "standard output is closed")
    return code


def _say_done(done: Sequence[str], why: str) -> None:
    """Say what was done, where the answer that says so did not come through."""
    for text in done:
        _say_on_stderr(f"{text} ({why})")


def _stopped(done: Sequence[str]) -> int:
    _say_on_stderr("stopped")
    _say_before(done)
    return _flushed(STOPPED)


def _say_before(done: Sequence[str]) -> None:
    for text in done:
        _stderr_line(f"  before that: {text}")


def _comes_of_a_stop(error: BaseException) -> bool:
    """Whether a fault is what a library made of Ctrl-C, as some do while they are imported."""
    seen: list[BaseException] = []
    link: BaseException | None = error
    while link is not None and link not in seen:
        if isinstance(link, KeyboardInterrupt):
            return True
        seen.append(link)
        link = link.__cause__ or link.__context__
    return False


_ASCII = {"×": "x", "°": " deg ", "…": "...", "–": "-", "—": "-", "’": "'", "\N{REPLACEMENT CHARACTER}": "?"}


def _open_streams() -> bool:
    """See to the three standard streams; whether standard output was closed.

    A closed one is replaced by one that goes nowhere, in its own place, so that no file opened later gets its number and what
    is meant for a screen. A character that the terminal's encoding lacks prints as its likeness or its code, never as a fault.
    """
    import codecs

    def likeness(error: UnicodeError) -> tuple[str | bytes, int]:
        assert isinstance(error, UnicodeEncodeError)
        char = error.object[error.start]
        if char in _ASCII:
            return _ASCII[char], error.start + 1
        return codecs.backslashreplace_errors(
            UnicodeEncodeError(error.encoding, error.object, error.start, error.start + 1, error.reason)
        )

    def nothing(mode: Literal["r", "w"]) -> TextIO:
        return os.fdopen(os.open(os.devnull, os.O_RDWR), mode, closefd=False)

    unheard = sys.stdout is None
    sys.stdin = sys.stdin or nothing("r")
    sys.stdout = sys.stdout or nothing("w")
    sys.stderr = sys.stderr or nothing("w")
    codecs.register_error("deckjobs.likeness", likeness)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="deckjobs.likeness")
    return unheard


def _dispatch(argv: Sequence[str], done: list[str]) -> int:
    """Run the command of ``argv``; what it has recorded or written is added to ``done``."""
    from argparse import Namespace

    from tracker.commands.parser import check_text, new_parser, split_word

    check_text(argv)
    before, word, rest = split_word(argv)
    if word == "help" or "--help" in before or "-h" in before:
        print(help_text())
        return DONE
    if "--version" in before:
        print(f"{PROG} {__version__}")
        return DONE
    outer = new_parser(PROG, "")
    outer.add_argument("--version", action="store_true")
    given = outer.read(before, Namespace())
    if word is None:
        return _bare(given)
    command = find_command(word)
    options, below, values = split_word(rest)
    if command.narrow is not None and below is not None:
        parser = command.narrow(below)
        rest = options + values
    else:
        parser = new_parser(f"{PROG} {word}", command.text, command.example, records=command.records)
        command.add(parser)
    try:
        found = parser.read(rest, given)
    except SystemExit as leaving:  # --help has printed
        return int(leaving.code or 0)
    if "id" in found and not command.records:
        raise InputError(f"{word} records no entry", "leave --id out")
    from tracker.commands.session import Session

    return command.run(Session(found, tuple(argv), done), found)


def find_command(word: str) -> Command:
    """The command of that word; raises InputError with a near miss for any other."""
    if word not in COMMANDS:
        from tracker.text import near

        raise InputError(f"there is no command {word!r}{near(word, COMMANDS)}", f"{PROG} --help lists the commands")
    from importlib import import_module

    commands: dict[str, Command] = import_module(f"tracker.commands.{COMMANDS[word][0]}").COMMANDS
    return commands[word]


def help_text() -> str:
    """The short help: every command with one line."""
    lines = [
        f"usage: {PROG} [--book FILE] [--as NAME] [--json] COMMAND ...",
        "",
        "A job book for a small deck contractor: framing, material, measured checks,",
        f"hold points and the day sheet. {PROG} alone opens the screens;",
        f"{PROG} COMMAND --help explains one command.",
    ]
    for title, group in GROUPS:
        lines += ["", f"{title}:"] + [f"  {word:<9} {text}" for word, _, text in group]
    lines += ["", f"start here:  {PROG} demo"]
    return "\n".join(lines)


def _bare(given: object) -> int:
    """No command word: the screens, or the short help where there is no terminal to draw them on."""
    from argparse import Namespace

    from tracker.commands.session import Session

    assert isinstance(given, Namespace)
    session = Session(given, ())
    if sys.stdin.isatty() and sys.stdout.isatty():
        return session.open_screens()
    there = session.book_exists()
    print(help_text())
    if there:
        raise InputError("no command, and no terminal to open the screens on", f"try {PROG} report")
    return DONE


def _complain(error: TrackerError) -> None:
    """Print an error: what was wrong, then what would be right, one plain line each."""
    problems = list(error.problems) if isinstance(error, InputErrors) else [error.message]
    if len(problems) == 1:
        _say_on_stderr(problems[0])
    else:
        _say_on_stderr(f"{len(problems)} things are wrong")
        for problem in problems:
            _stderr_line(f"  {problem}")
    for line in error.hint.splitlines():
        _stderr_line(f"  {line}")


def _say_on_stderr(text: str) -> None:
    _stderr_line(f"{PROG}: {text}")


def _stderr_line(text: str) -> None:
    from tracker.text import clean

    with suppress(OSError):  # nowhere left to complain
        print(clean(text), file=sys.stderr, flush=True)


def _flushed(code: int) -> int:
    """``code``, once what was printed so far is out or given up."""
    try:
        sys.stdout.flush()
    except OSError:
        _quiet_stdout()
    return code


def _quiet_stdout() -> None:
    """Point standard output at nothing, so that the interpreter's last flush stays quiet."""
    _quiet(sys.stdout)


def _quiet(stream: TextIO) -> None:
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def _our_fault(error: Exception, done: Sequence[str]) -> int:
    """Say that the fault is ours and where the crash file is; returns the exit code."""
    import errno

    if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EIO, errno.EDQUOT, errno.EFBIG, errno.EBADF):
        _quiet_stdout()
        place = f" ({error.filename})" if error.filename else ""
        _complain(BookError(f"writing failed: {error.strerror}{place}", _kept_words(done)))
        return BookError.exit_code
    kept = _crash_file(error)
    _say_on_stderr(f"our own fault: {type(error).__name__}; {_kept_words(done)}")
    _stderr_line(f"  {f'details are in {kept}' if kept else 'set DECKJOBS_DEBUG=1 to see details'}")
    return OUR_FAULT


def _kept_words(done: Sequence[str]) -> str:
    """What is safe in the book: what was done before, and what this command did before its answer failed."""
    return f"this is done all the same: {'; '.join(done)}" if done else "the book keeps what was recorded before"


def _crash_file(error: Exception) -> str:
    """Write where the fault happened into the state folder; returns the file's path or an empty text.

    No value stands in it: not the fault's own words, which may quote the book, and no variable.
    """
    import platform
    from datetime import UTC, datetime
    from pathlib import Path
    from tempfile import gettempdir

    from tracker.settings import state_folder

    text = f"{PROG} {__version__}, Python {platform.python_version()}\n{_where(error)}"
    for folder in (state_folder(), Path(gettempdir())):
        if folder is None:
            continue
        path = folder / f"crash-{datetime.now(UTC):%Y%m%dT%H%M%S}-{os.getpid()}.txt"
        try:
            handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(text)
        except OSError:
            continue
        return str(path)
    return ""


def _where(error: BaseException) -> str:
    """The faults from the first to the last that came of it, each with the files, lines and functions it passed through."""
    import traceback

    chain: list[BaseException] = []
    link: BaseException | None = error
    while link is not None and link not in chain:
        chain.append(link)
        link = link.__cause__ or (None if link.__suppress_context__ else link.__context__)
    lines: list[str] = []
    for found in reversed(chain):
        lines += [
            f'  File "{frame.filename}", line {frame.lineno}, in {frame.name}'
            for frame in traceback.extract_tb(found.__traceback__)
        ]
        lines.append(
            f"{type(found).__module__}.{type(found).__qualname__} (its words are left out: they may quote the book)"
        )
    return "\n".join([*lines, ""])
