"""Boards too dry to be laid touching are fit once the job lays them with a spacer, as the delivery check advises."""

from __future__ import annotations

from tests.commands.conftest import Deck, job_text

LOT = """
[[lot]]
code = "B1"
item = "5/4x6x12"
supplier = "Yard One"
ordered = 30
ordered_on = 2026-05-04
received = 30
received_on = 2026-05-05
use = "UC4A"
"""
READ = ("count=30", "stamp=yes", "tag=UC4A")


def test_dry_boards_are_used_once_the_lay_is_changed_to_spaced(deck: Deck) -> None:
    tight = job_text(more=LOT).replace("[site_facts]", "[site_facts]\nservice_moisture = 12", 1)
    path = deck.home / "job.toml"
    path.write_text(tight, "utf-8")
    assert deck("take", str(path)).code == 0
    # At the 12 % it keeps outdoors the wood neither shrinks nor swells: touching it stays at no gap, 1/8 in is wanted.
    told = deck("inspect", "101", "B1", *READ, "moisture=12")
    assert told.code == 1 and "too dry to be laid touching" in told.out and "1/8 in spacer" in told.out
    refused = deck("use", "101", "B1", "5")
    assert refused.code != 0 and "too dry to be laid touching" in refused.err
    path.write_text(tight.replace('lay = "tight"', 'lay = "spaced"'), "utf-8")
    assert deck("change", "101", str(path), "--reason", "boards came dry", "--yes").code == 0
    shown = deck("show", "101").out
    assert "pass  delivery" in shown and "1 lot good: B1 laid" in shown
    assert deck("use", "101", "B1", "5").code == 0
    # Laid touching again, they are unfit again: the reading itself is as it was.
    path.write_text(tight, "utf-8")
    assert deck("change", "101", str(path), "--reason", "the client wants none", "--yes").code == 0
    assert deck("use", "101", "B1", "5").code != 0


def test_what_else_is_wrong_with_them_stays_wrong(deck: Deck) -> None:
    tight = job_text(more=LOT).replace("[site_facts]", "[site_facts]\nservice_moisture = 12", 1)
    path = deck.home / "job.toml"
    path.write_text(tight, "utf-8")
    assert deck("take", str(path)).code == 0
    assert deck("inspect", "101", "B1", "count=30", "stamp=no", "tag=UC4A", "moisture=12").code == 1
    path.write_text(tight.replace('lay = "tight"', 'lay = "spaced"'), "utf-8")
    assert deck("change", "101", str(path), "--reason", "boards came dry", "--yes").code == 0
    refused = deck("use", "101", "B1", "5")
    assert refused.code != 0 and "no grade stamp" in refused.err and "too dry" not in refused.err
