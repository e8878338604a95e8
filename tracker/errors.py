"""The errors a user can meet, each with the exit code the shell sees.

A leaf: everything may import it. The outermost edge (``cli``) is the only place that prints them.
"""

from __future__ import annotations

from collections.abc import Iterable


class TrackerError(Exception):
    """Something the user can understand and act on.

    ``message`` says what was wrong and where; ``hint`` says what would be right or what is safe.
    """

    exit_code = 70

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint


class RefusedError(TrackerError):
    """The answer is no: a gate is shut, a quantity is not there. Exit 1."""

    exit_code = 1


class InputError(TrackerError):
    """What was typed or read from a file cannot be used. Exit 2."""

    exit_code = 2


class InputErrors(InputError):
    """Several faults of one input, shown together; ``problems`` are single lines."""

    def __init__(self, problems: Iterable[str], hint: str = "") -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(self.problems), hint)


class BookError(TrackerError):
    """The book cannot be used: busy, read-only, full, damaged, newer or not ours. Exit 3."""

    exit_code = 3


class ConflictError(TrackerError):
    """Somebody else changed it meanwhile; what was typed is kept. Exit 4."""

    exit_code = 4
