"""Whole invented jobs: what the take-off of each lists is what was counted by hand.

Beside each job file of ``whole_jobs`` stands its count (``.count.toml``), with the working as one would pencil it: by platform,
lumber as cut pieces by length, pieces by number alone, goods, and fasteners one by one, before spares and boxes; and above all
of them the clauses that the design fails by. Lines that nobody counted are not held. The rules of quantity are common practice
but where a count names its source. In ``must_fail`` each job fails the design by one clause, and passes by what mends it alone.
"""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from pathlib import Path

import pytest

from tracker.trade.design import design_lines
from tracker.trade.jobfile import JobFile, parse_job_bytes
from tracker.trade.lengths import INCH, parse_length
from tracker.trade.material import Line
from tracker.trade.takeoff import take_off

FOLDER = Path(__file__).parent / "whole_jobs"
COUNTS = sorted(FOLDER.glob("*.count.toml"))
FAULTS = sorted((FOLDER / "must_fail").glob("*.fault.toml"))
PENCIL_NM = INCH // 16
"""A length worked with a pencil is good to a sixteenth."""
SPARE = "spare deck board"


def read(code: str) -> JobFile:
    path = FOLDER / f"{code}.toml"
    return parse_job_bytes(path.read_bytes(), path.name)


def fasteners(line: Line, spare_tenths: int) -> int:
    """How many go into the boxes of a line, without the spares."""
    assert line.loose is not None
    return round(line.loose.amount / (1000 + spare_tenths))


def cut(lines: list[Line]) -> dict[int, int]:
    """Cut pieces by length, spares apart."""
    found: Counter[int] = Counter()
    for line in lines:
        for piece in line.pieces:
            found[piece.length_nm] += piece.quantity if piece.what != SPARE else 0
    return {length: number for length, number in found.items() if number}


def as_counted(wanted: list[str], found: dict[int, int]) -> list[str]:
    """What was found, told in the words of the count where it is the same within the pencil's sixteenth."""
    told, left = [], dict(found)
    for text in wanted:
        length = parse_length(text.partition(" x ")[2])
        near = [nm for nm in left if abs(nm - length) <= PENCIL_NM]
        if near:
            told.append(f"{sum(left.pop(nm) for nm in near)} x {text.partition(' x ')[2]}")
    return told + [f"{number} x {nm / INCH:.3f} in" for nm, number in sorted(left.items(), reverse=True)]


@pytest.mark.parametrize("path", COUNTS, ids=lambda path: re.sub(r"\.count\.toml$", "", path.name))
def test_a_whole_job_lists_what_was_counted_by_hand(path: Path) -> None:
    job = read(path.name.removesuffix(".count.toml"))
    spare = job.spec.rules.figure("waste_fasteners")
    counted = tomllib.loads(path.read_text(encoding="utf-8"))
    lines = take_off(job.spec)
    differ: dict[str, str] = {}
    for platform, sections in counted.items():
        if platform == "fails":
            continue
        mine = [line for line in lines if line.platform == platform]
        for section, wanted in sections.items():
            for title, value in wanted.items():
                found = what_is_listed(mine, section, title, value, spare)
                if found != value:
                    differ[f"{platform}: {title}"] = f"by hand {value}, listed {found}"
    assert differ == {}


def what_is_listed(lines: list[Line], section: str, title: str, value: object, spare_tenths: int) -> object:
    """What the take-off of a platform has for a line of the count, told as the count tells it."""
    named = [line for line in lines if line.title == title]
    if title == SPARE:
        return sum(piece.quantity for line in lines for piece in line.pieces if piece.what == SPARE)
    if section == "lumber":
        assert isinstance(value, list)
        return as_counted(value, cut(named))
    if section == "fasteners":
        return sum(fasteners(line, spare_tenths) for line in named)
    if section == "pieces":
        return sum(cut(named).values())
    assert section == "goods"
    return sum(line.quantity for line in named)


@pytest.mark.parametrize("path", COUNTS, ids=lambda path: re.sub(r"\.count\.toml$", "", path.name))
def test_a_whole_job_fails_the_design_by_the_clauses_found_by_hand(path: Path) -> None:
    lines = design_lines(read(path.name.removesuffix(".count.toml")).spec)
    wanted = tomllib.loads(path.read_text(encoding="utf-8"))["fails"]
    assert [line.text for line in lines if not line.good and line.clause not in wanted] == []
    assert {line.clause for line in lines if not line.good} == set(wanted)


@pytest.mark.parametrize("path", FAULTS, ids=lambda path: re.sub(r"\.fault\.toml$", "", path.name))
def test_a_job_that_must_fail_does_so_by_one_clause_and_passes_mended(path: Path) -> None:
    fault = tomllib.loads(path.read_text(encoding="utf-8"))
    name = path.name.replace(".fault", "")
    text = path.with_name(name).read_text(encoding="utf-8")
    bad = [line for line in design_lines(parse_job_bytes(text.encode(), name).spec) if not line.good]
    assert [line.clause for line in bad] == [fault["clause"]], bad
    assert fault["says"] in bad[0].text and bad[0].source
    assert text.count(fault["mend"]["old"]) == 1
    mended = parse_job_bytes(text.replace(fault["mend"]["old"], fault["mend"]["new"]).encode(), name)
    assert [line.text for line in design_lines(mended.spec) if not line.good] == []


def test_every_whole_job_is_counted_and_says_that_it_is_invented() -> None:
    jobs = {path.stem for path in FOLDER.glob("*.toml") if not path.name.endswith(".count.toml")}
    assert jobs == {path.name.removesuffix(".count.toml") for path in COUNTS}
    failing = {path.with_name(path.name.replace(".fault", "")) for path in FAULTS}
    assert {path for path in (FOLDER / "must_fail").glob("*.toml") if ".fault" not in path.name} == failing
    for path in (*(FOLDER / f"{code}.toml" for code in jobs), *failing):
        assert path.read_text(encoding="utf-8").startswith("# An invented job")
