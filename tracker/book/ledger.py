"""The money entries of a job folded into what was quoted, agreed, invoiced, paid and spent. Pure.

The bodies of entries of kind ``money``, by ``what`` (amounts are whole cents; nothing is ever changed, a correction is a
new entry):

- ``quote``: number, stands_until, options: [{label, changes, estimate, phases}]; an estimate as ``estimate_json`` writes it;
  job (the job file's table it was made from), rules (the house's figures then) and draws: what its paper says for ever
- ``accepted``: quote (its number), option (its label), draws: [{name, tenths, cents, hundredths and odd_cent where there are any}]
- ``draws``: draws as above; the last such entry is the schedule
- ``extra``: what a change adds to the contract: number, text, price_cents and tax_cents (less than 0 takes off), costs:
  [{phase, kind, cents, minutes}], changes (the entries of the change orders it prices), tax (its rate in words)
- ``change order``: a change of the spec, see ``changes``; it counts in the contract once an ``extra`` prices it
- ``invoice``: number, lines: [{draw, text, cents}], cents, text, about: {title, client, place}, signed: {draw: day}; and
  ``credit note``: the same, cents below 0, against: number
- ``payment``: cents, on (a day), how, invoice (a number, 0 for the job)
- ``cost``: cents, on, phase, text
- ``taken back``: why; the entry it corrects no longer counts
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

from tracker.planning.draws import Share
from tracker.planning.estimate import Estimate, EstimateLine, Kind, Terms
from tracker.trade.rules import figure_kept, kept_figure

if TYPE_CHECKING:
    from tracker.book.changes import ChangeOrder
    from tracker.book.entries import Entry
    from tracker.book.moneyviews import PricedJob
    from tracker.trade.answer import Plain

_NOT_ON_PAPER = ("log", "lot", "prices")
"""Parts of a job file that no quote has to keep."""


def estimate_json(found: Estimate) -> dict[str, Any]:
    """An estimate as a quote keeps it."""
    return {
        "lines": [asdict(line) | {"kind": line.kind.value} for line in found.lines],
        "terms": {key: value for key, value in asdict(found.terms).items() if not key.endswith("_finer") or value},
        "overhead_cents": found.overhead_cents,
        "profit_cents": found.profit_cents,
        "tax_cents": found.tax_cents,
        "unpriced": list(found.unpriced),
        "set_by_hand": found.set_by_hand,
        "unpriced_of": [list(pair) for pair in found.unpriced_of],
    }


def estimate_from_json(kept: Mapping[str, Any]) -> Estimate:
    """The estimate a quote kept."""
    return Estimate(
        lines=tuple(EstimateLine(**(line | {"kind": Kind(line["kind"])})) for line in kept["lines"]),
        terms=Terms(**kept["terms"]),
        overhead_cents=kept["overhead_cents"],
        profit_cents=kept["profit_cents"],
        tax_cents=kept["tax_cents"],
        unpriced=tuple(kept["unpriced"]),
        set_by_hand=kept["set_by_hand"],
        unpriced_of=tuple((phase, item) for phase, item in kept.get("unpriced_of", ())),
    )


@dataclass(frozen=True, slots=True)
class QuotedOption:
    """One option of a quote: its label, its changes to the job file, its estimate on the day it was quoted.

    ``phases`` are the keys of those it has; ``faults`` the clauses of its design that failed when it was quoted, and no
    recorded design covered.
    """

    label: str
    changes: tuple[tuple[str, str], ...]
    estimate: Estimate
    phases: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Quote:
    """A quote: its number in the job, its options side by side, the last day it stands, the draws offered.

    ``source`` is the job file's table it was made from, ``rules`` the house's figures then, ``stands_on`` on whose design it
    stood.
    """

    id: str
    number: int
    day: date
    who: str
    stands_until: date
    options: tuple[QuotedOption, ...]
    draws: tuple[Share, ...] = ()
    source: Mapping[str, Plain] = field(default_factory=dict)
    rules: Mapping[str, int] = field(default_factory=dict)
    stands_on: str = ""

    @property
    def by_hand(self) -> bool:
        """Whether a price of it was set by hand."""
        return any(option.estimate.set_by_hand for option in self.options)


@dataclass(frozen=True, slots=True)
class Accepted:
    """The option of a quote the client took."""

    id: str
    day: date
    who: str
    quote: int
    option: QuotedOption


@dataclass(frozen=True, slots=True)
class Extra:
    """A priced change: what it adds to the price and tax (less than 0 takes off), and to the estimated cost.

    ``changes`` are the entries of the change orders it prices; none when it stands alone. ``tax`` is the sales tax in words, at
    the rate of its day; empty where an older version taxed it like the quote.
    """

    id: str
    number: int
    day: date
    who: str
    text: str
    price_cents: int
    tax_cents: int
    costs: tuple[EstimateLine, ...]
    changes: tuple[str, ...] = ()
    tax: str = ""

    @property
    def name(self) -> str:
        """Its draw's name."""
        return f"change {self.number}"

    @property
    def total_cents(self) -> int:
        """What the client pays more."""
        return self.price_cents + self.tax_cents


@dataclass(frozen=True, slots=True)
class InvoiceLine:
    """A line of an invoice: the draw it is for (empty: none), its words, its cents."""

    draw: str
    text: str
    cents: int


@dataclass(frozen=True, slots=True)
class About:
    """Which job an invoice is about and who it is for, as its entry kept them."""

    title: str = ""
    client: str = ""
    place: str = ""


@dataclass(frozen=True, slots=True)
class Invoice:
    """An invoice, or (cents under 0) a credit note; ``against`` is the invoice a credit note takes from, 0 for none.

    ``signed`` are the days on which the phases of its draws were signed off, by draw.
    """

    id: str
    number: int
    day: date
    who: str
    lines: tuple[InvoiceLine, ...]
    against: int = 0
    text: str = ""
    about: About = About()
    signed: tuple[tuple[str, date], ...] = ()

    @property
    def cents(self) -> int:
        """The sum of its lines."""
        return sum(line.cents for line in self.lines)

    @property
    def title(self) -> str:
        """``invoice 7`` or ``credit note 8``."""
        return f"{'invoice' if self.cents > 0 else 'credit note'} {self.number}"


@dataclass(frozen=True, slots=True)
class Payment:
    """Money received on a day (under 0: paid back); ``invoice`` is the number it was paid against, 0 for the job as a whole.

    ``number`` counts the payments of the job, those taken back too.
    """

    id: str
    number: int
    cents: int
    on: date
    who: str
    how: str
    invoice: int


@dataclass(frozen=True, slots=True)
class Spent:
    """Money spent that is no lot: hire, dump fee, permit fee. ``number`` counts those of the job, taken back ones too."""

    id: str
    number: int
    cents: int
    on: date
    who: str
    phase: str
    text: str


@dataclass(frozen=True, slots=True)
class Undone:
    """A money entry that was taken back and counts no more: its ``name`` (``payment 1``), its ``body``; the day, by whom and why."""

    name: str
    body: Mapping[str, Any]
    day: date
    who: str
    why: str

    @property
    def cents(self) -> int:
        """The amount it no longer counts with; 0 of a quote and of an acceptance."""
        if self.body.get("what") == "extra":
            return int(self.body["price_cents"] + self.body["tax_cents"])
        return int(self.body.get("cents", 0))


@dataclass(frozen=True, slots=True)
class Ledger:
    """Everything of money a job has, what was taken back left out; that is in ``undone``, in order of arrival."""

    quotes: tuple[Quote, ...] = ()
    accepted: Accepted | None = None
    shares: tuple[Share, ...] = ()
    changes: tuple[Extra, ...] = ()
    not_priced: tuple[ChangeOrder, ...] = ()
    invoices: tuple[Invoice, ...] = ()
    payments: tuple[Payment, ...] = ()
    spent: tuple[Spent, ...] = ()
    undone: tuple[Undone, ...] = ()

    @property
    def quoted_cents(self) -> int:
        """What the accepted option costs the client, tax included; 0 before one is accepted."""
        return self.accepted.option.estimate.total_cents if self.accepted else 0

    @property
    def changes_cents(self) -> int:
        """What the priced changes add, tax included."""
        return sum(change.total_cents for change in self.changes)

    @property
    def contract_cents(self) -> int:
        """Quote and changes."""
        return self.quoted_cents + self.changes_cents

    @property
    def invoiced_cents(self) -> int:
        """Invoices less credit notes."""
        return sum(invoice.cents for invoice in self.invoices)

    @property
    def paid_cents(self) -> int:
        """All that was received."""
        return sum(payment.cents for payment in self.payments)

    def invoice(self, number: int) -> Invoice | None:
        """The invoice or credit note of that number."""
        return next((found for found in self.invoices if found.number == number), None)


@dataclass
class _Books:
    quotes: list[Quote] = field(default_factory=list)
    accepted: Accepted | None = None
    shares: tuple[Share, ...] = ()
    changes: list[Extra] = field(default_factory=list)
    invoices: list[Invoice] = field(default_factory=list)
    payments: list[Payment] = field(default_factory=list)
    spent: list[Spent] = field(default_factory=list)


def standing(entries: Iterable[Entry]) -> list[Entry]:
    """The entries that still count: those taken back, or replaced by a correction, are left out."""
    every = list(entries)
    gone = {entry.corrects for entry in every if entry.corrects}
    return [entry for entry in every if entry.id not in gone and entry.body.get("what") != "taken back"]


def fold_money(entries: Iterable[Entry]) -> Ledger:
    """Fold the money entries of one job, in order of arrival. Kinds of another version are passed over."""
    from tracker.book.changes import change_orders  # it knows the store; pages read this module without it

    every = list(entries)
    books, counted, numbers = _Books(), standing(every), numbered(every)
    for entry in counted:
        _put(books, entry, numbers[entry.id])
    priced = {change for extra in books.changes for change in extra.changes}
    # What was changed before the accepted quote is in its price.
    quoted = (
        next((quote.id for quote in books.quotes if quote.number == books.accepted.quote), "") if books.accepted else ""
    )
    since = next((at for at, entry in enumerate(counted) if entry.id == quoted), 0)
    return Ledger(
        quotes=tuple(books.quotes),
        accepted=books.accepted,
        shares=books.shares,
        changes=tuple(books.changes),
        not_priced=tuple(
            order
            for order in change_orders(counted[since:])
            if order.id not in priced and (order.costs or order.unpriced)
        ),
        invoices=tuple(books.invoices),
        payments=tuple(books.payments),
        spent=tuple(books.spent),
        undone=tuple(_undone(every, numbers)),
    )


def _undone(entries: Sequence[Entry], numbers: Mapping[str, int]) -> Iterator[Undone]:
    gone = {entry.corrects: entry for entry in entries if entry.body.get("what") == "taken back"}
    for entry in entries:
        if by := gone.get(entry.id):
            what = str(entry.body.get("what", ""))
            number = entry.body.get("number", numbers[entry.id])
            name = "acceptance" if what == "accepted" else f"{'change' if what == 'extra' else what} {number}"
            yield Undone(name, entry.body, by.day, by.who, str(by.body.get("why", "")))


def numbered(entries: Iterable[Entry]) -> dict[str, int]:
    """The number of each entry among those of its ``what``, in order of arrival, those taken back counted too."""
    out: dict[str, int] = {}
    seen: dict[str, int] = {}
    for entry in entries:
        what = entry.body.get("what", "")
        out[entry.id] = seen[what] = seen.get(what, 0) + 1
    return out


def _put(books: _Books, entry: Entry, number: int) -> None:
    body, who, day = entry.body, entry.who, entry.day
    match body.get("what"):
        case "quote":
            books.quotes.append(quote_from_json(body, entry.id, day, who))
        case "accepted":
            quote = next(found for found in books.quotes if found.number == body["quote"])
            option = next(found for found in quote.options if found.label == body["option"])
            books.accepted = Accepted(entry.id, day, who, quote.number, option)
            books.shares = shares_from_json(body["draws"])
        case "draws":
            books.shares = shares_from_json(body["draws"])
        case "extra":
            books.changes.append(_extra(entry))
        case "invoice" | "credit note":
            books.invoices.append(_invoice(entry))
        case "payment":
            on = date.fromisoformat(body["on"])
            books.payments.append(Payment(entry.id, number, body["cents"], on, who, body["how"], body["invoice"]))
        case "cost":
            on = date.fromisoformat(body["on"])
            books.spent.append(Spent(entry.id, number, body["cents"], on, who, body["phase"], body["text"]))


def _extra(entry: Entry) -> Extra:
    body = entry.body
    costs = tuple(
        EstimateLine(Kind(cost["kind"]), cost["phase"], body["text"], cost["cents"], "", cost.get("minutes", 0))
        for cost in body.get("costs", ())
    )
    return Extra(
        entry.id, body["number"], entry.day, entry.who, body["text"], body["price_cents"], body["tax_cents"], costs,
        tuple(body["changes"]), body.get("tax", ""),
    )  # fmt: skip


def _invoice(entry: Entry) -> Invoice:
    body = entry.body
    lines = tuple(InvoiceLine(**line) for line in body["lines"])
    signed = tuple((draw, date.fromisoformat(day)) for draw, day in body.get("signed", {}).items())
    return Invoice(
        entry.id, body["number"], entry.day, entry.who, lines, body.get("against", 0), body.get("text", ""),
        About(**body.get("about", {})), signed,
    )  # fmt: skip


def about_json(title: str, client: str, place: str) -> dict[str, str]:
    """Which job an invoice is about, as its entry keeps it."""
    return {"title": title, "client": client, "place": place}


def quote_json(
    number: int, until: date, priced: PricedJob, source: Mapping[str, Plain], rules: Mapping[str, int], draws: Sequence[Share]
) -> dict[str, Any]:  # fmt: skip
    """The body of a quote's entry."""
    return {
        "what": "quote",
        "number": number,
        "stands_until": until.isoformat(),
        "options": [
            {
                "label": found.option.label, "changes": [list(change) for change in found.option.changes],
                "estimate": estimate_json(found.estimate), "phases": list(found.titles),
                "faults": list(priced.faults_of(found)),
            }
            for found in priced.options
        ],
        "job": {key: value for key, value in source.items() if key not in _NOT_ON_PAPER},
        "rules": {key: kept_figure(key, figure) for key, figure in rules.items()},
        "draws": shares_json(draws),
        "stands_on": priced.stands_on,
    }  # fmt: skip


def quote_from_json(body: Mapping[str, Any], entry_id: str, day: date, who: str) -> Quote:
    """The quote a body keeps."""
    options = tuple(
        QuotedOption(
            option["label"], tuple((k, v) for k, v in option["changes"]), estimate_from_json(option["estimate"]),
            tuple(option.get("phases", ())), tuple(option.get("faults", ())),
        )
        for option in body["options"]
    )  # fmt: skip
    until = date.fromisoformat(body["stands_until"])
    draws = shares_from_json(body.get("draws", ()))
    rules = {key: figure_kept(key, kept) for key, kept in body.get("rules", {}).items()}
    return Quote(
        entry_id, body["number"], day, who, until, options, draws, body.get("job", {}), rules, body.get("stands_on", "")
    )


def shares_json(shares: Sequence[Share]) -> list[dict[str, Any]]:
    """A schedule as an entry keeps it."""
    return [
        {key: value for key, value in asdict(share).items() if key not in ("hundredths", "odd_cent") or value}
        for share in shares
    ]


def shares_from_json(kept: Sequence[Mapping[str, Any]]) -> tuple[Share, ...]:
    """The schedule an entry kept."""
    return tuple(Share(**share) for share in kept)
