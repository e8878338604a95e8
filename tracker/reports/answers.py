"""A verdict or a figure in a few plain lines, and with its working and source when asked."""

from __future__ import annotations

from tracker.book.views import CheckView
from tracker.reports.page import BLANK, Grid, Line, Page, Tone
from tracker.reports.words import CHECK_WORDS
from tracker.trade.answer import Answer, Verdict, result, steps
from tracker.trade.readings import Field, Form, Kind

_VERDICTS = {
    Verdict.PASSED: ("PASS", Tone.GOOD),
    Verdict.FAILED: ("FAIL", Tone.BAD),
    Verdict.INCOMPLETE: ("OPEN", Tone.CARE),
}
_KIND_WORDS = {
    Kind.SIGNED: "length, + or -",
    Kind.YESNO: "yes or no",
    Kind.DATE: "day, like 2026-05-12",
    Kind.COUNT: "whole number",
    Kind.BY_EYE: "good, or good by NAME",
}


def answer_page(answer: Answer, *, name: str = "", why: bool = False) -> Page:
    """The result, the moves and the caution; with ``why`` the limits, the working and the source too."""
    word, tone = _VERDICTS[answer.verdict] if answer.verdict else ("", Tone.TITLE)
    head = " ".join(text for text in (word, f"{name}:" if name else "", result(answer, name)) if text)
    out = [Line(head, tone)]
    out += [Line(f"do: {move}", indent=2, hang=4) for move in steps(answer, name)]
    if why or answer.verdict is Verdict.FAILED:
        for limit in answer.limits:
            beside = f"; {limit.published}" if limit.published else ""
            out.append(Line(f"limit: {limit.what} {limit.text} ({limit.source}){beside}", Tone.QUIET, 2, 4))
    if why:
        out += [Line(f"working: {step}", Tone.QUIET, 2, 4) for step in answer.working]
        out.append(Line(f"source: {answer.source}", Tone.QUIET, 2, 4))
    if answer.caution:
        out.append(Line(f"caution: {answer.caution}", Tone.CARE, 2, 4))
    return tuple(out)


def _field_row(field: Field, name: str) -> tuple[str, str, str]:
    kind = _KIND_WORDS.get(field.kind, field.kind.value) + (f" ({field.unit})" if field.unit else "")
    if field.choices:
        kind = ", ".join(field.choices[:-1]) + f" or {field.choices[-1]}"
    kind += "" if field.required else "; may be left out"
    return name, f"{field.label}{f': {field.help}' if field.help else ''}", kind


def form_page(code: str, check: CheckView) -> Page:
    """What a check asks for, with an example of the command."""
    form = check.form
    out: list[Line | Grid] = [
        Line(f"{check.key}: {check.title} ({CHECK_WORDS[check.state]}: {check.headline})", Tone.TITLE),
        Line(check.asks, indent=2),
        BLANK,
    ]
    rows = [_field_row(field, field.key) for field in form.fields]
    one = len(form.columns) == 1
    rows += [
        _field_row(column, form.row_word.upper() if one else f"{form.row_word.upper()}.{column.key}")
        for column in form.columns
    ]
    out.append(Grid(("value", "what", "as"), tuple(rows), indent=2))
    if form.columns:
        few = f"at least {form.least_rows} " if form.least_rows else ""
        names = ", ".join(form.rows) or ("name them as you like" if form.open_rows else "there are none yet")
        more = "; others may be named" if form.open_rows and form.rows else ""
        if form.sample:
            few = ""
            out.append(Line(sample_words(form), indent=2))
        out.append(Line(f"{few}{form.row_word} readings: {names}{more}", indent=2))
        if one and len(form.rows) > 1:
            first, last = form.rows[0], form.rows[-1]
            out.append(Line(f"several alike in one: {first}-{last}=VALUE, or {first},{last}=VALUE", indent=2))
    out += [BLANK, Line("the figures below show how to write it and are no readings: give what you measured", hang=4)]
    out += [Line(f"example: deckjobs check {code} {check.key} {example(form)}".rstrip(), hang=4)]
    if check.caution:
        out.append(Line(f"caution: {check.caution}", Tone.CARE, hang=4))
    out.append(Line(f"source: {check.source}", Tone.QUIET, hang=4))
    return tuple(out)


def sample_words(form: Form) -> str:
    """How much of a table is read at least where the rest may be judged by eye."""
    noun = form.row_word
    return (
        f"read every {noun}, or the worst, by number, and one {noun} at least in every {form.sample} side by side, and say of "
        f"the rest that it looked good: worst=NUMBER rest=good"
    )


def example(form: Form) -> str:
    """Values as a person would type them after the check's key, quoted for a shell; the fewest rows that a
    table takes, but never more than four, stand for all.
    """
    words = [f"{field.key}={_sample(field)}" for field in form.fields if field.example]
    few = min(max(form.least_rows, 2), 4)
    # The first and the last row are often ends, which read differently from the rest.
    rows = form.rows[1 : few + 1] if len(form.rows) > few else form.rows
    rows = rows or (tuple(str(n + 1) for n in range(few)) if form.open_rows else ())
    for row in rows:
        for column in form.columns:
            if column.example:
                name = row if len(form.columns) == 1 else f"{row}.{column.key}"
                words.append(f"{name}={_sample(column)}")
    return " ".join(_quoted(word) for word in words)


def _sample(field: Field) -> str:
    # The inch mark at the end may be left out, and without it the value is easier to quote.
    return field.example.removesuffix('"')


def _quoted(word: str) -> str:
    import shlex

    plain = shlex.quote(word)
    return plain if plain == word or any(char in word for char in '"$`\\!') else f'"{word}"'
