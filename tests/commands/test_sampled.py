"""A big deck read by a sample: every surface says how many joists were read and how many judged by eye, and by whom."""

from __future__ import annotations

import pytest

from tests.commands.conftest import Deck, Result, job_text
from tests.reports.paper.reading import read_pdf

# 40 ft wide with joists at 16 in on center: 31 joists (480 - 1-1/2 = 478-1/2 in; 29 whole bays of 16 in and a short one).
# One in every four side by side and the worst: common practice.
READ = ("4=1/16", "8,16-20=1/8", "12=3/16", "24=1/16", "28=1/8")
SAMPLE = (*READ, "worst=12", "rest=good")
TOLD = "10 of 31 joists read, 21 judged by eye by M. Holt"


@pytest.fixture
def big(deck: Deck) -> Deck:
    """A book with one deck 40 ft wide, M. Holt at the keys."""
    path = deck.home / "big.toml"
    path.write_text(job_text().replace('"11\'", "13\'"', '"40\'", "12\'"'), "utf-8")
    assert deck("take", str(path)).code == 0
    return deck


def holt(deck: Deck, *values: str, more: tuple[str, ...] = ()) -> Result:
    """Readings of the crowns by M. Holt."""
    return deck("check", "101", "crown", *values, *more, "--as", "M. Holt")


def test_every_surface_says_how_many_were_read_and_how_many_judged_by_eye_by_whom(big: Deck) -> None:
    passed = holt(big, *SAMPLE, more=("--why",))
    assert passed.code == 0, passed.out
    words = " ".join(passed.out.split())
    assert words.startswith("PASS crown:") and TOLD in words and "the worst by eye: joist 12" in words
    assert TOLD in " ".join(big("show", "101").out.split())
    assert TOLD in " ".join(big("check", "101").out.split())
    told = big("check", "101", "crown", "--json").json["check"]
    assert told["form"]["sample"] == 4 and TOLD in told["headline"]
    assert {"read": 10, "by_eye": 21, "by_eye_who": "M. Holt", "worst_by_eye": "12"}.items() <= (
        told["answer"]["answer"].items()
    )
    assert told["readings"][0]["entered"]["8,16-20"] == "1/8"
    pdf = big.home / "packet.pdf"
    assert big("packet", "101", "--pdf", str(pdf)).code == 0
    assert TOLD in " ".join(" ".join(page.text for page in read_pdf(pdf.read_bytes())).split())
    record = big("handover", "101", "--part", "asbuilt", "--json").json["record"]
    assert any(TOLD in cell and "M. Holt" in row for part in record["parts"] for row in part["rows"] for cell in row)
    assert TOLD in " ".join(big("history", "101", "crown").out.split())


def test_a_sample_too_small_leaves_the_check_open(big: Deck) -> None:
    short = holt(big, "4=1/8", "8=1/8", "12=1/8", "worst=12", "rest=good")
    assert short.code == 1
    assert "joist 16, 20, 24 and 28 (one joist in every 4 side by side is read at least)" in " ".join(short.out.split())
    assert big("check", "101", "crown", "--json").json["check"]["state"] == "open"


def test_after_a_fault_in_a_sample_nothing_is_left_to_the_eye_until_the_check_passed(big: Deck) -> None:
    down = holt(big, *(value.replace("12=3/16", "12=-3/16") for value in SAMPLE))
    assert down.code == 1 and "then read every joist" in down.out
    again = holt(big, *SAMPLE)
    assert again.code == 1 and "a sample failed before: every joist is read" in " ".join(again.out.split())
    assert holt(big, "1-11=1/8", "12=3/16", "13-31=1/8").code == 0
    assert holt(big, *SAMPLE).code == 0


def test_a_typing_slip_in_a_sample_is_corrected_without_reading_every_joist(big: Deck) -> None:
    slip = holt(big, *(value.replace("12=3/16", "12=-3/16") for value in SAMPLE), more=("--json",))
    assert slip.code == 1
    mended = big("check", "101", "crown", *SAMPLE, "--corrects", slip.json["id"], "--as", "M. Holt")
    assert mended.code == 0 and TOLD in " ".join(mended.out.split())


def test_the_form_says_how_a_sample_is_given(big: Deck) -> None:
    asked = " ".join(big("check", "101", "crown").out.split())
    assert "one joist at least in every 4 side by side" in asked and "worst=NUMBER rest=good" in asked
    assert "several alike in one: 1-31=VALUE" in asked


def test_the_packet_leaves_room_for_a_sample_where_there_are_many(big: Deck) -> None:
    pdf = big.home / "blank.pdf"
    assert big("packet", "101", "--pdf", str(pdf)).code == 0
    text = " ".join(" ".join(page.text for page in read_pdf(pdf.read_bytes())).split())
    assert "The rest, by eye" in text and "The worst joist" in text and "joists ___ to ___" in text
    assert "one is read at least, and the worst" in text


def test_a_house_that_reads_every_joist_takes_no_judgment_by_eye(big: Deck) -> None:
    assert big("rules", "--set", "sample_every=1").code == 0
    refused = holt(big, *SAMPLE)
    assert refused.code == 2 and "rest" in refused.err


def test_steps_between_joists_that_were_not_read_side_by_side_are_no_figure(big: Deck) -> None:
    apart = holt(big, "4,8,12,16,20,24,28=1/8", "worst=12", "rest=good", more=("--json",))
    assert apart.json["answer"]["answer"]["neighbours_in"] is None
    assert any("judged by eye" in line and "side by side" in line for line in apart.json["answer"]["working"])
