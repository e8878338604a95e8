"""Documents written to files a person named: which ones, on which paper, each whole or not at all."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.book.outfile import check_place, write_file
from tracker.commands.session import Session
from tracker.errors import InputError

if TYPE_CHECKING:
    from tracker.reports.paper.model import Document


def add_paper_options(parser: ArgumentParser) -> None:
    """The options of every command that gives out a document."""
    parser.add_argument("--html", metavar="FILE", help="write it as one HTML file, fit to be printed")
    parser.add_argument("--pdf", metavar="FILE", help="write it as a PDF")
    parser.add_argument("--paper", metavar="SIZE", help="the paper of the PDF: letter (when left out) or a4")
    parser.add_argument("--force", action="store_true", help="replace files that are there")


def asked_files(args: Namespace, *kinds: str) -> dict[str, Path]:
    """The files asked for by kind. Raises InputError for a paper size without a PDF, or one file named twice."""
    paths = {kind: Path(name) for kind in kinds if (name := getattr(args, kind)) is not None}
    for kind, path in paths.items():
        if not str(getattr(args, kind)).strip():
            raise InputError(f"--{kind} names no file", f"give a file name, like --{kind} page.{kind}")
        twin = next((other for other, place in paths.items() if other != kind and place == path), None)
        if twin:
            raise InputError(f"--{twin} and --{kind} name the same file", "give each a name of its own")
    if args.paper is not None:
        from tracker.reports.paper.model import paper_of

        paper_of(args.paper)
        if "pdf" not in paths:
            raise InputError("--paper is the paper of a PDF", "add --pdf FILE; HTML prints on any paper")
    if args.force and not paths:
        raise InputError("--force replaces files, and no file is named", f"add --{kinds[0]} FILE")
    return paths


def write_papers(
    session: Session, args: Namespace, paths: Mapping[str, Path], document: Callable[[], Document],
    more: Mapping[str, Callable[[], bytes]] | None = None,
) -> None:  # fmt: skip
    """Make every document first, then write them, and say where they are; ``more`` makes kinds of their own."""
    save_papers(args, paths, document, more)
    if session.json:
        session.data({"files": {kind: str(path) for kind, path in paths.items()}})
        return
    for path in paths.values():
        session.say(f"written: {path}")


def save_papers(
    args: Namespace, paths: Mapping[str, Path], document: Callable[[], Document],
    more: Mapping[str, Callable[[], bytes]] | None = None,
) -> None:  # fmt: skip
    """``write_papers`` without a word."""
    for path in paths.values():  # before the work, and before the first of several is written
        check_place(path, force=args.force)
    made = cache(document)

    def data_of(kind: str) -> bytes:
        if more and kind in more:
            return more[kind]()
        if kind == "html":
            from tracker.reports.paper.html import to_html

            return to_html(made())
        from tracker.reports.paper.pdf import to_pdf

        return to_pdf(made(), args.paper or "letter")

    ready = {path: data_of(kind) for kind, path in paths.items()}
    for path, data in ready.items():
        write_file(path, data, force=args.force)
