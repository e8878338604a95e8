"""What every surface tells, read back into facts: each reads one command as its user would, as JSON, as text or as a paper.

A new command or page is one more function of ``OF_ALL`` or ``OF_A_JOB``.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator
from datetime import date
from pathlib import Path
from typing import Any, TypeAlias

from tests.agreement.facts import Facts, Value
from tests.commands.conftest import Result
from tests.reports.paper.reading import read_pdf
from tracker.book.frontviews import MorningView
from tracker.trade.dates import format_day

Ask: TypeAlias = Callable[..., Result]
"""A command line and what it answered."""

_JOB = (
    "title", "client", "place", "crew", "phase", "phase_title", "phase_state", "signed_off", "hold", "hold_do",
    "hold_clears", "days_late", "planned_end", "bought_cents", "needed_cents", "finished",
)  # fmt: skip
_NEED = (
    "title", "unit", "needed_on", "need", "used", "on_hand", "on_order", "to_buy", "cost_cents", "late", "supplier", "pack",
    "order_by", "price_old",
)  # fmt: skip
_LOT = ("item", "supplier", "unit", "ordered", "received", "used", "returned", "scrapped", "found", "moved_out", "on_hand",
        "on_order", "promised", "use_category", "dry")  # fmt: skip
_DELIVERY = ("item", "unit", "supplier", "quantity", "promised")


def _plain(value: Any) -> Value:
    return tuple(_plain(one) for one in value) if isinstance(value, list) else value


def _of(found: dict[str, Any], keys: Iterable[str]) -> dict[str, Value]:
    return {key: _plain(found[key]) for key in keys}


def _cents(text: str) -> int:
    return round(float(text.replace("$", "").replace(",", "")) * 100)


def _json(ask: Ask, *argv: str) -> Any:
    answer = ask(*argv, "--json")
    assert answer.code in (0, 1), (argv, answer.err)
    return answer.json


# -- what JSON tells


def _line(facts: Facts, surface: str, line: dict[str, Any]) -> None:
    facts.tell(surface, "job", line["job"], **_of(line, _JOB), states=_plain(line["phases"]))
    coming = line["next_delivery"]
    facts.tell(surface, "job", line["job"], next_delivery=coming and coming["lot"])


_TOGETHER = ("buy", "report")
"""Surfaces that price what all jobs buy together."""


def _need(facts: Facts, surface: str, need: dict[str, Any]) -> None:
    which = (need["job"], need["phase"], need["item"], need["use_category"])
    told = _of(need, _NEED)
    # Bought over all jobs a pack is shared out among those it serves; a job bought alone pays whole packs.
    told["cost_together" if surface in _TOGETHER else "cost_alone"] = told.pop("cost_cents")
    facts.tell(surface, "need", which, **told)
    covered = [need[part] for part in ("used", "on_hand", "on_order", "to_buy")]
    facts.adds_up(surface, f"need of {' '.join(which)}", need["need"], covered)


def _delivery(facts: Facts, surface: str, delivery: dict[str, Any]) -> None:
    told = _of(delivery, _DELIVERY)
    facts.tell(surface, "lot", (delivery["job"], delivery["lot"]), on_order=told["quantity"])
    facts.tell(surface, "delivery", (delivery["job"], delivery["lot"]), **told)


def _check(facts: Facts, surface: str, job: str, check: dict[str, Any]) -> None:
    facts.tell(
        surface, "check", (job, check["key"]),
        title=check["title"], phase=check["phase"], state=check["state"], headline=check["headline"],
        readings=len(check["readings"]), waivers=len(check["waivers"]),
    )  # fmt: skip
    if check["key"] == "design":
        judged = check["answer"]["answer"]
        fails = () if judged["basis"] else judged["faults"]
        _design(facts, f"{surface} check", job, {"fails": fails, "stands_on": judged["basis"]})


def _design(facts: Facts, surface: str, job: str, told: dict[str, Any]) -> None:
    """What of a job's design fails, and on whose it stands."""
    facts.tell(surface, "design", job, fails=tuple(told["fails"]), stands_on=told["stands_on"])


def _needs_you(facts: Facts, surface: str, told: Iterable[tuple[str, ...]]) -> None:
    """The list of what needs a person, line by line; what and why run together in one sentence."""
    lines = list(told)
    facts.tell(surface, "house", "needs you", lines=len(lines))
    for number, line in enumerate(lines, 1):
        facts.tell(surface, "needs you", f"{number:02}", line=line)


def jobs(ask: Ask, facts: Facts) -> None:
    """The open jobs."""
    told = _json(ask, "jobs")
    facts.tell("jobs", "house", "open", jobs=tuple(line["job"] for line in told["jobs"]))
    for line in told["jobs"]:
        _line(facts, "jobs", line)
    facts.tell("jobs", "house", "open", held=sum(bool(line["hold"]) for line in told["jobs"]))


def jobs_text(ask: Ask, facts: Facts) -> None:
    """The open jobs as a person reads them."""
    head, *parts = ask("jobs").out.split("\n\n")
    facts.tell("jobs text", "house", "open", jobs=tuple(part.split()[0] for part in parts))
    held = re.search(r"(\d+) with something in the way", head)
    facts.tell("jobs text", "house", "open", held=int(held[1]) if held else 0)
    for part in parts:
        _told_of_job(facts, "jobs text", part)


def _told_of_job(facts: Facts, surface: str, text: str) -> None:
    """What a paragraph about a job says of where it is: lateness, hand-over and money."""
    text = " ".join(text.split())
    code = text.split()[0]
    state = re.search(r"\((ahead|under way|held|signed off)\)", text)
    if state is not None:
        facts.tell(surface, "job", code, phase_state=state[1])
    late = re.search(r"; (\d+) (?:working )?days? late", text)
    facts.tell(surface, "job", code, late_shown=int(late[1]) if late else 0)
    if (over := re.search(r"hand-over (?:planned )?(\w{3} \d+ \w{3}(?: \d{4})?)", text)) is not None:
        facts.tell(surface, "job", code, hand_over_shown=over[1])
    if (money := re.search(r"(\$[\d,.]+) of (\$[\d,.]+) bought", text)) is not None:
        facts.tell(surface, "job", code, bought_cents=_cents(money[1]), needed_cents=_cents(money[2]))
    if (signed := re.search(r"(\d+) of (\d+) phases signed off", text)) is not None:
        facts.tell(surface, "job", code, signed_off=int(signed[1]), phases=int(signed[2]))


def shown_job(ask: Ask, facts: Facts, job: str) -> None:
    """One job, whole."""
    told = _json(ask, "show", job)
    surface = "show"
    _line(facts, surface, told)
    today = date.fromisoformat(_json(ask, "jobs")["day"])
    facts.tell(
        surface, "job", job,
        late_shown=max(told["days_late"], 0), phases=len(told["phase_list"]),
        hand_over_shown=format_day(date.fromisoformat(told["planned_end"]), today),
    )  # fmt: skip
    _design(facts, surface, job, told["design"])
    states = [phase["state"] for phase in told["phase_list"]]
    facts.tell("show phases", "job", job, signed_off=states.count("signed off"), states=tuple(states))
    for phase in told["phase_list"]:
        _phase(facts, surface, job, phase)
        for check in phase["checks"]:
            _check(facts, surface, job, check)
    for lot in told["lots"]:
        facts.tell(surface, "lot", (job, lot["lot"]), **_of(lot, _LOT), came_in=lot["received"] + lot["found"])
        gone = [-lot[part] for part in ("used", "returned", "scrapped", "moved_out")]
        facts.adds_up(surface, f"on hand of {job} {lot['lot']}", lot["on_hand"], [lot["received"], lot["found"], *gone])
    for need in told["needs"]:
        _need(facts, surface, need)
    for delivery in told["deliveries"]:
        _delivery(facts, surface, delivery)
    facts.tell(surface, "job", job, notes=len(told["notes"]))
    asked = Counter[tuple[str, str]]()
    for need in told["needs"]:
        asked[need["phase"], need["item"]] += need["need"]
    for (phase, item), quantity in asked.items():
        facts.tell(surface, "take-off", (job, phase, item), quantity=quantity)


def _phase(facts: Facts, surface: str, job: str, phase: dict[str, Any]) -> None:
    facts.tell(
        surface, "phase", (job, phase["key"]),
        title=phase["title"], state=phase["state"], start=phase["planned_start"], end=phase["planned_end"],
        signed_off=phase["signed_off"],
    )  # fmt: skip


def shown_text(ask: Ask, facts: Facts, job: str) -> None:
    """One job as a person reads it."""
    out = ask("show", job).out
    _told_of_job(facts, "show text", out.split("\n\n")[0])
    lots = _section(out, "LOTS")
    for row in lots[1:]:
        found = re.match(r"  (\S+) +(\S.*?)  +(\d+) +(\d+) +(\d+) +(\d+) +(\d+)(?:  |$)", row)
        if found is not None:
            ordered, came, used, _, left = (int(found[n]) for n in range(3, 8))
            facts.tell("show text", "lot", (job, found[1]), ordered=ordered, came_in=came, used=used, on_hand=left)


def _section(out: str, head: str) -> list[str]:
    part = out.partition(f"\n{head}\n")[2]
    return part.partition("\n\n")[0].splitlines()


def checks(ask: Ask, facts: Facts, job: str) -> None:
    """The checks of a job."""
    for check in _json(ask, "check", job)["checks"]:
        _check(facts, "check", job, check)


def take_off(ask: Ask, facts: Facts, job: str) -> None:
    """The material list, as far as its phases are not signed off; boards are as the cut list has them."""
    told, phases = _json(ask, "takeoff", job), _json(ask, "show", job)["phase_list"]
    ahead = {phase["key"] for phase in phases if phase["state"] != "signed off"}
    found, boards = Counter[tuple[str, str]](), Counter[str]()
    for line in told["lines"]:
        if line["pieces"]:
            boards[line["item"]] += line["quantity"]
        if line["phase"] in ahead:
            found[line["phase"], line["item"]] += line["quantity"]
    for (phase, item), quantity in found.items():
        facts.tell("takeoff", "take-off", (job, phase, item), quantity=quantity)
    for item, quantity in boards.items():
        facts.tell("takeoff", "boards", (job, item), quantity=quantity)
    facts.tell("takeoff", "job", job, boards=sum(boards.values()))


def cut_list(ask: Ask, facts: Facts, job: str) -> None:
    """What to cut from which board."""
    answer = ask("cutlist", job, "--json")
    if answer.code not in (0, 1):
        return
    told = answer.json
    boards = Counter[str]()
    for size in told["sizes"]:
        facts.adds_up(
            f"cutlist {job}", f"boards of {size['size']}", size["boards"], [s["number"] for s in size["sticks"]]
        )
        for stick in size["sticks"]:
            boards[stick["item"]] += stick["number"]
    facts.adds_up(f"cutlist {job}", "boards", told["boards"], [size["boards"] for size in told["sizes"]])
    facts.adds_up(f"cutlist {job}", "cost", told["cost_cents"], [size["cost_cents"] or 0 for size in told["sizes"]])
    for item, quantity in boards.items():
        facts.tell("cutlist", "boards", (job, item), quantity=quantity)
    facts.tell("cutlist", "job", job, boards=told["boards"])


def buying_of_job(ask: Ask, facts: Facts, job: str) -> None:
    """What is left to buy for one job."""
    _buying(facts, f"buy {job}", _json(ask, "buy", job))


def buying(ask: Ask, facts: Facts) -> None:
    """What is left to buy over all open jobs."""
    _buying(facts, "buy", _json(ask, "buy"))


def _buying(facts: Facts, surface: str, told: dict[str, Any]) -> None:
    wanted = Counter[tuple[str, str, str]]()
    for need in told["needs"]:
        _need(facts, "buy" if surface == "buy" else "buy JOB", need)
        wanted[need["job"], need["phase"], need["item"]] += need["to_buy"]
    bought = Counter[tuple[str, str, str]]()
    alone = defaultdict[tuple[str, str, str], list[int | None]](list)
    for need in told["needs"]:
        alone[need["job"], need["phase"], need["item"]].append(need["cost_cents"])
    for purchase in told["purchases"]:
        for line in purchase["lines"]:
            costs_alone = [cost for part in line["parts"] for cost in alone[part["job"], part["phase"], line["item"]]]
            if line["pack"] == 1 and len(costs_alone) == len(line["parts"]):
                facts.adds_up(surface, f"cost of {line['item']} pooled", line["cost_cents"] or 0,
                              [cost or 0 for cost in costs_alone], slack=len(costs_alone))  # fmt: skip
            facts.adds_up(surface, f"needed of {line['item']}", line["needed"], [p["quantity"] for p in line["parts"]])
            for part in line["parts"]:
                bought[part["job"], part["phase"], line["item"]] += part["quantity"]
        costs = [line["cost_cents"] or 0 for line in purchase["lines"]]
        facts.adds_up(surface, f"cost from {purchase['supplier']!r}", purchase["cost_cents"], costs)
        unpriced = sum(line["cost_cents"] is None for line in purchase["lines"])
        facts.tell(surface, "purchase", (surface, purchase["supplier"]), without_price=purchase["without_price"])
        facts.tell(f"{surface} lines", "purchase", (surface, purchase["supplier"]), without_price=unpriced)
    for which in wanted.keys() | bought.keys():
        facts.tell(f"{surface} needs", "left to buy", (surface, *which), quantity=wanted[which])
        facts.tell(f"{surface} purchases", "left to buy", (surface, *which), quantity=bought[which])


def sheet(ask: Ask, facts: Facts) -> None:
    """The day sheet."""
    told = _json(ask, "report")
    surface = "report"
    open_ones = [job for job in told["jobs"] if not job["finished"]]
    totals = told["totals"]
    facts.tell(surface, "house", "open", jobs=tuple(job["job"] for job in open_ones), held=totals["held"])
    facts.tell("report totals", "house", "open", count=totals["jobs"])
    facts.tell(surface, "house", "open", count=len(open_ones))
    lines = told["needs_owner"]
    _needs_you(facts, surface, ((x["job"], x["kind"], f"{x['what']}: {x['why']}", x["do"]) for x in lines))
    sums = Counter[str]()
    for job in told["jobs"]:
        code = job["job"]
        _line(facts, surface, job)
        _design(facts, surface, code, job["design"])
        for check in (*job["failed"], *job["waived"]):
            _check(facts, surface, code, check)
        facts.tell(surface, "failed", code, checks=tuple(sorted(check["key"] for check in job["failed"])))
        for delivery in job["deliveries"]:
            _delivery(facts, surface, delivery)
        left = Counter[tuple[str, str, str, str]]()
        for need in job["to_buy"]:
            _need(facts, surface, need)
            sums[need["item"]] += need["to_buy"]
            left[need["phase"], need["item"], need["use_category"], need["title"]] += need["to_buy"]
        facts.tell(surface, "to buy", code, lines=tuple(sorted((*key, str(number)) for key, number in left.items())))
    for key, part in (("checks_failed", "failed"), ("checks_waived", "waived"), ("items_to_buy", "to_buy"),
                      ("deliveries_due", "deliveries"), ("phases_signed_off_today", "signed_off_today")):  # fmt: skip
        facts.adds_up(surface, key, totals[key], [len(job[part]) for job in told["jobs"]])
    costs = [need["cost_cents"] or 0 for job in told["jobs"] for need in job["to_buy"]]
    facts.adds_up(surface, "cost_to_buy_cents", totals["cost_to_buy_cents"], costs)
    together = Counter[str]()
    for line in told["buy"]:
        together[line["item"]] += line["to_buy"]
    for item in sums.keys() | together.keys():
        facts.tell("report jobs", "all together", item, to_buy=sums[item])
        facts.tell("report buy", "all together", item, to_buy=together[item])
    bought = Counter[str]()
    for purchase in _json(ask, "buy")["purchases"]:
        for line in purchase["lines"]:
            bought[line["item"]] += line["needed"]
    for item in sums.keys() | bought.keys():
        facts.tell("buy", "all together", item, to_buy=bought[item])


def left_to_buy(ask: Ask, facts: Facts, job: str) -> None:
    """What ``show`` says is left to buy, as one list."""
    left = Counter[tuple[str, str, str, str]]()
    told = _json(ask, "show", job)
    for need in told["needs"]:
        if need["to_buy"]:
            left[need["phase"], need["item"], need["use_category"], need["title"]] += need["to_buy"]
    if told["finished"]:
        return
    facts.tell("show", "to buy", job, lines=tuple(sorted((*key, str(number)) for key, number in left.items())))
    failed = [check["key"] for phase in told["phase_list"] for check in phase["checks"] if check["state"] == "failed"]
    facts.tell("show", "failed", job, checks=tuple(sorted(failed)))


def sheet_text(ask: Ask, facts: Facts) -> None:
    """The day sheet as a person reads it."""
    out = ask("report").out
    parts = [part for part in out.split("\n\n") if re.match(r"\d\d-\d{3} ", part)]
    for part in parts:
        _told_of_job(facts, "report text", part)
    head = re.search(r"(\d+) open jobs?, (\d+) held up", out)
    assert head is not None
    facts.tell("report text", "house", "open", count=int(head[1]), held=int(head[2]))


def sheet_csv(ask: Ask, facts: Facts, folder: Path) -> None:
    """The day sheet as lines for a spreadsheet."""
    path = folder / "day.csv"
    assert ask("report", "--csv", str(path), "--force").code == 0
    rows = list(csv.DictReader(io.StringIO(path.read_text("utf-8-sig"), newline="")))
    left: defaultdict[str, list[tuple[str, str]]] = defaultdict(list)
    for row in rows:
        job = row["job"]
        match row["section"]:
            case "phase":
                facts.tell("report csv", "job", job, planned_end=row["date"], late_shown=int(row["number"] or 0))
            case "phases signed off":
                facts.tell("report csv", "job", job, signed_off=int(row["number"]))
            case "material bought":
                facts.tell("report csv", "job", job, bought_cents=_cents(row["money"]))
            case "material needed":
                facts.tell("report csv", "job", job, needed_cents=_cents(row["money"]))
            case "to buy":
                left[row["what"]].append((row["number"], row["money"]))
            case _:
                pass
    told = [
        (row["job"], *row["what"].partition(": ")[::2], row["why"]) for row in rows if row["section"] == "needs you"
    ]
    facts.tell("report csv", "house", "needs you", said=tuple(told))
    cost = next((row["money"] for row in rows if row["what"].startswith("cost of what is left to buy")), "0")
    facts.adds_up("report csv", "cost of what is left to buy", _cents(cost),
                  [_cents(money or "0") for found in left.values() for _, money in found])  # fmt: skip
    for item, found in left.items():
        facts.tell("report csv", "all together", item, to_buy=sum(int(number) for number, _ in found))


def sheet_pdf(ask: Ask, facts: Facts, folder: Path) -> None:
    """The day sheet on paper."""
    path = folder / "day.pdf"
    assert ask("report", "--pdf", str(path), "--force").code == 0
    pages = [" ".join(page.text.split()) for page in read_pdf(path.read_bytes())]
    head = re.search(r"(\d+) open jobs?, (\d+) held up", pages[0])
    assert head is not None
    facts.tell("report pdf", "house", "open", count=int(head[1]), held=int(head[2]))
    summary = " ".join(pages).partition("OPEN JOBS")[2].partition("NEEDS YOU")[0]
    listed = tuple(code for code in re.findall(r"\d\d-\d{3}(?= )", summary))
    facts.tell("report pdf", "house", "on the sheet", jobs=listed)
    facts.tell("report", "house", "on the sheet", jobs=tuple(job["job"] for job in _json(ask, "report")["jobs"]))


def seen_in_the_morning(view: MorningView, facts: Facts) -> None:
    """The first screen."""
    _needs_you(facts, "morning", ((need.job, need.worry.word, need.said, need.do) for need in view.needs))
    facts.tell("morning", "house", "open", count=view.open_jobs)
    for need in view.pick_up:
        facts.tell(
            "morning", "need", (need.job, need.phase, need.item, need.use_category),
            to_buy=need.to_buy, needed_on=need.needed_on.isoformat(), cost_alone=need.cost_cents,
        )  # fmt: skip
    for coming in view.coming:
        promised = coming.promised.isoformat() if coming.promised else None
        facts.tell("morning", "delivery", (coming.job, coming.lot), quantity=coming.quantity, promised=promised)


def calendar(ask: Ask, facts: Facts) -> None:
    """The calendar: planned days of phases, and deliveries."""
    titles = {
        (job["job"], phase["title"]): phase["key"]
        for job in _json(ask, "jobs")["jobs"]
        for phase in _json(ask, "show", job["job"])["phase_list"]
    }
    for event in _json(ask, "calendar")["events"]:
        name = event["title"].removeprefix(f"{event['job']} ")
        if event["kind"] == "phase" and (event["job"], name) in titles:
            which = (event["job"], titles[event["job"], name])
            facts.tell("calendar", "phase", which, start=event["first_day"], end=event["last_day"])


def packet(ask: Ask, facts: Facts, job: str) -> None:
    """The field packet: planned days of the phases ahead, and the material expected."""
    answer = ask("packet", job, "--json")
    if answer.code:
        return
    phases = {phase["title"]: phase for phase in _json(ask, "show", job)["phase_list"]}
    expected: list[str] = []
    for block in _tables(answer.json):
        titles = [column["title"] for column in block["columns"]]
        if titles[:3] == ["phase", "planned", "where it stands"]:
            for title, _, state, _ in block["rows"]:
                facts.tell("packet", "phase", (job, phases[title]["key"]), state=state.partition(":")[0])
        elif titles[:3] == ["number", "item", "lot"]:
            expected += [f"{number} {item}" for number, item, lot, *_ in block["rows"] if lot == "not ordered"]
    facts.tell("packet", "expected", job, to_buy=tuple(sorted(expected)))
    told = [need for need in _json(ask, "show", job)["needs"] if need["to_buy"]]
    facts.tell("show", "expected", job, to_buy=tuple(sorted(_pieces(need) for need in told)))


def _pieces(need: dict[str, Any]) -> str:
    number, unit = need["to_buy"], need["unit"]
    many = unit if number == 1 else f"{unit}es" if unit.endswith(("x", "s", "ch", "sh")) else f"{unit}s"
    return f"{number} {many} {need['title']}"


def _tables(block: Any) -> Iterator[dict[str, Any]]:
    if isinstance(block, dict):
        if block.get("block") == "table":
            yield block
        for part in block.values():
            yield from _tables(part)
    elif isinstance(block, list):
        for part in block:
            yield from _tables(part)


def texts(ask: Ask, facts: Facts, job: str) -> None:
    """The one figure that heads each text about a job, as its JSON has it."""
    told = _json(ask, "cost", job)["total"]
    if (found := re.search(r"Material cost \S+: (?:at least )?(\$[\d,.]+)", _text(ask, "cost", job))) is not None:
        facts.tell("cost text", "figure", (job, "estimate"), cents=_cents(found[1]))
        facts.tell("cost", "figure", (job, "estimate"), cents=told["estimate_cents"])
    hours_told = _json(ask, "hours", job)
    if (found := re.search(r": (\d+):(\d\d) h, (?:at least )?(\$[\d,.]+)", _text(ask, "hours", job))) is not None:
        facts.tell("hours text", "hours", job, minutes=int(found[1]) * 60 + int(found[2]), cents=_cents(found[3]))
        facts.tell("hours", "hours", job, minutes=hours_told["minutes"], cents=hours_told["cents"])
    bought = _json(ask, "buy", job)["purchases"]
    head = _text(ask, "buy", job)
    if (found := re.match(r"(\d+) items? to buy(?:, (\d+) of (?:them|which) late)?", head)) is not None:
        lines = [line for purchase in bought for line in purchase["lines"]]
        facts.tell("buy text", "figure", (job, "to buy"), lines=int(found[1]))
        facts.tell("buy", "figure", (job, "to buy"), lines=len(lines))
    out = ask("takeoff", job).out
    rows = [re.match(r" *(\d+)  (\w[\w ]*?)  +\S", row) for row in out.split("\n\n")[1].splitlines()[1:]]
    numbers = sorted(int(row[1]) for row in rows if row is not None)
    facts.tell("takeoff text", "figure", (job, "take-off"), numbers=tuple(numbers))
    listed = sorted(line["quantity"] for line in _json(ask, "takeoff", job)["lines"])
    facts.tell("takeoff", "figure", (job, "take-off"), numbers=tuple(listed))
    if (found := re.search(r"(\d+) boards? in all", _text(ask, "cutlist", job))) is not None:
        facts.tell("cutlist text", "job", job, boards=int(found[1]))
    if (found := re.search(r"contract, tax included (\$[\d,.]+)", _text(ask, "money", job))) is not None:
        facts.tell("money text", "figure", (job, "contract"), cents=_cents(found[1]))
        facts.tell("money", "figure", (job, "contract"), cents=_json(ask, "money", job)["contract_cents"])


def _text(ask: Ask, *argv: str) -> str:
    return " ".join(ask(*argv).out.split())


def drawn(ask: Ask, facts: Facts, job: str) -> None:
    """The drawing: checks as the job has them, joists numbered one by one."""
    states = {}
    for phase in _json(ask, "show", job)["phase_list"]:
        for check in phase["checks"]:
            states[check["title"]] = (check["state"], check["headline"])
    for platform in _json(ask, "draw", job)["platforms"]:
        for check in platform["checks"]:
            facts.tell("draw", "drawn check", (job, check["title"]), state=check["state"], headline=check["headline"])
            state, headline = states.get(check["title"], ("none", ""))
            facts.tell("show", "drawn check", (job, check["title"]), state=state, headline=headline)
        numbers = [joist["number"] for joist in platform["joists"]]
        facts.tell("draw", "joists", (job, platform["platform"]), numbers=tuple(numbers))
        facts.tell("counted", "joists", (job, platform["platform"]), numbers=tuple(range(1, len(numbers) + 1)))


def cost(ask: Ask, facts: Facts, job: str) -> None:
    """What the material costs: by phase and by item the same."""
    told = _json(ask, "cost", job)
    for key in ("estimate_cents", "committed_cents", "received_cents", "used_cents"):
        for part in ("phases", "items"):
            facts.adds_up(f"cost {job}", f"{key} by {part}", told["total"][key], [line[key] for line in told[part]])
    unpriced = set(told["without_price"])
    facts.tell("cost", "job", job, unpriced=tuple(sorted(unpriced)))


def price(ask: Ask, facts: Facts, job: str) -> None:
    """What the job costs and sells for: every sum is that of its lines."""
    answer = ask("price", job, "--json")
    if answer.code not in (0, 1):
        return
    for option in answer.json["options"]:
        surface = f"price {job} {option['label']}"
        for kind in ("material", "labour", "equipment"):
            lines = [line["cents"] for line in option["lines"] if line["kind"] == kind]
            facts.adds_up(surface, kind, option[f"{kind}_cents"], lines)
        parts = [option[f"{kind}_cents"] for kind in ("material", "labour", "equipment")]
        facts.adds_up(surface, "cost", option["cost_cents"], parts)
        rest = [option[f"{part}_cents"] for part in ("cost", "overhead", "profit")]
        facts.adds_up(surface, "price", option["price_cents"], rest)
        facts.adds_up(surface, "total", option["total_cents"], [option["price_cents"], option["tax_cents"]])
        facts.adds_up(surface, "price by phase", option["price_cents"], option["price_by_phase_cents"].values())


def money(ask: Ask, facts: Facts, job: str) -> None:
    """Contract, draws, invoices, payments and cost."""
    told = _json(ask, "money", job)
    surface = f"money {job}"
    facts.adds_up(surface, "cost", told["cost_cents"], [phase["cost_cents"] for phase in told["phases"]])
    facts.adds_up(surface, "forecast", told["forecast_cents"], [phase["forecast_cents"] for phase in told["phases"]])
    facts.adds_up(surface, "invoiced", told["invoiced_cents"],
                  [one["cents"] for one in told["invoices"]])  # fmt: skip
    facts.adds_up(surface, "paid", told["paid_cents"], [one["cents"] for one in told["payments"]])
    if told["contract_cents"] is not None and told["accepted"]:
        facts.adds_up(surface, "contract", told["contract_cents"], [told["quoted_cents"], told["changes_cents"]])
        facts.adds_up(surface, "draws", told["contract_cents"], [draw["cents"] for draw in told["draws"]])
        facts.adds_up(surface, "to invoice", told["to_invoice_cents"], [draw["left_cents"] for draw in told["draws"]])
    for invoice in told["invoices"]:
        facts.adds_up(surface, f"invoice {invoice['number']}", invoice["cents"], [x["cents"] for x in invoice["lines"]])
    for phase in told["phases"]:
        for key in ("cost_cents", "estimate_cents", "forecast_cents"):
            kinds = [kind[key] for kind in phase["kinds"].values()]
            facts.adds_up(surface, f"{key} of {phase['phase']}", phase[key], kinds)
        facts.tell("money", "hours of phase", (job, phase["phase"]), cents=phase["kinds"]["labour"]["cost_cents"])
        facts.tell("money", "phase", (job, phase["phase"]), title=phase["title"], is_signed=phase["signed_off"])
    for phase in _json(ask, "show", job)["phase_list"]:
        facts.tell("show", "phase", (job, phase["key"]), is_signed=phase["state"] == "signed off")


def hours(ask: Ask, facts: Facts, job: str) -> None:
    """Hours by phase and by day come to the same."""
    _hours(facts, "hours JOB", _json(ask, "hours", job))


def hours_summary(ask: Ask, facts: Facts) -> None:
    """Hours of all jobs."""
    for told in _json(ask, "hours", "--summary")["jobs"]:
        _hours(facts, "hours --summary", told)


def _hours(facts: Facts, surface: str, told: dict[str, Any]) -> None:
    job = told["job"]
    facts.tell(surface, "hours", job, minutes=told["minutes"], cents=told["cents"])
    facts.adds_up(surface, f"minutes of {job}", told["minutes"], [phase["minutes"] for phase in told["phases"]])
    facts.adds_up(surface, f"cents of {job}", told["cents"], [phase["cents"] for phase in told["phases"]])
    entries = told["entries"]
    facts.adds_up(surface, f"entries of {job}", told["minutes"], [e["minutes_each"] * e["people"] for e in entries])
    facts.adds_up(surface, f"cost of entries of {job}", told["cents"], [entry["cents"] for entry in entries])
    for phase in told["phases"]:
        facts.tell(surface, "hours of phase", (job, phase["phase"]), minutes=phase["minutes"], cents=phase["cents"])


def handover(ask: Ask, facts: Facts, job: str) -> None:
    """The papers of the hand-over: the record's phases and checks."""
    told = _json(ask, "handover", job)
    facts.tell("handover", "job", job, title=told["title"], client=told["client"], place=told["place"])
    parts = {part["title"]: [dict(zip(part["columns"], row, strict=True)) for row in part["rows"]]
             for part in told["record"]["parts"]}  # fmt: skip
    keys = {phase["title"]: phase["key"] for phase in _json(ask, "show", job)["phase_list"]}
    for row in parts.get("Phases and hold points", []):
        if row["phase"] in keys:
            state, signed = row["state"].partition(",")[0].partition(":")[0], row["signed off"] or None
            which = (job, keys[row["phase"]])
            facts.tell("as-built record", "phase", which, is_signed=state == "signed off")
            if state == "signed off":
                facts.tell("as-built record", "phase", which, signed_off=signed)
    for row in parts.get("Lots", []):
        facts.tell(
            "as-built record", "lot", (job, row["lot"]),
            item=row["item"], ordered=int(row["ordered"]), came_in=int(row["in"]), used=int(row["used"]),
            on_hand=int(row["left"]),
        )  # fmt: skip
    items = _json(ask, "punch", job)["punch"]
    facts.tell(
        "handover", "punch", job, items=len(told["punch"]), open=sum(one["done"] is None for one in told["punch"])
    )
    facts.tell("punch", "punch", job, items=len(items), open=sum(one["done"] is None for one in items))


def history(ask: Ask, facts: Facts, job: str) -> None:
    """Every entry of a job: its readings as its checks have them."""
    read = {entry["id"]: entry for entry in _json(ask, "history", job)["entries"] if entry["kind"] == "reading"}
    for phase in _json(ask, "show", job)["phase_list"]:
        for check in phase["checks"]:
            for reading in check["readings"]:
                which, entry = (job, check["key"], reading["id"]), read.get(reading["id"])
                facts.tell("show", "reading", which, day=reading["day"], who=reading["who"], at=reading["at"])
                told = entry or {"day": None, "who": None, "at": None}
                facts.tell("history", "reading", which, day=told["day"], who=told["who"], at=told["at"])


OF_ALL: tuple[Callable[[Ask, Facts], None], ...] = (
    jobs, jobs_text, buying, sheet, sheet_text, calendar, hours_summary,
)  # fmt: skip
OF_A_JOB: tuple[Callable[[Ask, Facts, str], None], ...] = (
    shown_job, shown_text, checks, take_off, cut_list, buying_of_job, left_to_buy, drawn, texts, packet, cost, price, money, hours,
    handover, history,
)  # fmt: skip
ON_PAPER: tuple[Callable[[Ask, Facts, Path], None], ...] = (sheet_csv, sheet_pdf)
