"""When a job is handed over, and by how much that has slipped."""

from __future__ import annotations

from datetime import date

from tracker.book.state import JobState
from tracker.planning.schedule import days_late

HAND_OVER = "hand-over"


def hand_over_day(state: JobState) -> date:
    """When the job is planned to be handed over; the last planned day once it is, or for a job without a hand-over.

    The boards may wait weeks for their finish after it.
    """
    if HAND_OVER in state.plan and not state.signed(HAND_OVER):
        return state.plan[HAND_OVER].end
    return max(span.end for span in state.plan.values())


def working_days_late(state: JobState) -> int:
    """Working days by which the job has slipped against its first plan (negative: ahead)."""
    return days_late(state.first_plan, state.plan, state.calendar)
