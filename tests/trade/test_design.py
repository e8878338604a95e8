"""The design check: nine decks that must fail it, each by the right line, and every limit one sixteenth either side.

Limits stand beside their sources; those from memory say so. Decks are invented.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest

from tests.trade.design_jobs import DECK, FLIGHT, GUARDED, LOW, job
from tests.trade.geometry_cases import inch
from tests.trade.outline_cases import clip, cut_out
from tracker.errors import InputError
from tracker.trade.answer import Verdict
from tracker.trade.checks.base import Case
from tracker.trade.checks.design import DESIGN_CHECK
from tracker.trade.design import DesignLine, design_digest, design_faults, design_lines, looks_wrong, open_run_nm
from tracker.trade.lengths import INCH, SIXTEENTH, Unit
from tracker.trade.loading import parse_load, show_load
from tracker.trade.outline import Facing
from tracker.trade.phases import PHASES
from tracker.trade.readings import Readings, readings_of
from tracker.trade.spec import Attachment, Beam, JobSpec, Platform, Stairs, Stringers, Support

TODAY = date(2026, 5, 12)


def failing(spec: JobSpec) -> list[DesignLine]:
    return [line for line in design_lines(spec) if not line.good]


def clauses(spec: JobSpec) -> set[str]:
    return {line.clause for line in failing(spec)}


def test_a_deck_within_every_table_passes_each_clause_with_its_source() -> None:
    lines = design_lines(job(DECK))
    assert not [line.text for line in lines if not line.good]
    assert {line.clause for line in lines} == {
        "joist span", "overhang", "beam", "posts", "footings", "frost", "ledger", "joist spacing", "use category", "guard",
        "rim depth", "stairs", "stringers", "handrail", "stair guard", "loads", "permit", "locate",
    }  # fmt: skip
    assert all(line.text and line.source for line in lines)
    assert looks_wrong(job(DECK)) == () and design_faults(job(LOW, permit=False)) == ()


def but(**changes: object) -> Platform:
    return replace(DECK, **changes)  # type: ignore[arg-type]


NINE: dict[str, tuple[JobSpec, str, str]] = {
    # DCA 6 (2012 IRC edition) Table 2, southern pine: 2x8 at 16 in span 11-10 at the most.
    "joists that reach too far": (
        job(but(width_nm=inch(96), depth_nm=inch(168), joists=replace(DECK.joists, size="2x8", depth_nm=inch(7.25)),
                beams=(Beam(3, "2x12", inch(150), 3, "6x6"),), guard=replace(GUARDED, length_nm=inch(168 + 48 + 168)))),
        "joist span", "2x8 joists would span 12' 4-1/2\", 11' 10\" is the most at 16 in",
    ),
    # DCA 6 Table 2, footnote: an overhang is at most a quarter of the span behind it: 6 ft less the ledger's 1-1/2 in, over 4.
    "joists that run far past their beam": (
        job(but(beams=(Beam(2, "2x12", inch(72), 4, "6x6"),))), "overhang", "joists would run 6' past a beam, 17-5/8 in is the most",
    ),
    # County deck details: 5/4 boards want joists 16 in apart at the most.
    "boards over joists too far apart": (
        job(but(joists=replace(DECK.joists, spacing_nm=inch(24)))), "joist spacing", "too far apart for 5/4x6 boards: 16 in is the most",
    ),
    # DCA 6-2015 Table 3A: 2-2x12 under joists of 12 ft reach 8-4, southern pine.
    "a beam on two posts": (
        job(but(beams=(Beam(2, "2x12", inch(126), 2, "6x6"),))), "beam", "posts 15' 6-1/2\" apart, 8' 4\" is the most for 2-ply 2x12",
    ),
    # IRC R312.1.1: more than 30 in above the ground wants a guard; nobody declared one.
    "a raised deck with no guard": (job(but(guard=None)), "guard", "5' 6\" above the ground wants a guard, and there is none"),
    # IRC R311.7.8 as building offices print it: a handrail from four risers on.
    "nine risers and no handrail": (
        job(but(stairs=(replace(FLIGHT, handrail=False),))), "handrail", "the flight has 9 risers and no handrail",
    ),
    # DCA 6 stair section, from memory: a cut 2x12 stringer runs 6 ft at the most; 8 treads of 10-1/4 in run 82 in.
    "cut stringers on a long flight": (
        job(but(stairs=(replace(FLIGHT, stringers=Stringers.CUT),))), "stringers", "cut stringers of the flight run 6' 10\", 6' is the most",
    ),
    # AWPA U1 as the trade quotes it: under 6 in of clearance is ground contact, UC4A.
    "wood for above ground beside the ground": (
        job(replace(LOW, joists=replace(LOW.joists, use_category="UC3B")), permit=False), "use category",
        "above the ground are UC3B: that near the ground, or that hard to replace, they want UC4A",
    ),
    # IRC R105.2 as a town prints it: attached, or more than 30 in high, is outside the exemption.
    "a raised deck and no permit": (
        job(DECK, permit=False), "permit", "more than 30 in above the ground and attached to the house: ask the office for a permit",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", NINE)
def test_a_deck_that_must_fail_does_so_by_the_right_line(name: str) -> None:
    spec, clause, said = NINE[name]
    found = failing(spec)
    assert [line.clause for line in found if said in line.text] == [clause], [line.text for line in found]
    assert {line.clause for line in found} == {clause}, "and by nothing else"
    assert any(said in text for text in looks_wrong(spec)) and "licensed professional" in looks_wrong(spec)[-1]
    told = DESIGN_CHECK.judge(Case(spec, spec.platforms[0], TODAY), Readings())
    assert told.verdict is Verdict.FAILED and said in told.headline
    assert any(line.startswith(f"{clause} FAILS: ") and said in line for line in told.working)


MORE: dict[str, tuple[JobSpec, str]] = {
    "a hot tub": (job(DECK, carries=("hot tub",)), "hot tub on the deck: beyond these tables: a designer"),
    "a ledger of 2x6": (
        job(but(joists=replace(DECK.joists, size="2x6", depth_nm=inch(5.5)), guard=None, height_nm=inch(30),
                stairs=(replace(FLIGHT, rise_nm=inch(30)),), beams=(Beam(2, "2x12", inch(100), 3, "6x6"),
                                                                    Beam(2, "2x12", inch(138), 3, "6x6")))),
        "the ledger is 2x6 as the joists, 2x8 is the least",
    ),
    "guard on 2x6 rims": (
        job(but(attachment=Attachment.FREE, beside_house=True, joists=replace(DECK.joists, size="2x6", depth_nm=inch(5.5)),
                beams=tuple(Beam(2, "2x12", inch(at), 3, "6x6") for at in (10, 72, 134)))),
        "a guard stands on 2x6 rims, 2x8 is the least",
    ),
    "a guard short of a side": (
        job(but(guard=replace(GUARDED, edges=(Facing.LEFT, Facing.FRONT)))), "the right stands open 5' 6\" above the ground",
    ),
    "a guard longer than its edges": (
        job(but(guard=replace(GUARDED, length_nm=inch(432 + 48)))),
        "the guard is 40' long and its edges, less the stairs, are 36': mend its length or its sides",
    ),
    "a low handrail": (
        job(but(stairs=(replace(FLIGHT, handrail_height_nm=inch(33)),))),
        "the flight has 9 risers and a handrail 33 in above the nosings: 34 in to 38 in is the rule",
    ),
    "a low guard on a flight": (
        job(but(stairs=(replace(FLIGHT, guard_height_nm=inch(33)),))),
        "has a guard 33 in above the nosings on 2 open sides: 34 in is the least",
    ),
    "a flight with no guard": (
        job(but(stairs=(replace(FLIGHT, guard=False),))), "the flight rises 5' 6\" and has no guard",
    ),
    "blocks at 3 ft": (
        job(but(support=Support.BLOCKS, beams=(), attachment=Attachment.FREE, beside_house=True,
                joists=replace(DECK.joists, use_category="UC4A"), height_nm=inch(36))),
        "on blocks at 36 in, 20 in is the most",
    ),
    "blocks by the house in frost": (
        job(replace(LOW, attachment=Attachment.HOUSE, uncut=False, joists=replace(LOW.joists, size="2x8", depth_nm=inch(7.25)))),
        "the house does not move with frost and blocks do",
    ),
    "digging nobody spoke of": (job(LOW, permit=False, digging=None), "nobody said whether anything is dug"),
    "a flight up the whole house": (
        job(but(height_nm=inch(168), stairs=(replace(FLIGHT, rise_nm=inch(148)),))), "12' 3\" is the most: put a landing in it",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", MORE)
def test_so_do_these(name: str) -> None:
    spec, said = MORE[name]
    assert any(said in line.text for line in failing(spec)), [line.text for line in failing(spec)]


# Each limit: the longest that holds, by the document in the comment; one sixteenth more does not.
LIMITS: dict[str, tuple[int, Callable[[int], JobSpec], str]] = {
    # DCA 6 Table 2: southern pine 2x8 at 16 in, 11-10; the span is from the ledger's face, 1-1/2 in from the back edge.
    "joist span": (
        inch(142) + inch(1.5),
        lambda nm: job(but(joists=replace(DECK.joists, size="2x8", depth_nm=inch(7.25)), depth_nm=nm + inch(20),
                           beams=(Beam(3, "2x12", nm, 5, "6x6"),), guard=replace(GUARDED, length_nm=inch(600)))),
        "joist span",
    ),
    # DCA 6 Table 2, footnote: a quarter of the span behind, here (73-1/2 in - 1-1/2 in) / 4 = 18 in.
    "overhang": (
        inch(18), lambda nm: job(but(beams=(Beam(2, "2x12", inch(73.5), 4, "6x6"),), depth_nm=inch(73.5) + nm)), "overhang",
    ),
    # IRC R312.1.1: a guard over 30 in, so none at 30 in itself.
    "guard": (
        inch(30),
        lambda nm: job(but(height_nm=nm, guard=None, stairs=(replace(FLIGHT, rise_nm=inch(30), guard=False),),
                           beams=(Beam(2, "2x10", inch(126), 4, "6x6"),))),
        "guard",
    ),
    # IRC R312.1.3 and the same trigger on a flight: over 30 in of rise.
    "stair guard": (inch(30), lambda nm: job(but(stairs=(replace(FLIGHT, rise_nm=nm, guard=False),))), "stair guard"),
    # IRC R311.7.5.1: risers of 7-3/4 in at most, so three carry 23-1/4 in; the fourth wants a handrail (R311.7.8).
    "handrail": (
        inch(23.25), lambda nm: job(but(stairs=(replace(FLIGHT, rise_nm=nm, handrail=False),))), "handrail",
    ),
    # IRC R311.7.8.1: a handrail 38 in above the nosings at the most.
    "handrail height": (inch(38), lambda nm: job(but(stairs=(replace(FLIGHT, handrail_height_nm=nm),))), "handrail"),
    "guard length": (inch(432 + 6), lambda nm: job(but(guard=replace(GUARDED, length_nm=nm))), "guard"),
    # DCA 6 stair section, from memory: 6 ft for cut stringers; 8 risers run 7 treads, 71-3/4 in, nine 82 in.
    "stringers": (
        8 * inch(7.75), lambda nm: job(but(stairs=(replace(FLIGHT, rise_nm=nm, stringers=Stringers.CUT),))), "stringers",
    ),
    # From memory: IRC R311.7.3, 147 in between landings (editions before 2018).
    "stairs": (
        inch(147), lambda nm: job(but(height_nm=inch(168), stairs=(replace(FLIGHT, rise_nm=nm),))), "stairs",
    ),
    # From memory: IRC 2018 R507.3, pier blocks to 20 in.
    "blocks": (inch(20), lambda nm: job(replace(LOW, height_nm=nm), permit=False), "footings"),
    # IRC R105.2: 30 in above the ground.
    "permit": (
        inch(30),
        lambda nm: job(but(height_nm=nm, attachment=Attachment.FREE, beside_house=True, stairs=(), width_nm=inch(144),
                           beams=(Beam(2, "2x10", inch(24), 3, "6x6"), Beam(2, "2x10", inch(120), 3, "6x6"))), permit=False),
        "permit",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", LIMITS)
def test_a_limit_holds_at_it_and_fails_one_sixteenth_past_it(name: str) -> None:
    most, made, clause = LIMITS[name]
    assert clause not in clauses(made(most)), [line.text for line in failing(made(most))]
    assert clause in clauses(made(most + SIXTEENTH))


# Each least: what holds, and one sixteenth less does not.
LEAST: dict[str, tuple[int, Callable[[int], JobSpec], str]] = {
    # IRC R312.1.2: a guard 36 in high.
    "guard height": (inch(36), lambda nm: job(but(guard=replace(GUARDED, height_nm=nm))), "guard"),
    # From memory: IRC R312.1.2, exception: 34 in above the nosings; IRC R311.7.8.1: a handrail 34 in at the least.
    "stair guard height": (inch(34), lambda nm: job(but(stairs=(replace(FLIGHT, guard_height_nm=nm),))), "stair guard"),
    "handrail height": (inch(34), lambda nm: job(but(stairs=(replace(FLIGHT, handrail_height_nm=nm),))), "handrail"),
    # 36 ft of open edge, and 6 in of it are measured either way.
    "guard length": (inch(432 - 6), lambda nm: job(but(guard=replace(GUARDED, length_nm=nm))), "guard"),
    # From memory: IRC R311.7.1, 36 in of clear width.
    "stair width": (inch(36), lambda nm: job(but(stairs=(replace(FLIGHT, width_nm=nm),), guard=replace(GUARDED, length_nm=inch(444)))), "stairs"),
    # AWPA U1 as the trade quotes it: UC4A for framing near the ground or hard to replace; under 18 in nobody gets at it again
    # (common practice); a 1 in board, a 9-1/4 in joist and an 11-1/4 in beam above it.
    "clearance": (
        inch(18 + 1 + 9.25 + 11.25),
        lambda nm: job(but(height_nm=nm, guard=None, stairs=(), joists=replace(DECK.joists, use_category="UC3B"),
                           decking=replace(DECK.decking, use_category="UC3B"))),
        "use category",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", LEAST)
def test_a_least_holds_at_it_and_fails_one_sixteenth_under_it(name: str) -> None:
    least, made, clause = LEAST[name]
    assert clause not in clauses(made(least)), [line.text for line in failing(made(least))]
    assert clause in clauses(made(least - SIXTEENTH))


def test_joists_at_sixteen_inches_carry_the_boards_and_a_sixteenth_more_does_not() -> None:
    at = [clauses(job(but(joists=replace(DECK.joists, spacing_nm=inch(16) + more)))) for more in (0, SIXTEENTH)]
    assert "joist spacing" not in at[0] and "joist spacing" in at[1]


def test_the_open_edge_is_counted_less_the_house_and_the_flights() -> None:
    # 12 + 16 + 12 ft less a flight of 4 ft; free-standing with the house behind it the same, in the open 16 ft more.
    assert open_run_nm(DECK) == inch(432)
    free = replace(DECK, attachment=Attachment.FREE)
    assert open_run_nm(replace(free, beside_house=True)) == inch(432) and open_run_nm(free) == inch(432 + 192)


# -- loads


def test_a_heavier_load_shortens_what_the_tables_allow_for_every_member() -> None:
    usual, heavy = (
        {line.clause: line.text for line in design_lines(job(DECK, live=live))} for live in (40, 100)
    )  # fmt: skip
    # 100 + 10 psf is 2.2 times the tables' 50: 1,500 psf clay carries less deck on a pad, and lags stand closer.
    assert all(usual[clause] != heavy[clause] for clause in ("joist span", "beam", "footings", "ledger"))
    assert {"beam"} <= clauses(job(DECK, live=100))
    # Ledger by hand: lags carry 375 lb where the row for 12 ft asks 15 in under 50 psf: 375 x 24 / (110 x 10.375) = 7.9 in.
    assert "at 7 in on centre" in heavy["ledger"]


def test_snow_counts_where_it_is_heavier_and_the_house_figure_where_the_job_names_none() -> None:
    from tracker.trade.rules import Rules

    assert job(DECK, snow=60).loading.total_psf == 70 and job(DECK, snow=30).loading.total_psf == 50
    house = job(DECK, rules=Rules({"live_load": 60}))
    assert house.loading.live_psf == 60
    assert job(DECK, rules=Rules({"live_load": 60}), live=50).loading.live_psf == 50
    by_snow = {line.clause: line.text for line in design_lines(job(DECK, snow=60))}
    by_live = {line.clause: line.text for line in design_lines(house)}
    assert by_snow["footings"] == by_live["footings"], "70 psf stands on the ground either way"


def test_a_hot_tub_refuses_until_a_design_of_its_own_is_recorded() -> None:
    spec = job(DECK, carries=("roof", "hot tub"))
    case = Case(spec, DECK, TODAY)
    assert DESIGN_CHECK.judge(case, Readings()).verdict is Verdict.FAILED
    given = [("by", "N. Finch, licensed engineer"), ("document", "sheet S-1"), ("day", "2026-05-04")]
    told = DESIGN_CHECK.judge(case, readings_of(DESIGN_CHECK.form(case), given, spec.unit))
    assert told.verdict is Verdict.PASSED
    assert told.headline == "stands on sheet S-1 of N. Finch, licensed engineer, Mon 4 May 2026"
    assert told.answer["faults"] == ["roof and hot tub on the deck: beyond these tables: a designer"], (
        "they stay in sight"
    )


@pytest.mark.parametrize("left_out", ["by", "document", "day"])
def test_who_which_document_and_its_day_are_all_wanted(left_out: str) -> None:
    case = Case(job(DECK, carries=("roof",)), DECK, TODAY)
    given = [("by", "N. Finch"), ("document", "S-1"), ("day", "2026-05-04")]
    rest = [pair for pair in given if pair[0] != left_out]
    told = DESIGN_CHECK.judge(case, readings_of(DESIGN_CHECK.form(case), rest, case.job.unit))
    assert told.verdict is Verdict.INCOMPLETE
    late = readings_of(DESIGN_CHECK.form(case), [*given[:2], ("day", "2026-05-13")], case.job.unit)
    assert DESIGN_CHECK.judge(case, late).verdict is Verdict.FAILED, "a drawing of tomorrow"


def test_a_design_is_another_one_when_what_is_built_changes_and_only_then() -> None:
    one = design_digest(job(DECK))
    assert one == design_digest(replace(job(DECK), crew_size=5))
    assert one == design_digest(job(but(decking=replace(DECK.decking, gap_nm=INCH // 8))))
    others = [
        job(but(beams=(Beam(2, "2x12", inch(126), 4, "6x6"),))), job(DECK, snow=70), job(DECK, frost_in=30),
        job(but(height_nm=DECK.height_nm + SIXTEENTH)), job(but(stairs=(Stairs(inch(48), inch(66)),))),
    ]  # fmt: skip
    assert one not in {design_digest(other) for other in others} and len({*map(design_digest, others)}) == 5


def test_the_design_phase_has_no_condition() -> None:
    (phase,) = [phase for phase in PHASES if phase.key == "design"]
    assert phase.when == () and phase.checks == ("design",)


@pytest.mark.parametrize(("typed", "psf"), [("195", 40), ("200", 41), ("244", 50), ("60 psf", 60), ("0", 0)])
def test_a_metric_job_takes_loads_in_kilograms_a_square_meter_and_never_less_than_typed(typed: str, psf: int) -> None:
    # 1 lb/ft2 = 0.45359237 kg / 0.09290304 m2 = 4.88243 kg/m2 (international yard and pound, 1959): 40 psf = 195.3 kg/m2.
    assert parse_load(typed, Unit.MM) == psf


def test_loads_read_back_as_they_are_shown() -> None:
    assert show_load(40, Unit.MM) == "195 kg/m2" and show_load(40, Unit.INCH) == "40 psf"
    for unit in Unit:
        assert all(parse_load(show_load(psf, unit), unit) == psf for psf in range(201))
    with pytest.raises(InputError, match="not a load"):
        parse_load("heavy", Unit.INCH)


def test_a_job_that_says_nothing_is_dug_on_bare_ground_is_told_what_digging_is() -> None:
    from tracker.trade.spec import Ground

    spec = job(LOW, permit=False, digging=False)
    ready = replace(spec, site=replace(spec.site, ground=Ground.READY))
    said = {line.clause: line.text for line in design_lines(spec)}["locate"]
    assert "stripping sod and setting a stone bed are digging" in said and "digging = true" in said
    assert {line.clause: line.text for line in design_lines(ready)}["locate"] == ("the ground is ready: nothing is dug")


def test_a_flight_between_walls_wants_a_handrail_and_no_guard() -> None:
    walled = job(but(stairs=(replace(FLIGHT, guard=False, open_sides=0),)))
    assert "stair guard" not in clauses(walled) and "handrail" not in clauses(walled)
    bare = job(but(stairs=(replace(FLIGHT, guard=False, handrail=False, open_sides=0),)))
    assert clauses(bare) == {"handrail"}


def test_a_guard_of_an_l_and_of_a_clipped_corner_is_as_long_as_its_edges() -> None:
    # 16 x 12 ft on the house less a flight of 4 ft: 36 ft; a corner cut out 6 x 5 ft at the front changes nothing; a clip of 3 ft
    # takes 6 ft and gives 4.24; out of a back corner the house stands in it: 5 ft less.
    for cut, feet in (
        (cut_out("front right", 6, 5), 36),
        (clip("front right", 3), 34.2426),
        (cut_out("back right", 6, 5), 31),
    ):
        deck = but(cuts=(cut,), guard=replace(GUARDED, length_nm=round(feet * 12 * INCH)))
        assert "guard" not in clauses(job(deck)), cut
        for off in (-7, 7):
            wrong = replace(deck, guard=replace(GUARDED, length_nm=round((feet * 12 + off) * INCH)))
            assert "guard" in clauses(job(wrong)), (cut, off)


def test_joists_of_a_clipped_corner_want_a_second_bearing() -> None:
    # By hand: 16 in apart from the left of 16 ft, joists lie some 0, 16, 32, 48 and 64 in from the right side. At a clip of 6 ft
    # the frame there is 72 in deep and as much more; the beam stands 126 in from the house: it misses the first four.
    cut = replace(DECK, cuts=(clip("front right", 6),))
    guard = replace(GUARDED, length_nm=round((36 - 12 + 72**0.5) * 12 * INCH))
    (line,) = [line for line in failing(job(replace(cut, guard=guard))) if line.clause == "clipped corner"]
    assert line.text.startswith("4 joists of a clipped corner are held at one place only")
    behind = (Beam(2, "2x12", inch(60), 3, "6x6"), Beam(2, "2x12", inch(130), 3, "6x6"))
    mended = job(replace(cut, guard=guard, beams=behind))
    assert not failing(mended)
    assert [line.good for line in design_lines(mended) if line.clause == "clipped corner"] == [True]
    # A clip of 1 ft leaves the side 132 in deep, past the beam; the nearest whole foot more leaves 120 in, short of it.
    for leg, held in ((1, True), (2, False)):
        found = design_lines(job(replace(DECK, cuts=(clip("front right", leg),))))
        assert [line.good for line in found if line.clause == "clipped corner"] == [held], leg
    assert not [line for line in design_lines(job(DECK)) if line.clause == "clipped corner"]
