"""What an empty book teaches: the keys that fill it, and the five ideas behind it."""

from __future__ import annotations

from textual.content import Content

from tracker.screens import words
from tracker.screens.actions import of_screen
from tracker.screens.choice import Choice, steps
from tracker.screens.page import Page
from tracker.text import count

_KEYS = ("samples", "new_job", "ideas", "help")
"""The actions the lesson teaches, those that exist."""

_IDEAS = (
    (
        "Phases",
        "A job goes through phases, from the first call to the yearly oil. Which ones follows from its size, its height"
        " and what it stands on. A phase is ahead, under way, held or signed off; the plan moves with what really happens.",
    ),
    (
        "Checks",
        "A phase has checks. You type what you measured: two diagonals, a row of heights, a count of nails. The check"
        " answers passed or FAILED, how far off, and the next move, with its working and its source.",
    ),
    (
        "Hold points",
        "Some phases must be signed off before the work after them may start, so that nothing is covered up unseen."
        " What stands in the way is listed, with what clears it. A waiver takes a name and a reason.",
    ),
    (
        "Lots",
        "Material comes in lots: ordered, received, used, given back. From them the book knows what is short, what is"
        " late, what to buy by when, and what the job costs.",
    ),
    (
        "The book never forgets",
        "Nothing you record is ever overwritten or removed: a correction is a new entry beside the old one, and a waiver"
        " stays in sight. So you can show the inspector, the client and the next carpenter what was measured, and when.",
    ),
)


def lesson(width: int) -> Content:
    """The first page of an empty book."""
    rows = [
        words.say("No open job in this book yet.", words.STRONG),
        Content(""),
        words.hang(
            "A job's size, height, joists, boards and first day give its phases, its checks and the material to buy.",
            width,
        ),
        Content(""),
    ]
    for action in of_screen("morning"):
        if action.name in _KEYS:
            rows.append(words.hang(action.help, width, f"  {words.fit(action.shows, 4)}", "", words.HEADING))
    rows += [
        Content(""),
        words.hang("In a shell: deckjobs take FILE; deckjobs demo, thrown away after.", width, "", words.FAINT),
    ]
    return words.stack(rows)


def all_done(jobs: int, width: int) -> Content:
    """What stands in the place of today when every job is finished."""
    whose = "the one job" if jobs == 1 else f"all {jobs} jobs"
    return words.stack(
        [
            words.say("No open job.", words.STRONG),
            Content(""),
            words.hang(
                f"Every phase of {whose} in this book is signed off."
                " The finished ones are kept: / finds them by their words.",
                width,
            ),
        ]
    )


def ideas_page() -> Page:
    """The five ideas."""
    rows: list[Content] = []
    for title, text in _IDEAS:
        rows += [words.say(title, words.HEADING), words.say(text), Content("")]
    return Page("Five ideas", words.stack(rows[:-1]))


def ask_samples(number: int, book: str) -> Choice[str]:
    """Ask before the sample jobs go into a book."""
    return steps(
        f"Load {count(number, 'sample job')} into {book}? They are invented, and the book never forgets: they stay in it.",
        [("no", "no, leave the book empty"), ("yes", "yes, load them into this book")],
    )
