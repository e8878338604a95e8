"""A connection to the file that ends its queries when it is given back or closed."""

from __future__ import annotations

import sqlite3
from typing import Any
from weakref import WeakSet


class BookConnection(sqlite3.Connection):
    """A connection that leaves no query open.

    A query given up half-way (a row that cannot be read, say) keeps its lock on the file until its cursor is gone, through
    ROLLBACK and even through closing the connection; and whoever keeps the error keeps the cursor.
    """

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._asked: WeakSet[sqlite3.Cursor] = WeakSet()

    def cursor(self, factory: Any = sqlite3.Cursor) -> Any:
        """A cursor, which is closed with what it belongs to."""
        cursor = super().cursor(factory)
        self._asked.add(cursor)
        return cursor

    def execute(self, sql: str, parameters: Any = (), /) -> sqlite3.Cursor:
        """Run a statement by a cursor of its own."""
        cursor: sqlite3.Cursor = self.cursor()
        return cursor.execute(sql, parameters)

    def executemany(self, sql: str, parameters: Any, /) -> sqlite3.Cursor:
        """Run a statement for each of the parameters."""
        cursor: sqlite3.Cursor = self.cursor()
        return cursor.executemany(sql, parameters)

    def rollback(self) -> None:
        """End what was not committed, and every query."""
        self._end_queries()
        super().rollback()

    def close(self) -> None:
        """End every query and let go of the file."""
        self._end_queries()
        super().close()

    def _end_queries(self) -> None:
        for cursor in list(self._asked):
            cursor.close()
        self._asked.clear()
