"""What was read of papers, waits and checks, as days that bind the plan. Expected days are counted by hand on a calendar."""

from __future__ import annotations

from datetime import date

import pytest

from tests.trade.phase_jobs import FULL_JOB
from tracker.planning.allowed import Allowed, Known, Opening, allowed_days
from tracker.trade.answer import Answer, Plain, Verdict
from tracker.trade.phases import phases_for
from tracker.trade.rules import Rules

TUESDAY = date(2026, 5, 12)
DIGGING = ("strip", "dig", "pads")
ANEW = Opening(date(2026, 5, 15))
"""Called today, a Tuesday: three working days later is Friday."""


def day(number: int) -> date:
    return date(2026, 5, number)


def kept(verdict: Verdict = Verdict.PASSED, inputs: dict[str, Plain] | None = None, **answer: Plain) -> Answer:
    return Answer("kept", inputs or {}, answer, (), "common practice", verdict)


def ticket(start: int, last: int, called: int = 6) -> Answer:
    return kept(
        inputs={"called": day(called).isoformat()}, dig_from=day(start).isoformat(), expires=day(last).isoformat()
    )


def allowed(*known: Known, waived: tuple[str, ...] = ()) -> dict[str, Allowed]:
    return allowed_days(phases_for(FULL_JOB), known, waived, TUESDAY, Rules())


@pytest.mark.parametrize(
    ("known", "openings"),
    [
        (Known("locate", "locate", ticket(18, 29)), (Opening(day(18), day(29)), Opening(day(30)))),
        (Known("locate", "locate", ticket(8, 13)), (Opening(day(8), day(13)), ANEW)),
        (Known("locate", "locate", None), (ANEW,)),
        # Called for yesterday, nothing read off it yet: Monday and three working days are Thursday.
        (Known("locate", "locate", None, asked=day(11)), (Opening(day(14)),)),
        # Its days are out of order, or it is called for tomorrow: it allows nothing.
        (Known("locate", "locate", ticket(29, 18)), (ANEW,)),
        (Known("locate", "locate", ticket(18, 29, called=13)), (ANEW,)),
    ],
)
def test_digging_is_allowed_by_the_ticket_or_by_one_called_for_today(
    known: Known, openings: tuple[Opening, ...]
) -> None:
    found = allowed(known)
    for phase in DIGGING:
        if phase in found:
            assert found[phase].begins == (openings,)
    assert {"strip", "dig"} <= found.keys()
    assert ("locate" in found and not found["locate"].waits) is (known.answer is not None)


def test_a_waived_ticket_binds_nothing() -> None:
    found = allowed(Known("locate", "locate", ticket(18, 29), waived=True))
    assert found == {"locate": Allowed(waits=False)}


def test_no_work_under_a_permit_before_it_is_issued() -> None:
    found = allowed(Known("permit", "permit", kept(inputs={"issued": "2026-05-20"}, expires=None)))
    assert found["permit"].ends == day(20)
    assert found["strip"].begins == found["dig"].begins == ((Opening(day(20)),),)


def test_a_booked_inspection_is_not_over_before_its_day() -> None:
    booked = kept(Verdict.INCOMPLETE, result="booked", day="2026-05-21")
    assert allowed(Known("framing-inspection", "under-deck", booked)) == {"under-deck": Allowed(ends=day(21))}
    failed = kept(Verdict.FAILED, result="failed", day="2026-05-11")
    assert allowed(Known("framing-inspection", "under-deck", failed)) == {}


def test_concrete_is_loaded_on_the_day_the_footing_check_names() -> None:
    known = [Known("footing", "pour", kept(load_from=f"2026-05-{n}")) for n in (14, 16)]
    assert allowed(*known)["cure"] == Allowed(ends=day(16))
    assert allowed(*known, waived=("cure",))["cure"] == Allowed(waits=False)


def test_the_finish_waits_as_long_as_its_check_says() -> None:
    wet = kept(Verdict.FAILED, wait_until="2026-05-19")
    assert allowed(Known("finish-ready", "finish", wet)) == {"finish": Allowed(((Opening(day(19)),),))}
    assert allowed(Known("finish-ready", "finish", kept(wait_until=None))) == {}


def test_the_first_day_that_every_paper_allows() -> None:
    bound = Allowed(((Opening(day(14), day(18)), Opening(day(22))), (Opening(day(16)),)))
    assert [bound.first(day(n)).day for n in (12, 16, 18, 19, 23)] == [16, 16, 18, 22, 23]
