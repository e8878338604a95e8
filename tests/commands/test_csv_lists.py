"""Every list the commands write (CSV), opened as a spreadsheet would."""

from __future__ import annotations

import csv
import io

from tests.commands.conftest import Deck
from tracker.planning.csvlines import is_formula


def test_every_list_the_commands_write_is_disarmed(deck: Deck) -> None:
    """The day sheet, the list to buy and the price book, of a job whose every text is a formula behind something unseen."""
    nasty = "\u200b＝HYPERLINK(1)"
    prices = deck.home / "p.csv"
    prices.write_text(f"supplier,item,price\n'{nasty},2x8x12,8.90\n", "utf-8")
    deck.take(title=nasty, client=f"\ufeff+{nasty}")
    assert deck("prices", str(prices)).code == 0
    assert deck("note", "101", nasty, "--as", f"\u2060@{nasty}").code == 0
    assert deck("order", "101", "2x8x12", "1", "--supplier", nasty, "--anyway").code == 0
    assert deck("hold", "101", "--reason", nasty).code == 0
    written = [("report", "--csv"), ("buy", "--csv"), ("prices", "--out")]
    seen = 0
    for number, words in enumerate(written):
        path = deck.home / f"{number}.csv"
        result = deck(*words, str(path))
        assert result.code == 0, result.err
        for row in csv.reader(io.StringIO(path.read_text("utf-8-sig"), newline="")):
            for cell in row:
                assert not is_formula(cell), (words, cell)
                seen += "HYPERLINK" in cell
    assert seen > 4
    assert deck("prices", str(deck.home / "2.csv")).out.count("unchanged") == 1
