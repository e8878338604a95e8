"""Jobs: taking job files in, the list of open jobs, one job."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.commands.parser import Command
from tracker.commands.session import Session
from tracker.errors import InputError, InputErrors
from tracker.files import read_file

if TYPE_CHECKING:
    from tracker.book.opening import Book
    from tracker.book.views import TakeResult
    from tracker.trade.jobfile import JobFile
    from tracker.trade.rules import Rules


def _take_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("files", nargs="+", metavar="FILE", help="a job file (TOML)")
    parser.add_argument("--dry-run", action="store_true", help="only say what would change")


def take(session: Session, args: Namespace) -> int:
    """Take every file, or none when any is wrong."""
    from tracker.trade.rules import Rules

    there = session.book_exists()
    if not there:  # a wrong file must not leave an empty book behind
        _read_all(args.files, Rules())
    with session.book(create=True) if there or not args.dry_run else nullcontext() as book:
        results = _take_all(session, book, args)
        if not args.dry_run:
            session.done += [f"{result.code}: {result.change}" for result in results]
        _tell_taken(session, results, dry_run=args.dry_run)
        changed = [result.code for result in results if result.change != "unchanged"]
        if book is not None and changed and not args.dry_run:
            session.plan(book, changed)
    return 0


def _tell_taken(session: Session, results: Sequence[TakeResult], *, dry_run: bool) -> None:
    if session.json:
        from tracker.reports.jsonable import taken_json

        session.data({"dry_run": dry_run, "jobs": [taken_json(result) for result in results]})
        return
    for result in results:
        word = f"would be {result.change}" if dry_run and result.change != "unchanged" else result.change
        session.say(f"{result.code}  {result.title}: {word}")
        for text in result.details:
            session.say(f"  {text}")
        for text in result.warnings:
            session.say(f"  note: {text}")


def _take_all(session: Session, book: Book | None, args: Namespace) -> list[TakeResult]:
    """Take every file, once all have been tried; without a book (a dry run before there is one) all would be
    new.
    """
    if book is None:
        from tracker.book.jobs import design_warnings
        from tracker.book.views import TakeResult
        from tracker.trade.checks.design import DESIGN
        from tracker.trade.design import design_faults
        from tracker.trade.rules import Rules

        def would_be(file: JobFile) -> TakeResult:
            recorded = any(line.check == DESIGN for line in file.log)
            warnings = design_warnings(() if recorded else design_faults(file.spec))
            return TakeResult(file.code, file.title, "new", warnings=tuple(warnings))

        return [would_be(file) for file in _read_all(args.files, Rules())]
    from tracker.book.houserules import house_rules
    from tracker.book.jobs import take_job

    files, hand = _read_all(args.files, house_rules(book)), session.hand()
    tried = [take_job(book, hand, file, dry_run=True) for file in files]
    return tried if args.dry_run else [take_job(book, hand, file) for file in files]


def _read_all(names: list[str], house: Rules) -> list[JobFile]:
    """Every job file, read; raises InputErrors with every fault of every file."""
    from tracker.trade.jobfile import parse_job_bytes

    problems: list[str] = []
    files: list[JobFile] = []
    codes: dict[str, str] = {}
    for name in dict.fromkeys(names):
        try:
            file = parse_job_bytes(read_file(Path(name)), name, house=house)
        except InputErrors as error:
            problems += error.problems
            continue
        except InputError as error:
            problems.append(f"{error.message}; {error.hint}" if error.hint else error.message)
            continue
        if file.code in codes:
            problems.append(f"{name} and {codes[file.code]} are both job {file.code}; give each job its own code")
        codes[file.code] = name
        files.append(file)
    if problems:
        raise InputErrors(problems, "nothing was taken")
    return files


def _jobs_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--finished", action="store_true", help="the decks handed over, and what is still to do there")


def jobs(session: Session, args: Namespace) -> int:
    """Every open job, or those handed over."""
    from tracker.book.jobs import handed_over_lines, job_lines

    with session.book() as book:
        lines = (handed_over_lines if args.finished else job_lines)(book, session.today)
    if session.json:
        from tracker.reports.jsonable import line_json

        session.data({"day": session.today.isoformat(), "jobs": [line_json(line) for line in lines]})
        return 0
    from tracker.reports.jobpages import finished_page, jobs_page

    session.show(finished_page(lines) if args.finished else jobs_page(lines))
    return 0


def show(session: Session, args: Namespace) -> int:
    """One job."""
    from tracker.book.jobs import job_view

    with session.book() as book:
        job = job_view(book, args.job, session.today)
    if session.json:
        from tracker.reports.jsonable import job_json

        session.data(job_json(job))
        return 0
    from tracker.reports.jobpages import job_page

    session.show(job_page(job))
    return 0


def job_argument(parser: ArgumentParser) -> None:
    """Declare JOB."""
    parser.add_argument("job", metavar="JOB", help="a job code (26-014), its tail (014) or a piece of the title")


COMMANDS = {
    "take": Command(
        _take_arguments, take,
        "Take job files into the book. A job already there is brought up to date.\n"
        "Nothing is taken when any file is wrong.",
        "deckjobs take alder-street.toml --dry-run",
    ),
    "jobs": Command(
        _jobs_arguments, jobs,
        "Every open job: its phase, what holds it, the next delivery and the money;\n"
        "with --finished the decks handed over, the last one first.",
        "deckjobs jobs --finished",
    ),
    "show": Command(
        job_argument, show, "One job: phases, checks, readings, holds, lots and notes.", "deckjobs show 014"
    ),
}  # fmt: skip
