"""The checks of posts, beams and joist spans as built, against the deck tables the plan was made from."""

from __future__ import annotations

from fractions import Fraction

from tracker.errors import InputError
from tracker.text import count, listing
from tracker.trade.answer import Answer, Limit, Plain
from tracker.trade.beam_tables import BEAM_SOURCES, BeamTable
from tracker.trade.cautions import code_decides
from tracker.trade.checks.base import Case, Check, incomplete
from tracker.trade.checks.footing import on_footings
from tracker.trade.checks.found import Found, missing, off_table
from tracker.trade.columns import COLUMN_SOURCE
from tracker.trade.lengths import FOOT, INCH, SIXTEENTH, Unit, format_small, format_trade, inches, nearest
from tracker.trade.loading import Loading
from tracker.trade.loadpath import BeamLoad, beam_loads
from tracker.trade.loads import beam_load_plf
from tracker.trade.lumber import nominal_within, served_words, size_name, species
from tracker.trade.plausible import in_reason, on_the_deck, positive, right_unit
from tracker.trade.postheight import POST_MEMORY, POST_PLAN, POST_TABLE, post_answer
from tracker.trade.posts import post_nm
from tracker.trade.readings import Field, Form, Kind, Readings
from tracker.trade.spans import span_answer
from tracker.trade.spec import JobSpec, Platform
from tracker.trade.species import EDITION

PLUMB_OVER_NM = 8 * FOOT
"""The height a post's plumb tolerance is named for (common practice)."""
BEARING_WOOD_NM, BEARING_CONCRETE_NM = 3 * INCH // 2, 3 * INCH
"""Least bearing on wood or metal, and on concrete (IRC 2018 R507.5.1 and R507.6.1 as quoted)."""
BEARING_SOURCE = "IRC 2018 R507.5.1 and R507.6.1 as quoted: 1-1/2 in on wood or metal, 3 in on concrete"
PLY_ROWS = 2
"""Rows of nails through a beam's plies, one along each edge (from memory: IRC 2018 R507.5)."""
OVERHANG_SHARE = 4
"""A beam or a joist runs past its support by a quarter of its span at the most (DCA 6 Table 2 footnote, R507.5)."""
_POST_BOUND_NM, _SPAN_BOUND_NM, _MOST_PLIES = 40 * FOOT, 40 * FOOT, 6
"""Readings beyond these are taken as typed in the wrong unit, bounds of this program."""
_AS_BUILT_NM = 6 * INCH
"""How far a span as built may be off the plan before a reading contradicts it, a bound of this program."""
_SLOPE_NM = 4 * FOOT
"""How far the ground may fall away under a deck, a bound of this program."""
ASK = "ask a licensed professional"
TYPED_FROM = "table the typed figure is from"
_SEAT_SOURCE = "from memory: IRC R507.4.1 and R507.5.2"
_POST_SOURCE = (
    f"height, the least of: {POST_TABLE}; {POST_MEMORY}; {POST_PLAN}; {COLUMN_SOURCE}; bearing and base {_SEAT_SOURCE};"
    " plumb: common practice"
)
_BEAM_SEATS = f"bearing: {BEARING_SOURCE}; plies from memory: IRC 2018 R507.5"
_BEAM_SOURCE = (
    f"span: the deck beam table the house rule names, {BEAM_SOURCES[BeamTable.DCA]} unless it does; {_BEAM_SEATS}"
)


def served_by(size: str, found: Found) -> str:
    """The nominal size whose tables serve ``size``; says so where it is another."""
    name = nominal_within(size)
    if name != size_name(size):
        found.working.append(served_words(size_name(size), name))
    return name


def _stands(case: Case) -> list[tuple[str, BeamLoad]]:
    return [
        (post.name, beam)
        for beam in beam_loads(case.job, case.platform)
        if beam.plan.post_nm > 0
        for post in beam.posts
    ]


def _has_posts(job: JobSpec, platform: Platform) -> bool:
    return on_footings(job, platform) and any(post_nm(platform, beam) for beam in platform.beams)


def _post_form(case: Case) -> Form:
    unit = case.job.unit
    posts = _stands(case)
    planned = posts[0][1].plan if posts else None
    rows = tuple(name for name, _ in posts)
    return Form(
        fields=(
            Field("size", "post size", Kind.TEXT, required=False, example=planned.beam.post_size if planned else "",
                  help="left blank, as planned"),
            Field("species", "post species", Kind.TEXT, required=False, example=case.platform.joists.species,
                  help="left blank, the joists' species"),
            Field("allowed", "height your table allows", Kind.LENGTH, required=False,
                  example=format_trade(8 * FOOT, unit),
                  help="from the adopted post table, for the wood, size and spans that stand here"),
            Field("table", TYPED_FROM, Kind.TEXT, required=False, example="deck table of the town, 2024",
                  help="document, edition and table; asked for where a height is typed"),
        ),
        columns=(
            Field("height", "height", Kind.LENGTH, example=format_trade(planned.post_nm if planned else 4 * FOOT, unit)),
            Field("plumb", "out of plumb", Kind.LENGTH, example=format_small(INCH // 8, unit),
                  help="over its whole height, the worse of two faces"),
            Field("top", "beam bears on top", Kind.YESNO, example="yes",
                  help="full bearing in a cap or a full notch; no when it hangs on bolts"),
            Field("base", "held at the bottom", Kind.YESNO, example="yes",
                  help="seated in a base on the footing, bolted or nailed as its listing says"),
        ),
        rows=rows,
        row_word="post",
        least_rows=len(rows),
    )  # fmt: skip


def _judge_post(case: Case, readings: Readings) -> Answer:
    unit, rules = case.job.unit, case.rules
    wanted = missing(_post_form(case), readings)
    wood = species(readings.word("species", case.platform.joists.species))
    posts = _stands(case)
    sizes = {name: readings.word("size", beam.plan.beam.post_size) for name, beam in posts}
    own = readings.whole("allowed") if readings.has("allowed") else None
    if own is not None:
        in_reason(own, _POST_BOUND_NM, "a post height in the table of", unit, least_nm=FOOT)
    found = Found()
    found.refuse_beyond(case)
    served = {size: served_by(size, found) for size in dict.fromkeys(sizes.values())}
    if own is not None and not readings.has("table"):
        wanted.append(f"the {TYPED_FROM}")
    if wanted:
        return incomplete(listing(wanted, "and"), source=_POST_SOURCE)
    if own is not None:
        found.working.append(f"the height typed is from {readings.word('table')}")
    height, plumb = readings.column("height"), readings.column("plumb")
    per_post: dict[str, Plain] = {}
    limits: dict[str, Limit] = {}
    for name, beam in posts:
        positive(height[name], f"{name} height", unit)
        right_unit(height[name], beam.plan.post_nm, f"{name} height", unit)
        on_the_deck(
            height[name], case.platform.height_nm + _SLOPE_NM, f"{name} height",
            f"a deck {format_trade(case.platform.height_nm, unit)} above the ground", unit,
        )  # fmt: skip
        in_reason(plumb[name], height[name] // 4, f"{name} out of plumb by", unit)
        told = _post_limit(served[sizes[name]], beam, wood.name, own, found, unit, case.job.loading)
        high = None if told is None else told.answer["allowed_height_in"]
        allowed = high * INCH if isinstance(high, int) else None
        if told is not None and allowed is not None:
            what = f"{size_name(sizes[name])} post under {told.answer['load_lb']:,.0f} lb"
            limits[what] = Limit(what, format_trade(allowed, unit), told.source)
        per_post[name] = {
            "size": size_name(sizes[name]), "height_in": inches(height[name]),
            "allowed_height_in": None if allowed is None else inches(allowed), "plumb_in": inches(plumb[name]),
            "load_lb": None if told is None else told.answer["load_lb"],
        }  # fmt: skip
        if told is None:
            found.fault(f"{name}: no post table reaches this far", f"{name}: {ASK}, or add a post to the beam")
        elif allowed is None:
            found.fault(f"{name}: {told.headline}", f"{name}: use a larger post, or add a post to the beam")
        elif height[name] > allowed:
            found.fault(
                f"{name} stands {format_trade(height[name], unit)}, {format_trade(allowed, unit)} is the most",
                f"{name}: use a larger post, or shorten the beam's spans",
            )
        lean = max(SIXTEENTH, nearest(Fraction(rules.figure("post_plumb") * height[name], PLUMB_OVER_NM), SIXTEENTH))
        found.working.append(
            f"{name}: {format_trade(height[name], unit)} tall may lean {format_small(lean, unit)} (to the nearest 1/16 in): {format_small(plumb[name], unit)} read"
        )
        if plumb[name] > lean:
            found.fault(
                f"{name} leans {format_small(plumb[name], unit)}",
                f"plumb {name}: bring the top back {format_small(plumb[name], unit)} and brace it",
            )
        if not readings.rows[name]["top"]:
            found.fault(f"{name}: the beam does not bear on top", f"{name}: seat the beam in a cap or a full notch")
        if not readings.rows[name]["base"]:
            found.fault(f"{name} is not held at the bottom", f"{name}: fasten it in a base on its footing")
    return found.verdict(
        f"{count(len(posts), 'post')} good",
        inputs={"species": wood.name},
        answer={"posts": per_post},
        source=_POST_SOURCE,
        limits=(rules.limit("post_plumb", unit), *limits.values()),
        caution=code_decides(f"{POST_TABLE} and {EDITION}"),
    )


def _post_limit(
    size: str, beam: BeamLoad, wood: str, own: int | None, found: Found, unit: Unit, loading: Loading
) -> Answer | None:
    """How tall this post may stand, or None where no table reaches; the adopted table read off counts too."""
    told = off_table(
        lambda: post_answer(
            size,
            beam.post_span_nm,
            beam.table_joist_nm,
            wood=wood,
            adopted_nm=own,
            live_psf=loading.upon_psf,
            unit=unit,
        )
    )
    if isinstance(told, str):
        found.working.append(told)
        return None
    found.working += [line for line in told.working if line not in found.working]
    return told


def _has_beams(job: JobSpec, platform: Platform) -> bool:
    return bool(platform.beams)


def _beam_names(case: Case) -> tuple[str, ...]:
    return tuple(f"B{number}" for number in range(1, len(case.platform.beams) + 1))


def _stand_on(case: Case) -> str:
    """What the beams stand on, as the form calls it: posts, pads, or footings where none has posts."""
    if _has_posts(case.job, case.platform):
        return "posts"
    return "pads" if case.platform.on_pads else "footings"


def _one_of(stand: str) -> str:
    return f"a {stand.removesuffix('s')}"


def _beam_form(case: Case) -> Form:
    unit, rows = case.job.unit, _beam_names(case)
    beams = beam_loads(case.job, case.platform)
    first = beams[0] if beams else None
    plies = first.plan.beam.plies if first else 2
    nailed = any(beam.plan.beam.plies > 1 for beam in beams)
    stand = _stand_on(case)
    return Form(
        columns=(
            Field("plies", "plies", Kind.COUNT, example=str(plies)),
            Field("span", "longest span", Kind.LENGTH, example=format_trade(first.post_span_nm if first else 7 * FOOT, unit),
                  help=f"between the centres of neighbouring {stand}; the clear span is shorter"),
            Field("bearing", f"bearing on the {stand}", Kind.LENGTH, example=format_small(3 * INCH, unit),
                  help="the shortest, along the beam"),
            Field("splices", f"splices over {stand}", Kind.YESNO, required=nailed, example="yes",
                  help=f"every joint of a ply over {_one_of(stand)}; yes when no ply is spliced"),
            Field("rows", "rows of ply nails", Kind.COUNT, required=nailed, example="2"),
            Field("nails", "ply nails apart", Kind.LENGTH, required=nailed, example=format_small(16 * INCH, unit)),
            Field("overhang", f"past the end {stand.removesuffix('s')}", Kind.LENGTH, required=False, example="0"),
            Field("size", "size", Kind.TEXT, required=False, example=first.plan.beam.size if first else "",
                  help="left blank, as planned"),
            Field("allowed", "span your table allows", Kind.LENGTH, required=False,
                  example=format_trade(7 * FOOT, unit), help="from the adopted beam table; it lowers the span held here, and never raises it"),
            Field("table", TYPED_FROM, Kind.TEXT, required=False, example="deck table of the town, 2024",
                  help="document, edition and table; asked for where a span is typed"),
        ),
        rows=rows,
        row_word="beam",
        least_rows=len(rows),
    )  # fmt: skip


def _judge_beam(case: Case, readings: Readings) -> Answer:
    unit = case.job.unit
    if wanted := missing(_beam_form(case), readings):
        return incomplete(listing(wanted, "and"), source=_BEAM_SOURCE)
    found, stand = Found(), _one_of(_stand_on(case))
    found.refuse_beyond(case)
    per_beam: dict[str, Plain] = {}
    limits: list[Limit] = []
    unsaid = [name for name, row in readings.rows.items() if "allowed" in row and "table" not in row]
    for name, beam in zip(_beam_names(case), beam_loads(case.job, case.platform), strict=True):
        row = readings.rows[name]
        size = str(row.get("size", beam.plan.beam.size))
        span, plies = _nm(row["span"]), _nm(row["plies"])
        positive(span, f"{name} span", unit)
        right_unit(span, beam.post_span_nm, f"{name} span", unit)
        # The longest span is no shorter than the mean of all, both ends running a quarter of it past their posts.
        least = beam.plan.length_nm * 2 // (2 * max(len(beam.posts) - 1, 1) + 1) - _AS_BUILT_NM
        of = f"a beam of {format_trade(beam.plan.length_nm, unit)} on {count(len(beam.posts), 'post')}"
        on_the_deck(span, beam.plan.length_nm + _AS_BUILT_NM, f"{name} span", of, unit, least_nm=max(least, 0))
        _beam_in_reason(name, row, unit)
        own = _nm(row["allowed"]) if "allowed" in row else None
        if "table" in row:
            found.working.append(f"{name}: what is typed is from {row['table']}")
        allowed = _beam_limit(case, name, beam, served_by(size, found), plies, own, found)
        if allowed is not None:
            what = f"{name}, {count(plies, 'ply', 'plies')} of {size_name(size)}"
            limits.append(Limit(what, format_trade(allowed, unit), BEAM_SOURCES[case.rules.beam_table]))
        per_beam[name] = {
            "plies": plies, "size": size_name(size), "span_in": inches(span),
            "allowed_span_in": None if allowed is None else inches(allowed),
        }  # fmt: skip
        if plies < beam.plan.beam.plies:
            found.fault(f"{name} has {count(plies, 'ply', 'plies')}", f"{name}: add the ply the plan has")
        if allowed is not None and span > allowed:
            found.fault(
                f"{name} spans {format_trade(span, unit)}, {format_trade(allowed, unit)} is the most",
                f"{name}: put {'a post and footing' if beam.plan.post_nm else 'a footing'} between, or build a deeper beam",
            )
        over = _nm(row.get("overhang", 0))
        if over * OVERHANG_SHARE > span:
            found.fault(
                f"{name} runs {format_trade(over, unit)} past its end {stand.removeprefix('a ')}",
                f"{name}: cut it back to {format_trade(span // OVERHANG_SHARE, unit)}, a quarter of its span",
            )
        least = BEARING_WOOD_NM if beam.plan.post_nm else BEARING_CONCRETE_NM
        if _nm(row["bearing"]) < least:
            found.fault(
                f"{name} bears on {format_small(_nm(row['bearing']), unit)}",
                f"{name}: give it {format_small(least, unit)} of bearing at the least",
            )
        if plies > 1:
            _plies(case, name, row, found, stand)
    if unsaid and not found.faults:
        return incomplete(f"the {TYPED_FROM} at {listing(unsaid, 'and')}", source=_BEAM_SOURCE)
    return found.verdict(
        f"{count(len(per_beam), 'beam')} good",
        inputs={"species": case.platform.joists.species, "grade": case.platform.joists.grade},
        answer={"beams": per_beam},
        source=f"span: {BEAM_SOURCES[case.rules.beam_table]}; {_BEAM_SEATS}",
        limits=(
            *limits,
            case.rules.limit("beam_table", unit),
            Limit(
                f"beam past its {_stand_on(case).removesuffix('s')}", "a quarter of its span", "DCA 6 and IRC R507.5"
            ),
            *(
                Limit(f"bearing on {_one_of(stand)}", format_small(least, unit), BEARING_SOURCE)
                for stand, least in _bearings(case)
            ),
            case.rules.limit("ply_spacing", unit),
        ),
        caution=code_decides(f"the deck beam table and {EDITION}"),
    )


def _bearings(case: Case) -> list[tuple[str, int]]:
    """What the beams stand on, and the bearing each asks for."""
    plans = [beam.plan for beam in beam_loads(case.job, case.platform)]
    found = [("posts", BEARING_WOOD_NM)] if any(plan.post_nm for plan in plans) else []
    return [*found, *([("footings", BEARING_CONCRETE_NM)] if any(not plan.post_nm for plan in plans) else [])]


def _nm(value: object) -> int:
    assert isinstance(value, int)
    return value


def _beam_in_reason(name: str, row: object, unit: Unit) -> None:
    """Raise InputError for what no beam has: no plies or a pile of them, or a length in the wrong unit."""
    assert isinstance(row, dict)
    if not 1 <= row["plies"] <= _MOST_PLIES:
        raise InputError(f"{name}: {row['plies']} plies cannot be", f"count them: 1 to {_MOST_PLIES}")
    in_reason(row["bearing"], FOOT, f"{name} bearing of", unit)
    if "nails" in row:
        in_reason(row["nails"], 10 * FOOT, f"{name} ply nails apart by", unit, least_nm=INCH)
    if "overhang" in row:
        in_reason(row["overhang"], _SPAN_BOUND_NM, f"{name} past its post by", unit)
    if "allowed" in row:
        in_reason(row["allowed"], _SPAN_BOUND_NM, f"{name}: a span in the table of", unit, least_nm=FOOT)


def _plies(case: Case, name: str, row: object, found: Found, stand: str) -> None:
    assert isinstance(row, dict)
    unit, apart = case.job.unit, case.rules.figure("ply_spacing")
    if not row.get("splices", True):
        found.fault(
            f"{name} is spliced between {stand.removeprefix('a ')}s",
            f"{name}: put {stand} under the splice, or a whole ply",
        )
    if row.get("rows", PLY_ROWS) < PLY_ROWS:
        found.fault(f"{name} has too few rows of ply nails", f"{name}: nail along both edges, {PLY_ROWS} rows")
    if row.get("nails", apart) > apart:
        found.fault(
            f"{name}: ply nails {format_small(row['nails'], unit)} apart",
            f"{name}: nail the plies every {format_small(apart, unit)} in both rows",
        )


def _beam_limit(
    case: Case, name: str, beam: BeamLoad, size: str, plies: int, own: int | None, found: Found
) -> int | None:
    """The span a beam may have, a typed one only where it is the smaller; None, and a fault, where no table reaches it."""
    unit, joists = case.job.unit, case.platform.joists
    joist = beam.table_joist_nm
    pounds = beam_load_plf(joist, case.job.loading.upon_psf)
    found.working.append(
        f"{name} enters the tables as under {format_trade(joist, unit)} joists, {pounds:.0f} lb a foot"
    )
    told = off_table(
        lambda: span_answer(
            "beam", size, joists.species, joists.grade, joist_span_nm=joist, plies=plies, unit=unit,
            live_psf=case.job.loading.live_psf, snow_psf=case.job.loading.snow, table=case.rules.beam_table,
        )
    )  # fmt: skip
    if isinstance(told, str):
        found.fault(f"{name}: {told}", f"{name}: {ASK}")
        return None
    found.working += told.working
    held = told.answer["allowed_span_in"]
    assert isinstance(held, int)
    if own is None:
        return held * INCH
    found.working.append(
        f"{name}: typed {format_trade(own, unit)}, here {format_trade(held * INCH, unit)}: the smaller governs"
    )
    return min(own, held * INCH)


POST = Check(
    key="post",
    title="Posts",
    asks="height of every post, how far it leans, how the beam sits on it and how it is held; P1 is left at the back",
    source=_POST_SOURCE,
    form=_post_form,
    judge=_judge_post,
    applies=_has_posts,
    caution=code_decides(f"{POST_TABLE} and {EDITION}"),
)

BEAM = Check(
    key="beam",
    title="Beams",
    asks="plies, longest span between posts or footings, splices, ply nails and bearing of every beam; B1 is the back one",
    source=_BEAM_SOURCE,
    form=_beam_form,
    judge=_judge_beam,
    applies=_has_beams,
    caution=code_decides(f"the deck beam table and {EDITION}"),
)
