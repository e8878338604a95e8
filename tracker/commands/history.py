"""The history of a job: every entry, searched by words."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from tracker.commands.jobs import job_argument
from tracker.commands.parser import Command
from tracker.commands.session import Session
from tracker.errors import InputError
from tracker.text import listing, near


def _arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument("words", nargs="*", metavar="WORD", help="words that must all be there; 12 may is a day")
    parser.add_argument("--since", metavar="DATE", help="only entries of this day and later")
    parser.add_argument(
        "--kind", metavar="KIND", help="only reading, waiver, phase, material, hours, money, note or day"
    )
    parser.add_argument("--newest", action="store_true", help="the newest first")
    parser.add_argument("--why", action="store_true", help="each entry whole: values as typed, working, source, digest")


def history(session: Session, args: Namespace) -> int:
    """List the entries of a job that hold the words; 1 when none does."""
    from tracker.book.history import history as every_entry
    from tracker.reports.historypages import KIND_WORDS, Search, history_json, history_page
    from tracker.trade.dates import parse_day

    kinds = {word: kind for kind, word in KIND_WORDS.items()} | {kind: kind for kind in KIND_WORDS}
    if args.kind is not None and args.kind.lower() not in kinds:
        raise InputError(
            f"--kind {args.kind[:40]!r} is no kind{near(args.kind, kinds)}", f"give {listing(KIND_WORDS.values())}"
        )
    since = parse_day(args.since, session.today) if args.since is not None else None
    with session.book() as book:
        whole = every_entry(book, args.job, session.today)
    found = [
        line
        for line in Search(whole.lines).find(" ".join(args.words))
        if (since is None or line.day >= since) and (args.kind is None or line.kind == kinds[args.kind.lower()])
    ]
    if args.newest:
        found.reverse()
    if session.json:
        session.data(history_json(whole.code, found, len(whole.lines)))
    else:
        session.show(history_page(whole.code, found, len(whole.lines), session.today, why=args.why))
    return 0 if found or not whole.lines else 1


COMMANDS = {
    "history": Command(
        _arguments, history,
        "Every entry of a job, oldest first: readings with their verdicts, waivers, phase events, material, hours,\n"
        "money, notes and days off; who made it, when, and what it corrects. With words, only the entries that hold\n"
        "them all; exit code 1 when none does.",
        "deckjobs history 014 square 12 may --why",
    ),
}  # fmt: skip
