"""The HTML: valid by a parser of the standard, self-contained, with its structure, and harmless whatever the names."""

from __future__ import annotations

import base64
import re
from xml.etree.ElementTree import Element

import html5lib
import pytest

from tests.reports.paper.documents import HOSTILE, NAMES, SVG, document, long_table, one_page, whole
from tracker.reports.paper.html import to_html
from tracker.reports.paper.model import Document, OnePage, Paragraph
from tracker.text import clean

NS = "{http://www.w3.org/1999/xhtml}"


def parsed(data: bytes) -> Element:
    """The page as the WHATWG parser reads it; it raises on the first fault."""
    tree = html5lib.HTMLParser(html5lib.getTreeBuilder("etree"), strict=True).parse(data)
    assert isinstance(tree, Element)
    return tree


@pytest.fixture(scope="module")
def page() -> Element:
    return parsed(to_html(whole()))


def told(node: Element) -> str:
    return "".join(node.itertext())


def test_it_is_valid_and_speaks_its_language(page: Element) -> None:
    assert page.get("lang") == "en"
    assert [told(node) for node in page.iter(f"{NS}h1")] == [whole().title]
    assert told(next(page.iter(f"{NS}title"))) == whole().title


def test_nothing_runs_and_nothing_is_fetched(page: Element) -> None:
    names = {node.tag.removeprefix(NS) for node in page.iter() if isinstance(node.tag, str)}
    assert not names & {"script", "link", "iframe", "object", "embed", "form", "input", "base", "a"}
    for node in page.iter():
        assert not [name for name in node.attrib if name.startswith("on") or name in ("href", "srcset")]
        assert node.get("src", "data:image/svg+xml;base64,").startswith("data:image/svg+xml;base64,")
    style = told(next(page.iter(f"{NS}style")))
    assert "url(" not in style and "@import" not in style and "@page" in style


def test_every_name_is_there_as_it_is(page: Element) -> None:
    items = [told(node) for node in page.iter(f"{NS}li")]
    for name in NAMES:
        assert clean(name) in items
    assert clean(HOSTILE).startswith("</td>")


def test_tables_have_headers_with_a_scope_and_figures_their_words(page: Element) -> None:
    heads = list(page.iter(f"{NS}th"))
    assert heads and all(node.get("scope") in ("col", "row") for node in heads)
    images = list(page.iter(f"{NS}img"))
    assert images and all(node.get("alt", "").startswith("a plan") for node in images)
    data = images[0].get("src", "").partition(",")[2]
    assert base64.b64decode(data).decode() == SVG


def test_a_long_table_is_whole_with_its_total() -> None:
    page = parsed(to_html(document(long_table())))
    rows = [[told(cell) for cell in row.iter(f"{NS}td")] for row in page.iter(f"{NS}tr")]
    assert [row[0] for row in rows if row and row[0].startswith("row ")] == [f"row {k}" for k in range(100)]
    assert rows[-1] == ["in all", "", "$64,350.00"]


def test_a_one_page_part_counts_what_it_leaves_out() -> None:
    text = to_html(document(one_page(100))).decode()
    shown = len(re.findall(r">point \d+", text)) + len(re.findall(r">line \d+", text))
    left_out = sum(int(number) for number in re.findall(r"and (\d+) more lines?, see", text))
    assert shown + left_out == 200 and left_out > 0


def test_the_same_document_gives_the_same_bytes() -> None:
    assert to_html(whole()) == to_html(whole())


def test_an_empty_title_still_makes_a_valid_page() -> None:
    bare = Document("", "", whole().day, (OnePage((Paragraph(""),), "see"),))
    assert told(next(parsed(to_html(bare)).iter(f"{NS}title"))) == "2026-05-12"
