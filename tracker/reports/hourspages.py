"""Crew hours: of a job by phase and day, over all jobs, and what finished phases really took."""

from __future__ import annotations

from fractions import Fraction

from tracker.book.worked import HoursSummary, HoursView, Stint
from tracker.planning.cents import round_cents
from tracker.planning.labour import figure_text, hours_text
from tracker.planning.productivity import Pace, Productivity
from tracker.reports.page import BLANK, Grid, Line, Page, Tone
from tracker.text import count, listing
from tracker.trade.answer import Plain
from tracker.trade.dates import format_day
from tracker.trade.money import format_money, percent_text

LEARNT = (
    "suggested is the median; half of the jobs lie between the quartiles (linear interpolation, ends included). "
    "Nothing changes by itself: take a figure with deckjobs rules --hours PHASE=FIGURE"
)


def hours_page(hours: HoursView) -> Page:
    """The hours of a job: by phase against the estimate, then entry by entry."""
    out: list[Line | Grid] = [
        Line(
            f"Hours {hours.job} {hours.title}: {hours_text(hours.minutes)}, {hours.gaps.at_least(hours.cents)}",
            Tone.TITLE,
        )
    ]
    if not hours.stints:
        return (*out, Line(f"None yet. Log some: deckjobs hours {hours.job} 6h {hours.now or 'PHASE'}", indent=2))
    out += [BLANK, Line("BY PHASE", Tone.TITLE), _by_phase(hours), BLANK, Line("BY DAY", Tone.TITLE)]
    rows = tuple(
        (str(s.number), format_day(s.day, hours.day), s.phase, people_words(s), hours_text(s.total_minutes), s.note)
        for s in hours.stints
    )
    out.append(Grid(("no.", "day", "phase", "who", "hours", "note"), rows, frozenset({0, 4}), indent=2))
    return tuple(out)


def people_words(stint: Stint) -> str:
    """Who worked: names, and how many besides."""
    names = listing(stint.names, "and")
    more = stint.people - len(stint.names)
    return f"{names} and {more} more" if more > 0 and names else names


def against_words(minutes: int, estimate: int, *, done: bool = False) -> str:
    """Hours worked against the estimate, in words; of a phase that is ``done`` nothing is left to work."""
    if not estimate:
        return "not estimated"
    left = estimate - minutes
    if not left:
        return "as estimated"
    under = "under" if done else "left"
    return f"{hours_text(abs(left))} {under if left > 0 else 'over'}"


def _by_phase(hours: HoursView) -> Grid:
    worked = [p for p in hours.phases if p.minutes]
    rows = [
        (p.title, hours_text(p.minutes), hours_text(p.estimate_minutes),
         against_words(p.minutes, p.estimate_minutes, done=p.signed_off), format_money(p.cents))
        for p in worked
    ]  # fmt: skip
    estimate = sum(p.estimate_minutes for p in worked)
    rows.append(("all", hours_text(hours.minutes), hours_text(estimate), "", hours.gaps.cost.money(hours.cents)))
    tones = (*(Tone.CARE if p.minutes > p.estimate_minutes else Tone.PLAIN for p in worked), Tone.TITLE)
    return Grid(("", "worked", "estimate", "", "cost"), tuple(rows), frozenset({1, 2, 4}), indent=2, tones=tones)


def summary_page(summary: HoursSummary) -> Page:
    """Hours over all jobs, and what finished phases took for each unit of work."""
    if not summary.jobs:
        return (Line("No hours are logged yet. Log some: deckjobs hours JOB 6h frame"),)
    rows = []
    for job in summary.jobs:
        rows += [
            (
                job.job if n == 0 else "",
                p.title,
                hours_text(p.minutes),
                hours_text(p.estimate_minutes),
                format_money(p.cents),
            )
            for n, p in enumerate(p for p in job.phases if p.minutes)
        ]
    header = ("job", "phase", "worked", "estimate", "cost")
    total = sum(job.minutes for job in summary.jobs), sum(job.cents for job in summary.jobs)
    out: list[Line | Grid] = [
        Line(f"Hours over all jobs: {hours_text(total[0])}, {summary.gaps.at_least(total[1])}", Tone.TITLE), Grid(header, tuple(rows), frozenset({2, 3, 4}), indent=2),
        BLANK, Line("WHAT FINISHED PHASES TOOK, hours for each unit of work", Tone.TITLE),
    ]  # fmt: skip
    if not summary.productivity:
        return (*out, Line("No phase with hours is signed off yet.", indent=2), BLANK, *_pace(summary.pace))
    out.append(_learnt(summary.productivity))
    out.append(BLANK)
    if any(p.few for p in summary.productivity):
        out.append(Line("only: fewer jobs than the house rule hours_few asks for, too few to go by", Tone.CARE))
    return (*out, Line(LEARNT, Tone.QUIET), BLANK, *_pace(summary.pace))


def _pace(pace: Pace) -> Page:
    """The pace of the house's crews, as the decks handed over tell it."""
    out: list[Line | Grid] = [Line("PACE, hours worked over the planning figures of decks handed over", Tone.TITLE)]
    if not pace.jobs:
        out.append(Line(f"No deck with hours is handed over yet; in force is {_share(pace.now)}.", indent=2))
    else:
        row = (
            _share(pace.quartile(2)),
            f"{_share(pace.quartile(1))} to {_share(pace.quartile(3))}",
            f"{_share(pace.quartile(0))} to {_share(pace.quartile(4))}",
            _share(pace.now),
            f"{count(pace.jobs, 'deck')} only" if pace.few else count(pace.jobs, "deck"),
        )
        tones = (Tone.QUIET if pace.few else Tone.PLAIN,)
        header = ("median" if pace.few else "proposed", "quartiles", "least to most", "now", "from")
        out.append(Grid(header, (row,), frozenset({0, 3}), indent=2, tones=tones))
    if pace.few:
        need = f"Fewer than {count(pace.least_jobs, 'deck')} (house rule hours_few): too few to go by, no pace is proposed."
        out.append(Line(need, Tone.CARE))
    else:
        out.append(Line(f"Take it, for all hours that you did not set yourself: deckjobs rules --set {pace.typed}"))
    if missing := _missing(pace):
        out.append(Line(f"Left out, for no hours are logged: {missing}. They count neither way.", Tone.CARE))
    return tuple(out)


def _missing(pace: Pace) -> str:
    phases = count(pace.without_hours, "finished phase") if pace.without_hours else ""
    decks = f"{count(pace.no_hours, 'deck')} handed over" if pace.no_hours else ""
    return " and ".join(part for part in (phases, decks) if part)


def _share(ratio: Fraction) -> str:
    return percent_text(round_cents(ratio * 1000))


def _learnt(found: tuple[Productivity, ...]) -> Grid:
    rows = tuple(
        (
            f"{p.title}, per {p.unit}" if p.unit else p.title,
            figure_text(p.median),
            f"{figure_text(p.low_quartile)} to {figure_text(p.high_quartile)}",
            f"{figure_text(p.least)} to {figure_text(p.most)}",
            figure_text(p.now),
            p.trust,
        )
        for p in found
    )
    tones = tuple(Tone.QUIET if p.few else Tone.PLAIN for p in found)
    header = ("", "suggested", "quartiles", "least to most", "now", "from")
    return Grid(header, rows, frozenset({1, 4}), indent=2, tones=tones)


def hours_json(hours: HoursView) -> dict[str, Plain]:
    """The hours of a job as plain values, whole minutes and cents."""
    return {
        "job": hours.job,
        "title": hours.title,
        "minutes": hours.minutes,
        "cents": hours.cents,
        "cents_bound": hours.gaps.cost.value,
        "phases": [
            {
                "phase": p.phase, "title": p.title, "minutes": p.minutes, "estimate_minutes": p.estimate_minutes,
                "cents": p.cents,
            }
            for p in hours.phases
        ],
        "entries": [
            {
                "number": s.number, "day": s.day.isoformat(), "phase": s.phase, "minutes_each": s.minutes,
                "people": s.people, "names": list(s.names), "note": s.note, "logged_by": s.who,
                "rate_cents": s.rate_cents, "cents": s.cents,
            }
            for s in hours.stints
        ],
    }  # fmt: skip


def summary_json(summary: HoursSummary) -> dict[str, Plain]:
    """The summary as plain values; figures are hours for each unit, as decimal texts."""
    return {
        "jobs": [hours_json(job) for job in summary.jobs],
        "productivity": [
            {
                "phase": p.phase, "title": p.title, "unit": p.unit, "jobs": p.jobs, "too_few": p.few,
                "median": figure_text(p.median), "least": figure_text(p.least), "most": figure_text(p.most),
                "low_quartile": figure_text(p.low_quartile), "high_quartile": figure_text(p.high_quartile),
                "now": figure_text(p.now), "to_take_it": f"deckjobs rules --hours {p.typed}",
            }
            for p in summary.productivity
        ],
        "pace": _pace_json(summary.pace),
    }  # fmt: skip


def _pace_json(pace: Pace) -> dict[str, Plain]:
    """The pace in tenths of a percent; no figure of the spread where no deck tells it, no command where too few do."""
    names = ("least", "low_quartile", "median", "high_quartile", "most")
    spread: dict[str, Plain] = {
        f"{name}_tenths_of_percent": round_cents(pace.quartile(number) * 1000) if pace.jobs else None
        for number, name in enumerate(names)
    }
    return {
        "decks": pace.jobs, "too_few": pace.few, "least_decks": pace.least_jobs, **spread,
        "now_tenths_of_percent": round_cents(pace.now * 1000), "phases_without_hours": pace.without_hours,
        "decks_without_hours": pace.no_hours, "to_take_it": f"deckjobs rules --set {pace.typed}" if pace.typed else None,
    }  # fmt: skip
