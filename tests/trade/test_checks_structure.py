"""Footings, posts, beams, spans and ledgers as built, of invented jobs, at the published limits and a sixteenth either side."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.trade.geometry_cases import DAY, GROUND, SIXTEENTHS, inch, judged, stands
from tests.trade.phase_jobs import RAISED, job_of
from tracker.errors import InputError
from tracker.trade.answer import Answer, Verdict
from tracker.trade.checks.base import Case
from tracker.trade.checks.footing import FOOTING
from tracker.trade.checks.ledger import LEDGER
from tracker.trade.checks.span import SPAN
from tracker.trade.checks.structure import BEAM, POST
from tracker.trade.design import looks_wrong
from tracker.trade.lengths import FOOT, INCH, SIXTEENTH, Unit, exact_text
from tracker.trade.loadpath import beam_loads
from tracker.trade.lumber import nominal_within
from tracker.trade.outline import Corner, CutOut
from tracker.trade.postloads import stacked_on
from tracker.trade.rules import Rules, parse_rules
from tracker.trade.spec import Attachment, Beam, JobSpec, Platform, Support

UPPER = replace(GROUND, name="top", height_nm=inch(84), width_nm=inch(60), depth_nm=inch(72), support=Support.PLATFORM)
FREE = replace(
    RAISED, attachment=Attachment.FREE,
    beams=(Beam(2, "2x10", inch(24), 3, "6x6"), Beam(2, "2x10", inch(72), 3, "6x6"), Beam(2, "2x10", inch(120), 3, "6x6")),
)  # fmt: skip


def case(platform: Platform = RAISED, *others: Platform, rules: Rules | None = None, unit: Unit = Unit.INCH) -> Case:
    return Case(job_of(platform, *others, rules=rules, unit=unit), platform, DAY)


# -- the load path


def test_the_strips_of_the_posts_and_the_ledger_cover_the_deck_once() -> None:
    # The tributary strips partition the deck: three beams of a free deck carry all of it.
    posts = [post for beam in beam_loads(case(FREE).job, FREE) for post in beam.posts]
    assert sum(post.area_ft2 for post in posts) == pytest.approx(FREE.area_ft2)
    assert [post.name for post in posts] == [f"P{n}" for n in range(1, 10)]
    # Attached: half of the 10 ft 6 bay hangs on the ledger.
    (beam,) = beam_loads(case().job, RAISED)
    assert sum(post.area_ft2 for post in beam.posts) == pytest.approx(16 * (12 - 10.5 / 2))


def test_a_joist_with_a_quarter_overhang_loads_a_post_as_the_published_footing_table_does() -> None:
    # DCA 6 (2012 IRC edition) Table 4 carries 0.75 of the joist span: half of it and a quarter past the beam. Four posts of
    # 5-1/2 in flush with 24 ft stand (288 - 5.5) / 3 = 94.17 in apart; half of 12 ft and 3 ft past it are 9 ft: 70.625 ft2.
    deck = replace(
        RAISED, width_nm=24 * FOOT, depth_nm=15 * FOOT, beams=(Beam(2, "2x12", 12 * FOOT, 4, "6x6"),)
    )  # fmt: skip
    (beam,) = beam_loads(case(deck).job, deck)
    assert beam.posts[1].area_ft2 == pytest.approx(70.625, rel=1e-6)
    assert beam.table_joist_nm == 12 * FOOT


@pytest.mark.parametrize(
    ("psf", "inner", "end"),
    # Worked by hand: posts (192 - 5.5) / 2 = 93.25 in apart under 6.75 ft of deck: 52.45 ft2, 2,623 lb; round, square, thick in.
    # 1,500 psf: 2,623 / (1,500 - 150 x 7/12) = 1.857 ft2, 18.45 in round, 16.35 square, (19 - 5.5) / 2 thick; at the ends
    # 0.9 of it, 16.6 and 14.7. 2,000: 1.362 ft2, 15.80 and 14.01; 14.2 and 12.6. 3,000: 0.897 ft2; the least sizes, 14 and 12.
    [(1500, (19, 17, 7), (17, 15, 6)), (2000, (16, 15, 6), (15, 13, 6)), (3000, (14, 12, 6), (14, 12, 6))],
)
def test_an_end_post_stands_on_no_less_than_the_corner_footing_of_the_table(
    psf: int, inner: tuple[int, int, int], end: tuple[int, int, int]
) -> None:
    # DCA 6 (2012 IRC edition) Table 4, note: a corner footing 0.9 of the size at the beam span beside it.
    posts = beam_loads(case().job, RAISED)[0].posts
    pads = [post.pad(psf) for post in posts]
    assert [(pad.round_in, pad.square_in, pad.thickness_in) for pad in pads] == [end, inner, end]
    assert posts[1].inner_lb == 0 and posts[1].load_lb == pytest.approx(2622.7, abs=0.1)
    for post in (posts[0], posts[2]):
        # Half of 93.25 in and the 2.75 in to the end of the beam: 27.77 ft2.
        assert post.load_lb == pytest.approx(1388.7, abs=0.1) and "0.9" in post.words


def test_an_inner_beam_enters_the_tables_with_the_joist_span_that_loads_it_as_much() -> None:
    # Two bays of 4 ft meet over the middle beam: 4 ft of deck, as 0.75 of a 5 ft 4 joist.
    outer, inner, _ = beam_loads(case(FREE).job, FREE)
    assert inner.table_joist_nm == inch(64)
    # The back beam carries its 2 ft overhang and half of 4 ft: 4 ft too.
    assert outer.table_joist_nm == inch(64)


def test_a_stacked_platform_counts_over_every_post_below_as_far_as_its_area_goes() -> None:
    job = case(RAISED, UPPER).job
    assert stacked_on(job, RAISED) == (UPPER,)
    plain, loaded = beam_loads(case().job, RAISED)[0], beam_loads(job, RAISED)[0]
    for one, other in zip(plain.posts, loaded.posts, strict=True):
        assert other.load_lb == pytest.approx(50 * (one.area_ft2 + min(one.area_ft2, 30)))
    assert loaded.table_joist_nm > plain.table_joist_nm
    third = replace(UPPER, name="third", height_nm=inch(100))
    assert stacked_on(case(RAISED, UPPER, third).job, RAISED) == (UPPER, third)
    low = replace(GROUND, name="low")
    assert stacked_on(case(RAISED, UPPER, low).job, low) == ()


# -- footings


def footing_words(across: int, depth: int, bags: int = 60, **more: str) -> list[str]:
    words = {"soil": "clay", "bags": str(bags), "poured": "2026-05-08", **more}
    rows = [f"P{n}.{key}={exact_text(nm)}" for n in (1, 2, 3) for key, nm in (("across", across), ("depth", depth))]
    return [*(f"{key}={text}" for key, text in words.items()), *rows]


@SIXTEENTHS
def test_a_footing_goes_below_the_frost_depth(off: int) -> None:
    # From memory: IRC R507.3.2, below frost (36 in here).
    answer = judged(FOOTING, footing_words(inch(24), inch(36) + off * SIXTEENTH), case())
    assert stands(answer) is (off >= 0)


@SIXTEENTHS
def test_a_footing_goes_a_foot_down_where_there_is_no_frost(off: int) -> None:
    # From memory: IRC R507.3.2, 12 in below undisturbed ground.
    answer = judged(FOOTING, footing_words(inch(24), inch(12) + off * SIXTEENTH, frost="0"), case())
    assert stands(answer) is (off >= 0)


@SIXTEENTHS
@pytest.mark.parametrize(("shape", "side"), [("round", 19), ("square", 17)])
def test_a_footing_is_as_wide_as_its_load_and_soil_ask(off: int, shape: str, side: int) -> None:
    # P2 carries 93.25 in x 81 in = 52.45 ft2, 2,623 lb; by the formula of DCA 6 Table 4, 1500 psf soil, 7 in thick:
    # 2623 / (1500 - 87.5) = 1.857 ft2: 18.45 in round or 16.35 in square, rounded up.
    net = 1500 - 150 * 7 / 12
    area = 50 * 93.25 * 81 / 144 / net * 144
    exact = math.sqrt(area) if shape == "square" else math.sqrt(4 * area / math.pi)
    assert math.ceil(exact) == side
    answer = judged(FOOTING, footing_words(inch(side) + off * SIXTEENTH, inch(38), shape=shape), case())
    assert stands(answer) is (off >= 0)


def test_better_ground_takes_a_smaller_footing_and_peat_takes_none() -> None:
    words = footing_words(inch(17), inch(38))
    assert not stands(judged(FOOTING, words, case()))
    # IRC Table R401.4.1: sand 2,000 psf.
    assert stands(judged(FOOTING, ["soil=sand", *words[1:]], case()))
    peat = judged(FOOTING, ["soil=peat, fill or mud", *words[1:]], case())
    assert not stands(peat) and "soils engineer" in peat.moves[0]


def test_a_pad_and_pier_hold_what_they_hold_and_a_truck_is_counted_in_quarter_yards() -> None:
    # Three holes 24 in round, 38 in deep, pads 10 in thick, 12 in piers of 28 in: 3 x (2.618 + 1.833) = 13.35 ft3: 23 bags of
    # 0.60 ft3, two quarter yards of 6.75 ft3; 20 bags make 12.0 ft3, a tenth short.
    def words(bags: int, **more: str) -> list[str]:
        return footing_words(inch(24), inch(38), bags, **more)

    pads = [f"{name}.pad=10 in" for name in ("P1", "P2", "P3")]
    answer = judged(FOOTING, [*words(bags=23), *pads], case())
    assert stands(answer) and answer.answer["bags_needed"] == 23 and answer.answer["concrete_ft3"] == 13.35
    assert not stands(judged(FOOTING, [*words(bags=20), *pads], case()))
    by_truck = judged(FOOTING, [*words(bags=2, bag="truck"), *pads], case())
    assert stands(by_truck) and by_truck.answer["bags_needed"] == 2
    assert not stands(judged(FOOTING, [*words(bags=1, bag="truck"), *pads], case()))
    thin = judged(FOOTING, [*words(bags=23), pads[0], "P2.pad=6 in", pads[2]], case())
    assert "of concrete in its pad" in thin.headline


@pytest.mark.parametrize(("bags", "good"), [(50, True), (45, True), (44, False)])
def test_concrete_more_than_a_tenth_short_is_flagged(bags: int, good: bool) -> None:
    # Three holes 24 in round, 38 in deep: 29.85 ft3. Bag makers' yield 0.60 ft3 in 80 lb: 45 bags make 27.0 ft3,
    # 9.5 % short; 44 make 26.4 ft3, 11.5 % short.
    answer = judged(FOOTING, footing_words(inch(24), inch(38), bags), case())
    assert stands(answer) is good
    assert answer.answer["bags_needed"] == math.ceil(3 * math.pi * 38 / 12 / 0.60)


def test_a_pad_under_a_post_takes_less_concrete_but_keeps_its_thickness() -> None:
    words = footing_words(inch(20), inch(38), 10)
    # P2 wants a pad 7 in thick: (19 - 5.5) / 2 rounded up.
    for thick, good in ((7, True), (6, False)):
        heights = [f"P{n}.height={thick}" for n in (1, 2, 3)]
        assert stands(judged(FOOTING, [*words, *heights], case())) is good


def test_the_day_it_may_be_loaded() -> None:
    # Common practice: 3 days before framing loads it; the house rule moves it.
    assert judged(FOOTING, footing_words(inch(24), inch(38)), case()).answer["load_from"] == "2026-05-11"
    own = case(rules=Rules({"cure_days": 7}))
    assert judged(FOOTING, footing_words(inch(24), inch(38)), own).answer["load_from"] == "2026-05-15"
    later = judged(FOOTING, footing_words(inch(24), inch(38), poured="2026-05-13"), case())
    assert not stands(later) and "after today" in later.headline


def test_every_hole_is_measured_and_a_metric_width_is_refused() -> None:
    answer = judged(FOOTING, footing_words(inch(24), inch(38))[:-1], case())
    assert answer.verdict is Verdict.INCOMPLETE and "depth at P3" in answer.headline
    with pytest.raises(InputError, match="millimetres"):
        judged(FOOTING, footing_words(inch(457), inch(38)), case())
    with pytest.raises(InputError, match="more than nothing"):
        judged(FOOTING, footing_words(0, inch(38)), case())


@settings(max_examples=examples(40, 800), deadline=None)
@given(st.integers(14, 40), st.integers(36, 60), st.integers(0, 8), st.integers(0, 8))
def test_a_wider_or_deeper_hole_with_more_bags_never_fails_what_passed(
    across: int, depth: int, wider: int, deeper: int
) -> None:
    if stands(judged(FOOTING, footing_words(inch(across), inch(depth), 400), case())):
        assert stands(judged(FOOTING, footing_words(inch(across + wider), inch(depth + deeper), 400), case()))


# -- posts

HEM_FIR = replace(RAISED, joists=replace(RAISED.joists, species="hem-fir"))
LONG = replace(RAISED, height_nm=inch(170))
"""Posts 12 ft 4 tall by plan."""


def post_words(height: int, plumb: int = 0, top: str = "yes", base: str = "yes", *more: str) -> list[str]:
    rows = [
        f"P{n}.{key}={text}"
        for n in (1, 2, 3)
        for key, text in (("height", exact_text(height)), ("plumb", exact_text(plumb)), ("top", top), ("base", base))
    ]
    return [*rows, *more]


@SIXTEENTHS
def test_a_6x6_stands_as_tall_as_the_published_table_says(off: int) -> None:
    # DCA 6 (2012 IRC edition) Table 4, 6x6: beam span 16 ft, joists to 14 ft: 10 ft.
    deck = replace(LONG, width_nm=32 * FOOT, beams=(Beam(2, "2x12", inch(126), 3, "6x6"),))
    answer = judged(POST, post_words(inch(120) + off * SIXTEENTH), case(deck))
    assert stands(answer) is (off <= 0)


@SIXTEENTHS
def test_a_4x4_stands_6_ft_9(off: int) -> None:
    # From memory: IRC 2018 R507.4, 4x4 to 6-9.
    deck = replace(RAISED, height_nm=inch(100))
    answer = judged(POST, post_words(inch(81) + off * SIXTEENTH, 0, "yes", "yes", "size=4x4"), case(deck))
    assert stands(answer) is (off <= 0)


@SIXTEENTHS
def test_a_post_leans_no_more_than_a_quarter_in_8_ft(off: int) -> None:
    # Common practice: 1/4 in in 8 ft, pro rata.
    deck = replace(RAISED, height_nm=inch(118))
    assert stands(judged(POST, post_words(inch(96), inch(0.25) + off * SIXTEENTH), case(deck))) is (off <= 0)
    half = replace(RAISED, height_nm=inch(70))
    assert stands(judged(POST, post_words(inch(48), inch(0.125) + off * SIXTEENTH), case(half))) is (off <= 0)


def test_a_beam_on_bolts_or_a_post_without_a_base_fails() -> None:
    # From memory: IRC R507.4.1 and R507.5.2.
    hung = judged(POST, post_words(inch(46), top="no"), case())
    assert not stands(hung) and "full notch" in hung.moves[0]
    assert not stands(judged(POST, post_words(inch(46), base="no"), case()))
    assert stands(judged(POST, post_words(inch(46)), case()))


def test_another_wood_takes_the_lowest_column_unless_its_own_is_read_and_named() -> None:
    # DCA 6 Table 4, beam to 10 ft, joists to 14 ft: 14 13 11 13 8.
    wide = replace(LONG, width_nm=20 * FOOT)
    fir = ("yes", "yes", "species=hem-fir")
    plan = case(replace(wide, height_nm=inch(118)))
    assert stands(judged(POST, post_words(inch(96), 0, *fir), plan))
    assert not stands(judged(POST, post_words(inch(96) + SIXTEENTH, 0, *fir), plan))
    unnamed = judged(POST, post_words(inch(96), 0, *fir, "allowed=11'"), plan)
    assert unnamed.verdict is Verdict.INCOMPLETE and "table the typed figure is from" in unnamed.headline
    own = (*fir, "table=deck table of the town, 2024")
    assert stands(judged(POST, post_words(inch(132), 0, *own, "allowed=11'"), case(wide)))
    assert not stands(judged(POST, post_words(inch(96), 0, *own, "allowed=7' 6"), plan))
    # 14 ft is the most of any column, whatever was typed.
    tall = judged(POST, post_words(inch(169), 0, *own, "allowed=20'"), case(replace(wide, height_nm=inch(190))))
    assert not stands(tall)


@pytest.mark.parametrize(("posts", "good"), [(2, False), (4, True)])
def test_a_4x4_is_judged_by_what_it_carries(posts: int, good: bool) -> None:
    # Hem-fir, 14 ft beam, 14 ft joists half and 2 ft 4 past: on two posts 13-8-1/2 apart x 0.75 x 14 ft x 50 psf = 7,197 lb: the
    # town's plan, 4-1 under 8,400 lb; on four 4-6-7/8 apart 2,399 lb: 6-9, the most for a 4x4 (from memory: IRC 2018 R507.4).
    deck = replace(
        HEM_FIR, width_nm=14 * FOOT, depth_nm=inch(196), height_nm=inch(83), joists=replace(HEM_FIR.joists, size="2x12", depth_nm=inch(11.25)),
        beams=(Beam(3, "2x12", 14 * FOOT, posts, "4x4"),),
    )  # fmt: skip
    words = [word for word in post_words(inch(60)) if int(word[1]) <= posts]
    words += [f"P4.{word.partition('.')[2]}" for word in words if word.startswith("P3.")] if posts == 4 else []
    answer = judged(POST, words, case(deck))
    assert stands(answer) is good
    warned = [text for text in looks_wrong(case(deck).job) if "4x4 posts" in text]
    assert (not warned) is good


def test_posts_are_judged_only_where_they_stand() -> None:
    low = replace(RAISED, height_nm=inch(20))
    assert not POST.applies(case(low).job, low)
    assert POST.applies(case().job, RAISED)


# -- beams


def beam_words(span: int, **more: str) -> list[str]:
    row = {"plies": "2", "span": exact_text(span), "bearing": "3", "splices": "yes", "rows": "2", "nails": "16", **more}
    return [f"B1.{key}={text}" for key, text in row.items()]


@SIXTEENTHS
def test_a_beam_spans_what_the_table_says(off: int) -> None:
    # DCA 6-2015 Table 3A (from memory), southern pine 2-2x12 under joists to 12 ft: 8-4.
    answer = judged(BEAM, beam_words(inch(100) + off * SIXTEENTH), case())
    assert stands(answer) is (off <= 0)


@SIXTEENTHS
def test_a_beam_runs_a_quarter_of_its_span_past_the_post(off: int) -> None:
    # DCA 6 and IRC R507.5: a quarter of the span.
    words = beam_words(inch(96), overhang=exact_text(inch(24) + off * SIXTEENTH))
    assert stands(judged(BEAM, words, case())) is (off <= 0)


@SIXTEENTHS
def test_a_beam_bears_an_inch_and_a_half_on_its_post(off: int) -> None:
    # IRC 2018 R507.5.1 as quoted: 1-1/2 in on wood or metal, 3 in on concrete.
    assert stands(judged(BEAM, beam_words(inch(93), bearing=exact_text(inch(1.5) + off * SIXTEENTH)), case())) is (
        off >= 0
    )
    low = case(replace(RAISED, height_nm=inch(21)))
    assert stands(judged(BEAM, beam_words(inch(93), bearing=exact_text(inch(3) + off * SIXTEENTH)), low)) is (off >= 0)


@SIXTEENTHS
def test_ply_nails_stand_16_in_apart_in_two_rows(off: int) -> None:
    # From memory: IRC 2018 R507.5, two rows of 10d at 16 in.
    assert stands(judged(BEAM, beam_words(inch(93), nails=exact_text(inch(16) + off * SIXTEENTH)), case())) is (
        off <= 0
    )
    assert stands(judged(BEAM, beam_words(inch(93), rows=str(2 + off)), case())) is (off >= 0)


def test_a_beam_spliced_between_posts_or_a_ply_short_fails() -> None:
    assert not stands(judged(BEAM, beam_words(inch(93), splices="no"), case()))
    assert not stands(judged(BEAM, beam_words(inch(80), plies="1"), case()))


TOWN = "B1.table=deck beam table of the town, 2024"


@SIXTEENTHS
@pytest.mark.parametrize(("edition", "feet", "inches"), [("DCA 6-2015", 6, 7), ("IRC 2015/2018", 6, 10)])
def test_a_hem_fir_beam_spans_what_the_table_in_force_says(off: int, edition: str, feet: int, inches: int) -> None:
    # Wisconsin deck code (2015) Table 3A, hem-fir 2-2x12 under joists to 12 ft: 6-10; 3 in less in DCA 6-2015.
    job = case(replace(HEM_FIR, beams=(Beam(2, "2x12", inch(126), 4, "6x6"),)), rules=rules_of(edition))
    answer = judged(BEAM, beam_words(inch(12 * feet + inches) + off * SIXTEENTH), job)
    assert stands(answer) is (off <= 0)
    assert any(limit.text == edition for limit in answer.limits)


def rules_of(edition: str) -> Rules:
    return Rules(parse_rules({"beam_table": edition}, Unit.INCH))


def test_a_typed_span_needs_its_table_and_only_ever_lowers_the_span() -> None:
    unnamed = judged(BEAM, beam_words(inch(96), allowed="8'"), case())
    assert unnamed.verdict is Verdict.INCOMPLETE and "table the typed figure is from" in unnamed.headline
    # DCA 6-2015 Table 3A: southern pine 2-2x12 under joists to 12 ft, 8-4.
    assert stands(judged(BEAM, [*beam_words(inch(96), allowed="8'"), TOWN], case()))
    assert not stands(judged(BEAM, [*beam_words(inch(97), allowed="8'"), TOWN], case()))
    assert not stands(judged(BEAM, [*beam_words(inch(101), allowed="18'"), TOWN], case()))
    # Hem-fir: 6-7, whatever was typed.
    assert not stands(judged(BEAM, [*beam_words(inch(93), allowed="18'"), TOWN], case(HEM_FIR)))


def test_a_beam_no_table_reaches_fails_whatever_was_typed() -> None:
    words = [*beam_words(inch(93), size="2x4", allowed="18'"), TOWN]
    answer = judged(BEAM, words, case())
    assert answer.verdict is Verdict.FAILED and "no span is allowed" in answer.headline
    assert answer.answer["beams"]["B1"]["allowed_span_in"] is None  # type: ignore[index, call-overload]


# -- spans


@SIXTEENTHS
def test_a_joist_spans_what_the_published_table_says(off: int) -> None:
    # DCA 6 (2012 IRC edition) Table 2, southern pine 2x10 at 16 in: 14-0.
    answer = judged(SPAN, ["overhang=0", f"S1={exact_text(inch(168) + off * SIXTEENTH)}"], case())
    assert stands(answer) is (off <= 0)
    assert answer.answer["published_span_in"] == 168


@pytest.mark.parametrize(
    ("as_delivered", "feet", "inches"),
    [("species=hem-fir", 13, 7), ("species=western cedar", 13, 0), ("size=2x8", 11, 10), ("spacing=24", 11, 5)],
)
def test_what_was_delivered_counts(as_delivered: str, feet: int, inches: int) -> None:
    # DCA 6 (2012 IRC edition) Table 2: the cell of the wood, size or spacing that came.
    answer = judged(SPAN, ["overhang=0", f"S1={feet}' {inches}", as_delivered], case())
    assert stands(answer) and answer.answer["allowed_span_in"] == 12 * feet + inches
    assert not stands(judged(SPAN, ["overhang=0", f"S1={feet}' {inches}-1/16", as_delivered], case()))


@SIXTEENTHS
def test_a_joist_runs_a_quarter_of_its_span_past_the_beam(off: int) -> None:
    # DCA 6 Table 2 footnote: not over L/4 of the actual span; 10 ft 4 in gives 31 in, under the table's 3-5.
    words = [f"overhang={exact_text(inch(31) + off * SIXTEENTH)}", "S1=10' 4"]
    assert stands(judged(SPAN, words, case())) is (off <= 0)
    # A 2x8 at 12 in: the table's own 1-10 governs under a 12 ft span.
    small = case(replace(RAISED, joists=replace(RAISED.joists, size="2x8", depth_nm=inch(7.25), spacing_nm=inch(12))))
    words = [f"overhang={exact_text(inch(22) + off * SIXTEENTH)}", "S1=12'"]
    assert stands(judged(SPAN, words, small)) is (off <= 0)


@SIXTEENTHS
def test_an_end_beside_a_cut_out_is_judged_by_the_span_behind_it(off: int) -> None:
    # On the house, 2x10 at 12 in, beams at 7 and 19 ft, 8 x 10 ft cut out of the front right: joists there end at 10 ft, past the first beam.
    # DCA 6 Table 2, footnote: a quarter of the 7 ft read behind them, 21 in, not of the 12 ft in front.
    notch = CutOut(Corner.FRONT_RIGHT, inch(96), inch(120))
    beams = (Beam(3, "2x12", inch(84), 4, "6x6"), Beam(3, "2x12", inch(228), 4, "6x6"))
    deck = replace(
        RAISED, depth_nm=inch(240), joists=replace(RAISED.joists, spacing_nm=inch(12)), beams=beams, cuts=(notch,)
    )
    answer = judged(SPAN, [f"overhang={exact_text(inch(21) + off * SIXTEENTH)}", "S1=7'", "S2=12'"], case(deck))
    assert stands(answer) is (off <= 0)
    # The longest end to look for: 10 ft less 7 ft.
    assert SPAN.form(case(deck)).fields[0].example == "36 in"


def test_a_grade_too_weak_or_a_size_off_the_tables_fails_with_a_move() -> None:
    weak = judged(SPAN, ["overhang=0", "S1=10'", "grade=no.3"], case())
    assert not passed_without_limits(weak) and "licensed professional" in weak.moves[0]


def passed_without_limits(answer: Answer) -> bool:
    assert answer.verdict is not Verdict.INCOMPLETE
    return answer.verdict is Verdict.PASSED


def test_a_metric_joist_is_judged_by_the_largest_table_size_inside_it() -> None:
    # 45x195 mm holds a 1-1/2 x 7-1/4 in (38.1 x 184.2 mm) piece; PS 20 dressed sizes, from memory.
    assert nominal_within("45x195") == "2x8"
    assert nominal_within("145x145") == "6x6"
    assert nominal_within("2x10") == "2x10"
    with pytest.raises(InputError, match="smaller than every"):
        nominal_within("16x20")
    answer = judged(SPAN, ["overhang=0", "S1=11' 10", "size=45x195"], case())
    assert stands(answer) and any("judged as 2x8" in line for line in answer.working)


def test_spans_are_asked_where_joists_span() -> None:
    assert not SPAN.applies(case(GROUND).job, GROUND)
    assert len(SPAN.form(case(FREE)).rows) == 2
    assert judged(SPAN, ["overhang=0"], case()).verdict is Verdict.INCOMPLETE


# -- the ledger

GOOD_LEDGER = {
    "fastener": "lag", "rim": "2x lumber", "spacing": "15", "top": "2", "bottom": "3/4", "ends": "3; 3", "band": "yes", "veneer": "no",
    "flashed": "yes", "ties": "2", "tie": "1500",
}  # fmt: skip


def ledger(job: Case | None = None, /, **changes: str) -> Answer:
    words = {key.replace("_", "-"): text for key, text in (GOOD_LEDGER | changes).items()}
    return judged(LEDGER, [f"{key}={text}" for key, text in words.items()], job or case())


# Wisconsin deck code ledger table (2015), the rows of IRC R507.9.1.3(1) at 40 psf.
LEDGER_CELLS = [
    ("lag", 6, 30), ("lag", 10, 18), ("lag", 12, 15), ("lag", 18, 10), ("bolt", 12, 29), ("bolt", 18, 19),
    ("bolt with washers", 10, 29), ("bolt with washers", 16, 18),
]  # fmt: skip


@SIXTEENTHS
@pytest.mark.parametrize(("fastener", "feet", "spacing"), LEDGER_CELLS)
def test_ledger_fasteners_stand_no_further_apart_than_published(
    off: int, fastener: str, feet: int, spacing: int
) -> None:
    answer = ledger(fastener=fastener, spacing=exact_text(inch(spacing) + off * SIXTEENTH), joists=f"{feet}'")
    assert stands(answer) is (off <= 0)


# Wisconsin deck code (2015, CR 15-043) table 6, 1/2 in lag screws or bolts: the 2x row is too wide there.
@SIXTEENTHS
@pytest.mark.parametrize(
    ("fastener", "rim", "feet", "spacing"),
    [("lag", "engineered 1", 12, 12), ("bolt", "engineered 1", 12, 12), ("lag", "engineered 1-1/8", 8, 21),
     ("bolt", "engineered 1-1/8", 18, 9), ("adhesive anchor", "masonry", 12, 24)],
)  # fmt: skip
def test_ledger_fasteners_in_engineered_rims_and_masonry_stand_closer(
    off: int, fastener: str, rim: str, feet: int, spacing: int
) -> None:
    answer = ledger(fastener=fastener, rim=rim, spacing=exact_text(inch(spacing) + off * SIXTEENTH), joists=f"{feet}'")
    assert stands(answer) is (off <= 0)


def test_what_the_ledger_goes_into_is_asked_and_a_fastener_it_has_no_row_for_fails() -> None:
    silent = judged(LEDGER, [f"{key}={text}" for key, text in GOOD_LEDGER.items() if key != "rim"], case())
    assert silent.verdict is Verdict.INCOMPLETE and "what they go into" in silent.headline
    assert not stands(ledger(rim="masonry")) and not stands(ledger(rim="engineered 1", fastener="bolt with washers"))


@SIXTEENTHS
@pytest.mark.parametrize(
    ("field", "limit", "sign"),
    [("top", 2, 1), ("bottom", 0.75, 1), ("ends", 2, 1), ("ends", 5, -1), ("apart", 1.625, 1), ("apart", 5, -1),
     ("tie_end", 24, -1)],
)  # fmt: skip
def test_fasteners_and_ties_keep_their_distances(off: int, field: str, limit: float, sign: int) -> None:
    # From memory: IRC R507.9.1.3(2), 2 in from the top, 3/4 in from the bottom, 2 to 5 in from the ends, rows 1-5/8 to
    # 5 in apart; R507.9.2, ties within 24 in of each end.
    text = exact_text(inch(limit) + off * SIXTEENTH)
    answer = ledger(**{field: f"{text}; 3" if field == "ends" else text})
    assert stands(answer) is (off * sign >= 0)


@pytest.mark.parametrize(
    ("changes", "good"),
    [
        ({"band": "no"}, False), ({"veneer": "yes"}, False), ({"flashed": "no"}, False),
        ({"size": "2x6"}, False), ({"size": "2x8"}, True),  # IRC R507.9 as a city prints it: 2x8 at least
        # Wisconsin deck code, lateral load: 2 x 1,500 lb or 4 x 750 lb.
        ({"ties": "1"}, False), ({"ties": "3", "tie": "750"}, False), ({"ties": "4", "tie": "750"}, True),
    ],
)  # fmt: skip
def test_what_the_ledger_is_and_hangs_on(changes: dict[str, str], good: bool) -> None:
    assert stands(ledger(**changes)) is good


def test_a_stacked_platform_closes_the_ledger_spacing_and_both_ends_are_read() -> None:
    assert not stands(ledger(case(RAISED, UPPER)))
    assert ledger(ends="3").verdict is Verdict.INCOMPLETE
    with pytest.raises(InputError, match="millimetres"):
        ledger(spacing="380")


def test_a_ledger_past_the_table_goes_to_a_professional() -> None:
    deep = replace(RAISED, depth_nm=24 * FOOT, beams=(Beam(3, "2x12", 20 * FOOT, 5, "6x6"),))
    answer = ledger(case(deep))
    assert not stands(answer) and any("licensed professional" in move for move in answer.moves)


def test_structure_is_checked_only_where_the_spec_has_it() -> None:
    job: JobSpec = case(GROUND).job
    assert not any(check.applies(job, GROUND) for check in (FOOTING, POST, BEAM, SPAN, LEDGER))
    assert all(check.applies(case().job, RAISED) for check in (FOOTING, POST, BEAM, SPAN, LEDGER))
    assert not LEDGER.applies(case(FREE).job, FREE)


def test_figures_are_plain_inches() -> None:
    answer = judged(SPAN, ["overhang=0", "S1=10' 4"], case())
    assert (answer.answer["longest_in"], answer.inputs["spacing_in"]) == (124, 16)
    assert round(INCH * 124) == inch(124)
