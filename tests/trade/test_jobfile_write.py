"""Writing a job file: what comes back from it is what was typed, whatever was typed."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tracker.errors import InputError
from tracker.trade.answer import Plain
from tracker.trade.jobfile import JobFaults, parse_job_file, parse_job_table, write_job
from tracker.trade.jobfile.lines import key_lines
from tracker.trade.jobfile.record import json_safe

SAMPLES = sorted((Path(__file__).parents[2] / "sample_jobs").glob("*.toml"))

PLATFORM: dict[str, Plain] = {
    "name": "deck",
    "size": ["14'", "12' 3"],
    "height": "11 in",
    "support": "blocks",
    "joists": {"size": "2x8", "species": "southern pine", "grade": "no.2", "spacing": 16, "use": "UC4A"},
    "decking": {"board": "5/4x6", "kind": "wood", "species": "southern pine", "lay": "tight", "gap": "3/16 in", "use": "UC4A"},
}  # fmt: skip

HOSTILE = st.text(st.characters(codec="utf-8"), max_size=40) | st.sampled_from(
    ['"', '"""', "'''", "\\", "\\u0041", "a\nb", "a\r\nb", "\t", "# no comment", "]]", "= 1", "\x00\x7f\x85", "🔨 ½ é", "2026-05-04"]
)  # fmt: skip
SAID = HOSTILE.filter(lambda text: "\0" not in text and text.strip() != "" and len(text) < 200)
VALUES = st.recursive(
    HOSTILE | st.booleans() | st.integers(-(2**63), 2**63 - 1) | st.floats(allow_nan=False),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(HOSTILE, inner, max_size=4),
    max_leaves=12,
)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_every_sample_job_is_written_as_it_was_read(path: Path) -> None:
    job = parse_job_file(path.read_text("utf-8"), path.name)
    text = write_job(job.source)
    again = parse_job_file(text, path.name)
    assert again.source == job.source
    assert again == job
    assert write_job(again.source) == text


@settings(max_examples=examples(120, 2400))
@given(st.dictionaries(HOSTILE, VALUES, max_size=6))
def test_any_table_comes_back_whole_and_its_lines_are_found(table: dict[str, Any]) -> None:
    text = write_job(table)
    read = tomllib.loads(text)
    assert json_safe(read) == table
    lines = key_lines(text)
    assert all((key,) in lines for key in table)


@settings(max_examples=examples(60, 1200))
@given(title=SAID, client=SAID, site=SAID, reason=SAID, item=SAID, values=st.lists(SAID, min_size=1, max_size=8))
def test_a_job_of_hostile_texts_comes_back_whole(
    title: str, client: str, site: str, reason: str, item: str, values: list[str]
) -> None:
    source: dict[str, Plain] = {
        "code": "26-501", "title": title, "client": client, "site": site, "start": "2026-05-04",
        "platform": [PLATFORM],
        "prices": {item[:80].strip() or "block": "7.50"},
        "lot": [{"code": "L1", "item": item, "supplier": client, "ordered": 3}],
        "log": [
            {"on": "2026-05-05", "at": "08:30", "who": client, "do": "note", "text": reason},
            {"on": "2026-05-06", "who": client, "do": "check", "check": "square", "values": list(values)},
        ],
    }  # fmt: skip
    assert parse_job_file(write_job(source), "job.toml").source == source


def test_days_stand_bare_texts_in_quotes_and_long_lists_over_lines() -> None:
    text = write_job({"start": "2026-05-04", "title": "2026-05-04", "promised": "2026-02-30", "values": ["x" * 40] * 4})
    assert "start = 2026-05-04\n" in text
    assert 'title = "2026-05-04"' in text and 'promised = "2026-02-30"' in text
    assert 'values = [\n    "' in text and all(len(line) < 110 for line in text.splitlines())


def test_keys_stand_in_the_order_of_a_job_file() -> None:
    text = write_job({"platform": [dict(reversed(PLATFORM.items()))], "zzz": 1, "title": "T", "code": "26-501"})
    places = [
        text.index(part) for part in ("code =", "title =", "zzz =", "[[platform]]", "name =", "[platform.joists]")
    ]
    assert places == sorted(places)


@pytest.mark.parametrize("value", [None, "\ud800", [None], {"a": None}])
def test_what_toml_cannot_hold_is_refused(value: Plain) -> None:
    with pytest.raises(InputError):
        write_job({"title": value})


def test_each_fault_carries_the_key_it_belongs_to() -> None:
    wrong: dict[str, Plain] = {**PLATFORM, "height": "soon", "joists": {**PLATFORM["joists"], "spacing": "3 in"}}  # type: ignore[dict-item]
    with pytest.raises(JobFaults) as caught:
        parse_job_table(
            {"code": "26-1", "title": "T", "client": "C", "start": "2026-05-04", "platform": [wrong]}, "form"
        )
    faults = {fault.path: fault for fault in caught.value.faults}
    assert set(faults) == {("code",), ("platform", 0, "height"), ("platform", 0, "joists", "spacing")}
    assert '6"' in faults["platform", 0, "joists", "spacing"].hint
    assert len(caught.value.problems) == len(faults)
