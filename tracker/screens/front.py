"""What the morning and the open jobs share: the ways that start there, and going to the thing that needs doing."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import partial
from typing import Any

from tracker.book.frontviews import Place, Room
from tracker.screens import words
from tracker.screens.choice import Choice
from tracker.screens.desk import UNSENT, Desk, draft_name
from tracker.screens.drafts import first_name
from tracker.screens.frame import Framed
from tracker.screens.going import open_ticket
from tracker.screens.ticket import TICKET, supplier_of
from tracker.text import clean

_HOURS = re.compile(r"hours of (?P<job>\S+)")
_LOT = re.compile(r"\b[Ll]ot \S+ of (?P<job>[^\s,:]+)")
_JOB = re.compile(r"\((?P<job>[^\s()]+)\)$")
"""Where a question is asked, by its words: they end with the job."""


def go_to(desk: Desk, place: Place | None) -> None:
    """Open the screen of a place; none for none."""
    from tracker.screens.buy import BuyScreen
    from tracker.screens.handover import HandoverScreen
    from tracker.screens.job import JobScreen
    from tracker.screens.lots import LotsScreen
    from tracker.screens.money import MoneyScreen

    if place is None:
        return
    match place.room:
        case Room.JOB:
            desk.push_screen(JobScreen(place.job, place.at))
        case Room.LOTS:
            desk.push_screen(LotsScreen(place.job, place.at))
        case Room.BUY:
            desk.push_screen(BuyScreen(place.job))
        case Room.MONEY:
            desk.push_screen(MoneyScreen(place.job))
        case Room.HAND_OVER:
            job = place.job
            desk.push_screen(HandoverScreen(job), lambda aim: go_to(desk, Place(job, Room.JOB, aim) if aim else None))


class Front(Framed[None]):
    """A screen over all jobs."""

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Without a book nothing but leaving and trying again; drafts only when there are some."""
        if action in ("buy", "sheet", "ticket", "jobs", "search", "new_job"):
            return self.desk.book is not None
        if action == "drafts":
            return bool(self.desk.kept_drafts)
        return True

    def go_to(self, places: Sequence[tuple[Place, str]]) -> None:
        """Go to a place; of several the person chooses one by its words."""
        if len(places) == 1:
            go_to(self.desk, places[0][0])
        elif places:
            lines = [(place, words.say(text)) for place, text in places]
            self.desk.push_screen(Choice("Where to?", lines), partial(go_to, self.desk))

    def action_buy(self) -> None:
        """Go to what is left to buy."""
        from tracker.screens.buy import BuyScreen

        self.desk.push_screen(BuyScreen())

    def action_new_job(self) -> None:
        """Take a job in."""
        from tracker.screens.taking import open_taking

        open_taking(self)

    def action_ticket(self) -> None:
        """Take a supplier's delivery."""
        open_ticket(self)

    def action_drafts(self) -> None:
        """Go to what is typed and not saved, to one of several."""
        kept = self.desk.kept_drafts
        lines = [(key, words.say(draft_name(key))) for key in kept]
        if len(kept) == 1:
            self.open_draft(kept[0])
        elif kept:
            self.desk.push_screen(Choice("Typed and not saved: which?", lines), self.open_draft)

    def open_draft(self, key: tuple[str, str] | None) -> None:
        """Go to a form whose draft was kept."""
        from tracker.screens.changing import CHANGE_FORM, open_change
        from tracker.screens.job import JobScreen
        from tracker.screens.taking import FORM, open_taking

        if key is None:
            return
        if key[0] == UNSENT:
            self.open_question(key[1])
            return
        code, name = self.desk.bring_forward(key)
        if name.startswith(TICKET):
            open_ticket(self, "" if name != TICKET else code, supplier_of(name), code)
        elif name == FORM:
            open_taking(self)
        elif name == CHANGE_FORM:
            open_change(self, code)
        else:
            self.desk.push_screen(JobScreen(code, name, reads=True))

    def open_question(self, name: str) -> None:
        """Go where a question is asked whose answer was kept, and say that it is offered there again."""
        from tracker.screens.hours import HoursScreen
        from tracker.screens.job import JobScreen
        from tracker.screens.lots import LotsScreen

        asked = first_name(name)
        told = f"kept, not in the book: {clean(asked)}; it is offered again when that is asked"
        screen: Framed[Any]
        if found := _HOURS.fullmatch(asked):
            self.desk.push_screen(HoursScreen(found["job"]))
            return
        if found := _LOT.search(asked):
            screen = LotsScreen(found["job"])
        elif found := _JOB.search(asked):
            screen = JobScreen(found["job"])
        else:
            self.tell(told)
            return
        self.desk.push_screen(screen)
        screen.call_after_refresh(screen.tell, told)

    def action_sheet(self) -> None:
        """Go to the day sheet."""
        from tracker.screens.sheet import SheetScreen

        self.desk.push_screen(SheetScreen())

    async def action_search(self) -> None:
        """Find anything by its words."""
        await self.desk.run_action("search")

    def action_reread(self) -> None:
        """Read the book again."""
        self.tell("read again" if self.desk.book else "")
        self.reread()

    def action_leave(self) -> None:
        """Leave the program."""
        self.desk.action_leave()
