"""From the command that clears a hold to the keys that do the same here, and the place to go to."""

from __future__ import annotations

import re
from dataclasses import dataclass

from tracker.book.views import Blocker


@dataclass(frozen=True, slots=True)
class Way:
    """How to clear something: ``says`` in words; ``verb`` is what is done, ``key`` to what."""

    says: str
    verb: str = ""
    key: str = ""


_SAYS = {
    "check": "read {key}",
    "signoff": "sign off {key}",
    "start": "start {key}",
    "reopen": "reopen {key}",
    "waive": "waive {key}",
    "receive": "receive lot {key}",
    "buy": "order what is short",
}

_KEYS = {
    "order": "b, then o",
    "buy": "b",
    "receive": "r on the material screen",
    "use": "u on the material screen",
    "waive": "w on the job's screen",
    "check": "enter on the check",
    "start": "s on the job's screen",
    "signoff": "o on the job's screen",
    "reopen": "u on the job's screen",
    "accept": "a on the money screen",
    "extra": "e on the money screen",
    "invoice": "i on the money screen",
    "quote": "q on the money screen",
    "hours": "t on the job's screen",
}
_COMMAND = re.compile(rf"`?deckjobs ({'|'.join(_KEYS)})\b[^;.`\n]*`?")


def by_keys(text: str) -> str:
    """A text with the keys that do here what its commands do in a shell."""
    return _COMMAND.sub(lambda command: _KEYS[command[1]], text)


def way(command: str) -> Way:
    """The way a command such as ``deckjobs check 26-014 square`` names; other texts are shown as they are."""
    words = command.split()
    if len(words) < 3 or words[0] != "deckjobs" or words[1] not in _SAYS:
        return Way(command)
    verb, key = words[1], words[3] if len(words) > 3 else ""
    return Way(_SAYS[verb].format(key=key), verb, key)


def blocker_way(blocker: Blocker) -> Way:
    """How to clear a blocker."""
    if blocker.check.startswith("wait."):
        return Way("wait, or waive it with a reason", "waive", blocker.check)
    found = way(blocker.clears)
    if found.verb == "check":
        return Way(f"read {found.key}, or waive it with a reason", "check", found.key)
    return found
