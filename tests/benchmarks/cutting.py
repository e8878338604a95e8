"""How fast cut plans are proven and what they save, as ratios: run it, read the last columns.

    python tests/benchmarks/cutting.py [--lists decks,random,close,published] [--slow N]

Prints for each set of lists how many were proven, the seconds to the first answer and to the proof (median, 90th and
99th percentile, longest), the longest as a multiple of loading the solver, and the cost of first-fit decreasing over
ours. For the published sets, where all boards cost one, also how many are at their known optimum. ``--slow`` names the
N slowest lists.
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import time
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.planning.cutplan_checks import by_hand, replay
from tests.planning.cutplan_lists import Case, close_prices, deck_lists, published_lists, random_lists
from tracker.planning.cutplan import CutPlan, plan_cuts

MARKS = (("median", 0.1), ("p99", 3.0), ("longest", 10.0))


class Run(NamedTuple):
    """One list planned: seconds to the first answer and to the end, the plan, first fit's cost."""

    case: Case
    first: float
    seconds: float
    plan: CutPlan
    hand: int


def run(case: Case) -> Run:
    """Plan one list and replay the plan."""
    start = time.perf_counter()
    first = 0.0

    def told(_plan: CutPlan, _bound: int) -> bool:
        nonlocal first
        first = first or time.perf_counter() - start
        return True

    plan = plan_cuts(case.needs, case.stocks, kerf_nm=case.kerf_nm, trim_nm=case.trim_nm, progress=told)
    seconds = time.perf_counter() - start
    replay(plan, case.needs, case.stocks)
    return Run(case, first, seconds, plan, by_hand(case.needs, case.stocks, case.kerf_nm, case.trim_nm))


def percentile(values: Iterable[float], share: float) -> float:
    """The value that ``share`` of the values do not exceed."""
    ordered = sorted(values)
    return ordered[min(int(share * len(ordered)), len(ordered) - 1)]


def loading() -> float:
    """Seconds to load the solver in a process of its own, less an empty process: the yardstick."""

    def wall(code: str) -> float:
        start = time.perf_counter()
        subprocess.run([sys.executable, "-c", code], check=True)
        return time.perf_counter() - start

    return statistics.median(wall("import highspy") - wall("pass") for _ in range(5))


def show(name: str, runs: list[Run], yardstick: float, slow: int) -> None:
    """Print one set's lines."""
    seconds = [one.seconds for one in runs]
    proven = sum(one.plan.proven for one in runs)
    quick = sum(one.plan.first_e4 == one.plan.cost_e4 for one in runs)
    times = {"median": statistics.median(seconds), "p99": percentile(seconds, 0.99), "longest": max(seconds)}
    ratios = [one.hand / one.plan.cost_e4 for one in runs if one.plan.cost_e4]
    print(f"{name}: {len(runs)} lists, {proven} proven, the quick plan already cheapest in {quick}")
    print(f"  first answer, s: median {statistics.median(one.first for one in runs):.4f}, longest", end=" ")
    print(f"{max(one.first for one in runs):.4f}")
    print(
        f"  proof, s: median {times['median']:.3f}, p90 {percentile(seconds, 0.9):.3f}, p99 {times['p99']:.3f},",
        end=" ",
    )
    print(f"longest {times['longest']:.3f} = {times['longest'] / yardstick:.1f} x loading the solver")
    print(f"  first-fit decreasing / ours: median {statistics.median(ratios):.4f},", end=" ")
    print(f"p90 {percentile(ratios, 0.9):.4f}, most {max(ratios):.4f}")
    if name != "published":
        met = ", ".join(f"{mark} {times[mark] / limit:.2f} of {limit:g} s" for mark, limit in MARKS)
        print(f"  against the marks (1 or less is met): {met}")
    for one in sorted(runs, key=lambda one: -one.seconds)[:slow]:
        print(f"    {one.seconds:7.3f} s  {one.case.name}, {one.case.pieces} pieces, {len(one.case.needs)} needs")


def main() -> None:
    """Run the sets asked for."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--lists", default="decks,random,close,published")
    parser.add_argument("--slow", type=int, default=3)
    args = parser.parse_args()
    yardstick = loading()
    print(f"loading the solver: {yardstick:.3f} s")
    sets = args.lists.split(",")
    if "decks" in sets:
        show("decks", [run(case) for case in deck_lists()], yardstick, args.slow)
    if "random" in sets:
        runs = [run(case) for seed in range(1, 6) for case in random_lists(60, seed)]
        show("random", runs, yardstick, args.slow)
    if "close" in sets:
        show("close prices", [run(close_prices(seed)) for seed in range(200)], yardstick, args.slow)
    if "published" in sets:
        pairs = [(run(case), optimum) for case, optimum in published_lists()]
        if pairs:
            show("published", [one for one, _ in pairs], yardstick, args.slow)
            print(f"  at the known optimum: {sum(one.plan.cost_e4 == best for one, best in pairs)} of {len(pairs)}")
        else:
            print("published: not beside the checkout")


if __name__ == "__main__":
    main()
