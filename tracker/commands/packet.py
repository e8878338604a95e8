"""The field packet of a job, for the crew lead: on paper, or on the terminal to look at."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from tracker.commands.jobs import job_argument
from tracker.commands.paperfiles import add_paper_options, asked_files, write_papers
from tracker.commands.parser import Command
from tracker.commands.session import Session


def _arguments(parser: ArgumentParser) -> None:
    job_argument(parser)
    parser.add_argument("--phase", metavar="KEY", default="", help="only this phase; left out, all that are ahead")
    add_paper_options(parser)


def packet(session: Session, args: Namespace) -> int:
    """Write the packet to the files that were named, or print it."""
    from tracker.book.buying import cut_list
    from tracker.book.jobs import job_view
    from tracker.book.letterhead import letterhead
    from tracker.reports.fieldpacket import packet_document, packet_phases

    paths = asked_files(args, "html", "pdf")
    with session.book() as book:
        view = job_view(book, args.job, session.today)
        packet_phases(view, args.phase)
        cuts = cut_list(book, session.today, [args.job])
        head = letterhead(book)
    document = packet_document(view, cuts, session.today, args.phase, head)
    if paths:
        write_papers(session, args, paths, lambda: document)
        return 0
    from tracker.reports.paper.text import document_json, to_page

    if session.json:
        session.data(document_json(document))
    else:
        session.show(to_page(document))
    return 0


COMMANDS = {
    "packet": Command(
        _arguments,
        packet,
        "The field packet of a job: plan and tape list, what to cut from which board, the checks ahead with blanks\n"
        "and limits, hold points, cautions, material expected, tickets. With --pdf or --html a document to print.",
        "deckjobs packet 014 --pdf packet.pdf --paper letter",
    ),
}
