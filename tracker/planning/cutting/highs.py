"""The linear and integer programs of a cut plan, through HiGHS (highspy): the one place that knows the solver.

One thread, a fixed seed and stops by gap or node count only: the same program gives the same answer every time.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

if TYPE_CHECKING:
    import highspy

Entries: TypeAlias = "Sequence[tuple[int, int]]"
"""Rows of a column, or columns of a row, each with its whole-number coefficient."""


def _solver() -> highspy.Highs:
    from highspy import Highs

    def hush(solver: highspy.Highs) -> None:
        solver.setOptionValue("output_flag", False)

    # The solver's first call prints a line unless output is off by then, and making one makes that call.
    quiet: Any = type("Quiet", (Highs,), {"enableCallbacks": hush})
    solver: highspy.Highs = quiet()
    for option, value in (("threads", 1), ("random_seed", 0)):
        solver.setOptionValue(option, value)
    return solver


class LinearProgram:
    """A minimisation over columns >= 0 that grows by columns and is solved again from where it stood."""

    def __init__(self, lows: Sequence[float], highs: Sequence[float]) -> None:
        self._solver = _solver()
        self._solver.setOptionValue("presolve", "off")
        self._solver.setOptionValue("dual_feasibility_tolerance", 1e-9)
        for low, high in zip(lows, highs, strict=True):
            self._solver.addRow(low, high, 0, _ints(()), _floats(()))
        self.size = 0

    def add(self, columns: Sequence[tuple[float, Entries]]) -> None:
        """Add columns: cost and entries."""
        if not columns:
            return
        starts, rows, numbers = _packed([entries for _, entries in columns])
        number = len(columns)
        costs = _floats([cost for cost, _ in columns])
        lows, highs = _floats([0.0] * number), _floats([math.inf] * number)
        self._solver.addCols(number, costs, lows, highs, len(rows), _ints(starts), _ints(rows), _floats(numbers))
        self.size += number

    def set_rows(self, lows: Sequence[float], highs: Sequence[float]) -> None:
        """Change what the rows ask."""
        for row, (low, high) in enumerate(zip(lows, highs, strict=True)):
            self._solver.changeRowBounds(row, low, high)

    def set_allowed(self, allowed: Sequence[bool]) -> None:
        """Allow columns or keep them at nothing."""
        highs = _floats([math.inf if one else 0.0 for one in allowed])
        number = len(allowed)
        self._solver.changeColsBounds(number, _ints(range(number)), _floats([0.0] * number), highs)

    def add_row(self, low: float, columns: Entries) -> None:
        """Add a row of at least ``low`` over columns."""
        kept = [(column, number) for column, number in columns if number]
        indices, numbers = _ints([column for column, _ in kept]), _floats([number for _, number in kept])
        self._solver.addRow(low, math.inf, len(kept), indices, numbers)

    def solve(self) -> tuple[list[float], list[float]] | None:
        """Return columns and row duals at the optimum; None when the rows exclude each other."""
        from highspy import HighsModelStatus

        self._solver.run()
        status = self._solver.getModelStatus()
        if status not in (HighsModelStatus.kOptimal, HighsModelStatus.kInfeasible):
            self._solver.clearSolver()  # a basis gone bad: start afresh
            self._solver.run()
            status = self._solver.getModelStatus()
        if status == HighsModelStatus.kInfeasible:
            return None
        if status not in (HighsModelStatus.kOptimal, HighsModelStatus.kUnknown):
            raise RuntimeError(f"a linear plan ended {status}")
        # Nearly optimal will do as well: what the duals prove is computed from them in whole numbers.
        solution = self._solver.getSolution()
        return list(solution.col_value), list(solution.row_dual)


@dataclass(frozen=True, slots=True)
class IntegerProgram:
    """Minimise whole-number costs over whole columns from 0 to ``tops``, rows between ``lows`` and ``highs``."""

    costs: Sequence[int]
    tops: Sequence[float]
    entries: Sequence[Entries]
    lows: Sequence[float]
    highs: Sequence[float]


@dataclass(frozen=True, slots=True)
class Found:
    """The best whole columns found, if any, and whether nothing better exists."""

    columns: list[int] | None
    settled: bool


Watch: TypeAlias = "Callable[[], bool]"
"""Asked now and then; False stops the search."""


def minimise(program: IntegerProgram, nodes: int, watch: Watch | None = None) -> Found:
    """Solve an integer program to the last unit, or until ``nodes`` nodes or ``watch`` stops it."""
    from highspy import HighsModelStatus, HighsVarType, cb

    solver = _solver()
    options = (("mip_rel_gap", 0.0), ("mip_abs_gap", 0.999), ("mip_max_nodes", nodes))
    for option, value in options:
        solver.setOptionValue(option, value)
    for low, high in zip(program.lows, program.highs, strict=True):
        solver.addRow(low, high, 0, _ints(()), _floats(()))
    number = len(program.costs)
    starts, rows, numbers = _packed(program.entries)
    lows = _floats([0.0] * number)
    highs = _floats(program.tops)
    solver.addCols(number, _floats(program.costs), lows, highs, len(rows), _ints(starts), _ints(rows), _floats(numbers))
    import numpy as np

    kinds = np.full(number, int(HighsVarType.kInteger), dtype=np.uint8)
    solver.changeColsIntegrality(number, _ints(range(number)), kinds)
    failed: list[BaseException] = []
    if watch is not None:

        def ask(_kind: Any, _text: str, _out: Any, to_solver: Any, _data: Any) -> None:
            try:
                go_on = not failed and watch()
            except BaseException as error:  # must not pass through the solver: raised again below
                failed.append(error)
                go_on = False
            if not go_on:
                to_solver.user_interrupt = True

        solver.setCallback(ask, None)
        solver.startCallback(cb.HighsCallbackType.kCallbackMipInterrupt)
    solver.run()
    if failed:
        raise failed[0]
    status = solver.getModelStatus()
    settled = status in (HighsModelStatus.kOptimal, HighsModelStatus.kInfeasible)
    values = list(solver.getSolution().col_value) if solver.getInfo().primal_solution_status == 2 else []
    return Found([round(value) for value in values] or None, settled)


def _packed(columns: Sequence[Entries]) -> tuple[list[int], list[int], list[int]]:
    starts: list[int] = []
    rows: list[int] = []
    numbers: list[int] = []
    for entries in columns:
        starts.append(len(rows))
        for row, number in entries:
            rows.append(row)
            numbers.append(number)
    return starts, rows, numbers


def _ints(values: Sequence[int]) -> Any:
    import numpy as np

    return np.array(list(values), dtype=np.int32)


def _floats(values: Sequence[float]) -> Any:
    import numpy as np

    return np.array(list(values), dtype=np.float64)
