"""Days off, people, rules, and the care of the book."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.commands.conftest import Deck


def test_a_day_off_moves_the_plan(deck: Deck) -> None:
    deck.take()
    before = deck("jobs", "--json").json["jobs"][0]["planned_end"]
    for day in ("2026-05-13", "2026-05-14"):
        assert deck("off", day, "--reason", "town fair").code == 0
    after = deck("jobs", "--json").json["jobs"][0]["planned_end"]
    assert after > before
    for day in ("2026-05-13", "2026-05-14"):
        assert deck("off", day, "--works").code == 0
    assert deck("jobs", "--json").json["jobs"][0]["planned_end"] == before


def test_a_rain_day_at_one_job(deck: Deck) -> None:
    deck.take()
    result = deck("off", "tomorrow", "--rain", "--job", "101")
    assert result.code == 0 and "rain day" in result.out
    assert deck("off", "tomorrow", "--rain", "--job", "999").code == 2
    refused = deck("off", "tomorrow", "--rain", "--works")
    assert refused.code == 1 and "no rain day to take back" in refused.err
    back = deck("off", "tomorrow", "--rain", "--works", "--job", "101")
    assert back.code == 0 and "a working day again" in back.out


def test_days_off_are_taken_as_a_list_and_listed(deck: Deck) -> None:
    """Thursday 24 December 2026 to Friday 1 January 2027: seven days less a weekend of two, that is seven working days."""
    deck.take()
    assert "No day off" in deck("off").out
    shut = deck("off", "2026-12-24", "2027-01-01", "--reason", "shop closed")
    assert shut.code == 0
    assert "7 days off, Thu 24 Dec 2026 to Fri 1 Jan 2027" in shut.out and "2 days left out" in shut.out
    assert deck("off", "2026-12-24", "2027-01-01").code == 1
    assert deck("off", "2027-01-01", "2026-12-24").code == 2
    listed = deck("off")
    assert "7 days off" in listed.out and "Fri 1 Jan 2027" in listed.out and "Thu 24 Dec  " in listed.out
    days = deck("off", "--json").json["days"]
    assert days[0] == {
        "date": "2026-12-24",
        "rain": False,
        "job": "",
        "reason": "shop closed",
        "who": "Rosa (invented)",
    }
    back = deck("off", "2026-12-28", "2026-12-30", "--works")
    assert back.code == 0 and "3 working days again" in back.out
    left = [day["date"][5:] for day in deck("off", "--json").json["days"]]
    assert left == ["12-24", "12-25", "12-31", "01-01"]


def test_public_holidays_are_taken_for_a_place_and_a_year(deck: Deck) -> None:
    """The eleven of 5 U.S.C. 6103 in 2027, the two on a weekend on the weekday they are kept; New Year 2028 is a Saturday
    and is kept on Friday 31 December 2027.
    """
    deck.take()
    assert deck("off", "--holidays", "US", "--year", "2027").code == 0
    found = {day["date"]: day["reason"] for day in deck("off", "--json").json["days"]}
    assert list(found) == [
        "2027-01-01", "2027-01-18", "2027-02-15", "2027-05-31", "2027-06-18", "2027-07-05", "2027-09-06", "2027-10-11",
        "2027-11-11", "2027-11-25", "2027-12-24", "2027-12-31",
    ]  # fmt: skip
    assert "Memorial Day" in found["2027-05-31"] and "observed" in found["2027-07-05"]
    assert deck("off", "2027-10-11", "--works").code == 0
    assert "2027-10-11" not in {day["date"] for day in deck("off", "--json").json["days"]}
    assert "no part 'ZZ'" in deck("off", "--holidays", "US-ZZ").err
    assert deck("off", "--holidays", "Ohio").code == deck("off", "--year", "2027").code == 2
    assert deck("off", "2027-01-01", "--holidays", "US").code == 2


def test_days_off_come_from_a_file_of_lines_or_a_calendar(deck: Deck, tmp_path: Path) -> None:
    deck.take()
    lines = tmp_path / "days.txt"
    lines.write_text(
        "# our year\n2026-05-25 Memorial Day\n2026-07-02..2026-07-03 long weekend\n2026-08-17 to 2026-08-18\n"
    )
    assert deck("off", "--from", str(lines)).code == 0
    found = {day["date"]: day["reason"] for day in deck("off", "--json").json["days"]}
    assert found == {
        "2026-05-25": "Memorial Day", "2026-07-02": "long weekend", "2026-07-03": "long weekend",
        "2026-08-17": "day off", "2026-08-18": "day off",
    }  # fmt: skip
    lines.write_text("2026-05-25 fine\n25/5/2026 not\n2026-07-02 to then\n")
    wrong = deck("off", "--from", str(lines))
    assert wrong.code == 2 and "line 2" in wrong.err and "line 3" in wrong.err and "line 1:" not in wrong.err
    ics = tmp_path / "school.ics"
    ics.write_bytes(CALENDAR)
    assert deck("off", "--from", str(ics)).code == 0
    found = {day["date"]: day["reason"] for day in deck("off", "--json").json["days"] if day["date"] > "2026-09"}
    assert found == {
        "2026-10-12": "Fair week", "2026-10-13": "Fair week", "2026-12-24": "Eve", "2027-12-24": "Eve",
        "2026-11-03": "Vote", "2028-12-22": "Once",
    }  # fmt: skip
    ics.write_bytes(b"BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n")
    assert deck("off", "--from", str(ics)).code == 2


CALENDAR = b"""BEGIN:VCALENDAR\r
VERSION:2.0\r
PRODID:-//invented//EN\r
BEGIN:VEVENT\r
UID:1\r
SUMMARY:Fair week\r
DTSTART;VALUE=DATE:20261010\r
DTEND;VALUE=DATE:20261014\r
END:VEVENT\r
BEGIN:VEVENT\r
UID:2\r
SUMMARY:Eve\r
DTSTART;VALUE=DATE:20201224\r
RRULE:FREQ=YEARLY\r
END:VEVENT\r
BEGIN:VEVENT\r
UID:3\r
SUMMARY:Called off\r
STATUS:CANCELLED\r
DTSTART;VALUE=DATE:20261020\r
END:VEVENT\r
BEGIN:VEVENT\r
UID:4\r
SUMMARY:Vote\r
DTSTART:20261103T080000\r
DTEND:20261103T180000\r
END:VEVENT\r
BEGIN:VEVENT\r
UID:5\r
SUMMARY:Once\r
DTSTART;VALUE=DATE:20281222\r
DURATION:P1D\r
END:VEVENT\r
END:VCALENDAR\r
"""
"""An invented calendar: three days and a weekend, a yearly day (in 2028 a Sunday), one called off, hours, a duration."""


def test_people_are_listed_and_allowed(deck: Deck) -> None:
    deck.take()
    assert deck("people", "--json").json["people"][0]["name"] == "Rosa (invented)"
    assert deck("people", "--allow", "Ana (invented)", "--role", "crew lead").code == 0
    found = {p["name"]: p for p in deck("people", "--json").json["people"]}
    assert found["Ana (invented)"]["may_waive"] and found["Ana (invented)"]["role"] == "crew lead"
    assert deck("people", "--disallow", "Ana (invented)").code == 0
    assert "Ana (invented)" in deck("people").out
    assert deck("people", "--allow", "A", "--disallow", "B").code == 2
    assert deck("people", "--allow", " ").code == 2


def test_rules_are_listed_with_sources_before_there_is_a_book(deck: Deck) -> None:
    text = deck("rules").out
    assert "square_medium" in text and "common practice" in text
    assert not deck.path.exists()


def test_a_house_rule_keeps_the_default_in_sight_and_can_be_put_back(deck: Deck) -> None:
    assert deck("rules", "--set", "level=3/16").code == 0
    rule = deck("rules", "--json").json["rules"]["level"]
    # 3/16 in = 4.7625 mm
    assert rule["figure"] == {"text": '3/16"', "mm": 4.7625} and rule["source"] == "house rule"
    text = " ".join(deck("rules").out.split())
    assert "level 3/16 in highest minus lowest" in text and "(house rule; instead of 1/4 in (common" in text
    assert deck("rules", "--set", "level=").code == 0
    assert deck("rules", "--json").json["rules"]["level"]["figure"]["text"] == '1/4"'
    metric = deck("rules", "--metric", "--set", "level=5", "--json").json["rules"]["level"]["figure"]
    assert metric == {"text": "5 mm", "mm": 5.0}


@pytest.mark.parametrize("pair", ["level", "levl=1/4", "level=-1/4", "level=1/3", "crew_size=two"])
def test_a_wrong_rule_changes_nothing(deck: Deck, pair: str) -> None:
    deck.take()
    before = deck("rules", "--json").json
    result = deck("rules", "--set", "square_small=1/16", "--set", pair)
    assert result.code == 2 and result.err.startswith("deckjobs: ")
    assert deck("rules", "--json").json == before


def test_a_rules_file_is_taken_in(deck: Deck) -> None:
    path = deck.home / "house.toml"
    path.write_text('[rules]\nlevel = "1/8"\n', "utf-8")
    assert deck("rules", str(path)).code == 0
    assert deck("rules", "--json").json["rules"]["level"]["figure"]["text"] == '1/8"'
    path.write_text('[rules]\nlevl = "1/8"\n', "utf-8")
    assert deck("rules", str(path)).code == 2


def test_backup_and_restore(deck: Deck) -> None:
    deck.take()
    copy = deck.home / "copy.book"
    assert deck("backup", str(copy)).code == 0
    again = deck("backup", str(copy))
    assert again.code in (2, 3) and str(copy) in again.err
    assert deck("note", "101", "after the copy").code == 0
    asked = deck("restore", str(copy))
    assert asked.code == 2 and "--yes" in asked.err
    assert "after the copy" in deck("show", "101").out
    result = deck("restore", str(copy), "--yes", "--json")
    assert result.code == 0
    assert "after the copy" not in deck("show", "101").out
    assert Path(result.json["kept"]).is_file()


def test_doctor_finds_a_changed_entry_that_sqlite_does_not(deck: Deck) -> None:
    deck.take()
    assert deck("note", "101", "rim is 42 in from the wall").code == 0
    assert "sound" in deck("doctor").out
    data = deck.path.read_bytes()
    assert b"rim is 42 in" in data
    deck.path.write_bytes(data.replace(b"rim is 42 in", b"rim is 12 in"))
    result = deck("doctor")
    assert result.code == 3 and "DAMAGE" in result.out


def test_a_book_that_is_none_is_refused_untouched(deck: Deck) -> None:
    deck.path.write_text("my shopping list", "utf-8")
    for words in (["jobs"], ["take", deck.file()], ["doctor"], ["report"]):
        result = deck(*words)
        assert result.code == 3 and result.err.startswith("deckjobs: ")
    assert deck.path.read_text("utf-8") == "my shopping list"


def test_setting_a_rule_answers_with_one_line(deck: Deck) -> None:
    told = deck("rules", "--set", "square_medium=3/8")
    assert told.code == 0 and len(told.out.strip().splitlines()) == 1
    assert told.out.startswith("square_medium is 3/8 in now: between the diagonals")
    assert "instead of 1/4 in (common practice)" in told.out
    back = deck("rules", "--set", "square_medium=")
    assert back.out.startswith("square_medium is 1/4 in now") and len(back.out.strip().splitlines()) == 1
    assert deck("rules", "--hours", "frame=0.42").out == "hours of frame: 0.42, house rule\n"


def test_a_number_meant_in_the_other_unit_is_refused_with_both_readings(deck: Deck) -> None:
    # 50 in is 200 times the usual 1/4 in; 50 mm is 1-31/32 in.
    told = deck("rules", "--set", "square_medium=50")
    assert told.code == 2
    assert "4' 2\"" in told.err or "50 in" in told.err
    assert "50 mm" in told.err and "50in or 50mm" in told.err
    assert deck("rules", "--json").json["rules"]["square_medium"]["source"] == "common practice"
    assert deck("rules", "--metric", "--set", "level=1/4").code == 2
    # Who writes the unit insists.
    assert deck("rules", "--set", "square_medium=50mm").code == 0
    assert deck("rules", "--json").json["rules"]["square_medium"]["figure"]["mm"] == 50.0
    assert deck("rules", "--metric", "--set", "level=0.5").code == 2
    assert deck("rules", "--metric", "--set", "level=5").code == 0


def test_temperatures_are_typed_and_told_in_either_scale(deck: Deck) -> None:
    # 10 °C is 50 °F, 7 °C is 44.6 °F, 3 °C of difference is 5.4 °F (exact by definition).
    assert deck("rules", "--metric", "--set", "finish_coldest=7", "--set", "dew_margin=4").code == 0
    rules = deck("rules", "--json").json["rules"]
    assert (rules["finish_coldest"]["figure"], rules["dew_margin"]["figure"]) == (45, 7)
    text = " ".join(deck("rules", "--metric").out.split())
    assert "finish_coldest 7 °C" in text and "dew_margin 4 °C" in text and "finish_hottest 32 °C" in text
    assert deck("rules", "--set", "finish_coldest=10 C").out.startswith("finish_coldest is 50 °F now")
    assert deck("rules", "--set", "finish_coldest=fifty").code == 2


def test_a_refusal_to_take_a_day_back_says_how_the_rain_day_or_the_day_of_one_job_that_is_there_is(deck: Deck) -> None:
    deck.take()
    assert deck("off", "2026-05-13", "2026-05-14", "--rain").code == 0
    refused = deck("off", "2026-05-13", "2026-05-14", "--works")
    assert refused.code == 1 and "no day off to take back" in refused.err
    assert "2 rain days" in refused.err and "deckjobs off 2026-05-13 2026-05-14 --works --rain" in refused.err
    assert deck("off", "2026-05-13", "2026-05-14", "--works", "--rain").code == 0
    assert deck("off", "2026-05-13", "--job", "101").code == 0
    refused = deck("off", "2026-05-13", "--works", "--rain")
    assert refused.code == 1 and "a day off of 26-101" in refused.err
    assert "deckjobs off 2026-05-13 --works --job 26-101" in refused.err
    assert deck("off", "2026-05-13", "--works", "--job", "26-101").code == 0
    assert "lists those there are" in deck("off", "2026-05-13", "--works").err
