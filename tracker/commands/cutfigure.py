"""``figure cuts``: pieces and boards from the command line or a list to the cheapest cut plan."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.commands.session import draws
from tracker.commands.typed import length_for
from tracker.commands.watch import watching
from tracker.errors import InputError
from tracker.files import read_file
from tracker.planning.cutfile import LARGEST_FILE, ON_HAND, length_above_nothing, parse_wanted, pieces_of
from tracker.planning.cutplan import CutPlan, Need, Stock, cuts_answer, plan_cuts
from tracker.trade.rules import Rules

if TYPE_CHECKING:
    from tracker.trade.answer import Answer
    from tracker.trade.lengths import Unit


def cuts_figure(args: Namespace, unit: Unit) -> Answer:
    """The cheapest plan; on a terminal it improves in sight, and Ctrl-C takes the best found so far with its bound."""
    needs, stocks = _wanted(args, unit)
    kerf = length_for(args, "kerf", unit) if args.kerf is not None else Rules(unit=unit).figure("kerf")
    trim = length_for(args, "trim", unit) if args.trim is not None else 0
    with watching(seen=draws() and not getattr(args, "json", False)) as watch:

        def say(plan: CutPlan) -> tuple[str, str]:
            return "", cuts_answer(plan, unit).headline

        plan = plan_cuts(needs, stocks, kerf_nm=kerf, trim_nm=trim, progress=watch.progress(say), unit=unit)
    return cuts_answer(plan, unit)


def _wanted(args: Namespace, unit: Unit) -> tuple[list[Need], list[Stock]]:
    """What to cut and what from: the options, then the list of ``--file``."""
    needs = [Need(*_length_and_count(text, "--need", unit)) for text in args.need]
    stocks = [_stock(text, unit) for text in args.stock]
    for text in args.have:
        length, number = _length_and_count(text, "--have", unit)
        stocks.append(Stock(length, 0, number, ON_HAND))
    if args.file is not None:
        data = read_file(Path(args.file), "a list of pieces and boards", largest=LARGEST_FILE, example="pieces.csv")
        listed = parse_wanted(data, args.file, unit)
        needs += listed.needs
        stocks += listed.stocks
    if not needs:
        raise InputError("there is nothing to cut", "give pieces like --need 33-1/2*7, or a list with --file")
    if not stocks:
        raise InputError("there is nothing to cut from", "give boards like --stock 12-0@11.90, or --have 5-3*2")
    return needs, stocks


def _length_and_count(text: str, option: str, unit: Unit) -> tuple[int, int]:
    length, mark, number = text.rpartition("*")
    if not mark:
        raise InputError(f"{option}: {text[:40]!r} has no length and number", f"write it like {option} 33-1/2*7")
    try:
        return length_above_nothing(length, unit), pieces_of(number)
    except InputError as error:
        raise _of(option, error) from None


def _stock(text: str, unit: Unit) -> Stock:
    from tracker.trade.money import parse_price

    length, mark, price = text.rpartition("@")
    if not mark:
        raise InputError(f"--stock: {text[:40]!r} has no length and price", "write it like --stock 12-0@11.90")
    try:
        return Stock(length_above_nothing(length, unit), parse_price(price))
    except InputError as error:
        raise _of("--stock", error) from None


def _of(option: str, error: InputError) -> InputError:
    return InputError(f"{option}: {error.message}", error.hint)
