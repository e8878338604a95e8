"""What a check asks for, and the typed readings a person gave: one small form language for shell and screen.

A form has single fields and at most one table whose rows are joists, joints, points or lots. From a shell a value is
given as ``field=value``, a table row as ``row=value`` (one column) or ``row.column=value``; in a table of one column
``1-12=value`` or ``1-4,8=value`` gives all those rows the same value. Bare values fill the fields
of a form without rows in order; where there are rows they fill the required fields and then the rows, running on into
new, numbered rows where a person may name others (optional fields are then given by name).
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, field, replace
from datetime import date
from enum import StrEnum
from typing import TypeAlias

from tracker.errors import InputError, InputErrors
from tracker.text import accept, clean, listing, near
from tracker.trade.dates import parse_day
from tracker.trade.lengths import EXAMPLES, Unit, exact_text, parse_length
from tracker.trade.metric import in_unit


class Kind(StrEnum):
    """The kind of value a field takes."""

    LENGTH = "length"
    SIGNED = "signed length"
    LENGTHS = "lengths"
    COUNT = "count"
    PERCENT = "percent"
    NUMBER = "number"
    TEXT = "text"
    YESNO = "yes or no"
    DATE = "date"
    CHOICE = "choice"
    BY_EYE = "judgment by eye"


Value: TypeAlias = int | str | bool | date | tuple[int, ...]
"""Lengths are nanometres; percents and numbers are whole tenths."""


@dataclass(frozen=True, slots=True)
class Field:
    """One value a check takes: ``unit`` names what a NUMBER counts (``°F``), ``choices`` the words of a CHOICE."""

    key: str
    label: str
    kind: Kind
    required: bool = True
    example: str = ""
    help: str = ""
    unit: str = ""
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Form:
    """What a check asks for: single ``fields``, and a table of ``columns`` by ``rows``.

    ``rows`` are the labels the spec suggests; ``open_rows`` lets a person name others; ``least_rows`` is how many are
    needed before a verdict; ``row_word`` says what a row is (``joist``, ``joint``, ``point``, ``lot``). ``sample`` is in how
    many rows one is read at least where the rest may be judged by eye; 0 where every row is read. ``former`` fields are no
    longer asked and still read, from job files and shells that give them.
    """

    fields: tuple[Field, ...] = ()
    columns: tuple[Field, ...] = ()
    rows: tuple[str, ...] = ()
    row_word: str = "row"
    open_rows: bool = False
    least_rows: int = 0
    sample: int = 0
    former: tuple[Field, ...] = ()


def form_in_unit(form: Form, unit: Unit) -> Form:
    """The form with its words in the job's own units; keys, choices and examples stay as they are read."""
    if unit is Unit.INCH:
        return form

    def told(field: Field) -> Field:
        return replace(field, label=in_unit(field.label, unit), help=in_unit(field.help, unit))

    return replace(form, fields=tuple(map(told, form.fields)), columns=tuple(map(told, form.columns)))


@dataclass(frozen=True, slots=True)
class Readings:
    """Typed readings: ``values`` by field key, ``rows`` by row label then column key, and ``entered`` as typed."""

    values: Mapping[str, Value] = field(default_factory=dict)
    rows: Mapping[str, Mapping[str, Value]] = field(default_factory=dict)
    entered: tuple[tuple[str, str], ...] = ()

    def has(self, *keys: str) -> bool:
        """Whether every one of these single fields was given."""
        return all(key in self.values for key in keys)

    def whole(self, key: str) -> int:
        """A length in nm, a count, or tenths of a percent or number."""
        value = self.values[key]
        assert isinstance(value, int)
        return value

    def word(self, key: str, default: str = "") -> str:
        """A text or a choice."""
        return str(self.values.get(key, default))

    def yes(self, key: str, default: bool = False) -> bool:
        """A yes or no."""
        return bool(self.values.get(key, default))

    def day(self, key: str) -> date:
        """A date."""
        value = self.values[key]
        assert isinstance(value, date)
        return value

    def column(self, key: str) -> dict[str, int]:
        """One column of whole values by row label; rows that lack it are left out."""
        return {label: value for label, row in self.rows.items() if isinstance(value := row.get(key), int)}

    def lists(self, key: str) -> dict[str, tuple[int, ...]]:
        """One column of length lists by row label."""
        return {label: value for label, row in self.rows.items() if isinstance(value := row.get(key), tuple)}


def parse_tenths(text: str, what: str, most: int | None = None, *, signed: bool = False) -> int:
    """Return a decimal with at most one place as whole tenths (``14.5`` is 145).

    Raises InputError for anything else, a sign without ``signed``, or more than ``most`` (a whole number).
    """
    raw = text.strip().rstrip("%").strip().replace("\u2212", "-")
    if not re.fullmatch(r"[+-]?[0-9]{1,7}(\.[0-9]?)?", raw):
        raise InputError(f"{text.strip()[:40]!r} is not {what}", "write a number with at most one decimal, like 14.5")
    if raw[0] in "+-" and not signed:
        raise InputError(f"{raw!r} is not {what}: it has a sign", "write it like 14.5")
    whole, _, part = raw.lstrip("+-").partition(".")
    tenths = int(whole) * 10 + int(part or 0)
    if most is not None and tenths > most * 10:
        raise InputError(f"{raw!r} is not {what}: more than {most}", f"give a figure from 0 to {most}")
    return -tenths if raw[0] == "-" else tenths


def parse_count(text: str, what: str) -> int:
    """Return a whole number of things; raises InputError for a sign, a fraction or other digits than 0-9."""
    raw = text.strip()
    if not re.fullmatch(r"[0-9]{1,7}", raw):
        raise InputError(f"{raw[:40]!r} is not {what}", "write a whole number, like 4")
    return int(raw)


GOOD = "good"
"""What a person says of rows that were looked at and not measured."""


def parse_by_eye(text: str) -> str:
    """Return a judgment by eye as ``good`` or ``good by NAME``; raises InputError for any other word.

    What is not good is read, by its number: there is no other judgment.
    """
    found = re.fullmatch(rf"{GOOD}(?:(?:\s*,|\s+by\s)\s*(.*\S))?", text.strip(), re.IGNORECASE)
    if found is None:
        raise InputError(
            f"{text.strip()[:40]!r} is no judgment by eye",
            "write good, or good by NAME where another looked; what is not good is read, by its number",
        )
    return f"{GOOD} by {accept(found[1], 'the name')}" if found[1] else GOOD


_YES = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}


def parse_value(spec: Field, text: str, unit: Unit, today: date | None = None) -> Value:
    """Return the typed value of one field; raises InputError with what would be right."""
    what = spec.label
    match spec.kind:
        case Kind.LENGTH:
            return parse_length(text, unit)
        case Kind.SIGNED:
            return parse_length(text, unit, signed=True)
        case Kind.LENGTHS:
            parts = [part for part in re.split(r"[;,]", text) if part.strip()]
            if not parts:
                hint = f"separate lengths with ; like 0; 4' 6; 9' ({EXAMPLES[unit]})"
                raise InputError(f"{what}: no length given", hint)
            try:
                return tuple(parse_length(part, unit) for part in parts)
            except InputError as error:
                if len(parts) == 1 and len(parts[0].split()) > 1:
                    raise InputError(
                        error.message, f"separate lengths with ; like 0; 4' 6; 9' ({EXAMPLES[unit]})"
                    ) from None
                raise
        case Kind.COUNT:
            return parse_count(text, "a count")
        case Kind.PERCENT:
            return parse_tenths(text, "a percentage", 200)
        case Kind.NUMBER:
            return parse_tenths(text, f"a number of {spec.unit}" if spec.unit else "a number", signed=True)
        case Kind.YESNO:
            if (answer := _YES.get(text.strip().lower())) is None:
                raise InputError(f"{text.strip()[:40]!r} is neither yes nor no", "answer yes or no")
            return answer
        case Kind.DATE:
            return parse_day(text, today)
        case Kind.CHOICE:
            word = text.strip().lower()
            if word not in spec.choices:
                raise InputError(
                    f"{text.strip()[:40]!r} is not one of the choices{near(word, spec.choices)}",
                    f"choose {listing(spec.choices)}",
                )
            return word
        case Kind.BY_EYE:
            return parse_by_eye(text)
        case Kind.TEXT:
            return accept(text, what)


def show_value(spec: Field, value: Value, unit: Unit) -> str:
    """Print a typed value back to the person who typed it, with nothing rounded away."""
    match spec.kind:
        case Kind.LENGTH | Kind.SIGNED if isinstance(value, int):
            return exact_text(value, unit)
        case Kind.LENGTHS if isinstance(value, tuple):
            return "; ".join(exact_text(nm, unit) for nm in value)
        case Kind.PERCENT if isinstance(value, int):
            return f"{value / 10:.1f} %"
        case Kind.NUMBER if isinstance(value, int):
            return f"{value / 10:.1f}".removesuffix(".0") + (f" {spec.unit}" if spec.unit else "")
        case Kind.YESNO:
            return "yes" if value else "no"
        case _:
            return str(value)


def parse_readings(form: Form, tokens: Sequence[str], unit: Unit, today: date | None = None) -> Readings:
    """Return typed readings from shell tokens (see the module text for how values are named).

    Raises InputErrors with every fault at once. A reading may be partial: whether it is enough is the check's to say.
    """
    named, problems = _name_tokens(form, tokens)
    return _typed(form, named, unit, today, problems)


def readings_of(form: Form, named: Iterable[tuple[str, str]], unit: Unit, today: date | None = None) -> Readings:
    """Return typed readings from ``(name, text)`` pairs of a screen or the book; blank texts are left out."""
    return _typed(form, [(name, text) for name, text in named if text.strip()], unit, today, [])


def _slots(form: Form) -> list[str]:
    names = [spec.key for spec in form.fields]
    for row in form.rows:
        names += [row] if len(form.columns) == 1 else [f"{row}.{column.key}" for column in form.columns]
    return names


def _name_tokens(form: Form, tokens: Sequence[str]) -> tuple[list[tuple[str, str]], list[str]]:
    named: list[tuple[str, str]] = []
    problems: list[str] = []
    given = {token.partition("=")[0].strip() for token in tokens if "=" in token}
    free = _free_slots(form, given)
    for token in tokens:
        if "=" in token:
            name, _, text = token.partition("=")
            named.append((name.strip(), text))
        elif slot := next(free, None):
            named.append((slot, token))
        else:
            problems.append(f"{token[:40]!r}: this check takes no further value")
    return named, problems


def _free_slots(form: Form, given: Set[str]) -> Iterator[str]:
    """Names that bare values take, in order; without end where rows are open."""
    for spec in form.fields:
        if spec.key not in given and (spec.required or not form.columns):
            yield spec.key
    numbered = (str(n) for n in itertools.count(len(form.rows) + 1)) if form.columns and form.open_rows else ()
    for row in itertools.chain(form.rows, (label for label in numbered if label not in form.rows)):
        cells = [f"{row}.{column.key}" for column in form.columns]
        if len(cells) == 1:
            yield from () if given & {row, *cells} else (row,)
        else:
            yield from (cell for cell in cells if cell not in given)


def _typed(
    form: Form, named: Iterable[tuple[str, str]], unit: Unit, today: date | None, problems: list[str]
) -> Readings:
    fields = {spec.key: spec for spec in (*form.fields, *form.former)}
    columns = {spec.key: spec for spec in form.columns}
    values: dict[str, Value] = {}
    rows: dict[str, dict[str, Value]] = {}
    entered: list[tuple[str, str]] = []
    seen: set[tuple[str, str]] = set()
    for name, text in named:
        try:
            labels, spec = ((), fields[name]) if name in fields else _cells(form, columns, name)
            places = {(label, spec.key) for label in labels or ("",)}
            if twice := places & seen:
                label = next((label for label in labels if (label, spec.key) in twice), "")
                it = f"{form.row_word} {label}" if len(labels) > 1 else "it"
                raise InputError(f"{it} is given twice", "give it once")
            seen |= places
            value = parse_value(spec, text, unit, today)
            for label in labels:
                rows.setdefault(label, {})[spec.key] = value
            if not labels:
                values[spec.key] = value
            entered.append((name, text.strip()))
        except InputError as error:
            problems.append(f"{clean(name[:60])}: {error.message}" + (f"; {error.hint}" if error.hint else ""))
    if problems:
        raise InputErrors(problems)
    return Readings(values, rows, tuple(entered))


def rows_alike(form: Form, name: str) -> tuple[str, ...]:
    """Return the rows that a name like ``1-12`` or ``1-4,8`` stands for in a table of one column, in the order of the form;
    none when it is no such name.

    Raises InputError where it is one and the form has no such rows.
    """
    if len(form.columns) != 1 or name in form.rows:
        return ()
    parts = [part.strip() for part in name.split(",")]
    ends = [tuple(end.strip() for end in part.split("-")) for part in parts]
    if len(parts) == 1 and len(ends[0]) == 1:
        return ()
    # In an open table a name of another kind is a row that a person named.
    if any(len(part) > 2 or not all(end in form.rows or end.isdecimal() for end in part) for part in ends):
        return ()
    found: list[str] = []
    for part in ends:
        if unknown := [end for end in part if end not in form.rows]:
            known = f"they are {form.rows[0]} to {form.rows[-1]}" if form.rows else ""
            raise InputError(f"there is no {form.row_word} {unknown[0]} among those asked for", known)
        first, last = form.rows.index(part[0]), form.rows.index(part[-1])
        if first > last:
            raise InputError(f"{'-'.join(part)} goes backwards", f"write {part[-1]}-{part[0]}")
        found += form.rows[first : last + 1]
    return tuple(row for row in form.rows if row in found)


def parse_line(form: Form, text: str) -> tuple[tuple[str, ...], str]:
    """Return the rows a line names, and the text of their reading: ``1-12 3/16``, ``4 1/8``, ``1-4,8=0``; or the key of a field
    and its value, ``rest good``.

    The first word names them, so that a line can go into no other row than the one it was meant for. Raises InputError for a
    line that names none or has no reading.
    """
    found = re.fullmatch(r"\s*([^\s=]+)\s*[=\s]\s*(\S.*?)\s*", text)
    rows = f"{form.rows[0]}-{form.rows[-1]}" if form.rows else ""
    hint = f"write the {form.row_word}, a space, the reading; several alike as {rows}"
    if found is None:
        raise InputError(f"{text.strip()[:40]!r} has no reading", hint)
    name, value = found[1], found[2]
    for known in (name, name.upper(), name.lower()):
        if known in form.rows or any(known == spec.key for spec in form.fields):
            return (known,), value
        if alike := rows_alike(form, known):
            return alike, value
    raise InputError(f"{name[:40]!r} is no {form.row_word} asked for", hint)


def by_row(form: Form, entered: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Return entered texts by name, those given for several rows at once under each of them."""
    out: dict[str, str] = {}
    for name, text in entered:
        out |= dict.fromkeys(rows_alike(form, name) or (name,), text)
    return out


def _cells(form: Form, columns: Mapping[str, Field], name: str) -> tuple[tuple[str, ...], Field]:
    """The rows and the column a name stands for."""
    if alike := rows_alike(form, name):
        return alike, form.columns[0]
    label, spec = _cell(form, columns, name)
    return (label,), spec


def _cell(form: Form, columns: Mapping[str, Field], name: str) -> tuple[str, Field]:
    label, spec = name, None
    if len(columns) == 1:
        (spec,) = columns.values()
    if spec is None or (name not in form.rows and "." in name):
        head, _, tail = name.rpartition(".")
        if tail in columns:
            label, spec = head, columns[tail]
    known = [f.key for f in form.fields] + _slots(form)
    if spec is None or not label or (label not in form.rows and not form.open_rows):
        words = listing(dict.fromkeys(known[:12])) + (" …" if len(known) > 12 else "")
        raise InputError(f"this check has no such value{near(name, known)}", f"it takes {words}" if words else "")
    return accept(label, form.row_word, limit=40), spec
