"""Where the book, the name and the moment come from, and what is said when they cannot be used."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from tests.commands.conftest import Deck
from tracker.errors import BookError, InputError
from tracker.settings import device_id, load_settings


@pytest.fixture
def bare(home: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home and nothing said about book, name or moment."""
    for name in ("DECKJOBS_BOOK", "DECKJOBS_AS", "DECKJOBS_NOW"):
        monkeypatch.delenv(name)
    return home


def write_settings(home: Path, text: str) -> Path:
    path = home / ".config/deckjobs/settings.toml"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, "utf-8")
    return path


def test_option_then_environment_then_file_then_login(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LOGNAME", "login-name")
    own = load_settings()
    assert own.who == "login-name" and own.book == bare / ".local/share/deckjobs/book.db" and own.own_folder
    write_settings(bare, f'# mine\nbook = "{bare}/filed.book"\nas = "Filed"\n')
    filed = load_settings()
    assert (filed.book, filed.who, filed.own_folder) == (bare / "filed.book", "Filed", False)
    monkeypatch.setenv("DECKJOBS_BOOK", "env.book")
    monkeypatch.setenv("DECKJOBS_AS", "Env")
    assert (load_settings().book, load_settings().who) == (Path("env.book"), "Env")
    given = load_settings(book="given.book", who="Given")
    assert (given.book, given.who) == (Path("given.book"), "Given")


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ('as = "Rosa"\nbok = "x"\n', 2, "bok is not a setting (did you mean book?)"),
        ("\n\n[theme]\ndark = true\n", 3, "theme is not a setting"),
        ("as = 3\n", 1, "as is the name that signs"),
    ],
)
def test_a_wrong_setting_is_named_with_file_and_line(deck: Deck, text: str, line: int, says: str) -> None:
    path = write_settings(deck.home, text)
    result = deck("jobs")
    assert result.code == 2 and f"{path} line {line}: {says}" in result.err


def test_a_settings_file_that_is_no_toml_names_the_line(deck: Deck) -> None:
    path = write_settings(deck.home, 'as = "Rosa"\nbook = jobs\n')
    result = deck("jobs")
    assert result.code == 2 and str(path) in result.err and "line 2" in result.err
    path.write_bytes(b'as = "caf\xe9"\n')
    assert "not UTF-8" in deck("jobs").err


def test_without_a_home_the_folder_is_named_and_a_book_asked_for(deck: Deck, monkeypatch: pytest.MonkeyPatch) -> None:
    file = deck.file()
    monkeypatch.delenv("HOME")
    monkeypatch.delenv("DECKJOBS_BOOK")
    result = deck("jobs")
    assert result.code == 3 and "HOME is not set" in result.err and "--book FILE" in result.err
    assert deck("take", file, "--book", str(deck.path)).code == 0
    assert "26-101" in deck("jobs", "--book", str(deck.path)).out


def test_a_home_that_cannot_be_written_names_the_folder(deck: Deck, monkeypatch: pytest.MonkeyPatch) -> None:
    file = deck.file()
    blocked = deck.home / "not-a-folder"
    blocked.write_text("a file stands here")
    monkeypatch.setenv("HOME", str(blocked))
    monkeypatch.delenv("DECKJOBS_BOOK")
    result = deck("take", file)
    assert result.code == 3
    assert str(blocked / ".local/share/deckjobs") in result.err and "--book FILE" in result.err


def test_the_data_folder_is_made_private_when_first_written_to(deck: Deck, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("DECKJOBS_BOOK")
    assert deck("jobs").code == 3
    folder = deck.home / ".local/share/deckjobs"
    assert not folder.exists()
    assert deck("take", deck.file()).code == 0
    assert folder.stat().st_mode & 0o777 == 0o700
    assert (folder / "book.db").stat().st_mode & 0o777 == 0o600


def test_a_named_book_in_a_missing_folder_makes_no_folder(deck: Deck) -> None:
    result = deck("take", deck.file(), "--book", str(deck.home / "nowhere/jobs.book"))
    assert result.code == 3 and "nowhere" in result.err
    assert not (deck.home / "nowhere").exists()


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("2026-05-12T17:30", datetime(2026, 5, 12, 17, 30, tzinfo=UTC)),
        ("2026-05-12T17:30:00+02:00", datetime(2026, 5, 12, 15, 30, tzinfo=UTC)),
        ("2028-02-29", datetime(2028, 2, 29, tzinfo=UTC)),
    ],
)
def test_the_moment_can_be_given(home: Path, monkeypatch: pytest.MonkeyPatch, text: str, moment: datetime) -> None:
    monkeypatch.setenv("DECKJOBS_NOW", text)
    assert load_settings().now() == moment


@pytest.mark.parametrize("text", ["soon", "2026-13-01", "0001-01-01T00:00+23:59", "99999-01-01"])
def test_a_moment_that_is_none_is_refused(home: Path, monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    monkeypatch.setenv("DECKJOBS_NOW", text)
    with pytest.raises(InputError, match="not a moment"):
        load_settings()


def test_the_clock_runs_when_no_moment_is_given(bare: Path) -> None:
    before = datetime.now(UTC)
    settings = load_settings(who="R")
    assert before <= settings.now() <= datetime.now(UTC) and isinstance(settings.today, date)


def test_the_device_id_is_made_once_and_private(home: Path) -> None:
    first = device_id()
    path = home / ".local/state/deckjobs/device"
    assert device_id() == first and path.stat().st_mode & 0o777 == 0o600
    path.write_text("spoilt")
    fallback = device_id()
    assert fallback != first and fallback == device_id()


def test_without_a_state_folder_the_device_id_is_stable(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    blocked = home / "file"
    blocked.write_text("")
    monkeypatch.setenv("HOME", str(blocked))
    first = device_id()
    monkeypatch.delenv("HOME")
    assert first == device_id() != ""


def test_no_home_is_a_fault_of_the_book(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("HOME")
    with pytest.raises(BookError, match="HOME is not set"):
        load_settings(who="R")


def test_entries_of_two_names_keep_their_own_signature(deck: Deck) -> None:
    deck.take()
    deck("note", "101", "from Ana", "--as", "Ana (invented)")
    deck("note", "101", "from Rosa")
    notes = deck("show", "101", "--json").json["notes"]
    assert [(note["who"], note["text"]) for note in notes] == [
        ("Ana (invented)", "from Ana"),
        ("Rosa (invented)", "from Rosa"),
    ]


@pytest.mark.parametrize("now", ["1970-01-01T00:00", "2028-02-29T12:00", "2027-01-01T09:00", "2016-05-12T17:30"])
def test_an_odd_clock_is_flagged_or_accepted_and_never_a_crash(
    deck: Deck, monkeypatch: pytest.MonkeyPatch, now: str
) -> None:
    deck.take()
    assert deck("note", "101", "before").code == 0
    monkeypatch.setenv("DECKJOBS_NOW", now)
    result = deck("note", "101", "after")
    assert result.code == 0, result.err
    texts = [note["text"] for note in deck("show", "101", "--json").json["notes"]]
    assert set(texts) == {"before", "after"}
    assert deck("report").code == 0 and deck("jobs").code == 0
    if now < "2026":
        assert "clock" in result.out
