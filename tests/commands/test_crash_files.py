"""A crash file says where a fault of ours happened, and nothing that is in the book."""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path

import pytest

from tests.commands.conftest import Deck
from tests.commands.test_cli import ROOT, shell

SECRET = "Sparrowgate 4711"

FAULTS = {
    "its words": "raise ValueError(f'no such {view.line.title!r}')",
    "a key": "{}[view.line.title]",
    "what it came of": "\n    try:\n        int(view.line.title)\n    except ValueError as error:\n        raise RuntimeError(view.line.title) from error",
    "what it met on the way": "\n    try:\n        int(view.line.title)\n    except ValueError:\n        open(view.line.title)",
    "a note on it": "\n    error = ValueError(); error.add_note(view.line.title); raise error",
    "a group": "raise ExceptionGroup(view.line.title, [ValueError(view.line.title)])",
    "a statement": "\n    import sqlite3\n    sqlite3.connect(':memory:').execute(f'select \"{view.line.title}\" from nowhere')",
    "code made of it": "exec(f'{view.line.title!r}.nothing')",
}


@pytest.mark.parametrize("how", FAULTS)
def test_a_crash_file_holds_nothing_of_the_book(deck: Deck, home: Path, how: str) -> None:
    """A real fault in a real process, with the job's title in the fault itself."""
    deck.take(title=SECRET)
    (home / "broken").mkdir()
    (home / "broken" / "sitecustomize.py").write_text(
        "import sys, types\n"
        "module = types.ModuleType('tracker.reports.jobpages')\n"
        f"exec(compile('''def job_page(view):\n    {FAULTS[how]}\n''', 'jobpages.py', 'exec'), module.__dict__)\n"
        "sys.modules[module.__name__] = module\n"
    )
    result = shell(home, "show", "101", env={"PYTHONPATH": f"{home / 'broken'}{os.pathsep}{ROOT}"})
    assert result.returncode == 70, result.stderr
    (kept,) = (home / ".local/state/deckjobs").glob("crash-*.txt")
    text = kept.read_text()
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    for told in (text, result.stderr.decode()):
        assert not re.search("Sparrowgate|4711", told), told
    assert re.search(r'File "jobpages.py", line \d+, in job_page', text)
    assert re.search(r'File ".*/tracker/commands/jobs.py", line \d+, in show', text)
