"""Ways from one screen to another that have to ask the book first."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from tracker.book.views import Recorded
from tracker.screens import words
from tracker.screens.choice import Choice, steps
from tracker.screens.frame import Framed, reads
from tracker.screens.ticket import NO_NAME, Due, Taken, TicketScreen, all_due, draft_name
from tracker.text import clean, count, listing
from tracker.trade.dates import format_day


@reads
async def open_form(screen: Framed[None], code: str, check_key: str) -> None:
    """Open the form of a check of a job over ``screen``, which tells what was recorded and reads again."""
    from tracker.book.jobs import job_view
    from tracker.screens.reading import ReadingScreen

    view = await screen.desk.ask(job_view, code, screen.desk.today)
    try:
        check = view.check(check_key)
    except KeyError:
        screen.turn_down(f"job {code} has no check {clean(check_key)}: its phases were changed by the house rules")
        return

    def recorded(result: Recorded | None) -> None:
        if result is not None:
            screen.tell("; ".join((result.text, *result.notices)))
        screen.reread()

    screen.desk.push_screen(ReadingScreen(code, view.spec.unit, check), recorded)


@reads
async def open_ticket(screen: Framed[None], code: str = "", supplier: str | None = None, of_draft: str = "") -> None:
    """Open the ticket of a job (``code``), of a ``supplier``, or of one chosen from all; then offer the delivery check.

    ``of_draft`` is the job whose draft a person wants back: when nothing of it is to come any more, what it held is told.
    """
    dues = await screen.desk.ask(all_due, screen.desk.today, code)
    suppliers: dict[str, list[Due]] = {}
    for due in dues:
        suppliers.setdefault(due.lot.supplier, []).append(due)

    def taken(result: Taken | None) -> None:
        if result is not None:
            told = (f"{one.text}{' (already recorded)' if one.already else ''}" for _, one in result)
            notices = (text for _, one in result for text in one.notices)
            screen.tell("; ".join((*told, *notices)))
            screen.reread()
            offer_check(screen, [name for name, _ in result])

    def opened(chosen: str | None) -> None:
        found = dues if code else tuple(suppliers.get(chosen or "", ()))
        if of_draft and of_draft not in {due.code for due in found}:
            held = screen.desk.drafts.pop((of_draft, draft_name(None if code else chosen)), None)
            texts = ", ".join(f"{clean(lot)} {clean(text)}" for lot, text in (held.texts if held else {}).items())
            screen.tell(f"all that draft counted for {of_draft} has come since; it held {texts}")
        if found:
            screen.desk.push_screen(TicketScreen(found, None if code else chosen), taken)

    def chosen_one(chosen: str | None) -> None:
        if chosen is not None:
            opened(chosen)

    if code or supplier is not None:
        opened(supplier)
    elif len(suppliers) == 1:
        opened(next(iter(suppliers)))
    elif suppliers:
        lines = [(name, words.say(supplier_line(name, found, screen.desk.today))) for name, found in suppliers.items()]
        screen.desk.push_screen(Choice("Whose delivery came?", lines), chosen_one)
    if not dues and not of_draft:
        where = f" for {code}" if code else ""
        screen.turn_down(f"nothing is still to come{where}: b shows what is to buy, o orders it there")


def supplier_line(name: str, dues: Sequence[Due], today: date) -> str:
    """What is to come from a supplier: how many lots, for which jobs, and when each job's are promised."""
    jobs: dict[str, list[Due]] = {}
    for due in dues:
        jobs.setdefault(due.code, []).append(due)
    told: dict[str, list[str]] = {}
    for code, found in jobs.items():
        told.setdefault(_promised(found, today), []).append(code)
    lots = f"{clean(name) or NO_NAME}: {count(len(dues), 'lot')}"
    if len(told) == 1:
        return f"{lots} for {listing(jobs, 'and')}; {next(iter(told))}"
    return f"{lots}; for " + "; for ".join(f"{listing(codes, 'and')}, {when}" for when, codes in told.items())


def _promised(dues: Sequence[Due], today: date) -> str:
    """When a job's lots are promised, each day once, and which of them are late."""
    days = sorted({due.lot.promised for due in dues if due.lot.promised})
    texts = [format_day(day, today) + (", late" if day < today else ", today" if day == today else "") for day in days]
    said = [f"promised {listing(texts, 'and')}"] if texts else []
    if said and any(due.lot.promised is None for due in dues):
        said.append("some with no day promised")
    return "; ".join(said) or "no day promised"


def offer_check(screen: Framed[None], codes: Sequence[str]) -> None:
    """Offer the delivery check of the jobs that something came for."""

    def chosen(code: str | None) -> None:
        if code is not None:
            open_form(screen, code, "delivery")

    lines = [(code, f"{code}: count, stamp, tag, moisture of each lot") for code in codes]
    screen.desk.push_screen(steps("Received. Go on to the delivery check?", lines), chosen)
