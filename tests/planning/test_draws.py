"""Payment schedules: typed, checked, and split so that the draws are the contract to the cent."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.errors import InputError
from tracker.planning.draws import Share, parse_draws, split_draws, usual_draws
from tracker.trade.rules import Rules

KEYS = ("layout", "frame", "boards", "final")


def test_the_house_schedule_split_by_hand() -> None:
    # 6,618.98: 10 % 661.898, 40 % 2,647.592, 30 % 1,985.694, rest 1,323.796. Floors leave 2 cents: to .898 and .796.
    shares = usual_draws(Rules(), KEYS)
    assert [share.name for share in shares] == ["deposit", "frame", "boards", "final"]
    assert split_draws(661_898, shares) == [66_190, 264_759, 198_569, 132_380]


def test_a_job_without_a_phase_has_no_draw_for_it() -> None:
    assert [share.name for share in usual_draws(Rules(), ("layout", "frame"))] == ["deposit", "frame"]
    with pytest.raises(InputError, match="more than 100 %"):
        usual_draws(Rules({"draw_frame": 900}), KEYS)


def test_fixed_amounts_percentages_and_the_rest() -> None:
    shares = parse_draws(["deposit=500", "frame=40%", "final=rest"], KEYS)
    assert shares == (Share("deposit", cents=50_000), Share("frame", 400), Share("final"))
    assert split_draws(200_000, shares) == [50_000, 80_000, 70_000]


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        (["frmae=10%"], "did you mean frame"), (["frame"], "is no draw"), (["frame=10%", "frame=20%"], "is there twice"),
        (["frame=rest", "final=rest"], "only one draw can be the rest"), ([], "no draw is named"), (["frame=x"], "not an amount"),
        (["frame=101%"], "more than 100"),
    ],
)  # fmt: skip
def test_a_schedule_that_is_none_says_why(typed: list[str], why: str) -> None:
    with pytest.raises(InputError, match=why):
        parse_draws(typed, KEYS)


@pytest.mark.parametrize(("typed", "why"), [(["frame=60%", "final=50%"], "more than all"), (["frame=60%"], "less than all"),
                                            (["frame=3000"], "more than all")])  # fmt: skip
def test_shares_that_are_not_the_whole_are_refused(typed: list[str], why: str) -> None:
    with pytest.raises(InputError, match=why):
        split_draws(200_000, parse_draws(typed, KEYS))


@given(st.integers(0, 10**8), st.lists(st.integers(0, 300), min_size=0, max_size=3))
def test_draws_add_up(total: int, tenths: list[int]) -> None:
    shares = [*(Share(name, share) for name, share in zip(KEYS, tenths, strict=False)), Share("final")]
    parts = split_draws(total, shares)
    assert sum(parts) == total and min(parts) >= 0
    for share, part in zip(shares[:-1], parts, strict=False):
        assert abs(part * 1000 - total * (share.tenths or 0)) < 1000
