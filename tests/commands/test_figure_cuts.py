"""``figure cuts``: published answers, every stick replayed, the list (CSV), and Ctrl-C on a long search."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from tests.commands.conftest import Deck

ROOT = Path(__file__).parents[2]
PAPER = (
    (1380, 22), (1520, 25), (1560, 12), (1710, 14), (1820, 18), (1880, 18), (1930, 20), (2000, 10), (2050, 12),
    (2100, 14), (2140, 16), (2150, 18), (2200, 20),
)  # fmt: skip


def replay(answer: dict[str, Any], kerf: float, trim: float = 0) -> Counter[float]:
    """Cut every stick; returns the pieces."""
    pieces: Counter[float] = Counter()
    for stick in answer["sticks"]:
        used = trim + sum(stick["cuts_in"]) + kerf * (len(stick["cuts_in"]) - 1)
        assert used <= stick["stock_in"] + 1e-9
        assert stick["left_in"] == pytest.approx(max(stick["stock_in"] - used - kerf, 0))
        pieces.update(stick["cuts_in"])
    return pieces


def test_the_paper_rolls_of_the_encyclopedia_take_73(deck: Deck) -> None:
    # The example of the Wikipedia article "Cutting stock problem" (from memory): rolls of 5600 mm, the best is 73.
    needs = [f"{width}*{number}" for width, number in PAPER]
    found = deck("figure", "cuts", "--metric", "--kerf", "0", "--need", *needs, "--stock", "5600@1", "--json")
    assert found.code == 0, found.err
    answer = found.json["answer"]
    assert (answer["cost"], answer["bound"], answer["proven"], answer["boards"]) == (73, 73, True, 73)
    pieces = replay(answer, 0)
    assert {round(nm * 25.4): number for nm, number in pieces.items()} == dict(PAPER)


def test_three_stock_lengths_at_prices_of_their_own(deck: Deck) -> None:
    # P. C. Gilmore, R. E. Gomory, Operations Research 9 (1961) 849-859: stock 5, 6, 9 at 6, 7, 10; 20 of length 2, 10 of
    # 3, 20 of 4 (from memory). 150 units are wanted, the cheapest unit is 10/9 (stock 9): at least 166.67, and whole
    # boards make 170.
    found = deck(
        "figure", "cuts", "--kerf", "0", "--need", "2*20", "3*10", "4*20", "--stock", "5@6", "6@7", "9@10", "--json"
    ).json["answer"]
    assert found["cost"] == found["bound"] == 170 and found["proven"]
    assert replay(found, 0) == {2: 20, 3: 10, 4: 20}


def test_kerf_trim_and_what_is_on_hand_count(deck: Deck) -> None:
    # Worked by hand: two 48 in pieces and one kerf of 1/8 in do not fit 96 in; without kerf they do, with a trim not.
    words = ("figure", "cuts", "--need", "48*2", "--stock", "96@5", "--json")
    assert deck(*words).json["answer"]["cost"] == 10
    assert deck(*words, "--kerf", "0").json["answer"]["cost"] == 5
    assert deck(*words, "--kerf", "0", "--trim", "1/4").json["answer"]["cost"] == 10
    had = deck(*words, "--have", "50*1").json["answer"]
    assert had["cost"] == 5
    assert [stick["stock_in"] for stick in had["sticks"]] == [96, 50]
    assert [stick["left_in"] for stick in had["sticks"]] == [47.875, 1.875]


def test_a_list_says_the_same_as_the_options(deck: Deck) -> None:
    path = deck.home / "pieces.csv"
    path.write_text(
        "kind,length,quantity,price\nneed,33-1/2,7,\nneed,6-3,4,\nstock,8',,7.10\nstock,12',,11.90\nhave,63,2,\n",
        "utf-8",
    )
    said = deck(
        "figure", "cuts", "--need", "33-1/2*7", "6-3*4", "--stock", "8'@7.10", "12'@11.90", "--have", "63*2", "--json"
    )
    listed = deck("figure", "cuts", "--file", str(path), "--json")
    assert listed.json == said.json
    both = deck("figure", "cuts", "--file", str(path), "--need", "10*1", "--json").json["answer"]
    assert sum(len(stick["cuts_in"]) for stick in both["sticks"]) == 12


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--need", "48", "--stock", "96@5"), "--need: '48' has no length and number"),
        (("--need", "x*2", "--stock", "96@5"), "--need: 'x' is not a length"),
        (("--need", "48*0", "--stock", "96@5"), "--need: 0 is not a number of pieces"),
        (("--need", "48*1.5", "--stock", "96@5"), "--need: "),
        (("--need", "0*2", "--stock", "96@5"), "--need: a length of 0 cannot be cut"),
        (("--need", "48*2", "--stock", "96"), "--stock: '96' has no length and price"),
        (("--need", "48*2", "--stock", "96@1,50"), "--stock: '1,50' is not a price"),
        (("--need", "48*2", "--stock", "96@-1"), "--stock: '-1' is not a price: it is negative"),
        (("--need", "48*2", "--stock", "96@0"), "the 8' stock has no price"),
        (("--need", "48*2", "--have", "96"), "--have: '96' has no length and number"),
        (("--need", "48*2", "--have", "96*1"), "the stock on hand is too little"),
        (("--need", "100*2", "--stock", "96@5"), "is longer than the longest stock"),
        (("--need", "48*60000", "--stock", "96@5"), "--need: 60000 is not a number of pieces"),
        (("--stock", "96@5"), "there is nothing to cut"),
        (("--need", "48*2"), "there is nothing to cut from"),
        (("--need", "48*2", "--stock", "96@5", "--kerf", "wide"), "--kerf: 'wide' is not a length"),
        (("--file", "nowhere.csv"), "nowhere.csv is not there"),
    ],
)
def test_what_is_wrong_names_the_option(deck: Deck, words: tuple[str, ...], says: str) -> None:
    result = deck("figure", "cuts", *words)
    assert (result.code, result.out) == (2, "") and says in result.err
    assert 1 <= len(result.err.splitlines()) <= 2


def test_a_faulty_list_is_refused_line_by_line(deck: Deck) -> None:
    path = deck.home / "pieces.csv"
    path.write_bytes(b"kind,length,quantity,price\r\nneed,33,0,\r\nstock,96,,$5\r\n")
    result = deck("figure", "cuts", "--file", str(path))
    assert result.code == 2 and result.out == ""
    assert f"{path}:2: quantity: 0 is not a number of pieces" in result.err
    assert f"{path}:3: price: '$5' has a currency sign" in result.err


def worked(pid: int) -> float:
    """Seconds of a core that a process has had (proc(5), fields 14 and 15 of stat)."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="how long a process worked is not told here")
def test_ctrl_c_takes_the_best_so_far_with_its_bound(home: Path) -> None:
    draw = random.Random(2)
    needs = [f"{length}*{draw.randint(1, 3)}" for length in draw.sample(range(640, 1520), 390)]
    prices = {2400: 7.1, 3000: 9.2, 3600: 11.9, 4200: 14.2, 4800: 15.8}
    stock = [f"{length}@{price}" for length, price in prices.items()]
    program = subprocess.Popen(
        [sys.executable, "-m", "tracker", "figure", "cuts", "--json", "--metric", "--kerf", "3", "--need", *needs, "--stock", *stock],
        cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    while worked(program.pid) < 4:  # long past start-up; 390 different lengths take many times that to prove
        assert program.poll() is None, "it ended by itself"
        time.sleep(0.05)
    program.send_signal(signal.SIGINT)
    out, err = program.communicate(timeout=300)
    assert (program.returncode, err) == (0, b"")
    answer = json.loads(out)["answer"]
    assert answer["bound"] < answer["cost"] and not answer["proven"]
    paid = sum(prices[round(stick["stock_in"] * 25.4)] for stick in answer["sticks"])
    assert answer["cost"] == pytest.approx(paid)
    wanted: Counter[int] = Counter()
    for need in needs:
        length, _, number = need.partition("*")
        wanted[int(length)] += int(number)
    cut: Counter[int] = Counter()
    for length_in, times in replay(answer, 3 / 25.4).items():
        cut[round(length_in * 25.4)] += times
    assert cut == wanted
