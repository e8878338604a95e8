"""The head of a paper: who the contractor is, as kept in the book, and whom it is for."""

from __future__ import annotations

from tracker.book.paperviews import LETTERHEAD_LINES, Letterhead
from tracker.reports.paper.model import Beside, Blank, Blanks, Block, KeyValues


def parties(head: Letterhead, job: str, client: str, place: str, who: str) -> Block:
    """Who a paper is for and where the deck is; beside it the contractor's letterhead, or room to write it in."""
    facts = (("client", client), ("site", place), ("job", job), ("from", who))
    left = KeyValues(tuple((word, text) for word, text in facts if text))
    return Beside((left,), letterhead_blocks(head), 0.5)


def letterhead_blocks(head: Letterhead) -> tuple[Block, ...]:
    """The lines of a letterhead, then a blank for each that was not given; nobody needs an empty line for an address."""
    given = {word: getattr(head, key) for key, word in LETTERHEAD_LINES.items()}
    lines = tuple((word, text) for word, text in given.items() if text)
    blanks = tuple(Blank(word) for word, text in given.items() if not text and word != "address")
    return (*((KeyValues(lines),) if lines else ()), *((Blanks(blanks),) if blanks else ()))
