"""The check of joist spans and overhangs as built, by the size, species and grade that really came."""

from __future__ import annotations

from tracker.text import listing
from tracker.trade.answer import Answer, Limit, Plain
from tracker.trade.cautions import code_decides
from tracker.trade.checks.base import Case, Check, incomplete
from tracker.trade.checks.found import Found, missing, off_table
from tracker.trade.checks.structure import ASK, OVERHANG_SHARE, served_by
from tracker.trade.framing import JoistEnd, joist_runs, plan_frame
from tracker.trade.lengths import FOOT, INCH, format_small, format_trade, inches
from tracker.trade.lumber import size_name
from tracker.trade.plausible import in_reason, on_the_deck, positive, right_unit
from tracker.trade.readings import Field, Form, Kind, Readings
from tracker.trade.span_tables import JOIST_TABLE
from tracker.trade.spans import span_answer
from tracker.trade.spec import JobSpec, Platform
from tracker.trade.species import EDITION

_OFF_PART = 4
"""By more than this part of the deck's depth spans and overhangs never add up off it, a bound of this program."""
_SOURCE = f"{JOIST_TABLE}; second opinion computed from {EDITION}"


def _rows(case: Case) -> dict[str, int]:
    spans = plan_frame(case.platform, case.rules, case.job.site).spans_nm
    return {f"S{number}": nm for number, nm in enumerate(spans, 1)}


def _ends(platform: Platform) -> tuple[JoistEnd, ...]:
    """Joists past a beam, as planned."""
    return tuple(end for run in joist_runs(platform) for end in run.ends)


def _free_ends(platform: Platform) -> int:
    """How many ends of the deck, back and front, run past a beam."""
    back = 0 if platform.attached else platform.beams[0].at_nm
    return sum(past > 0 for past in (back, platform.depth_nm - platform.beams[-1].at_nm))


def _form(case: Case) -> Form:
    unit, joists, rows = case.job.unit, case.platform.joists, _rows(case)
    over = max((end.past_nm for end in _ends(case.platform)), default=0)
    return Form(
        fields=(
            Field("overhang", "longest joist end past a beam", Kind.LENGTH, example=format_trade(over, unit),
                  help="from the beam's face; 0 when there is none"),
            Field("size", "joist size", Kind.TEXT, required=False, example=joists.size, help="left blank, as planned"),
            Field("species", "species on the grade stamp", Kind.TEXT, required=False, example=joists.species,
                  help="left blank, as planned"),
            Field("grade", "grade on the stamp", Kind.TEXT, required=False, example=joists.grade,
                  help="left blank, as planned"),
            Field("spacing", "widest joist spacing", Kind.LENGTH, required=False,
                  example=format_small(joists.spacing_nm, unit), help="left blank, as planned"),
        ),
        columns=(
            Field("span", "span", Kind.LENGTH, example=format_trade(max(rows.values(), default=10 * FOOT), unit),
                  help="ledger to beam, or beam to beam, centre to centre; the back one first"),
        ),
        rows=tuple(rows),
        row_word="span",
        least_rows=len(rows),
    )  # fmt: skip


def _judge(case: Case, readings: Readings) -> Answer:
    unit, joists = case.job.unit, case.platform.joists
    if wanted := missing(_form(case), readings):
        return incomplete(listing(wanted, "and"), source=_SOURCE)
    found = Found()
    spans, planned = readings.column("span"), _rows(case)
    for name, nm in spans.items():
        positive(nm, f"{name} span", unit)
        right_unit(nm, planned[name], f"{name} span", unit)
    size = readings.word("size", joists.size)
    wood, stamp = readings.word("species", joists.species), readings.word("grade", joists.grade)
    spacing = readings.whole("spacing") if readings.has("spacing") else joists.spacing_nm
    positive(spacing, "the joist spacing", unit)
    right_unit(spacing, joists.spacing_nm, "the joist spacing", unit)
    served, load = served_by(size, found), case.job.loading
    found.refuse_beyond(case)
    told = off_table(lambda: span_answer("joist", served, wood, stamp, spacing_nm=spacing, unit=unit,
                                         live_psf=load.live_psf, snow_psf=load.snow))  # fmt: skip
    over = readings.whole("overhang")
    in_reason(over, case.platform.depth_nm, "past the beam by", unit)
    depth, free = case.platform.depth_nm, _free_ends(case.platform)
    whole, off = f"a deck {format_trade(depth, unit)} deep", depth // _OFF_PART
    together = sum(spans.values())
    on_the_deck(together + (over if free else 0), depth + off, "spans and overhang together,", whole, unit)
    on_the_deck(together + free * over, 4 * depth, "spans and overhangs together,", whole, unit, least_nm=depth - off)
    longest = max(spans, key=lambda name: spans[name])
    answer: dict[str, Plain] = {"longest_in": inches(spans[longest]), "overhang_in": inches(over)}
    limits: list[Limit] = []
    if isinstance(told, str):
        found.fault(told, f"{ASK}: no table or value is held for these joists")
    else:
        allowed = round(float(str(told.answer["allowed_span_in"])) * INCH)
        ends = [spans[f"S{end.span}"] for end in _ends(case.platform) if f"S{end.span}" in spans]
        behind = min(ends, default=spans[longest])
        reach = min(round(float(str(told.answer["overhang_in"])) * INCH), behind // OVERHANG_SHARE)
        answer |= {
            "allowed_span_in": inches(allowed), "computed_span_in": told.answer["span_in"],
            "published_span_in": told.answer["published_span_in"], "governs": told.answer["governs"],
            "allowed_overhang_in": inches(reach),
        }  # fmt: skip
        found.working += told.working
        found.working.append(
            f"past the beam: a quarter of the {format_trade(behind, unit)} behind it, and the table's own limit:"
            f" {format_trade(reach, unit)}"
        )
        for name, nm in spans.items():
            if nm > allowed:
                found.fault(
                    f"{name} spans {format_trade(nm, unit)}, {format_trade(allowed, unit)} is the most",
                    f"{name}: put a beam between, closer joists or deeper ones",
                )
        if over > reach:
            found.fault(
                f"joists run {format_trade(over, unit)} past the beam, {format_trade(reach, unit)} is the most",
                f"cut the ends back by {format_small(over - reach, unit)}, or move the beam out",
            )
        limits = [
            Limit(f"{served} joists at {format_small(spacing, unit)}", format_trade(allowed, unit), told.source),
            Limit("joist past its beam", format_trade(reach, unit), "DCA 6 Table 2 and its footnote, a quarter"),
        ]
    return found.verdict(
        f"longest span {format_trade(spans[longest], unit)} within {limits[0].text if limits else ''}",
        inputs={"size": size_name(size), "species": wood, "grade": stamp, "spacing_in": inches(spacing)},
        answer=answer,
        source=_SOURCE,
        limits=limits,
        caution=code_decides(f"{JOIST_TABLE.partition(':')[0]} and {EDITION}"),
    )


def _spans(job: JobSpec, platform: Platform) -> bool:
    thick = platform.joists.thickness_nm
    held = {max(beam.at_nm, thick) for beam in platform.beams} | ({thick} if platform.attached else set())
    return bool(platform.beams) and len(held) > 1


SPAN = Check(
    key="span",
    title="Joist spans",
    asks="every span of the joists and the longest end past a beam; read species and grade off the stamp",
    source=_SOURCE,
    form=_form,
    judge=_judge,
    applies=_spans,
    caution=code_decides(f"{JOIST_TABLE.partition(':')[0]} and {EDITION}"),
)
