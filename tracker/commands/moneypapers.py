"""Quotes, invoices, credit notes and the money page on paper: what the money commands write to files."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.book.outfile import check_place
from tracker.commands.paperfiles import add_paper_options, asked_files, save_papers, write_papers
from tracker.commands.session import Session
from tracker.errors import InputError

if TYPE_CHECKING:
    from tracker.book.hand import Hand
    from tracker.book.opening import Book
    from tracker.book.views import Recorded
    from tracker.planning.estimate import Equipment
    from tracker.planning.options import Option
    from tracker.reports.paper.model import Document
    from tracker.trade.answer import Plain


def paper_arguments(parser: ArgumentParser, what: str) -> None:
    """The options of a command that shows ``what`` there is, or writes it to files."""
    if what:
        parser.add_argument(
            "--show", metavar="NO", help=f"{what} of that number, as its client gets it; records nothing"
        )
    add_paper_options(parser)


def shown(session: Session, args: Namespace, document: Document, paths: Mapping[str, Path]) -> int:
    """Write a document to the files that were named, or print it."""
    if paths:
        write_papers(session, args, paths, lambda: document)
        return 0
    from tracker.reports.paper.text import document_json, to_page

    if session.json:
        session.data(document_json(document))
    else:
        session.show(to_page(document))
    return 0


def quote_on_paper(
    session: Session,
    args: Namespace,
    options: Sequence[Option],
    equipment: Sequence[Equipment],
    paths: Mapping[str, Path],
) -> int:
    """The quote of a number; else a draft of what is asked for; else the last quote, or a draft when there is none."""
    from tracker.book.papers import draft_paper, has_quote, quote_paper
    from tracker.reports.quotepaper import quote_document

    asked = args.option or args.equipment or args.draw
    if args.show is not None and asked:
        raise InputError("--show is of a quote as it was recorded", "leave its options out")
    number = _number(args.show, "a quote's number")
    with session.book() as book:
        if number or (not asked and has_quote(book, args.job)):
            paper = quote_paper(book, args.job, number)
        else:
            paper = draft_paper(book, args.job, session.today, options, equipment, args.draw)
    return shown(session, args, quote_document(paper), paths)


def invoice_on_paper(session: Session, args: Namespace, paths: Mapping[str, Path]) -> int:
    """The invoice or credit note of a number."""
    from tracker.book.papers import invoice_paper
    from tracker.reports.invoicepaper import invoice_document

    number = _number(args.show, "an invoice's number")
    with session.book() as book:
        paper = invoice_paper(book, args.job, number)
    return shown(session, args, invoice_document(paper), paths)


def _number(text: str | None, what: str) -> int:
    from tracker.trade.readings import parse_count

    if text is None:
        return 0
    number = parse_count(text, what)
    if not number:
        raise InputError(f"{what} begins at 1", "deckjobs money JOB lists them")
    return number


def record_on_paper(session: Session, args: Namespace, make: Callable[[Book, Hand, str], Recorded]) -> int:
    """Record an invoice or a credit note and, when files are named, write its paper to them."""
    paths = asked_files(args, "html", "pdf")
    for path in paths.values():  # a file that cannot be written is told before anything is recorded
        check_place(path, force=args.force)
    if not paths:
        session.write(make)
        return 0
    from tracker.book.papers import invoice_paper
    from tracker.reports.invoicepaper import invoice_document
    from tracker.reports.jsonable import recorded_json

    recorded = session.write(make, tell=(lambda _: None) if session.json else None)
    with session.book() as book:
        paper = invoice_paper(book, args.job, entry_id=recorded.id)
    if session.json:
        save_papers(args, paths, lambda: invoice_document(paper))
        files: dict[str, Plain] = {kind: str(path) for kind, path in paths.items()}
        session.data({**recorded_json(recorded), "number": paper.invoice.number, "files": files})
    else:
        write_papers(session, args, paths, lambda: invoice_document(paper))
    return 0


def named_files(args: Namespace) -> dict[str, Path]:
    """The files asked for; raises InputError as ``asked_files``."""
    return asked_files(args, "html", "pdf")
