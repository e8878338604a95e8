"""How a command line is read: an argument parser that raises our errors, finds near misses and takes values
like ``-1/8``.
"""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, NamedTuple, NoReturn

from tracker.errors import InputError

if TYPE_CHECKING:
    from tracker.commands.session import Session

# A value such as -1/8 is marked with a NUL (which no argument can hold) so that argparse does not take it
# for an option.
_SHIELD = "\0"
_NEGATIVE = re.compile(r"-[\s.\d½¼¾⅛⅜⅝⅞]")


class Command(NamedTuple):
    """One command word: ``add`` declares its arguments, ``run`` does it and returns the exit code.

    ``narrow`` gives the parser of a word below it (``figure square``), None when there is none. ``records`` says that it makes
    an entry, by ``Session.write``, so that the same ``--id`` twice records once.
    """

    add: Callable[[argparse.ArgumentParser], object]
    run: Callable[[Session, argparse.Namespace], int]
    text: str
    example: str = ""
    narrow: Callable[[str], Parser] | None = None
    records: bool = False


class Parser(argparse.ArgumentParser):
    """An ArgumentParser that raises InputError instead of exiting."""

    def error(self, message: str) -> NoReturn:
        """Raise InputError with what was wrong and what would be right."""
        from tracker.text import near

        message = message.replace(_SHIELD, "").replace("\\x00", "")
        hint = f"{self.prog} --help shows how"
        if match := re.fullmatch(r"unrecognized arguments: (.*)", message, re.DOTALL):
            word = match[1].split(" ")[0].partition("=")[0] if match[1].startswith("-") else match[1]
            if word.startswith("-"):
                known = [text for action in self._actions for text in action.option_strings]
                message = f"unknown option {word}{near(word, known)}"
            else:
                message = f"{word!r} is one argument too many"
        elif match := re.fullmatch(r"the following arguments are required: (.*)", message, re.DOTALL):
            message = f"{match[1]} is missing" if "," not in match[1] else f"these are missing: {match[1]}"
        elif match := re.search(r"argument (.+?): expected one argument", message):
            option = match[1].split("/")[-1].split(" ")[0]
            hint = f"a value that begins with - is joined with =, like {option}=-wet; {hint}"
        raise InputError(message.removeprefix("argument "), hint)

    def read(self, argv: Sequence[str], namespace: argparse.Namespace) -> argparse.Namespace:
        """Parse ``argv`` into ``namespace``; options may stand anywhere, and negative figures are values."""
        self._refuse_unknown(argv)
        shielded = [_shielded(word) for word in argv]
        found = self.parse_intermixed_args(shielded, namespace)
        for name, value in vars(found).items():
            if isinstance(value, str):
                setattr(found, name, value.removeprefix(_SHIELD))
            elif isinstance(value, list):
                setattr(found, name, [v.removeprefix(_SHIELD) if isinstance(v, str) else v for v in value])
        return found

    def _refuse_unknown(self, argv: Sequence[str]) -> None:
        """Name an unknown option before argparse complains of what is missing because of it."""
        known = {text: action for action in self._actions for text in action.option_strings}
        for before, word in zip(("", *argv), argv, strict=False):
            if word == "--":
                return
            option = word.partition("=")[0]
            takes_it = before in known and known[before].nargs != 0
            if len(word) > 1 and word[0] == "-" and option not in known and not takes_it and not _NEGATIVE.match(word):
                self.error(f"unrecognized arguments: {word}")


def _shielded(word: str) -> str:
    """The word as argparse may see it: a negative figure, and ``--`` as a value (``--height=--``), are marked."""
    if _NEGATIVE.match(word):
        return _SHIELD + word
    if word.startswith("--") and word.endswith("=--") and word.count("=") == 1:
        return f"{word[:-2]}{_SHIELD}--"
    return word


_DEST = {"--who": "workers"}


def refuse_options(args: argparse.Namespace, options: Sequence[str], why: str, hint: str) -> None:
    """Raise InputError naming the first of ``options`` that was given where it would do nothing.

    ``why`` says what the command does instead (``--summary lists and logs nothing``).
    """
    for option in options:
        if getattr(args, _DEST.get(option, option.removeprefix("--").replace("-", "_"))) not in (None, False, "", []):
            raise InputError(f"{option} has no place here: {why}", hint)


VALUED = ("--book", "--as", "--id")
"""Global options that take a value."""


def split_word(argv: Sequence[str]) -> tuple[list[str], str | None, list[str]]:
    """The options before the first bare word, that word (None when there is none), and everything after
    it.
    """
    at = 0
    while at < len(argv) and argv[at].startswith("-"):
        at += 2 if argv[at] in VALUED else 1
    if at >= len(argv):
        return list(argv), None, []
    return list(argv[:at]), argv[at], list(argv[at + 1 :])


def new_parser(prog: str, text: str, example: str = "", *, records: bool = False) -> Parser:
    """A parser with the global options; they keep their values when they were given before the command
    word. The id of an entry is explained where one is made.
    """
    parser = Parser(
        prog=prog,
        description=text,
        epilog=f"example: {example}" if example else None,
        allow_abbrev=False,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    common = parser.add_argument_group("for every command")
    common.add_argument("--book", metavar="FILE", default=argparse.SUPPRESS, help="the job book to work on")
    common.add_argument(
        "--as", dest="who", metavar="NAME", default=argparse.SUPPRESS, help="who signs what is recorded"
    )
    common.add_argument(
        "--json", action="store_true", default=argparse.SUPPRESS, help="answer in JSON with documented keys"
    )
    common.add_argument(
        "--id", metavar="UUID", default=argparse.SUPPRESS,
        help="the id of the entry: the same twice records once, another entry under it is refused (exit 4)"
        if records
        else argparse.SUPPRESS,
    )  # fmt: skip
    return parser


def check_text(argv: Sequence[str]) -> None:
    """Raise InputError naming the first argument that is not valid text (bytes that are no UTF-8)."""
    for number, word in enumerate(argv, 1):
        try:
            word.encode("utf-8")
        except UnicodeEncodeError:
            raise InputError(f"argument {number} is not valid text", "type it again in UTF-8") from None
