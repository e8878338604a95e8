"""Taking jobs in, and reading them back."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.commands.conftest import Deck, job_text

SAMPLES = sorted((Path(__file__).parents[2] / "sample_jobs").glob("*.toml"))


def test_taking_the_same_job_twice_changes_nothing(deck: Deck) -> None:
    file = deck.file()
    assert deck("take", file).out == "26-101  Plover Lane platform: new\n"
    before = deck.entries()
    again = deck("take", file)
    assert (again.code, again.out) == (0, "26-101  Plover Lane platform: unchanged\n")
    assert deck.entries() == before


def test_a_changed_job_says_what_changed(deck: Deck) -> None:
    deck.take()
    result = deck("take", deck.file(title="Plover Lane terrace"), "--json")
    assert result.json["jobs"][0]["change"] == "changed"
    assert any("title" in text for text in result.json["jobs"][0]["details"])


def test_a_dry_run_takes_nothing_and_makes_no_book(deck: Deck) -> None:
    result = deck("take", deck.file(), "--dry-run")
    assert (result.code, result.out) == (0, "26-101  Plover Lane platform: would be new\n")
    assert not deck.path.exists()


def test_one_wrong_file_stops_all_and_names_every_fault(deck: Deck) -> None:
    good, bad = deck.file("good.toml"), deck.file("bad.toml", code="26-102", top='permit = "perhaps"\nroof = "tin"')
    result = deck("take", good, bad)
    assert result.code == 2
    assert "permit" in result.err and "roof" in result.err and result.err.count("bad.toml:") == 2
    assert "nothing was taken" in result.err
    assert not deck.path.exists()
    deck.take(code="26-150")
    assert deck("take", good, bad).code == 2
    assert [line["job"] for line in deck("jobs", "--json").json["jobs"]] == ["26-150"]


def test_two_files_of_one_code_are_refused(deck: Deck) -> None:
    result = deck("take", deck.file("a.toml"), deck.file("b.toml"))
    assert result.code == 2 and "are both job 26-101" in result.err


def test_a_folder_a_pipe_and_a_missing_file_are_refused_before_reading(deck: Deck) -> None:
    pipe = deck.home / "pipe.toml"
    os.mkfifo(pipe)
    big = deck.home / "big.toml"
    with big.open("wb") as file:
        file.truncate(1_000_001)
    result = deck("take", str(deck.home), str(pipe), str(deck.home / "gone.toml"), str(big))
    assert result.code == 2
    for words in ("is a folder", "pipe.toml is not a regular file", "gone.toml is not there", "1,000,001 bytes"):
        assert words in result.err
    assert not deck.path.exists()


def test_a_file_that_is_not_utf8_or_empty_is_refused(deck: Deck) -> None:
    latin, empty = deck.home / "latin.toml", deck.home / "empty.toml"
    latin.write_bytes(job_text(title="Café").encode().replace(b"\\u00e9", b"\xe9"))
    empty.write_bytes(b"")
    result = deck("take", str(latin), str(empty))
    assert result.code == 2 and "UTF-8" in result.err and "empty" in result.err


@pytest.mark.parametrize("word", ["26-101", "101", "plover"])
def test_a_job_is_found_by_code_tail_or_title(deck: Deck, word: str) -> None:
    deck.take()
    assert deck("show", word, "--json").json["job"] == "26-101"


def test_an_unknown_or_ambiguous_job_lists_what_could_be_meant(deck: Deck) -> None:
    deck.take()
    deck.take(code="26-102", title="Plover Hill platform")
    unknown = deck("show", "999")
    assert unknown.code == 2 and "999" in unknown.err and unknown.out == ""
    both = deck("show", "plover")
    assert both.code == 2 and "26-101" in both.err and "26-102" in both.err
    # The signs of a search pattern are letters like any other.
    assert deck("show", "%").code == 2 and deck("show", "_").code == 2


def test_the_list_says_phase_hold_delivery_and_money(deck: Deck) -> None:
    joists = next(x for x in deck("takeoff", deck.file(), "--json").json["lines"] if x["item"].startswith("2x6x"))
    item = joists["item"]
    lot = (
        f'[[lot]]\ncode = "L1"\nitem = "{item}"\nsupplier = "Yard One"\nordered = 2\npromised = 2026-05-14\n'
        f'[prices]\n"{item}" = "12.50"'
    )
    deck.take(more=lot)
    text = deck("jobs").out
    assert text.startswith("1 open job, ")
    assert f"2 boards {item} (lot L1) from Yard One, promised Thu 14 May" in text
    # 2 boards at 12.50 of those needed are ordered; nothing else has a price.
    said = f"$25.00 of at least ${joists['quantity'] * 12.5:.2f} bought for the phases ahead, 7 goods not priced"
    assert said in " ".join(text.split())
    line = deck("jobs", "--json").json["jobs"][0]
    assert (line["bought_bound"], line["needed_bound"]) == ("exact", "at least")
    # The rims, deck boards, blocks, cloth, gravel, nails and screws.
    assert [item.split()[0] for item in sorted(line["without_price"])] == [
        "2x6x12", "5/4x6x12", "block", "cloth", "gravel", "nails", "screws",
    ]  # fmt: skip
    assert line["bought_cents"] == 2500 and line["phase_state"] == "ahead"
    assert line["next_delivery"]["promised"] == "2026-05-14"


def test_lengths_in_json_are_exact_text_and_millimetres(deck: Deck) -> None:
    deck.take()
    platform = deck("show", "101", "--json").json["spec"]["platforms"][0]
    # 11 ft = 3352.8 mm, 16 in = 406.4 mm (1 in = 25.4 mm exactly, 1959 agreement)
    assert platform["width"] == {"text": "11'", "mm": 3352.8}
    assert platform["joists"]["spacing"] == {"text": "1' 4\"", "mm": 406.4}


@pytest.mark.parametrize("file", SAMPLES, ids=[file.stem for file in SAMPLES])
def test_every_sample_job_is_taken_shown_and_listed(deck: Deck, file: Path) -> None:
    assert deck("take", str(file)).code == 0
    code = file.stem[:6]
    page = deck("show", code).out
    assert page.startswith(code)
    for part in ("PHASES", "CHECKS"):
        assert part in page
    assert max(len(line) for line in page.splitlines()) <= 80
    assert code in deck("jobs").out


def test_show_lists_what_to_ask_the_local_office_until_the_layout_is_signed_off(deck: Deck) -> None:
    deck.take()
    page = " ".join(deck("show", "101").out.split())
    # IRC R105.2 as a town prints it: 200 ft2, 30 in, attached, exit door; never put as a permission.
    for part in (
        "ASK THE LOCAL OFFICE",
        "143 ft2",
        "(usual limit 200 ft2)",
        "usual limit 30 in",
        "exit door",
        "not a permission",
    ):
        assert part in page
    assert "12 in high" in page
    (half,) = (file for file in SAMPLES if file.stem.startswith("26-014"))
    assert deck("take", str(half)).code == 0
    assert "ASK THE LOCAL OFFICE" not in deck("show", "26-014").out


def test_reading_before_there_is_a_book_says_how_to_start_one(deck: Deck) -> None:
    for words in (["jobs"], ["show", "101"], ["report"], ["buy"], ["signoff", "101"], ["doctor"]):
        result = deck(*words)
        assert result.code == 3 and "there is no book at" in result.err and "deckjobs take FILE" in result.err
        assert not deck.path.exists()
