"""Pages about jobs: the list of open jobs, and one job from phases to notes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from tracker.book.views import Blocker, CheckState, CheckView, JobLine, JobView, PhaseState, PhaseView
from tracker.reports.page import BLANK, Grid, Line, Page, Tone
from tracker.reports.words import (
    CHECK_TONES,
    CHECK_WORDS,
    PHASE_TONES,
    carries_words,
    delivery_text,
    design_words,
    hand_over_words,
    lateness,
    money_line,
    moves,
    past_words,
    pieces,
    result_of,
    taken_back,
    where,
)
from tracker.text import count
from tracker.trade.dates import format_day, format_days
from tracker.trade.lengths import format_length, format_small, format_trade
from tracker.trade.material import stock_size
from tracker.trade.permits import permit_answer
from tracker.trade.takeoff import stock_of


def jobs_page(lines: Sequence[JobLine]) -> Page:
    """Every open job: phase, what holds it, next delivery, money."""
    if not lines:
        return (Line("No open job. Take a job file in with: deckjobs take FILE"),)
    held = sum(1 for line in lines if line.hold)
    told = f"{held} with something in the way" if held else "nothing in the way"
    out: list[Line | Grid] = [Line(f"{count(len(lines), 'open job')}, {told}", Tone.TITLE)]
    for line in lines:
        who = f"  ({line.client})" if line.client else ""
        out += [BLANK, Line(f"{line.code}  {line.title}{who}", Tone.TITLE)]
        facts = (where(line), lateness(line), hand_over_words(line), money_line(line))
        rows = [("phase", "; ".join(text for text in facts if text), Tone.PLAIN)]
        if line.hold:
            rows.append(("in way", line.hold, Tone.CARE))
            rows += [("clear it", line.hold_clears, Tone.PLAIN)] if line.hold_clears else []
        if line.next_delivery is not None:
            rows.append(("next in", delivery_text(line.next_delivery, line.today), Tone.PLAIN))
        out.append(_labelled(rows))
    return tuple(out)


def finished_page(lines: Sequence[JobLine]) -> Page:
    """The decks handed over, the last one first: when, how late, and what is still to do there."""
    if not lines:
        return (Line("No deck is handed over yet."),)
    rows = tuple(
        (
            line.code,
            ", ".join(text for text in (line.title, line.client) if text),
            hand_over_words(line) if line.handed_over else f"finished {format_day(line.planned_end, line.today)}",
            lateness(line) or "on time",
            "" if line.finished else "; ".join(text for text in (line.hold, where(line)) if text),
        )
        for line in lines
    )
    tones = tuple(Tone.PLAIN if line.finished else Tone.CARE for line in lines)
    return (
        Line(f"{count(len(lines), 'deck')} handed over", Tone.TITLE),
        Grid(("", "", "", "", "still to do"), rows, indent=2, tones=tones),
    )


def _labelled(rows: Sequence[tuple[str, str, Tone]]) -> Grid:
    return Grid(
        (),
        tuple((label, text) for label, text, _ in rows),
        indent=2,
        tones=tuple(tone for _, _, tone in rows),
    )


def job_page(job: JobView) -> Page:
    """One job: what is in the way first, then phases, checks, lots, purchases and notes."""
    line = job.line
    about = ", ".join(
        text
        for text in (
            line.client,
            line.place,
            line.crew and f"crew {line.crew}",
            f"start {format_day(job.start, line.today)}",
        )
        if text
    )
    out: list[Line | Grid] = [Line(f"{line.code}  {line.title}", Tone.TITLE), Line(about, indent=2)]
    facts = [
        where(line),
        lateness(line),
        hand_over_words(line),
        money_line(line),
    ]
    out.append(Line("; ".join(text for text in facts if text), indent=2))
    out += [Line(_platform_text(job, name), indent=2) for name in job.platforms]
    out += [Line(f"design {text}" if tone is Tone.BAD else text, tone, 2)
            for text, tone in design_words(job.design_faults, job.stands_on)]  # fmt: skip
    out += _in_the_way(job)
    out += [BLANK, Line("PHASES", Tone.TITLE), *_phases(job.phases, line.today)]
    out += _current_checks(job)
    if job.lots:
        out += [BLANK, Line("LOTS", Tone.TITLE), _lots(job), *_about_lots(job)]
    short = [need for need in job.needs if need.to_buy > 0]
    if short:
        rows = tuple(
            (
                f"{n.to_buy}",
                n.unit,
                n.title or n.item,
                n.phase,
                format_day(n.needed_on, line.today) + (", buy now" if n.late else ""),
            )
            for n in short
        )
        tones = tuple(Tone.CARE if n.late else Tone.PLAIN for n in short)
        out += [BLANK, Line("TO BUY", Tone.TITLE)]
        out.append(Grid(("", "", "item", "for", "by"), rows, frozenset({0}), indent=2, tones=tones))
    out += _to_ask(job)
    if job.notes:
        out += [BLANK, Line("NOTES", Tone.TITLE)]
        out.append(Grid((), tuple((format_day(n.day, line.today), n.who, n.text) for n in job.notes), indent=2))
    return tuple(out)


def _platform_text(job: JobView, name: str) -> str:
    platform, unit = job.spec.platform(name), job.spec.unit
    size = f"{format_length(platform.width_nm, unit)} x {format_length(platform.depth_nm, unit)}"
    joists = platform.joists
    return (
        f"platform {name}: {size}, {format_trade(platform.height_nm, unit)} high, {joists.size} joists at "
        f"{format_small(joists.spacing_nm, unit)}, {platform.decking.board} boards"
    )


def _to_ask(job: JobView) -> Iterator[Line | Grid]:
    """The permit questions, until the permit is signed off or, where there is none, until work is under way."""
    gate = next((p for p in job.phases if p.key == "permit"), None) or next(
        (p for p in job.phases if p.key == "layout"), None
    )
    if gate is None or gate.signed_off is not None:
        return
    answer = permit_answer(job.spec)
    yield BLANK
    yield Line("ASK THE LOCAL OFFICE", Tone.TITLE)
    yield Line(answer.headline, indent=2)
    yield Grid((), tuple(("-", question) for question in answer.moves), indent=2)
    yield Line(f"caution: {answer.caution}", Tone.CARE, indent=2)


def _in_the_way(job: JobView) -> Iterator[Line | Grid]:
    now = job.current
    if now is None or not now.stands_in_way:
        return
    step = "start" if now.state is PhaseState.AHEAD else "sign-off"
    yield BLANK
    yield Line(f"IN THE WAY of the {step} of {now.title}", Tone.TITLE)
    yield blockers_grid(now.stands_in_way)


def blockers_grid(blockers: Sequence[Blocker]) -> Grid:
    """What stands in the way, and the command that clears it."""
    rows = tuple((b.what, b.why, b.clears) for b in blockers)
    return Grid(("what", "why", "clear it with"), rows, indent=2, tones=(Tone.CARE,) * len(rows))


def _phases(phases: Sequence[PhaseView], today: date) -> Iterator[Line | Grid]:
    """Every phase on a line, then what is to say of some of them."""
    rows = tuple((p.key, p.title, p.state.value, _when(p, today), str(p.hold or "")) for p in phases)
    tones = tuple(PHASE_TONES[p.state] for p in phases)
    yield Grid(("phase", "", "state", "days", "hold"), rows, indent=2, tones=tones)
    for phase in phases:
        if phase.held_why:
            yield Line(f"{phase.title} is held: {phase.held_why}", Tone.CARE, 2)
        if phase.undone_by:
            yield Line(f"{phase.title}: sign-off undone by {', '.join(phase.undone_by)}", Tone.BAD, 2)
        if phase.carries:
            yield Line(f"{phase.title}: {carries_words(phase.carries)}", Tone.BAD, 2)
        for past in phase.past:
            yield Line(f"{phase.title}: {past_words(past, today)}", Tone.CARE, 2)


def _when(phase: PhaseView, today: date) -> str:
    if phase.signed_off is not None:
        return f"{format_day(phase.signed_off, today)}, {phase.signed_by}"
    return format_days(phase.planned_start, phase.planned_end, today)


def _current_checks(job: JobView) -> Iterator[Line | Grid]:
    """The checks of the phase under way, and every check of another phase that has a reading or a waiver."""
    now = job.current
    shown = [
        check
        for phase in job.phases
        for check in phase.checks
        if phase is now or check.readings or check.waivers or check.state is CheckState.FAILED
    ]
    if shown:
        yield BLANK
        yield Line("CHECKS", Tone.TITLE)
        yield checks_grid(shown, job.line.today)
    if now is not None:
        for caution in now.cautions:
            yield Line(f"caution: {caution}", Tone.CARE, indent=2)


def checks_grid(checks: Sequence[CheckView], today: date) -> Grid:
    """Checks: state, key, the last result and what to do, who read it and when."""
    rows = []
    for check in checks:
        do = moves(check) if check.state is CheckState.FAILED else ""
        last = check.last
        waiver = check.waivers[-1] if check.state is CheckState.WAIVED and check.waivers else None
        who, day = (waiver.who, waiver.day) if waiver else (last.who, last.day) if last else ("", None)
        found = result_of(check) if check.answer else "" if waiver else check.headline
        texts = (found, do, f"waived: {waiver.reason}" if waiver else "", taken_back(check, today))
        by = f"{who}, {format_day(day, today)}" if day else ""
        rows.append((CHECK_WORDS[check.state], check.key, "; ".join(text for text in texts if text), by))
    return Grid(
        ("", "check", "result", "by"),
        tuple(rows),
        indent=2,
        tones=tuple(CHECK_TONES[c.state] for c in checks),
    )


def checks_page(job: JobView) -> Page:
    """Every check of a job, phase by phase."""
    out: list[Line | Grid] = [Line(f"{job.line.code}  {job.line.title}: checks", Tone.TITLE)]
    for phase in job.phases:
        if phase.checks:
            out += [
                BLANK,
                Line(f"{phase.title} ({phase.state.value})", Tone.TITLE),
                checks_grid(phase.checks, job.line.today),
            ]
    out += [BLANK, Line(f"deckjobs check {job.line.code} KEY shows what a check asks for.", Tone.QUIET)]
    return tuple(out)


def _lots(job: JobView) -> Grid:
    rows = tuple(
        (
            lot.code,
            lot.item,
            str(lot.ordered),
            str(lot.received + lot.found),
            str(lot.used),
            str(lot.returned + lot.scrapped + lot.moved_out),
            str(lot.on_hand),
            pieces(lot.on_order, lot.unit) + (f" {format_day(lot.promised, job.line.today)}" if lot.promised else "")
            if lot.on_order
            else "",
            lot.supplier,
        )
        for lot in job.lots
    )
    header = ("lot", "item", "ordered", "in", "used", "out", "left", "to come", "from")
    return Grid(header, rows, frozenset(range(2, 7)), indent=2)


def _about_lots(job: JobView) -> Iterator[Line]:
    """What the figures of the lots do not say: which are offcuts or came from another job, which are not fit to use."""
    for lot in job.lots:
        size = stock_size(lot.item)
        if lot.found:
            offcut = size is not None and size[1] not in stock_of(size[0])
            what = f"offcuts of {size[0]}, {format_length(size[1], job.spec.unit)}" if size and offcut else lot.item
            came = "put back to stock" if offcut else "came without an order"
            yield Line(f"{lot.code}: {lot.found} {what}, {came}", indent=2)
        if lot.canceled:
            yield Line(f"{lot.code}: {lot.canceled} of the order canceled", indent=2)
        if lot.moved_out:
            yield Line(f"{lot.code}: {lot.moved_out} went to another job", indent=2)
        if lot.unfit:
            yield Line(f"{lot.code} is not fit to use: {lot.unfit_words}", Tone.BAD, indent=2)
        if lot.culls:
            told = f"{lot.code}: {count(lot.culls, 'cull')} to send back, {lot.usable} fit to use"
            yield Line(told, Tone.BAD, indent=2)
