"""Jobs as they would be, and change orders: differences worked out by hand, all or nothing, and what no longer counts."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.book.conftest import DAY, change_orders_of, hand_of
from tests.often import examples
from tracker.book.care import doctor
from tracker.book.changeviews import Change, ItemChange
from tracker.book.changing import BUILT_BY, accept_change, difference
from tracker.book.gates import sign_off, start
from tracker.book.hand import Hand
from tracker.book.jobs import job_view, take_job
from tracker.book.lots import order, receive, use
from tracker.book.opening import Book, open_book
from tracker.book.proposal import job_source, next_code, preview
from tracker.book.readings import record, waive
from tracker.book.views import CheckState, PhaseState
from tracker.errors import ConflictError, InputError, RefusedError
from tracker.reports.changepages import change_page
from tracker.reports.page import plain
from tracker.trade.checks.registry import CHECKS
from tracker.trade.jobfile import JobFaults, parse_job_table
from tracker.trade.phases import BY_KEY as PHASES
from tracker.trade.specchange import RESTS_ON, Part

PRICES = {"2x8x10": "15.00", "2x8x12": "18.15", "2x8x16": "24.60", "5/4x6x12": "13.70", "5/4x6x16": "18.20", "block": "8.90",
          "cloth": "58.00", "gravel": "46.00", "nails 16d": "24.50", "screws 2-1/2": "39.00"}  # fmt: skip


def job(width: str = "12'", **more: Any) -> dict[str, Any]:
    """An invented platform 10' 3" deep: a joist of exactly 10 ft between two 1-1/2 in rims."""
    platform: dict[str, Any] = {
        "name": "deck", "size": [width, "10' 3"], "height": "10-1/2 in", "support": "blocks",
        "joists": {"size": "2x8", "species": "southern pine", "grade": "no.2", "spacing": "16 in", "use": "UC4A"},
        "decking": {"board": "5/4x6", "kind": "wood", "species": "southern pine", "lay": "tight", "gap": "3/16 in",
                    "use": "UC4A"},
    }  # fmt: skip
    platform |= more.pop("platform", {})
    return {
        "code": "26-101", "title": "Platform", "client": "Client P (invented)", "crew": "North", "start": "2026-05-11",
        "site_facts": {"digging": False}, "platform": [platform], "prices": PRICES, **more,
    }  # fmt: skip


def put(book: Book, hand: Hand, source: Mapping[str, Any]) -> None:
    take_job(book, hand, parse_job_table(source, "job.toml"))


def items(change: Change) -> dict[str, ItemChange]:
    return {item.item: item for item in change.items}


def test_a_wider_platform_costs_what_it_costs_by_hand(book: Book, hand: Hand) -> None:
    """12' to 16' wide, nothing ordered.

    Joists at 16 in on centre: ceil((144 - 1.5) / 16) + 1 = 10, then ceil((192 - 1.5) / 16) + 1 = 13; each a whole 2x8x10.
    Rims: two of 12', then two of 16'. Deck boards: ceil(123 / 5.5) = 23 rows, and 5 % spare up: 25 boards.
    """
    put(book, hand, job())
    change = difference(book, "26-101", job("16'"), DAY, proven=True)
    found = items(change)
    assert (found["2x8x10"].before, found["2x8x10"].after, found["2x8x10"].add) == (10, 13, 3)
    assert (found["2x8x12"].before, found["2x8x12"].after, found["2x8x12"].drop) == (2, 0, 2)
    assert (found["2x8x16"].before, found["2x8x16"].after, found["2x8x16"].add) == (0, 2, 2)
    assert (found["5/4x6x12"].drop, found["5/4x6x16"].add) == (25, 25)
    lumber = 3 * 1500 - 2 * 1815 + 2 * 2460 + 25 * (1820 - 1370)
    goods = sum(
        (item.after_cents or 0) - (item.before_cents or 0) for key, item in found.items() if not key[0].isdigit()
    )
    assert change.cost_cents == lumber + goods == change.after.material_cents - change.before.material_cents
    # Blocks: supports at most 5 ft apart under 10 ft joists are 3 a line; 12 lines (10 and both rims are joists here) to 13.
    assert found["block"].after - found["block"].before == 3 * (13 - 10)
    assert [part.part.value for part in change.parts] == ["size"]
    assert change.before.proven and change.after.proven and not change.again and not change.reopen


def test_a_change_moves_the_hand_over_by_the_working_days_the_job_says_after_it(book: Book, hand: Hand) -> None:
    """An oiled deck: the finish weeks after the hand-over is not what the client waits for. Counted here Monday to Friday."""
    put(book, hand, job(finish="oil"))
    before = job_view(book, "26-101", DAY).line.planned_end
    change = difference(book, "26-101", job("40'", finish="oil"), DAY)
    assert change.before.hand_over == before < change.before.last_day
    accept_change(book, hand, "26-101", job("40'", finish="oil"), "wider", change.rev)
    after = job_view(book, "26-101", DAY).line.planned_end
    assert change.after.hand_over == after > before
    days = (before + timedelta(days=n) for n in range(1, (after - before).days + 1))
    assert change.later_days == sum(day.weekday() < 5 for day in days) > 0
    told = plain(change_page(change), 100)
    assert f"{change.later_days} working day" in told and "hand-over" in told and "last day" not in told


def test_what_is_ordered_in_the_yard_or_built_in_counts(book: Book, hand: Hand) -> None:
    """16' to 12' wide with thirteen 2x8x10 and two 2x8x16 had.

    Three 10 ft joists too many (13 - 10). A rim of exactly 12 ft is a whole 12 ft board: two to buy, the two of 16 ft are over.
    """
    put(book, hand, job("16'"))
    order(book, hand, "26-101", "2x8x10", 13, lot="A")
    order(book, hand, "26-101", "2x8x16", 2, lot="B")
    now = items(difference(book, "26-101", job("12'"), DAY, proven=True))
    assert (now["2x8x10"].cancel, now["2x8x10"].give_back, now["2x8x10"].built_in) == (3, 0, 0)
    assert (now["2x8x16"].cancel, now["2x8x16"].give_back, now["2x8x12"].add) == (2, 0, 2)
    receive(book, hand, "26-101", "A", 12)
    now = items(difference(book, "26-101", job("12'"), DAY, proven=True))
    assert (now["2x8x10"].cancel, now["2x8x10"].give_back, now["2x8x10"].built_in) == (1, 2, 0)
    use(book, hand, "26-101", "A", 12)
    change = difference(book, "26-101", job("12'"), DAY, proven=True)
    now = items(change)
    assert (now["2x8x10"].cancel, now["2x8x10"].give_back, now["2x8x10"].built_in) == (1, 0, 2)
    assert any("built in already" in text and "2 2x8" in text for text in change.warnings)


def test_boards_on_order_are_cut_before_others_are_bought(book: Book, hand: Hand) -> None:
    """12' to 11' 6" wide: ceil((138 - 1.5) / 16) + 1 = 10 joists as before, and the rims are cut from the 12 ft boards."""
    put(book, hand, job())
    order(book, hand, "26-101", "2x8x10", 10)
    order(book, hand, "26-101", "2x8x12", 2)
    change = difference(book, "26-101", job("11' 6"), DAY, proven=True)
    assert change.anything and not {"2x8x10", "2x8x12", "2x8x16"} & set(items(change))


def ready(book: Book, hand: Hand) -> None:
    """A job with its layout read and signed off, its frame under way with a square reading and a waived level."""
    put(book, hand, job())
    sign_off(book, hand, "26-101", "design")
    record(book, hand, "26-101", "layout-square", ["12'", "10' 3", "15' 9-3/8", "15' 9-3/8"])
    sign_off(book, hand, "26-101", "layout")
    for phase, check in (("strip", "stripped"), ("pads", "base")):
        waive(book, hand, "26-101", check, "not measured in this test")
        sign_off(book, hand, "26-101", phase)
    waive(book, hand, "26-101", "block-level", "read tomorrow")
    sign_off(book, hand, "26-101", "posts", past="the delivery is counted tonight")
    start(book, hand, "26-101", "frame", past="the delivery is counted tonight")
    record(book, hand, "26-101", "square", ["width=12'", "depth=10' 3", "ac=15' 9-3/8", "bd=15' 9-3/8"])
    waive(book, hand, "26-101", "level", "the level is in the other truck")


def test_readings_of_the_old_part_no_longer_count_and_its_phases_open_again(book: Book, hand: Hand) -> None:
    ready(book, hand)
    change = difference(book, "26-101", job("16'"), DAY)
    assert {check.key: check.still_passes for check in change.again} == {
        "layout-square": None, "stripped": None, "base": None, "square": None, "level": None, "block-level": None,
    }  # fmt: skip
    assert [key for key, _, _ in change.reopen] == ["layout", "strip", "pads", "posts"]
    assert any("under way already" in text for text in change.warnings)
    done = accept_change(book, hand, "26-101", job("16'"), "the client wants room for a table", change.rev)
    assert "read again: layout-square" in done.text
    view = job_view(book, "26-101", DAY)
    assert view.spec.platforms[0].width_nm == parse_job_table(job("16'"), "x").spec.platforms[0].width_nm
    for key in ("layout-square", "square", "level", "block-level"):
        check = view.check(key)
        assert check.state is CheckState.OPEN and (check.readings or check.waivers), key
        assert check.headline.startswith("to be read again" if check.readings else "no reading yet")
    assert view.phase("layout").state is PhaseState.UNDER_WAY
    record(book, hand, "26-101", "square", ["width=16'", "depth=10' 3", "ac=19' 0", "bd=19' 0"])
    assert job_view(book, "26-101", DAY).check("square").state is CheckState.PASSED
    (kept,) = change_orders_of(book, "26-101")
    assert (kept.who, kept.reason, kept.day) == (hand.who, "the client wants room for a table", DAY)
    assert kept.after_cents - kept.before_cents == change.cost_cents
    assert not doctor(book.path).problems


def test_a_smaller_deck_stands_on_the_ground_made_ready(book: Book, hand: Hand) -> None:
    ready(book, hand)
    change = difference(book, "26-101", job("10'"), DAY)
    assert [key for key, _, _ in change.reopen] == ["layout", "posts"]
    assert not {"stripped", "base"} & {check.key for check in change.again}
    assert not any("Strip and grade" in text for text in change.warnings)


def test_what_does_not_touch_a_reading_leaves_it_alone(book: Book, hand: Hand) -> None:
    ready(book, hand)
    boards = {**job()["platform"][0]["decking"], "board": "2x6"}
    change = difference(book, "26-101", job(platform={"decking": boards, "height": "11 in"}, finish="oil"), DAY)
    assert "square" not in {check.key for check in change.again}
    assert {"level", "block-level"} <= {check.key for check in change.again}
    assert [key for key, _ in change.new_checks] == ["finish-ready"]
    assert [phase.key for phase in change.phases if phase.before is None] == ["finish"]
    back = difference(book, "26-101", job(), DAY)
    assert not back.anything and not back.items and not back.cost_cents


def test_stairs_and_another_platform_bring_their_phases_and_checks(book: Book, hand: Hand) -> None:
    ready(book, hand)
    upper = {**job("8'")["platform"][0], "name": "upper", "support": "platform", "height": "20 in"}
    both = job(platform={"stairs": [{"width": "4'", "rise": "10-1/2 in"}]})
    both["platform"].append(upper)
    change = difference(book, "26-101", both, DAY)
    assert "square.deck" in dict(change.new_checks) and "square" in dict(change.gone_checks)
    assert {"rough-in", "guards"} <= {phase.key for phase in change.phases if phase.before is None}
    assert {"layout", "posts"} <= {key for key, _, _ in change.reopen}


def test_only_the_owner_accepts_and_nothing_is_half_done(book: Book, hand: Hand) -> None:
    ready(book, hand)
    rev = difference(book, "26-101", job("16'"), DAY).rev
    crew = hand_of("Lead Wren")
    record(book, crew, "26-101", "crown", ["1/16"] * 10)
    with pytest.raises(RefusedError, match="may not accept a change order"):
        accept_change(book, crew, "26-101", job("16'"), "wider", rev)
    with pytest.raises(InputError, match="reason"):
        accept_change(book, hand, "26-101", job("16'"), "  ", rev)
    with pytest.raises(ConflictError):
        accept_change(book, hand, "26-101", job("16'"), "wider", rev + 1)
    with pytest.raises(InputError, match="nothing"):
        accept_change(book, hand, "26-101", job(), "wider", rev)
    with pytest.raises(JobFaults) as caught:
        accept_change(book, hand, "26-101", job("wide"), "wider", rev)
    assert caught.value.faults[0].path == ("platform", 0, "size", 0)
    with pytest.raises(JobFaults, match="26-999"):
        difference(book, "26-101", job(code="26-999"), DAY)
    assert difference(book, "26-101", job(), DAY).rev == rev and not change_orders_of(book, "26-101")


def test_the_same_acceptance_twice_is_one_change_order(book: Book, hand: Hand) -> None:
    put(book, hand, job())
    entry = "01900000-0000-7000-8000-000000000001"
    first = accept_change(book, hand, "26-101", job("16'"), "wider", 1, entry_id=entry)
    again = accept_change(book, hand, "26-101", job("16'"), "wider", 1, entry_id=entry)
    assert not first.already and again.already and len(change_orders_of(book, "26-101")) == 1


def test_every_check_and_phase_a_change_can_touch_is_known() -> None:
    assert set(RESTS_ON) == {check.key for check in CHECKS}
    assert {phase for phases in BUILT_BY.values() for phase in phases} <= set(PHASES)
    assert set(BUILT_BY) == set(Part) - {Part.GROUND, Part.PERMIT}


@settings(max_examples=examples(12, 240), deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    width=st.sampled_from(["9'", "12'", "14' 6", "16'"]), height=st.sampled_from(["10-1/2 in", "12 in", "2'"]),
    spacing=st.sampled_from(["12 in", "16 in"]), finish=st.sampled_from(["none", "oil"]), had=st.integers(0, 14),
)  # fmt: skip
def test_a_change_and_its_reverse_bring_material_and_cost_back(
    tmp_path: Path, width: str, height: str, spacing: str, finish: str, had: int
) -> None:
    path = tmp_path / "turn.book"
    path.unlink(missing_ok=True)
    book, hand = open_book(path), hand_of("Owner Plover")
    try:
        first = job()
        joists = {**first["platform"][0]["joists"], "spacing": spacing}
        second = job(width, platform={"height": height, "joists": joists}, finish=finish)
        put(book, hand, first)
        if had:
            order(book, hand, "26-101", "2x8x10", had)
        there = difference(book, "26-101", second, DAY)
        if not there.anything:
            return
        accept_change(book, hand, "26-101", second, "there", there.rev)
        back = difference(book, "26-101", first, DAY)
        accept_change(book, hand, "26-101", first, "and back", back.rev)
        assert back.after.material_cents == there.before.material_cents
        assert back.cost_cents == -there.cost_cents
        assert {i.item: (i.before, i.after) for i in back.items} == {i.item: (i.after, i.before) for i in there.items}
        assert {i.item: i.add - i.drop for i in back.items} == {i.item: i.drop - i.add for i in there.items}
        assert back.after.crew_days_tenths == there.before.crew_days_tenths
        assert job_source(book, "26-101") == first
    finally:
        book.close()


def test_a_preview_says_what_the_job_would_be_and_writes_nothing(book: Book) -> None:
    found = preview(book, job(), DAY)
    assert not found.problems and found.spec is not None
    assert "10 joists 2x8, 10', at 16 in" in found.frames[0].facts
    assert {line.item: line.quantity for line in found.material}["2x8x10"] == 10
    assert found.cost_cents == sum(line.cost_cents or 0 for line in found.material) and not found.unpriced
    assert found.first_day == date(2026, 5, 12), "nothing is planned before today"
    assert "square" in {key for key, _, _ in found.checks} and found.permit and found.cautions
    assert next_code(book, DAY) == "26-001"


def test_a_preview_names_the_field_of_every_fault(book: Book, hand: Hand) -> None:
    put(book, hand, job())
    wrong = job(title="", platform={"height": "3 in", "joists": {**job()["platform"][0]["joists"], "spacing": "wide"}})
    assert {fault.path for fault in preview(book, wrong, DAY).problems} == {
        ("code",), ("title",), ("platform", 0, "joists", "spacing"),
    }  # fmt: skip
    low = preview(book, job(code="26-102", platform={"height": "3 in"}), DAY)
    assert [fault.path for fault in low.problems] == [("platform", 0, "height")]
    assert not preview(book, job("14'"), DAY, code="26-101").problems
    assert preview(book, job(code="26-103"), DAY, code="26-101").problems[0].path == ("code",)
    assert next_code(book, DAY) == "26-102"


def test_a_preview_leaves_out_the_platform_that_is_not_whole(book: Book) -> None:
    both = job()
    both["platform"].append({"name": "upper", "size": ["8'", ""]})
    found = preview(book, both, DAY)
    assert found.problems and found.left_out == ("upper",) and found.spec is not None
    assert [frame.platform for frame in found.frames] == ["deck"] and found.cost_cents == preview(
        book, job(), DAY
    ).cost_cents
