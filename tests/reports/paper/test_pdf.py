"""The PDF: every character inside the margins and on no other, lists that break properly, the same bytes every time."""

from __future__ import annotations

import re
from contextlib import closing
from datetime import date
from io import BytesIO

import pypdf
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.reports.paper.documents import HEBREW, NAMES, document, every_block, one_page, whole
from tests.reports.paper.reading import PageRead, all_text, read_pdf
from tracker.errors import InputError
from tracker.reports.paper.model import Block, Bullets, Document, Figure, KeyValues, OnePage, Paper, Paragraph, table
from tracker.reports.paper.pdf import BOTTOM, SIDE, TOP, to_pdf

SLACK = 0.6
"""mm: ink may pass the width the font gives a character by that much."""


@pytest.fixture(scope="module", params=list(Paper))
def pages(request: pytest.FixtureRequest) -> list[PageRead]:
    """Everything at once, on either paper."""
    return read_pdf(to_pdf(whole(), request.param))


@pytest.mark.parametrize(("paper", "size"), [("letter", (612.0, 792.0)), ("a4", (595.28, 841.89))])
def test_sizes_are_those_of_the_standards(paper: str, size: tuple[float, float]) -> None:
    # 8 1/2 by 11 in and 210 by 297 mm (ISO 216), in points of 1/72 in.
    box = pypdf.PdfReader(BytesIO(to_pdf(document(Paragraph("x")), paper))).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(size, abs=0.02)


def test_another_paper_is_refused() -> None:
    with pytest.raises(InputError, match="not a paper size"):
        to_pdf(document(Paragraph("x")), "a3")


def test_nothing_stands_outside_the_margins(pages: list[PageRead]) -> None:
    for page in pages:
        for char in page.chars:
            assert char.left >= SIDE - SLACK and char.right <= page.width - SIDE + SLACK, (char, page.width)
            assert char.bottom >= BOTTOM - SLACK and char.top <= page.height - TOP + SLACK, char


def test_no_text_lies_on_another(pages: list[PageRead]) -> None:
    for page in pages:
        ink = sorted(page.chars, key=lambda char: char.left)
        for number, one in enumerate(ink):
            for other in ink[number + 1 :]:
                if other.left > one.right - 0.3:
                    break
                across = min(one.right, other.right) - other.left
                along = min(one.top, other.top) - max(one.bottom, other.bottom)
                wide = min(one.right - one.left, other.right - other.left)
                assert not (across > 0.5 * wide and across > 0.3 and along > 0.5), (one, other)


def test_every_page_says_which_of_how_many(pages: list[PageRead]) -> None:
    for number, page in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in page.text


def test_a_long_table_breaks_between_rows_with_its_header_again() -> None:
    plain = table(("item", "known as", "cost"), [(f"row {k}", "plain", f"${k}.00") for k in range(100)],
                  right=(2,), total=("in all", "", "$64,350.00"))  # fmt: skip
    pages = read_pdf(to_pdf(document(plain)))
    texts = [" ".join(page.text.split()) for page in pages]
    holding = [text for text in texts if re.search(r"row \d", text)]
    assert len(holding) > 1 and all("item known as cost" in text for text in holding)
    found = re.findall(r"row (\d+)", " ".join(texts))
    assert found == [str(number) for number in range(100)]
    assert "in all" in texts[-1] and "row 99" in texts[-1] and "$64,350.00" in texts[-1]


def test_the_figures_can_be_read_out_by_another_library() -> None:
    reader = pypdf.PdfReader(BytesIO(to_pdf(document(*every_block()))))
    text = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    for figure in ("$1,180.00 of $1,904.00 bought", "bought $1,180.00", "within 1/8 in", "14 ft wide", "12 ft deep"):
        assert figure in text
    assert reader.metadata is not None and str(reader.metadata["/CreationDate"]).startswith("D:20260512")
    assert reader.trailer["/Root"]["/Lang"] == "en"  # type: ignore[index]


def test_a_text_that_reads_leftwards_stands_leftwards() -> None:
    # Unicode Standard Annex 9: in a line that begins from the left, "(12)" stays as it is between words that run leftwards.
    bare = Document("Plain", "", date(2026, 5, 30), (Paragraph(f"from the left: {HEBREW}"),))
    (page,) = read_pdf(to_pdf(bare))
    at = {char.text: char.left for char in page.chars if char.bottom > 40}
    assert at["ג"] > at["2"] > at["1"] > at["ס"] > at["ף"]


@pytest.mark.parametrize(("lines", "words"), [(1, 1), (12, 60), (40, 1), (100, 1), (100, 60)])
def test_a_one_page_part_takes_one_page_and_counts_what_it_leaves_out(lines: int, words: int) -> None:
    pages = read_pdf(to_pdf(document(one_page(lines, words), one_page(1))))
    assert len(pages) == 2
    text = " ".join(pages[0].text.split())
    shown = (len(re.findall(r"point \d+", text)), len(re.findall(r"line \d+", text)))
    left_out = [int(number) for number in re.findall(r"and (\d+) more lines?, see the job's page", text)]
    assert sum(shown) + sum(left_out) == 2 * lines and min(shown) >= 1


def test_the_last_list_loses_its_tail_first() -> None:
    first = KeyValues(tuple((f"word {k}", "what needs you") for k in range(12)))
    last = table(("item",), [(f"thing {k}",) for k in range(90)])
    text = all_text(to_pdf(document(OnePage((first, last), "see all"))))
    assert text.count("what needs you") == 12 and re.search(r"and \d+ more lines, see all", text)


def test_a_text_longer_than_a_page_is_cut_with_a_word_for_it() -> None:
    text = "one more word " * 2000
    pages = read_pdf(to_pdf(document(OnePage((Paragraph(text),), "see the job's page"))))
    assert len(pages) == 1 and "... (see the job's page)" in " ".join(pages[0].text.split())
    assert len(read_pdf(to_pdf(document(Paragraph(text))))) > 3


def test_the_same_document_gives_the_same_bytes() -> None:
    assert to_pdf(whole()) == to_pdf(whole())


def test_a_character_no_font_has_stands_as_a_box() -> None:
    text = all_text(to_pdf(document(Bullets(NAMES), foot="")))
    assert "a family □□ and □" in text
    assert "\N{REPLACEMENT CHARACTER}[31m" in text and "{nb}" in text


ANY = st.text(st.characters(codec="utf-8"), max_size=60)


@settings(max_examples=examples(8, 160), deadline=None)
@given(st.lists(ANY, min_size=1, max_size=6))
def test_no_text_breaks_a_page(texts: list[str]) -> None:
    blocks: tuple[Block, ...] = (Bullets(tuple(texts)), KeyValues(tuple((text, text) for text in texts)))
    for page in read_pdf(to_pdf(Document(texts[0], texts[-1], date(2026, 5, 12), blocks, texts[0]))):
        assert all(char.left >= SIDE - SLACK and char.right <= page.width - SIDE + SLACK for char in page.chars)


def test_what_a_drawing_clips_is_clipped() -> None:
    # A square 40 mm wide of which the drawing shows the left half only; it is drawn 180 mm wide.
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 10"><clipPath id="half"><rect x="0" y="0" width="20" '
        'height="10"/></clipPath><g clip-path="url(#half)"><rect x="0" y="0" width="40" height="10" fill="#000"/></g></svg>'
    )
    bare = Document("", "", date(2026, 5, 12), (Figure(svg, "half a bar"),))
    with closing(pypdfium2.PdfDocument(to_pdf(bare))) as pdf:
        image = pdf[0].render(scale=0.5).to_pil().convert("L")
    columns = [image.crop((x, 30, x + 1, image.height // 3)) for x in range(image.width)]
    dark = [x for x, column in enumerate(columns) if column.getextrema()[0] < 60]
    middle = image.width / 2
    assert dark and min(dark) < middle - 100 and max(dark) <= middle + 2
