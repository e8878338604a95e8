"""What the book answers over all jobs: the morning, and the places words were found. Frozen read models."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import Enum, IntEnum

from tracker.book.handviews import Reminder
from tracker.book.views import DeliveryView, NeedView, PhaseState


class Room(Enum):
    """Where a screen goes: a job (at a phase or check of it), its material, or what is to buy for it."""

    JOB = "job"
    LOTS = "material"
    BUY = "to buy"
    HAND_OVER = "hand-over"
    MONEY = "money"


@dataclass(frozen=True, slots=True)
class Place:
    """A place to go: the ``room`` of a ``job``; ``at`` is a phase or check key, empty for neither."""

    job: str
    room: Room = Room.JOB
    at: str = ""


class Worry(IntEnum):
    """Why something needs a person, the worst first."""

    UNDONE = 0
    COVERED = 1
    FAILED = 2
    HELD = 3
    AGAIN = 4
    WARRANTY = 5
    PAPER = 6
    LATE = 7
    SHORT = 8
    MONEY = 9
    BEHIND = 10
    OFFICE = 11

    @property
    def word(self) -> str:
        """The worry in one word."""
        return _WORDS[self]

    @property
    def holds(self) -> bool:
        """Whether such a thing holds the work of its job up, or is what its client waits for."""
        return self in (
            Worry.UNDONE, Worry.COVERED, Worry.FAILED, Worry.HELD, Worry.WARRANTY, Worry.LATE, Worry.SHORT,
        )  # fmt: skip


_WORDS = ("undone", "covered", "FAILED", "held", "again", "call", "paper", "late", "short", "money", "behind", "office")


@dataclass(frozen=True, slots=True)
class NeedsYou:
    """One thing that needs a person: ``what`` it is and ``why``, what to ``do``, and the command that ``clears`` it.

    ``due`` is the day it is about where it has one: to order by, promised, the last a paper is good.
    """

    worry: Worry
    job: str
    title: str
    what: str
    why: str
    do: str
    clears: str
    place: Place
    due: date | None = None

    @property
    def said(self) -> str:
        """What it is and why, in one sentence."""
        return f"{self.what}: {self.why}" if self.why else self.what


@dataclass(frozen=True, slots=True)
class CrewLine:
    """Where a crew is today: the phase, its day of how many, the checks still to read there.

    ``day`` 0 says that the crew has nothing today and ``starts`` the phase then.
    """

    crew: str
    job: str
    title: str
    phase: str
    phase_title: str
    state: PhaseState
    day: int
    days: int
    starts: date
    checks: tuple[tuple[str, str], ...]
    """Key and title of each check of the phase that is open or failed."""


@dataclass(frozen=True, slots=True)
class Clash:
    """A crew planned on several jobs the same day."""

    crew: str
    day: date
    jobs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Outdoors:
    """Work of a job that weather stops; ``rain_day`` when today is recorded as one."""

    job: str
    phase: str
    phase_title: str
    start: date
    end: date
    rain_day: bool


@dataclass(frozen=True, slots=True)
class WeatherLine:
    """What weather stops, in words, and the work of these days that it stops."""

    stops: str
    works: tuple[Outdoors, ...]


@dataclass(frozen=True, slots=True)
class MorningView:
    """Today over all open jobs. Deliveries are the overdue ones first; what to pick up stands by supplier.

    ``jobs`` counts every job the book ever had; ``care`` are care dates of handed-over jobs, near or over.
    """

    day: date
    next_working_day: date
    jobs: int
    open_jobs: int
    needs: tuple[NeedsYou, ...]
    crews: tuple[CrewLine, ...]
    clashes: tuple[Clash, ...]
    coming: tuple[DeliveryView, ...]
    pick_up: tuple[NeedView, ...]
    weather: tuple[WeatherLine, ...]
    care: tuple[Reminder, ...] = ()


@dataclass(frozen=True, slots=True)
class Hit:
    """Words found: ``kind`` says in what, ``text`` shows them with what stands around, ``place`` is where to go."""

    kind: str
    job: str
    title: str
    text: str
    place: Place


@dataclass(frozen=True, slots=True)
class Found:
    """The hits of a search, the nearest first; ``left_out`` says how many more there are."""

    hits: tuple[Hit, ...]
    left_out: int
