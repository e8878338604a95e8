"""What a figure is made of: its arguments and its answer, and the typed values its options take."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

from tracker.errors import InputError

if TYPE_CHECKING:
    from tracker.trade.answer import Answer
    from tracker.trade.lengths import Unit


class Figure(NamedTuple):
    """One figure: its arguments, how it is asked, what it tells."""

    add: Callable[[ArgumentParser], None]
    ask: Callable[[Namespace, Unit], Answer]
    text: str
    example: str


def length_for(args: Namespace, name: str, unit: Unit) -> int:
    """The length given with ``--name``; the error names the option."""
    return length_of(getattr(args, name.replace("-", "_")), f"--{name}", unit)


def length_of(text: str, option: str, unit: Unit, *, signed: bool = False) -> int:
    """A typed length; the error names the option it came with."""
    from tracker.trade.lengths import parse_length

    try:
        return parse_length(text, unit, signed=signed)
    except InputError as error:
        raise InputError(f"{option}: {error.message}", error.hint) from None


def number_of(text: str, option: str, *, signed: bool = False) -> float:
    """A plain decimal; the error names the option it came with."""
    import re

    raw = text.strip().removesuffix("%").replace("\u2212", "-")
    if not re.fullmatch(r"[+-]?([0-9]{1,9}(\.[0-9]{0,6})?|\.[0-9]{1,6})", raw):
        raise InputError(f"{option}: {text[:40]!r} is not a number", "write it like 40 or 12.5, with the digits 0-9")
    if raw[0] in "+-" and not signed:
        raise InputError(f"{option}: {text[:40]!r} has a sign", "write it like 40 or 12.5")
    return float(raw)


def tenths_of(text: str, option: str) -> int:
    """A percentage in whole tenths; the error names the option it came with."""
    from tracker.trade.readings import parse_tenths

    try:
        return parse_tenths(text, "a percentage", 200)
    except InputError as error:
        raise InputError(f"{option}: {error.message}", error.hint) from None


def count_of(text: str, option: str) -> int:
    """A whole number of things; the error names the option it came with."""
    from tracker.trade.readings import parse_count

    try:
        return parse_count(text, "a count")
    except InputError as error:
        raise InputError(f"{option}: {error.message}", error.hint) from None
