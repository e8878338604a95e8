"""Loading the samples into a book a person uses: each once, and never over a job that is there."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tracker.book.hand import Hand
from tracker.book.jobs import job_view
from tracker.book.opening import Book
from tracker.book.samples import sample_files, take_sample
from tracker.errors import RefusedError


def test_a_sample_is_taken_once_and_moved_to_the_week(book: Book, hand: Hand) -> None:
    file = sample_files()[0]
    assert take_sample(book, hand, file).change == "new"
    with pytest.raises(RefusedError, match="already"):
        take_sample(book, hand, file)


def test_a_job_of_the_same_code_is_left_as_it_is(book: Book, hand: Hand, take: Callable[..., str]) -> None:
    file = sample_files()[0]
    code = file.name[:6]
    take(code=code, title="My own job")
    with pytest.raises(RefusedError):
        take_sample(book, hand, file)
    assert job_view(book, code, hand.day).line.title == "My own job"
