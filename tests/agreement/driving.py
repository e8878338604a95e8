"""A book driven forward at random: what a contractor might do next, in any order, by commands. The same seed does the same."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from random import Random
from typing import Any

import pytest

from tests.agreement.surfaces import Ask

REFUSED = (0, 1, 2)
"""What a command may answer: done, no, or not like that."""


@dataclass
class Driver:
    """Somebody with a book and a bag of things to do."""

    ask: Ask
    patch: pytest.MonkeyPatch
    folder: Path
    seed: int
    day: date = date(2026, 5, 12)
    done: list[str] = field(default_factory=list)
    sheets: dict[date, str] = field(default_factory=dict)
    """The day sheet of every day that is over, as it was read that evening."""

    def __post_init__(self) -> None:
        self.random = Random(self.seed)
        self.to_day(self.day)

    def to_day(self, day: date) -> None:
        """Move the clock to a day."""
        self.day = day
        self.patch.setenv("DECKJOBS_NOW", f"{day.isoformat()}T17:30")

    def act(self, *argv: str) -> Any:
        """Do one thing; refusals are answers too, faults are not."""
        answer = self.ask(*argv)
        self.done.append(f"{self.day} deckjobs {' '.join(argv)} -> {answer.code}")
        assert answer.code in REFUSED, (self.story, answer.err)
        return answer

    @property
    def story(self) -> str:
        """What was done, to do it again by hand."""
        return "\n".join(self.done)

    def look(self, *argv: str) -> Any:
        """What a command tells as JSON."""
        return self.ask(*argv, "--json").json

    def jobs(self) -> list[str]:
        """The open jobs."""
        return [line["job"] for line in self.look("jobs")["jobs"]]

    def step(self) -> None:
        """Do one thing at random."""
        open_jobs = self.jobs()
        if not open_jobs:
            return
        things = (
            self._forward, self._forward, self._forward, self._read, self._order, self._order, self._receive,
            self._receive, self._use, self._give_away, self._price, self._hours, self._money, self._note, self._turn_back,
            self._next_day, self._change, self._take_back, self._correct, self._go_past,
        )  # fmt: skip
        doing: Callable[[str], None] = self.random.choice(things)
        doing(self.random.choice(open_jobs))

    def _forward(self, job: str) -> None:
        """See the phase at hand through: its checks waived or left, then signed off."""
        told = self.look("show", job)
        phase = next((p for p in told["phase_list"] if p["key"] == told["phase"]), None)
        if phase is None:
            return
        for check in phase["checks"]:
            if check["state"] in ("open", "failed") and self.random.random() < 0.9:
                self.act("waive", job, check["key"], "--reason", "seen and good")
        self.act(self.random.choice(("start", "signoff", "signoff")), job, phase["key"])

    def _read(self, job: str) -> None:
        told = self.look("show", job)
        keys = [check["key"] for phase in told["phase_list"] for check in phase["checks"] if check["key"] in READINGS]
        if keys:
            key = self.random.choice(keys)
            self.act("check", job, key, *self.random.choice(READINGS[key]))

    def _order(self, job: str) -> None:
        needs = [need for need in self.look("show", job)["needs"] if need["to_buy"]]
        for need in self.random.sample(needs, min(len(needs), 3)):
            number = max(need["to_buy"] + self.random.choice((0, 0, 0, -1, 2)), 1)
            promised = self.day + timedelta(days=self.random.randint(0, 6))
            more = self.random.choice(((), ("--price", "9.75"), ("--supplier", "Yard One")))
            self.act("order", job, need["item"], str(number), "--promised", promised.isoformat(), *more)

    def _lot(self, job: str, part: str) -> dict[str, Any] | None:
        lots = [lot for lot in self.look("show", job)["lots"] if lot[part] > 0]
        return self.random.choice(lots) if lots else None

    def _receive(self, job: str) -> None:
        if (lot := self._lot(job, "on_order")) is not None:
            self.act(
                "receive", job, lot["lot"], str(self.random.choice((lot["on_order"], max(lot["on_order"] - 2, 1))))
            )

    def _use(self, job: str) -> None:
        if (lot := self._lot(job, "on_hand")) is not None:
            self.act("use", job, lot["lot"], str(self.random.randint(1, lot["on_hand"])))

    def _give_away(self, job: str) -> None:
        if (lot := self._lot(job, "on_hand")) is not None:
            number = str(self.random.randint(1, min(lot["on_hand"], 3)))
            other = self.random.choice(self.jobs())
            match self.random.randrange(4):
                case 0:
                    self.act("scrap", job, lot["lot"], number)
                case 1:
                    self.act("return", job, lot["lot"], number)
                case 2 if other != job:
                    self.act("transfer", job, lot["lot"], number, other)
                case _:
                    culls = self.random.randint(0, 2)
                    values = (f"count={lot['received']}", "stamp=yes", f"tag={lot['use_category'] or 'UC4A'}")
                    self.act("inspect", job, lot["lot"], *values, "moisture=17", f"culls={culls}")

    def _price(self, job: str) -> None:
        needs = self.look("show", job)["needs"]
        if needs:
            item = self.random.choice(needs)["item"]
            cents = self.random.randint(300, 4000)
            path = self.folder / "prices.csv"
            path.write_text(
                "supplier,item,price,pack,seen,lead_days,delivery,minimum\n"
                f"Yard Two,{item},{cents / 100:.2f},{self.random.choice((1, 1, 4))},{self.day},1,0,0\n"
            )
            self.act("prices", str(path))

    def _hours(self, job: str) -> None:
        self.act("hours", job, f"{self.random.randint(1, 3)}", "x", f"{self.random.randint(2, 8)}h")

    def _money(self, job: str) -> None:
        match self.random.randrange(5):
            case 0:
                self.act("quote", job, "--unpriced-too")
            case 1:
                self.act("accept", job, "as drawn", "--draw", "deposit=10%", "--draw", "final=rest")
            case 2:
                self.act("invoice", job)
            case 3:
                self.act("paid", job, f"{self.random.randint(50, 900)}.50", "check 7")
            case _:
                self.act("spend", job, "85.00", self.look("show", job)["phase"] or "frame", "compactor")

    def _note(self, job: str) -> None:
        self.act(*self.random.choice((("note", job, "gate on the left"), ("punch", job, "rail rough"))))

    def _turn_back(self, job: str) -> None:
        """Hold the phase at hand, or open one again that was signed off."""
        told = self.look("show", job)
        signed = [phase["key"] for phase in told["phase_list"] if phase["state"] == "signed off"]
        if signed and self.random.random() < 0.4:
            self.act("reopen", job, signed[-1], "--reason", "seen again")
        else:
            self.act("hold", job, "--reason", "the dog is loose")
            if self.random.random() < 0.8:
                self.act("start", job, told["phase"])

    def _take_back(self, job: str) -> None:
        """Take one of the last entries of a job back."""
        entries = [e for e in self.look("history", job)["entries"] if e["standing"] and e["job"] == job]
        if entries:
            self.act("undo", job, str(self.random.choice(entries[-6:])["number"]), "--reason", "typed on the wrong job")

    def _correct(self, job: str) -> None:
        moved = [e for e in self.look("history", job)["entries"] if e["standing"] and e["kind"] == "movement"]
        if moved:
            entry = self.random.choice(moved)
            self.act("correct", job, str(entry["number"]), str(self.random.randint(0, 12)), "--reason", "counted again")

    def _go_past(self, job: str) -> None:
        """Start a phase further on in spite of what stands in the way."""
        ahead = [p["key"] for p in self.look("show", job)["phase_list"] if p["state"] in ("ahead", "held")]
        if ahead:
            self.act("start", job, self.random.choice(ahead[:3]), "--past", "the inspector said go on")

    def _next_day(self, job: str) -> None:
        self.sheets[self.day] = self.ask("report", "--date", self.day.isoformat(), "--json").out
        self.to_day(self.day + timedelta(days=self.random.choice((1, 1, 1, 3))))
        if self.random.random() < 0.2:
            self.act("off", self.day.isoformat(), "--rain", "--reason", "rain from noon")

    def _change(self, job: str) -> None:
        source = self.folder / f"{job}.toml"
        if source.exists():
            wider = self.folder / f"{job}-changed.toml"
            wider.write_text(source.read_text("utf-8").replace('"13\'"', f'"{self.random.randint(11, 15)}\'"'), "utf-8")
            self.act("change", job, str(wider), "--yes", "--reason", "the client wants it so")


READINGS: dict[str, tuple[tuple[str, ...], ...]] = {
    "square": (
        ("width=11'", "depth=13'", "ac=17' 3/8", "bd=17' 3/8"),
        ("width=11'", "depth=13'", "ac=17' 5/8", "bd=17' 1/8"),
    ),
    "layout-square": (
        ("width=11'", "depth=13'", "ac=17' 3/8", "bd=17' 3/8"),
        ("width=11'", "depth=13'", "ac=17' 5/8", "bd=17' 1/8"),
    ),
    "locate": (("ticket=1", "called=2026-05-01", "answered=yes", "private=yes", "expires=2026-05-20"),),
}
"""Readings for a deck of 11 by 13 ft that pass and that fail: its diagonal is the square root of 290 ft, 17 ft 0.35 in."""
