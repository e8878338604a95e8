"""From the command that clears a hold to the keys that do the same here, and the place to go to."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from tracker.book.views import Blocker
from tracker.reports.page import Line, Page


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

_MATERIAL, _JOB, ON_MONEY = "on the material screen", "on the job's screen", "on the money screen"
_KEYS = {
    "accept": ("a", ON_MONEY),
    "buy": ("b", ""),
    "cancel": ("k", _MATERIAL),
    "change": ("e", _JOB),
    "check": ("enter", "on the check"),
    "correct": ("e", _MATERIAL),
    "cost": ("m", _MATERIAL),
    "credit": ("a credit note", "from the office"),
    "extra": ("e", ON_MONEY),
    "history": ("y", _JOB),
    "hold": ("h", _JOB),
    "hours": ("t", _JOB),
    "inspect": ("i", _MATERIAL),
    "invoice": ("i", ON_MONEY),
    "jobs": ("j", "on the morning"),
    "money": ("c", _JOB),
    "note": ("n", _JOB),
    "order": ("b, then o", ""),
    "paid": ("p", ON_MONEY),
    "price": ("F2", ON_MONEY),
    "punch": ("v", _JOB),
    "quote": ("q", ON_MONEY),
    "receive": ("r", _MATERIAL),
    "reopen": ("u", _JOB),
    "return": ("g", _MATERIAL),
    "scrap": ("x", _MATERIAL),
    "show": ("enter", "on the job"),
    "signoff": ("o", _JOB),
    "spend": ("s", ON_MONEY),
    "start": ("s", _JOB),
    "take": ("n", "on the open jobs"),
    "terms": ("another schedule of draws", "from the office"),
    "undo": ("x", "in the history"),
    "use": ("u", _MATERIAL),
    "waive": ("w", _JOB),
}
"""The key that does what a command does, and where it stands."""
_OFFICE = {
    "backup": "a copy of the book",
    "days": "the office's list of days off",
    "doctor": "the office",
    "off": "the office's list of days off",
    "people": "the office's list of people",
    "prices": "the office's price list",
    "restore": "the office",
    "rules": "the office's house rules",
    "verify": "the office",
}
"""What has no key here: the office does it at its desk."""
_QUOTED = r"""(?<=[\s='"])(?:'(?:[^'\\\n]|\\.)*'|"(?:[^"\\\n]|\\.)*")"""
"""A word in quotes, whatever stands in it: a name may hold what ends a sentence."""
_COMMAND = re.compile(
    rf"`?\bdeckjobs (?:--?\w+ (?:\w|{_QUOTED})+ )*(?P<name>[a-z]+)\b(?P<rest>(?:{_QUOTED}|[^;.`\n,)])*)`?"
)
_OPTION = re.compile(r"(?<![\w-])--[a-z]")
_CLAUSES = re.compile(r"(; |, or |\. | or |, |: )")
_MEANT = (
    ("give a new --id, or leave it out", "do it once more"),
    ("name another --book", "open another book"),
    ("give another --book", "open another book"),
    (", with --book", ""),
    (" with --book", ""),
    ("`deckjobs doctor` tells all that is wrong", "the office looks the book over (doctor)"),
    ("`deckjobs doctor --mend` puts triggers and indexes right, after a copy", "and puts it right, after a copy"),
    ("`deckjobs doctor` tells more", "the office looks the book over (doctor)"),
    ("`deckjobs restore FILE` puts a copy back", "and puts a copy back (restore)"),
    ("run `deckjobs doctor`", "ask the office to look the book over"),
    ("restore a copy with `deckjobs restore`", "ask the office for a copy of the book"),
    ("`deckjobs restore` a copy", "ask the office for a copy of the book"),
    ("a copy made by `deckjobs backup`", "a copy of it"),
    ("say so with --anyway", "say yes"),
    ("add --anyway", "say yes"),
    ("the same again with --receive --anyway", "say yes"),
    ("the same again with --receive", "say yes"),
    (" with --draw", ""),
    (" with --supplier", ""),
)


def by_keys(text: str, here: str = "") -> str:
    """A text with the keys that do here what its commands do in a shell, and without a shell's options.

    ``here`` is the place the text stands in, as keys are told of it ("on the money screen").
    """
    if "deckjobs " not in text and not _OPTION.search(text):
        return text

    def keys(command: re.Match[str]) -> str:
        name = command["name"]
        if name not in _KEYS:
            return _OFFICE.get(name, command[0])
        key, place = _KEYS[name]
        return f"press {key}" if place and place == here else f"{key} {place}".strip()

    for said, meant in _MEANT:
        text = text.replace(said, meant)
    return _without_options(_COMMAND.sub(keys, text)).strip()


def _without_options(text: str) -> str:
    """A text without the clauses that only a shell understands."""
    if not _OPTION.search(text):
        return text
    parts = _CLAUSES.split(text)
    kept: list[str] = []
    for at in range(0, len(parts), 2):
        if _OPTION.search(parts[at]):
            continue
        kept += [parts[at - 1] if at and kept else "", parts[at]]
    return "".join(kept).rstrip(" ,;:")


def page_by_keys(page: Page, here: str = "") -> Page:
    """A page of the reports with keys in place of commands, as ``by_keys`` gives them."""
    return tuple(
        replace(part, text=by_keys(part.text, here))
        if isinstance(part, Line)
        else replace(part, rows=tuple(tuple(by_keys(text, here) for text in row) for row in part.rows))
        for part in page
    )


def way(command: str) -> Way:
    """The way a command such as ``deckjobs check 26-014 square`` names; other texts are shown as they are."""
    words = command.split()
    if len(words) < 3 or words[0] != "deckjobs" or words[1] not in _SAYS:
        return Way(by_keys(command))
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
