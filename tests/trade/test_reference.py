"""The reference page: what the script makes, whole, and alive to a new constant."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
from pathlib import Path

from tracker.trade import reference
from tracker.trade.beam_tables import BEAM_SPANS_IN, BeamTable
from tracker.trade.checks.registry import CHECKS
from tracker.trade.lengths import INCH
from tracker.trade.phases import PHASES
from tracker.trade.rules import RULES
from tracker.trade.span_tables import FOOTING_ROWS, JOIST_SPANS_IN, LEDGER_ROWS, OVERHANGS_IN

ROOT = Path(__file__).parents[2]
PAGE = reference.page()


def section(title: str) -> list[str]:
    """The table rows under a heading."""
    body = PAGE.split(f"## {title}\n", 1)[1].split("\n## ", 1)[0]
    return [line for line in body.splitlines() if line.startswith("|")][2:]


def test_the_page_in_the_project_is_what_the_script_makes() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tracker.trade.reference"], cwd=ROOT, capture_output=True, timeout=300, check=True
    )
    assert done.stdout.decode("utf-8") == PAGE
    there = (ROOT / "FIGURES.md").read_text(encoding="utf-8")
    assert there == PAGE, "run: python -m tracker.trade.reference > FIGURES.md"


def test_every_rule_phase_and_check_is_on_it() -> None:
    for title, keys in (
        ("House rules", [rule.key for rule in RULES]),
        ("Phases", [phase.key for phase in PHASES]),
        ("Checks", [check.key for check in CHECKS]),
    ):
        assert all(f"`{key}`" in row for key, row in zip(keys, section(title), strict=True))
    assert [f" H{n} " in "".join(section("Phases")) for n in range(1, 11)] == [True] * 10


def test_every_published_cell_stands_beside_its_computation() -> None:
    cells = {
        "Joist spans, computed and published": sum(map(len, JOIST_SPANS_IN.values())),
        "Joist overhangs, computed and published": sum(map(len, OVERHANGS_IN.values())),
        "Beam spans, computed and published": sum(map(len, BEAM_SPANS_IN[BeamTable.CODE].values())),
        "Footings, computed and published": len(FOOTING_ROWS),
        "Ledger fasteners": len(LEDGER_ROWS),
    }
    assert {title: len(section(title)) for title in cells} == cells
    # DCA 6 (2012 IRC edition) Table 2: southern pine 2x8 at 16 in is 11-10; computed 141.8 in, bending.
    (row,) = [line for line in section("Joist spans, computed and published") if "| southern pine | 2x8 | 16 |" in line]
    assert "| 11-10 |" in row and "| bending |" in row and "| 141.8" in row
    # 24 of the 36 cells have nothing fitted; those are equal to the nearest inch.
    for line in section("Joist spans, computed and published"):
        difference = float(line.split("|")[6])
        assert abs(difference) <= 0.51


def test_no_constant_stands_without_a_source() -> None:
    for module in reference.trade_modules():
        assert module.__doc__
        for constant in reference.constants_of(module):
            assert f"`{constant.name}`" in PAGE
    rows = [line for line in PAGE.splitlines() if line.startswith("| `")]
    assert rows and all(line.rstrip("| ").strip() for line in rows)
    assert all(rule.source for rule in RULES)


def test_a_new_constant_or_table_shows_by_itself(tmp_path: Path) -> None:
    text = (
        '"""An invented module."""\n'
        "from tracker.trade.lengths import INCH\n"
        "FALL_NM = 3 * INCH // 4\n"
        '"""Fall of a landing (common practice)."""\n'
        "# From memory: an invented table.\n"
        "_WEIGHTS = {'2x4': 1.25, '2x6': 2}\n"
        "WORDS = ('a', 'b')\n"
        "FLAG = True\n"
    )
    path = tmp_path / "invented_figures.py"
    path.write_text(text, encoding="utf-8")
    spec = importlib.util.spec_from_file_location("invented_figures", path)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    try:
        spec.loader.exec_module(module)
        found = {constant.name: constant for constant in reference.constants_of(module)}
        lines = reference.module_section(module)
    finally:
        del sys.modules[spec.name]
    assert set(found) == {"FALL_NM", "_WEIGHTS"}
    assert found["FALL_NM"].value == 3 * INCH // 4
    assert "| `FALL_NM` | 3/4 in | Fall of a landing (common practice). |" in lines
    assert "`_WEIGHTS`: From memory: an invented table." in lines and "| 2x4 | 1.25 |" in lines
