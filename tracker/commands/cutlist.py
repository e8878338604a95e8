"""What to cut from which board: the cut list of jobs or job files bought together."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

from tracker.commands.jobfiles import means_file, read_jobs
from tracker.commands.parser import Command
from tracker.commands.session import Session, draws
from tracker.commands.watch import Watch, watching
from tracker.errors import InputError

if TYPE_CHECKING:
    from tracker.book.buyviews import CutListView
    from tracker.planning.cutplan import CutPlan, Progress

    Ask = Callable[[Progress | None], CutListView]


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument(
        "jobs", nargs="+", metavar="JOB|FILE", help="jobs of the book, or job files; several are bought together"
    )
    parser.add_argument("--why", action="store_true", help="show the working and the source too")


def cutlist(session: Session, args: Namespace) -> int:
    """The cheapest cut plan of every size, each stick drawn; Ctrl-C takes the best found so far."""
    from tracker.reports.cutpages import cut_json, cut_page

    seen = draws() and not session.json
    with _asking(session, args.jobs) as ask, watching(seen=seen) as watch:
        view = _best(ask, watch, first=seen)
        fewest = {} if watch.stopped else _fewest(view, watch)
    if session.json:
        session.data(cut_json(view, fewest))
    else:
        page = cut_page(view, fewest, why=args.why, stopped=watch.stopped, width=min(session.width, 80))
        session.show(page)
    return 0


def _best(ask: Ask, watch: Watch, *, first: bool) -> CutListView:
    """Ask for the proven plans; where somebody watches, the quick ones stand there at once."""
    from tracker.reports.cutpages import size_words

    if not first:
        return ask(watch.progress())
    quick = ask(lambda plan, bound_e4: False)
    for size in quick.sizes:
        watch.put(size.key, size_words(size, quick.unit))
    watch.draw()

    def say(plan: CutPlan) -> tuple[str, str]:
        size = next(size for size in quick.sizes if size.cuts_the_same(plan))
        return size.key, size_words(replace(size, plan=plan), quick.unit)

    return ask(watch.progress(say))


def _fewest(view: CutListView, watch: Watch) -> dict[str, CutPlan]:
    """For each priced size the cheapest plan of the fewest boards; what was stopped is left out."""
    from tracker.planning.cutplan import fewest_boards

    out: dict[str, CutPlan] = {}
    for size in view.sizes:
        if not size.priced or not size.plan.sticks or watch.stopped:
            continue
        plan = fewest_boards(
            size.needs, size.stocks, kerf_nm=size.plan.kerf_nm, trim_nm=size.plan.trim_nm,
            progress=watch.progress(), unit=view.unit,
        )  # fmt: skip
        if not watch.stopped:
            out[size.key] = plan
    return out


@contextmanager
def _asking(session: Session, words: list[str]) -> Iterator[Ask]:
    """How the cut list of these jobs or files is asked for."""
    from tracker.book.buying import cut_list, cut_list_of

    files = [word for word in words if means_file(word)]
    if files and len(files) < len(words):
        other = next(word for word in words if word not in files)
        raise InputError(f"{other!r} is a job and {files[0]!r} a file", "name jobs of the book, or job files, not both")
    if files:
        from tracker.book.plans import Shelf

        jobs, prices = read_jobs(session, files)
        shelf = Shelf()
        yield lambda progress: cut_list_of(jobs, prices, shelf, progress)
        return
    with session.book() as book:
        yield lambda progress: cut_list(book, session.today, words, progress)


COMMANDS = {
    "cutlist": Command(
        _arguments, cutlist,
        "What to cut from which board at the least cost, with the proof: each stick drawn to scale, its cuts in order\n"
        "and what falls off. Boards on hand, on order and offcuts come first. Ctrl-C takes the best found so far.",
        "deckjobs cutlist 014 --why",
    ),
}  # fmt: skip
