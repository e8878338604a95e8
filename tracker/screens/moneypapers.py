"""The papers of a job's money from its screen: which one, in which form, then to a file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial
from typing import TYPE_CHECKING

from tracker.book.moneyviews import MoneyView
from tracker.screens.asking import Blank, Blanks
from tracker.screens.choice import steps
from tracker.screens.exporting import export
from tracker.screens.frame import Framed, reads
from tracker.screens.handover import FORMS, HTML
from tracker.trade.money import format_money

if TYPE_CHECKING:
    from tracker.reports.paper.model import Document

OFFICE, DRAFT, HEAD = "office", "draft", "letterhead"


def papers_of(view: MoneyView) -> Iterator[tuple[str, str]]:
    """The papers there are: their names and what they are, the newest invoice first."""
    for found in reversed(view.invoices):
        yield f"invoice {found.invoice.number}", f"{found.invoice.title}: {format_money(found.invoice.cents)}"
    for quote in reversed(view.quotes):
        yield f"quote {quote.number}", f"quote {quote.number}, for the client"
    if view.accepted is None:
        yield DRAFT, "a DRAFT of a quote as it is drawn, at the prices of today"
    yield OFFICE, "this page, for the office: cost and margin"
    yield HEAD, "change the letterhead: who you are, on every paper"


class MoneyPapers(Framed[None]):
    """A screen of a job's money that can put it on paper; ``code`` is the job."""

    code: str
    view: MoneyView | None

    def action_paper(self) -> None:
        """Choose a paper, then its form, and write it to a file."""
        if self.view is not None:
            self.desk.push_screen(
                steps(f"Put what on paper? ({self.code})", tuple(papers_of(self.view))), self.choose_form
            )

    def choose_form(self, name: str | None) -> None:
        """Choose the form of a paper, or change the letterhead."""
        if name == HEAD:
            self.ask_letterhead()
        elif name is not None:
            self.desk.push_screen(steps("Write it as:", FORMS), partial(self.form_chosen, name))

    def form_chosen(self, name: str, form: str | None) -> None:
        """Write the paper when a form was chosen."""
        if form is not None:
            self.write_paper(name, form)

    @reads
    async def ask_letterhead(self) -> None:
        """Ask for the lines of the letterhead, those of now in the fields."""
        from tracker.book.letterhead import letterhead, set_letterhead
        from tracker.book.paperviews import LETTERHEAD_LINES, Letterhead

        now = await self.desk.ask(letterhead)
        blanks = [
            Blank(key, word, getattr(now, key), "" if key == "address" else "left blank: a line to write on")
            for key, word in LETTERHEAD_LINES.items()
        ]

        async def act(texts: Mapping[str, str], _entry: str) -> Letterhead:
            return await self.desk.ask(set_letterhead, self.desk.hand(), texts)

        def told(head: Letterhead | None) -> None:
            if head is not None:
                self.tell("the letterhead is kept; papers of days before keep what they said")

        self.desk.push_screen(Blanks("The letterhead of your papers", blanks, act), told)

    @reads
    async def write_paper(self, name: str, form: str) -> None:
        """Read the paper, ask for a file and write it."""
        self.tell("reading the paper…")
        document = await self.document(name)
        self.tell("")
        kind = "money" if name == OFFICE else name.replace(" ", "-")
        ending = "html" if form == HTML else "pdf"
        export(self, f"{self.code}-{kind}.{ending}", partial(_bytes, document, form), what=f"the paper ({name})")

    async def document(self, name: str) -> Document:
        """The paper of that name."""
        from tracker.book.moneyread import money_of
        from tracker.book.papers import draft_paper, invoice_paper, quote_paper
        from tracker.reports.invoicepaper import invoice_document
        from tracker.reports.moneypaper import money_document
        from tracker.reports.quotepaper import quote_document

        kind, _, number = name.partition(" ")
        if kind == "invoice":
            return invoice_document(await self.desk.ask(invoice_paper, self.code, int(number)))
        if kind == "quote":
            return quote_document(await self.desk.ask(quote_paper, self.code, int(number)))
        if kind == DRAFT:
            return quote_document(await self.desk.ask(draft_paper, self.code, self.desk.today))
        return money_document(await self.desk.ask(money_of, self.code, self.desk.today))


def _bytes(document: Document, form: str) -> bytes:
    if form == HTML:
        from tracker.reports.paper.html import to_html

        return to_html(document)
    from tracker.reports.paper.pdf import to_pdf

    return to_pdf(document, form)
