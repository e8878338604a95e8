"""The design check: every clause of the design, judged from the job's spec with nothing to type, and on whose design it stands."""

from __future__ import annotations

from tracker.text import listing
from tracker.trade.answer import Answer, Plain
from tracker.trade.cautions import DEFER
from tracker.trade.checks.base import Case, Check, incomplete
from tracker.trade.checks.found import Found, missing
from tracker.trade.dates import format_day
from tracker.trade.design import DesignLine, design_digest, design_lines
from tracker.trade.readings import Field, Form, Kind, Readings

DESIGN = "design"
"""The key of the check and of its phase."""
_SOURCE = "each line names its own; what no table covers is for a licensed professional"
NOT_CHECKED = "DRAFT - NOT CHECKED"
"""What stands on a quote whose design fails."""
CLEARS_DESIGN = (
    "change the job, or record on whose design it stands: a licensed professional's, or the office's stamped drawing"
    " (by, document, day); no waiver clears it"
)
"""What clears a design that fails."""


def _form(case: Case) -> Form:
    return Form(
        fields=(
            Field("by", "on whose design it stands", Kind.TEXT, example="N. Finch, licensed engineer",
                  help="a licensed professional, or the office that stamped the drawing"),
            Field("document", "drawing or document", Kind.TEXT, example="sheet S-1"),
            Field("day", "its day", Kind.DATE, example=case.today.isoformat()),
        )
    )  # fmt: skip


def _judge(case: Case, readings: Readings) -> Answer:
    lines = design_lines(case.job)
    faults = [line for line in lines if not line.good]
    form = _form(case)
    given = any(readings.has(field.key) for field in form.fields)
    if given and (wanted := missing(form, readings)):
        return incomplete(listing(wanted, "and"), source=_SOURCE)
    answer: dict[str, Plain] = {
        "faults": [line.said for line in faults], "clauses": [line.as_json for line in lines], "basis": None,
        "design": design_digest(case.job),
    }  # fmt: skip
    found, good = Found(working=[_worked(line) for line in lines]), f"{len(lines)} clauses hold"
    if given:
        basis, day = basis_words(readings), readings.day("day")
        answer["basis"], good = basis, f"stands on {basis}"
        if day > case.today:
            found.fault(
                f"the drawing is dated {format_day(day, case.today)}, after today", "enter the day on the drawing"
            )
    else:
        for line in faults:
            found.fault(line.said, CLEARS_DESIGN)
    return found.verdict(
        good,
        inputs={"live_psf": case.job.loading.live_psf, "snow_psf": case.job.loading.snow_psf},
        answer=answer,
        source=_SOURCE,
        limits=(),
        caution=f"{DEFER}; this is a working check of the figures in the job.",
    )


def _worked(line: DesignLine) -> str:
    return f"{line.clause} {'good' if line.good else 'FAILS'}: {line.said} ({line.source})"


def basis_words(readings: Readings) -> str:
    """``sheet S-1 of N. Finch, licensed engineer, Mon 4 May 2026``: what every paper names."""
    return f"{readings.word('document')} of {readings.word('by')}, {format_day(readings.day('day'), None)}"


DESIGN_CHECK = Check(
    key=DESIGN,
    title="Design",
    asks="nothing to read: it is judged from the job itself; to let it stand on a design of its own, say whose, which"
    " document and its day",
    source=_SOURCE,
    form=_form,
    judge=_judge,
    per_platform=False,
    caution=f"{DEFER}.",
    from_spec=True,
)
