"""The end of a job: its punch list, the papers of the hand-over, the check of a copy, and the care that follows."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.commands.jobs import job_argument
from tracker.commands.paperfiles import add_paper_options, asked_files, write_papers
from tracker.commands.parser import Command
from tracker.commands.session import Session
from tracker.errors import InputError
from tracker.files import read_file
from tracker.text import listing

if TYPE_CHECKING:
    from tracker.book.handviews import HandoverView
    from tracker.reports.verifying import Copy, Verified

PARTS = ("punch", "walkthrough", "asbuilt", "care")
LARGEST_COPY = 20_000_000


def _handover_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument(
        "--part", action="append", choices=PARTS, metavar="PART",
        help=f"which paper, as often as wanted: {listing(PARTS)} (all when left out)",
    )  # fmt: skip
    parser.add_argument("--date", metavar="DATE", help="as known at the end of that day; today when left out")
    add_paper_options(parser)


def handover(session: Session, args: Namespace) -> int:
    """Print the papers of a hand-over, or write them to files."""
    from tracker.book.handover import handover as hand_over
    from tracker.reports.handover import Part, document
    from tracker.trade.dates import parse_day

    day = parse_day(args.date, session.today) if args.date is not None else session.today
    paths = asked_files(args, "html", "pdf")
    with session.book() as book:
        view = hand_over(book, args.job, day)
    parts = tuple(part for part in Part if part.value in (args.part or PARTS))  # always in the same order
    if session.json and not paths:
        from tracker.reports.handoverjson import handover_json

        session.data(handover_json(view, parts))
        return 0
    if paths:
        write_papers(session, args, paths, lambda: document(view, parts))
    else:
        from tracker.reports.docpage import page_of

        session.show(page_of(document(view, parts)))
    return 0


def _punch_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument("text", nargs="*", metavar="TEXT", help="what is to be mended; left out, the list is shown")
    parser.add_argument("--done", metavar="N", help="close the item of that number; TEXT then says what was done")


def punch(session: Session, args: Namespace) -> int:
    """Show the punch list, put something on it, or close an item."""
    from tracker.book import punch as list_

    text = " ".join(args.text)
    if args.done is not None:
        session.write(
            lambda book, hand, entry: list_.close_punch(book, hand, args.job, args.done, text, entry_id=entry)
        )
        return 0
    if text:
        session.write(lambda book, hand, entry: list_.add_punch(book, hand, args.job, text, entry_id=entry))
        return 0
    session.makes_no_entry()
    nothing_else = dict.fromkeys(("date", "html", "pdf", "paper"))
    return handover(session, Namespace(job=args.job, part=["punch"], force=False, **nothing_else))


def _verify_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help="a copy of an as-built record: JSON, HTML or PDF")
    parser.add_argument("job", nargs="?", metavar="JOB", help="its job; only a PDF does not say it")


def verify(session: Session, args: Namespace) -> int:
    """Tell whether a copy was changed; exit 1 when it was, or differs from the book."""
    from tracker.reports.verifying import SHOWN, read_copy

    copy = read_copy(read_file(Path(args.file), "a copy of a record", largest=LARGEST_COPY, example="record.json"))
    found = _verified(session, copy, args.job or copy.job)
    if session.json:
        session.data({
            "file": args.file, "form": copy.form.value, "job": args.job or copy.job,
            "day": copy.day.isoformat() if copy.day else None, "unchanged": found.good, "found": list(found.lines),
            "differs": list(found.differs), "entries_since": found.since,
        })  # fmt: skip
        return 0 if found.good else 1
    session.say(found.word)
    for line in found.lines:
        session.say(f"  {line}")
    for line in found.differs[:SHOWN]:
        session.say(f"    {line}")
    if len(found.differs) > SHOWN:
        session.say(f"    and {len(found.differs) - SHOWN} more lines")
    return 0 if found.good else 1


def _verified(session: Session, copy: Copy, job: str) -> Verified:
    from tracker.book.handover import handover as hand_over
    from tracker.book.handover import marks_of
    from tracker.reports.asbuilt import record_of
    from tracker.reports.verifying import Form, made_before, own_digest, verify

    if copy.form is Form.JSON and not session.book_exists():
        return own_digest(copy)
    if not job or copy.day is None:
        raise InputError("a PDF does not say its job in a way that can be read", "name the job after the file")
    with session.book() as book:
        view, marks = hand_over(book, job, copy.day), marks_of(book, job)
        record = record_of(view)
        found = verify(copy, record, marks, lambda: _files(view, copy.form is Form.PDF))
        for later in () if found.good else made_before(copy, record):
            then = hand_over(book, job, copy.day, later)
            files = partial(_files, then, copy.form is Form.PDF, likely_only=copy.form is Form.PDF)
            before = verify(copy, record_of(then), marks, files, len(later))
            if before.good:
                return before
    return found


def _files(view: HandoverView, pdf: bool, *, likely_only: bool = False) -> Iterator[bytes]:
    """Every file a record may have been written to: alone or with other papers, a PDF on either paper; with ``likely_only``
    alone and with all of them.
    """
    from itertools import combinations

    from tracker.reports.handover import Part, document
    from tracker.reports.paper.html import to_html
    from tracker.reports.paper.model import Paper
    from tracker.reports.paper.pdf import to_pdf

    others = [part for part in Part if part is not Part.RECORD]
    likely = (0, len(others), *([] if likely_only else range(1, len(others))))
    for chosen in (set(some) for number in likely for some in combinations(others, number)):
        found = document(view, [part for part in Part if part is Part.RECORD or part in chosen])
        yield from (to_pdf(found, size) for size in Paper) if pdf else (to_html(found),)


def _care_arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument(
        "--done", metavar="KEY", help="record that this was done today, like wash; the next counts from it"
    )
    parser.add_argument("--end", metavar="REASON", help="nobody comes for care any more, and why")


def care(session: Session, args: Namespace) -> int:
    """Show the care dates of a handed-over deck, record what was done, or end its care."""
    from tracker.book import aftercare

    if args.done is not None and args.end is not None:
        raise InputError("--done and --end at once", "give one of them")
    if args.done is not None:
        session.write(lambda book, hand, entry: aftercare.record_care(book, hand, args.job, args.done, entry_id=entry))
        return 0
    if args.end is not None:
        session.write(lambda book, hand, entry: aftercare.end_care(book, hand, args.job, args.end, entry_id=entry))
        return 0
    session.makes_no_entry()
    with session.book() as book:
        view = aftercare.care_of(book, args.job, session.today)
    if session.json:
        from tracker.reports.handoverjson import care_json

        session.data({
            "job": view.job, "title": view.title, "handed_over": view.handed_over.isoformat(), "ended": view.ended,
            "care": [care_json(found) for found in view.dates] if not view.ended else [],
        })  # fmt: skip
        return 0
    from tracker.reports.handover import care_page

    session.show(care_page(view, session.today))
    return 0


COMMANDS = {
    "handover": Command(
        _handover_arguments, handover,
        "The papers of a hand-over: punch list, walk-through sheet, as-built record with\n"
        "its digest, care sheet. Printed here, or written as HTML or PDF.",
        "deckjobs handover 014 --part asbuilt --pdf record.pdf",
    ),
    "punch": Command(
        _punch_arguments, punch,
        "The punch list of a job: what is open. With a text, put it on the list; with\n"
        "--done N, close an item. Nothing is taken off: closing is an entry too.",
        "deckjobs punch 014 top rail rough at the steps", records=True,
    ),
    "verify": Command(
        _verify_arguments, verify,
        "Hold a copy of an as-built record against its digest and against the book: what\n"
        "was changed, and what was recorded since. Exit 1 when it was changed.",
        "deckjobs verify record.json",
    ),
    "care": Command(
        _care_arguments, care,
        "Care of a handed-over deck: what is due when. --done records that it was done,\n"
        "--end that nobody comes any more.",
        "deckjobs care 014 --done wash", records=True,
    ),
}  # fmt: skip
