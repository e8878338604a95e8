"""Who works on which book, at what moment, on which device: from options, the environment, a settings file,
the login.

The order is: command-line option, environment (``DECKJOBS_BOOK``, ``DECKJOBS_AS``, ``DECKJOBS_NOW``), the
file ``settings.toml`` in the user's configuration folder (keys ``book`` and ``as``), then the login name and
the user's data folder. Nothing here opens the book.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from tracker.errors import BookError, InputError

APP = "deckjobs"
SETTINGS_FILE = "settings.toml"
FIRST_YEAR, LAST_YEAR = 1970, 2099
"""What a clock may show: 1970 is what one with a flat battery begins again at."""
_KEYS = {"book": "the path of the book", "as": "the name that signs what you record"}
_ASK = "name a book with --book FILE or in DECKJOBS_BOOK"


@dataclass(frozen=True, slots=True)
class Settings:
    """``book`` the file, ``who`` signs, ``at`` a moment that stands still (demos and tests) or None for the
    clock.

    ``own_folder`` says that the book is in the program's own data folder, which may be made when it is
    missing.
    """

    book: Path
    who: str
    at: datetime | None = None
    own_folder: bool = False

    def now(self) -> datetime:
        """The moment, aware and in UTC. Raises InputError for a clock that cannot be right."""
        return self.at or _possible(datetime.now(UTC), "the clock of this computer", "set the clock")

    @property
    def today(self) -> date:
        """The local working day of that moment."""
        return self.now().astimezone().date()

    def make_folder(self) -> None:
        """Make the program's own data folder when the book lives there. Raises BookError naming the
        folder.
        """
        if not self.own_folder:
            return
        try:
            self.book.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError as error:
            raise BookError(f"the folder {self.book.parent} cannot be made: {error.strerror}", _ASK) from None


def load_settings(*, book: str | None = None, who: str | None = None) -> Settings:
    """The settings in force; ``book`` and ``who`` are the options given (None: not given).

    Raises InputError for a value that cannot be used (with file and line for the settings file), BookError
    when no book was named and there is no home folder to keep one in.
    """
    _check_zone()
    filed = read_settings_file()
    named = _first(("--book", book), ("DECKJOBS_BOOK", os.environ.get("DECKJOBS_BOOK") or None), filed.get("book"))
    signer = _first(("--as", who), ("DECKJOBS_AS", os.environ.get("DECKJOBS_AS") or None), filed.get("as"))
    return Settings(
        book=_book_path(*named) if named else _folder("data") / "book.db",
        who=_signer(*signer) if signer else _login(),
        at=_moment(os.environ["DECKJOBS_NOW"]) if os.environ.get("DECKJOBS_NOW") else None,
        own_folder=named is None,
    )


def _first(*given: tuple[str, str | None] | None) -> tuple[str, str] | None:
    for pair in given:
        if pair is not None and pair[1] is not None:
            return pair[0], pair[1]
    return None


def _book_path(where: str, text: str) -> Path:
    if "://" in text:
        # Never echoed: an address may hold a password.
        raise InputError(f"{where} names an address, not a file", "give the path of the book's file")
    if not text.strip():
        raise InputError(f"{where} is empty", "give the path of the book's file")
    if "\0" in text:
        raise InputError(f"{where} holds a NUL character", "give the path of the book's file")
    try:
        return Path(text).expanduser() if text.startswith("~") else Path(text)
    except RuntimeError:
        raise InputError(f"{where} begins with ~, and nobody here has that name", "give the whole path") from None


def _signer(where: str, text: str) -> str:
    if not text.strip():
        raise InputError(f"{where} is empty", "give the name that signs, like --as Rosa")
    return text.strip()


def _login() -> str:
    import getpass

    try:
        return getpass.getuser()
    except (KeyError, OSError, ImportError):
        raise InputError("there is no login name to sign with", "give one with --as NAME or in DECKJOBS_AS") from None


def _moment(text: str) -> datetime:
    hint = "write it like 2026-05-12T17:30"
    try:
        moment = datetime.fromisoformat(text.strip())
        moment = (moment if moment.tzinfo else moment.astimezone()).astimezone(UTC)
    except (ValueError, OverflowError, OSError):
        raise InputError(f"DECKJOBS_NOW is {text[:40]!r}, which is not a moment", hint) from None
    return _possible(moment, "DECKJOBS_NOW", hint)


def _possible(moment: datetime, what: str, hint: str) -> datetime:
    """The moment; InputError when its year is one no job can be in: days are reckoned ahead from it by years."""
    if not FIRST_YEAR <= moment.year <= LAST_YEAR:
        raise InputError(f"{what} says {moment:%d %b} {moment.year}, which is outside {FIRST_YEAR}-{LAST_YEAR}", hint)
    return moment


def _check_zone() -> None:
    """Raise InputError for a time zone whose distance from UTC is a day or more, in winter or in summer."""
    try:
        for month in (1, 7):
            datetime(2026, month, 1, tzinfo=UTC).astimezone()
        datetime.now(UTC).astimezone()
    except (ValueError, OverflowError, OSError):
        raise InputError(
            f"TZ is {os.environ.get('TZ', '')[:40]!r}, a time zone a day or more away from UTC",
            "write it like America/New_York, or leave TZ out",
        ) from None


def _folder(kind: str) -> Path:
    """The user's ``data``, ``config`` or ``state`` folder for this program; BookError when there
    is no home.
    """
    import platformdirs

    place = {
        "data": platformdirs.user_data_path,
        "config": platformdirs.user_config_path,
        "state": platformdirs.user_state_path,
    }[kind](APP, appauthor=False)
    if not place.is_absolute() or (os.name == "posix" and not os.environ.get("HOME") and not _moved(kind)):
        raise BookError(f"HOME is not set, so the folder {place} cannot be relied on", _ASK)
    return place


def _moved(kind: str) -> bool:
    return bool(os.environ.get(f"XDG_{kind.upper()}_HOME"))


def settings_path() -> Path | None:
    """Where the settings file would be; None when there is no home folder."""
    try:
        return _folder("config") / SETTINGS_FILE
    except BookError:
        return None


def read_settings_file() -> dict[str, tuple[str, str]]:
    """The settings file's values as key to (where, text); empty when there is no file.

    Raises InputError with file and line for anything it cannot use.
    """
    path = settings_path()
    try:
        data = path.read_bytes() if path else None
    except OSError:
        data = None
    if data is None:
        return {}
    import tomllib

    try:
        text = data.decode("utf-8-sig")
        table = tomllib.loads(text)
    except UnicodeDecodeError:
        raise InputError(f"{path} is not UTF-8 text", "save it as UTF-8") from None
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise InputError(f"{path}: {error}", 'a line looks like: as = "Rosa"') from None
    out: dict[str, tuple[str, str]] = {}
    for key, value in table.items():
        where = f"{path} line {_line_of(text, key)}"
        if key not in _KEYS:
            from tracker.text import near

            raise InputError(f"{where}: {key} is not a setting{near(key, _KEYS)}", "the settings are book and as")
        if not isinstance(value, str):
            raise InputError(f"{where}: {key} is {_KEYS[key]}, a text", f'write it like {key} = "..."')
        out[key] = (f"{where}: {key}", value)
    return out


def _line_of(text: str, key: str) -> int:
    for number, line in enumerate(text.splitlines(), 1):
        if line.strip().lstrip("[\"'").startswith(key):
            return number
    return 1


def state_folder() -> Path | None:
    """The folder for this device's id and for crash files, made when missing; None when it cannot be."""
    try:
        folder = _folder("state")
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except (BookError, OSError):
        return None
    return folder


def device_id() -> str:
    """This device's id: kept in a file of the user's state folder, else a stable hash of the host's name."""
    import uuid

    folder = state_folder()
    if folder is not None:
        path = folder / "device"
        try:
            handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(handle, "w", encoding="ascii") as file:
                file.write(f"d{uuid.uuid4().hex}\n")
        except OSError:
            pass  # it is there already, or the folder is read-only
        try:
            kept = path.read_text("ascii").strip()
        except (OSError, UnicodeDecodeError):
            kept = ""
        if len(kept) == 33 and kept.isalnum():
            return kept
    import hashlib
    import platform

    return "h" + hashlib.sha256(platform.node().encode("utf-8", "replace")).hexdigest()[:32]
