"""Log lines of money, hours and the punch list in a job file: what they become, and every fault with its line."""

from __future__ import annotations

import pytest

from tests.trade.test_jobfile import GOOD, problems, read
from tracker.trade.jobfile import Doing, LogEntry

LINE = '\n[[log]]\non = 2026-05-12\nwho = "R. Stone"\n'
FIRST = GOOD.count("\n") + 5
"""The line of the file on which what is put behind ``LINE`` begins."""


def entry(more: str) -> LogEntry:
    """The last line of the log when ``more`` is put behind its day and signer."""
    return read(GOOD + LINE + more).log[-1]


def test_hours_keep_their_words_names_and_phase() -> None:
    found = entry('do = "hours"\ntext = "2 x 7h30 frame, rain from noon"\nnames = ["R. Stone", "A. Reed (invented)"]\n')
    assert (found.do, found.reason, found.values) == (
        Doing.HOURS, "2 x 7h30 frame, rain from noon", ("R. Stone", "A. Reed (invented)"),
    )  # fmt: skip
    assert entry('do = "hours"\ntext = "6h"\nphase = "frame"\n').phase == "frame"


def test_a_quote_keeps_options_hire_and_draws() -> None:
    found = entry(
        'do = "quote"\noptions = ["as drawn: price=5000"]\nequipment = ["strip: compactor, 85"]\n'
        'draws = ["deposit=10%", "final=rest"]\n'
    )
    assert found.values == ("as drawn: price=5000",) and found.equipment == ("strip: compactor, 85",)
    assert found.draws == ("deposit=10%", "final=rest")
    assert entry('do = "quote"\n').values == ()


def test_amounts_are_cents_and_only_a_change_may_take_off() -> None:
    assert entry('do = "paid"\namount = "1904.50"\ntext = "check 118"\n').amount_cents == 190_450
    assert entry('do = "paid"\namount = 85\n').amount_cents == 8_500
    assert entry('do = "spend"\namount = 85.5\nphase = "strip"\ntext = "hire"\n').amount_cents == 8_550
    change = entry('do = "extra"\namount = -50\ntext = "no oil"\ncost = "12.00"\nhours = "2 x 1h30"\nphase = "frame"\n')
    assert (change.amount_cents, change.cost_cents, change.minutes, change.phase) == (-5_000, 1_200, 180, "frame")
    assert entry('do = "extra"\ntext = "as the change orders say"\n').amount_cents is None
    assert entry('do = "invoice"\n').amount_cents is None


def test_a_punch_item_is_put_on_or_done() -> None:
    assert entry('do = "punch"\ntext = "top rail rough"\n').count == 0
    done = entry('do = "punch"\ndone = 2\ntext = "sanded"\n')
    assert (done.do, done.count, done.reason) == (Doing.PUNCH, 2, "sanded")


@pytest.mark.parametrize(
    ("more", "line", "expected"),
    [
        ('do = "hors"\n', 0, "log[3].do: 'hors' is not one of the choices (did you mean hours?)"),
        ('do = "hours"\n', -3, 'log[3].text: missing; write text = "what happened"'),
        ('do = "hours"\ntext = "seven"\n', 1, "log[3].text: 'seven' is not understood as hours; write it like 6h"),
        ('do = "hours"\ntext = "2 x 7h30 fram"\n', 1, "log[3].text: this job has no phase 'fram' (did you mean frame?)"),
        ('do = "hours"\ntext = "6h"\nphase = "fram"\n', 2, "log[3].phase: this job has no phase 'fram' (did you mean frame?)"),
        ('do = "hours"\ntext = "6h"\namount = 5\n', 2, "log[3].amount: hours takes no amount"),
        ('do = "hours"\ntext = "6h"\nnames = "R. Stone"\n', 2, "log[3].names: text cannot stand here; write a list of texts"),
        ('do = "paid"\n', -3, 'log[3].amount: missing; write amount = "1904.50"'),
        ('do = "paid"\namount = "1,5"\n', 1, "log[3].amount: '1,5' is not an amount of money"),
        ('do = "paid"\namount = -5\n', 1, "log[3].amount: '-5' is not an amount of money: it is negative"),
        ('do = "paid"\namount = 5\nhow = "check"\n', 2, "log[3].how: paid takes no how"),
        ('do = "spend"\namount = 5\nphase = "stripe"\ntext = "x"\n', 2, "log[3].phase: this job has no phase 'stripe' (did you mean strip?)"),
        ('do = "extra"\ntext = "x"\nhours = "long"\n', 2, "log[3].hours: 'long' is not understood as hours"),
        ('do = "extra"\ntext = "x"\ncost = "-3"\n', 2, "log[3].cost: '-3' is not an amount of money: it is negative"),
        ('do = "accept"\ndraws = ["deposit=10%", "fram=40%"]\n', 1, "log[3].draws[2]: no such draw 'fram' (did you mean frame?)"),
        ('do = "invoice"\ndraws = ["depsit"]\n', 1, "log[3].draws[1]: no such draw 'depsit' (did you mean deposit?)"),
        ('do = "punch"\ntext = "x"\ndone = 0\n', 2, "log[3].done: 0 is out of range; it may be 1 to 100000"),
    ],
)  # fmt: skip
def test_a_fault_is_named_with_its_line_and_near_miss(more: str, line: int, expected: str) -> None:
    (found,) = problems(GOOD + LINE + more)
    assert found.startswith(f"job.toml:{FIRST + line}: {expected}"), found


def test_a_draw_of_a_change_is_known_by_its_number() -> None:
    assert entry('do = "invoice"\ndraws = ["change 1"]\n').draws == ("change 1",)


def test_the_identity_of_a_line_holds_everything_it_says_and_older_lines_keep_theirs() -> None:
    note = entry('do = "note"\ntext = "hose bib leaks"\n')
    assert note.identity == repr(note)
    texts = (
        'do = "paid"\namount = 5\n', 'do = "paid"\namount = 6\n', 'do = "invoice"\n', 'do = "invoice"\ndraws = ["frame"]\n',
        'do = "extra"\namount = 5\ntext = "x"\n', 'do = "extra"\namount = 5\ntext = "x"\ncost = 1\n',
        'do = "extra"\namount = 5\ntext = "x"\nhours = "1h"\n', 'do = "accept"\n', 'do = "accept"\noption = "2"\n',
    )  # fmt: skip
    assert len({entry(text).identity for text in texts}) == len(texts)
