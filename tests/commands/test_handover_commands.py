"""`handover`, `punch`, `verify`, `care` and `calendar` from a shell."""

from __future__ import annotations

import json
import shutil
from itertools import combinations
from pathlib import Path

import icalendar
import pytest

from tests.book.conftest import hand_of
from tests.commands.conftest import Deck, job_text
from tests.handed_over import hand_over, take
from tracker.book.handviews import EntryMark, digest_of_marks
from tracker.book.opening import open_book
from tracker.commands.handover import PARTS
from tracker.reports.asbuilt import Part, Record, record_json


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book with 26-101 handed over on Tuesday 12 May 2026."""
    path = tmp_path_factory.mktemp("handed") / "jobs.book"
    book, owner = open_book(path), hand_of("Rosa (invented)")
    take(book, owner, job_text())
    hand_over(book, owner, without=("care",))
    book.close()
    return path


@pytest.fixture
def handed(deck: Deck, kept: Path) -> Deck:
    """The command line on a copy of that book."""
    shutil.copy(kept, deck.path)
    return deck


def test_the_punch_list_is_added_to_closed_and_shown(deck: Deck) -> None:
    deck.take()
    added = deck("punch", "101", "top", "rail", "rough", "--json")
    assert added.code == 0
    assert set(added.json) == {"id", "already", "text", "notices", "blockers", "answer"}
    assert deck("punch", "101", "sanded", "--done", "1").out == "recorded: 1 on the punch list of 26-101 is done\n"
    shown = deck("punch", "101", "--json").json
    (item,) = shown["punch"]
    assert item | {"id": ""} == {
        "number": 1, "id": "", "day": "2026-05-12", "who": "Rosa (invented)", "text": "top rail rough",
        "done": "2026-05-12", "done_by": "Rosa (invented)", "done_note": "sanded",
    }  # fmt: skip
    assert {"what", "why", "clears"} == set(shown["open"][0])
    assert "top rail rough" in deck("punch", "101").out
    wrong = deck("punch", "101", "--done", "9")
    assert (wrong.code, wrong.out) == (2, "")
    assert deck("punch", "101", "--done", "1").code == 1


def test_every_paper_is_printed_and_has_documented_keys(handed: Deck) -> None:
    whole = handed("handover", "101", "--json").json
    assert set(whole) == {
        "job", "title", "client", "place", "day", "handed_over", "stands_on", "punch", "open", "walkthrough", "record", "care",
        "care_ended", "care_notes", "cautions",
    }  # fmt: skip
    assert set(whole["record"]) == {
        "kind", "version", "job", "title", "day", "parts", "entries", "entries_digest", "digest"
    }  # fmt: skip
    assert set(whole["care"][0]) == {"key", "title", "what", "source", "every_months", "due", "done"}
    assert set(whole["walkthrough"][0]) == {"title", "points"}
    assert "record" not in handed("handover", "101", "--part", "care", "--json").json
    printed = handed("handover", "101").out
    for title in ("PUNCH LIST", "WALK-THROUGH WITH THE CLIENT", "AS-BUILT RECORD", "CARE OF YOUR DECK"):
        assert title in printed
    assert all(len(line) <= 80 for line in printed.splitlines())


def test_a_past_day_is_the_same_whenever_it_is_asked_for(handed: Deck, monkeypatch: pytest.MonkeyPatch) -> None:
    first = handed("handover", "101", "--date", "2026-05-12").out
    monkeypatch.setenv("DECKJOBS_NOW", "2026-07-01T09:00")
    assert handed("punch", "101", "board", "cupped").code == 0
    assert handed("handover", "101", "--date", "2026-05-12").out == first
    assert handed("handover", "101").out != first
    early = handed("handover", "101", "--date", "2026-01-05")
    assert early.code == 2
    assert "was not in the book" in early.err


def test_papers_are_written_once_and_replaced_only_when_told(handed: Deck) -> None:
    html, pdf = handed.home / "record.html", handed.home / "record.pdf"
    args = ("handover", "101", "--part", "asbuilt", "--html", str(html), "--pdf", str(pdf))
    assert handed(*args).code == 0
    before = html.read_bytes(), pdf.read_bytes()
    again = handed(*args)
    assert again.code == 2
    assert "--force" in again.err
    assert handed(*args, "--force", "--json").json == {"files": {"html": str(html), "pdf": str(pdf)}}
    assert (html.read_bytes(), pdf.read_bytes()) == before
    assert handed("handover", "101", "--pdf", str(pdf), "--force", "--paper", "foolscap").code == 2


def test_a_copy_is_verified_in_each_form(handed: Deck) -> None:
    copy, html, pdf = (handed.home / f"record.{ending}" for ending in ("json", "html", "pdf"))
    copy.write_text(handed("handover", "101", "--json").out, "utf-8")
    handed("handover", "101", "--part", "asbuilt", "--html", str(html), "--pdf", str(pdf), "--paper", "a4")
    for path, job in ((copy, ()), (html, ()), (pdf, ("101",))):
        found = handed("verify", str(path), *job, "--json")
        assert (found.code, found.json["unchanged"]) == (0, True), found
        assert set(found.json) == {"file", "form", "job", "day", "unchanged", "found", "differs", "entries_since"}
    assert handed("verify", str(pdf)).code == 2
    for path in (copy, html):
        path.write_text(path.read_text("utf-8").replace("not measured in this test", "measured and good"), "utf-8")
        told = handed("verify", str(path))
        assert told.code == 1
        assert told.out.startswith("not as it was made\n" if path is copy else "not what the book gives now\n")
        assert "CHANGED" in told.out
        assert "book: Waivers: " in told.out


OTHERS = [part for part in PARTS if part != "asbuilt"]
HOLDING = [("asbuilt", *others) for number in range(4) for others in combinations(OTHERS, number)]


@pytest.mark.parametrize("chosen", HOLDING, ids="-".join)
def test_a_record_written_with_any_other_papers_is_the_same_to_the_byte(handed: Deck, chosen: tuple[str, ...]) -> None:
    html, pdf = handed.home / "papers.html", handed.home / "papers.pdf"
    backwards = [word for part in reversed(PARTS) if part in chosen for word in ("--part", part)]
    assert handed("handover", "101", *backwards, "--html", str(html), "--pdf", str(pdf)).code == 0
    for path, job in ((html, ()), (pdf, ("101",))):
        told = handed("verify", str(path), *job)
        assert told.code == 0, told.out
        assert "byte for byte" in told.out


def test_a_forged_copy_with_an_entry_left_out_of_its_list_is_told(handed: Deck) -> None:
    path = handed.home / "record.json"
    copy = json.loads(handed("handover", "101", "--part", "asbuilt", "--json").out)["record"]
    parts = tuple(
        Part(part["title"], tuple(part["columns"]), tuple(
            tuple("measured and good" if text == "not measured in this test" else text for text in row)
            for row in part["rows"]
        )) for part in copy["parts"]
    )  # fmt: skip
    entries = tuple((entry["id"], entry["digest"]) for entry in copy["entries"][:-1])
    digest = digest_of_marks(EntryMark(*entry) for entry in entries)
    forged = record_json(Record(copy["job"], copy["title"], copy["day"], parts, entries, digest))
    path.write_text(json.dumps(forged), "utf-8")
    told = handed("verify", str(path))
    assert told.code == 1
    assert told.out.startswith("not what the book gives now\n")
    assert "1 entry made since, 1 of them of 2026-05-12 or before" in told.out
    assert "copy: Waivers: " in told.out
    assert not handed("verify", str(path), "--json").json["unchanged"]


@pytest.mark.parametrize(
    "data",
    [
        b"%PDF-1.7\n/CreationDate (D:20261399000000Z)",
        b"%PDF-1.7\n/CreationDate (D:99991231000000Z)",
        b"%PDF-1.7\n/CreationDate (D:00010101000000Z)",
        b"%PDF-1.7\n",
        b"<html><![foo bar]></html>",
        b"<html>Record of job 101 as known on 9999-12-31, made of 3 entries.</html>",
        b"<html>Record of job \x00\x1b as known on 2026-05-12, made of 3 entries.</html>",
    ],
)
def test_what_is_no_copy_is_refused_in_plain_words(handed: Deck, data: bytes) -> None:
    path = handed.home / "copy"
    path.write_bytes(data)
    told = handed("verify", str(path), *(("101",) if data.startswith(b"%PDF") else ()))
    assert (told.code, told.out) == (2, "")
    assert told.err.startswith("deckjobs: ")


def test_words_added_to_a_page_are_told_by_the_command(handed: Deck) -> None:
    path = handed.home / "record.html"
    handed("handover", "101", "--part", "asbuilt", "--part", "care", "--html", str(path))
    path.write_bytes(path.read_bytes().replace(b"</body>", b"<p>All checks passed</p></body>"))
    told = handed("verify", str(path))
    assert told.code == 1
    assert "copy, without its spaces: Allcheckspassed" in told.out


def test_a_json_copy_is_verified_where_there_is_no_book(handed: Deck) -> None:
    copy = handed.home / "record.json"
    copy.write_text(handed("handover", "101", "--part", "asbuilt", "--json").out, "utf-8")
    nowhere = ("--book", str(handed.home / "none.book"))
    assert handed("verify", str(copy), *nowhere).out == "unchanged\n  its words give the digest it carries\n"
    copy.write_text(copy.read_text("utf-8").replace("Rosa", "Rosie"), "utf-8")
    assert handed("verify", str(copy), *nowhere).code == 1
    assert not (handed.home / "none.book").exists()


def test_care_is_shown_done_and_ended(handed: Deck) -> None:
    shown = handed("care", "101", "--json").json
    assert set(shown) == {"job", "title", "handed_over", "ended", "care"}
    assert shown["handed_over"] == "2026-05-12"
    assert {found["key"]: found["due"] for found in shown["care"]} == {
        "settle": "2026-06-26", "sweep": "2026-11-12", "wash": "2027-05-12", "look-over": "2027-05-12",
    }  # fmt: skip
    assert "Fri 26 Jun 2026" in handed("care", "101").out
    assert handed("care", "101", "--done", "settle").out == (
        "recorded: 26-101: fasteners and blocks, once it has settled done\n"
    )
    assert handed("care", "101", "--done", "paint").code == 2
    assert handed("care", "101", "--done", "wash", "--end", "sold").code == 2
    assert handed("care", "101", "--end", "the client does it").code == 0
    assert "the client does it" in handed("care", "101").out


def test_care_before_the_hand_over_is_refused_with_what_would_help(deck: Deck) -> None:
    deck.take()
    refused = deck("care", "101")
    assert refused.code == 1
    assert "deckjobs signoff 26-101 hand-over" in refused.err


def test_the_calendar_is_printed_written_and_narrowed(handed: Deck) -> None:
    path = handed.home / "jobs.ics"
    whole = handed("calendar", "101", "--json").json
    assert set(whole) == {"day", "events"}
    assert set(whole["events"][0]) == {
        "uid", "kind", "job", "title", "first_day", "last_day", "every_months", "times", "text", "place"
    }  # fmt: skip
    care = handed("calendar", "101", "--only", "care", "--json").json["events"]
    assert {event["kind"] for event in care} == {"care"}
    assert handed("calendar", "101", "--ics", str(path)).out == f"written: {path}, {len(whole['events'])} events\n"
    first = path.read_bytes()
    assert len(icalendar.Calendar.from_ical(first).walk("VEVENT")) == len(whole["events"])
    assert handed("calendar", "101", "--ics", str(path)).code == 2
    assert handed("calendar", "101", "--ics", str(path), "--force", "--json").json["events"] == len(whole["events"])
    assert path.read_bytes() == first
    assert "every 12 months" in handed("calendar").out
    assert handed("calendar", "999").code == 2
    assert handed("calendar", "--only", "delivery").out == "Nothing is in the calendar from today on.\n"


def test_a_wide_number_of_hostile_names_breaks_no_paper(deck: Deck) -> None:
    deck.take(title="Deck [/foo] \u202e<b>&amp; \x1b]0;x", client="<script>alert(1)</script>")
    html = deck.home / "all.html"
    assert deck("handover", "101", "--html", str(html)).code == 0
    page = html.read_text("utf-8")
    assert "<script>" not in page
    assert "\u202e" not in page
    assert "\x1b" not in page
    record = json.loads(deck("handover", "101", "--part", "asbuilt", "--json").out)["record"]
    assert "\u202e" not in json.dumps(record, ensure_ascii=False)
    assert deck("verify", str(html)).code == 0


def test_an_unchanged_copy_stays_unchanged_after_a_note_of_the_same_day(deck: Deck) -> None:
    handed = deck
    deck.take()
    assert deck("note", "101", "The first note.").code == 0
    paths = {kind: handed.home / f"copy.{kind}" for kind in ("html", "pdf")}
    for kind, path in paths.items():
        assert handed("handover", "101", "--part", "asbuilt", f"--{kind}", str(path)).code == 0
    js = handed.home / "copy.json"
    js.write_text(handed("handover", "101", "--part", "asbuilt", "--json").out, "utf-8")
    for text in ("The client called.", "And again."):
        assert handed("note", "101", text).code == 0
    for path in (*paths.values(), js):
        told = handed("verify", str(path), *(("101",) if path.suffix == ".pdf" else ()))
        assert told.code == 0 and told.out.startswith("unchanged\n"), (path, told.out)
        assert "2 entries made since, 2 of them of" in told.out
    # A copy that was really changed is still found out.
    forged = paths["html"].read_text("utf-8").replace("Plover", "Plower")
    paths["html"].write_text(forged, "utf-8")
    assert handed("verify", str(paths["html"])).code == 1
