"""The help page: every key, the present screen's first; the words and the marks."""

from __future__ import annotations

from textual.content import Content

from tracker.screens import words
from tracker.screens.actions import ACTIONS, SCREEN_TITLES
from tracker.screens.page import Page, room


def help_page(screen: str, width: int) -> Page:
    """Every key by screen, ``screen`` first, for a screen of ``width`` cells."""
    cells = room(width)
    order = [screen] + [name for name in SCREEN_TITLES if name != screen]
    rows: list[Content] = [
        words.hang("Arrows move, Enter does, Tab goes to the next list, Escape goes back and loses nothing.", cells)
    ]
    for name in order:
        rows += [Content(""), words.say(SCREEN_TITLES[name], words.HEADING)]
        rows += [
            words.hang(action.help, cells, words.fit(action.shows, 8), label_style=words.STRONG)
            for action in ACTIONS
            if action.screen == name
        ]
    rows += [Content(""), words.say("Words and marks", words.HEADING)]
    phases, checks = words.PHASE_MARKS.items(), words.CHECK_MARKS.items()
    rows.append(words.hang(", ".join(f"{sign} {phase.value}" for phase, sign in phases), cells, "phase   "))
    rows.append(words.hang(", ".join(f"{sign} {check.value}" for check, sign in checks), cells, "check   "))
    return Page("Keys", words.stack(rows))
