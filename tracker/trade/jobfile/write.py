"""Writing a job file: the table of a job as TOML a person can go on with, every value exactly as it was typed."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

from tracker.errors import InputError
from tracker.trade.answer import Plain
from tracker.trade.lengths import Unit

WIDE = 100
"""Characters from which a list goes over several lines."""
DAYS = ("start", "on", "ordered_on", "promised", "received_on")
"""Keys whose texts are days, written bare as TOML has dates."""
INLINE = ("uncut",)
"""Tables short enough to stand on one line."""

_ORDER: Mapping[str, Sequence[str]] = {
    "": ("code", "title", "client", "site", "unit", "crew", "start", "permit", "no_permit", "finish", "site_facts", "platform",
         "lot", "prices", "rules", "phases", "log"),
    "site_facts": ("frost_depth", "soil", "service_moisture", "ground", "digging", "electric", "live", "snow", "carries",
                   "old_deck", "drain"),
    "platform": ("name", "size", "uncut", "height", "attachment", "beside_house", "support", "joists", "decking", "beam", "cut",
                 "stairs", "guard"),
    "joists": ("size", "species", "grade", "spacing", "use"),
    "decking": ("board", "kind", "species", "angle", "lay", "gap", "use", "overhang", "border"),
    "beam": ("plies", "size", "at", "posts", "post", "pads"),
    "cut": ("corner", "width", "depth", "leg"),
    "stairs": ("width", "rise", "edge", "from", "handrail", "handrail_height", "guard", "guard_height", "open_sides", "stringers"),
    "guard": ("height", "length", "edges"),
    "lot": ("code", "item", "supplier", "ordered", "ordered_on", "promised", "received", "received_on", "use", "dry"),
    "phases": (),
    "log": ("on", "at", "who", "do", "phase", "check", "values", "lot", "count", "option", "options", "equipment", "draws", "amount",
            "cost", "hours", "names", "done", "reason", "text"),
}  # fmt: skip

_SAYS = {
    "site_facts": "The yard.",
    "platform": "A platform: size is width then depth outside the rims, height from the ground to the top of the boards.",
    "lot": "Material ordered and received.",
    "prices": "Prices of this job alone, for each piece, box or roll.",
    "rules": "House rules of this job alone.",
    "phases": "Changes to the phases.",
    "log": "What was done, in the order it happened; each line is entered once.",
}
_HEAD = """\
# A job file. Lengths are as people say them; a bare number is in {unit}.
# Sizes are what was typed, not a design: the adopted local code and a licensed professional decide.
"""
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def write_job(source: Mapping[str, Plain]) -> str:
    """Return the job file of a table (the ``source`` of a ``JobFile``, or what a form made of it) as TOML.

    ``parse_job_file`` of it has that ``source`` again. Keys stand in one order, whatever theirs was; keys no job file has
    come after those it has. Raises InputError for what TOML cannot hold: no value at all, or half a character.
    """
    unit = "millimetres" if source.get("unit") == Unit.MM.value else "inches"
    return _HEAD.format(unit=unit) + "\n".join(_table(source, (), "")) + "\n"


def _table(table: Mapping[str, Plain], path: tuple[str, ...], kind: str) -> Iterator[str]:
    """The lines of a table without its heading: values first, then the tables in it."""
    order = _ORDER.get(kind, ())
    keys = [*(key for key in order if key in table), *(key for key in table if key not in order)]
    inner = [key for key in keys if _is_inner(key, table[key])]
    yield from (f"{_key(key)} = {_typed(key, table[key])}" for key in keys if key not in inner)
    for key in inner:
        yield from _inner(table[key], (*path, key))


def _is_inner(key: str, value: Plain) -> bool:
    """Whether a value gets a heading of its own."""
    if isinstance(value, Mapping):
        return key not in INLINE
    return isinstance(value, list) and bool(value) and all(isinstance(item, Mapping) for item in value)


def _inner(value: Plain, path: tuple[str, ...]) -> Iterator[str]:
    heading = ".".join(_key(part) for part in path)
    says = _SAYS.get(path[0]) if len(path) == 1 else None
    for number, item in enumerate(value if isinstance(value, list) else [value]):
        assert isinstance(item, Mapping)
        yield ""
        if says and not number:
            yield f"# {says}"
        yield f"[[{heading}]]" if isinstance(value, list) else f"[{heading}]"
        yield from _table(item, path, path[-1])


def _typed(key: str, value: Plain) -> str:
    if isinstance(value, str) and key in DAYS and _is_day(value):
        return value
    text = _value(value)
    if isinstance(value, list) and len(key) + len(text) > WIDE:
        return "[\n" + "".join(f"    {row}\n" for row in _rows(_value(item) for item in value)) + "]"
    return text


def _rows(texts: Iterable[str]) -> Iterator[str]:
    row = ""
    for text in texts:
        if row and len(row) + len(text) > WIDE:
            yield row
            row = ""
        row += f"{' ' if row else ''}{text},"
    yield row


def _is_day(text: str) -> bool:
    if not _DAY.fullmatch(text):
        return False
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def _value(value: Plain) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case int() | float():
            return repr(value)
        case str():
            return _quoted(value)
        case list():
            return f"[{', '.join(_value(item) for item in value)}]"
        case Mapping():
            inside = ", ".join(f"{_key(key)} = {_value(item)}" for key, item in value.items())
            return f"{{ {inside} }}" if inside else "{}"
        case _:
            raise InputError("a job file cannot hold nothing as a value", "leave the key out")


def _quoted(text: str) -> str:
    import tomlkit

    return tomlkit.string(_whole(text)).as_string()


def _key(text: str) -> str:
    import tomlkit

    return tomlkit.key(_whole(text)).as_string()


def _whole(text: str) -> str:
    """The text, refused when half a surrogate pair stands in it."""
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        raise InputError("a text holds half a character", "type it again in UTF-8") from None
    return text
