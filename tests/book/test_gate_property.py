"""Whatever is done in whatever order, nothing is under way or signed off on top of what is not, without a recorded reason.

A person does things at random on a real book; after each the raw entries are read and held against a table of what stands
on what, written down here (common practice: the order that keeps every check possible).
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pytest
import sqlalchemy as sql
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.book.conftest import DAY, hand_of, job_text
from tests.often import examples
from tests.once import copy_once
from tests.signed import sign_off_waived
from tracker.book.gates import hold, reopen, sign_off, start
from tracker.book.jobs import job_view, take_job
from tracker.book.opening import Book, open_book
from tracker.book.punch import add_punch, close_punch
from tracker.book.readings import record, take_back, waive
from tracker.book.undoing import undo
from tracker.book.views import CheckState, GateShutError, PhaseState
from tracker.errors import TrackerError
from tracker.trade.jobfile import parse_job_bytes

OWNER = hand_of("Owner Plover")
LEAD = hand_of("Lead Wren")
CODE = "26-101"

# What each phase of this job comes straight after. Hold points: locate 1, layout 2, pads 4, under-deck 7, board-gap 8,
# final 9: each is before everything after it in the list.
AFTER = {
    "visit": (), "design": ("visit",), "quote": ("design",), "locate": ("quote",), "delivery": ("quote", "locate"), "layout": ("quote", "locate"),
    "strip": ("layout",), "pads": ("strip",), "posts": ("pads", "delivery"), "frame": ("posts", "delivery"),
    "under-deck": ("frame",), "board-gap": ("under-deck",), "boards": ("board-gap",), "site-close": ("boards",),
    "final": ("site-close",), "hand-over": ("final",), "care": ("hand-over",),
}  # fmt: skip
PHASES = tuple(AFTER)
# 11 ft by 13 ft: equal diagonals pass, 1/2 in apart does not (Pythagoras; limits are the house's).
GOOD = {
    "layout-square": ("width=11'", "depth=13'", "ac=17' 3/8", "bd=17' 3/8"),
    "square": ("width=11'", "depth=13'", "ac=17' 3/8", "bd=17' 3/8"),
    "framing-inspection": ("result=passed", "day=2026-05-12", "by=Office Heron"),
    "locate": ("ticket=T-1", "called=2026-05-06", "expires=2026-06-20", "answered=yes", "private=yes"),
}
BAD = {
    "layout-square": ("width=11'", "depth=13'", "ac=17' 5/8", "bd=17' 1/8"),
    "square": ("width=11'", "depth=13'", "ac=17' 5/8", "bd=17' 1/8"),
    "framing-inspection": ("result=failed", "day=2026-05-12", "by=Office Heron"),
    "locate": ("ticket=T-1", "called=2026-05-06", "expires=2026-05-10", "answered=yes", "private=yes"),
}
READ = tuple(GOOD)


def below(phase: str) -> set[str]:
    """Everything a phase stands on, by the table above."""
    straight = set(AFTER[phase])
    return straight.union(*(below(key) for key in straight))


@dataclass(frozen=True)
class Act:
    """One thing a person does: ``what`` to ``phase`` or ``check``, the reading passing or not, ``back`` entries ago."""

    what: str
    phase: str = ""
    check: str = ""
    passes: bool = True
    back: int = 0
    who: str = "owner"


WHAT = (
    "go on", "go on", "go on", "start", "sign off", "start past", "sign off past", "hold", "reopen", "read", "correct",
    "take back", "waive", "undo", "punch", "punch done", "leave",
)  # fmt: skip
ACTS = st.builds(
    Act, st.sampled_from(WHAT), st.sampled_from(PHASES), st.sampled_from(READ), st.booleans(), st.integers(0, 6),
    st.sampled_from(["owner", "owner", "lead"]),
)  # fmt: skip


@dataclass
class Yard:
    """A real book with one job in it, and the reasons the test gave."""

    book: Book
    refused: int = 0
    done: list[str] = field(default_factory=list)

    def entries(self) -> list[dict[str, object]]:
        """The raw entries of the book: id, arrived, kind, phase or check key, corrects, body."""
        query = sql.text(
            "SELECT entry.id, entry.arrived, entry.kind, entry.corrects, entry.body, phase.key AS phase, c.key AS chk,"
            " home.key AS home FROM entry LEFT JOIN phase ON phase.id = entry.phase_id"
            " LEFT JOIN job_check c ON c.id = entry.check_id LEFT JOIN phase home ON home.id = c.phase_id"
            " ORDER BY entry.arrived"
        )
        with self.book.reading() as session:
            return [dict(row._mapping) | {"body": json.loads(row.body)} for row in session.connection().execute(query)]

    def do(self, act: Act) -> None:
        """Do it; a refusal is an answer."""
        try:
            self._do(act)
            self.done.append(act.what)
        except TrackerError as error:
            assert error.exit_code in (1, 2, 4), error
            self.refused += 1

    def _do(self, act: Act) -> None:
        book, hand = self.book, OWNER if act.who == "owner" else LEAD
        view = job_view(book, CODE, DAY)
        match act.what:
            case "go on":
                ahead = next((p for p in view.phases if p.state is not PhaseState.SIGNED_OFF), None)
                if ahead is None:
                    return
                if act.passes and ahead.state is PhaseState.AHEAD:
                    start(book, OWNER, CODE, ahead.key)
                else:
                    sign_off_waived(book, OWNER, CODE, ahead.key)
            case "start":
                start(book, hand, CODE, act.phase)
            case "sign off":
                sign_off(book, hand, CODE, act.phase)
            case "start past":
                start(book, hand, CODE, act.phase, past="it cannot wait")
            case "sign off past":
                sign_off(book, hand, CODE, act.phase, past="it cannot wait")
            case "hold":
                hold(book, hand, CODE, act.phase, "rain")
            case "reopen":
                reopen(book, hand, CODE, act.phase, "it sank")
            case "read":
                record(book, hand, CODE, act.check, (GOOD if act.passes else BAD)[act.check])
            case "correct":
                readings = view.check(act.check).readings
                if readings:
                    values = (GOOD if act.passes else BAD)[act.check]
                    record(book, hand, CODE, act.check, values, corrects=readings[-1 - act.back % len(readings)].id)
            case "take back":
                take_back(book, hand, CODE, act.check, "a slip")
            case "waive":
                waive(book, hand, CODE, act.check, "as it is")
            case "undo":
                if not (mine := self.entries()):
                    return
                undo(book, hand, CODE, str(mine[-1 - act.back % len(mine)]["id"]), "not what was meant")
            case "punch":
                add_punch(book, hand, CODE, "rail cap loose")
            case "punch done":
                close_punch(book, hand, CODE, "1")
            case "leave":
                try:
                    sign_off(book, hand, CODE, "hand-over")
                except GateShutError as shut:
                    keys = dict.fromkeys(b.key for b in shut.blockers)
                    sign_off(book, hand, CODE, "hand-over", leave=[(key, "mended in May") for key in keys])

    def holds(self) -> None:
        """Everything that has begun stands on what is settled, or the book says why not."""
        view = job_view(self.book, CODE, DAY)
        entries = self.entries()
        taken_back = {entry["corrects"] for entry in entries if _withdraws(entry)}
        for phase in view.phases:
            if phase.state not in (PhaseState.UNDER_WAY, PhaseState.HELD, PhaseState.SIGNED_OFF) or not phase.started:
                continue
            moves = [
                entry for entry in entries
                if entry["kind"] == "phase" and entry["phase"] == phase.key and entry["id"] not in taken_back
                and not _withdraws(entry) and _body(entry)["event"] in ("started", "signed off")
            ]  # fmt: skip
            assert moves, f"{phase.key} began by no entry"
            at = moves[-1]
            named = _named(at)
            if "hand-over" in below(phase.key):
                named |= {
                    key for e in entries if e["phase"] == "hand-over" and e["id"] not in taken_back for key in _named(e)
                }
            for key in below(phase.key):
                under = view.phase(key)
                later = any(_touches(entry, key) and _after(entry, at) for entry in entries)
                if under.state is not PhaseState.SIGNED_OFF:
                    assert key in named or later, f"{phase.key} on {key} ({under.state}) after {self.done}"
                for check in under.checks:
                    if check.state in (CheckState.FAILED, CheckState.OPEN):
                        said = {key, check.key} & named
                        assert said or later, f"{phase.key} on {check.key} ({check.state}) after {self.done}"

    def reasons(self) -> None:
        """Whoever went past something may waive, and gave a reason."""
        for entry in self.entries():
            for thing in _body(entry).get("past", ()):  # type: ignore[attr-defined]
                assert thing["reason"].strip() and thing["key"]


def _body(entry: dict[str, object]) -> dict[str, object]:
    body = entry["body"]
    assert isinstance(body, dict)
    return body


def _withdraws(entry: dict[str, object]) -> bool:
    return bool(_body(entry).get("withdrawn"))


def _named(entry: dict[str, object]) -> set[str]:
    past = _body(entry).get("past", [])
    assert isinstance(past, list)
    return {thing["key"] for thing in past}


def _after(entry: dict[str, object], other: dict[str, object]) -> bool:
    return int(str(entry["arrived"])) > int(str(other["arrived"]))


def _touches(entry: dict[str, object], phase: str) -> bool:
    """Whether an entry opened a phase or one of its checks again: a reopening, a failing reading, something taken back."""
    if entry["kind"] == "phase" and entry["phase"] == phase:
        return _withdraws(entry) or _body(entry)["event"] == "reopened"
    if entry["home"] != phase:
        return False
    answer = _body(entry).get("answer", {})
    assert isinstance(answer, dict)
    return _withdraws(entry) or answer.get("verdict") == "failed"


def _make(path: Path) -> None:
    book = open_book(path)
    take_job(book, OWNER, parse_job_bytes(job_text(digging=True).encode(), "job.toml"))
    book.close()


def test_the_table_of_this_test_is_the_job_it_is_about(tmp_path: Path) -> None:
    book = open_book(copy_once(tmp_path / "jobs.book", "gate property", _make))
    assert tuple(phase.key for phase in job_view(book, CODE, DAY).phases) == PHASES
    book.close()


def _try(acts: list[Act], look: Callable[[Yard], None]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        book = open_book(copy_once(Path(folder) / "jobs.book", "gate property", _make))
        yard = Yard(book)
        try:
            for act in acts:
                yard.do(act)
                look(yard)
        finally:
            book.close()


def _look(yard: Yard) -> None:
    yard.holds()
    yard.reasons()


@settings(max_examples=examples(12, 600), deadline=None)
@given(acts=st.lists(ACTS, min_size=4, max_size=24), lead=st.integers(0, len(PHASES)))
def test_nothing_is_ever_on_top_of_what_is_not_settled_without_a_recorded_reason(acts: list[Act], lead: int) -> None:
    """``lead`` phases are done properly first, so that what is tried at random is tried everywhere in a job."""
    _try([Act("go on", passes=False)] * lead + acts, _look)


@pytest.mark.parametrize(
    "acts",
    [
        [Act("start past", "boards"), Act("sign off", "frame"), Act("read", check="square", passes=False)],
        [Act("start past", "boards"), Act("undo"), Act("start", "boards")],
        [*[Act("go on", passes=False)] * 9, Act("reopen", "pads"), Act("start", "under-deck"), Act("undo", back=1)],
        [*[Act("go on", passes=False)] * 9, Act("leave"), Act("reopen", "frame"), Act("start", "care")],
        [*[Act("go on", passes=False)] * 15, Act("undo"), Act("punch"), Act("sign off", "hand-over"), Act("leave")],
        [*[Act("go on", passes=False)] * 6, Act("start", "posts"), Act("undo", back=1), Act("undo", back=1)],
    ],
)
def test_histories_that_once_were_worth_a_look(acts: list[Act]) -> None:
    _try(acts, _look)
