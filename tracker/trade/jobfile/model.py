"""What a job file holds once it is read: frozen values, nothing left to check."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from datetime import date, time
from enum import StrEnum

from tracker.trade.answer import Plain
from tracker.trade.lengths import Unit
from tracker.trade.phases import BY_KEY, PhaseChange
from tracker.trade.spec import JobSpec


class Doing(StrEnum):
    """What a line of the log records."""

    START = "start"
    SIGNOFF = "signoff"
    HOLD = "hold"
    REOPEN = "reopen"
    CHECK = "check"
    WAIVE = "waive"
    ORDER = "order"
    RECEIVE = "receive"
    USE = "use"
    RETURN = "return"
    NOTE = "note"
    RAIN = "rain"
    OFF = "off"
    HOURS = "hours"
    QUOTE = "quote"
    ACCEPT = "accept"
    EXTRA = "extra"
    INVOICE = "invoice"
    PAID = "paid"
    SPEND = "spend"
    PUNCH = "punch"


@dataclass(frozen=True, slots=True)
class LotEntry:
    """A material lot as the file opens it; movements of the log come on top of ``ordered`` and ``received``.

    ``ordered_on``, ``promised`` and ``received_on`` are None when the file does not say; ``use_category`` is empty for
    goods that are not treated wood; ``dry`` is lumber sold as dry.
    """

    code: str
    item: str
    supplier: str
    ordered: int
    ordered_on: date | None
    promised: date | None
    received: int
    received_on: date | None
    use_category: str
    dry: bool


@dataclass(frozen=True, slots=True)
class LogEntry:
    """One line of the log, in the order of the file; fields that its ``do`` does not take are empty.

    ``check`` is a check key, with the platform's name after a dot where the job has several (``square.upper``);
    ``values`` are readings as the check command takes them, or what else there are several of: the names of who worked, the
    options of a quote, the draws. ``reason`` is why, or the text of the line. ``amount_cents`` is None where no amount stands;
    ``minutes`` and ``cost_cents`` are what a change costs us; ``count`` is the number of a punch item that is done. ``past``
    is why a start or sign-off goes past what stands in its way, ``leave`` what a hand-over leaves open, as ``KEY=REASON``.
    """

    on: date
    at: time | None
    who: str
    do: Doing
    phase: str = ""
    check: str = ""
    values: tuple[str, ...] = ()
    lot: str = ""
    count: int = 0
    reason: str = ""
    amount_cents: int | None = field(default=None, repr=False)
    option: str = field(default="", repr=False)
    draws: tuple[str, ...] = field(default=(), repr=False)
    equipment: tuple[str, ...] = field(default=(), repr=False)
    cost_cents: int = field(default=0, repr=False)
    minutes: int = field(default=0, repr=False)
    past: str = field(default="", repr=False)
    leave: tuple[str, ...] = field(default=(), repr=False)

    @property
    def identity(self) -> str:
        """What tells this line from the job's others: a line has the same in every version that can read it."""
        more = [
            f"{x.name}={value!r}" for x in fields(self) if not x.repr and (value := getattr(self, x.name)) != x.default
        ]
        return ", ".join((repr(self), *more))


@dataclass(frozen=True, slots=True)
class JobFile:
    """A whole job file.

    ``prices`` are ten-thousandths of the currency unit for each piece, box or roll of an item. ``source`` is all that
    was written, as JSON holds it (dates as ISO text): ``parse_job_table`` reads it back to the same job.
    """

    code: str
    title: str
    client: str
    site: str
    unit: Unit
    crew: str
    start: date
    spec: JobSpec
    lots: tuple[LotEntry, ...]
    prices: Mapping[str, int]
    phase_changes: tuple[tuple[str, PhaseChange], ...]
    log: tuple[LogEntry, ...]
    source: Mapping[str, Plain]

    @property
    def phases_named(self) -> frozenset[str]:
        """The phases that lines of its log name."""
        return named_in(entry.phase for entry in self.log) | named_in(
            draw.partition("=")[0] for entry in self.log for draw in entry.draws
        )


def named_in(texts: Iterable[str]) -> frozenset[str]:
    """The phases of the template among texts."""
    return frozenset(key for text in texts if (key := text.strip().lower()) in BY_KEY)
