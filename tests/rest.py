"""When a screen that a test drives is at rest: all that is left to happen is what a person, a clock or a busy thread begins.

The toolkit takes a process that uses little of its core for one that has nothing to do. Beside busy neighbors that is wrong both
ways: a screen that got no time looks at rest, and one that has been done for long is waited for.
"""

from __future__ import annotations

import asyncio
from typing import Any
from weakref import WeakSet

from textual import app as toolkit_app
from textual import pilot as toolkit_pilot
from textual._context import active_app
from textual.app import App
from textual.pilot import Pilot
from textual.worker import Worker

SPINS = 500
ROUNDS = 50
LOOKS = 300
"""How often a thread of the screens is looked at before it is not waited for any more: it may wait for a lock, or work out a plan
for long. Looks are counted and not seconds: they grow rarer as the machine grows busier."""
_slow: WeakSet[Worker[Any]] = WeakSet()
"""The threads that were waited for so long already."""


async def drained() -> None:
    """Wait until every task of the event loop waits for a clock, a thread or the outside."""
    loop = asyncio.get_running_loop()
    quiet = spins = 0
    while quiet < 2:  # the second time with all that came in from outside meanwhile
        await asyncio.sleep(0 if spins < SPINS else 0.001)
        quiet, spins = 0 if loop._ready else quiet + 1, spins + 1  # type: ignore[attr-defined]


def painted(app: App[Any]) -> bool:
    """Paint what is to be painted, now; whether there was anything."""
    wanted = bool(app._screen_stack and app.screen._update_timer._active.is_set())
    if wanted:
        app.screen._on_timer_update()
    return wanted


def threads(app: App[Any]) -> set[Worker[Any]]:
    """The threads that are at work for the screens and not known to be long at it."""
    return {w for w in app.workers if w._thread_worker and not w.is_finished and w not in _slow}


async def at_rest(least: float = 0, most: float = 0) -> None:
    """Wait until the screens that are driven here are at rest, in place of the toolkit's ``wait_for_idle``; its times do not
    matter.
    """
    app: App[Any] = active_app.get()
    rounds = looks = 0
    while True:
        await drained()
        if rounds < ROUNDS and painted(app):
            rounds += 1
        elif not (busy := threads(app)):
            return
        elif looks == LOOKS:
            _slow.update(busy)
            return
        else:
            looks += 1
            await asyncio.sleep(0.002)


def on_its_way(app: App[Any]) -> bool:
    """Whether an errand is under way, or something is to happen by a clock that goes off once."""
    pumps = (app, *app.screen.walk_children(with_self=True))
    return not all(worker.is_finished for worker in app.workers) or any(
        timer._repeat == 0 and timer._task is not None and not timer._task.done()
        for pump in pumps
        for timer in pump._timers
    )


async def _rested(_pilot: Pilot[Any], timeout: float = 0) -> bool:
    """In place of the pilot's wait for every widget's messages, which a busy machine does not get through in its seconds."""
    await at_rest()
    return True


def install() -> None:
    """Let the toolkit's own pilot wait so."""
    for module in (toolkit_app, toolkit_pilot):
        assert hasattr(module, "wait_for_idle")
        setattr(module, "wait_for_idle", at_rest)  # noqa: B010 — a checker takes the assignment for a mistake
    assert hasattr(Pilot, "_wait_for_screen")
    setattr(Pilot, "_wait_for_screen", _rested)  # noqa: B010
