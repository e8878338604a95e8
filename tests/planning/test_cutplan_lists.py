"""Cut plans of decks from 8 x 8 to 24 x 40 ft, of random lists, and of the published sets at their known optima."""

from __future__ import annotations

import pytest

from tests.planning.cutplan_checks import by_hand, replay
from tests.planning.cutplan_lists import (
    DECKS_FT,
    PUBLISHED,
    Case,
    deck_lists,
    published_lists,
    random_lists,
)
from tracker.planning.cutplan import plan_cuts

_DECKS = list(deck_lists())


def _proven(case: Case) -> int:
    made = plan_cuts(case.needs, case.stocks, kerf_nm=case.kerf_nm, trim_nm=case.trim_nm)
    replay(made, case.needs, case.stocks)
    assert made.proven, case.name
    return made.cost_e4


@pytest.mark.parametrize("deck", [f"{depth}x{length}" for depth, length in DECKS_FT])
def test_every_list_of_a_deck_is_proven_cheapest(deck: str) -> None:
    cases = [case for case in _DECKS if case.name.split()[0] == deck]
    assert len(cases) == 16
    for case in cases[::2]:  # every second one; benchmarks/cutting.py solves all
        assert _proven(case) <= by_hand(case.needs, case.stocks, case.kerf_nm, case.trim_nm)


@pytest.mark.parametrize("part", range(4))
def test_random_lists_are_proven_cheapest(part: int) -> None:
    for case in list(random_lists())[part::8]:  # every second one; benchmarks/cutting.py solves all
        assert _proven(case) <= by_hand(case.needs, case.stocks, case.kerf_nm, case.trim_nm)


@pytest.mark.skipif(not PUBLISHED.exists(), reason="the published sets are not beside the checkout (not ours to ship)")
def test_published_sets_at_their_known_optima() -> None:
    # Delorme, Iori, Martello, BPPLIB (see cutplan_lists): Falkenauer, Schwerin, Wäscher, one board cost 1.
    cases = list(published_lists())
    assert len(cases) >= 47
    unproven = []
    for case, optimum in cases[::3]:  # every third one; benchmarks/cutting.py solves all
        made = plan_cuts(case.needs, case.stocks, kerf_nm=0, trim_nm=0)
        replay(made, case.needs, case.stocks)
        assert made.cost_e4 == optimum, case.name
        assert made.bound_e4 <= optimum, case.name
        if not made.proven:
            unproven.append(case.name)
    assert len(unproven) <= 1, unproven
