"""Words on a screen that are given as much room as they take, however busy the machine is."""

from __future__ import annotations

from typing import Any

from textual import widgets


class Static(widgets.Static):
    """The toolkit's field of words, mended: words put in place of others are laid out anew whenever they come.

    The toolkit keeps how much room a widget takes until it has told the screen that this changed, and it tells only when it
    has nothing else to do. Where it is behind, and the screen is laid out for something else between two texts, the second
    would keep the room of the first: a line cut off until something else moves.
    """

    def update(self, content: Any = "", *, layout: bool = True) -> None:
        """Put other words in the place of these."""
        super().update(content, layout=layout)
        if layout:
            self._box_model_cache.clear()
