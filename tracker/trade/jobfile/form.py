"""A job form: what was typed over what a job file held before, the suggestions for the rest, and the table they make. Pure."""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import Any

from tracker.errors import InputError
from tracker.trade.answer import Plain
from tracker.trade.dates import parse_day
from tracker.trade.guards import guard_required
from tracker.trade.jobfile.formtable import put, raw_at, sized, texts_of, unset
from tracker.trade.jobfile.questions import (
    CLIPPED,
    MOST_BEAMS,
    MOST_CORNERS,
    MOST_FLIGHTS,
    MOST_PLATFORMS,
    NO,
    UNCUT,
    YES,
    Ask,
    Question,
    Step,
    board_questions,
    choice_of,
    climb_questions,
    dates_step,
    every_question,
    frame_questions,
    job_step,
    number,
    size_questions,
    understood,
    yard_step,
)
from tracker.trade.lengths import FOOT, INCH, Unit, format_length, format_trade, parse_length
from tracker.trade.lumber import dressed
from tracker.trade.spec import Attachment, BoardKind, Support
from tracker.trade.suggest import (
    Suggestion,
    joist_span_nm,
    suggest_beam,
    suggest_beams,
    suggest_ground_joists,
    suggest_guard,
    suggest_joists,
    suggest_posts,
    suggest_use,
)

LOW = 24 * INCH
"""Up to this height blocks are suggested, above it footings (common practice)."""
_NONE = Suggestion("", "")


@dataclass(frozen=True)
class JobForm:
    """``base`` is the table of the job before (empty for a new one), ``typed`` the texts typed over it by question key.

    ``code`` is the code suggested for a new job, ``crews`` the crews known, ``today`` the day a relative day counts from.
    """

    base: Mapping[str, Plain]
    typed: Mapping[str, str]
    today: date
    code: str = ""
    crews: tuple[str, ...] = ()

    # -- texts

    @cached_property
    def before(self) -> Mapping[str, str]:
        """What the job file held, as texts by question key."""
        return texts_of(self.base)

    def text(self, key: str) -> str:
        """What stands for a question: what was typed, else what the file held, else nothing."""
        return self.typed.get(key, self.before.get(key, "")).strip()

    def value(self, key: str) -> str:
        """As ``text``, but a suggestion or what no answer means where nothing stands."""
        question, text = self.every.get(key), self.text(key)
        if question is None:
            return text
        if text:
            return choice_of(text, question) if question.choices else text
        return self.suggestion(question).text or question.rest or ""

    def nm(self, key: str) -> int | None:
        """A length in nm; None when there is none."""
        try:
            return parse_length(self.value(key), self.unit)
        except InputError:
            return None

    @cached_property
    def unit(self) -> Unit:
        """What bare numbers are."""
        text = self.text("unit").lower() or Unit.INCH.value
        return Unit(text) if text in tuple(Unit) else Unit.INCH

    # -- steps

    @cached_property
    def platforms(self) -> int:
        """How many platforms the form has."""
        return number(self.text("platforms"), 1, MOST_PLATFORMS)

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """Every step with the questions the earlier answers ask for."""
        first = job_step()
        kept = tuple(question for question in first.questions if question.key != "code" or not self.base)
        out = [replace(first, questions=kept)]
        footings = False
        for at in range(self.platforms):
            key, unit = f"platform.{at}.", self.unit
            of = f"{self.text(f'{key}name') or self._name(at)}: " if self.platforms > 1 else ""
            uncut = self.value(f"{key}make") == UNCUT
            corners = 0 if uncut else number(self.value(f"{key}corners"), 0, MOST_CORNERS)
            cuts = tuple(self.value(f"{key}cut.{n}.kind") == CLIPPED for n in range(corners))
            on = self.value(f"{key}support") == Support.FOOTINGS.value
            footings |= on
            beams = number(self.value(f"{key}beams"), 1, MOST_BEAMS) if on else None
            wood = self.value(f"{key}decking.kind") == BoardKind.WOOD.value
            flights = number(self.value(f"{key}flights"), 0, MOST_FLIGHTS)
            guard = self.value(f"{key}guarded") == YES
            out += [
                Step(f"{key}size", f"{of}Size and height", size_questions(at, unit, uncut, cuts), at),
                Step(f"{key}frame", f"{of}Support and framing", frame_questions(at, unit, beams), at),
                Step(f"{key}boards", f"{of}Deck boards", board_questions(at, unit, wood), at),
                Step(f"{key}climb", f"{of}Stairs and guard", climb_questions(at, unit, flights, guard), at),
            ]
        return (*out, yard_step(self.unit, footings), dates_step(self.crews))

    @cached_property
    def every(self) -> Mapping[str, Question]:
        """Every question the form can ask, by key."""
        return every_question(self.platforms, self.unit)

    @cached_property
    def by_key(self) -> Mapping[str, Question]:
        """Every question asked now, by key."""
        return {question.key: question for step in self.steps for question in step.questions}

    # -- suggestions

    def suggestion(self, question: Question) -> Suggestion:
        """What is suggested for a question nobody answered; an empty text when nothing is."""
        if self.base and not question.needed and not question.steers:
            return _NONE
        parts = question.key.split(".")
        if parts[0] == "platform" and len(parts) > 2:
            return self._of_platform(int(parts[1]), ".".join(parts[2:]))
        simple: Mapping[str, Callable[[], Suggestion]] = {
            "code": lambda: Suggestion(self.code, "the next free one"),
            "start": lambda: Suggestion(self.today.isoformat(), "today"),
            "site_facts.digging": lambda: Suggestion(YES, "footings are dug") if self._any_footings else _NONE,
        }
        return simple[question.key]() if question.key in simple else _NONE

    def _of_platform(self, at: int, key: str) -> Suggestion:
        simple: Mapping[str, Callable[[int], Suggestion]] = {
            "name": lambda at: Suggestion(self._name(at), ""),
            "support": self._support,
            "joists.species": lambda at: self._as_before(at, "joists.species", "southern pine"),
            "joists.grade": lambda at: self._as_before(at, "joists.grade", "no.2"),
            "joists.spacing": self._spacing,
            "joists.size": self._joists,
            "joists.use": self._use,
            "beams": self._beams,
            "decking.board": lambda at: self._as_before(at, "decking.board", "5/4x6" if self._inch else "28x120"),
            "decking.kind": lambda at: self._as_before(at, "decking.kind", BoardKind.WOOD.value),
            "decking.species": lambda at: self._as_before(at, "decking.species", "southern pine"),
            "decking.lay": self._lay,
            "decking.gap": lambda at: self._as_before(at, "decking.gap", "3/16 in" if self._inch else "5"),
            "decking.use": self._use,
            "guarded": self._guarded,
            "guard.height": lambda at: self._guard(at)[0],
            "guard.length": lambda at: self._guard(at)[1],
        }
        if key in simple:
            return simple[key](at)
        head, _, rest = key.partition(".")
        if head == "beam":
            n, _, field = rest.partition(".")
            return self._beam(at, int(n), field)
        if head == "stairs" and key.endswith(".rise"):
            return Suggestion(self.value(f"platform.{at}.height"), "the height of the platform")
        if head == "stairs" and key.endswith(".width"):
            return Suggestion("36 in" if self._inch else "915", "the least the code allows; wider is kinder")
        return _NONE

    @property
    def _inch(self) -> bool:
        return self.unit is Unit.INCH

    @property
    def _any_footings(self) -> bool:
        return any(self.value(f"platform.{at}.support") == Support.FOOTINGS.value for at in range(self.platforms))

    def _name(self, at: int) -> str:
        return "deck" if not at else "upper" if self.platforms == 2 else f"deck-{at + 1}"

    def _as_before(self, at: int, key: str, first: str) -> Suggestion:
        return (
            Suggestion(self.value(f"platform.{at - 1}.{key}"), "as the platform before")
            if at
            else Suggestion(first, "")
        )

    def _support(self, at: int) -> Suggestion:
        height = self.nm(f"platform.{at}.height")
        if at:
            return Suggestion(Support.PLATFORM.value, "it stands on the one below")
        if height is None or height <= LOW:
            return Suggestion(Support.BLOCKS.value, "low enough for blocks")
        return Suggestion(Support.FOOTINGS.value, f"more than {format_trade(LOW, self.unit)} high")

    def _attached(self, at: int) -> bool:
        return self.value(f"platform.{at}.attachment") == Attachment.HOUSE.value

    def _sides(self, at: int) -> tuple[int, int] | None:
        """Width and depth as far as they are known; uncut boards give them without the rims."""
        key = f"platform.{at}."
        uncut = self.value(f"{key}make") == UNCUT
        width, depth = (self.nm(key + k) for k in (("uncut.rims", "uncut.joists") if uncut else ("size.0", "size.1")))
        return None if width is None or depth is None else (width, depth)

    def _spacing(self, at: int) -> Suggestion:
        diagonal = self.text(f"platform.{at}.decking.angle") == "45"
        inches = 12 if diagonal else 16
        text = f"{inches} in" if self._inch else "300" if diagonal else "400"
        return Suggestion(text, "for diagonal boards" if diagonal else "what most deck boards allow")

    def _places(self, at: int) -> tuple[int, ...]:
        beams = number(self.value(f"platform.{at}.beams"), 1, MOST_BEAMS)
        found = (self.nm(f"platform.{at}.beam.{n}.at") for n in range(beams))
        return tuple(nm for nm in found if nm is not None)

    def _span(self, at: int) -> int | None:
        sides = self._sides(at)
        return joist_span_nm(sides[1], self._places(at), self._attached(at)) if sides else None

    def _joists(self, at: int) -> Suggestion:
        key, unit = f"platform.{at}.", self.unit
        spacing, height, span = self.nm(f"{key}joists.spacing"), self.nm(f"{key}height"), self._span(at)
        usual = Suggestion("2x8" if self._inch else "45x195", "the usual size on short spans")
        if self.value(f"{key}support") == Support.FOOTINGS.value:
            if spacing is None or span is None:
                return _NONE
            wood, grade = self.value(f"{key}joists.species"), self.value(f"{key}joists.grade")
            none = Suggestion("", f"none here spans {format_length(span, unit)}: add a beam")
            return suggest_joists(wood, grade, spacing, span, unit) or none
        if at or height is None:
            return usual
        return suggest_ground_joists(height, self._board_nm(at), unit) or usual

    def _board_nm(self, at: int) -> int:
        try:
            return dressed(self.value(f"platform.{at}.decking.board")).thickness_nm
        except InputError:
            return INCH

    def _use(self, at: int) -> Suggestion:
        height = self.nm(f"platform.{at}.height")
        support = self.value(f"platform.{at}.support")
        on = Support(support) if support in tuple(Support) else Support.BLOCKS
        return suggest_use(on, height or 0, self._board_nm(at), FOOT)

    def _beams(self, at: int) -> Suggestion:
        one = self._attached(at)
        return Suggestion("1" if one else "2", "with the ledger" if one else "free-standing")

    def _beam(self, at: int, n: int, field: str) -> Suggestion:
        key, unit = f"platform.{at}.", self.unit
        sides, wood, grade = self._sides(at), self.value(f"{key}joists.species"), self.value(f"{key}joists.grade")
        if field == "plies":
            return Suggestion("2", "")
        if field == "post":
            return Suggestion("6x6" if self._inch else "145x145", "carries more than a 4x4")
        if sides is None:
            return _NONE
        if field == "at":
            places = suggest_beams(sides[1], self._attached(at), unit)
            return Suggestion(format_length(places[n], unit), "leaves a short overhang") if n < len(places) else _NONE
        span = self._span(at) or sides[1]
        plies = number(self.value(f"{key}beam.{n}.plies"), 1, 4)
        if field == "size":
            usual = Suggestion("2x10" if self._inch else "45x220", "no beam table is held for this wood: ask about it")
            return suggest_beam(wood, grade, plies, span, unit) or usual
        if field == "posts":
            return suggest_posts(self.value(f"{key}beam.{n}.size"), wood, grade, plies, span, sides[0], unit)
        return _NONE

    def _lay(self, at: int) -> Suggestion:
        wood = self.value(f"platform.{at}.decking.kind") == BoardKind.WOOD.value
        return (
            Suggestion("tight", "wet boards shrink to their gap")
            if wood
            else Suggestion("spaced", "it does not shrink")
        )

    def _guarded(self, at: int) -> Suggestion:
        height = self.nm(f"platform.{at}.height")
        wanted = height is not None and guard_required(height)
        return (
            Suggestion(YES, "wanted at this height")
            if wanted
            else Suggestion(NO, "not wanted at this height by the rule")
        )

    def _guard(self, at: int) -> tuple[Suggestion, Suggestion]:
        sides = self._sides(at)
        if sides is None:
            return _NONE, _NONE
        return suggest_guard(*sides, self._attached(at), self.unit)

    def understood(self, question: Question) -> str:
        """How the text of a question is understood, in words; empty when there is nothing to add. Raises InputError."""
        return understood(question, self.text(question.key), self.unit, self.today)

    # -- the table

    @cached_property
    def source(self) -> dict[str, Plain]:
        """The table of the job file that the answers make; what the form does not ask of the old table stays in it."""
        out: dict[str, Any] = copy.deepcopy(dict(self.base))
        platforms = sized(out, "platform", self.platforms)
        for at, platform in enumerate(platforms):
            for name, steers, most in (
                ("cut", "corners", MOST_CORNERS),
                ("beam", "beams", MOST_BEAMS),
                ("stairs", "flights", MOST_FLIGHTS),
            ):
                key = f"platform.{at}.{steers}"
                sized(platform, name, number(self.value(key), 0, most) if key in self.by_key else 0)
            for name, wanted in (("guard", "guard.height"), ("uncut", "uncut.rims"), ("size", "size.0")):
                if f"platform.{at}.{wanted}" not in self.by_key:
                    platform.pop(name, None)
        for key, question in self.every.items():
            value = self._written(question) if key in self.by_key else None
            if question.steers or (key == "code" and self.base):
                continue
            if value is None and not key.rpartition(".")[2].isdecimal():
                unset(out, key)
            elif key in self.by_key:
                put(out, key, "" if value is None else value)
        return out

    def _written(self, question: Question) -> Plain:
        """The value of a question as the job file has it; None where it has none."""
        key, value = question.key, self.value(question.key)
        raw = raw_at(self.base, key)
        if raw is not None and self.text(key) == self.before.get(key):
            return raw
        if not value or (raw is None and value == question.rest):
            return None
        match question.ask:
            case Ask.YESNO:
                return value == YES if value in (YES, NO) else value
            case Ask.WHOLE:
                return int(value) if value.isdecimal() and len(value) < 10 else value
            case Ask.SIDES:
                return [word for part in value.split(",") if (word := part.strip())]
            case Ask.DAY:
                try:
                    return parse_day(value, self.today).isoformat()
                except InputError:
                    return value
            case _:
                return value

    # -- platforms

    def with_platform(self) -> JobForm:
        """The form with one platform more."""
        return replace(self, typed={**self.typed, "platforms": str(min(self.platforms + 1, MOST_PLATFORMS))})

    def without_platform(self, at: int) -> JobForm:
        """The form without one of several platforms; those after it move up. Raises InputError for the only one."""
        if self.platforms == 1:
            raise InputError("a deck has one platform at least", "change it instead")
        typed: dict[str, str] = {"platforms": str(self.platforms - 1)}
        for key, text in self.typed.items():
            parts = key.split(".")
            if parts[0] != "platform" or int(parts[1]) < at:
                typed.setdefault(key, text)
            elif int(parts[1]) > at:
                typed[".".join(["platform", str(int(parts[1]) - 1), *parts[2:]])] = text
        base = copy.deepcopy(dict(self.base))
        platforms = base.get("platform")
        if isinstance(platforms, list) and at < len(platforms):
            base["platform"] = platforms[:at] + platforms[at + 1 :]
        return replace(self, base=base, typed=typed)
