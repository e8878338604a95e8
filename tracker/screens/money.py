"""The money of a job: contract, draws, invoices, cost by phase against the quote; the keys that move it on."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from textual.app import ComposeResult
from textual.containers import VerticalScroll

from tracker.book.moneyviews import MoneyView
from tracker.book.views import Recorded
from tracker.errors import ConflictError, InputError
from tracker.planning.options import AS_DRAWN, Option, parse_option
from tracker.reports.estimatepage import price_page
from tracker.reports.moneypages import money_page
from tracker.reports.page import Tone, lay_out
from tracker.screens import words
from tracker.screens.actions import bindings
from tracker.screens.asking import Blank, Blanks
from tracker.screens.choice import steps
from tracker.screens.clears import ON_MONEY, page_by_keys
from tracker.screens.cost import STYLES
from tracker.screens.countask import on_purpose
from tracker.screens.frame import reads, writes
from tracker.screens.moneypapers import MoneyPapers
from tracker.screens.page import Page, room
from tracker.screens.static import Static
from tracker.text import clean
from tracker.trade.money import format_money, parse_money
from tracker.trade.worktime import parse_hours

ALL = ""


def money_words(text: str) -> str:
    """How an amount is understood; raises InputError."""
    return f"= {format_money(parse_money(text))}"


def signed_words(text: str) -> str:
    """How an amount that may take something off is understood; raises InputError."""
    return f"= {format_money(signed_cents(text))}"


def signed_cents(text: str) -> int:
    """Cents of an amount with a minus before it or none; raises InputError."""
    raw = text.strip().replace("\u2212", "-")
    return -parse_money(raw[1:]) if raw.startswith("-") else parse_money(raw)


class MoneyScreen(MoneyPapers):
    """The money of the job ``code``."""

    NAME = "money"
    BINDINGS = bindings("money")
    CSS_PATH = "money.tcss"

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code = code
        self.view: MoneyView | None = None

    def body(self) -> ComposeResult:
        """The page, scrolling."""
        with VerticalScroll(id="page"):
            yield Static("reading…", id="money", markup=False)

    def on_mount(self) -> None:
        """Read the money."""
        self.title_text = f"{self.code} / money"
        self.query_one("#page").focus()
        self.reread()

    @reads
    async def reread(self) -> None:
        """Read the money."""
        from tracker.book.moneyread import money_of

        stamp = self.desk.stamp
        self.view = await self.desk.ask(money_of, self.code, self.desk.today)
        self.read_under = stamp
        self.redraw()

    def redraw(self) -> None:
        """Lay the page out for the width there is."""
        if self.view is not None:
            _, *page = money_page(self.view, bars=True)
            lines = lay_out(page_by_keys(tuple(page), ON_MONEY), max(self.size.width - 3, 30))
            styles = {**STYLES, Tone.GOOD: "$success"}
            shown = words.stack(words.say(text, styles.get(tone, "")) for text, tone in lines)
            self.query_one("#money", Static).update(shown)
            self.refresh_keys()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """What does not apply yet, or any more, is not offered."""
        view = self.view
        sold = view is not None and view.accepted is not None
        match action:
            case "paper":
                return view is not None
            case "invoice":
                return view is not None and bool(view.ready)
            case "extra":
                return sold
            case "quote":
                return view is not None and not sold
            case "accept":
                return view is not None and not sold and bool(view.quotes)
        return True

    def told(self, result: Recorded | None) -> None:
        """Say what was recorded and read again."""
        if result is not None:
            text = result.text if not result.already else f"already recorded: {result.text}"
            self.tell("; ".join((text, *result.notices)))
            self.reread()

    def action_invoice(self) -> None:
        """Choose what to invoice."""
        view = self.view
        if view is None or not view.ready:
            return
        lines = [(draw.name, f"{draw.name}: {format_money(draw.left_cents)}") for draw in view.ready]
        if len(lines) > 1:
            lines.insert(0, (ALL, f"all that is ready: {format_money(view.ready_cents)}"))
        self.desk.push_screen(steps(f"Invoice what? An invoice is never changed ({self.code})", lines), self.invoiced)

    def invoiced(self, name: str | None) -> None:
        """Invoice the draw that was chosen."""
        if name is not None:
            self.make_invoice(name)

    @writes
    async def make_invoice(self, name: str) -> None:
        """Invoice a draw, or all that is ready."""
        from tracker.book.invoices import invoice

        self.told(await self.desk.ask(invoice, self.desk.hand(), self.code, [name] if name else []))

    def action_paid(self) -> None:
        """Ask how much came and how."""
        from tracker.book.invoices import receive_payment

        async def act(texts: Mapping[str, str], entry: str) -> Recorded:
            cents = parse_money(texts["amount"]) if texts["amount"].strip() else await self.still_due(due)
            return await on_purpose(
                self.desk,
                lambda anyway: self.desk.ask(
                    receive_payment, self.desk.hand(), self.code, cents, texts["how"], anyway=anyway, entry_id=entry
                ),
            )

        due = self.view.due_cents if self.view else 0
        blanks = [
            Blank("amount", "amount", hint=f"{format_money(due)} is due" if due else "like 1904.50", read=money_words),
            Blank("how", "how", hint="like check 118"),
        ]
        help_text = "An empty amount is all that is due." if due else ""
        self.desk.push_screen(Blanks(f"What came in? ({self.code})", blanks, act, help_text=help_text), self.told)

    async def still_due(self, shown: int) -> int:
        """What is due, in cents, while it is what was ``shown``; raises InputError when it is not, and where nothing is due."""
        from tracker.book.moneyread import money_of

        due = (await self.desk.ask(money_of, self.code, self.desk.today)).due_cents
        if due <= 0:
            raise InputError("nothing is due", "type the amount that came in")
        if due != shown:
            raise InputError(
                f"{format_money(due)} is due by now, not {format_money(shown)}", "type the amount that came in"
            )
        return due

    def action_spend(self) -> None:
        """Ask what was spent."""
        from tracker.book.invoices import spend

        async def act(texts: Mapping[str, str], entry: str) -> Recorded:
            cents = parse_money(texts["amount"])
            return await self.desk.ask(
                spend, self.desk.hand(), self.code, cents, texts["phase"], texts["text"], entry_id=entry
            )

        blanks = [
            Blank("amount", "amount", hint="like 85.00", read=money_words),
            Blank("phase", "phase", hint="like strip"),
            Blank("text", "what for", hint="like compactor, one day"),
        ]
        self.desk.push_screen(Blanks(f"What was spent? ({self.code})", blanks, act), self.told)

    def action_extra(self) -> None:
        """Ask what a change costs the client and us."""
        from tracker.book.money import ExtraCost, price_change

        async def act(texts: Mapping[str, str], entry: str) -> Recorded:
            price = signed_cents(texts["price"]) if texts["price"].strip() else None
            worked = parse_hours(texts["hours"]) if texts["hours"].strip() else None
            minutes = worked.minutes * max(worked.people, 1) if worked else 0
            cents = parse_money(texts["cost"]) if texts["cost"].strip() else 0
            cost = ExtraCost(texts["phase"].strip().lower(), cents, minutes) if cents or minutes else None
            return await self.desk.ask(
                price_change, self.desk.hand(), self.code, texts["text"].strip(), price, cost, entry_id=entry
            )

        blanks = [
            Blank("text", "what", hint="like gate at the steps"),
            Blank("price", "price before tax", hint="-50 takes off", read=signed_words),
            Blank("cost", "costs us", hint="besides hours", read=money_words),
            Blank("hours", "hours", hint="like 3h", read=self.hours_words),
            Blank("phase", "phase", hint="the one at hand"),
        ]
        help_text = "Change orders without a price are priced by it; with no price given theirs is worked out."
        self.desk.push_screen(
            Blanks(f"The price of a change ({self.code})", blanks, act, help_text=help_text), self.told
        )

    @staticmethod
    def hours_words(text: str) -> str:
        """How hours are understood; raises InputError."""
        worked = parse_hours(text)
        return f"= {worked.minutes * max(worked.people, 1)} min"

    def action_quote(self) -> None:
        """Ask for another option, then quote; first whether a quote priced by hand may be replaced."""
        view = self.view
        last = view.quotes[-1] if view is not None and view.quotes else None
        if last is None or not last.by_hand:
            self.ask_quote(replace_it=False)
            return
        said = ", ".join(f"{clean(o.label)} {format_money(o.estimate.total_cents)}" for o in last.options)
        lines = [("leave", "leave it as it stands"), ("replace", "quote anew in its place")]
        self.desk.push_screen(
            steps(f"Quote {last.number} was priced by hand: {said}. Replace it? ({self.code})", lines), self.quote_over
        )

    def quote_over(self, answer: str | None) -> None:
        """Quote in the place of one that was priced by hand, when that was the answer."""
        if answer == "replace":
            self.ask_quote(replace_it=True)

    def ask_quote(self, *, replace_it: bool) -> None:
        """Ask for another option, then quote."""
        from tracker.book.money import quote

        async def act(texts: Mapping[str, str], entry: str) -> Recorded:
            drawn = Option(AS_DRAWN, (), parse_money(texts["price"]) if texts["price"].strip() else None)
            others = [parse_option(texts["other"])] if texts["other"].strip() else []
            return await self.desk.ask(
                quote, self.desk.hand(), self.code, [drawn, *others], replace_it=replace_it, entry_id=entry
            )

        blanks = [
            Blank("price", "price as drawn", hint="as worked out", read=money_words),
            Blank("other", "another option", hint="2x6: board=2x6", read=option_words),
        ]
        help_text = "Empty fields quote the job as drawn at the price worked out (F2 shows it)."
        self.desk.push_screen(Blanks(f"Quote {self.code}", blanks, act, help_text=help_text), self.told)

    def action_accept(self) -> None:
        """Choose the option the client took."""
        view = self.view
        if view is None or not view.quotes:
            return
        last = view.quotes[-1]
        lines = [(o.label, f"{clean(o.label)}: {format_money(o.estimate.total_cents)}") for o in last.options]
        self.desk.push_screen(
            steps(f"Which option did the client take? (quote {last.number})", lines),
            partial(self.accepted, last.number),
        )

    def accepted(self, number: int, label: str | None) -> None:
        """Record the option of the quote ``number`` that was chosen."""
        if label is not None:
            self.make_contract(label, number)

    @writes
    async def make_contract(self, label: str, number: int) -> None:
        """Record an acceptance of the quote ``number``; a later one is shown before it can be accepted."""
        from tracker.book.money import accept_quote

        try:
            self.told(await self.desk.ask(accept_quote, self.desk.hand(), self.code, label, quote=number))
        except ConflictError:
            self.reread()
            raise

    @reads
    async def action_price(self) -> None:
        """Show what the job should cost and be sold for today."""
        from tracker.book.pricing import price_job

        self.tell("working the price out…")
        found = await self.desk.ask(price_job, self.code, self.desk.today)
        self.tell("")
        lines = lay_out(page_by_keys(price_page(found, why=True), ON_MONEY), room(self.size.width))
        self.desk.push_screen(Page("Price", words.stack(words.say(text, STYLES.get(tone, "")) for text, tone in lines)))

    def action_hours(self) -> None:
        """Go to the hours."""
        from tracker.screens.hours import HoursScreen

        self.desk.push_screen(HoursScreen(self.code))

    def action_back(self) -> None:
        """Back to the job."""
        self.dismiss(None)


def option_words(text: str) -> str:
    """How an option is understood; raises InputError."""
    option = parse_option(text)
    if not option.changes:
        raise InputError("an option changes something", "write it like 2x6 boards: board=2x6")
    return f"= {clean(option.label)}"
