"""One joist in words agrees with the frame, the tape list and the verdicts."""

from __future__ import annotations

import re

import pytest

from tests.reports.drawing_cases import SAMPLES, crowned, judged, sample
from tracker.reports.drawing import draw_platform
from tracker.reports.drawing_joist import failing_joists, joist_facts, told
from tracker.reports.drawing_shapes import USUAL, Layer, layers_of
from tracker.trade.lengths import format_length
from tracker.trade.phases import PHASES
from tracker.trade.tapelist import on_tape, tape_list


@pytest.mark.parametrize("name", SAMPLES)
def test_every_joist_is_told_with_its_length_and_its_mark_on_the_tape(name: str) -> None:
    drawing = draw_platform(*SAMPLES[name])
    every = {on_tape(mark.at_nm, drawing.unit) for tape in tape_list(drawing.frame) for mark in tape.marks}
    seen = set()
    for joist in drawing.joists:
        facts = joist_facts(drawing, joist.number)
        start, end = max(joist.stretches, key=lambda run: run[1] - run[0])
        assert format_length(end - start, drawing.unit) in facts.what or len(joist.pieces) > 1
        assert f"joist {joist.number} of {len(drawing.joists)}" in facts.what and "not read yet" in facts.what
        assert facts.failing == ()
        seen |= {text.removeprefix("tape: ") for text in re.findall(r"(?:tape: |; )(.+?) X on the ", facts.tape)}
    assert {text.removeprefix("; ") for text in seen} == every


def test_a_failing_joist_names_the_check_and_its_key() -> None:
    job, platform = sample("26-014")
    checks = [
        crowned(job, platform, {"3": "-1/8", "12": "0"}),
        judged(job, platform, "square", {"ac": "18' 7-1/2", "bd": "18' 7"}),
    ]
    drawing = draw_platform(job, platform, checks)
    facts = joist_facts(drawing, 3)
    assert "crown 1/8 in DOWN" in facts.what and [note.key for note in facts.failing] == ["crown"]
    assert told(facts.failing[0]).startswith("FAIL Crowns up: ")
    assert "straight, good as read" in joist_facts(drawing, 12).what
    assert (
        failing_joists(drawing) == (3,) == failing_joists(drawing, "crown") and failing_joists(drawing, "square") == ()
    )
    with pytest.raises(IndexError):
        joist_facts(drawing, 13)


def test_every_phase_of_the_template_has_its_layers() -> None:
    assert {phase.key for phase in PHASES if layers_of(phase.key) != USUAL} >= {"dig", "pads", "boards", "care"}
    assert layers_of("frame") == USUAL == layers_of("")
    assert layers_of("boards") == {Layer.BOARDS, Layer.CHECKS}
    assert layers_of("pour") == {Layer.SUPPORTS, Layer.CHECKS}
