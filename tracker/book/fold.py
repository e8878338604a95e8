"""From entries to states: every status shown anywhere is computed here, from entries in order of arrival. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from tracker.book.entries import Entry
from tracker.book.views import CheckState, Passed, PastView, PhaseState, ReadingView, WaiverView
from tracker.trade.answer import Answer, Verdict, answer_from_json, read_in
from tracker.trade.dates import format_day

WITHDRAWN = "withdrawn"
"""What the body of an entry holds that takes another one of its kind back: the reason."""


def in_force(entries: Iterable[Entry]) -> list[Entry]:
    """The entries that count, in order of arrival: those taken back are left out, and what took them back.

    A movement that corrects another one counts in its place (and as if it had arrived then), unless it was taken back itself: then the one before it does.
    (Readings, hours and money have folds of their own for this; a punch item's ``done`` note corrects nothing.)
    """
    every = list(entries)
    gone = {entry.corrects for entry in every if entry.body.get(WITHDRAWN)}
    kept = [entry for entry in every if entry.id not in gone and not entry.body.get(WITHDRAWN)]
    replaced = {entry.corrects for entry in kept if entry.kind == "movement" and entry.corrects}
    if not replaced:
        return kept
    place: dict[str, int] = {}
    for entry in every:
        place[entry.id] = place.get(entry.corrects, entry.arrived) if entry.kind == "movement" else entry.arrived
    moved = (replace(entry, arrived=place[entry.id]) for entry in kept if entry.id not in replaced)
    return sorted(moved, key=lambda entry: entry.arrived)


@dataclass(frozen=True, slots=True)
class CheckFold:
    """A check's history: readings (corrected and withdrawn ones too) and waivers, oldest first; the reading in force.

    ``changed_arrived`` is when the reading in force last became another one: it arrived, or a later one was taken back.
    ``standing`` are the readings neither corrected nor taken back, by what they tell of (the last is in force), ``waived_at`` when each waiver came; ``by_lot`` is the
    state where it was worked out lot by lot (``inspection.by_lot``).
    ``last_place`` is when what it tells of was read: for a correction, the arrival of the reading it corrects.
    """

    readings: tuple[ReadingView, ...] = ()
    waivers: tuple[WaiverView, ...] = ()
    last: ReadingView | None = None
    last_arrived: int = 0
    waived_arrived: int = 0
    changed_arrived: int = 0
    standing: tuple[ReadingView, ...] = ()
    waived_at: tuple[int, ...] = ()
    by_lot: CheckState | None = None
    last_place: int = 0

    def sample_failed(self, corrected: str = "") -> bool:
        """Whether a sample failed since the check last passed, so that every row is read; ``corrected`` is the id of a reading
        that is being corrected and says nothing.
        """
        for view in reversed(self.standing):
            if view.id == corrected:
                continue
            if view.answer.verdict is Verdict.PASSED:
                return False
            if view.answer.verdict is Verdict.FAILED and view.answer.answer.get("by_eye"):
                return True
        return False

    def state(self, answer: Answer | None) -> CheckState:
        """The state, given the verdict in force for the last reading.

        A waiver covers what was open or failed when it was given; a later reading that fails needs a new one. Taking that
        reading back leaves the waiver standing.
        """
        if self.by_lot is not None:
            return self.by_lot
        if answer is not None and answer.verdict is Verdict.PASSED:
            return CheckState.PASSED
        if self.waived_arrived > self.last_arrived:
            return CheckState.WAIVED
        if answer is not None and answer.verdict is Verdict.FAILED:
            return CheckState.FAILED
        return CheckState.OPEN


def fold_check(entries: Iterable[Entry], today: date | None = None) -> CheckFold:
    """Fold the reading and waiver entries of one check.

    A waiver stands unless it was taken back. A reading stands unless it was taken back, or a reading that was not taken back
    corrects it: taking a correction back puts what it corrected in force again. The newest standing reading is in force; a
    correction counts from the place of the reading it corrects, so that correcting an older one never beats a newer one. Days
    of another year than that of ``today`` carry their year; without it all do.
    """
    readings: dict[str, tuple[ReadingView, int]] = {}
    withdrawn: dict[str, str] = {}
    waivers: list[tuple[WaiverView, int]] = []
    changed = 0
    for entry in entries:
        if entry.body.get(WITHDRAWN):
            withdrawn[entry.corrects] = f"{entry.body[WITHDRAWN]} ({entry.who}, {format_day(entry.day, today)})"
            changed = entry.arrived
        elif entry.kind == "reading":
            readings[entry.id] = (_reading(entry, today), entry.arrived)
        elif entry.kind == "waiver":
            view = WaiverView(entry.id, entry.day, entry.at, entry.who, entry.body["reason"])
            waivers.append((view, entry.arrived))
    replaced = {view.corrects for view, _ in readings.values() if view.corrects and view.id not in withdrawn}
    standing = [pair for key, pair in readings.items() if key not in replaced and key not in withdrawn]
    places = {view.id: _place(view, readings) for view, _ in standing}
    standing.sort(key=lambda pair: (places[pair[0].id], pair[1]))
    last, arrived = standing[-1] if standing else (None, 0)
    history = tuple(replace(view, withdrawn=withdrawn.get(key, "")) for key, (view, _) in readings.items())
    let_pass = [(view, at) for view, at in waivers if view.id not in withdrawn]
    return CheckFold(
        history,
        tuple(view for view, _ in let_pass),
        last,
        arrived,
        max((at for _, at in let_pass), default=0),
        max(arrived, changed),
        tuple(view for view, _ in standing),
        tuple(at for _, at in let_pass),
        last_place=places[last.id] if last is not None else 0,
    )


def _place(view: ReadingView, readings: Mapping[str, tuple[ReadingView, int]]) -> int:
    """When the reading arrived that this one corrects, over any number of corrections; its own arrival otherwise."""
    while view.corrects in readings:
        view = readings[view.corrects][0]
    return readings[view.id][1]


def _reading(entry: Entry, today: date | None) -> ReadingView:
    return ReadingView(
        id=entry.id,
        day=entry.day,
        at=entry.at,
        who=entry.who,
        entered=tuple((name, text) for name, text in entry.body["entered"]),
        answer=read_in(answer_from_json(entry.body["answer"]), entry.day, today),
        corrects=entry.corrects,
        arrived=entry.arrived,
    )


@dataclass(frozen=True, slots=True)
class PhaseFold:
    """A phase's events folded: its state, first start, last sign-off and by whom, why it is held or was reopened.

    ``arrived`` is when its last event did; ``past`` are the starts and sign-offs that went past what stood in the way, oldest
    first; ``booked`` says that its sign-off booked what it used.
    """

    state: PhaseState = PhaseState.AHEAD
    started: date | None = None
    signed_off: date | None = None
    signed_by: str = ""
    signed_arrived: int = 0
    held_why: str = ""
    waits_waived: bool = False
    reopened: str = ""
    arrived: int = 0
    past: tuple[PastView, ...] = ()
    booked: bool = False


def fold_phase(entries: Iterable[Entry], today: date | None = None) -> PhaseFold:
    """Fold the events (and waivers of its wait) of one phase; ``today`` as for ``fold_check``."""
    fold = PhaseFold()
    for entry in in_force(entries):
        if entry.kind == "waiver":
            fold = replace(fold, waits_waived=True)
            continue
        fold = replace(fold, arrived=entry.arrived, past=fold.past + _past(entry))
        match entry.body["event"]:
            case "started":
                fold = replace(fold, state=PhaseState.UNDER_WAY, started=fold.started or entry.day, held_why="")
            case "held":
                fold = replace(fold, state=PhaseState.HELD, held_why=entry.body["reason"])
            case "signed off":
                fold = replace(
                    fold,
                    state=PhaseState.SIGNED_OFF,
                    started=fold.started or entry.day,
                    signed_off=entry.day,
                    signed_by=entry.who,
                    signed_arrived=entry.arrived,
                    held_why="",
                    reopened="",
                    booked=bool(entry.body.get("booked")),
                )
            case "reopened":
                by = f"{entry.who}, {format_day(entry.day, today)}: {entry.body['reason']}"
                fold = replace(
                    fold, state=PhaseState.UNDER_WAY, signed_off=None, signed_by="", signed_arrived=0, reopened=by,
                    booked=False,
                )  # fmt: skip
    return fold


def _past(entry: Entry) -> tuple[PastView, ...]:
    things = tuple(Passed(x["key"], x["what"], x["why"], x["reason"]) for x in entry.body.get("past", ()))
    return (PastView(entry.id, entry.day, entry.at, entry.who, entry.body["event"], things),) if things else ()


@dataclass(frozen=True, slots=True)
class LotFold:
    """A lot's quantities and promise, from its movements.

    ``ordered`` is what still stands of its orders: less the ``canceled``.
    ``found`` came without an order: put back from offcuts, or moved in from another job. ``paid_e4`` is the last price
    an order was made at, ten-thousandths for a piece (None when nobody noted one). ``culls`` are pieces on hand that
    inspection found unfit: they wait to be sent back or scrapped, and are never built in. ``sent_away`` has each return
    and scrapping: its place in the book, its pieces. ``came`` is the last day something was received, ``used_for`` the
    pieces that sign-offs booked, by phase.
    """

    ordered: int = 0
    received: int = 0
    used: int = 0
    returned: int = 0
    scrapped: int = 0
    found: int = 0
    moved_out: int = 0
    canceled: int = 0
    promised: date | None = None
    paid_e4: int | None = None
    culls: int = 0
    sent_away: tuple[tuple[int, int], ...] = ()
    came: date | None = None
    used_for: tuple[tuple[str, int], ...] = ()

    @property
    def on_hand(self) -> int:
        """Pieces in the yard."""
        return self.received + self.found - self.used - self.returned - self.scrapped - self.moved_out

    @property
    def usable(self) -> int:
        """Pieces in the yard that may be built in: on hand less the culls."""
        return self.on_hand - self.culls

    @property
    def on_order(self) -> int:
        """Pieces still to come."""
        return max(self.ordered - self.received, 0)

    @property
    def obtained(self) -> int:
        """Pieces the job has had, has, or will get: used, usable and on order together."""
        return self.used + self.usable + self.on_order


MOVES = {
    "ordered": "ordered",
    "received": "received",
    "used": "used",
    "returned": "returned",
    "scrapped": "scrapped",
    "put back": "found",
    "moved in": "found",
    "moved out": "moved_out",
    "canceled": "canceled",
}


def move_words(body: Mapping[str, object]) -> str:
    """A movement in words; of pieces that went to another job or came from one, which and what lot there."""
    words = str(body["move"])
    for way in ("to", "from"):
        if job := body.get(way):
            lot = body.get(f"{way}_lot")
            words += f" {way} {job}" + (f", lot {lot}" if lot else "")
    return words


def fold_lot(entries: Iterable[Entry]) -> LotFold:
    """Fold the movements of one lot."""
    sums = dict.fromkeys(MOVES.values(), 0)
    promised: date | None = None
    paid: int | None = None
    came: date | None = None
    sent_away: list[tuple[int, int]] = []
    used_for: dict[str, int] = {}
    for entry in in_force(entries):
        if entry.body["move"] == "used" and (phase := entry.body.get("phase")):
            used_for[phase] = used_for.get(phase, 0) + entry.qty
        if entry.body["move"] in ("returned", "scrapped"):
            sent_away.append((entry.arrived, entry.qty))
        if entry.body["move"] == "received":
            came = max(entry.day, came or entry.day)
        sums[MOVES[entry.body["move"]]] += entry.qty
        if entry.body.get("promised"):
            promised = date.fromisoformat(entry.body["promised"])
        if entry.body.get("paid_e4") is not None:
            paid = entry.body["paid_e4"]
    sums["ordered"] -= sums["canceled"]
    return LotFold(
        **sums, promised=promised, paid_e4=paid, sent_away=tuple(sent_away), came=came,
        used_for=tuple(used_for.items()),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class DaysOff:
    """Days no crew works, and rain days that stop outdoor work."""

    off: frozenset[date]
    rain: frozenset[date]


def fold_days(entries: Sequence[Entry]) -> DaysOff:
    """Fold day entries: a later entry for the same day and kind that says ``works`` takes the day back."""
    off: dict[date, bool] = {}
    rain: dict[date, bool] = {}
    for entry in in_force(entries):
        (rain if entry.body["rain"] else off)[date.fromisoformat(entry.body["date"])] = not entry.body.get(
            "works", False
        )
    return DaysOff(
        frozenset(day for day, is_off in off.items() if is_off),
        frozenset(day for day, is_off in rain.items() if is_off),
    )
