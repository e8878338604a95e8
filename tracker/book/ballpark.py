"""A ballpark: what the first phone call is told, worked out from a size as the form of a new job works it out."""

from __future__ import annotations

from datetime import date

from tracker.book.ballparkviews import Ballpark
from tracker.book.buying import cut_list_of
from tracker.book.hours import paces
from tracker.book.load import load_house, shelf_of
from tracker.book.opening import Book
from tracker.book.prices import load_prices
from tracker.book.pricing import estimate_in
from tracker.book.proposal import imagined, next_code, proposed
from tracker.errors import InputError
from tracker.planning.spread import cost_range, minutes_range, price_range, spread_of
from tracker.text import listing
from tracker.trade.jobfile import JobFaults, parse_job_table
from tracker.trade.jobfile.ballpark import Asked, assumed, ballpark_form
from tracker.trade.jobfile.questions import owner_of
from tracker.trade.lengths import parse_length
from tracker.trade.stairs import RISER_MOST_NM


def ballpark(book: Book, asked: Asked, today: date) -> Ballpark:
    """Work out a first answer; nothing is written. Raises InputError for what cannot be a deck."""
    form = ballpark_form(asked, today, next_code(book, today))
    with book.reading() as session:
        house = load_house(session)
        try:
            file = parse_job_table(form.source, "", house=house.rules)
        except JobFaults as error:
            fault = error.faults[0]
            owner = owner_of(fault.path, form.by_key)
            where = form.by_key[owner].label if owner else ".".join(map(str, fault.path))
            raise InputError(f"{where}: {fault.what}", fault.hint) from None
        state = imagined(session, file, house, today, shelf_of(book).plan)
        cuts = cut_list_of([file], load_prices(session), shelf_of(book))
        spread = spread_of(paces(book, session, today), house.rules.figure("hours_few"))
    made = estimate_in(state)
    return Ballpark(
        proposal=proposed(state),
        source=form.source,
        support=form.suggestion(form.by_key["platform.0.support"]),
        assumed=assumed(asked, form),
        cuts=cuts,
        made=made,
        minutes=minutes_range(made.minutes_of(), spread),
        cost=cost_range(made, spread),
        price=price_range(made, spread),
        spread=spread,
        ask=_ask(asked, form.value("platform.0.height"), form.value("site_facts.carries")),
    )


def _ask(asked: Asked, height: str, carries: str) -> tuple[str, ...]:
    """What the caller is asked still (common practice); ``carries`` is what stands on it, as the form has it."""
    if carries:
        out = [f"who designs it for the {carries}: these sizes and this price are for the deck without"]
    else:
        out = [
            "a roof, a hot tub or a screen room on it changes every size: is one planned? --carries 'hot tub' says so"
        ]
    if not asked.stairs and parse_length(height, asked.unit) > RISER_MOST_NM:
        out.append("how do they get up and down? No stairs are in it: --stairs 1 adds a flight")
    missing = [
        name
        for name, said in (("its height at every corner", asked.height), ("what the ground is", asked.ground))
        if not said
    ]
    if missing:
        out.append(f"{listing(missing, 'and')}: measured on the first visit")
    return tuple(out)
