"""The field packet: everything a crew lead needs in the yard, with room to write."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from tests.reports.paper.reading import read_pdf
from tests.reports.paper.test_html import parsed
from tracker.book.buying import cut_list
from tracker.book.buyviews import CutListView
from tracker.book.hand import Hand
from tracker.book.jobs import job_view, take_job
from tracker.book.opening import open_book
from tracker.book.views import JobView, PhaseState
from tracker.errors import InputError
from tracker.planning.cutplan import Cut, Stick, Stock
from tracker.reports.drawing import draw_of
from tracker.reports.fieldpacket import packet_document, packet_phases
from tracker.reports.page import plain
from tracker.reports.paper.html import to_html
from tracker.reports.paper.pdf import to_pdf
from tracker.reports.paper.text import document_json, to_page
from tracker.reports.stickpaper import stick_svg
from tracker.trade.jobfile import parse_job_bytes
from tracker.trade.lengths import FOOT, INCH, Unit
from tracker.trade.tapelist import tape_lines, tape_list

SAMPLES = Path(__file__).parents[2] / "sample_jobs"
DAY = date(2026, 5, 12)


@pytest.fixture(scope="module")
def raised(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[JobView, CutListView]]:
    """The raised deck of the sample jobs, with its cut list."""
    book = open_book(tmp_path_factory.mktemp("packet") / "jobs.book")
    hand = Hand("Owner (invented)", datetime(2026, 5, 12, 17, 30, tzinfo=UTC), DAY, "device-1")
    file = SAMPLES / "26-015-ridge-step.toml"
    take_job(book, hand, parse_job_bytes(file.read_bytes(), file.name))
    yield job_view(book, "26-015", DAY), cut_list(book, DAY, ["26-015"])
    book.close()


@pytest.fixture(scope="module")
def told(raised: tuple[JobView, CutListView]) -> str:
    """The text of the packet's PDF, its line ends as spaces."""
    pages = read_pdf(to_pdf(packet_document(*raised, DAY)))
    return " ".join(" ".join(page.text for page in pages).split())


def test_every_mark_of_every_rim_is_on_it(raised: tuple[JobView, CutListView], told: str) -> None:
    view = raised[0]
    for platform in view.spec.platforms:
        drawing = draw_of(view, platform)
        for tape in tape_list(drawing.frame):
            head, *marks = tape_lines(tape, drawing.unit)
            assert head in told
            for mark in marks:
                assert mark in told
        for dimension in drawing.dimensions:
            assert dimension.text in told


def test_every_check_ahead_is_on_it_with_its_limit_and_source(raised: tuple[JobView, CutListView], told: str) -> None:
    for phase in packet_phases(raised[0]):
        assert phase.title in told and phase.state is not PhaseState.SIGNED_OFF
        assert not phase.hold or f"hold point {phase.hold}" in told
        for text in phase.cautions:
            assert text in told
        for check in phase.checks:
            assert f"{check.title}: {check.asks}" in told
            for field in () if check.settled else check.form.fields:
                assert field.label in told
    # The limits of the square check at this size, and of a stair (IRC R311.7), before anything is read.
    assert "between the diagonals, diagonal up to 20 ft: 1/4 in" in told
    assert "riser at the most: 7-3/4 in" in told and "Source: IRC R311.7" in told


def test_tickets_material_and_signatures(raised: tuple[JobView, CutListView], told: str) -> None:
    view = raised[0]
    for key in ("locate", "permit"):
        last = view.check(key).last
        assert last is not None and last.entered[0][1] in told
    for delivery in view.deliveries:
        assert f"lot {delivery.lot}" in told
    assert "phone, client" in told and "crew lead: measured and written down as found" in told


def test_every_stick_is_drawn_with_its_pieces(raised: tuple[JobView, CutListView], told: str) -> None:
    for size in raised[1].sizes:
        assert size.key in told
        for stick in size.plan.sticks:
            assert f"× {stick.stock.name}" in told


def test_a_stick_is_to_scale_and_its_offcut_hatched() -> None:
    stock = Stock(16 * FOOT, 0, name="2x8x16")
    stick = Stick(stock, (Cut(8 * FOOT, "joist"), Cut(4 * FOOT, "joist")), 4 * FOOT - INCH // 2)
    svg = stick_svg(stick, 16 * FOOT, INCH // 8, INCH // 4, Unit.INCH)
    assert 'width="89"' in svg and 'width="44.5"' in svg  # 8 ft and 4 ft of 16 ft in 178 mm
    assert "8&apos; joist" in svg or "8' joist" in svg
    assert svg.count("<line") > 10


def test_a_ticket_that_ran_out_is_nothing_anybody_went_past(tmp_path: Path) -> None:
    book, day = open_book(tmp_path / "jobs.book"), date(2026, 5, 14)
    hand = Hand("Owner (invented)", datetime(2026, 5, 14, 17, 30, tzinfo=UTC), day, "device-1")
    (file,) = SAMPLES.glob("26-023-*.toml")
    take_job(book, hand, parse_job_bytes(file.read_bytes(), file.name))
    text = plain(to_page(packet_document(job_view(book, "26-023", day), cut_list(book, day, ["26-023"]), day)), 100)
    book.close()
    assert "gone past" not in text.lower()
    under = "Utility locate: not settled, and Strip and grade stands on it"
    assert under in text.partition("Not settled under work that has begun")[2]


def test_one_phase_alone(raised: tuple[JobView, CutListView]) -> None:
    view = raised[0]
    assert [phase.key for phase in packet_phases(view, "frame")] == ["frame"]
    with pytest.raises(InputError, match="did you mean frame"):
        packet_phases(view, "fram")


def test_html_is_valid_and_text_and_json_say_the_same(raised: tuple[JobView, CutListView]) -> None:
    document = packet_document(*raised, DAY, "frame")
    html = to_html(document)
    parsed(html)
    assert html == to_html(document)
    text = plain(to_page(document), 100)
    assert "CAUTION" in text and "________" in text and "Frame square" in text
    found = document_json(document)
    assert found["day"] == "2026-05-12" and "svg" not in str(found)
