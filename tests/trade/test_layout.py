"""Joist layout. Figures without a source beside them are common practice or follow from the sizes."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.trade.geometry_cases import inch
from tracker.errors import InputError
from tracker.trade.layout import contact_points, joist_marks, layout_answer
from tracker.trade.lengths import FOOT, INCH, SIXTEENTH, Unit


def test_ten_foot_rim_at_sixteen_takes_nine_joists() -> None:
    # Common practice: (120 - 1-1/2) / 16 = 7.4, up to 8, plus 1; marks at the layout diamonds' 16, 32, 48 ...
    marks = joist_marks(inch(120), inch(16), inch(1.5))
    assert [m / INCH for m in marks] == [0.75, 16, 32, 48, 64, 80, 96, 112, 119.25]


@pytest.mark.parametrize(
    ("feet", "spacing", "joists"),
    [(8, 16, 7), (12, 16, 10), (16, 16, 13), (20, 24, 11), (12, 12, 13), (16, 24, 9)],
)
def test_a_rim_of_whole_bays_takes_length_over_spacing_plus_one(feet: int, spacing: int, joists: int) -> None:
    # Common practice: joists = length / spacing + 1 where the spacing goes in evenly.
    assert len(joist_marks(feet * FOOT, spacing * INCH, inch(1.5))) == joists


@given(
    length=st.integers(24 * 16, 480 * 16).map(lambda k: k * SIXTEENTH),
    spacing=st.sampled_from([12, 16, 19.2, 24]).map(inch),
    thickness=st.sampled_from([1.5, 1.75, 3.5]).map(inch),
)
def test_no_bay_wider_than_the_spacing_and_no_joists_overlap(length: int, spacing: int, thickness: int) -> None:
    marks = joist_marks(length, spacing, thickness)
    bays = [b - a for a, b in pairwise(marks)]
    assert marks[0] == thickness / 2
    assert marks[-1] == length - thickness / 2
    assert max(bays) <= spacing
    # Room for a hanger and a hammer: two thicknesses clear, where the spacing has as much (common practice).
    assert min(bays) - thickness >= min(2 * thickness, (spacing - 2 * thickness) // 2)
    # One joist fewer could not hold every bay to the spacing.
    assert (len(marks) - 2) * spacing < length - thickness
    assert all((mark - marks[1]) % spacing == 0 for mark in marks[1:-2])


def test_marks_move_over_where_the_last_bay_would_be_too_wide() -> None:
    # 97-1/2 in: 6 bays of 16 in hold the 96 in between centres only when the first bay is a full one too.
    marks = joist_marks(inch(97.5), inch(16), inch(1.5))
    assert [m / INCH for m in marks] == [0.75, 16.75, 32.75, 48.75, 64.75, 80.75, 96.75]


@pytest.mark.parametrize(
    ("length", "last"),
    [
        # The mark at 128 in would leave its joist 3/4 in from overlapping the last: it stands halfway, 112 to 129-1/4 in.
        (130, [112, 120.625, 129.25]),
        # 9 ft 6 in: the mark at 112 in is 1-1/4 in from the last joist's middle; halfway from 96 to 113-1/4 in.
        (114, [96, 104.625, 113.25]),
        # 3 in clear is enough: 112 in and the last at 116-1/2 in.
        (117.25, [96, 112, 116.5]),
        (117.1875, [96, 106.1875, 116.4375]),
    ],
)
def test_a_joist_with_no_room_beside_the_last_stands_in_the_middle(length: float, last: list[float]) -> None:
    marks = joist_marks(inch(length), inch(16), inch(1.5))
    assert [m / INCH for m in marks[-3:]] == last


def test_the_answer_gives_pencil_lines_that_run_from_one_end() -> None:
    answer = layout_answer(inch(120), inch(16), inch(1.5), Unit.INCH).answer
    assert answer["count"] == 9
    assert answer["marks_in"] == [0.75, 16, 32, 48, 64, 80, 96, 112, 119.25]
    # Common practice: the near edge of a joist on 16 in centres is struck at 15-1/4 in.
    assert answer["leading_edge_marks_in"] == [0, 15.25, 31.25, 47.25, 63.25, 79.25, 95.25, 111.25, 118.5]


def test_the_pencil_lines_are_told_in_the_job_s_unit() -> None:
    assert "15-1/4 in" in layout_answer(inch(120), inch(16), inch(1.5), Unit.INCH).moves[0]
    metric = layout_answer(3_600_000_000, 400_000_000, 45_000_000, Unit.MM)
    assert "378 mm" in metric.moves[0]  # 400 - 45 / 2 = 377.5


@pytest.mark.parametrize(
    ("length", "spacing", "thickness"),
    [
        (0, 16, 1.5),
        (-120, 16, 1.5),
        (120, 0, 1.5),
        (120, -16, 1.5),
        (120, 16, 0),
        (120, 2, 1.5),
        (1e6, 16, 1.5),
        (120, 16, 40),
    ],
)
def test_sizes_no_frame_has_are_refused(length: float, spacing: float, thickness: float) -> None:
    with pytest.raises(InputError):
        joist_marks(inch(length), inch(spacing), inch(thickness))


def test_a_twelve_foot_joist_held_every_five_feet_takes_four_supports() -> None:
    assert contact_points(12 * FOOT, 5 * FOOT) == (0, 4 * FOOT, 8 * FOOT, 12 * FOOT)


@given(length=st.integers(INCH, 40 * FOOT), longest=st.integers(INCH, 20 * FOOT))
def test_supports_are_even_and_never_too_far_apart(length: int, longest: int) -> None:
    points = contact_points(length, longest)
    gaps = [b - a for a, b in pairwise(points)]
    assert (points[0], points[-1]) == (0, length)
    assert max(gaps) <= longest
    assert max(gaps) - min(gaps) <= 1
    assert (len(points) - 2) * longest < length


@pytest.mark.parametrize(("length", "longest"), [(0, FOOT), (-FOOT, FOOT), (FOOT, 0), (20_000 * FOOT, INCH)])
def test_supports_of_nothing_are_refused(length: int, longest: int) -> None:
    with pytest.raises(InputError):
        contact_points(length, longest)
