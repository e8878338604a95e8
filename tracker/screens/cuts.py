"""The cut list: which boards, cut how; a quick plan at once, then better ones until no plan can be cheaper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from threading import Event
from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import OptionList

from tracker.book.buyviews import CutListView
from tracker.planning.cut_answer import CAUTION
from tracker.planning.cutplan import CutPlan, cuts_answer
from tracker.planning.material import SizePlan, with_uses
from tracker.reports.cutpages import Way, money, ways
from tracker.screens import cutlines, words
from tracker.screens.actions import bindings
from tracker.screens.frame import Framed, reads, shows
from tracker.screens.page import working_page
from tracker.screens.rows import HEAD, Rows
from tracker.screens.static import Static
from tracker.text import clean, count, listing
from tracker.trade.lengths import Unit
from tracker.trade.rules import Rules

if TYPE_CHECKING:
    from tracker.book.opening import Book

LOOK = 0.25
"""Seconds between two looks at what the search has found."""


@dataclass
class Seeking:
    """A search that runs in a thread: what it has found so far, and how it is told to stop."""

    halt: Event = field(default_factory=Event)
    best: CutPlan | None = None

    def __call__(self, best: CutPlan, bound_e4: int) -> bool:
        """Take the best plan so far; False stops the search."""
        self.best = best
        return not self.halt.is_set()


def quick(best: CutPlan, bound_e4: int) -> bool:
    """Take the first plan."""
    return False


def together(book: Book, today: date, codes: Sequence[str]) -> tuple[list[str], Rules, Unit]:
    """The jobs that can be cut from the same boards: those in the unit of the first; its rules and unit."""
    from tracker.book.jobs import job_view

    specs = {code: job_view(book, code, today).spec for code in codes}
    first = specs[codes[0]]
    return [code for code, spec in specs.items() if spec.unit is first.unit], first.rules, first.unit


class CutScreen(Framed[None]):
    """The cut list of the jobs ``codes`` bought together."""

    NAME = "cuts"
    BINDINGS = bindings("cuts")
    CSS_PATH = "cuts.tcss"

    def __init__(self, codes: Sequence[str]) -> None:
        super().__init__()
        self.codes = list(codes)
        self.view: CutListView | None = None
        self.rules = Rules()
        self.seeking: Seeking | None = None
        self.stopped = False
        self.left_out: list[str] = []

    def body(self) -> ComposeResult:
        """What it comes to, how far the search is, the boards, the one under the cursor in full."""
        yield Static("working out a first plan…", id="sum", markup=False)
        yield Static(id="state", markup=False)
        yield Rows(id="boards")
        yield Static(id="detail", markup=False)

    def on_mount(self) -> None:
        """Work the plan out."""
        self.title_text = f"{', '.join(self.codes[:4])}{'…' if len(self.codes) > 4 else ''} / cut list"
        self.query_one("#boards").focus()
        self.set_interval(LOOK, self.look)
        self.reread()

    def on_unmount(self) -> None:
        """Let no search go on that nobody sees."""
        self.halt()

    def halt(self) -> None:
        """Stop the search, keeping the best."""
        if self.seeking is not None:
            self.seeking.halt.set()

    @reads
    async def reread(self) -> None:
        """Show a quick plan, then look for the cheapest."""
        from tracker.book.buying import cut_list

        self.halt()
        self.stopped = False
        stamp, today = self.desk.stamp, self.desk.today
        codes, self.rules, _ = await self.desk.ask(together, today, self.codes)
        self.left_out = [code for code in self.codes if code not in codes]
        self.view = await self.desk.ask(cut_list, today, codes, quick)
        self.read_under = stamp
        if not all(size.plan.proven for size in self.view.sizes):
            self.seeking = Seeking()
            self.seek(self.seeking, codes, today)
        self.redraw()

    @shows
    async def seek(self, seeking: Seeking, codes: Sequence[str], today: date) -> None:
        """Look for the cheapest plan, until it is proven or somebody stops it."""
        from tracker.book.buying import cut_list

        try:
            view = await self.desk.ask(cut_list, today, codes, seeking)
        finally:
            seeking.halt.set()
            if self.seeking is seeking:
                self.seeking = None
        self.view = view
        self.stopped = not all(size.plan.proven for size in view.sizes)
        self.redraw()

    def look(self) -> None:
        """Put a better plan of the search on the screen."""
        if self.seeking is None or self.view is None or self.seeking.best is None:
            return
        best = self.seeking.best
        sizes = tuple(
            with_uses(size, best, self.rules, self.view.unit)
            if size.cuts_the_same(best) and self.better(size.plan, best)
            else size
            for size in self.view.sizes
        )
        changed = any(new is not old for new, old in zip(sizes, self.view.sizes, strict=True))
        if changed:
            self.view = replace(self.view, sizes=sizes)
            self.redraw()
        else:
            self.draw_state()

    @staticmethod
    def better(old: CutPlan, new: CutPlan) -> bool:
        """Whether a plan is cheaper, or as cheap and nearer its proof."""
        return (new.cost_e4, -new.bound_e4) < (old.cost_e4, -old.bound_e4)

    def redraw(self) -> None:
        """Put the boards on the screen."""
        if self.view is None:
            return
        view = self.view
        boards = sum(len(size.plan.sticks) for size in view.sizes)
        cost = sum(size.priced_e4() for size in view.sizes if size.priced)
        saved = sum(size.plan.first_e4 - size.plan.cost_e4 for size in view.sizes if size.firm)
        text = f"{count(boards, 'board')} of {count(len(view.sizes), 'size')}"
        without = sum(not size.has_price(stick.stock) for size in view.sizes for stick in size.plan.sticks)
        if cost or not without:
            text += f", {money(cost)} still to pay"
        if without:
            text += f", {without} not priced"
        if saved > 0:
            text += f"; {money(saved)} less than cutting the longest pieces first"
        if not view.sizes:
            text = "No board is left to cut: every phase that needs lumber is signed off."
        if self.left_out:
            text += f". In another unit, so not here: {listing(self.left_out, 'and')}"
        self.query_one("#sum", Static).update(words.say(text, words.STRONG))
        rows = self.query_one("#boards", Rows)
        rows.show(self.lines(rows.room))
        self.draw_state()
        self.draw_detail()
        self.refresh_keys()

    def lines(self, width: int) -> list[tuple[str, Content]]:
        """The rows: a heading for each size, then each way its boards are cut; the caution last."""
        out: list[tuple[str, Content]] = []
        for size in self.view.sizes if self.view else ():
            assert self.view is not None
            longest = max(stick.stock.length_nm for stick in size.plan.sticks)
            out.append((f"{HEAD}{size.key}", cutlines.size_head(size, width, self.view.unit)))
            out += [
                (key, cutlines.way_row(way, size.plan, longest, width, self.view.unit)) for way, key in self.ways(size)
            ]
        if out:
            out.append((f"{HEAD}caution", words.hang(CAUTION, width, "caution ", "", "$warning bold")))
        return out

    def ways(self, size: SizePlan) -> list[tuple[Way, str]]:
        """Each way the boards of a size are cut, with the key of its row."""
        return [(way, f"{size.key}/{number}") for number, way in enumerate(ways(size.plan.sticks, size.uses))]

    def at_cursor(self) -> tuple[SizePlan, Way] | None:
        """The size and the way under the cursor."""
        key = self.query_one("#boards", Rows).key
        sizes = self.view.sizes if self.view else ()
        return next(((size, way) for size in sizes for way, name in self.ways(size) if name == key), None)

    def draw_detail(self) -> None:
        """Say where the pieces of the board under the cursor go."""
        found, text = self.at_cursor(), ""
        if found is not None and self.view is not None:
            text = cutlines.way_detail(found[1], self.view.unit)
        self.query_one("#detail", Static).update(words.say(text))

    def draw_state(self) -> None:
        """Say how far the search is."""
        if self.view is None:
            return
        open_ones = [size for size in self.view.sizes if not size.plan.proven]
        style = "$warning bold"
        if self.seeking is not None:
            done = len(self.view.sizes) - len(open_ones)
            text = f"LOOKING for cheaper cuts: {done} of {count(len(self.view.sizes), 'size')} proven"
            if self.seeking.halt.is_set():
                text = "STOPPING: the best so far is kept"
            elif self.seeking.best is not None:
                best = self.seeking.best
                size = next((size for size in self.view.sizes if size.cuts_the_same(best)), None)
                if size is not None and not (size.firm or not size.priced):
                    text += f"; {size.key}: some boards not priced (s stops)"
                elif size is not None:
                    costs, least, open_still = (
                        cutlines.worth(size, e4, self.view.unit)
                        for e4 in (size.plan.cost_e4, size.plan.bound_e4, size.plan.gap_e4)
                    )
                    far = f"cannot be less than {least}, {open_still} open" if size.plan.bound_e4 else "no bound yet"
                    text += f"; {size.key}: {costs}, {far} (s stops)"
        elif open_ones:
            gap = sum(size.plan.gap_e4 for size in open_ones if size.firm)
            names = listing([size.key for size in open_ones], "and")
            text = f"STOPPED: the best found is kept; {names} not proven, at most {money(gap)} above the cheapest. r looks again"
        else:
            text, style = "PROVEN: no other way to cut these pieces is cheaper" if self.view.sizes else "", "$success"
        self.query_one("#state", Static).update(words.say(text, style))

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        """Follow the cursor."""
        self.draw_detail()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Enter shows the working."""
        self.action_working()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Stop while it looks; look again when it was stopped."""
        if action == "stop":
            return self.seeking is not None
        if action == "again":
            return self.stopped
        return action != "working" or bool(self.view and self.view.sizes)

    def action_stop(self) -> None:
        """Stop and keep the best."""
        self.halt()
        self.draw_state()

    def action_again(self) -> None:
        """Look once more."""
        self.reread()

    def action_working(self) -> None:
        """Show the boards, the cost and the proof of the size under the cursor."""
        if (found := self.at_cursor()) is not None and self.view is not None:
            answer = cuts_answer(found[0].plan, self.view.unit, found[0].has_price)
            self.desk.push_screen(working_page(f"cut list of {clean(found[0].key)}", answer, answer.source))

    def action_back(self) -> None:
        """Stop when it is still looking, else go back."""
        if self.seeking is not None and not self.seeking.halt.is_set():
            self.action_stop()
        else:
            self.dismiss(None)
