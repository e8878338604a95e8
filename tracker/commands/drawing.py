"""The drawing of a job's platforms: in the terminal, or as an SVG page."""

from __future__ import annotations

import os
import shutil
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.book.outfile import write_file
from tracker.commands.jobfiles import means_file
from tracker.commands.parser import Command, refuse_options
from tracker.commands.session import Session
from tracker.errors import InputError
from tracker.files import read_file
from tracker.text import listing, near

if TYPE_CHECKING:
    from tracker.reports.drawing_legend import Row
    from tracker.reports.drawing_plot import View
    from tracker.reports.drawing_shapes import Drawing, Layer
    from tracker.trade.lengths import Unit
    from tracker.trade.spec import Platform

LAYERS = ("frame", "supports", "boards", "checks")
LEAST, MOST = 40, 1000
TAPE_WIDTH, TAPE_BESIDE = 44, 110
"""Cells of the tape list beside a drawing, and the width from which it stands there."""


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument("job", metavar="JOB|FILE", help="a job of the book, or a job file that need not be in it")
    parser.add_argument("--platform", metavar="NAME", help="only this platform; left out, all of them")
    parser.add_argument(
        "--layer",
        action="append",
        choices=LAYERS,
        metavar="LAYER",
        help=f"what to show, as often as wanted: {listing(LAYERS)} (all but boards when left out)",
    )
    parser.add_argument("--svg", metavar="FILE", help="write the drawing of one platform as an SVG page for paper")
    parser.add_argument("--force", action="store_true", help="let --svg replace a file that is there")
    parser.add_argument("--width", metavar="N", help="characters across (the terminal's width when left out)")
    parser.add_argument("--height", metavar="N", help="lines at the most (the terminal's, or as many as it takes)")
    parser.add_argument("--zoom", metavar="N", help="so many times larger; shows a part of the plan")
    parser.add_argument("--at", metavar="X,Y", help="the middle of that part, from the left and from the back: 10',4'")
    parser.add_argument("--ascii", action="store_true", help="draw with plain ASCII characters")
    parser.add_argument(
        "--tape", action="store_true", help="the running tape list of every rim, and the order of cutting"
    )


def draw(session: Session, args: Namespace) -> int:
    """Draw the platforms of a job or a job file."""
    laid_out = ("--width", "--height", "--zoom", "--at", "--ascii", "--tape")
    if args.svg is not None:
        refuse_options(args, laid_out, "a page for paper has a size of its own", "leave it out, or leave --svg out")
    else:
        refuse_options(args, ("--force",), "it lets --svg replace a file", "add --svg FILE, or leave it out")
        if session.json:
            refuse_options(
                args, ("--layer", *laid_out), "JSON holds everything, not laid out", "leave it out, or leave --json out"
            )
    drawings = _drawings(session, args.job, args.platform)
    if args.svg is not None and len(drawings) > 1:
        names = listing([drawing.name for drawing in drawings])
        raise InputError(f"an SVG page holds one platform, this job has {len(drawings)}", f"add --platform {names}")
    if session.json and args.svg is None:
        from tracker.reports.drawing_json import drawing_json

        code, _, title = drawings[0].title.partition(" ")
        session.data({"job": code, "title": title, "platforms": [drawing_json(drawing) for drawing in drawings]})
        return 0
    from tracker.reports.drawing_shapes import USUAL, Layer

    layers = frozenset(Layer(word) for word in args.layer) if args.layer else USUAL
    if args.svg is not None:
        from tracker.reports.drawing_svg import draw_svg

        path = Path(args.svg)
        write_file(path, draw_svg(drawings[0], layers=layers).encode(), force=args.force)
        if session.json:
            session.data({"file": str(path)})
        else:
            session.say(f"drawn: {path}")
        return 0
    for number, drawing in enumerate(drawings):
        if number:
            print()
        print_rows(_rows(drawing, layers, args))
    return 0


def _drawings(session: Session, job: str, platform: str | None) -> list[Drawing]:
    from tracker.reports.drawing import draw_of, draw_platform

    if means_file(job):
        from tracker.trade.jobfile import parse_job_bytes

        file = parse_job_bytes(read_file(Path(job)), job)
        spec = file.spec
        title = f"{file.code} {file.title}"

        def drawn(one: Platform) -> Drawing:
            return draw_platform(spec, one, title=title)

    else:
        from tracker.book.jobs import job_view

        with session.book() as book:
            view = job_view(book, job, session.today)
        spec = view.spec

        def drawn(one: Platform) -> Drawing:
            return draw_of(view, one)

    names = [found.name for found in spec.platforms]
    if platform is not None and platform not in names:
        raise InputError(f"there is no platform {platform!r}{near(platform, names)}", f"name {listing(names)}")
    return [drawn(one) for one in spec.platforms if platform in (None, one.name)]


def _rows(drawing: Drawing, layers: frozenset[Layer], args: Namespace) -> Sequence[Row]:
    from tracker.reports.drawing_legend import tape_rows
    from tracker.reports.drawing_text import draw_rows, needs_ascii, side_by_side

    ascii_only = args.ascii or needs_ascii(sys.stdout.encoding)
    terminal = shutil.get_terminal_size((80, 24))
    on_terminal = sys.stdout.isatty()
    width = (
        _whole(args.width, "--width", LEAST, MOST)
        if args.width is not None
        else (max(terminal.columns, LEAST) if on_terminal else 80)
    )
    height = terminal.lines - 1 if on_terminal and not args.tape else None
    height = _whole(args.height, "--height", 12, MOST) if args.height is not None else height
    beside = args.tape and width >= TAPE_BESIDE
    drawn = draw_rows(
        drawing, width - TAPE_WIDTH - 2 if beside else width, height, layers=layers,
        view=_view(drawing, args), ascii_only=ascii_only,
    )  # fmt: skip
    if not args.tape:
        return drawn
    tape = tape_rows(drawing, TAPE_WIDTH if beside else width, ascii_only)
    return side_by_side(drawn, tape) if beside else (*drawn, [], *tape)


def _view(drawing: Drawing, args: Namespace) -> View | None:
    from tracker.reports.drawing_plot import View

    if args.zoom is None:
        if args.at is not None:
            raise InputError("--at says where to look closer", "add --zoom 3")
        return None
    zoom = _zoom(args.zoom)
    if args.at is None:
        return View(zoom)
    x, comma, y = args.at.partition(",")
    if not comma:
        raise InputError(f"--at {args.at[:40]!r} is not two lengths", "write it like --at 10',4'")
    shares = [
        (_length(text, drawing.unit) - low) / (high - low)
        for text, low, high in zip((x, y), drawing.low, drawing.high, strict=True)
    ]
    return View(zoom, *shares)


def _length(text: str, unit: Unit) -> int:
    from tracker.commands.typed import length_of

    return length_of(text, "--at", unit)


def _zoom(text: str) -> float:
    from tracker.reports.drawing_plot import ZOOM_MOST
    from tracker.trade.readings import parse_tenths

    try:
        zoom = parse_tenths(text, "a zoom", ZOOM_MOST) / 10
    except InputError as error:
        raise InputError(f"--zoom: {error.message}", f"give a number from 1 to {ZOOM_MOST}, like 3") from None
    if zoom < 1:
        raise InputError(f"--zoom {text}: 1 shows all there is", f"give a number from 1 to {ZOOM_MOST}, like 3")
    return zoom


def _whole(text: str, option: str, least: int, most: int) -> int:
    from tracker.trade.readings import parse_count

    try:
        number = parse_count(text, "a number of characters")
    except InputError as error:
        raise InputError(f"{option}: {error.message}", error.hint) from None
    if not least <= number <= most:
        raise InputError(f"{option} {number} is out of range", f"give {least} to {most}")
    return number


def print_rows(rows: Sequence[Row]) -> None:
    """Print rows: with emphasis on a terminal that can show it, as plain text anywhere else."""
    if sys.stdout.isatty() and os.environ.get("TERM", "") not in ("", "dumb", "unknown"):
        from rich.console import Console

        from tracker.reports.drawing_canvas import to_text

        Console(file=sys.stdout, highlight=False).print(to_text(list(rows)), crop=False, no_wrap=True)
        return
    for row in rows:
        print("".join(text for text, _ in row))


COMMANDS = {
    "draw": Command(
        _arguments,
        draw,
        "The platforms of a job or of a job file, drawn to scale: frame, supports, boards, and what the checks\n"
        "found: numbers and crowns of the joists, failing parts marked ! and named.",
        "deckjobs draw 014 --tape",
    ),
}
