"""Payment schedules: typed, checked, and split so that the draws are the contract to the cent."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.book.ledger import shares_from_json, shares_json
from tracker.errors import InputError
from tracker.planning.draws import Share, parse_draws, share_of_whole, split_draws, usual_draws
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
        usual_draws(Rules({"draw_frame": 9_000}), KEYS)


def test_fixed_amounts_percentages_and_the_rest() -> None:
    shares = parse_draws(["deposit=500", "frame=40%", "final=rest"], KEYS)
    assert shares == (Share("deposit", cents=50_000), Share("frame", 400), Share("final", odd_cent=True))
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


def test_shares_take_two_decimals_and_still_sum_to_the_cent() -> None:
    # Thirds of 6,618.98: 33.33 % is 2,206.1060 each, 2,206.11 to the cent; the rest is what that leaves.
    shares = parse_draws(["frame=33.33%", "boards=33.33 %", "final=rest"], KEYS)
    assert [share.percent for share in shares] == [3333, 3333, 0] and shares[0].percent_text == "33.33 %"
    assert split_draws(661_898, shares) == [220_611, 220_611, 220_676]
    with pytest.raises(InputError, match="is not a share"):
        parse_draws(["frame=33.333%"], KEYS)


def test_equal_shares_are_equal_amounts_and_the_rest_takes_the_odd_cent() -> None:
    # 33.33 % of 7,813.58 is 2,604.2662.
    shares = parse_draws(["deposit=33.33%", "frame=33.33%", "final=rest"], KEYS)
    assert split_draws(781_358, shares) == [260_427, 260_427, 260_504]
    assert shares_from_json(shares_json(shares)) == shares
    # Halves of a cent would both be rounded up: more than all of it, so largest remainder decides.
    assert split_draws(1, parse_draws(["deposit=50%", "frame=49.99%", "final=rest"], KEYS)) == [1, 0, 0]
    # What an older version kept is invoiced by what it said then.
    kept: list[dict[str, object]] = [{"name": "deposit", "tenths": 333, "cents": None, "hundredths": 3},
            {"name": "frame", "tenths": 333, "cents": None, "hundredths": 3},
            {"name": "final", "tenths": None, "cents": None}]  # fmt: skip
    assert split_draws(781_358, shares_from_json(kept)) == [260_427, 260_426, 260_505]


@given(st.integers(0, 10**8), st.integers(1, 4_999))
def test_two_equal_shares_and_the_rest(total: int, percent: int) -> None:
    text = share_of_whole("frame", percent).percent_text
    one, two, rest = split_draws(total, parse_draws([f"frame={text}", f"boards={text}", "final=rest"], KEYS))
    assert one + two + rest == total and rest >= 0 and one == two


def test_shares_of_older_entries_read_as_before_and_old_ones_are_written_as_before() -> None:
    assert shares_from_json([{"name": "frame", "tenths": 405, "cents": None}])[0].percent == 4050
    old: list[dict[str, object]] = [
        {"name": "frame", "tenths": 400, "cents": None},
        {"name": "final", "tenths": None, "cents": None},
    ]
    assert shares_json(shares_from_json(old)) == old
    fine = parse_draws(["frame=33.33%", "final=rest"], KEYS)
    assert shares_from_json(shares_json(fine)) == fine


@given(st.integers(0, 10**8), st.lists(st.integers(0, 3_000), min_size=0, max_size=3))
def test_draws_add_up(total: int, percents: list[int]) -> None:
    shares = [
        *(share_of_whole(name, share) for name, share in zip(KEYS, percents, strict=False)),
        Share("final", odd_cent=True),
    ]
    parts = split_draws(total, shares)
    assert sum(parts) == total and min(parts) >= 0
    for share, part in zip(shares[:-1], parts, strict=False):
        assert abs(part * 10_000 - total * share.percent) < 10_000
        assert parse_draws([f"{share.name}={share.percent_text}"], KEYS) == (share,), "what is printed reads back"
