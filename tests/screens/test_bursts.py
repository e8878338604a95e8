"""Random bursts of keys in a terminal of its own: what was said to be saved is in the book once, and nothing else is.

A short part of what ``tests/screens/bursts.py`` does for as long as it is asked to.
"""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

import pytest

from tests.often import examples
from tests.screens.bursts import Typist


@pytest.mark.parametrize("seed", range(1, 1 + examples(1, 20)))
def test_the_book_holds_what_was_typed_in_bursts(tmp_path: Path, seed: int) -> None:
    typist = Typist(tmp_path, seed)
    try:
        typist.run(bursts=examples(8, 200), until=time.monotonic() + examples(120, 1200))
    except BaseException:
        os.kill(typist.window.pid, signal.SIGKILL)
        raise


def test_a_book_that_differs_from_what_was_typed_is_told(tmp_path: Path) -> None:
    typist = Typist(tmp_path, 1)
    typist.model.notes.append("never typed")
    typist.model.line = "6h"
    with pytest.raises(AssertionError, match=r"(?s)notes: the book has \[\], typed was \['never typed'\].*drafts: "):
        typist.run(bursts=0, until=0)
