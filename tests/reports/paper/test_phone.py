"""The day sheet on a phone's screen in a real browser: no word breaks inside and nothing runs over the edge."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, date, datetime

import pytest
from playwright.sync_api import Page, sync_playwright

from tracker.book.hand import Hand
from tracker.book.opening import open_book
from tracker.book.samples import sample_files, take_sample
from tracker.book.sheet import day_sheet
from tracker.reports.daypaper import day_document
from tracker.reports.paper.html import to_html

CHROMIUM = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), None
)
FLAGS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-sync"]
DAY = date(2026, 5, 12)
BROKEN = """() => {
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), broken = [];
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    for (const word of node.data.matchAll(/[^\\s-\\/]+/g)) {
      const range = document.createRange();
      range.setStart(node, word.index);
      range.setEnd(node, word.index + word[0].length);
      const lines = new Set([...range.getClientRects()].map((box) => Math.round(box.top)));
      if (lines.size > 1) broken.push(word[0]);
    }
  }
  return broken;
}"""
OVER = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here: install the system's chromium package")


@pytest.fixture(scope="module")
def phone() -> Iterator[Page]:
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser.new_page(viewport={"width": 360, "height": 740}, device_scale_factor=2)
        browser.close()


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The day sheet of the sample jobs as HTML."""
    with closing(open_book(tmp_path_factory.mktemp("phone") / "jobs.book")) as book:
        hand = Hand("Owner (invented)", datetime(2026, 5, 12, 17, 30, tzinfo=UTC), DAY, "device-1")
        for file in sample_files():
            take_sample(book, hand, file)
        return to_html(day_document(day_sheet(book, DAY))).decode()


@pytest.mark.parametrize("width", [320, 360, 412, 600, 700])
def test_no_word_of_the_day_sheet_breaks_inside_and_nothing_runs_over(phone: Page, width: int, sheet: str) -> None:
    phone.set_viewport_size({"width": width, "height": 740})
    phone.set_content(sheet)
    assert phone.evaluate(BROKEN) == []
    assert phone.evaluate(OVER) <= 0


def test_a_word_that_breaks_is_found_out(phone: Page) -> None:
    phone.set_viewport_size({"width": 360, "height": 740})
    phone.set_content("<p style='width:3em;overflow-wrap:anywhere'>short unbreakableness</p>")
    assert phone.evaluate(BROKEN) == ["unbreakableness"]
