"""Options of a quote: read from a line, put into a job file's table."""

from __future__ import annotations

import pytest

from tracker.errors import InputError
from tracker.planning.options import Option, parse_option, with_changes

SOURCE = {
    "code": "26-101", "finish": "oil", "log": [{"do": "start"}], "lot": [{"code": "L1"}],
    "platform": [
        {"name": "a", "size": ["11'", "13'"], "joists": {"size": "2x6"},
         "decking": {"board": "5/4x6", "kind": "wood", "species": "southern pine", "use": "UC4A"}},
        {"name": "b", "size": ["4'", "6'"], "joists": {"size": "2x6"}, "decking": {"board": "5/4x6", "kind": "wood"}},
    ],
}  # fmt: skip


@pytest.mark.parametrize(
    ("text", "option"),
    [
        ("2x6 boards: board=2x6", Option("2x6 boards", (("board", "2x6"),))),
        ("board=2x6, joists=2x8", Option("board 2x6, joists 2x8", (("board", "2x6"), ("joists", "2x8")))),
        ("as drawn: price=4,800.50", None), ("as drawn: price=4800.50", Option("as drawn", (), 480_050)),
    ],
)  # fmt: skip
def test_an_option_is_read(text: str, option: Option | None) -> None:
    if option is None:
        with pytest.raises(InputError):
            parse_option(text)
    else:
        assert parse_option(text) == option


@pytest.mark.parametrize(
    ("text", "why"), [("bord=2x6", "did you mean board"), ("cedar: board", "changes nothing"), ("", "no option")]
)
def test_an_option_that_is_none_says_why(text: str, why: str) -> None:
    with pytest.raises(InputError, match=why):
        parse_option(text)


def test_changes_go_on_every_platform_and_leave_the_source_alone() -> None:
    table = with_changes(SOURCE, (("board", "2x6"), ("joists", "2x8"), ("finish", "none"), ("size", "12' by 14'")))
    assert [p["decking"]["board"] for p in table["platform"]] == ["2x6", "2x6"]
    assert [p["joists"]["size"] for p in table["platform"]] == ["2x8", "2x8"]
    assert table["platform"][0]["size"] == ["12'", "14'"] and table["finish"] == "none"
    assert "log" not in table and "lot" not in table
    assert SOURCE["finish"] == "oil" and "log" in SOURCE


def test_a_composite_board_has_no_species_and_no_treatment() -> None:
    table = with_changes(SOURCE, (("kind", "composite"),))
    assert table["platform"][0]["decking"] == {"board": "5/4x6", "kind": "composite"}


def test_a_size_is_two_sides() -> None:
    with pytest.raises(InputError, match="is no size"):
        with_changes(SOURCE, (("size", "12'"),))
