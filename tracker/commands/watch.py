"""Working at a cut plan: the best so far stands on the terminal while it improves, and Ctrl-C takes it as it is."""

from __future__ import annotations

import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from types import FrameType

    from rich.live import Live

    from tracker.planning.cutplan import CutPlan, Progress

HINT = "working at it; Ctrl-C takes what there is"
_PAUSE_S = 0.1


class Watch:
    """What the person sees of the work, and whether they stopped it."""

    def __init__(self, live: Live | None) -> None:
        self.stopped = False
        self._live = live
        self._rows: dict[str, str] = {}
        self._drawn = 0.0

    def put(self, name: str, text: str) -> None:
        """Show ``text`` as where ``name`` stands now."""
        self._rows[name] = text
        if self._live is not None and time.monotonic() - self._drawn >= _PAUSE_S:
            self.draw()

    def draw(self) -> None:
        """Draw every row now."""
        if self._live is None:
            return
        from tracker.reports.page import Line, Printed, Tone

        lines = [Line(f"{name}: {text}" if name else text) for name, text in self._rows.items()]
        self._live.update(Printed((*lines, Line(HINT, Tone.QUIET))), refresh=True)
        self._drawn = time.monotonic()

    def progress(self, say: Callable[[CutPlan], tuple[str, str]] | None = None) -> Progress:
        """What a solver calls: ``say`` names the plan and puts it in words."""

        def report(plan: CutPlan, bound_e4: int) -> bool:
            if say is not None and self._live is not None:
                self.put(*say(plan))
            return not self.stopped

        return report


@contextmanager
def watching(*, seen: bool) -> Iterator[Watch]:
    """A Watch that Ctrl-C stops (a second Ctrl-C interrupts as usual); ``seen`` where the terminal can be drawn on."""
    live: Live | None = None
    if seen:
        from rich.console import Console
        from rich.live import Live

        live = Live(console=Console(file=sys.stdout, highlight=False), auto_refresh=False, transient=True)
    watch = Watch(live)

    def stop(number: int, frame: FrameType | None) -> None:
        if watch.stopped:
            raise KeyboardInterrupt
        watch.stopped = True

    ours = threading.current_thread() is threading.main_thread()
    before = signal.signal(signal.SIGINT, stop) if ours else None
    try:
        if live is None:
            yield watch
        else:
            with live:
                yield watch
    finally:
        if ours:
            signal.signal(signal.SIGINT, before)
