"""A job in millimetres speaks no inches, feet, pounds or degrees Fahrenheit on any page, paper, form or in JSON texts.

A lumber size (``2x6``), a fastener's trade size where that is its name, and the title of a source stay as they are called.
"""

from __future__ import annotations

import html
import importlib
import json
import pkgutil
import re
import tomllib
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import tracker.trade
from tests.commands.conftest import Deck
from tracker.errors import InputError
from tracker.trade.checks.base import Case
from tracker.trade.checks.registry import BY_KEY, checks_for
from tracker.trade.jobfile import parse_job_bytes
from tracker.trade.jobfile.form import JobForm
from tracker.trade.phases import phases_for
from tracker.trade.readings import Form, readings_of
from tracker.trade.rules import RULES

SAMPLE = Path(__file__).parents[2] / "sample_jobs" / "26-019-north-quay.toml"
RAISED = """
code = "26-119"
title = "Raised terrace (invented)"
client = "Client of the long lawn (invented)"
site = "Back yard (invented)"
unit = "mm"
crew = "East"
start = 2026-05-11
permit = true
finish = "oil"
[site_facts]
frost_depth = 900
soil = "clay"
digging = true
service_moisture = 14
[[platform]]
name = "deck"
size = [7300, 3600]
height = 1500
support = "footings"
attachment = "attached"
[platform.joists]
size = "45x195"
species = "spruce-pine-fir"
grade = "no.2"
spacing = 400
use = "UC4A"
[platform.decking]
board = "28x120"
kind = "wood"
species = "spruce-pine-fir"
lay = "tight"
gap = 5
use = "UC4A"
[[platform.beam]]
plies = 2
size = "45x220"
at = 3000
posts = 4
post = "145x145"
[[platform.stairs]]
width = 1000
edge = "front"
[platform.guard]
height = 1000
length = 14000
edges = ["left", "front", "right"]
[[lot]]
code = "R1"
item = "45x195x3600"
supplier = "Yard Two"
ordered = 20
ordered_on = 2026-05-12
promised = 2026-05-15
use = "UC4A"
"""
WORDS = re.compile(
    r"""(?x)
    (?<![\w.])\d[\d,./-]*\s?(?:ft2|ft3|ft|feet|foot|lb|psf|psi|pcf|gallons?|pounds?|sq\ ft)\b
    | (?<![\w.])(?:\d+-)?\d+/\d+\s?in\b | (?<![\w.x])\d[\d,.]*\s(?:in|inch|inches)\b(?!\s(?:all|the|a|an|one|place|work|order|hand|force|it|each|use|joint|stock|\d))
    | \binch(?:es)?\b | \bfeet\b | \bfoot\b(?!\sof) | °F | \bgallons?\b | \bpounds?\b | \bpsf\b | \bft2?\b
    | \d" | (?<!['\d])\d+'(?=[\s,;.)]|$) | \d+\.\d{3,}\s?mm | \b\d+X\d+
    """
)
NAMES = re.compile(
    r"feet and cords|price=\d+'|(?:lag screw|bolt)s? 1/2|1/2 lag screw|millimetres or inches|inches or millimetres"
)


def strings(value: Any, path: str = "") -> Iterator[tuple[str, str]]:
    """Every text of a JSON answer with where it stands; sources keep their titles."""
    if isinstance(value, dict):
        for key, inner in value.items():
            if key not in ("source", "published"):
                yield from strings(inner, f"{path}.{key}")
    elif isinstance(value, list):
        for inner in value:
            yield from strings(inner, path)
    elif isinstance(value, str):
        yield path, value


@cache
def sources() -> list[str]:
    """Titles of sources, longest first, to be passed over in running text."""
    found = {check.source for check in BY_KEY.values()} | {rule.source for rule in RULES}
    for module in pkgutil.walk_packages(tracker.trade.__path__, "tracker.trade."):
        for name, value in vars(importlib.import_module(module.name)).items():
            if isinstance(value, str) and re.search(r"SOURCE|TABLE|FIXING|MEMORY|_IRC|COMPLAINT|EDITION", name):
                found.add(value)
    parts = {part for text in found for part in text.split("; ")} | found
    return sorted((text for text in parts if len(text) > 12), key=len, reverse=True)


def imperial(text: str) -> list[str]:
    """What a text says in another unit system, with its surroundings."""
    for title in sources():
        text = text.replace(title, "")
    text = NAMES.sub("", text)
    return [text[max(found.start() - 40, 0) : found.end() + 25] for found in WORDS.finditer(text)]


PAGES: tuple[tuple[str, ...], ...] = (
    ("show", "{job}"), ("takeoff", "{job}", "--why"), ("cutlist", "{job}"), ("buy", "{job}"), ("cost", "{job}"),
    ("price", "{job}", "--why"), ("draw", "{job}"), ("draw", "{job}", "--tape"), ("packet", "{job}"),
    ("report",), ("jobs",), ("history", "{job}"), ("money", "{job}"), ("quote", "{job}"), ("handover", "{job}"), ("calendar",),
    ("care", "{job}"), ("hours", "{job}"),
)  # fmt: skip


@pytest.fixture
def metric(deck: Deck) -> Deck:
    raised = deck.home / "raised.toml"
    raised.write_text(RAISED, "utf-8")
    assert deck("take", str(SAMPLE), str(raised)).code == 0
    return deck


@pytest.mark.parametrize("job", ["26-019", "26-119"])
def test_no_page_and_no_json_text_speaks_of_inches(metric: Deck, job: str) -> None:
    found: dict[str, list[str]] = {}
    for page in PAGES:
        words = [word.format(job=job) for word in page]
        plain = metric(*words)
        told = imperial(" ".join(plain.out.split()) + plain.err)
        data = metric(*words, "--json")
        if data.out.startswith(("{", "[")):
            told += [f"{path}: {hit}" for path, text in strings(json.loads(data.out)) for hit in imperial(text)]
        if told:
            found[" ".join(words)] = list(dict.fromkeys(told))
    assert not found, json.dumps(found, indent=1, ensure_ascii=False)


def test_goods_are_said_in_whole_millimetres_as_a_metric_builder_measures_them(metric: Deck) -> None:
    ground = " ".join(metric("takeoff", "26-019", "--why").out.split())
    # 4760 x 3600 mm and 150 mm past it all round: 5060 x 3900 mm. Strips of 1800 mm lapped 300 mm: 3 cover 3900 mm
    # (1800 + 1500 + 1500 = 4800), 15180 mm of cloth (common practice).
    for said in (
        "150 mm past it all round",
        "3 strips of",
        "lapped 300 mm",
        "rolls of 1800 mm x 15000 mm",
        "100 mm compacted",
    ):
        assert said in ground
    raised = " ".join(metric("takeoff", "26-119", "--why").out.split())
    assert "ledger flashing, 3 m" in raised and "in 3 m pieces lapped 100 mm" in raised


def test_sources_of_practice_give_no_inches_to_a_metric_job(metric: Deck) -> None:
    told = " ".join(metric("packet", "26-019").out.split())
    for inches in ("2 in of nominal", "cap it at", "5/4 in boards", "16 in on centre"):
        assert inches not in told


@pytest.mark.parametrize("job", ["26-019", "26-119"])
def test_the_papers_speak_one_unit_system(metric: Deck, job: str) -> None:
    found: dict[str, list[str]] = {}
    for command in ("packet", "report", "quote", "handover"):
        target = metric.home / f"{command}.html"
        words = [command, *([] if command == "report" else [job]), "--html", str(target)]
        if metric(*words).code == 0 and target.exists():
            text = re.sub(r"<style.*?</style>|<svg.*?<title|<[^>]+>", " ", target.read_text("utf-8"), flags=re.DOTALL)
            if told := imperial(" ".join(html.unescape(text).split())):
                found[command] = list(dict.fromkeys(told))
    assert not found, json.dumps(found, indent=1, ensure_ascii=False)


def texts_of(value: Any, path: str = "") -> Iterator[tuple[str, str]]:
    """Every text in a frozen value, sources left out; the keys of plain answers carry their own units."""
    if isinstance(value, str):
        yield path, value
    elif is_dataclass(value):
        for field in fields(value):
            if field.name not in ("source", "inputs", "key"):
                yield from texts_of(getattr(value, field.name), f"{path}.{field.name}")
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from texts_of(inner, f"{path}.{key}")
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from texts_of(inner, path)


def _examples(form: Form) -> list[tuple[str, str]]:
    named = [(field.key, field.example) for field in form.fields if field.example]
    single = len(form.columns) == 1
    for row in form.rows:
        named += [
            (row if single else f"{row}.{column.key}", column.example) for column in form.columns if column.example
        ]
    return named


def _off(form: Form, typed: list[tuple[str, str]], step: int) -> list[tuple[str, str]]:
    """The examples with every third length or number that much off, so that checks fail and say what to do."""
    out = []
    for at, (key, text) in enumerate(typed):
        number = re.fullmatch(r"(\d+)( mm)?", text)
        out.append((key, f"{int(number[1]) + step}{number[2] or ''}" if number and at % 3 == 0 else text))
    return out


@pytest.mark.parametrize("source", [SAMPLE.read_text("utf-8"), RAISED], ids=["26-019", "26-119"])
def test_every_check_asks_judges_and_refuses_in_one_unit_system(source: str) -> None:
    spec = parse_job_bytes(source.encode(), "job.toml").spec
    found: dict[str, list[str]] = {}
    judged = 0
    for check in checks_for(spec, phases_for(spec)):
        case = Case(spec, check.platform, date(2026, 5, 12))
        form = check.check.form(case)
        texts = [*texts_of(form), *texts_of(check.check)]
        for step in (0, 7, 40, 400, 100_000):
            try:
                readings = readings_of(form, _off(form, _examples(form), step), spec.unit, case.today)
                texts += texts_of(check.check.judge(case, readings))
                judged += 1
            except InputError as error:
                texts += [("error", error.message), ("hint", error.hint)]
        hits = [f"{path}: {hit}" for path, text in texts for hit in imperial(text)]
        if hits:
            found[check.key] = list(dict.fromkeys(hits))
    assert judged > 40
    assert not found, json.dumps(found, indent=1, ensure_ascii=False)


FIGURES = (
    "square --sides 3600mm 4760mm --diagonals 5968mm 5980mm", "square --sides 3600mm --diagonals 1mm 2mm",
    "square --sides 3.6m 4.76m --diagonals 5.968m 5.98m", "level --metric --point A=80 B=76 C=78",
    "layout --metric --length 3600 --spacing 400", "layout --metric --length 3600 --spacing 4",
    "gap --width 140mm --species spruce-pine-fir --now 28 --service 12", "stairs --metric --rise 1000",
    "footing --metric --area 60 --soil 1500", "guard --metric --height 900", "ledger --metric --joist-span 3000 --fastener lag",
    "span --metric --member joist --size 2x8 --species southern-pine --grade no.2 --spacing 400",
    "span --metric --member beam --size 2x10 --plies 2 --species southern-pine --grade no.2 --joist-span 3000",
    "moisture --metric --temp-c 21 --humidity 65", "boards --metric --run 3600 --width 120 --gap 5",
    "cuts --need 850mm*7 --stock 3000mm@7.10", "fasteners --metric --size 45x195 --joints 26",
)  # fmt: skip


@pytest.mark.parametrize("figure", FIGURES)
def test_a_figure_asked_in_millimetres_answers_in_them(deck: Deck, figure: str) -> None:
    plain = deck("figure", *figure.split(), "--why")
    told = re.sub(r"(?s)  source: .*?(?=\n  \w+: |\Z)|computed from .*", "", plain.out) + plain.err
    assert not imperial(" ".join(told.split())), told
    data = deck("figure", *figure.split(), "--json")
    if data.code == 0:
        hits = [hit for _, text in strings({**data.json, "inputs": {}, "caution": ""}) for hit in imperial(text)]
        assert not hits


def test_the_job_form_asks_and_suggests_in_millimetres() -> None:
    table = tomllib.loads(RAISED)
    form = JobForm(table, {}, date(2026, 5, 12), "26-119")
    hits = [hit for step in form.steps for path, text in texts_of(step) for hit in imperial(text)]
    empty = replace(form, base={}, typed={"unit": "mm", "platform.0.size.0": "7300", "platform.0.size.1": "3600",
                                          "platform.0.height": "1500", "platform.0.attachment": "attached"})  # fmt: skip
    for step in empty.steps:
        for question in step.questions:
            found = empty.suggestion(question)
            hits += [f"{question.key}: {hit}" for text in (found.text, found.why) for hit in imperial(text)]
    assert not hits
