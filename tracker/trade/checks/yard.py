"""The delivery check: what came against the order, the end tags, the moisture against the gap planned."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from tracker.errors import InputError
from tracker.text import count, listing
from tracker.trade.answer import Answer, Plain, Verdict
from tracker.trade.checks.base import Case, Check, LotLine, incomplete, verdict
from tracker.trade.checks.underdeck import lowest_wood_nm
from tracker.trade.lengths import SIXTY_FOURTH, format_small, inches
from tracker.trade.lumber import (
    GROUND_CLEARANCE_NM,
    USE_CATEGORIES,
    USE_SOURCE,
    counts_as_ground_contact,
    framing_wants_ground_contact,
    size_name,
    use_category,
)
from tracker.trade.movement import change_nm, gap_for, wettest_tight_tenths
from tracker.trade.plausible import meter_reading
from tracker.trade.readings import Field, Form, Kind, Readings, Value
from tracker.trade.spec import ON_GROUND, BoardKind, Decking, GapIntent, JobSpec, Platform, Support

TOO_DRY = "too dry to be laid touching"
_NO_LOTS = "no lots on this job yet; order the material first"
_SOURCE = (
    f"count against the order: common practice; use categories: {USE_SOURCE};"
    " movement: Wood Handbook (FPL-GTR-282) ch. 13"
)
_CAUTION = (
    "Lift long boards with two people; wet treated stock can weigh half as much again as dry. Store it at least 6 in"
    " off the ground, stickered and covered."
)
_SIZE_AT_START = re.compile(r"\s*((?:5/4|[0-9]{1,3})\s*[x×]\s*[0-9]{1,3})(?![0-9])")

_COLUMNS = (
    Field("count", "pieces counted", Kind.COUNT, example="36"),
    Field("stamp", "grade stamp seen", Kind.YESNO, required=False, example="yes", help="lumber only"),
    Field(
        "tag",
        "end tag",
        Kind.TEXT,
        required=False,
        example="UC4A",
        help="use category on the end tag, or none",
    ),
    Field("moisture", "moisture", Kind.PERCENT, required=False, example="18.5", help="mean of several pieces"),
    Field("culls", "culls", Kind.COUNT, required=False, example="0", help="pieces to send back"),
)


def _size(item: str) -> str:
    """The lumber size an item's name starts with, or nothing: a deck block is not lumber."""
    match = _SIZE_AT_START.match(item)
    try:
        return size_name(match[1]) if match and "block" not in item.lower() else ""
    except InputError:
        return ""


def _is_lumber(lot: LotLine) -> bool:
    return bool(lot.use_category or _size(lot.item))


def _platform_of_boards(case: Case, lot: LotLine) -> Platform | None:
    """The platform whose deck boards this lot holds, if it holds deck boards."""
    size = _size(lot.item)
    for platform in case.job.platforms:
        if size and size == _size(platform.decking.board) and size != _size(platform.joists.size):
            return platform
    return None


def needed_category(case: Case, lot: LotLine) -> tuple[str, str]:
    """The least use category for a lot and why: as ordered, or ground contact where the deck sits that low.

    A wood neither ordered nor planned as treated needs none. Framing of a platform on blocks, or with less than 18 in below it, has no air or reach below it;
    deck boards count by their clearance, under 6 in (AWPA U1, 2016 book).
    """
    boards_of = _platform_of_boards(case, lot)
    asked = lot.use_category or _planned_category(case, lot, boards_of)
    if not asked:
        return "", ""
    ordered = use_category(asked)
    if boards_of is not None:
        clearance = boards_of.height_nm - boards_of.decking.thickness_nm
        low = boards_of.support is not Support.PLATFORM and counts_as_ground_contact(clearance)
        why = f"deck boards under {format_small(GROUND_CLEARANCE_NM, case.job.unit)} above the ground"
    else:
        low = any(
            platform.support in ON_GROUND
            or (platform.support is Support.FOOTINGS and framing_wants_ground_contact(lowest_wood_nm(platform)))
            for platform in case.job.platforms
        )
        why = "framing near the ground, with little air and no way in below"
    if low and _rank(ordered) < _rank("UC4A"):
        return "UC4A", why
    return ordered, "as ordered" if lot.use_category else "as the job plans"


def _planned_category(case: Case, lot: LotLine, boards_of: Platform | None) -> str:
    """The use category the job gives the part this lot is for, where the lot itself names none."""
    if boards_of is not None:
        return boards_of.decking.use_category
    size = _size(lot.item)
    joists = [platform.joists for platform in case.job.platforms if size == _size(platform.joists.size)]
    return joists[0].use_category if size and joists else ""


def _rank(category: str) -> int:
    return list(USE_CATEGORIES).index(category)


def _tag(text: str) -> str | None:
    """The use category in an end tag's text, an empty string for none, or None when it cannot be read."""
    if text.strip().lower() in {"none", "no", "-"}:
        return ""
    match = re.search(r"UC[\s-]*([1-4])\s*([A-C])?(?![A-Z0-9])", text.upper())
    try:
        return use_category(f"UC{match[1]}{match[2] or ''}") if match else None
    except InputError:
        return None


@dataclass
class _Lot:
    """One lot as it is being judged; ``rejected`` are the faults for which the whole lot goes back, ``rules`` those it was
    held against.
    """

    figures: dict[str, Plain]
    working: list[str]
    faults: list[str]
    moves: list[str]
    wanted: list[str]
    rejected: list[str]
    rules: list[str]

    @property
    def verdict(self) -> Verdict:
        """The verdict on this lot alone."""
        if self.faults:
            return Verdict.FAILED
        return Verdict.INCOMPLETE if self.wanted else Verdict.PASSED

    @property
    def unfit(self) -> list[str]:
        """What is wrong with the pieces themselves, as against how many there are."""
        return [fault for fault in self.faults if not fault.endswith(" short")]


def _judge_lot(case: Case, lot: LotLine, row: Mapping[str, Value]) -> _Lot:
    out = _Lot({"ordered": lot.ordered}, [], [], [], [], [], [])
    counted = row.get("count")
    if isinstance(counted, int):
        _count(lot, counted, row.get("culls"), out)
    else:
        out.wanted.append("count")
    if _is_lumber(lot):
        _marks(case, lot, row, out)
    moisture = row.get("moisture")
    if isinstance(moisture, int):
        _moisture(case, lot, moisture, out)
    return out


def _count(lot: LotLine, counted: int, given: Value | None, out: _Lot) -> None:
    culls = given if isinstance(given, int) else 0
    if culls > counted:
        raise InputError(
            f"{lot.code}: {count(culls, 'cull')} of {counted} counted cannot be",
            "count the whole lot, culls and all, and then the culls in it",
        )
    fit = max(counted, lot.received) - culls
    if lot.used > fit:
        raise InputError(
            f"{lot.code}: {count(culls, 'cull')} cannot be right: {lot.used} of {lot.received} are built in, {fit} would be fit",
            "count the culls again; a bad piece that was built in is put right in the frame, or its use corrected",
        )
    good = counted - culls
    due = lot.ordered - min(culls, lot.sent_away)
    short, over = max(due - good, 0), max(good - due, 0)
    out.figures |= {"counted": counted, "culls": culls, "good": good, "short": short, "over": over}
    out.working.append(
        f"{lot.code} {lot.item}: {counted} counted - {count(culls, 'cull')} = {good} good, {lot.ordered} ordered"
    )
    if gone := min(culls, lot.sent_away):
        out.working.append(f"{lot.code}: {count(gone, 'cull')} gone by now, not waited for")
    if short:
        out.faults.append(f"{lot.code} {lot.item}: {short} short")
        out.moves.append(f"get {short} more of {lot.item} ({lot.code})")
    if over:
        out.moves.append(f"{lot.code}: {over} over; send back or book them in")
    if left := culls - gone:
        out.moves.append(f"send {count(left, 'cull')} of {lot.code} back; until then set them aside: they are not used")
    if lot.received and lot.received != counted:
        out.moves.append(f"{lot.code}: {lot.received} booked in but {counted} counted; put the receipt right")


def _marks(case: Case, lot: LotLine, row: Mapping[str, Value], out: _Lot) -> None:
    stamp, tag = row.get("stamp"), row.get("tag")
    if stamp is None:
        out.wanted.append("grade stamp")
    elif not stamp:
        out.faults.append(f"{lot.code}: no grade stamp")
        out.rejected.append(out.faults[-1])
        out.moves.append(f"send {lot.code} back, or get its grade certified: an inspector looks for the stamp")
    needed, why = needed_category(case, lot)
    if not needed:
        return
    out.figures |= {"needed_category": needed}
    if not isinstance(tag, str):
        out.wanted.append("end tag")
        return
    found = _tag(tag)
    out.figures |= {"tag": found or tag}
    out.working.append(f"{lot.code}: tag {found or tag}, needed {needed} ({why})")
    if found is None:
        out.faults.append(f"{lot.code}: {tag} is no use category")
        out.moves.append(f"read the end tag of {lot.code} again: {listing(USE_CATEGORIES)}")
    elif not found or _rank(found) < _rank(needed):
        out.faults.append(f"{lot.code}: {found or 'no tag'} where {needed} is needed")
        out.rejected.append(out.faults[-1])
        out.moves.append(f"send {lot.code} back for {needed}: {why}")


def _moisture(case: Case, lot: LotLine, moisture: int, out: _Lot) -> None:
    meter_reading(moisture, f"the moisture of {lot.code}")
    out.figures |= {"moisture_pct": moisture / 10}
    most = case.rules.figure("moisture_most_delivery")
    if lot.dry:
        out.rules.append("moisture_most_delivery")
        out.working.append(f"{lot.code}: {moisture / 10:g} %, sold as dry: {most / 10:g} % at most")
        if moisture > most:
            out.faults.append(f"{lot.code}: {moisture / 10:g} % is too wet for stock sold as dry")
            out.moves.append(f"send {lot.code} back, or sticker it under cover until it reads {most / 10:g} %")
    boards_of = _platform_of_boards(case, lot)
    if boards_of is not None and boards_of.decking.kind is BoardKind.WOOD:
        _against_gap(case, lot, boards_of.decking, moisture, out)


def _against_gap(case: Case, lot: LotLine, decking: Decking, moisture: int, out: _Lot) -> None:
    """Whether boards this wet or dry can be laid the way the job plans."""
    least, most = case.rules.figure("gap_least_service"), case.rules.figure("gap_most_service")
    service, unit = case.job.site.service_moisture_tenths, case.job.unit
    try:
        change = change_nm(decking.width_nm, decking.species, moisture, service)
    except InputError:
        out.working.append(f"{lot.code}: the movement of {decking.species} is not known here")
        return
    out.rules += ["gap_least_service", "gap_most_service"]
    tight = decking.gap_intent is GapIntent.TIGHT
    gap = gap_for(change, 0 if tight else decking.gap_nm, unit)
    then = -change if tight else gap.then_nm
    way = "laid touching" if tight else f"laid for {format_small(decking.gap_nm, unit)}"
    out.figures |= {"gap_service_in": inches(then)}
    out.working.append(
        f"{lot.code}: {moisture / 10:g} to {service / 10:g} % changes each board by {format_small(change, unit, 32)};"
        f" {way} the gap in service is {format_small(max(then, 0), unit, 32)}"
    )
    if then > most + SIXTY_FOURTH // 2:
        top = wettest_tight_tenths(decking.width_nm, decking.species, service, most)
        out.faults.append(f"{lot.code}: too wet for the gap planned")
        out.moves.append(f"let {lot.code} dry to {top / 10:g} % before laying, stickered and covered")
    elif tight and then < least - SIXTY_FOURTH // 2:
        spacer = gap_for(change, least, unit).spacer_nm
        out.faults.append(f"{lot.code}: {TOO_DRY}")
        out.moves.append(f"plan {lot.code} with a {format_small(spacer, unit)} spacer, not touching")


def as_laid_now(answer: Answer, job: JobSpec) -> Answer:
    """A kept verdict without what no longer holds: boards too dry to be laid touching are fit once the job lays its boards
    with a spacer.
    """
    lots = answer.answer.get("lots")
    if not isinstance(lots, dict) or any(p.decking.gap_intent is GapIntent.TIGHT for p in job.platforms):
        return answer
    gone: list[str] = []
    told: dict[str, Plain] = {}
    for code, figures in lots.items():
        unfit = figures.get("unfit") if isinstance(figures, dict) else None
        if not isinstance(figures, dict) or not isinstance(unfit, list) or f"{code}: {TOO_DRY}" not in unfit:
            told[code] = figures
            continue
        gone.append(code)
        left: list[Plain] = [text for text in unfit if text != f"{code}: {TOO_DRY}"]
        sound = not left and not figures.get("short")
        stands = (Verdict.INCOMPLETE if figures.get("wanted") else Verdict.PASSED) if sound else Verdict.FAILED
        told[code] = {**figures, "unfit": left, "verdict": stands.value}
    if not gone:
        return answer
    stand = {figures.get("verdict") for figures in told.values() if isinstance(figures, dict)}
    verdict = next((one for one in (Verdict.FAILED, Verdict.INCOMPLETE) if one.value in stand), Verdict.PASSED)
    faults = [text for text in answer.headline.split("; ") if text not in {f"{code}: {TOO_DRY}" for code in gone}]
    spacer = f"{listing(gone, 'and')} laid with a spacer, as the job plans now"
    return replace(
        answer,
        headline="; ".join([*faults, spacer] if faults else [f"{count(len(told), 'lot')} good: {spacer}"]),
        answer={**answer.answer, "lots": told},
        moves=tuple(move for move in answer.moves if not any(move.startswith(f"plan {code} with a ") for code in gone)),
        verdict=verdict,
    )


def as_ordered_now(answer: Answer, lots: Sequence[LotLine]) -> Answer:
    """A kept verdict without what no longer holds of the orders: what was canceled is not waited for, and of a lot that was
    short the pieces that came since are to be counted, not bought. Such a lot stays failed until it is. A lot of which
    more were counted than now have come, its receipt being put right, is to be counted again.
    """
    kept = answer.answer.get("lots")
    if not isinstance(kept, dict):
        return answer
    lines = {lot.code: lot for lot in lots if lot.is_any}
    told: dict[str, Plain] = {}
    faults, old_moves, moves, wanted = answer.headline.split("; "), list(answer.moves), list[str](), list[str]()
    for code, figures in kept.items():
        if not isinstance(figures, dict):
            continue
        if (line := lines.get(code)) is None:
            faults = [text for text in faults if not text.startswith((f"{code} ", f"{code}: "))]
            old_moves = [move for move in old_moves if not re.search(rf"(?<!\w){re.escape(code)}(?!\w)", move)]
            continue
        short = _whole(figures.get("short"))
        due = max(short - max(_whole(figures.get("ordered")) - line.ordered, 0), 0)
        came = max(line.received - _whole(figures.get("counted")), 0) if due else 0
        if short and (due < short or came):
            left = max(due - came, 0)
            said = ", ".join(([f"{left} short"] if left else []) + ([f"{came} came since the count"] if came else []))
            was = f"{code} {line.item}: {short} short"
            faults = [f"{code} {line.item}: {said}" if text == was else text for text in faults if said or text != was]
            old_moves = [move for move in old_moves if move != f"get {short} more of {line.item} ({code})"]
            moves += [f"read Delivery again: count {code}"] if came else []
            moves += [f"get {left} more of {line.item} ({code})"] if left else []
        to_read = figures.get("wanted")
        if _whole(figures.get("counted")) > line.received and isinstance(to_read, list):
            figures = {**figures, "wanted": (to_read := ["count", *(text for text in to_read if text != "count")])}
        wanted += (
            [f"{code} {listing([str(text) for text in to_read], 'and')}"]
            if isinstance(to_read, list) and to_read
            else []
        )
        stands = Verdict.INCOMPLETE if to_read else Verdict.PASSED
        told[code] = {
            **figures,
            "short": due,
            "verdict": (Verdict.FAILED if due or figures.get("unfit") else stands).value,
        }
        if "short" not in figures:
            told[code] = figures
    if told == kept and not moves:
        return answer
    if not told:
        return incomplete(_NO_LOTS, source=_SOURCE)
    stand = {figures.get("verdict") for figures in told.values() if isinstance(figures, dict)}
    moves += [move for move in old_moves if not move.startswith(("still to read: ", "read "))]
    answer = replace(answer, answer={**answer.answer, "lots": told})
    if Verdict.FAILED.value in stand:
        moves += [f"still to read: {'; '.join(wanted)}"] if wanted else []
        return replace(answer, headline="; ".join(faults), moves=tuple(moves), verdict=Verdict.FAILED)
    if wanted:
        to_say = incomplete("; ".join(wanted), source=_SOURCE)
        return replace(answer, headline=to_say.headline, moves=(*moves, *to_say.moves), verdict=Verdict.INCOMPLETE)
    good = f"{count(len(told), 'lot')} good: the rest of the order is canceled"
    return replace(answer, headline=good, moves=tuple(moves), verdict=Verdict.PASSED)


def as_sent_back(answer: Answer, left: Mapping[str, int]) -> Answer:
    """A kept verdict with the culls still to send back, ``left`` by lot: those that went back or were scrapped are not told."""
    lots = answer.answer.get("lots")
    if not isinstance(lots, dict):
        return answer
    culls = {code: _whole(figures.get("culls")) for code, figures in lots.items() if isinstance(figures, dict)}
    gone = {code: left.get(code, 0) for code, number in culls.items() if left.get(code, 0) < number}
    if not gone:
        return answer
    moves: list[str] = []
    for move in answer.moves:
        code = next((code for code in gone if re.match(rf"send \d+ culls? of {re.escape(code)} back;", move)), None)
        if code is None:
            moves.append(move)
        elif gone[code]:
            moves.append(re.sub(r"^send \d+ culls?", f"send {count(gone[code], 'cull')}", move))
    still = sum(min(number, left.get(code, 0)) for code, number in culls.items())
    headline = re.sub(r"complete, \d+ to send back$", f"complete, {still} to send back", answer.headline)
    return replace(answer, headline=headline, moves=tuple(moves))


def _lots(case: Case) -> tuple[LotLine, ...]:
    """The lots there is something to look at of, now or when they come."""
    return tuple(lot for lot in case.lots if lot.is_any)


def _form(case: Case) -> Form:
    rows = tuple(lot.code for lot in _lots(case))
    return Form(columns=_COLUMNS, rows=rows, row_word="lot", least_rows=len(rows))


def _judge(case: Case, readings: Readings) -> Answer:
    lots = _lots(case)
    if not lots:
        return incomplete(_NO_LOTS, source=_SOURCE)
    judged = {lot.code: _judge_lot(case, lot, readings.rows.get(lot.code, {})) for lot in lots}
    faults = [fault for lot in judged.values() for fault in lot.faults]
    wanted = [f"{code} {listing(lot.wanted, 'and')}" for code, lot in judged.items() if lot.wanted]
    moves = [move for lot in judged.values() for move in lot.moves]
    per_lot: dict[str, Plain] = {
        code: {
            **lot.figures, "verdict": lot.verdict.value, "unfit": list(lot.unfit), "rejected": list(lot.rejected),
            "wanted": list(lot.wanted),
        }
        for code, lot in judged.items()
    }  # fmt: skip
    if wanted and not faults:
        told = incomplete("; ".join(wanted), source=_SOURCE)
        return replace(told, answer={"lots": per_lot}, moves=(*moves, *told.moves))
    if wanted:
        moves.append(f"still to read: {'; '.join(wanted)}")
    totals: dict[str, Plain] = {
        f"{key}_pieces": sum(_whole(lot.figures.get(key)) for lot in judged.values())
        for key in ("short", "over", "culls")
    }
    return verdict(
        not faults,
        "; ".join(faults) or f"{count(len(judged), 'lot')} complete, {totals['culls_pieces']} to send back",
        inputs={"lots": [lot.code for lot in lots]},
        answer={**totals, "lots": per_lot},
        working=[line for lot in judged.values() for line in lot.working],
        source=_SOURCE,
        moves=moves,
        limits=[
            case.rules.limit(key, case.job.unit)
            for key in dict.fromkeys(key for lot in judged.values() for key in lot.rules)
        ],
        caution=_CAUTION,
    )


def _whole(value: Plain) -> int:
    return value if isinstance(value, int) else 0


DELIVERY = Check(
    key="delivery",
    title="Delivery",
    asks="count every lot, read its grade stamp and end tag, put the meter in several pieces, set culls aside",
    source=_SOURCE,
    form=_form,
    judge=_judge,
    per_platform=False,
    caution=_CAUTION,
)
