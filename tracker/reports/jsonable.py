"""Every view as plain JSON values, in one place: keys are stable and documented, whatever the views are
called inside.

A length is ``{"text": exact text, "mm": number}``, a day ``YYYY-MM-DD``, a moment ISO 8601 in UTC, money
whole cents under a key that ends in ``_cents``. What a view does not know is ``null``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime
from enum import Enum

from tracker.book import frontviews, sheetviews, views
from tracker.trade.answer import Answer, Plain
from tracker.trade.lengths import Unit, exact_text, millimetres
from tracker.trade.loading import load_in
from tracker.trade.metric import in_unit
from tracker.trade.readings import Field, Form
from tracker.trade.rules import RULES, RuleKind, Rules
from tracker.trade.spec import JobSpec

Table = dict[str, Plain]


def length_json(nm: int, unit: Unit) -> Table:
    """A length: its exact text in the job's unit and its millimetres."""
    return {"text": exact_text(nm, unit), "mm": millimetres(nm)}


def day_json(day: date | None) -> str | None:
    """A day as ``YYYY-MM-DD``."""
    return None if day is None else day.isoformat()


def moment_json(at: datetime) -> str:
    """A moment in UTC, to the second."""
    return at.astimezone(UTC).isoformat(timespec="seconds")


def answer_json(answer: Answer | None) -> Plain:
    """An answer, or null."""
    return None if answer is None else answer.as_json()


def blocker_json(blocker: views.Blocker) -> Table:
    """One thing in the way."""
    return {
        "what": blocker.what,
        "why": blocker.why,
        "clears": blocker.clears,
        "phase": blocker.phase,
        "check": blocker.check,
        "key": blocker.key,
    }


def _field_json(field: Field) -> Table:
    return {
        "key": field.key,
        "label": field.label,
        "kind": field.kind.value,
        "required": field.required,
        "example": field.example,
        "unit": field.unit,
        "choices": list(field.choices),
    }


def form_json(form: Form) -> Table:
    """What a check asks for."""
    return {
        "fields": [_field_json(field) for field in form.fields],
        "columns": [_field_json(field) for field in form.columns],
        "rows": list(form.rows),
        "row_word": form.row_word,
        "open_rows": form.open_rows,
        "least_rows": form.least_rows,
        "sample": form.sample,
    }


def check_json(check: views.CheckView) -> Table:
    """A check with its readings and waivers, oldest first."""
    return {
        "key": check.key,
        "title": check.title,
        "asks": check.asks,
        "phase": check.phase,
        "platform": check.platform,
        "state": check.state.value,
        "headline": check.headline,
        "answer": answer_json(check.answer),
        "form": form_json(check.form),
        "readings": [
            {
                "id": reading.id,
                "day": day_json(reading.day),
                "at": moment_json(reading.at),
                "who": reading.who,
                "entered": dict(reading.entered),
                "answer": answer_json(reading.answer),
                "corrects": reading.corrects,
                "withdrawn": reading.withdrawn,
            }
            for reading in check.readings
        ],
        "waivers": [
            {"id": w.id, "day": day_json(w.day), "at": moment_json(w.at), "who": w.who, "reason": w.reason}
            for w in check.waivers
        ],
        "caution": check.caution,
        "source": check.source,
    }


def past_json(past: views.PastView) -> Table:
    """A start or sign-off that went past what stood in its way."""
    return {
        "id": past.id,
        "day": day_json(past.day),
        "at": moment_json(past.at),
        "who": past.who,
        "event": past.event,
        "things": [{"key": t.key, "what": t.what, "why": t.why, "reason": t.reason} for t in past.things],
    }


def phase_json(phase: views.PhaseView) -> Table:
    """A phase with its checks."""
    return {
        "key": phase.key,
        "title": phase.title,
        "state": phase.state.value,
        "hold_point": phase.hold,
        "planned_start": day_json(phase.planned_start),
        "planned_end": day_json(phase.planned_end),
        "first_planned_end": day_json(phase.first_planned_end),
        "started": day_json(phase.started),
        "signed_off": day_json(phase.signed_off),
        "signed_by": phase.signed_by,
        "held_why": phase.held_why,
        "undone_by": list(phase.undone_by),
        "checks": [check_json(check) for check in phase.checks],
        "cautions": list(phase.cautions),
        "stands_in_way": [blocker_json(blocker) for blocker in phase.stands_in_way],
        "past": [past_json(past) for past in phase.past],
        "carries": list(phase.carries),
    }


def lot_json(lot: views.LotView) -> Table:
    """A lot and its quantities."""
    return {
        "lot": lot.code,
        "item": lot.item,
        "supplier": lot.supplier,
        "unit": lot.unit,
        "phase": lot.phase,
        "ordered": lot.ordered,
        "received": lot.received,
        "used": lot.used,
        "returned": lot.returned,
        "scrapped": lot.scrapped,
        "found": lot.found,
        "moved_out": lot.moved_out,
        "canceled": lot.canceled,
        "on_hand": lot.on_hand,
        "culls": lot.culls,
        "usable": lot.usable,
        "on_order": lot.on_order,
        "promised": day_json(lot.promised),
        "use_category": lot.use_category,
        "wood": lot.wood,
        "dry": lot.dry,
        "unfit": list(lot.unfit),
    }


def need_json(need: views.NeedView) -> Table:
    """What is needed of one item and what is left to buy."""
    return {
        "job": need.job,
        "item": need.item,
        "title": need.title,
        "unit": need.unit,
        "phase": need.phase,
        "needed_on": day_json(need.needed_on),
        "need": need.need,
        "used": need.used,
        "on_hand": need.on_hand,
        "on_order": need.on_order,
        "to_buy": need.to_buy,
        "cost_cents": need.cost_cents,
        "late": need.late,
        "supplier": need.supplier,
        "pack": need.pack,
        "order_by": day_json(need.order_by),
        "price_old": need.stale,
        "use_category": need.use_category,
        "wood": need.wood,
        "price_e4": need.price_e4,
        "proven": need.proven,
        "working": list(need.working),
    }


def delivery_json(delivery: views.DeliveryView | None) -> Plain:
    """Pieces still to come, or null."""
    if delivery is None:
        return None
    return {
        "job": delivery.job,
        "lot": delivery.lot,
        "item": delivery.item,
        "unit": delivery.unit,
        "supplier": delivery.supplier,
        "quantity": delivery.quantity,
        "promised": day_json(delivery.promised),
    }


def line_json(line: views.JobLine) -> Table:
    """One job of the list."""
    return {
        "job": line.code,
        "title": line.title,
        "client": line.client,
        "place": line.place,
        "crew": line.crew,
        "phase": line.phase,
        "phase_title": line.phase_title,
        "phase_state": line.phase_state.value,
        "phases": [state.value for state in line.strip],
        "signed_off": line.signed_off,
        "hold": line.hold,
        "hold_do": line.hold_do,
        "hold_clears": line.hold_clears,
        "next_delivery": delivery_json(line.next_delivery),
        "days_late": line.days_late,
        "planned_end": day_json(line.planned_end),
        "handed_over": day_json(line.handed_over),
        "bought_cents": line.bought.cents,
        "bought_bound": line.bought.bound.value,
        "needed_cents": line.bought.needed_cents,
        "needed_bound": line.bought.gaps.cost.value,
        "without_price": list(line.bought.gaps.goods),
        "finished": line.finished,
    }


def note_json(note: views.NoteView) -> Table:
    """A note."""
    return {"day": day_json(note.day), "at": moment_json(note.at), "who": note.who, "text": note.text}


def spec_json(spec: JobSpec) -> Table:
    """The sizes and choices of a job; every field of the specification under its own name, lengths as
    lengths.
    """
    out = _plain(spec, spec.unit)
    assert isinstance(out, dict)
    out["rules"] = rules_json(spec.rules, spec.unit)
    return out


def _plain(value: object, unit: Unit) -> Plain:
    if is_dataclass(value) and not isinstance(value, type):
        out: Table = {}
        for field in fields(value):
            inner = getattr(value, field.name)
            if isinstance(inner, Rules):
                continue
            if field.name.endswith("_nm") and isinstance(inner, int):
                out[field.name.removesuffix("_nm")] = length_json(inner, unit)
            else:
                out[field.name] = _plain(inner, unit)
        return out
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, date):
        return value.isoformat()
    if value is None or isinstance(value, str | int | float | bool):
        return value
    if isinstance(value, Mapping):
        return {str(key): _plain(inner, unit) for key, inner in value.items()}
    if isinstance(value, Iterable):
        return [_plain(inner, unit) for inner in value]
    raise TypeError(f"no JSON for {type(value).__name__}")


def rules_json(rules: Rules, unit: Unit) -> Table:
    """The rules in force by key."""
    out: Table = {}
    for rule in RULES:
        figure = rules.figure(rule.key)
        value: Plain
        match rule.kind:
            case RuleKind.LENGTH:
                value = length_json(figure, unit)
            case RuleKind.PERCENT:
                value = figure / 10**rule.decimals
            case RuleKind.LOAD:
                value = load_in(figure, unit)
            case RuleKind.CHOICE:
                value = rule.choices[figure]
            case _:
                value = figure
        out[rule.key] = {
            "what": in_unit(rule.what, unit),
            "kind": rule.kind.value,
            "figure": value,
            "source": rules.source(rule.key),
            "default": Rules(unit=unit).text(rule.key, unit),
            "published": in_unit(rule.published, unit),
        }
    return out


def job_json(job: views.JobView) -> Table:
    """Everything about one job."""
    return {
        **line_json(job.line),
        "start": day_json(job.start),
        "spec": spec_json(job.spec),
        "design": design_json(job.design_faults, job.stands_on),
        "phase_list": [phase_json(phase) for phase in job.phases],
        "lots": [lot_json(lot) for lot in job.lots],
        "needs": [need_json(need) for need in job.needs],
        "deliveries": [delivery_json(delivery) for delivery in job.deliveries],
        "notes": [note_json(note) for note in job.notes],
    }


def design_json(faults: Iterable[str], stands_on: str) -> Table:
    """What of a job's design fails, and on whose design it stands."""
    return {"fails": list(faults), "stands_on": stands_on or None}


def need_you_json(need: frontviews.NeedsYou) -> Table:
    """A thing that needs a person."""
    return {
        "job": need.job,
        "kind": need.worry.word,
        "what": need.what,
        "why": need.why,
        "do": need.do,
        "clears": need.clears,
        "due": None if need.due is None else day_json(need.due),
        "text": f"{need.worry.word}: {need.said}; {need.do}",
    }


def sheet_json(sheet: sheetviews.DaySheet) -> Table:
    """The day sheet."""
    return {
        "day": day_json(sheet.day),
        "next_working_day": day_json(sheet.next_working_day),
        "needs_owner": [need_you_json(need) for need in sheet.needs],
        "jobs": [_job_sheet_json(job) for job in sheet.jobs],
        "totals": dict(sheet.totals),
        "buy": [
            {"item": item, "title": title, "unit": unit, "to_buy": number}
            for item, title, unit, number in sheet.buy_totals
        ],
    }


def _job_sheet_json(job: sheetviews.JobSheet) -> Table:
    return {
        **line_json(job.line),
        "signed_off_today": [{"phase": title, "who": who} for title, who in job.signed_off_today],
        "design": design_json(job.design_faults, job.stands_on),
        "under_way": list(job.under_way),
        "failed": [check_json(check) for check in job.failed],
        "waived": [check_json(check) for check in job.waived],
        "undone": [{"phase": title, "checks": list(keys)} for title, keys in job.undone],
        "past": [{"phase": title, **past_json(past)} for title, past in job.past],
        "carries": [{"phase": title, "carries": list(titles)} for title, titles in job.carries],
        "holds": [blocker_json(blocker) for blocker in job.holds],
        "next_work": [
            {"phase": title, "first_day": day_json(first), "last_day": day_json(last)}
            for title, first, last in job.next_work
        ],
        "deliveries": [delivery_json(delivery) for delivery in job.deliveries],
        "to_buy": [need_json(need) for need in job.to_buy],
        "cautions_tomorrow": list(job.cautions_tomorrow),
        "notes_today": [note_json(note) for note in job.notes_today],
    }


def recorded_json(recorded: views.Recorded) -> Table:
    """What a write answered."""
    return {
        "id": recorded.id,
        "already": recorded.already,
        "text": recorded.text,
        "notices": list(recorded.notices),
        "blockers": [blocker_json(blocker) for blocker in recorded.blockers],
        "answer": answer_json(recorded.answer),
    }


def taken_json(result: views.TakeResult) -> Table:
    """What taking one job file did."""
    return {
        "job": result.code,
        "title": result.title,
        "change": result.change,
        "details": list(result.details),
        "warnings": list(result.warnings),
    }


def person_json(person: views.PersonView) -> Table:
    """A person who signs."""
    return {
        "name": person.name,
        "role": person.role,
        "may_waive": person.may_waive,
        "since": day_json(person.since),
    }


def doctor_json(report: views.DoctorReport) -> Table:
    """The health of a book."""
    return {
        "book": report.path,
        "schema": report.schema,
        "entries": report.entries,
        "jobs": report.jobs,
        "devices": report.devices,
        "facts": list(report.facts),
        "problems": list(report.problems),
        "warnings": list(report.warnings),
        "advice": report.advice,
    }
