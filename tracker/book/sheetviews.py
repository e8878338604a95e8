"""What the book answers about a day: the sheet of every job and of all together. Frozen read models."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from tracker.book.frontviews import NeedsYou
from tracker.book.views import Blocker, CheckView, DeliveryView, JobLine, NeedView, NoteView, PastView, PhaseState
from tracker.trade.spec import JobSpec


@dataclass(frozen=True, slots=True)
class JobSheet:
    """One job's part of the day sheet."""

    line: JobLine
    signed_off_today: tuple[tuple[str, str], ...]
    """Phase title and who."""
    under_way: tuple[str, ...]
    failed: tuple[CheckView, ...]
    waived: tuple[CheckView, ...]
    undone: tuple[tuple[str, tuple[str, ...]], ...]
    """Phases whose sign-off a later failing reading undid, and the checks that did."""
    holds: tuple[Blocker, ...]
    next_work: tuple[tuple[str, date, date], ...]
    """Phase title, first and last planned day."""
    deliveries: tuple[DeliveryView, ...]
    to_buy: tuple[NeedView, ...]
    cautions_tomorrow: tuple[str, ...]
    notes_today: tuple[NoteView, ...]
    spec: JobSpec
    """As it was known that day, for the drawing."""
    steps: tuple[tuple[str, str, PhaseState], ...]
    """Every phase in order: key, title, where it stands."""
    checks: tuple[CheckView, ...]
    past: tuple[tuple[str, PastView], ...] = ()
    """Phase title, and a start or sign-off of it that went past what stood in its way."""
    carries: tuple[tuple[str, tuple[str, ...]], ...] = ()
    """Phase not settled, and the titles of phases that have begun on top of it."""
    design_faults: tuple[str, ...] = ()
    """Clauses of the design that fail, in words."""
    stands_on: str = ""
    """On whose design it stands, where one is recorded."""


@dataclass(frozen=True, slots=True)
class DaySheet:
    """The evening page over all open jobs and those finished that day, as known at the end of ``day``."""

    day: date
    next_working_day: date
    needs: tuple[NeedsYou, ...]
    """What needs a person, as the morning shows it."""
    jobs: tuple[JobSheet, ...]
    totals: Mapping[str, int]
    """jobs (open ones), held, phases_signed_off_today, checks_failed, checks_waived, items_to_buy, cost_to_buy_cents,
    goods_not_priced (which are not in it), deliveries_due."""
    buy_totals: tuple[tuple[str, str, str, int], ...]
    """Item, title, unit and pieces to buy, added over the jobs."""
