"""A job form: what was typed over what a job file held before, the suggestions for the rest, and the table they make. Pure."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import Any

from tracker.errors import InputError
from tracker.trade.answer import Plain
from tracker.trade.dates import parse_day
from tracker.trade.guards import guard_required
from tracker.trade.jobfile.formsuggest import NOTHING, Suggestions, platform_name
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
    FlightRails,
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
from tracker.trade.lengths import Unit, parse_length
from tracker.trade.metric import in_unit
from tracker.trade.spec import Attachment, BoardKind, Support
from tracker.trade.suggest import Suggestion


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
        """What stands for a question: what was typed, else what the file held, else nothing.

        Beams of the file stand only while what carries them does.
        """
        platform, _, field = key.rpartition(".")
        if field == "beams" and key not in self.typed:
            support = f"{platform}.support"
            if self.before.get(support) != self.value(support):
                return ""
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
        frost_counts = False
        for at in range(self.platforms):
            key, unit = f"platform.{at}.", self.unit
            of = f"{self.text(f'{key}name') or platform_name(at, self.platforms)}: " if self.platforms > 1 else ""
            uncut = self.value(f"{key}make") == UNCUT
            corners = 0 if uncut else number(self.value(f"{key}corners"), 0, MOST_CORNERS)
            cuts = tuple(self.value(f"{key}cut.{n}.kind") == CLIPPED for n in range(corners))
            on = self.value(f"{key}support") == Support.FOOTINGS.value
            attached = self.value(f"{key}attachment") == Attachment.HOUSE.value
            frost_counts |= on or attached
            pads = self.value(f"{key}support") == Support.BLOCKS.value
            beams = number(self.value(f"{key}beams"), 0 if pads else 1, MOST_BEAMS) if on or pads else None
            wood = self.value(f"{key}decking.kind") == BoardKind.WOOD.value
            flights = number(self.value(f"{key}flights"), 0, MOST_FLIGHTS)
            rails = tuple(self._rails(f"{key}stairs.{n}.") for n in range(flights))
            guard = self.value(f"{key}guarded") == YES
            out += [
                Step(f"{key}size", f"{of}Size and height", size_questions(at, unit, uncut, cuts), at),
                Step(f"{key}frame", f"{of}Support and framing", frame_questions(at, unit, beams, pads, attached), at),
                Step(f"{key}boards", f"{of}Deck boards", board_questions(at, unit, wood), at),
                Step(f"{key}climb", f"{of}Stairs and guard", climb_questions(at, unit, rails, guard), at),
            ]
        return (*out, yard_step(self.unit, frost_counts), dates_step(self.crews))

    def _rails(self, flight: str) -> FlightRails:
        rise = self.nm(f"{flight}rise")
        high = rise is not None and guard_required(rise)
        return FlightRails(self.value(f"{flight}handrail") == YES, self.value(f"{flight}guard") == YES, high)

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
            return NOTHING
        if question.key not in self._suggested:
            found = Suggestions(self).of(question.key)
            self._suggested[question.key] = replace(found, why=in_unit(found.why, self.unit))
        return self._suggested[question.key]

    @cached_property
    def _suggested(self) -> dict[str, Suggestion]:
        """The suggestions found so far, by question key: many rest on the same others, which are worked out once."""
        return {}

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
