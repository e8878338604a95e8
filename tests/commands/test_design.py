"""The design check from a shell: told when a job is taken in, judged without a reading, cleared by naming whose design it is."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.commands.conftest import Deck

NOBODY_SAID = "nobody said whether anything is dug"
BASIS = ("by=N. Finch, licensed engineer", "document=sheet S-1", "day=2026-05-04")


def test_what_fails_is_told_when_the_job_is_taken_in_and_by_the_check_alone(deck: Deck) -> None:
    told = deck("take", deck.file(top='[site_facts]\nsoil = "clay"'), "--json")
    warnings = told.json["jobs"][0]["warnings"]
    assert told.code == 0 and any(text.startswith(f"design: {NOBODY_SAID}") for text in warnings)
    judged = deck("check", "101", "design", "--json")
    assert judged.code == 1 and judged.json["check"]["state"] == "failed"
    clauses = judged.json["check"]["answer"]["answer"]["clauses"]
    assert [clause["clause"] for clause in clauses if not clause["good"]] == ["locate"]
    assert all(clause["source"] for clause in clauses)
    assert NOBODY_SAID in deck("check", "101", "design").out.replace("\n      ", " ")


def test_a_dry_run_before_there_is_a_book_says_it_too(deck: Deck) -> None:
    told = deck("take", deck.file(top='[site_facts]\nsoil = "clay"'), "--dry-run", "--json")
    assert any(NOBODY_SAID in text for text in told.json["jobs"][0]["warnings"])


def test_naming_whose_design_it_is_clears_it_and_show_names_it(deck: Deck) -> None:
    deck("take", deck.file(top='[site_facts]\nsoil = "clay"'))
    assert deck("waive", "101", "design", "--reason", "it will do").code == 1
    assert deck("check", "101", "design", *BASIS).code == 0
    assert deck("check", "101", "design", "--json").code == 0
    shown = deck("show", "101", "--json").json["design"]
    assert shown == {"fails": [], "stands_on": "sheet S-1 of N. Finch, licensed engineer, Mon 4 May 2026"}


def test_a_footing_for_less_than_a_deck_is_designed_for_is_refused_as_a_span_is(deck: Deck) -> None:
    for figure in (("footing", "--area", "40", "--soil", "clay"),
                   ("span", "--member", "joist", "--size", "2x8", "--species", "hem-fir", "--grade", "2", "--spacing", "16")):  # fmt: skip
        refused = deck("figure", *figure, "--live", "30")
        assert refused.code == 2 and "less than a deck is designed for" in refused.err


HOT_TUB = Path(__file__).parents[1] / "trade" / "whole_jobs" / "must_fail" / "loads.toml"
"""12 ft by 10 ft on two beams and six footings, far inside every table but for what stands on it."""
STRUCTURAL = {
    "span": ("S1=8'", "overhang=12 in"),
    "beam": tuple(
        f"B{n}.{value}" for n in (1, 2) for value in ("plies=3", "span=5' 9-1/4", "bearing=3", "splices=yes", "rows=2", "nails=16")
    ),
    "post": tuple(f"P{n}.{value}" for n in range(1, 7) for value in ("height=8-1/2", "plumb=0", "top=yes", "base=yes")),
    "footing": (
        "soil=clay", "bags=80", "poured=2026-05-11",
        *(f"P{n}.{value}" for n in range(1, 7) for value in ("across=24", "depth=40", "pad=12")),
    ),
}  # fmt: skip


@pytest.mark.parametrize("thing", ["hot tub", "roof", "screen room"])
def test_no_structural_check_passes_under_what_no_table_covers_until_a_design_is_recorded(
    deck: Deck, tmp_path: Path, thing: str
) -> None:
    file = tmp_path / "heavy.toml"
    file.write_text(HOT_TUB.read_text().replace("hot tub", thing))
    beyond = f"{thing}: beyond these tables: a designer"
    assert beyond.replace(":", " on the deck:", 1) in " ".join(deck("take", str(file)).out.split())
    for check, values in STRUCTURAL.items():
        judged = deck("check", "26-211", check, *values)
        assert judged.code == 1 and beyond in " ".join(judged.out.split()), (check, judged.out, judged.err)
    assert deck("check", "26-211", "design", *BASIS).code == 0
    for check, values in STRUCTURAL.items():
        judged = deck("check", "26-211", check, *values)
        said = " ".join(deck("check", "26-211", check, *values, "--json").out.split())
        assert judged.code == 0 and beyond not in judged.out, (check, judged.out, judged.err)
        assert f"{thing}: no deck table covers it; it stands on sheet S-1 of N. Finch, licensed engineer" in said, check
