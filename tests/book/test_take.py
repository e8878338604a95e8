"""Taking job files: new, unchanged, changed, refused; their log goes through the same gates."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.book.conftest import DAY, hand_of, job_text
from tracker.book.care import doctor
from tracker.book.gates import sign_off
from tracker.book.hand import Hand
from tracker.book.jobs import job_lines, job_view, take_job, unit_of
from tracker.book.lots import lots
from tracker.book.opening import Book
from tracker.book.readings import record
from tracker.book.views import CheckState, PhaseState
from tracker.errors import InputError, InputErrors, RefusedError
from tracker.trade.jobfile import JobFile, parse_job_bytes

Take = Callable[..., str]

LOG = """
[[lot]]
code = "J1"
item = "2x6x14"
supplier = "Yard One (invented)"
ordered = 12
ordered_on = 2026-05-04
promised = 2026-05-07
use = "UC4A"

[[log]]
on = 2026-05-07
who = "Lead Wren"
do = "receive"
lot = "J1"
count = 10
[[log]]
on = 2026-05-07
who = "Lead Wren"
do = "signoff"
phase = "visit"
[[log]]
on = 2026-05-07
who = "Lead Wren"
do = "signoff"
phase = "design"
[[log]]
on = 2026-05-07
who = "Lead Wren"
do = "signoff"
phase = "quote"
[[log]]
on = 2026-05-08
who = "Lead Wren"
do = "check"
check = "layout-square"
values = ["width=11'", "depth=13'", "ac=17' 3/8", "bd=17' 3/8"]
[[log]]
on = 2026-05-08
at = "16:30"
who = "Lead Wren"
do = "signoff"
phase = "layout"
[[log]]
on = 2026-05-11
who = "Owner Plover"
do = "waive"
check = "block-level"
reason = "re-bedded and looked at together"
[[log]]
on = 2026-05-11
who = "Lead Wren"
do = "note"
text = "hose bib leaks"
[[log]]
on = 2026-05-11
who = "Lead Wren"
do = "rain"
reason = "all day"
"""


def parsed(text: str) -> JobFile:
    return parse_job_bytes(text.encode(), "job.toml")


def test_a_log_is_entered_once_with_its_days_and_hands(book: Book, hand: Hand) -> None:
    file = parsed(job_text(more=LOG))
    first = take_job(book, hand, file)
    assert (first.change, first.details[-1]) == ("new", "9 lines of its log entered")
    again = take_job(book, hand, file)
    assert (again.change, again.details) == ("unchanged", ())
    view = job_view(book, "26-101", DAY)
    layout = view.phase("layout")
    assert (layout.state, layout.signed_by, str(layout.signed_off)) == (
        PhaseState.SIGNED_OFF,
        "Lead Wren",
        "2026-05-08",
    )
    assert view.check("block-level").state is CheckState.WAIVED
    assert [(note.who, note.text) for note in view.notes] == [("Lead Wren", "hose bib leaks")]
    (lot,) = lots(book, "26-101", DAY)
    assert (lot.ordered, lot.received, lot.on_order) == (12, 10, 2)
    assert doctor(book.path).problems == ()


def test_a_longer_log_enters_only_the_new_lines(book: Book, hand: Hand) -> None:
    take_job(book, hand, parsed(job_text(more=LOG)))
    more = LOG + '[[log]]\non = 2026-05-12\nwho = "Lead Wren"\ndo = "start"\nphase = "strip"\n'
    result = take_job(book, hand, parsed(job_text(more=more)))
    assert result.change == "changed" and result.details[-1] == "1 line of its log entered"
    assert job_view(book, "26-101", DAY).phase("strip").state is PhaseState.UNDER_WAY


def test_a_log_line_that_a_gate_refuses_refuses_the_whole_file(book: Book, hand: Hand) -> None:
    wrong = LOG + '[[log]]\non = 2026-05-12\nwho = "Lead Wren"\ndo = "start"\nphase = "frame"\n'
    with pytest.raises(InputErrors, match=r"log line 10 \(2026-05-12, start frame\): Frame of 26-101 cannot start"):
        take_job(book, hand, parsed(job_text(more=wrong)))
    assert job_lines(book, DAY) == ()


def test_a_logged_waiver_needs_a_taker_who_may_waive(book: Book, hand: Hand, take: Take) -> None:
    take(code="26-100")
    with pytest.raises(InputErrors, match="Lead Wren may not waive"):
        take_job(book, hand_of("Lead Wren"), parsed(job_text(more=LOG)))


def test_a_dry_run_keeps_nothing(book: Book, hand: Hand) -> None:
    result = take_job(book, hand, parsed(job_text(more=LOG)), dry_run=True)
    assert result.change == "new"
    assert job_lines(book, DAY) == ()
    assert doctor(book.path).entries == 0


def test_a_changed_spec_keeps_the_history(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    record(book, hand, code, "square", ("width=11'", "depth=13'", "ac=17' 3/8", "bd=17' 3/8"))
    changed = job_text().replace("11'", "12'").replace("North", "South")
    result = take_job(book, hand, parsed(changed))
    assert (result.change, result.details) == ("changed", ("crew: North is now South", "changed parts: platform"))
    view = job_view(book, code, DAY)
    assert len(view.check("square").readings) == 1
    assert view.spec.platforms[0].width_nm == 12 * 12 * 25_400_000


def test_a_phase_that_leaves_the_spec_is_dropped_and_comes_back_with_its_history(book: Book, hand: Hand) -> None:
    take_job(book, hand, parsed(job_text(permit=True)))
    record(book, hand, "26-101", "permit", ("number=B-1", "issued=2026-05-01"))
    sign_off(book, hand, "26-101", "visit")
    sign_off(book, hand, "26-101", "permit")
    result = take_job(book, hand, parsed(job_text()))
    assert "phase permit is no longer part of it" in result.details
    assert all(phase.key != "permit" for phase in job_view(book, "26-101", DAY).phases)
    take_job(book, hand, parsed(job_text(permit=True)))
    assert job_view(book, "26-101", DAY).phase("permit").state is PhaseState.SIGNED_OFF


def test_two_platforms_have_checks_of_their_own(book: Book, hand: Hand) -> None:
    upper = job_text().partition("[[platform]]")[2].replace('"deck"', '"upper"').replace('"blocks"', '"platform"')
    take_job(book, hand, parsed(job_text() + "[[platform]]" + upper.replace('"12 in"', '"20 in"')))
    keys = [check.key for phase in job_view(book, "26-101", DAY).phases for check in phase.checks]
    assert {"square.deck", "square.upper"} <= set(keys) and "square" not in keys
    with pytest.raises(InputError, match="done for each platform") as refused:
        record(book, hand, "26-101", "square", ("1",))
    assert refused.value.hint == "name square.deck or square.upper"


def test_a_lot_that_is_not_on_the_take_off_is_said(book: Book, hand: Hand) -> None:
    result = take_job(book, hand, parsed(job_text(more=LOG.replace("2x6x14", "2x6x41"))))
    assert any("lot J1: 2x6x41 is not on the take-off" in line for line in result.warnings)


@pytest.mark.parametrize("typed", ["26-101", "101", "plover", " 26-101 "])
def test_a_job_is_found_by_code_tail_or_title(book: Book, take: Take, typed: str) -> None:
    take()
    take(code="26-102", title="Heron Close stairs")
    assert job_view(book, typed, DAY).line.code == "26-101"


def test_a_job_that_could_be_two_or_none_is_asked_about(book: Book, take: Take) -> None:
    with pytest.raises(InputError, match="the book has no jobs yet"):
        unit_of(book, "26-101")
    take()
    take(code="26-102", title="Plover Lane gate")
    with pytest.raises(InputError, match=r"could be 26-101 .* or 26-102"):
        unit_of(book, "plover")
    with pytest.raises(InputError, match=r"no job '26-111' \(did you mean 26-1"):
        unit_of(book, "26-111")


def test_house_rules_reach_a_job_and_its_own_rules_win(book: Book, hand: Hand, take: Take) -> None:
    from tracker.book.houserules import house_rules, phase_changes, set_house_rules, take_rules_file
    from tracker.trade.lengths import INCH

    code = take()
    set_house_rules(book, hand, {"square_medium": "1/8"})
    limit = record(book, hand, code, "square", ("width=11'", "depth=13'", "ac=17' 1/2", "bd=17' 1/4")).answer
    assert limit is not None and limit.verdict == "failed"
    assert "instead of 1/4 in" in limit.limits[0].published
    take(code="26-102", more='[rules]\nsquare_medium = "3/8"\n')
    own = record(book, hand, "26-102", "square", ("width=11'", "depth=13'", "ac=17' 1/2", "bd=17' 1/4")).answer
    assert own is not None and own.verdict == "passed"
    set_house_rules(book, hand, {"square_medium": ""})
    assert house_rules(book).own == {}
    take_rules_file(book, hand, b'[rules]\nlevel = "3/16 in"\n[phases.site-close]\nskip = true\n', "house.toml")
    assert house_rules(book).own == {"level": 3 * INCH // 16}
    assert phase_changes(book)["site-close"].skip
    take(code="26-103")
    assert all(phase.key != "site-close" for phase in job_view(book, "26-103", DAY).phases)
    with pytest.raises(InputErrors, match=r"no such rule \(did you mean square_medium\?\)"):
        set_house_rules(book, hand, {"square_medum": "1/8"})
    with pytest.raises(InputErrors, match=r"house.toml:2: rules.levle"):
        take_rules_file(book, hand, b'[rules]\nlevle = "3/16 in"\n', "house.toml")
    with pytest.raises(RefusedError, match="may not change the house rules"):
        set_house_rules(book, hand_of("Lead Wren"), {"level": "1"})
