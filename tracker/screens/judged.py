"""What the typed values come to, beside or below the form: the word in its fixed place, then the verdict and the picture."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.content import Content

from tracker.book.views import Tried
from tracker.errors import TrackerError
from tracker.reports.drawing_text import needs_ascii
from tracker.reports.picture import draw_reading, has_picture
from tracker.screens import words
from tracker.screens.frame import words_of
from tracker.screens.planwidget import content_of
from tracker.screens.rows import encoding_of
from tracker.screens.static import Static
from tracker.text import count
from tracker.trade.answer import Answer, Verdict, result


class Judged(Vertical):
    """The verdict on a draft of the check ``key``, and its picture; where both have no room ``swap`` shows the other."""

    def __init__(self, key: str) -> None:
        super().__init__(id="panel")
        self.key = key
        self.drawn = has_picture(key)
        self.tried: Tried | None = None
        self.left_out = 0
        self.both = False
        self.pictured = False

    def compose(self) -> ComposeResult:
        """The word, the verdict in full, the picture."""
        yield Static(id="word", markup=False)
        with VerticalScroll(id="verdict"):
            yield Static(id="judged", markup=False)
        yield Static(id="picture", markup=False)

    @property
    def swaps(self) -> bool:
        """Whether there is a picture that has no room beside the verdict."""
        return self.drawn and not self.both

    def lay_out(self, both: bool) -> None:
        """Show the verdict and the picture, or the one of them chosen."""
        self.both = both
        self.query_one("#verdict").display = not (self.swaps and self.pictured)
        self.query_one("#picture").display = self.drawn and (both or self.pictured)
        self.query_one("#verdict").set_class(self.drawn and both, "-shared")
        self.call_after_refresh(self.redraw)

    def swap(self) -> bool:
        """Show the other of verdict and picture; returns whether it is the picture now."""
        self.pictured = not self.pictured
        self.lay_out(self.both)
        return self.pictured

    def show(self, tried: Tried, left_out: int) -> None:
        """Show what a draft came to, so many values of it not understood and left out."""
        self.tried, self.left_out = tried, left_out
        self.redraw()

    def complain(self, error: TrackerError) -> None:
        """Show why no verdict could be asked."""
        self.tried = None
        self.query_one("#word", Static).update(words.say(" × CANNOT BE READ ", "$error bold reverse"))
        self.query_one("#judged", Static).update(words.say(words_of(error), "$error"))
        self.query_one("#picture", Static).update("")

    def redraw(self) -> None:
        """Put everything in its place, for the room there is now."""
        tried = self.tried
        if tried is None or not self.is_attached:
            return
        self.query_one("#word", Static).update(self._word(tried))
        width = max(self.query_one("#verdict").size.width - 3, 30)
        if tried.answer is not None:
            self.query_one("#judged", Static).update(words.stack(self._verdict(tried.answer, width)))
        elif tried.refused is not None:
            self.query_one("#judged", Static).update(words.say(words_of(tried.refused), "$error"))
        picture = self.query_one("#picture", Static)
        if picture.display:
            room, plain = picture.content_size, needs_ascii(encoding_of(self.app))
            picture.update(content_of(draw_reading(tried, room.width, room.height, ascii_only=plain)))

    def _word(self, tried: Tried) -> Content:
        """The word of the verdict; where the picture hides the rest, what it rests on too."""
        if tried.answer is None:
            word = words.say(" × CANNOT BE RIGHT ", "$error bold reverse")
            said = words_of(tried.refused) if tried.refused else ""
        else:
            verdict = tried.answer.verdict or Verdict.INCOMPLETE
            text = f" {words.VERDICT_MARKS[verdict]} {words.VERDICT_WORDS[verdict]} "
            wanted = verdict is Verdict.INCOMPLETE and tried.answer.moves
            said = tried.answer.moves[0] if wanted else result(tried.answer, self.key)
            word = words.say(text, words.VERDICT_STYLES[verdict])
        if not (self.swaps and self.pictured):
            return word
        told = f"{self.left_out} not understood; {said}" if self.left_out else said
        room = max(self.size.width - 3 - word.cell_length, 0)
        return words.line(word, " ", words.say(words.fit(told, room).rstrip(), words.STRONG))

    def _verdict(self, answer: Answer, width: int) -> list[Content]:
        """The verdict in full: the moves, the figures, the limits."""
        rows: list[Content] = []
        if self.left_out:
            rows.append(words.say(f"{count(self.left_out, 'value')} not understood and left out", "$error"))
        if (answer.verdict or Verdict.INCOMPLETE) is not Verdict.INCOMPLETE or not answer.moves:
            rows.append(words.hang(result(answer, self.key), width, style=words.STRONG))
        rows += words.moves(answer, self.key, width)
        rows += [words.hang(text, width, "limit   ") for text in words.limit_words(answer)]
        rows += [
            words.hang(text, width, "figure  ", words.FAINT)
            for name, value in answer.answer.items()
            if (text := words.figure_words(name, value))
        ]
        if answer.caution:
            rows.append(words.hang(answer.caution, width, "caution ", "", "$warning bold"))
        return rows
