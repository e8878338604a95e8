"""Documents to try the renderers with: every block, the worst texts, lists of a hundred lines. All invented."""

from __future__ import annotations

from datetime import date

from tracker.reports.page import Tone
from tracker.reports.paper.model import (
    Bar,
    Beside,
    Blank,
    Blanks,
    Block,
    Bullets,
    Caution,
    Checklist,
    Column,
    Document,
    Figure,
    Heading,
    Ink,
    Item,
    KeepTogether,
    KeyValues,
    OnePage,
    PageBreak,
    Paragraph,
    Share,
    Signatures,
    Step,
    Strip,
    Table,
)

DAY = date(2026, 5, 12)
HEBREW, ARABIC, WIDE = "גברת כהן (12) סוף", "ساحة خلفية 123", "田中さんのデッキ" * 12
FAMILY = "a family \N{MAN}\N{ZERO WIDTH JOINER}\N{WOMAN} and \N{MUSICAL SYMBOL G CLEF}"
HOSTILE = "</td></style><script>alert(1)</script> \"q\" 'x' & <b> {nb} \x1b[31m \N{RIGHT-TO-LEFT OVERRIDE} %s"
LONG = "W" * 200
NAMES = (HEBREW, ARABIC, WIDE, FAMILY, HOSTILE, LONG)
SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 178 40">'
    '<clipPath id="c"><rect x="1" y="1" width="80" height="20"/></clipPath>'
    '<g clip-path="url(#c)"><rect x="1" y="1" width="176" height="38" fill="#e9dcc4" stroke="#222"/></g>'
    '<text x="89" y="20" font-size="4" text-anchor="middle" font-weight="bold">14 ft wide</text>'
    '<text x="10" y="36" font-size="3" transform="rotate(-90 10 36)" fill="#b00020">12 ft deep</text></svg>'
)


def rows(number: int) -> tuple[tuple[str, ...], ...]:
    """That many rows, every name among the first ones."""
    return tuple(
        (f"row {k}", NAMES[k] if k < len(NAMES) else "plain", f"${k * 13:,}.00") for k in range(number)
    )  # fmt: skip


def long_table(number: int = 100) -> Table:
    """A table of that many rows with a total."""
    columns = (Column("item"), Column("known as", weight=0.4), Column("cost", True))
    total = f"${sum(k * 13 for k in range(number)):,}.00"
    return Table(columns, rows(number), ("in all", "", total), "To buy", (Tone.BAD, Tone.CARE))


def one_page(lines: int, words: int = 6) -> OnePage:
    """A page of its own with two lists of that many lines."""
    return OnePage(
        (
            Heading("One page"),
            Bullets(tuple(f"point {k} " + "word " * words for k in range(lines))),
            Table((Column("a"), Column("b", True)), tuple((f"line {k}", str(k)) for k in range(lines))),
        ),
        "see the job's page",
    )


def every_block() -> tuple[Block, ...]:
    """Each kind of block, with the worst names in it."""
    steps = tuple(Step(f"{name[:40]}", ink.value, ink) for name, ink in zip(NAMES, [*Ink, Ink.NONE], strict=True))
    return (
        Heading("NEEDS YOU", beside="2 things"),
        Bullets(NAMES, (Tone.BAD, Tone.CARE)),
        Paragraph(f"one line\nanother line {HEBREW}", Tone.QUIET),
        Strip(steps),
        Bar("$1,180.00 of $1,904.00 bought", (Share("bought $1,180.00", 118_000, Ink.DONE), Share(LONG, 72_400, Ink.NONE))),
        Bar("nothing bought", (Share("left", 0, Ink.NONE),)),
        KeyValues((("holds", LONG), ("", HEBREW), (WIDE, "long word"), (LONG, HOSTILE)), (Tone.CARE,)),
        Caution(NAMES, "for the work of Wed 13 May"),
        Beside(
            (Heading(HEBREW, 3), Figure(SVG, f"a plan {HOSTILE}", f"a caption {ARABIC}", 30.0)),
            (Heading("Right", 3, LONG), Paragraph("word " * 60)),
        ),
        KeepTogether((Heading("Together"), Paragraph("kept with its heading"))),
        Checklist(
            (
                Item(
                    f"Square {HEBREW}", "within 1/8 in", "house rule", (Blank("diagonal", "in"), Blank(LONG, "yes / no")),
                    HOSTILE, ("height", "ok?"), ("P1", "P2", HEBREW, LONG, ""),
                ),
                Item("Crown", blanks=tuple(Blank(f"joist {k}", "in") for k in range(40))),
                Item("Deep", columns=("a", LONG), rows=tuple(f"row {k}" for k in range(40))),
            )
        ),
        Blanks((Blank("phone"), Blank("ticket number"))),
        Signatures(("crew lead", LONG)),
    )  # fmt: skip


def document(*blocks: Block, foot: str = f"Invented. {HEBREW} {HOSTILE} " + "Local code decides. " * 8) -> Document:
    """A document of these blocks."""
    return Document(f"Day sheet {HEBREW}", f"{HOSTILE} {LONG}", DAY, blocks, foot)


def whole() -> Document:
    """Everything at once."""
    return document(*every_block(), PageBreak(), long_table(), one_page(100), one_page(3), Paragraph("after"))
