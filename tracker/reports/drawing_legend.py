"""What stands beside or below a drawing in the terminal: failing parts first, then the key, the facts and the checks."""

from __future__ import annotations

from collections.abc import Collection
from typing import TypeAlias

from tracker.reports.drawing_marks import MARK_WORDS, CheckNote, Mark
from tracker.reports.drawing_painter import BEAM, BOLD, CROWNS, GUARD_ACROSS, MARKS, QUIET, SEAM, SPLICE, SPOTS, STYLES
from tracker.reports.drawing_shapes import Drawing, Layer, What
from tracker.reports.page import cells, wrap
from tracker.text import clean, count, listing
from tracker.trade.tapelist import cutting_order, tape_lines, tape_list

Row: TypeAlias = list[tuple[str, str]]


def legend(
    drawing: Drawing,
    width: int,
    height: int | None,
    layers: Collection[Layer],
    crowded: bool,
    board_step: int,
    scale: str,
    ascii_only: bool,
) -> list[Row]:
    """The legend in rows of at most ``width`` cells; with a ``height`` its last row counts what had no room."""
    rows = _rows(drawing, width, layers, crowded, board_step, scale, ascii_only, inline=True)
    if height is not None and len(rows) > height:
        # Every failing part is named before the first is explained.
        rows = _rows(drawing, width, layers, crowded, board_step, scale, ascii_only, inline=False)
        left = len(rows) - height + 1
        more = f"and {count(left, 'more line')}"[:width]
        rows = [*rows[: max(height - 1, 0)], *([[(more, QUIET)]] if height > 0 else [])]
    return [[(_plain(text), style) for text, style in row] for row in rows] if ascii_only else rows


def _rows(
    drawing: Drawing,
    width: int,
    layers: Collection[Layer],
    crowded: bool,
    board_step: int,
    scale: str,
    ascii_only: bool,
    *,
    inline: bool,
) -> list[Row]:
    """All of it; with ``inline`` the moves stand under their check, else behind the key."""
    rows = _said(f"{drawing.title}, {drawing.name}" if drawing.title else drawing.name, BOLD, width)
    checks = drawing.checks if Layer.CHECKS in layers else ()
    moves: list[Row] = []
    for note in checks:
        if note.mark in (Mark.FAILED, Mark.WAIVED):
            rows += _failing(note, width, ascii_only)
            told = [row for move in note.moves for row in _said(f"  do: {move}", "", width, hang="      ")]
            rows += told if inline else []
            moves += [] if inline else told
    if crowded:
        rows += _said("joists stand closer than a character: zoom in to count them", STYLES[Mark.WAIVED], width)
    rows += [*_key(_used(drawing, layers, ascii_only), width), *moves]
    for fact in drawing.facts:
        rows += _said(fact, "", width)
    for note in checks:
        if note.mark in (Mark.PASSED, Mark.OPEN):
            glyph = MARKS[note.mark][ascii_only]
            rows += _said(f"{glyph} {note.title} {MARK_WORDS[note.mark]}: {note.headline}", STYLES[note.mark], width)
    if board_step > 1:
        rows += _said(f"one line for {count(board_step, 'board course')}: zoom in to see each", QUIET, width)
    for text in (*drawing.notes, scale, "working drawing: local code and a licensed professional decide"):
        rows += _said(text, QUIET, width)
    return rows


def tape_rows(drawing: Drawing, width: int, ascii_only: bool = False) -> list[Row]:
    """The running tape list of every rim, then the order of cutting, in rows of at most ``width`` cells."""
    rows: list[Row] = []
    for tape in tape_list(drawing.frame):
        head, *marks = tape_lines(tape, drawing.unit)
        rows += [[]] if rows else []
        rows += _said(head, BOLD, width)
        for mark in marks:
            rows += _said(f"  {mark}", "", width, hang="    ")
    rows += [[], *_said("cut in this order", BOLD, width)]
    for line in cutting_order(drawing.frame, drawing.unit):
        rows += _said(f"  {line}", "", width, hang="    ")
    return [[(_plain(text), style) for text, style in row] for row in rows] if ascii_only else rows


def _plain(text: str) -> str:
    return text.replace("×", "x").replace("·", ".").encode("ascii", "replace").decode("ascii")


def _said(text: str, style: str, width: int, hang: str = "  ") -> list[Row]:
    first, *rest = wrap(clean(text), width)
    if not rest:
        return [[(first, style)]]
    more = clean(text)[len(first) :].lstrip()
    return [[(first, style)], *([(hang + line, style)] for line in wrap(more, width - len(hang)))]


def _failing(note: CheckNote, width: int, ascii_only: bool) -> list[Row]:
    at = f" [{listing(note.parts, 'and')}]" if note.parts else ""
    told = f"{MARKS[note.mark][ascii_only]} {note.title} {MARK_WORDS[note.mark]}{at}: {note.headline}"
    return _said(told, STYLES[note.mark], width)


def _key(items: list[tuple[str, str]], width: int) -> list[Row]:
    """Glyphs and their words, as many to a row as fit."""
    rows: list[Row] = []
    line = ""
    for glyph, word in items:
        text = f"{glyph} {word}"
        if line and cells(line) + 2 + cells(text) <= width:
            line += f"  {text}"
            continue
        if line:
            rows.append([(line, QUIET)])
        line = text
    if line:
        rows.append([(line[:width], QUIET)])
    return rows


def _used(drawing: Drawing, layers: Collection[Layer], ascii_only: bool) -> list[tuple[str, str]]:
    """What the drawing shows, each glyph with its word."""
    k = int(ascii_only)
    shapes, spots = {shape.what for shape in drawing.shown(layers)}, {spot.what for spot in drawing.spots_shown(layers)}
    found: list[tuple[str, str]] = []
    if Layer.FRAME in layers:
        found.append((("│", "|")[k], "joist"))
        if any(joist.plies > 1 for joist in drawing.joists):
            found.append((("║", "H")[k], "doubled joist"))
        found.append((("─", "-")[k], "rim" + (" or blocking" if What.BLOCKING in shapes else "")))
        if What.LEDGER in shapes:
            found.append((("═", "=")[k], "ledger"))
    if drawing.guard:
        found.append((GUARD_ACROSS[k], "guard"))
    if What.BEAM in shapes:
        found.append((BEAM[k], "beam"))
    for what, word in (
        (What.BLOCK, "block"),
        (What.PAD, "pad"),
        (What.FOOTING, "footing"),
        (What.POST, "post on its footing"),
        (What.LEVEL, "level point"),
    ):
        if what in spots and not (what is What.FOOTING and What.POST in spots):
            found.append((SPOTS[what][k], word))
    if What.BOARD in shapes:
        found.append((("⠒", "-")[k], "board"))
    if What.SPLICE in shapes:
        found.append((SPLICE[k], "joint of two pieces"))
    if What.SEAM in shapes and Layer.FRAME not in layers:
        found.append((SEAM[k], "board joint"))
    if Layer.CHECKS in layers:
        found.append((("⠑", "'.")[k], "diagonal"))
        if Layer.FRAME in layers:
            signs = {(j.crown_nm > 0) - (j.crown_nm < 0) for j in drawing.joists if j.crown_nm is not None}
            words = {1: "crown up", -1: "crown down", 0: "straight"}
            found += [(CROWNS[sign][k], words[sign]) for sign in (1, -1, 0) if sign in signs]
            marks = {joist.mark for joist in drawing.joists}
            said = {Mark.PASSED: "good as read", Mark.FAILED: "fails", Mark.WAIVED: "waived", Mark.OPEN: "not read"}
            if marks != {Mark.OPEN}:
                found += [(MARKS[mark][k], said[mark]) for mark in said if mark in marks]
    return found
