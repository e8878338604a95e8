"""The ledger check: fasteners, their places, the ledger and what it hangs on, flashing and lateral ties."""

from __future__ import annotations

from tracker.text import listing
from tracker.trade.answer import Answer, Limit, Plain
from tracker.trade.cautions import code_decides
from tracker.trade.checks.base import Case, Check, incomplete
from tracker.trade.checks.found import Found, missing, off_table
from tracker.trade.framing import plan_frame
from tracker.trade.lengths import INCH, format_small, format_trade, inches
from tracker.trade.loads import ANCHOR, FASTENERS, LUMBER_RIM, MASONRY, RIMS, ledger_answer
from tracker.trade.lumber import dressed, size_name
from tracker.trade.plausible import in_reason, on_the_deck, positive, right_unit
from tracker.trade.postloads import ledger_live_psf, stacked_on
from tracker.trade.readings import Field, Form, Kind, Readings
from tracker.trade.span_tables import LEDGER_TABLE, RIM_TABLE

PLACES = "from memory: IRC R507.9.1.3(2)"
TOP_LEAST_NM, BOTTOM_LEAST_NM = 2 * INCH, 3 * INCH // 4
"""Fastener to the top and the bottom edge of the ledger, least (from memory: IRC R507.9.1.3(2))."""
END_LEAST_NM, END_MOST_NM = 2 * INCH, 5 * INCH
"""First fastener from the end of the ledger (from memory: IRC R507.9.1.3(2))."""
ROWS_LEAST_NM, ROWS_MOST_NM = INCH + 5 * INCH // 8, 5 * INCH
"""Between the two rows of fasteners (from memory: IRC R507.9.1.3(2))."""
LEDGER_LEAST = "2x8"
LEDGER_SIZE = "IRC R507.9 as a city prints it: ledger 2x8 at least, never on veneer, never nails alone"
TIES = {"1500": 2, "750": 4}
"""Lateral devices by their pounds (Wisconsin deck code, lateral load): 2 of 1,500 lb or 4 of 750 lb."""
TIE_END_MOST_NM = 24 * INCH
"""A lateral tie within this of each end of the ledger (from memory: IRC R507.9.2)."""
_END_BOUND_NM, _TIE_BOUND_NM = 48 * INCH, 240 * INCH
"""Readings beyond these are taken as typed in the wrong unit, a bound of this program."""
_SOURCE = (
    f"spacing: {LEDGER_TABLE}; {RIM_TABLE}; places {PLACES}; {LEDGER_SIZE}; ties: Wisconsin deck code, lateral load"
)


def _joist_span(case: Case) -> int:
    """The joists on the ledger: to the first beam or block, else all the way."""
    platform = case.platform
    spans = plan_frame(platform, case.rules, case.job.site).spans_nm
    return spans[0] if spans else platform.depth_nm


def _form(case: Case) -> Form:
    unit = case.job.unit
    inch = {nm: format_small(nm, unit) for nm in (TOP_LEAST_NM, BOTTOM_LEAST_NM, 3 * INCH, 12 * INCH, ROWS_MOST_NM)}
    return Form(
        fields=(
            Field("fastener", "fastener", Kind.CHOICE, choices=(*FASTENERS, ANCHOR), example="lag",
                  help="1/2 in, all of a kind"),
            Field("rim", "what they go into", Kind.CHOICE, choices=RIMS, example=LUMBER_RIM,
                  help="a solid 2x, or a glued or strand rim board by its thickness: look at its edge"),
            Field("spacing", "widest spacing", Kind.LENGTH, example=inch[12 * INCH], help="on centre along the ledger"),
            Field("top", "fastener to the top edge", Kind.LENGTH, example=inch[TOP_LEAST_NM], help="the nearest"),
            Field("bottom", "fastener to the bottom edge", Kind.LENGTH, example=inch[BOTTOM_LEAST_NM],
                  help="the nearest"),
            Field("ends", "first fastener from each end", Kind.LENGTHS, example=f"{inch[3 * INCH]}; {inch[3 * INCH]}"),
            Field("band", "sound band joist behind", Kind.YESNO, example="yes",
                  help="probe it; no for rot, a truss, or a floor that overhangs"),
            Field("veneer", "veneer between", Kind.YESNO, example="no", help="brick or stone facing"),
            Field("flashed", "flashed", Kind.YESNO, example="yes", help="behind the siding and over the ledger"),
            Field("ties", "lateral ties", Kind.COUNT, example="2", help="into the floor inside the house"),
            Field("tie", "rating of one tie", Kind.CHOICE, choices=tuple(TIES), example="1500"),
            Field("apart", "between the rows", Kind.LENGTH, required=False, example=inch[ROWS_MOST_NM]),
            Field("tie-end", "tie from the end", Kind.LENGTH, required=False, example=inch[12 * INCH],
                  help="the farther of the two end ones"),
            Field("size", "ledger size", Kind.TEXT, required=False, example=case.platform.joists.size,
                  help="left blank, the joists' size"),
            Field("joists", "joist span", Kind.LENGTH, required=False, example=format_trade(_joist_span(case), unit),
                  help="left blank, as planned"),
        )
    )  # fmt: skip


def _judge(case: Case, readings: Readings) -> Answer:
    unit = case.job.unit
    wanted = missing(_form(case), readings)
    ends = readings.values.get("ends", ())
    if isinstance(ends, tuple) and len(ends) == 1:
        wanted.append("the first fastener from the other end")
    if wanted:
        return incomplete(listing(wanted, "and"), source=_SOURCE)
    found = Found()
    planned = _joist_span(case)
    span = readings.whole("joists") if readings.has("joists") else planned
    spacing = readings.whole("spacing")
    positive(span, "the joist span", unit)
    right_unit(span, planned, "the joist span", unit)
    positive(spacing, "the fastener spacing", unit)
    found.refuse_beyond(case)
    live = ledger_live_psf(case.job, case.platform)
    if stacked_on(case.job, case.platform):
        found.working.append(f"what is stacked on it counts over the whole ledger: {live:g} psf live")
    kind, rim = readings.word("fastener"), readings.word("rim")
    told = off_table(lambda: ledger_answer(span, kind, rim=rim, live_psf=live, unit=unit))
    answer: dict[str, Plain] = {"spacing_in": inches(spacing), "joist_span_in": inches(span)}
    limits = [Limit("ledger at least", LEDGER_LEAST, LEDGER_SIZE)]
    if isinstance(told, str):
        found.fault(told, "use a fastener the table has, or ask a licensed professional: this ledger is off the table")
    else:
        most = round(float(str(told.answer["spacing_in"])) * INCH)
        right_unit(spacing, most, "the fastener spacing", unit)
        answer |= {
            "allowed_spacing_in": inches(most),
            "load_per_fastener_lb": round(
                float(str(told.answer["load_per_fastener_lb"])) * spacing / most, 1
            ),
        }  # fmt: skip
        found.working += told.working
        limits.insert(0, Limit("fasteners on centre", format_small(most, unit), told.source))
        if spacing > most:
            found.fault(
                f"{kind} fasteners {format_small(spacing, unit)} apart, {format_small(most, unit)} is the most",
                f"set one more between where they are over {format_small(most, unit)} apart",
            )
    _places(case, readings, found, limits)
    _backing(case, readings, found)
    return found.verdict(
        f"ledger good: {kind} fasteners {format_small(spacing, unit)} on centre",
        inputs={"fastener": kind, "rim": rim, "live_psf": live},
        answer=answer,
        source=_SOURCE,
        limits=limits,
        caution=code_decides(LEDGER_TABLE) + " A ledger that lets go drops the deck with everybody on it.",
    )


def _places(case: Case, readings: Readings, found: Found, limits: list[Limit]) -> None:
    """Edge and end distances of the fasteners."""
    unit = case.job.unit
    ends = readings.values["ends"]
    assert isinstance(ends, tuple)
    deep = dressed(size_name(readings.word("size", case.platform.joists.size))).depth_nm
    for key, what in (
        ("top", "from the top edge,"),
        ("bottom", "from the bottom edge,"),
        ("apart", "between the rows,"),
    ):
        if readings.has(key):
            in_reason(readings.whole(key), deep, what, unit)
    for nm in ends:
        in_reason(nm, _END_BOUND_NM, "from the end,", unit)
    if readings.has("tie-end"):
        in_reason(readings.whole("tie-end"), _TIE_BOUND_NM, "from the end to the lateral tie,", unit)
    together = sum(readings.whole(key) for key in ("top", "apart", "bottom") if readings.has(key))
    on_the_deck(
        together, deep + INCH // 2, "the fasteners' places together,", f"a ledger {format_small(deep, unit)} deep", unit
    )
    least = {"top": TOP_LEAST_NM, "bottom": BOTTOM_LEAST_NM}
    for edge, nm in least.items():
        limits.append(Limit(f"fastener from the {edge} edge, least", format_small(nm, unit), PLACES))
        if readings.whole(edge) < nm:
            found.fault(
                f"a fastener {format_small(readings.whole(edge), unit)} from the {edge} edge",
                f"set another {format_small(nm, unit)} or more from the {edge} edge beside it",
            )
    span = f"{format_small(END_LEAST_NM, unit)} to {format_small(END_MOST_NM, unit)}"
    limits.append(Limit("first fastener from the end", span, PLACES))
    for nm in ends:
        if not END_LEAST_NM <= nm <= END_MOST_NM:
            found.fault(
                f"the first fastener is {format_small(nm, unit)} from the end",
                f"set one {span} from that end",
            )
    if readings.has("apart") and not ROWS_LEAST_NM <= readings.whole("apart") <= ROWS_MOST_NM:
        rows = f"{format_small(ROWS_LEAST_NM, unit)} to {format_small(ROWS_MOST_NM, unit)}"
        found.fault(
            f"the rows are {format_small(readings.whole('apart'), unit)} apart", f"stagger two rows {rows} apart"
        )


def _backing(case: Case, readings: Readings, found: Found) -> None:
    """The ledger itself, what it hangs on, its flashing and its ties."""
    unit = case.job.unit
    size = size_name(readings.word("size", case.platform.joists.size))
    real, least = dressed(size), dressed(LEDGER_LEAST)
    if real.thickness_nm < least.thickness_nm or real.depth_nm < least.depth_nm:
        found.fault(f"a {size} ledger is too small", f"use {LEDGER_LEAST} or larger, treated, grade No.2")
    if not readings.yes("band") and readings.word("rim") != MASONRY:
        found.fault("no sound band joist behind the ledger", "carry that side on its own beam and posts instead")
    if readings.yes("veneer"):
        found.fault("the ledger hangs on veneer", "carry that side on its own beam and posts instead")
    if not readings.yes("flashed"):
        found.fault("the ledger is not flashed", "flash it under the siding and over the ledger before boards go on")
    ties, pounds = readings.whole("ties"), readings.word("tie")
    found.working.append(f"lateral: {ties} x {pounds} lb; {TIES[pounds]} of them are asked for")
    if ties < TIES[pounds]:
        found.fault(f"{ties} lateral ties of {pounds} lb", f"fit {TIES[pounds]} of {pounds} lb, one near each end")
    if readings.has("tie-end") and readings.whole("tie-end") > TIE_END_MOST_NM:
        found.fault(
            f"a lateral tie {format_trade(readings.whole('tie-end'), unit)} from the end",
            f"fit one within {format_trade(TIE_END_MOST_NM, unit)} of each end",
        )


LEDGER = Check(
    key="ledger",
    title="Ledger",
    asks="the fasteners' kind, widest spacing and distances, what is behind the ledger, its flashing and lateral ties",
    source=_SOURCE,
    form=_form,
    judge=_judge,
    applies=lambda job, platform: platform.attached,
    caution=code_decides(LEDGER_TABLE),
)
