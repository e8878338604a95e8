"""Tables as comma-separated values (RFC 4180) that a spreadsheet opens as they are: no cell can run as a formula.

UTF-8, with the mark spreadsheets know it by. A cell that begins as a formula does gets a leading ``'``.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from tracker.planning.csvlines import marked

_MARK = "\ufeff"


def write_csv(header: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    """A header and rows of texts; line ends inside a cell are kept, so that it reads back as it was."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows([marked(cell) for cell in row] for row in rows)
    return (_MARK + out.getvalue()).encode()
