"""The lines of what is left to buy: a heading for each supplier, then its items, what is late first."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from textual.content import Content

from tracker.book.buyviews import Purchase, PurchaseLine
from tracker.reports.purchasepages import cost_words, sum_of
from tracker.reports.words import job_codes, pieces
from tracker.screens import words
from tracker.screens.rows import HEAD
from tracker.text import clean, count
from tracker.trade.dates import format_day
from tracker.trade.money import format_money

LATE, TODAY, SOON = "late", "order today", "pick up tomorrow"
STYLES = {LATE: "$error bold", TODAY: "$warning bold", SOON: "$accent"}
ONE_LINE = 100
QUANTITY = 16


def pressing(found: Sequence[Purchase]) -> list[Purchase]:
    """Suppliers with what presses most first; what has no supplier last, there what has no price last."""
    return sorted(found, key=lambda bought: (not bought.supplier, min(line.order_by for line in bought.lines)))


def lines_of(bought: Purchase) -> list[PurchaseLine]:
    """The lines of one supplier in the order they are shown: without a price last."""
    return sorted(bought.lines, key=lambda line: (line.cost_cents is None, line.order_by, line.needed_on, line.item))


def row_key(bought: Purchase, line: PurchaseLine) -> str:
    """The key of a line: one item may be late for one job and wait for another, or be of another wood or price."""
    parts = (bought.supplier, line.item, line.wood, line.use_category, line.urgency, str(line.price_e4), str(line.pack))
    return "/".join(parts)


def sum_words(found: Sequence[Purchase]) -> str:
    """What there is to buy, the late and the day's first."""
    lines = [line for bought in found for line in bought.lines]
    if not lines:
        return "Nothing is left to buy: everything needed is used, on hand or on order."
    text = f"{count(len(lines), 'line')} to buy"
    for urgency, said in ((LATE, "late"), (TODAY, "to order today"), (SOON, "to pick up tomorrow")):
        if number := sum(line.urgency == urgency for line in lines):
            text += f", {number} {said}"
    return f"{text}: {sum_of(lines)}"


def proof_words(found: Sequence[Purchase]) -> str:
    """How good the cut plans behind the boards are; empty with no boards."""
    boards = [line for bought in found for line in bought.lines if line.unit == "board"]
    if not boards:
        return ""
    if all(line.proven for line in boards):
        return "the boards are those of the cheapest cut plans, proven"
    return "not every cut plan is proven the cheapest"


def supplier_head(bought: Purchase, width: int) -> Content:
    """The heading of a supplier: the total, the delivery charge, what is missing to the least order."""
    name = clean(bought.supplier) or "NO SUPPLIER NAMED"
    parts = [cost_words(bought)]
    if bought.delivery_cents:
        parts.append(f"delivery {format_money(bought.delivery_cents)} more")
    if bought.short_of_minimum_cents:
        missing, least = format_money(bought.short_of_minimum_cents), format_money(bought.minimum_cents)
        parts.append(f"{missing} short of the least order, {least}")
    if bought.supplier:
        parts.append(f"comes in {count(bought.lead_days, 'working day')}" if bought.lead_days else "comes the same day")
    else:
        parts.append("the job's own prices, or none")
    return words.hang("; ".join(parts), width, f"{name}  ", words.FAINT, words.HEADING)


def when_words(line: PurchaseLine, today: date) -> str:
    """How pressing a line is and the day to order it by."""
    match line.urgency:
        case "late":
            return f"LATE: order by was {format_day(line.order_by, today)}"
        case "order today" | "pick up tomorrow":
            return line.urgency
        case _:
            return f"can wait: order by {format_day(line.order_by, today)}"


def line_row(line: PurchaseLine, width: int, today: date) -> Content:
    """One line: how many, what, the cost; then how pressing it is, for which jobs, what it holds up."""
    quantity = words.say(words.fit(pieces(line.packed, line.unit), QUANTITY - 1) + " ", words.STRONG)
    cost = words.say("no price" if line.cost_cents is None else format_money(line.cost_cents))
    jobs = ", ".join(dict.fromkeys(part.job for part in line.parts))
    more = [f"for {job_codes(part.job for part in line.parts)}"]
    if line.packed != line.quantity or line.pack > 1:
        more.append(f"{line.quantity} needed, packs of {line.pack}")
    if line.waits:
        # Of the only job it is for the name is said already.
        more.append(f"holds {'; '.join(waiting.removesuffix(f' of {jobs}') for waiting in line.waits)}")
    if line.stale:
        more.append("the price is old")
    when = words.say(when_words(line, today), STYLES.get(line.urgency, words.FAINT))
    what = words.line(quantity, words.say(line.title))
    rest = "; ".join(more)
    if width >= ONE_LINE and (middle := words.line(when, words.say(f"; {rest}"))).cell_length <= width - 70:
        return words.ends(words.line(what, " " * max(56 - what.cell_length, 2), middle), cost, width)
    top = [words.ends(what, cost, width)]
    if what.cell_length + cost.cell_length + 1 > width:
        head = words.hang(line.title, width - cost.cell_length - 2, pieces(line.packed, line.unit).ljust(QUANTITY))
        first, *others = head.split("\n")
        top = [words.ends(first, cost, width), *others]
    label = f"{'':{QUANTITY}}{when_words(line, today)}; "
    if len(label) + len(rest) <= width:
        return words.stack([*top, words.line(" " * QUANTITY, when, f"; {rest}")])
    return words.stack([*top, words.line(" " * QUANTITY, when), words.hang(rest, width, " " * QUANTITY)])


def rows(found: Sequence[Purchase], width: int, today: date) -> list[tuple[str, Content]]:
    """The rows of the screen, by key."""
    out: list[tuple[str, Content]] = []
    for bought in pressing(found):
        out.append((f"{HEAD}{bought.supplier}", supplier_head(bought, width)))
        out += [(row_key(bought, line), line_row(line, width, today)) for line in lines_of(bought)]
    return out


def detail(bought: Purchase, line: PurchaseLine, today: date) -> str:
    """A line in full."""
    source = f"from {bought.supplier}" if bought.supplier else "no supplier named"
    price = "no price known" if line.cost_cents is None else format_money(line.cost_cents)
    parts = [
        f"{line.title} ({line.item}): {pieces(line.packed, line.unit)} {source}, {price}",
        f"{line.quantity} needed; " + ", ".join(
            f"{part.quantity} for {part.phase} of {part.job} on {format_day(part.needed_on, today)}" for part in line.parts
        ),
    ]  # fmt: skip
    return clean(". ".join(parts))
