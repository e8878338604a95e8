"""The gate for untrusted text: what is shown is safe, what is kept is what was typed."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.errors import InputError
from tracker.text import NAME_LIMIT, accept, clean, count, listing, near

MARK = "\N{REPLACEMENT CHARACTER}"
# Unicode Standard Annex 9 (bidirectional algorithm), section 2: the explicit and implicit directional formatting
# characters, by name.
DIRECTIONAL = [
    "ARABIC LETTER MARK", "LEFT-TO-RIGHT MARK", "RIGHT-TO-LEFT MARK", "LEFT-TO-RIGHT EMBEDDING",
    "RIGHT-TO-LEFT EMBEDDING", "POP DIRECTIONAL FORMATTING", "LEFT-TO-RIGHT OVERRIDE", "RIGHT-TO-LEFT OVERRIDE",
    "LEFT-TO-RIGHT ISOLATE", "RIGHT-TO-LEFT ISOLATE", "FIRST STRONG ISOLATE", "POP DIRECTIONAL ISOLATE",
]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("\x1b[2Jdeck", f"{MARK}[2Jdeck"),  # ESC: erase the screen
        ("\x1b]52;c;aGk=\x07", f"{MARK}]52;c;aGk={MARK}"),  # OSC: write the clipboard
        ("\x1b]0;title\x1b\\", f"{MARK}]0;title{MARK}\\"),
        ("\x9b31mred", f"{MARK}31mred"),  # C1: control sequence introducer in one byte
        ("\x85next", f"{MARK}next"),
        ("bell\x07", f"bell{MARK}"),
        ("abc\x08\x08", f"abc{MARK}{MARK}"),
        ("a\x00b\x7f", f"a{MARK}b{MARK}"),
        ("page\u2028line\u2029", f"page{MARK}line{MARK}"),
        ("\ue000private \U0010ffff none", f"{MARK}private {MARK} none"),
        ("half \ud800 pair", f"half {MARK} pair"),
    ],
)
def test_what_can_command_a_terminal_is_marked(text: str, shown: str) -> None:
    assert clean(text) == shown


@pytest.mark.parametrize("name", DIRECTIONAL)
def test_what_turns_the_direction_of_writing_is_marked(name: str) -> None:
    assert clean(f"a{unicodedata.lookup(name)}gnp.exe") == f"a{MARK}gnp.exe"


@pytest.mark.parametrize(
    "text",
    [
        "Fern Court", "", "[/bold] [link=x] %s {0}", "Über-Straße 5½″", "مخطط السطح", "סיפון עץ", "木製デッキ", "데크",
        "e\u0301te\u0301", "👩\u200d🔧", "🧑🏽\u200d🏭", "👍🏿", "नमस्ते", "می\u200cخواهم", "x\u00a0y",
    ],
)  # fmt: skip
def test_honest_writing_stays_as_it_is(text: str) -> None:
    assert clean(text) == text


def test_lines_and_tabs_become_spaces_unless_lines_are_wanted() -> None:
    assert clean("a\tb\nc\r\nd\re") == "a b c d e"
    assert clean("a\tb\nc\r\nd\re", lines=True) == "a b\nc\nd e"


@given(st.text(alphabet=st.characters()), st.booleans())
def test_cleaned_text_is_safe_and_cleaning_it_again_changes_nothing(text: str, lines: bool) -> None:
    shown = clean(text, lines=lines)
    assert clean(shown, lines=lines) == shown
    assert len(shown) == len(text.replace("\r\n", "\n"))
    for char in shown:
        assert unicodedata.category(char) not in {"Cc", "Cs", "Co", "Cn", "Zl", "Zp"} or (lines and char == "\n")
        assert unicodedata.bidirectional(char) not in {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}


@pytest.mark.parametrize(
    ("text", "message", "hint"),
    [
        ("", "the title is empty", "give the title at least one character"),
        (" \t\u00a0\n", "the title is empty", "give the title at least one character"),
        ("a\0b", "the title holds a NUL character", "remove it and try again"),
        ("a\udce9b", "the title is not valid text", "type it again in UTF-8"),
        ("x" * 201, "the title has 201 characters; the limit is 200", "shorten it"),
        ("x" * 10_000, "the title has 10000 characters; the limit is 200", "shorten it"),
    ],
)
def test_accept_refuses_what_the_book_cannot_keep(text: str, message: str, hint: str) -> None:
    with pytest.raises(InputError) as caught:
        accept(text, "the title")
    assert (caught.value.message, caught.value.hint) == (message, hint)


def test_accept_keeps_what_was_typed_in_one_spelling() -> None:
    assert accept("  Fern Court ", "the title") == "Fern Court"
    assert accept("cafe\u0301", "the title") == "caf\u00e9"
    assert accept("'; DROP TABLE item;--", "the title") == "'; DROP TABLE item;--"
    assert accept("\x1b[2J", "the title") == "\x1b[2J"
    assert accept("x" * NAME_LIMIT, "the title") == "x" * NAME_LIMIT
    assert accept("x" * 300, "the note", limit=300) == "x" * 300
    assert accept("  ", "the note", empty=True) == ""


@given(st.text(max_size=NAME_LIMIT + 20))
def test_accepted_text_is_accepted_again_unchanged(text: str) -> None:
    try:
        kept = accept(text, "it")
    except InputError:
        return
    assert accept(kept, "it") == kept
    assert 0 < len(kept) <= NAME_LIMIT
    assert unicodedata.normalize("NFC", text).strip() == kept


@pytest.mark.parametrize(
    ("word", "known", "said"),
    [
        ("layuot", ["layout", "level"], " (did you mean layout?)"),
        ("SQUARE", ["square"], " (did you mean square?)"),
        ("fern court", ["Fern Court"], " (did you mean Fern Court?)"),
        ("B8", ["B7"], " (did you mean B7?)"),
        ("squar", ["square", "layout-square"], " (did you mean square?)"),
        ("squar", ["square.low", "square.high"], ""),
        ("zzz", ["layout", "level"], ""),
        ("", ["layout"], ""),
        ("layout", [], ""),
    ],
)
def test_near_misses(word: str, known: list[str], said: str) -> None:
    assert near(word, known) == said


def test_listing_joins_as_a_sentence_does() -> None:
    assert [listing(x) for x in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == ["", "a", "a or b", "a, b or c"]
    assert listing(iter("abc"), "and") == "a, b and c"


@pytest.mark.parametrize(
    ("number", "noun", "plural", "said"),
    [
        (1, "board", "", "1 board"), (2, "board", "", "2 boards"), (0, "board", "", "0 boards"), (2, "box", "", "2 boxes"),
        (2, "truss", "", "2 trusses"), (2, "batch", "", "2 batches"), (2, "brush", "", "2 brushes"),
        (2, "ply", "plies", "2 plies"), (1, "ply", "plies", "1 ply"),
    ],
)  # fmt: skip
def test_counts(number: int, noun: str, plural: str, said: str) -> None:
    assert count(number, noun, plural) == said
