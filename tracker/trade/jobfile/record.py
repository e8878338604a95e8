"""Lots, prices, house rules, phase changes and the log of a job file."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping

from tracker.errors import InputError
from tracker.text import NOTE_LIMIT, accept, listing, near
from tracker.trade.checks.registry import BY_KEY as CHECKS
from tracker.trade.jobfile.model import Doing, LogEntry, LotEntry, named_in
from tracker.trade.jobfile.platforms import USE
from tracker.trade.jobfile.table import Table, kind_of
from tracker.trade.lengths import EXAMPLES
from tracker.trade.lumber import use_category
from tracker.trade.material import item_name
from tracker.trade.money import parse_money, parse_price
from tracker.trade.phases import BY_KEY as PHASES
from tracker.trade.phases import Phase, PhaseChange, begun_by, folds, names_of, phases_for
from tracker.trade.rules import BY_KEY as RULES
from tracker.trade.rules import parse_rule
from tracker.trade.spec import JobSpec
from tracker.trade.worktime import parse_hours

MOST_PIECES = 100_000
LOT_CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,19}")


def read_lots(tables: list[Table]) -> tuple[LotEntry, ...]:
    """Return the lots that could be read whole."""
    found: list[LotEntry] = []
    codes: set[str] = set()
    for table in tables:
        code = table.text("code", "L1")
        if code is not None and not LOT_CODE.fullmatch(code):
            table.fault("code", f"{code[:40]!r} is not a lot code", "use letters, digits and -, like L1")
            code = None
        elif code is not None and code in codes:
            table.fault("code", f"{code} is the code of an earlier lot", "give each lot its own code")
        codes.add(code or "")
        item = table.text("item", "2x8x12")
        supplier = table.text("supplier", "Yard One")
        ordered = table.whole("ordered", 0, MOST_PIECES, "12")
        received = table.whole("received", 0, MOST_PIECES, default=0)
        dates = [table.day(key) for key in ("ordered_on", "promised", "received_on")]
        use = table.parsed("use", _lot_use) if table.has("use") else ""
        table.asked.append("use")
        dry = table.flag("dry")
        table.close()
        if None in (code, item, supplier, ordered, received, use, dry):
            continue
        found.append(
            LotEntry(
                code=code or "",
                item=item_name(item or ""),
                supplier=supplier or "",
                ordered=ordered or 0,
                ordered_on=dates[0],
                promised=dates[1],
                received=received or 0,
                received_on=dates[2],
                use_category=use or "",
                dry=bool(dry),
            )
        )
    return tuple(found)


def _lot_use(text: str) -> str:
    word = use_category(text)
    if word not in USE:
        raise InputError(f"{word} is not a use category taken here", f"deck lumber is {listing(USE)}")
    return word


def _item(text: str) -> str:
    return item_name(accept(text, "the item"))


def read_prices(table: Table | None) -> dict[str, int]:
    """Return the price of each item in ten-thousandths."""
    out: dict[str, int] = {}
    for key in table.values if table else ():
        assert table is not None
        text = table.typed_number(key, "14.28")
        item = table.via(key, _item, key)
        price = None if text is None else table.via(key, parse_price, text)
        if item is not None and price is not None:
            out[item] = price
    return out


def read_rules(table: Table | None) -> dict[str, int]:
    """Return the job's own rule figures."""
    out: dict[str, int] = {}
    for key in table.values if table else ():
        assert table is not None
        rule = RULES.get(key)
        text = table.typed_number(key, f'"{EXAMPLES[table.unit]}"')
        if rule is None:
            table.fault(key, f"no such rule{near(key, RULES)}", f"rules are {listing(RULES, 'and')}")
        elif text is not None:
            figure = table.via(key, parse_rule, rule, text, table.unit)
            if figure is not None:
                out[key] = figure
    return out


def read_changes(table: Table | None) -> tuple[tuple[str, PhaseChange], ...]:
    """Return the changes to the phase template, by phase key."""
    out: list[tuple[str, PhaseChange]] = []
    for key in table.values if table else ():
        assert table is not None
        phase = PHASES.get(key)
        if phase is None:
            table.fault(key, f"no such phase{near(key, PHASES)}", f"phases are {listing(PHASES, 'and')}")
            continue
        part = table.table(key)
        if part is None:
            continue
        skip = part.flag("skip")
        hours, each = _hours(part, "hours"), _hours(part, "hours_each")
        if each is not None and not phase.effort.per:
            part.fault("hours_each", f"{key} is not counted by a unit", "give the hours of the whole phase as hours")
        without = part.words("without_checks")
        for index, check in enumerate(without or ()):
            if check not in phase.checks:
                what = f"{key} has no check {check[:40]!r}{near(check, phase.checks)}"
                hint = f"it has {listing(phase.checks, 'and')}" if phase.checks else "it has none"
                part.problems.add((*part.path, "without_checks", index), what, hint)
        part.close()
        if skip is not None and without is not None:
            out.append((key, PhaseChange(skip, hours, without, each)))
    return tuple(out)


def _hours(part: Table, name: str) -> float | None:
    text = part.typed_number(name, "")
    if text is None:
        return None
    if not re.fullmatch(r"[0-9]{1,4}(\.[0-9]{1,4})?", text.strip()):
        part.fault(name, f"{text[:20]!r} is not a number of hours", "write person-hours from 0 to 9999, like 12 or 7.5")
        return None
    return float(text)


# What each doing takes: the keys it must have, then those it may have.
_TAKES: Mapping[Doing, tuple[tuple[str, ...], tuple[str, ...]]] = {
    Doing.START: (("phase",), ("reason", "past")),
    Doing.SIGNOFF: (("phase",), ("reason", "past", "leave")),
    Doing.HOLD: (("phase", "reason"), ()),
    Doing.REOPEN: (("phase", "reason"), ()),
    Doing.CHECK: (("check", "values"), ()),
    Doing.WAIVE: (("check", "reason"), ()),
    Doing.ORDER: (("lot", "count"), ("reason",)),
    Doing.RECEIVE: (("lot", "count"), ("reason",)),
    Doing.USE: (("lot", "count"), ("reason",)),
    Doing.RETURN: (("lot", "count"), ("reason",)),
    Doing.NOTE: (("text",), ()),
    Doing.RAIN: ((), ("reason",)),
    Doing.OFF: ((), ("reason",)),
    Doing.HOURS: (("text",), ("phase", "names")),
    Doing.QUOTE: ((), ("options", "equipment", "draws")),
    Doing.ACCEPT: ((), ("option", "draws")),
    Doing.EXTRA: (("text",), ("amount", "cost", "hours", "phase")),
    Doing.INVOICE: ((), ("draws", "amount", "text")),
    Doing.PAID: (("amount",), ("text",)),
    Doing.SPEND: (("amount", "phase", "text"), ()),
    Doing.PUNCH: (("text",), ("done",)),
}
_LISTS: Mapping[str, str] = {
    "values": """["16' 3", "20' 2 7/16"]""",
    "names": '["R. Stone", "K. Birch"]',
    "options": '["2x6 boards: board=2x6"]',
    "equipment": '["strip: compactor, 2 days at 85"]',
    "draws": '["deposit=10%", "final=rest"]',
    "leave": '["punch.2=the cap is on order"]',
}
"""Keys that hold a list of texts, and how one is written."""
_WHOLE: Mapping[str, str] = {"count": "12", "done": "1"}
_MONEY: Mapping[str, str] = {"amount": "1904.50", "cost": "90.00"}
_DEPOSIT = "deposit"


def read_log(
    tables: list[Table], spec: JobSpec | None, changes: Mapping[str, PhaseChange], lots: Collection[str]
) -> tuple[LogEntry, ...]:
    """Return the log lines that could be read whole.

    Without a ``spec`` (the platforms had faults) phases and checks are held only against the whole template.
    """
    having = phases_for(spec, changes, _folded(spec, tables)) if spec else tuple(PHASES.values())
    phases = {phase.key: names_of(phase) for phase in having}
    checks = _check_names(spec, having) if spec else None
    return tuple(entry for table in tables if (entry := _log_line(table, phases, checks, lots)))


def _folded(spec: JobSpec, tables: Iterable[Table]) -> frozenset[str]:
    """The phases that fold into others; what the log names stays on its own, as the job had it when that was written."""
    texts = [str(table.values.get("phase", "")) for table in tables]
    draws = [str(draw).partition("=")[0] for table in tables for draw in _listed(table.values.get("draws"))]
    named = named_in((*texts, *draws))
    return folds(spec, named, begun_by(named))


def _listed(value: object) -> Iterable[object]:
    return value if isinstance(value, list) else ()


def _check_names(spec: JobSpec, phases: Iterable[Phase]) -> tuple[str, ...]:
    """How each check of the job is written."""
    out: list[str] = []
    for phase in phases:
        for key in phase.checks:
            check = CHECKS[key]
            having = [platform.name for platform in spec.platforms if check.applies(spec, platform)]
            if check.per_platform and len(spec.platforms) > 1:
                out += [f"{key}.{name}" for name in having]
            elif having:
                out.append(key)
    return tuple(out)


def _log_line(
    table: Table, phases: Mapping[str, tuple[str, ...]], checks: tuple[str, ...] | None, lots: Collection[str]
) -> LogEntry | None:
    before = len(table.problems.found)
    on = table.day("on", "2026-05-12")
    at = table.clock("at")
    who = table.text("who", "R. Stone")
    word = table.choice("do", [x.value for x in Doing])
    if word is None:
        table.asked += list(table.values)
        return None
    do = Doing(word)
    must, may = _TAKES[do]
    values: dict[str, str] = {}
    lists: dict[str, tuple[str, ...]] = {}
    wholes: dict[str, int] = {}
    cents: dict[str, int | None] = {}
    for key in (*must, *may):
        needed = key in must or table.has(key)
        if key in _WHOLE and needed:
            wholes[key] = table.whole(key, 1, MOST_PIECES, _WHOLE[key]) or 0
        elif key in _LISTS and needed:
            lists[key] = table.words(key, _LISTS[key]) or ()
        elif key in _MONEY and needed:
            cents[key] = _amount(table, key, signed=do is Doing.EXTRA)
        elif needed:
            limit = NOTE_LIMIT if key in ("text", "reason", "past") else 200
            values[key] = table.text(key, _SHOW[key], limit=limit) or ""
        else:
            table.asked.append(key)
    if (phase := values.get("phase")) and phase not in phases:
        table.fault(
            "phase", f"this job has no phase {phase[:40]!r}{near(phase, phases)}", f"it has {listing(phases, 'and')}"
        )
    if check := values.get("check"):
        _known_check(table, check, checks)
    if (lot := values.get("lot")) and lot not in lots:
        hint = f"lots are {listing(sorted(lots), 'and')}" if lots else "add a [[lot]] with that code"
        table.fault("lot", f"no such lot {lot[:40]!r}{near(lot, lots)}", hint)
    minutes = _worked(table, do, values, phases)
    _known_draws(table, lists.get("draws", ()), phases)
    taken = ("on", "at", "who", "do", *must, *may)
    for key in table.values:
        if key not in taken:
            table.fault(key, f"{do.value} takes no {key}{near(key, taken)}", f"it takes {listing(taken, 'and')}")
    if on is None or who is None or len(table.problems.found) != before:
        return None
    return LogEntry(
        on=on,
        at=at,
        who=who,
        do=do,
        phase=values.get("phase", ""),
        check=values.get("check", ""),
        values=next((lists[key] for key in ("values", "names", "options") if key in lists), ()),
        lot=values.get("lot", ""),
        count=wholes.get("count", wholes.get("done", 0)),
        reason=values.get("reason", values.get("text", "")),
        amount_cents=cents.get("amount"),
        option=values.get("option", ""),
        draws=lists.get("draws", ()),
        past=values.get("past", ""),
        leave=lists.get("leave", ()),
        equipment=lists.get("equipment", ()),
        cost_cents=cents.get("cost") or 0,
        minutes=minutes,
    )


_SHOW = {
    "phase": "frame", "check": "square", "reason": "why", "lot": "L1", "text": "what happened", "option": "as drawn",
    "hours": "2 x 3h", "past": "why it goes on all the same",
}  # fmt: skip


def _amount(table: Table, key: str, *, signed: bool) -> int | None:
    """Cents; where ``signed``, a minus before an amount takes something off."""
    text = table.typed_number(key, f'"{_MONEY[key]}"')
    if text is None:
        return None
    off = signed and key == "amount" and text.strip().startswith("-")
    found = table.via(key, parse_money, text.strip()[1:] if off else text)
    return -found if off and found is not None else found


def _worked(table: Table, do: Doing, values: Mapping[str, str], phases: Mapping[str, tuple[str, ...]]) -> int:
    """The minutes a change takes; hours that were worked are only looked at: who enters them reads them again.

    ``phases`` are those of the job by key, each with all the names that hours may give it.
    """
    if do is Doing.HOURS and (text := values.get("text")):
        worked = table.via("text", parse_hours, text)
        if worked is not None and worked.phase and not any(worked.phase in names for names in phases.values()):
            hint = f"write it like 2 x 7h30 frame; it has {listing(phases, 'and')}"
            table.fault("text", f"this job has no phase {worked.phase[:40]!r}{near(worked.phase, phases)}", hint)
    if do is Doing.EXTRA and (text := values.get("hours")):
        worked = table.via("hours", parse_hours, text)
        return worked.minutes * max(worked.people, 1) if worked is not None else 0
    return 0


def _known_draws(table: Table, draws: Collection[str], phases: Collection[str]) -> None:
    for index, draw in enumerate(draws):
        name = draw.partition("=")[0].strip().lower()
        known = (_DEPOSIT, *phases)
        if name not in known and not name.startswith("change "):
            what = f"no such draw {name[:40]!r}{near(name, known)}"
            table.problems.add((*table.path, "draws", index), what, f"draws are {listing(known, 'and')}")


def _known_check(table: Table, check: str, checks: tuple[str, ...] | None) -> None:
    if checks is None:
        base = check.partition(".")[0]
        if base not in CHECKS:
            table.fault(
                "check", f"no such check {check[:40]!r}{near(base, CHECKS)}", f"checks are {listing(CHECKS, 'and')}"
            )
    elif check not in checks:
        table.fault(
            "check", f"this job has no check {check[:40]!r}{near(check, checks)}", f"it has {listing(checks, 'and')}"
        )


def json_safe(value: object) -> object:
    """The raw TOML value as JSON holds it: dates and times become ISO text."""
    match value:
        case Mapping():
            return {str(key): json_safe(item) for key, item in value.items()}
        case list() | tuple():
            return [json_safe(item) for item in value]
        case None | bool() | int() | float() | str():
            return value
        case _:
            return value.isoformat() if hasattr(value, "isoformat") else kind_of(value)
