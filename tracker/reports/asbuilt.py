"""The as-built record: every measured check, waiver, hold point and lot of a job, with a digest that tells a changed copy.

The record is parts of rows of texts. Its digest is SHA-256 over these texts in one canonical form (JSON, UTF-8, no spaces),
the digest of the job's entries among them: changing one letter of a copy gives another digest. It is no secret: whoever
changes a copy can also put a new digest on it, which is told by holding it against the book or against another copy.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

from tracker.book.handviews import FormerCheck, HandoverView
from tracker.book.views import CheckView, PhaseState, ReadingView, WaiverView
from tracker.reports.paper import model as paper
from tracker.reports.words import carries_words, rail_words
from tracker.text import clean, count
from tracker.trade.answer import Plain, Verdict, result
from tracker.trade.dates import format_long_day
from tracker.trade.lengths import format_length, format_small, format_trade
from tracker.trade.places import guard_called_for
from tracker.trade.posts import carriers
from tracker.trade.spec import Finish, Platform

KIND = "deckjobs as-built record"
VERSION = 1
_GROUP = 8


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the record: its title, the titles of its columns, rows of as many texts. Texts are clean single lines."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Record:
    """The record of a job as known at the end of ``day``, made of ``entries`` (id and digest, in their order)."""

    job: str
    title: str
    day: str
    parts: tuple[Part, ...]
    entries: tuple[tuple[str, str], ...]
    entries_digest: str

    @property
    def digest(self) -> str:
        """SHA-256 of everything the record says, in hexadecimal."""
        said = [
            KIND, VERSION, self.job, self.title, self.day,
            [[part.title, part.columns, part.rows] for part in self.parts], self.entries_digest,
        ]  # fmt: skip
        text = json.dumps(said, ensure_ascii=False, separators=(",", ":"))
        return hashlib.sha256(text.encode()).hexdigest()


def grouped(digest: str) -> str:
    """A digest in groups that can be read aloud."""
    return " ".join(digest[at : at + _GROUP] for at in range(0, len(digest), _GROUP))


def record_of(view: HandoverView) -> Record:
    """The record of a job; the same view always gives the same one."""
    parts = [
        Part("Job", ("what", "as known"), tuple(_job(view))),
        Part("As built", ("platform", "part", "built"), tuple(_built(view))),
        Part("Phases and hold points", ("phase", "hold point", "state", "started", "signed off", "by"),
             tuple(_phases(view))),
        Part("Checks", ("check", "day", "time", "who", "read", "result"), tuple(_checks(view))),
        Part("Waivers", ("waived", "day", "who", "reason"), tuple(_waivers(view))),
        Part("Failed and put right", ("check", "failed", "what it said", "good again"), tuple(_mended(view))),
        Part("Lots", ("lot", "item", "treatment", "supplier", "ordered", "in", "used", "sent back", "left"),
             tuple(_lots(view))),
        Part("Punch list", ("no.", "what", "put on", "done"), tuple(_punch(view))),
        Part("Open on that day", ("what", "why"), tuple((item.what, item.why) for item in view.open_items)),
    ]  # fmt: skip
    kept = tuple(
        Part(part.title, part.columns, tuple(tuple(clean(text) for text in row) for row in part.rows))
        for part in parts if part.rows
    )  # fmt: skip
    marks = tuple((mark.id, mark.digest) for mark in view.entries)
    return Record(view.code, clean(view.title), view.day.isoformat(), kept, marks, view.entries_digest)


def _job(view: HandoverView) -> Iterator[tuple[str, str]]:
    for word, text in (("client", view.client), ("site", view.place), ("crew", view.crew)):
        if text:
            yield word, text
    yield "started", format_long_day(view.start)
    handed = f"{format_long_day(view.handed_over)}, {view.handed_by}" if view.handed_over else "not yet"
    yield "handed over", handed
    if view.spec.finish is not Finish.NONE:
        on = f", on {format_long_day(view.finished)}" if view.finished else ", not on yet"
        yield "finish", view.spec.finish.value + on
    yield "permit", "asked for" if view.spec.permit else "none asked for by the local office"


def _built(view: HandoverView) -> Iterator[tuple[str, str, str]]:
    for platform in view.spec.platforms:
        for what, text in _platform(view, platform):
            yield platform.name, what, text


def _platform(view: HandoverView, platform: Platform) -> Iterator[tuple[str, str]]:
    unit, joists, decking = view.spec.unit, platform.joists, platform.decking
    size = f"{format_length(platform.width_nm, unit)} x {format_length(platform.depth_nm, unit)}"
    yield "size", f"{size}, {format_trade(platform.height_nm, unit)} above the ground, {platform.attachment.value}"
    yield "joists", ", ".join(text for text in (
        joists.size, joists.species, joists.grade, f"{format_small(joists.spacing_nm, unit)} on centre", joists.use_category
    ) if text)  # fmt: skip
    for beam in platform.beams:
        yield "beam", f"{beam.plies}-ply {beam.size} on {carriers(platform, beam)}"
    if not platform.beams:
        yield "support", platform.support.value
    yield "boards", ", ".join(text for text in (
        decking.board, decking.kind.value, decking.species, f"gap {format_small(decking.gap_nm, unit)}", decking.use_category
    ) if text)  # fmt: skip
    for flight in platform.stairs:
        wide, rise = format_trade(flight.width_nm, unit), format_trade(flight.rise_nm, unit)
        yield "stairs", f"{wide} wide, rise {rise}{rail_words(flight)}"
    if (guard := guard_called_for(platform)) is not None:
        yield "guard", f"{format_trade(guard.height_nm, unit)} high, {format_length(guard.length_nm, unit)} long"


def _day(day: date | None) -> str:
    return day.isoformat() if day else ""


def _time(day: date, at: datetime) -> str:
    """The time in UTC, with its day where that is not the working day."""
    moment = at.astimezone(UTC)
    return f"{moment:%H:%M}" if moment.date() == day else f"{moment:%Y-%m-%d %H:%M}"


def _phases(view: HandoverView) -> Iterator[tuple[str, ...]]:
    for phase in view.phases:
        undone = f" (undone by {', '.join(phase.undone_by)})" if phase.undone_by else ""
        undone += f", {carries_words(phase.carries)}" if phase.carries else ""
        held = f": {phase.held_why}" if phase.state is PhaseState.HELD and phase.held_why else ""
        yield (
            phase.title, str(phase.hold or ""), phase.state.value + held + undone, _day(phase.started),
            _day(phase.signed_off), phase.signed_by,
        )  # fmt: skip


def _measured(view: HandoverView) -> Iterator[CheckView | FormerCheck]:
    yield from (check for phase in view.phases for check in phase.checks)
    yield from view.former


def _checks(view: HandoverView) -> Iterator[tuple[str, ...]]:
    for check in _measured(view):
        title = check.title if isinstance(check, CheckView) else f"{check.title} (no longer part of the job)"
        for reading in check.readings:
            read = ", ".join(f"{name}={text}" for name, text in reading.entered)
            yield title, _day(reading.day), _time(reading.day, reading.at), reading.who, read, _said(check, reading)
        if not check.readings and isinstance(check, CheckView):
            judged = check.answer  # of one that is judged from the job alone
            told = f"{judged.verdict.value}: {result(judged)}" if judged is not None and judged.verdict else "not read"
            yield title, "", "", "", "", "waived, not read" if check.waivers else told


def _said(check: CheckView | FormerCheck, reading: ReadingView) -> str:
    verdict = f"{reading.answer.verdict.value}: " if reading.answer.verdict else ""
    text = verdict + result(reading.answer)
    if reading.withdrawn:
        return f"{text} [taken back: {reading.withdrawn}]"
    later = next((r for r in check.readings if r.corrects == reading.id and not r.withdrawn), None)
    if later is not None:
        return f"{text} [corrected {_day(later.day)} by {later.who}]"
    return f"{text} [in place of an earlier reading]" if reading.corrects else text


def _waivers(view: HandoverView) -> Iterator[tuple[str, ...]]:
    for check in _measured(view):
        for waiver in check.waivers:
            yield _waived(check.title, waiver)
    for title, waiver in view.waits_waived:
        yield _waived(f"the wait of {title}", waiver)
    for phase in view.phases:
        for past in phase.past:
            for thing in past.things:
                yield (
                    f"{phase.title} {past.event} past {thing.what}: {thing.why}",
                    _day(past.day),
                    past.who,
                    thing.reason,
                )


def _waived(title: str, waiver: WaiverView) -> tuple[str, ...]:
    return title, _day(waiver.day), waiver.who, waiver.reason


def _mended(view: HandoverView) -> Iterator[tuple[str, ...]]:
    """Each failing reading that stood, and the reading that passed after it."""
    for check in _measured(view):
        replaced = {reading.corrects for reading in check.readings if reading.corrects and not reading.withdrawn}
        for number, reading in enumerate(check.readings):
            if reading.answer.verdict is not Verdict.FAILED or reading.id in replaced or reading.withdrawn:
                continue
            after = check.readings[number + 1 :]
            good = next((r for r in after if r.answer.verdict is Verdict.PASSED and not r.withdrawn), None)
            if good is not None:
                yield check.title, _day(reading.day), result(reading.answer), f"{_day(good.day)}, {good.who}"


def _lots(view: HandoverView) -> Iterator[tuple[str, ...]]:
    for lot in view.lots:
        treated = ", ".join(text for text in (lot.use_category, "sold dry" if lot.dry else "") if text)
        out = lot.returned + lot.scrapped + lot.moved_out
        numbers = (lot.ordered, lot.received + lot.found, lot.used, out, lot.on_hand)
        yield lot.code, lot.item, treated, lot.supplier, *(str(number) for number in numbers)


def _punch(view: HandoverView) -> Iterator[tuple[str, ...]]:
    for item in view.punch:
        how = f": {item.done_note}" if item.done_note else ""
        done = f"{_day(item.done)}, {item.done_by}{how}" if item.done else "open"
        yield str(item.number), item.text, f"{_day(item.day)}, {item.who}", done


# -- as a document, as JSON


def record_blocks(record: Record) -> tuple[paper.Block, ...]:
    """The record for paper: its parts, what they mean, and the digests at its end."""
    out: list[paper.Block] = [
        paper.Paragraph("Readings stand as they were typed. Days are working days where the deck is; times are UTC.")
    ]
    for part in record.parts:
        out.append(paper.Heading(part.title, level=3))
        if len(part.columns) == 2:
            out.append(paper.KeyValues(tuple((row[0], row[1]) for row in part.rows)))
        else:
            out.append(paper.Table(_columns(part), part.rows))
    out.append(paper.KeepTogether((
        paper.Heading("Digests", level=3),
        paper.Paragraph(
            f"Record of job {record.job} as known on {record.day}, made of {count(len(record.entries), 'entry', 'entries')}."
        ),
        paper.KeyValues((
            ("digest of the entries", grouped(record.entries_digest)),
            ("digest of this record", grouped(record.digest)),
        )),
        paper.Paragraph(
            "They tell a changed copy: deckjobs verify FILE holds one against the book and names the lines that differ. A"
            " JSON copy tells by itself. Another print of the same day bears the same digests."
        ),
    )))  # fmt: skip
    return tuple(out)


_WIDE = {"read": 0.4, "result": 0.4, "reason": 0.4, "what it said": 0.4, "what": 0.4, "built": 0.4, "done": 0.3}
"""Columns that share what the others, which are as wide as their texts, leave."""
_NUMBERS = {"ordered", "in", "used", "sent back", "left", "no.", "hold point"}


def _columns(part: Part) -> tuple[paper.Column, ...]:
    return tuple(paper.Column(title, title in _NUMBERS, _WIDE.get(title, 0.0)) for title in part.columns)


def record_json(record: Record) -> dict[str, Plain]:
    """The record as plain JSON values: the copy that can be told without the book."""
    return {
        "kind": KIND,
        "version": VERSION,
        "job": record.job,
        "title": record.title,
        "day": record.day,
        "parts": [
            {"title": part.title, "columns": list(part.columns), "rows": [list(row) for row in part.rows]}
            for part in record.parts
        ],
        "entries": [{"id": name, "digest": digest} for name, digest in record.entries],
        "entries_digest": record.entries_digest,
        "digest": record.digest,
    }


def part_lines(parts: Sequence[Part]) -> list[str]:
    """Every row as one line, for telling which differs; an empty text is a dash, so that a text in another column shows."""
    return [f"{part.title}: {' | '.join(text or '-' for text in row)}" for part in parts for row in part.rows]
