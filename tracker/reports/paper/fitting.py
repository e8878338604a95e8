"""What has to stay on one page is made to: smaller type first, within what can be read, then counted tails where they are
allowed.

Measured as it will be printed, so that nothing is ever clipped; what is left out is always counted. A table with a total
loses no line, or the total were not the sum of what is read above it: it goes on to the next page instead.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from tracker.reports.page import Tone
from tracker.reports.paper.model import (
    Beside,
    Block,
    Bullets,
    Caution,
    Checklist,
    Heading,
    KeepTogether,
    KeyValues,
    OnePage,
    PageBreak,
    Paragraph,
    Table,
)
from tracker.reports.paper.rows import Row, Setting, height_of
from tracker.reports.paper.setting import set_blocks
from tracker.text import clean, count

SCALES = (1.0, 0.95, 0.9, 0.85, 0.8)
"""Steps of the type: plain text is never under 7.6 points."""
FLOORS = ((3, 4000), (3, 1200), (2, 600), (1, 2000), (1, 600), (1, 240), (1, 120))
"""Lines that a list and characters that a text keep at least, step by step, until it fits."""


@dataclass(frozen=True, slots=True)
class Fitted:
    """Blocks as they were made to fit a page, their scale, and their rows."""

    blocks: tuple[Block, ...]
    scale: float
    rows: tuple[Row, ...]


def fit(page: OnePage, setting: Setting, room: float) -> Fitted:
    """The blocks of a page as they fit a room that is ``room`` mm high, and what of them goes on to the next page."""
    plain = tuple(block for block in page.blocks if not isinstance(block, PageBreak))
    for scale in SCALES:
        whole = _set(plain, setting, scale)
        if height_of(whole.rows) <= room:
            return whole
    if not page.more:
        return _set(plain, setting, SCALES[0])
    if (start := _summed(plain)) is not None:
        first = fit(replace(page, blocks=plain[:start]), setting, room)
        return _set((*first.blocks, *plain[start:]), setting, first.scale)
    lengths = tuple(_lengths(plain))

    def tried(blocks: tuple[Block, ...], caps: Iterable[int], chars: int) -> Fitted | None:
        keep = iter(caps)
        found = _set(tuple(cut for block in blocks for cut in _cut(block, keep, chars, page.more)), setting, scale)
        return found if height_of(found.rows) <= room else None

    for floor, chars in FLOORS:
        most = sum(max(length - floor, 0) for length in lengths)
        best = tried(plain, _caps(lengths, most, floor), chars)
        if best is None:
            continue
        low, high = 0, most
        while low < high:
            middle = (low + high) // 2
            found = tried(plain, _caps(lengths, middle, floor), chars)
            if found is None:
                low = middle + 1
            else:
                high, best = middle, found
        return best
    floor, chars = FLOORS[-1]
    for left_out in range(1, len(plain)):
        more = Paragraph(f"and {count(left_out, 'more part')}, {page.more}", Tone.QUIET)
        best = tried((*plain[:-left_out], more), itertools.repeat(floor), chars)
        if best is not None:
            return best
    raise ValueError("a page with no room for one part")


def _summed(blocks: Sequence[Block]) -> int | None:
    """Where the first table with a total begins, its heading with it; None without one."""
    for number, block in enumerate(blocks):
        if isinstance(block, Table) and block.total:
            return number - 1 if number and isinstance(blocks[number - 1], Heading) else number
    return None


def _caps(lengths: Sequence[int], gone: int, floor: int) -> list[int]:
    """How many lines each list keeps when ``gone`` are left out: the last lists lose theirs first, down to ``floor``."""
    caps = []
    for length in reversed(lengths):
        out = min(gone, max(length - floor, 0))
        gone -= out
        caps.append(length - out)
    return caps[::-1]


def _set(blocks: tuple[Block, ...], setting: Setting, scale: float) -> Fitted:
    return Fitted(blocks, scale, tuple(set_blocks(blocks, replace(setting, scale=scale))))


def _lengths(blocks: Iterable[Block]) -> Iterator[int]:
    for block in blocks:
        match block:
            case Bullets() | Checklist():
                yield len(block.items)
            case Table() | KeyValues():
                yield len(block.rows)
            case Caution():
                yield len(block.texts)
            case KeepTogether():
                yield from _lengths(block.blocks)
            case Beside():
                yield from _lengths((*block.left, *block.right))
            case _:
                pass


def _cut(block: Block, keep: Iterator[int], chars: int, more: str) -> Iterator[Block]:
    """The block with its lists cut to what ``keep`` says, one after the other, and its texts to so many characters."""

    def short(text: str) -> str:
        return text if len(text) <= chars else f"{clean(text[:chars], lines=True).rstrip()} ... ({more})"

    def tail(number: int) -> Iterator[Block]:
        if number > 0:
            yield Paragraph(f"and {count(number, 'more line')}, {more}", Tone.QUIET)

    match block:
        case Paragraph():
            yield replace(block, text=short(block.text))
        case Bullets():
            most = next(keep)
            yield replace(block, items=tuple(map(short, block.items[:most])))
            yield from tail(len(block.items) - most)
        case Checklist():
            most = next(keep)
            yield replace(block, items=block.items[:most])
            yield from tail(len(block.items) - most)
        case Table():
            most = next(keep)
            rows = tuple(tuple(map(short, row)) for row in block.rows[:most])
            yield replace(block, rows=rows)
            yield from tail(len(block.rows) - most)
        case KeyValues():
            most = next(keep)
            keys = tuple((word, short(text)) for word, text in block.rows[:most])
            left = len(block.rows) - most
            keys += (("", f"and {count(left, 'more line')}, {more}"),) if left > 0 else ()
            yield replace(block, rows=keys)
        case Caution():
            most = next(keep)
            yield replace(block, texts=tuple(map(short, block.texts[:most])))
            yield from tail(len(block.texts) - most)
        case KeepTogether():
            yield replace(block, blocks=tuple(cut for one in block.blocks for cut in _cut(one, keep, chars, more)))
        case Beside():
            left_cut, right_cut = (
                tuple(cut for one in side for cut in _cut(one, keep, chars, more)) for side in (block.left, block.right)
            )
            yield replace(block, left=left_cut, right=right_cut)
        case _:
            yield block
