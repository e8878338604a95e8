"""The papers of a hand-over, the care dates and the calendar as plain JSON values; keys are stable and documented."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from tracker.book.handviews import HandoverView, PunchItem
from tracker.planning.calendar import Event
from tracker.reports.asbuilt import record_json, record_of
from tracker.reports.handover import Part
from tracker.reports.jsonable import Table, day_json
from tracker.trade.answer import Plain
from tracker.trade.care import CareDate, care_cautions, care_notes
from tracker.trade.walkthrough import walk_through


def punch_json(item: PunchItem) -> Table:
    """A punch item."""
    return {
        "number": item.number,
        "id": item.id,
        "day": day_json(item.day),
        "who": item.who,
        "text": item.text,
        "done": day_json(item.done),
        "done_by": item.done_by,
        "done_note": item.done_note,
    }


def care_json(found: CareDate) -> Table:
    """A care date."""
    return {
        "key": found.task.key,
        "title": found.task.title,
        "what": found.task.what,
        "source": found.task.source,
        "every_months": found.task.months,
        "due": day_json(found.due),
        "done": day_json(found.done),
    }


def handover_json(view: HandoverView, parts: Collection[Part]) -> Table:
    """The papers chosen."""
    out: Table = {
        "job": view.code,
        "title": view.title,
        "client": view.client,
        "place": view.place,
        "day": day_json(view.day),
        "handed_over": day_json(view.handed_over),
        "stands_on": view.stands_on or None,
    }
    if Part.PUNCH in parts:
        out["punch"] = [punch_json(item) for item in view.punch]
        out["open"] = [{"what": item.what, "why": item.why, "clears": item.clears} for item in view.open_items]
    if Part.WALK in parts:
        out["walkthrough"] = [
            {
                "title": part.title,
                "points": [{"text": p.text, "limit": p.limit, "source": p.source} for p in part.points],
            }
            for part in walk_through(view.spec)
        ]
    if Part.RECORD in parts:
        out["record"] = record_json(record_of(view))
    if Part.CARE in parts:
        out["care"] = [care_json(found) for found in view.care]
        out["care_ended"] = view.care_ended
        out["care_notes"] = list(care_notes(view.spec))
        out["cautions"] = list(care_cautions(view.spec))
    return out


def events_json(events: Iterable[Event]) -> list[Plain]:
    """The events of a calendar."""
    return [
        {
            "uid": event.uid,
            "kind": event.kind.value,
            "job": event.job,
            "title": event.title,
            "first_day": day_json(event.start),
            "last_day": day_json(event.end),
            "every_months": event.months,
            "times": event.times,
            "text": event.text,
            "place": event.place,
        }
        for event in events
    ]
