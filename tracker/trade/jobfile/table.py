"""One table of a job file, read field by field: every fault is noted with its line and the reading goes on."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import ParamSpec, TypeVar

from tracker.errors import InputError, InputErrors
from tracker.text import NAME_LIMIT, accept, clean, listing, near
from tracker.trade.dates import parse_day
from tracker.trade.jobfile.lines import Path, line_of
from tracker.trade.lengths import Unit, format_length, parse_length

T = TypeVar("T")
P = ParamSpec("P")
MOST_PROBLEMS = 40


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault: the way to the key it is of, ``what`` is wrong, the ``hint`` what would be right."""

    path: Path
    what: str
    hint: str = ""


class JobFaults(InputErrors):
    """The faults of a job file, each with the key it belongs to; ``problems`` are the same as single lines."""

    def __init__(self, problems: Iterable[str], faults: Iterable[Fault]) -> None:
        super().__init__(problems)
        self.faults = tuple(faults)


@dataclass(slots=True)
class Problems:
    """The faults found so far, each with its line; ``lines`` is None when the table did not come from a text."""

    name: str
    lines: Mapping[Path, int] | None = None
    found: list[tuple[int, str, Fault]] = field(default_factory=list)

    def add(self, path: Path, what: str, hint: str = "") -> None:
        """Note one fault at ``path``."""
        line = line_of(self.lines, path) if self.lines is not None else 0
        where = f"{self.name}:{line}" if self.lines is not None else self.name
        key = _dotted(path)
        self.found.append(
            (
                line,
                clean(f"{where}: {key + ': ' if key else ''}{what}{'; ' + hint if hint else ''}"),
                Fault(path, what, hint),
            )
        )

    def raise_any(self) -> None:
        """Raise JobFaults with every fault, in the order of the file, when there is one."""
        if not self.found:
            return
        found = sorted(self.found, key=lambda fault: fault[0])
        ordered = [text for _, text, _ in found]
        if len(ordered) > MOST_PROBLEMS:
            more = len(ordered) - MOST_PROBLEMS
            ordered = [*ordered[:MOST_PROBLEMS], f"{self.name}: and {more} more like these"]
        raise JobFaults(ordered, (fault for _, _, fault in found))


def _dotted(path: Path) -> str:
    """``("platform", 0, "joists", "size")`` as ``platform[1].joists.size``: people count from 1."""
    out = ""
    for part in path:
        out += f"[{part + 1}]" if isinstance(part, int) else f"{'.' if out else ''}{part}"
    return out


def kind_of(value: object) -> str:
    """What a value of a file is, in words."""
    match value:
        case bool():
            return "true or false"
        case int() | float():
            return "a number"
        case str():
            return "text"
        case date() | time():
            return "a date or time"
        case list():
            return "a list"
        case Mapping():
            return "a table"
        case _:
            return "nothing"


class Table:
    """A table being read. Each getter returns None after noting a fault; ``close`` notes the keys nobody asked for."""

    def __init__(self, values: Mapping[str, object], path: Path, problems: Problems, unit: Unit = Unit.INCH) -> None:
        self.values = values
        self.path = path
        self.problems = problems
        self.unit = unit
        self.asked: list[str] = []

    def fault(self, key: str, what: str, hint: str = "") -> None:
        """Note a fault of ``key``."""
        self.problems.add((*self.path, key) if key else self.path, what, hint)

    def has(self, key: str) -> bool:
        """Whether the table holds ``key``."""
        return key in self.values

    def raw(self, key: str, example: str = "") -> object | None:
        """The bare value; a missing one is a fault when ``example`` shows what to write."""
        self.asked.append(key)
        if key not in self.values and example:
            self.fault(key, "missing", f"write {key} = {example}")
        return self.values.get(key)

    def wrong(self, key: str, value: object, wanted: str) -> None:
        """Note a value of the wrong kind."""
        self.fault(key, f"{kind_of(value)} cannot stand here", wanted)

    def via(self, key: str, parse: Callable[P, T], *args: P.args, **options: P.kwargs) -> T | None:
        """What ``parse`` returns for these arguments; its InputError becomes a fault of ``key``."""
        try:
            return parse(*args, **options)
        except InputErrors as error:
            for problem in error.problems:
                self.fault(key, problem)
        except InputError as error:
            self.fault(key, error.message, error.hint)
        return None

    def text(self, key: str, example: str = "", *, limit: int = NAME_LIMIT, empty: bool = False) -> str | None:
        """A text; None when it is missing (a fault if ``example`` is given) or wrong."""
        value = self.raw(key, f'"{example}"' if example else "")
        if value is None:
            return None
        if not isinstance(value, str):
            self.wrong(key, value, f'write text in quotes, like {key} = "{example or "..."}"')
            return None
        return self.via(key, accept, value, key, limit=limit, empty=empty)

    def parsed(self, key: str, parse: Callable[[str], T], example: str = "") -> T | None:
        """A text handed to ``parse``."""
        text = self.text(key, example)
        return None if text is None else self.via(key, parse, text)

    def choice(self, key: str, words: Collection[str], default: str = "") -> str | None:
        """One of ``words``; a missing key is a fault unless there is a ``default``."""
        value = self.text(key, "" if default else next(iter(words)))
        if value is None:
            return default if default and key not in self.values else None
        word = " ".join(value.lower().split())
        if word in words:
            return word
        self.fault(key, f"{value[:40]!r} is not one of the choices{near(word, words)}", f"choose {listing(words)}")
        return None

    def flag(self, key: str, default: bool = False) -> bool | None:
        """true or false."""
        value = self.raw(key)
        if value is None:
            return default
        if not isinstance(value, bool):
            self.wrong(key, value, "write true or false, without quotes")
            return None
        return value

    def typed_number(self, key: str, example: str = "") -> str | None:
        """A number as text, whether it was written bare or in quotes."""
        value = self.raw(key, example)
        if isinstance(value, bool) or (value is not None and not isinstance(value, (int, float, str))):
            self.wrong(key, value, f"write it like {key} = {example or '12'}")
            return None
        return None if value is None else number_text(value)

    def whole(self, key: str, least: int, most: int, example: str = "", default: int | None = None) -> int | None:
        """A whole number from ``least`` to ``most``."""
        value = self.raw(key, example)
        if value is None:
            return default
        if isinstance(value, bool) or not isinstance(value, int):
            self.wrong(key, value, f"write a whole number, like {key} = {example or least}")
            return None
        if not least <= value <= most:
            self.fault(key, f"{str(value)[:20]} is out of range", f"it may be {least} to {most}")
            return None
        return value

    def length(self, key: str, least: int, most: int, example: str = "", default: int | None = None) -> int | None:
        """A length in nm from ``least`` to ``most``; a bare number is in the job's unit."""
        text = self.typed_number(key, f'"{example}"' if example else "")
        if text is None:
            return default if key not in self.values else None
        return self.measured((key,), text, least, most)

    def measured(self, path: Path, text: str, least: int, most: int) -> int | None:
        """The length ``text`` found at ``path`` (below this table)."""
        try:
            nm = parse_length(text, self.unit)
        except InputError as error:
            self.problems.add((*self.path, *path), error.message, error.hint)
            return None
        if not least <= nm <= most:
            low, high = format_length(least, self.unit), format_length(most, self.unit)
            self.problems.add(
                (*self.path, *path), f"{format_length(nm, self.unit)} is out of range", f"it may be {low} to {high}"
            )
            return None
        return nm

    def day(self, key: str, example: str = "") -> date | None:
        """A day, written bare or in quotes as year-month-day."""
        value = self.raw(key, example)
        if value is None:
            return None
        if isinstance(value, datetime) or not isinstance(value, (date, str)):
            self.wrong(key, value, f"write a day like {key} = {example or '2026-05-12'}")
            return None
        text = value if isinstance(value, str) else value.isoformat()
        try:
            return parse_day(text)
        except InputError as error:
            self.fault(key, error.message, "write it like 2026-05-12 (year-month-day)")
            return None

    def clock(self, key: str) -> time | None:
        """A time of day, ``"08:30"`` or bare ``08:30:00``."""
        value = self.raw(key)
        if value is None:
            return None
        if isinstance(value, time) and value.tzinfo is None:
            return value.replace(microsecond=0)
        if isinstance(value, str) and value[2:3] == ":" and len(value) in (5, 8):
            try:
                moment = time.fromisoformat(value)
            except ValueError:
                pass
            else:
                if value.isascii() and moment.tzinfo is None:
                    return moment
        shown = f"{value[:20]!r}" if isinstance(value, str) else kind_of(value)
        self.fault(key, f"{shown} is not a time of day", f'write it like {key} = "08:30"')
        return None

    def words(self, key: str, example: str = "", *, most: int = 400) -> tuple[str, ...] | None:
        """A list of texts."""
        value = self.raw(key, example)
        if value is None:
            return () if not example else None
        shown = example or '["..."]'
        wanted = f"write a list of texts, like {key} = {shown}"
        if not isinstance(value, list):
            self.wrong(key, value, wanted)
            return None
        if len(value) > most:
            self.fault(key, f"{len(value)} values", f"at most {most} are taken")
            return None
        out: list[str] = []
        for index, item in enumerate(value):
            if not isinstance(item, str):
                self.problems.add((*self.path, key, index), f"{kind_of(item)} cannot stand here", wanted)
                return None
            try:
                out.append(accept(item, "the value"))
            except InputError as error:
                self.problems.add((*self.path, key, index), error.message, error.hint)
                return None
        return tuple(out)

    def each(self, key: str, parse: Callable[[str], T], *, most: int) -> Iterator[tuple[int, T]]:
        """What ``parse`` makes of every text of a list, each with its place in it; its InputError becomes a fault of that text."""
        for index, item in enumerate(self.words(key, most=most) or ()):
            try:
                found = parse(item)
            except InputError as error:
                self.problems.add((*self.path, key, index), error.message, error.hint)
            else:
                yield index, found

    def table(self, key: str, example: str = "") -> Table | None:
        """A table inside this one; a missing one is a fault when ``example`` names its heading."""
        self.asked.append(key)
        value = self.values.get(key)
        if value is None:
            if example:
                self.fault(key, "missing", f"add the table {example}")
            return None
        if not isinstance(value, Mapping):
            self.wrong(key, value, f"write a table: {example or f'[{key}]'} on its own line")
            return None
        return Table(value, (*self.path, key), self.problems, self.unit)

    def tables(self, key: str, heading: str, most: int) -> list[Table]:
        """The tables of a repeated heading such as ``[[platform]]``."""
        self.asked.append(key)
        value = self.values.get(key, [])
        if not isinstance(value, list) or not all(isinstance(item, Mapping) for item in value):
            self.wrong(key, value, f"write the heading {heading} above each one, with double brackets")
            return []
        if len(value) > most:
            self.fault(key, f"{len(value)} of them", f"at most {most} are taken")
            return []
        return [Table(item, (*self.path, key, i), self.problems, self.unit) for i, item in enumerate(value)]

    def close(self) -> None:
        """Note every key that was never asked for."""
        for key in self.values:
            if key not in self.asked:
                known = sorted(set(self.asked))
                self.fault(key, f"no such key{near(key, known)}", f"known here are {listing(known, 'and')}")


def number_text(value: int | float | str) -> str:
    """A number as a person would have typed it: ``147`` and ``147.25``, never ``147.0`` or ``1e3``."""
    if isinstance(value, float):
        if value != value or value in (float("inf"), float("-inf")):
            return str(value)
        text = f"{value:.9f}".rstrip("0").rstrip(".")
        return text if abs(value) < 1e12 and float(text or 0) == value else str(value)
    return str(value)
