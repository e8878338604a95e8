"""The figures of what carries: spans, footings, ledgers, posts, stairs and guards, lumber, and the permit questions."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Mapping
from typing import TYPE_CHECKING

from tracker.commands.typed import Figure, count_of, length_for, number_of, tenths_of
from tracker.errors import InputError

if TYPE_CHECKING:
    from tracker.trade.answer import Answer
    from tracker.trade.lengths import Unit


_JOISTS_LEAST_FT = 2


def _reach(args: Namespace, name: str, unit: Unit) -> int:
    """The span given with ``--name``: refused where it is so short that feet were meant and inches typed."""
    from tracker.trade.lengths import EXAMPLES, FOOT, format_length

    nm = length_for(args, name, unit)
    if 0 < nm < _JOISTS_LEAST_FT * FOOT:
        bare = "inches" if unit.value == "in" else "millimetres"
        raise InputError(
            f"--{name}: {format_length(nm, unit)} is no span (a bare number is {bare}); were feet meant?",
            f"write it like {EXAMPLES[unit]}",
        )
    return nm


def _plain(args: Namespace, name: str, suffix: str = "psf") -> float:
    """The number given with ``--name``, with or without its unit behind it."""
    return number_of(getattr(args, name).strip().lower().removesuffix(suffix), f"--{name}")


def _span_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--member", metavar="joist|beam", required=True, help="what it is")
    parser.add_argument("--size", metavar="2x8", required=True, help="nominal size")
    parser.add_argument("--plies", metavar="N", default="1", help="plies of a beam (default 1)")
    parser.add_argument("--species", metavar="S", required=True, help="the wood")
    parser.add_argument("--grade", metavar="G", required=True, help="the grade, like 2")
    across = parser.add_mutually_exclusive_group(required=True)
    across.add_argument("--spacing", metavar="S", help="joist spacing on centre")
    across.add_argument("--joist-span", metavar="L", help="span of the joists a beam carries")
    load = parser.add_mutually_exclusive_group()
    load.add_argument("--live", metavar="PSF", default="40", help="live load (default 40)")
    load.add_argument("--snow", metavar="PSF", help="ground snow load, in place of the live load")
    parser.add_argument("--dead", metavar="PSF", default="10", help="dead load (default 10)")
    parser.add_argument(
        "--table", metavar="T", default="DCA 6-2015", help='beam table: "DCA 6-2015" (default) or "IRC 2015/2018"'
    )


def _span(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.beam_tables import beam_table
    from tracker.trade.spans import span_answer

    return span_answer(
        args.member,
        args.size,
        args.species,
        args.grade,
        spacing_nm=length_for(args, "spacing", unit) if args.spacing is not None else None,
        joist_span_nm=_reach(args, "joist-span", unit) if args.joist_span is not None else None,
        plies=count_of(args.plies, "--plies"),
        live_psf=_plain(args, "live"),
        snow_psf=None if args.snow is None else _plain(args, "snow"),
        dead_psf=_plain(args, "dead"),
        table=beam_table(args.table),
        unit=unit,
    )


def _footing_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--area", metavar="FT2", required=True, help="deck area the footing carries, square feet")
    parser.add_argument(
        "--soil", metavar="PSF", required=True, help="what the soil bears, pounds a square foot, or clay, sand ..."
    )
    parser.add_argument("--live", metavar="PSF", default="40", help="live load (default 40)")
    parser.add_argument("--dead", metavar="PSF", default="10", help="dead load (default 10)")


def _footing(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.loads import footing_answer, soil_bearing_psf

    named = args.soil.strip()[:1].isalpha() and args.soil.strip().lower() not in ("nan", "inf")
    return footing_answer(
        _plain(args, "area", "ft2"),
        soil_bearing_psf(args.soil) if named else _plain(args, "soil"),
        live_psf=_plain(args, "live"),
        dead_psf=_plain(args, "dead"),
        unit=unit,
    )


def _ledger_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--joist-span", metavar="L", required=True, help="span of the joists on the ledger")
    parser.add_argument("--fastener", metavar="lag|bolt", required=True, help="what holds the ledger")
    parser.add_argument(
        "--rim",
        metavar="R",
        default="2x lumber",
        help='what it goes into: "2x lumber" (default), "engineered 1", "engineered 1-1/8" or masonry',
    )
    parser.add_argument("--live", metavar="PSF", default="40", help="live load (default 40)")


def _ledger(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.loads import ledger_answer

    return ledger_answer(
        _reach(args, "joist-span", unit), args.fastener, rim=args.rim, live_psf=_plain(args, "live"), unit=unit
    )


def _stairs_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--rise", metavar="H", required=True, help="from the landing to the walking surface")


def _stairs(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.stairs import stairs_answer

    return stairs_answer(length_for(args, "rise", unit), unit=unit)


def _post_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--size", metavar="6x6", required=True, help="nominal size of the post")
    parser.add_argument("--beam-span", metavar="L", required=True, help="between the posts of the beam")
    parser.add_argument("--joist-span", metavar="L", required=True, help="span of the joists on the beam")
    parser.add_argument("--species", metavar="S", default="southern pine", help="the wood (default southern pine)")
    parser.add_argument("--height", metavar="H", help="how tall the post stands")
    parser.add_argument("--live", metavar="PSF", default="40", help="live load (default 40)")
    parser.add_argument("--dead", metavar="PSF", default="10", help="dead load (default 10)")


def _post(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.postheight import post_answer

    return post_answer(
        args.size,
        _reach(args, "beam-span", unit),
        _reach(args, "joist-span", unit),
        wood=args.species,
        height_nm=length_for(args, "height", unit) if args.height is not None else None,
        live_psf=_plain(args, "live"),
        dead_psf=_plain(args, "dead"),
        unit=unit,
    )


def _lumber_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--size", metavar="2x8", required=True, help="nominal size")
    parser.add_argument("--length", metavar="L", required=True, help="length of a piece")
    parser.add_argument("--pieces", metavar="N", default="1", help="how many (default 1)")
    parser.add_argument("--species", metavar="S", default="southern pine", help="the wood (default southern pine)")
    parser.add_argument("--moisture", metavar="MC", default="19", help="moisture, percent (default 19)")
    parser.add_argument("--use", metavar="UC", help="use category on the end tag")
    parser.add_argument("--clearance", metavar="H", help="wood above the ground, with --use")


def _lumber(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.piece import piece_answer

    if (args.use is None) != (args.clearance is None):
        raise InputError("--use and --clearance go together", "write it like --use UC3B --clearance 10")
    return piece_answer(
        args.size,
        length_for(args, "length", unit),
        count_of(args.pieces, "--pieces"),
        args.species,
        tenths_of(args.moisture, "--moisture"),
        use=args.use,
        clearance_nm=length_for(args, "clearance", unit) if args.clearance is not None else None,
        unit=unit,
    )


def _permit_arguments(parser: ArgumentParser) -> None:
    from argparse import BooleanOptionalAction

    parser.add_argument("--file", metavar="FILE", help="a job file (TOML), in place of --area and --height")
    parser.add_argument("--area", metavar="FT2", help="area of all platforms, square feet")
    parser.add_argument("--height", metavar="H", help="the highest point above the ground beside it")
    parser.add_argument("--attached", action="store_true", help="it hangs on the house")
    parser.add_argument("--exit-door", action=BooleanOptionalAction, help="it serves the required exit door, or not")


def _permit(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.permits import permit_answer, permit_questions

    if args.file is not None:
        if args.area is not None or args.height is not None or args.attached:
            raise InputError("--file brings area, height and attachment itself", "leave the others out")
        from pathlib import Path

        from tracker.files import read_file
        from tracker.trade.jobfile import parse_job_bytes

        job = parse_job_bytes(read_file(Path(args.file)), args.file).spec
        return permit_answer(job, serves_exit_door=args.exit_door)
    if args.area is None or args.height is None:
        raise InputError("the deck's area and height are needed", "give --area 180 --height 28, or --file job.toml")
    area = _plain(args, "area", "ft2")
    return permit_questions(area, length_for(args, "height", unit), args.attached, args.exit_door, unit=unit)


def _guard_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--height", metavar="H", required=True, help="walking surface above the ground beside it")
    parser.add_argument("--length", metavar="L", help="lay out a guard this long, post to post outside")
    parser.add_argument("--post", metavar="W", help="width of a post (default 3-1/2 in)")
    parser.add_argument("--baluster", metavar="W", help="width of a baluster (default 1-1/2 in)")


def _guard(args: Namespace, unit: Unit) -> Answer:
    from tracker.trade.guards import BALUSTER, GUARD_POST, guard_answer, with_layout

    answer = guard_answer(length_for(args, "height", unit), unit=unit)
    if args.length is None:
        if args.post is not None or args.baluster is not None:
            raise InputError("--post and --baluster go with --length", "give the guard's length too")
        return answer
    post = length_for(args, "post", unit) if args.post is not None else GUARD_POST
    baluster = length_for(args, "baluster", unit) if args.baluster is not None else BALUSTER
    return with_layout(answer, length_for(args, "length", unit), post, baluster, unit=unit)


LOAD_FIGURES: Mapping[str, Figure] = {
    "span": Figure(
        _span_arguments, _span, "How far a joist or a beam may reach.",
        'deckjobs figure span --member joist --size 2x8 --species "southern pine" --grade 2 --spacing 16',
    ),
    "footing": Figure(
        _footing_arguments, _footing, "The footing under so much deck.",
        "deckjobs figure footing --area 48 --soil 1500",
    ),
    "ledger": Figure(
        _ledger_arguments, _ledger, "Spacing of the fasteners of a ledger.",
        "deckjobs figure ledger --joist-span 12-0 --fastener lag",
    ),
    "stairs": Figure(
        _stairs_arguments, _stairs, "Risers, treads and run of a flight.", "deckjobs figure stairs --rise 40"
    ),
    "guard": Figure(
        _guard_arguments, _guard, "Whether a guard is required, how high, and its openings.",
        "deckjobs figure guard --height 36 --length 16-0",
    ),
    "post": Figure(
        _post_arguments, _post, "How tall a post may stand under its load.",
        "deckjobs figure post --size 6x6 --beam-span 8-0 --joist-span 12-0 --height 5-0",
    ),
    "lumber": Figure(
        _lumber_arguments, _lumber, "Dressed size, board feet and weight; where it may be used.",
        "deckjobs figure lumber --size 2x8 --length 12-0 --pieces 10 --use UC3B --clearance 10",
    ),
    "permit": Figure(
        _permit_arguments, _permit, "What to ask the local office; never a permission.",
        "deckjobs figure permit --area 180 --height 28 --no-exit-door",
    ),
}  # fmt: skip
