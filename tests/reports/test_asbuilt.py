"""The as-built record: what stands in it, and that any change of a copy is told."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.book.conftest import hand_of
from tests.handed_over import LOT, hand_over, measured, oiled, take
from tests.often import examples
from tracker.book.handover import handover, marks_of
from tracker.book.handviews import EntryMark, HandoverView, digest_of_marks
from tracker.book.opening import Book, open_book
from tracker.book.punch import add_punch
from tracker.book.readings import record as record_reading
from tracker.book.readings import take_back
from tracker.errors import InputError
from tracker.reports.asbuilt import Part as RecordPart
from tracker.reports.asbuilt import Record, grouped, record_json, record_of
from tracker.reports.handover import Part, document
from tracker.reports.paper.html import to_html
from tracker.reports.paper.model import Paper
from tracker.reports.paper.pdf import to_pdf
from tracker.reports.verifying import Form, own_digest, read_copy, verify

JUNE = date(2026, 6, 5)
LATER = timedelta(days=1)


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book with 26-101 handed over on Friday 5 June 2026."""
    path = tmp_path_factory.mktemp("record") / "jobs.book"
    book = open_book(path)
    take(book, hand_of("Owner Plover", JUNE - LATER), oiled(more=LOT))
    measured(book, hand_of("R. Stone", JUNE - LATER))
    add_punch(book, hand_of("R. Stone", JUNE - LATER), "101", "top rail rough, שלום 木材")
    hand_over(book, hand_of("Owner Plover", JUNE), without=("care",))
    book.close()
    return path


@pytest.fixture(scope="module")
def view(kept: Path) -> HandoverView:
    """The hand-over of that day."""
    book = open_book(kept)
    try:
        return handover(book, "101", JUNE)
    finally:
        book.close()


@pytest.fixture(scope="module")
def record(view: HandoverView) -> Record:
    """Its record."""
    return record_of(view)


@pytest.fixture
def book(kept: Path, tmp_path: Path) -> Iterator[Book]:
    """A copy of the book."""
    path = tmp_path / "jobs.book"
    shutil.copyfile(kept, path)
    opened = open_book(path)
    yield opened
    opened.close()


def rows(record: Record, title: str) -> list[tuple[str, ...]]:
    return [row for part in record.parts if part.title == title for row in part.rows]


# -- what stands in it


def test_every_reading_stands_as_typed_with_its_verdict_who_and_when(record: Record) -> None:
    squares = [row for row in rows(record, "Checks") if row[0] == "Layout square"]
    assert [row[1:5] for row in squares] == [
        ("2026-06-04", "09:00", "R. Stone", "width=11', depth=13', ac=17' 1, bd=17'"),
        ("2026-06-04", "09:00", "R. Stone", "width=11', depth=13', ac=17' 3/8, bd=17' 3/8"),
    ]
    assert squares[0][5].startswith("failed: ")
    assert squares[1][5].startswith("passed: ")


def test_what_failed_and_was_put_right_is_said_with_both_days(record: Record) -> None:
    ((check, failed, _, good),) = rows(record, "Failed and put right")
    assert (check, failed, good) == ("Layout square", "2026-06-04", "2026-06-04, R. Stone")


def test_waivers_hold_points_and_lots_stand_with_reason_person_treatment_and_supplier(record: Record) -> None:
    waivers = rows(record, "Waivers")
    assert ("Frame square", "2026-06-05", "Owner Plover", "not measured in this test") in waivers
    assert ("the wait of Finish", "2026-06-05", "Owner Plover", "not waited for in this test") in waivers
    held = {row[0]: row for row in rows(record, "Phases and hold points") if row[1]}
    assert held["Layout"] == ("Layout", "2", "signed off", "2026-06-05", "2026-06-05", "Owner Plover")
    assert rows(record, "Lots") == [("P1", "2x6x12", "UC4A", "Yard Plover (invented)", "12", "12", "2", "0", "10")]


def test_corrected_and_taken_back_readings_stay_and_say_so(book: Book) -> None:
    who = hand_of("R. Stone", JUNE)
    first = record_reading(book, who, "101", "square", ["width=11'", "depth=13'", "ac=17' 1", "bd=17'"])
    record_reading(
        book, who, "101", "square", ["width=11'", "depth=13'", "ac=17' 3/8", "bd=17' 3/8"], corrects=first.id
    )
    found = [row[5] for row in rows(record_of(handover(book, "101", JUNE)), "Checks") if row[0] == "Frame square"]
    assert found[0].endswith("[corrected 2026-06-05 by R. Stone]")
    assert found[1].endswith("[in place of an earlier reading]")
    take_back(book, who, "101", "square", "tape hooked on a nail")
    record = record_of(handover(book, "101", JUNE))
    found = [row[5] for row in rows(record, "Checks") if row[0] == "Frame square"]
    assert "[taken back: " in found[1]
    assert "tape hooked on a nail" in found[1]
    assert "[corrected" not in found[0]  # it is in force again
    assert not any(row[0] == "Frame square" for row in rows(record, "Failed and put right"))


# -- digests


def test_the_digest_of_the_entries_is_sha_256_over_id_and_digest_of_each(view: HandoverView) -> None:
    text = "".join(f"{mark.id} {mark.digest}\n" for mark in view.entries)
    assert view.entries_digest == hashlib.sha256(text.encode()).hexdigest()
    assert len(view.entries) > 40


def test_the_same_day_gives_the_same_digest_and_another_entry_another(book: Book, record: Record) -> None:
    assert record_of(handover(book, "101", JUNE)).digest == record.digest
    add_punch(book, hand_of("R. Stone", JUNE), "101", "one more")
    assert record_of(handover(book, "101", JUNE)).digest != record.digest


Path_ = tuple[Any, ...]


def texts(value: Any, at: Path_ = ()) -> Iterator[Path_]:
    """The way to every text in JSON, the digest itself left out."""
    if isinstance(value, str):
        yield at
    elif isinstance(value, list):
        for number, one in enumerate(value):
            yield from texts(one, (*at, number))
    elif isinstance(value, dict):
        for key, one in value.items():
            if (*at, key) not in {("digest",), ("kind",)}:
                yield from texts(one, (*at, key))


@given(st.data())
def test_any_changed_text_of_a_json_copy_is_told_without_the_book(record: Record, data: st.DataObject) -> None:
    copy = json.loads(json.dumps(record_json(record)))
    way = data.draw(st.sampled_from(list(texts(copy))))
    holder = copy
    for step in way[:-1]:
        holder = holder[step]
    before = holder[way[-1]]
    at = data.draw(st.integers(0, len(before)))
    char = data.draw(st.characters(exclude_categories=["Cs"]))
    holder[way[-1]] = data.draw(
        st.sampled_from([before[:at] + char + before[at:], before[: max(at - 1, 0)] + before[at:]])
    )
    if holder[way[-1]] == before:
        return
    try:
        found = own_digest(read_copy(json.dumps(copy).encode()))
    except InputError:
        return  # not even a record any more
    assert not found.good


@given(st.data())
def test_a_row_left_out_doubled_or_moved_is_told(record: Record, data: st.DataObject) -> None:
    copy = json.loads(json.dumps(record_json(record)))
    part = data.draw(st.sampled_from([p for p in copy["parts"] if len(p["rows"]) > 1]))
    at = data.draw(st.integers(0, len(part["rows"]) - 2))
    change = data.draw(st.sampled_from(["left out", "doubled", "moved"]))
    before = json.dumps(part)
    if change == "left out":
        del part["rows"][at]
    elif change == "doubled":
        part["rows"].insert(at, part["rows"][at])
    else:
        part["rows"][at], part["rows"][at + 1] = part["rows"][at + 1], part["rows"][at]
    if json.dumps(part) != before:
        assert not own_digest(read_copy(json.dumps(copy).encode())).good


# -- against the book


def changed(record: Record, then: Callable[[str], str]) -> bytes:
    """A JSON copy with every text of its rows changed, and a new digest put on it by whoever did that."""
    parts = tuple(
        replace(part, rows=tuple(tuple(then(text) for text in row) for row in part.rows)) for part in record.parts
    )
    return json.dumps(record_json(replace(record, parts=parts))).encode()


def test_an_untouched_copy_is_that_of_the_book(book: Book, record: Record) -> None:
    found = verify(read_copy(json.dumps(record_json(record)).encode()), record, marks_of(book, "101"))
    assert found.good
    assert found.differs == ()
    assert found.lines == (
        "its words give the digest it carries", "its lines are those of the book", "no entry was made since",
    )  # fmt: skip


def test_a_forged_copy_with_a_new_digest_is_told_by_the_book_with_the_line(book: Book, record: Record) -> None:
    copy = read_copy(changed(record, lambda text: text.replace("ac=17' 1,", "ac=17' 3/8,")))
    assert own_digest(copy).good
    found = verify(copy, record, marks_of(book, "101"))
    assert not found.good
    assert [line for line in found.differs if line.startswith("copy")] == [
        line.replace("book", "copy", 1).replace("ac=17' 1,", "ac=17' 3/8,")
        for line in found.differs if line.startswith("book")
    ]  # fmt: skip


def test_entries_made_since_are_counted_and_excuse_no_line_that_differs(book: Book, record: Record) -> None:
    copy = read_copy(json.dumps(record_json(record)).encode())
    add_punch(book, hand_of("R. Stone", JUNE + LATER), "101", "board cupped")
    found = verify(copy, record_of(handover(book, "101", JUNE)), marks_of(book, "101"))
    assert found.good
    assert found.lines[-1] == "1 entry made since"
    add_punch(book, hand_of("R. Stone", JUNE), "101", "found the same evening")
    found = verify(copy, record_of(handover(book, "101", JUNE)), marks_of(book, "101"))
    assert (found.good, found.word) == (False, "not what the book gives now")
    assert "2 entries made since, 1 of them of 2026-06-05 or before" in found.lines
    assert found.lines[-1].startswith("those of 2026-06-05 or before may be why it differs, or it was changed")
    assert any("found the same evening" in line for line in found.differs)


def renewed(copy: dict[str, Any]) -> bytes:
    """A changed JSON copy with every digest in it made anew by whoever changed it."""
    entries = tuple((entry["id"], entry["digest"]) for entry in copy["entries"])
    parts = tuple(
        RecordPart(part["title"], tuple(part["columns"]), tuple(tuple(row) for row in part["rows"]))
        for part in copy["parts"]
    )
    digest = digest_of_marks(EntryMark(*entry) for entry in entries)
    forged = record_json(Record(copy["job"], copy["title"], copy["day"], parts, entries, digest))
    return json.dumps(forged).encode()


def test_an_entry_left_out_of_a_forged_copy_excuses_no_line(record: Record, view: HandoverView) -> None:
    for left_out in range(len(record.entries)):
        copy = json.loads(json.dumps(record_json(record)))
        del copy["entries"][left_out]
        (row,) = (row for part in copy["parts"] for row in part["rows"] if "ac=17' 1," in "".join(row))
        row[5] = "passed: forged"
        forged = read_copy(renewed(copy))
        assert own_digest(forged).good
        found = verify(forged, record, view.entries)
        assert not found.good
        assert [line for line in found.differs if "passed: forged" in line]
        assert "1 entry made since, 1 of them of 2026-06-05 or before" in found.lines


def forge_column(copy: dict[str, Any]) -> None:
    part = next(part for part in copy["parts"] if part["title"] == "Lots")
    part["columns"][7] = "sent back good"


def forge_part(copy: dict[str, Any]) -> None:
    copy["parts"].append({"title": "All checks passed", "columns": ["what"], "rows": []})


def forge_cell(copy: dict[str, Any]) -> None:
    row = next(row for part in copy["parts"] for row in part["rows"] if part["title"].startswith("Phases") and row[1])
    row[1], row[2], row[3] = "", row[1], row[2]


def forge_title(copy: dict[str, Any]) -> None:
    copy["title"] = "Another deck"


def forge_list(copy: dict[str, Any]) -> None:
    copy["entries"].append(copy["entries"][0])


@pytest.mark.parametrize("forge", [forge_column, forge_part, forge_cell, forge_title, forge_list])
def test_what_is_no_row_of_a_forged_copy_is_told_too(
    record: Record, view: HandoverView, forge: Callable[[dict[str, Any]], None]
) -> None:
    copy = json.loads(json.dumps(record_json(record)))
    forge(copy)
    forged = read_copy(renewed(copy))
    assert own_digest(forged).good
    found = verify(forged, record, view.entries)
    assert (found.good, found.word) == (False, "not as it was made")


def test_an_entry_of_a_later_day_in_the_list_of_a_copy_is_told(book: Book, record: Record) -> None:
    add_punch(book, hand_of("R. Stone", JUNE + LATER), "101", "board cupped")
    marks = marks_of(book, "101")
    copy = json.loads(json.dumps(record_json(record)))
    copy["entries"] = [{"id": mark.id, "digest": mark.digest} for mark in marks]
    found = verify(read_copy(renewed(copy)), record, marks)
    assert not found.good
    assert any("is of a later day" in line for line in found.lines)


@pytest.mark.parametrize("where", ["record", "part", "entry"])
def test_nothing_its_digest_does_not_cover_may_stand_in_a_json_copy(record: Record, where: str) -> None:
    copy = json.loads(json.dumps(record_json(record)))
    {"record": copy, "part": copy["parts"][0], "entry": copy["entries"][0]}[where]["note"] = "all checks passed"
    with pytest.raises(InputError, match="'note' is no part of a record"):
        read_copy(json.dumps(copy).encode())


def test_a_copy_from_another_book_is_told(book: Book, record: Record) -> None:
    entries = ((record.entries[0][0], "0" * 64), *record.entries[1:])
    marks = [EntryMark(name, digest) for name, digest in entries]
    other = replace(record, entries=entries, entries_digest=digest_of_marks(marks))
    found = verify(read_copy(json.dumps(record_json(other)).encode()), record, marks_of(book, "101"))
    assert not found.good
    assert any("not in the book as they were" in line for line in found.lines)


def files(view: HandoverView) -> list[bytes]:
    return [to_html(document(view, [Part.RECORD])), to_pdf(document(view, [Part.RECORD]), Paper.A4)]


def test_an_untouched_page_and_pdf_are_told_byte_for_byte(book: Book, view: HandoverView, record: Record) -> None:
    marks = marks_of(book, "101")
    for data in files(view):
        copy = read_copy(data)
        assert copy.day == JUNE
        found = verify(copy, record, marks, lambda: files(view))
        assert found.good, found
        assert found.lines[0] == "the same, byte for byte, as the book gives for 2026-06-05"
    touched = bytearray(files(view)[1])
    touched[len(touched) // 2] ^= 1
    found = verify(read_copy(bytes(touched)), record, marks, lambda: files(view))
    assert not found.good
    assert record.digest in found.lines[1]


@pytest.mark.parametrize("parts", [[Part.RECORD], list(Part)])
def test_an_html_copy_saved_another_way_still_has_its_words(
    view: HandoverView, record: Record, parts: list[Part]
) -> None:
    made = to_html(document(view, parts))
    data = made.replace(b"</td>", b"</td>\n   ").replace(b"<head>", b'<head><meta http-equiv="Content-Type">')
    assert data != made
    found = verify(read_copy(data), record, list(view.entries), lambda: [b"<html>", made])
    assert found.good, found


ADDED = b"<p>Nothing was wrong</p>"


@pytest.mark.parametrize("parts", [[Part.RECORD], list(Part)])
@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"</body>", ADDED + b"</body>"),
        (b"</html>", b"</html>" + ADDED),
        (b"<body>", b"<body>" + ADDED),
        (b"<html", ADDED + b"<html"),
        (b"<footer", ADDED + b"<footer"),
        (b"They tell a changed copy", b"Nothing was wrong. They tell a changed copy"),
        (b"Readings stand as they were typed.", b""),
    ],
)
def test_words_added_before_or_after_the_record_of_an_html_copy_are_told(
    view: HandoverView, record: Record, parts: list[Part], old: bytes, new: bytes
) -> None:
    made = to_html(document(view, parts))
    assert made.count(old) == 1
    page = made.replace(old, new)
    found = verify(read_copy(page), record, list(view.entries), lambda: [b"<html>", made])
    assert not found.good
    assert any(line.startswith("CHANGED") for line in found.lines)
    side, words = ("copy", "Nothingwaswrong") if new else ("book", "Readingsstandastheyweretyped.")
    assert any(line.startswith(f"{side}, without its spaces") and words in line for line in found.differs)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("</style>", "td::after { content: 'passed' }</style>"),
        ("</head>", "<script>document.body.innerText = 'passed'</script></head>"),
        ("</head>", '<meta http-equiv="Refresh" content="0; url=other.html"></head>'),
        ("</body>", "<svg><text>All checks passed</text></svg></body>"),
        ("</body>", '<img src="passed.png" alt=""></body>'),
        ("<body>", '<body style="visibility: hidden">'),
        ("<tr>", "<tr hidden>"),
        ("<table", "<del><table"),
        ("</body>", "<!-- passed --></body>"),
    ],
)
def test_an_html_copy_with_its_words_that_shows_others_is_told(
    view: HandoverView, record: Record, old: str, new: str
) -> None:
    made = to_html(document(view, [Part.RECORD])).decode()
    assert old in made
    page = made.replace(old, new, 1).encode()
    found = verify(read_copy(page), record, list(view.entries), lambda: [made.encode()])
    assert not found.good
    assert found.lines[0].startswith("CHANGED, or rewritten as it was saved")


def test_a_word_moved_from_one_cell_of_an_html_copy_to_the_next_is_told(view: HandoverView, record: Record) -> None:
    made = to_html(document(view, [Part.RECORD])).decode()
    (moved, count) = re.subn(r"(UC4A)(</[^U]*?<td[^>]*>)", r"\2\1", made, count=1)
    assert count == 1
    found = verify(read_copy(moved.encode()), record, list(view.entries), lambda: [made.encode()])
    assert not found.good


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("ac=17&#x27; 1, ", "ac=17&#x27; 11, ", "ac=17' 1, "),
        ("UC4A", "UC3B", "UC4A"),
        ("Yard Plover (invented)", "Yard Plover (invented) Ltd", "Yard Plover (invented)"),
        ("not waited for in this test", "waited 28 days", "not waited for in this test"),
    ],
)
def test_a_changed_word_of_an_html_copy_is_told_with_its_line(
    view: HandoverView, record: Record, old: str, new: str, told: str
) -> None:
    page = to_html(document(view, [Part.RECORD])).decode()
    page = page.replace("&#39;", "&#x27;").replace("'", "&#x27;") if "&#x27;" in old else page
    assert old in page, re.findall("ac=.{30}", page)[:2]
    found = verify(read_copy(page.replace(old, new).encode()), record, list(view.entries))
    assert not found.good
    assert any(told in line for line in found.differs if line.startswith("book: "))


def test_a_row_taken_out_of_or_put_into_an_html_copy_is_told(view: HandoverView, record: Record) -> None:
    page = to_html(document(view, [Part.RECORD])).decode()
    (row,) = re.findall(r"<tr[^>]*>(?:(?!</tr>).)*Yard Plover(?:(?!</tr>).)*</tr>", page, re.DOTALL)
    gone = verify(read_copy(page.replace(row, "").encode()), record, list(view.entries))
    twice = verify(read_copy(page.replace(row, row + row).encode()), record, list(view.entries))
    assert not gone.good and not twice.good
    assert any("Yard Plover" in line for line in gone.differs)
    assert any("YardPlover" in line for line in twice.differs)


@pytest.mark.parametrize(
    "data",
    [
        b"", b"hello", b"\xff\xfe\x00", b"{}", b"{", b'{"kind": "deckjobs as-built record"}', b'{"record": 3}', b"[" * 9,
        b'{"kind": "deckjobs as-built record", "version": 1, "kind": "x"}', b"{" + b'"a":[' * 40_000,
        b"<!doctype html><html><p>A page.</p></html>",
        b"<html>Record of job 26-101 as known on 2026-13-40, made of 3 entries.</html>",
        b"<html><![foo bar]>", b"<html><![CDATA[", b"<html><!foo", b"<html><?", b"<html>&#99999999999;",
        b"%PDF-1.7\n/CreationDate (D:20261399000000Z)", b"%PDF-1.7\n/CreationDate (D:00000101000000Z)",
    ],
)  # fmt: skip
def test_what_is_no_copy_is_an_error_that_says_how_to_make_one(data: bytes) -> None:
    with pytest.raises(InputError) as error:
        read_copy(data)
    assert "deckjobs handover JOB" in error.value.hint


@pytest.mark.parametrize(
    ("field", "value"),
    [("job", "\ud800"), ("title", "\udfff"), ("day", "20260605"), ("day", "2026-W23-5"), ("day", "2026-02-30"), ("day", "9999-12-31"),
     ("version", 2), ("version", "\ud800"), ("parts", [3]), ("parts", {}), ("entries", ["id"]), ("digest", None)],
)  # fmt: skip
def test_a_json_copy_whose_text_or_day_cannot_be_is_an_error(record: Record, field: str, value: Any) -> None:
    with pytest.raises(InputError):
        read_copy(json.dumps(record_json(record) | {field: value}).encode())


def held(data: bytes, record: Record, view: HandoverView, made: list[bytes]) -> None:
    """Read whatever it is and hold it against the book: an answer or an InputError, and no PDF is good but what was made."""
    try:
        copy = read_copy(data)
    except InputError:
        return
    own_digest(copy)
    found = verify(copy, record, view.entries, lambda: made)
    assert copy.form is not Form.PDF or found.good == (data in made)


@given(st.sampled_from([b"", b"{", b"<html>", b"%PDF-1.7 /CreationDate (D:"]), st.binary(max_size=200))
def test_no_bytes_break_the_reading_of_a_copy(record: Record, view: HandoverView, start: bytes, rest: bytes) -> None:
    held(start + rest, record, view, [])


_PIECES = [
    b"<![",
    b"<!",
    b"<?",
    b"&#",
    b"]>",
    b"<svg>",
    b"<title>",
    b"</td>",
    b"<!--",
    b"\\ud800",
    b"null",
    b"[",
    b'"',
    b"\xff",
]


@pytest.fixture(scope="module")
def made(view: HandoverView) -> list[bytes]:
    """The record as a page and as a PDF."""
    return files(view)


@given(st.data())
@settings(max_examples=examples(150, 3000), deadline=None)
def test_no_mutilated_copy_breaks_the_reading_of_it(
    record: Record, view: HandoverView, made: list[bytes], data: st.DataObject
) -> None:
    whole = data.draw(st.sampled_from([*made, json.dumps(record_json(record)).encode()]))
    at = data.draw(st.integers(0, len(whole)))
    length = data.draw(st.integers(0, 12))
    piece = data.draw(st.one_of(st.sampled_from(_PIECES), st.binary(max_size=12)))
    held(whole[:at] + piece + whole[at + length :], record, view, [one for one in made if one[:5] == whole[:5]])


def test_a_digest_is_printed_in_groups_that_can_be_read_aloud() -> None:
    assert grouped("0123456789abcdef") == "01234567 89abcdef"
    assert read_copy(b"%PDF-1.7\n").form is Form.PDF
