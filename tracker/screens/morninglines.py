"""The lines of the morning: what needs a person, the crews, what comes, what to pick up, what weather stops."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from textual.content import Content

from tracker.book.frontviews import CrewLine, MorningView, NeedsYou, Place, Room, WeatherLine, Worry
from tracker.book.handviews import Reminder
from tracker.book.views import DeliveryView, NeedView, PhaseState
from tracker.reports.words import pieces
from tracker.screens import words
from tracker.text import clean, count, listing
from tracker.trade.dates import format_day, format_days

NUMBERED = 9
"""Lines of NEEDS YOU that a figure key goes to."""
MOST = 60
"""Lines of a section that are listed; nobody does more in a day."""
_STYLES = {
    Worry.UNDONE: "$error bold",
    Worry.COVERED: "$error bold",
    Worry.FAILED: "$error bold",
    Worry.HELD: "$warning bold",
    Worry.AGAIN: "$warning bold",
    Worry.WARRANTY: "$warning bold",
    Worry.PAPER: "$warning bold",
    Worry.LATE: "$warning bold",
    Worry.SHORT: "$warning",
    Worry.MONEY: "$accent",
    Worry.BEHIND: "$warning",
    Worry.OFFICE: words.FAINT,
}
_CODE, _FIRST = 9, 16


@dataclass(frozen=True, slots=True)
class Row:
    """One thing of today: the ``key`` it keeps while it stands, its words, and where it goes (several places are a choice).

    ``labels`` are texts with their styles before ``text``; ``more`` are further texts with a label each.
    """

    key: str
    labels: tuple[tuple[str, str], ...]
    text: str
    places: tuple[tuple[Place, str], ...]
    style: str = ""
    more: tuple[tuple[str, str, str], ...] = ()
    """Label, text and style."""

    @property
    def head(self) -> Content:
        """The labels side by side."""
        return words.line(*(words.say(label, style) for label, style in self.labels))

    def brief(self, width: int) -> Content:
        """The thing on one line, cut where it does not fit."""
        return words.line(self.head, words.say(self.text, self.style)).truncate(width, ellipsis=True)

    def full(self, width: int) -> Content:
        """All its words."""
        head = self.head
        hung = words.hang(self.text, width, " " * head.cell_length, self.style)
        further = (words.hang(text, width, label, style, words.FAINT) for label, text, style in self.more)
        return words.stack([words.line(head, hung[head.cell_length :]), *further])


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and its rows; ``none`` is said beside the heading when there are none."""

    title: str
    none: str
    rows: tuple[Row, ...]
    note: str = ""


def sections(view: MorningView) -> tuple[Section, ...]:
    """Today in sections."""
    ends = f"by {format_day(view.next_working_day, view.day)}"
    return (
        Section("NEEDS YOU", "nothing: no job is held up", tuple(_needs(view.needs))),
        Section("CREWS", "no crew has work planned", tuple(_crews(view)), _clash_words(view)),
        Section("COMING IN", f"nothing is promised {ends}", tuple(_coming(view.coming, view.day))),
        Section("PICK UP", f"nothing is to be bought for work {ends}", tuple(_pick_up(view.pick_up, view.day))),
        Section(
            "WEATHER", f"no work it stops {ends}", tuple(_weather(view.weather, view.day)),
            "no forecast here: look at one before you drive out",
        ),
        *([Section("CARE", "", tuple(_care(view.care)))] if view.care else []),
    )  # fmt: skip


def listed(parts: Iterable[Section], width: int, *, brief: bool) -> Iterator[tuple[str, Content]]:
    """The rows of sections with their headings between, for a list of ``width`` cells."""
    for section in parts:
        note = section.note if section.rows else section.none
        head = f"{section.title}  "
        yield f"head {section.title}", words.hang(note, width, head, words.FAINT, words.HEADING)
        for row in section.rows[:MOST]:
            yield row.key, row.brief(width) if brief else row.full(width)
        if (left := len(section.rows) - MOST) > 0:
            yield f"head more {section.title}", words.say(f"and {left} more, not listed here", words.FAINT)


def _needs(needs: Sequence[NeedsYou]) -> Iterator[Row]:
    for number, need in enumerate(needs, 1):
        code = words.fit(need.job, _CODE - 2)
        shown = f"{number:>2}  " if number <= NUMBERED else "    "
        labels = ((f"{shown}{code}  ", words.HEADING), (f"{need.worry.word:<7} ", _STYLES[need.worry]))
        yield Row(
            f"need {need.job} {need.worry} {need.said}",
            labels,
            need.said,
            ((need.place, need.what),),
            words.STRONG,
            ((f"{'':{_CODE + 4}}do      ", need.do, "$accent bold"),),
        )


def _crews(view: MorningView) -> Iterator[Row]:
    name = max(min(max((len(clean(line.crew)) for line in view.crews), default=0), 14), 7) + 2
    for line in view.crews:
        crew = words.fit(clean(line.crew) or "no crew", name)
        at = line.checks[0][0] if line.checks and line.day else line.phase
        yield Row(
            f"crew {line.crew} {line.job}",
            ((crew, words.STRONG), (words.fit(line.job, _CODE - 2) + "  ", words.HEADING)),
            _work(line, view.day),
            ((Place(line.job, Room.JOB, at), line.title),),
        )


def _work(line: CrewLine, today: date) -> str:
    state = f", {line.state.value}" if line.state is PhaseState.HELD else ""
    if not line.day:
        return f"nothing today; {line.phase_title.lower()} starts {format_day(line.starts, today)}"
    rest = f" and {count(len(line.checks) - 3, 'more')}" if len(line.checks) > 3 else ""
    checks = f"; next {', '.join(title for _, title in line.checks[:3])}{rest}" if line.checks else ""
    return f"{line.phase_title}{state}, day {line.day} of {line.days}{checks}"


def _clash_words(view: MorningView) -> str:
    told: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for clash in view.clashes:
        when = "today" if clash.day == view.day else format_day(clash.day, view.day)
        told.setdefault((clash.crew, clash.jobs), []).append(when)
    return "; ".join(
        f"{clean(crew)} is planned {'twice' if len(jobs) == 2 else f'{len(jobs)} times'} {listing(days, 'and')}"
        for (crew, jobs), days in told.items()
    )


def _coming(coming: Sequence[DeliveryView], today: date) -> Iterator[Row]:
    first = max(_FIRST, words.day_room((delivery.promised for delivery in coming), today) + len("late ") + 1)
    for (promised, supplier, job), group in groupby(coming, lambda d: (d.promised, d.supplier, d.job)):
        lots = list(group)
        late = promised is not None and promised < today
        when = "today" if promised == today else format_day(promised, today) if promised else "no day"
        items = ", ".join(f"{pieces(lot.quantity, lot.unit)} {lot.item}" for lot in lots)
        yield Row(
            f"coming {promised} {supplier} {job}",
            (
                (words.fit(f"late {when}" if late else when, first), "$warning bold" if late else words.STRONG),
                (words.fit(job, _CODE - 2) + "  ", words.HEADING),
            ),
            f"{items} from {supplier}" if supplier else items,
            ((Place(job, Room.LOTS, lots[0].lot), job),),
        )


def _pick_up(needs: Sequence[NeedView], today: date) -> Iterator[Row]:
    for supplier, of_supplier in groupby(needs, lambda need: need.supplier):
        for number, (job, group) in enumerate(groupby(of_supplier, lambda need: need.job)):
            found = list(group)
            first = min(need.needed_on for need in found)
            when = "today" if first <= today else f"by {format_day(first, today)}"
            items = ", ".join(f"{pieces(need.to_buy, need.unit)} {need.title or need.item}" for need in found)
            yield Row(
                f"pick {supplier} {job}",
                (
                    (words.fit("" if number else supplier or "any yard", _FIRST), words.STRONG),
                    (words.fit(job, _CODE - 2) + "  ", words.HEADING),
                ),
                f"{when}: {items}",
                ((Place(job, Room.BUY, found[0].item), job),),
            )


def _weather(lines: Sequence[WeatherLine], today: date) -> Iterator[Row]:
    for line in lines:
        works = [
            f"{work.job} {work.phase_title.lower()} ({format_days(work.start, work.end, today)})" for work in line.works
        ]
        rained = dict.fromkeys(work.job for work in line.works if work.rain_day)
        stands = f"today is a rain day, {listing(rained, 'and')} stands still. " if rained else ""
        yield Row(
            f"weather {line.stops}",
            (),
            stands + line.stops,
            tuple((Place(work.job, Room.JOB, work.phase), text) for work, text in zip(line.works, works, strict=True)),
            more=(("    ", "; ".join(works), words.FAINT),),
        )


def _care(reminders: Sequence[Reminder]) -> Iterator[Row]:
    for reminder in reminders:
        yield Row(
            f"care {reminder.job} {reminder.task}",
            ((words.fit(reminder.job, _CODE - 2) + "  ", words.HEADING),),
            reminder.text,
            ((Place(reminder.job, Room.HAND_OVER), reminder.title),),
            more=(("    ", reminder.title, words.FAINT),),
        )
