"""Paper that must be good on the day: the permit, the locate ticket, and the three inspections."""

from __future__ import annotations

from datetime import date, timedelta

from tracker.text import count, listing
from tracker.trade.answer import Answer, Plain, Verdict
from tracker.trade.checks.base import Case, Check, incomplete, verdict
from tracker.trade.dates import format_day
from tracker.trade.phases import facts
from tracker.trade.readings import Field, Form, Kind, Readings
from tracker.trade.spec import JobSpec, Platform

_PERMIT_SOURCE = "the permit card; the local office decides"
_LOCATE_SOURCE = "the locate ticket; state one-call law decides (lead time: see the limit)"
_CODE = "The local office and the adopted code decide; a check here replaces neither."
_DIG = (
    "Hand-dig beside the marks, and know that they say nothing of depth. Marks washed out or mown off: call again. "
    "Struck something: stop, keep people away, call the operator; gas: leave, then call the emergency number."
)
_LAPSE = timedelta(days=180)
"""A permit commonly lapses when work has not begun 180 days after issue (from memory: IRC R105.5)."""


def working_days_after(day: date, days: int) -> date:
    """The day ``days`` working days (Monday to Friday) after ``day``; local holidays are not known here."""
    while days > 0:
        day += timedelta(days=1)
        days -= day.weekday() < 5
    return day


def working_days_before(day: date, days: int) -> date:
    """The last working day from which ``day`` is at least ``days`` working days away."""
    while day.weekday() >= 5:
        day -= timedelta(days=1)
    while days > 0:
        day -= timedelta(days=1)
        days -= day.weekday() < 5
    return day


def _planned(case: Case) -> date:
    """The day the paper must be good on: the planned day, or today when that is later or nothing is planned."""
    return max(case.today, case.needed_on or case.today)


def _show(day: date, case: Case) -> str:
    return format_day(day, case.today)


def _for_what(case: Case, work: str) -> str:
    day = _planned(case)
    if case.needed_on is None or day != case.needed_on:
        return f"judged for today, {_show(day, case)}"
    return f"{work} is planned {_show(day, case)}"


def _missing(form: Form, readings: Readings) -> list[str]:
    return [f.label for f in form.fields if f.required and not readings.has(f.key)]


def _permit_form(case: Case) -> Form:
    return Form(
        fields=(
            Field("number", "permit number", Kind.TEXT, example="B-2026-0412"),
            Field("issued", "issued on", Kind.DATE, example=case.today.isoformat()),
            Field(
                "expires",
                "expires on",
                Kind.DATE,
                required=False,
                help="leave blank when the card names no day",
            ),
        )
    )


def _judge_permit(case: Case, readings: Readings) -> Answer:
    if missing := _missing(_permit_form(case), readings):
        return incomplete(listing(missing, "and"), source=_PERMIT_SOURCE)
    number, issued, day = readings.word("number"), readings.day("issued"), _planned(case)
    expires = readings.day("expires") if readings.has("expires") else None
    working = [f"permit {number} issued {_show(issued, case)}", _for_what(case, "work under it")]
    moves: list[str] = []
    headline = f"permit {number} is good"
    if expires is None:
        working.append("the card names no last day")
        if day - issued > _LAPSE:
            moves.append(
                f"ask the office whether {number} still stands: {(day - issued).days} days after issue, and a permit"
                " commonly lapses when work has not begun in 180 (from memory: IRC R105.5)"
            )
    else:
        working.append(f"good to {_show(expires, case)}: {(expires - day).days} days after the day judged")
        headline += f" to {_show(expires, case)}"
    passed = True
    if expires is not None and expires < issued:
        passed, headline = False, "the permit expires before it was issued"
        moves = ["read both days off the card again"]
    elif issued > day:
        passed, headline = False, f"permit {number} is not issued until {_show(issued, case)}"
        moves = [f"start no work under it before {_show(issued, case)}"]
    elif expires is not None and expires < day:
        passed = False
        headline = f"permit {number} ran out on {_show(expires, case)}; {_for_what(case, 'work under it')}"
        if expires >= case.today:
            headline = headline.replace("ran out", "runs out")
        moves = ["ask the office to extend or renew it before work goes on"]
    answer: dict[str, Plain] = {
        "permit": number,
        "judged_for": day.isoformat(),
        "expires": expires.isoformat() if expires else None,
        "days_left": (expires - day).days if expires else None,
    }
    return verdict(
        passed, headline, inputs={"issued": issued.isoformat(), "today": case.today.isoformat()}, answer=answer,
        working=working, source=_PERMIT_SOURCE, moves=moves, caution=_CODE,
    )  # fmt: skip


def _locate_form(case: Case) -> Form:
    lead = case.rules.figure("locate_lead")
    return Form(
        fields=(
            Field("ticket", "ticket number", Kind.TEXT, example="2605110123"),
            Field("called", "called on", Kind.DATE, example=case.today.isoformat()),
            Field("expires", "ticket runs out on", Kind.DATE, example=(case.today + timedelta(days=14)).isoformat()),
            Field("answered", "every operator has answered", Kind.YESNO, example="yes",
                  help="each operator on the ticket: marked, or nothing there"),
            Field("private", "private lines located", Kind.YESNO, example="yes",
                  help="propane, irrigation, septic, dog fence, wiring past the meter; yes when there are none"),
            Field("start", "digging allowed from", Kind.DATE, required=False,
                  help=f"as the ticket says; left blank it counts {lead} working days from the call"),
        )
    )  # fmt: skip


def _judge_locate(case: Case, readings: Readings) -> Answer:
    if missing := _missing(_locate_form(case), readings):
        return incomplete(listing(missing, "and"), source=_LOCATE_SOURCE)
    ticket, called, expires = readings.word("ticket"), readings.day("called"), readings.day("expires")
    day, lead = _planned(case), case.rules.figure("locate_lead")
    counted = working_days_after(called, lead)
    start = readings.day("start") if readings.has("start") else counted
    working = [
        f"called {_show(called, case)} + {count(lead, 'working day')} = {_show(counted, case)}"
        + (f"; the ticket itself says {_show(start, case)}" if readings.has("start") else ""),
        f"ticket {ticket} good to {_show(expires, case)}",
        _for_what(case, "digging"),
    ]
    faults: list[str] = []
    moves: list[str] = []
    if called > case.today:
        faults.append(f"the call is dated {_show(called, case)}, after today")
        moves.append("read the day of the call off the ticket again")
    if expires < called or start < called or expires < start:
        faults.append("the ticket's days are out of order")
        moves.append("read the days off the ticket again: call, then start, then the last day")
    elif expires < day:
        word = "ran out" if expires < case.today else "runs out"
        faults.append(f"ticket {word} on {_show(expires, case)}; {_for_what(case, 'digging')}")
        moves.append(_new_ticket(case, day, lead))
    if start > day and expires >= start:
        faults.append(f"digging is allowed from {_show(start, case)}; {_for_what(case, 'digging')}")
        moves.append(f"put digging off to {_show(start, case)}")
    if not readings.yes("answered"):
        faults.append("not every operator has answered")
        moves.append("do not dig: ask the locate centre which operator is still to answer")
    if not readings.yes("private"):
        faults.append("private lines are not located")
        moves.append(
            "have private lines found before digging: propane, irrigation, septic, fence, wiring past the meter"
        )
    left = (expires - day).days
    good = f"ticket {ticket} good to {_show(expires, case)}; {_for_what(case, 'digging')}"
    if not faults and left <= 2:
        moves.append(f"finish the digging by {_show(expires, case)}, or call for a new ticket in time")
    return verdict(
        not faults,
        "; ".join(faults) or good,
        inputs={"ticket": ticket, "called": called.isoformat(), "today": case.today.isoformat()},
        answer={
            "judged_for": day.isoformat(), "dig_from": start.isoformat(), "expires": expires.isoformat(),
            "days_left": left, "answered": readings.yes("answered"), "private_located": readings.yes("private"),
        },
        working=working,
        source=_LOCATE_SOURCE,
        moves=moves,
        limits=(case.rules.limit("locate_lead", case.job.unit),),
        caution=_DIG,
    )  # fmt: skip


def _new_ticket(case: Case, day: date, lead: int) -> str:
    by = working_days_before(day, lead)
    if by >= case.today:
        return f"call for a new ticket by {_show(by, case)}"
    earliest = working_days_after(case.today, lead)
    return f"call for a new ticket today; digging can start {_show(earliest, case)} at the earliest"


_RESULTS = ("passed", "failed", "partial", "booked")


def _booked(case: Case, title: str, day: date | None, source: str) -> Answer:
    """An inspection that is booked and not yet looked at: open, and the plan waits for its day."""
    if day is None:
        return incomplete("the day it is booked for", source=source)
    shown = _show(day, case)
    over = day < case.today
    return Answer(
        headline=f"{title.lower()} was booked for {shown}: read what came of it"
        if over
        else f"{title.lower()} is booked for {shown}",
        inputs={"today": case.today.isoformat(), "permit_job": case.job.permit},
        answer={"result": "booked", "day": day.isoformat(), "by": None, "own_look": not case.job.permit},
        working=(f"{title.lower()} booked for {shown}",),
        source=source,
        verdict=Verdict.INCOMPLETE,
    )


def _inspection(
    key: str, title: str, look_at: str, before: str, *, footings_only: bool = False, caution: str = _CODE
) -> Check:
    """An inspection: the inspector's where there is a permit, else the contractor's own look, same form."""

    def form(case: Case) -> Form:
        own = not case.job.permit
        return Form(
            fields=(
                Field("result", "result", Kind.CHOICE, choices=_RESULTS, example="passed",
                      help="partial: passed but for what the note says; booked: the day it is to be looked at"),
                Field("day", "looked at, or booked for", Kind.DATE, example=case.today.isoformat()),
                Field("by", "looked at by" if own else "inspector or reference", Kind.TEXT,
                      example="crew lead" if own else "inspection 12-07"),
                Field("note", "what to put right", Kind.TEXT, required=False),
            )
        )  # fmt: skip

    def judge(case: Case, readings: Readings) -> Answer:
        own = not case.job.permit
        source = f"{'own look, no permit on this job' if own else 'the inspector'}; what to look at: common practice"
        result, note = readings.word("result"), readings.word("note")
        missing = _missing(form(case), readings)
        if not result or (result == "passed" and missing):
            return incomplete(listing(missing, "and"), source=source)
        looked = readings.day("day") if readings.has("day") else None
        if result == "booked":
            return _booked(case, title, looked, source)
        who = readings.word("by")
        where = f"{result} {_show(looked, case) if looked else ''}".strip() + (f" by {who}" if who else "")
        working = [f"{title.lower()}: {where}", f"looks at {look_at}"]
        if note:
            working.append(f"to put right: {note}")
        passed, moves = result == "passed", list[str]()
        headline = f"{title.lower()} {where}"
        if not passed:
            again = "look again" if own else "call the inspector back"
            moves.append(f"put right {note or 'what was found (write it in the note)'}, then {again} before {before}")
        elif looked is not None and looked > case.today:
            passed, headline = False, f"the inspection is dated {_show(looked, case)}, after today"
            moves.append("enter the day it was really looked at")
        elif note:
            moves.append(f"see to: {note}")
        return verdict(
            passed, headline, inputs={"today": case.today.isoformat(), "permit_job": case.job.permit},
            answer={"result": result, "day": looked.isoformat() if looked else None, "by": who or None,
                    "own_look": own},
            working=working, source=source, moves=moves, caution=caution,
        )  # fmt: skip

    def applies(job: JobSpec, platform: Platform) -> bool:
        return not footings_only or "footings" in facts(job)

    return Check(
        key=key,
        title=title,
        asks=f"have it looked at before {before}: {look_at}. With no permit, look yourself and sign for it.",
        source="common practice; the local office decides",
        form=form,
        judge=judge,
        applies=applies,
        per_platform=False,
        caution=caution,
    )


PERMIT = Check(
    key="permit",
    title="Permit",
    asks="read the number and the days off the permit card",
    source=_PERMIT_SOURCE,
    form=_permit_form,
    judge=_judge_permit,
    applies=lambda job, platform: job.permit,
    per_platform=False,
    caution=_CODE,
)

LOCATE = Check(
    key="locate",
    title="Utility locate",
    asks="read the locate ticket, check that every operator has answered, and that private lines are found",
    source=_LOCATE_SOURCE,
    form=_locate_form,
    judge=_judge_locate,
    applies=lambda job, platform: "digging" in facts(job),
    per_platform=False,
    caution=_DIG,
)

FOOTING_INSPECTION = _inspection(
    "footing-inspection", "Footing inspection",
    "hole count and place, width, depth to frost, flat undisturbed bottom, no loose soil or water, anchors",
    "concrete goes in",
    footings_only=True,
    caution="Open holes: cover or fence them. " + _CODE,
)  # fmt: skip
FRAMING_INSPECTION = _inspection(
    "framing-inspection", "Framing inspection",
    "grade stamps and end tags, sizes and spans, hangers full of the right nail, splices on posts, ledger and flashing,"
    " guard posts, clearance to soil; photograph all of it",
    "boards cover the frame",
)  # fmt: skip
FINAL_INSPECTION = _inspection(
    "final-inspection", "Final inspection",
    "guard height and openings, handrail, even risers, boards fixed and gaps, springiness, slivers, open items",
    "the deck is used",
)  # fmt: skip

INSPECTIONS = tuple(check.key for check in (FOOTING_INSPECTION, FRAMING_INSPECTION, FINAL_INSPECTION))
