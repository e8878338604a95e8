"""The job file: every fault at once with its line, nothing dropped, and the kept source reads back to the same job."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Callable
from datetime import date, time
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tracker.errors import InputError, InputErrors
from tracker.trade.jobfile import Doing, JobFile, parse_job_bytes, parse_job_file, parse_job_table, parse_rules_bytes
from tracker.trade.jobfile.lines import key_lines
from tracker.trade.lengths import FOOT, INCH, MM, Unit
from tracker.trade.outline import Clip, Corner, CutOut
from tracker.trade.rules import Rules
from tracker.trade.spec import Attachment, BoardKind, Finish, GapIntent, Support

GOOD = """\
code = "26-501"
title = "Platform by the well"
client = "Client Test Close"
site = "invented"
crew = "North"
start = 2026-05-04
finish = "oil"

[site_facts]
frost_depth = "30 in"
soil = "clay"
digging = true

[[platform]]
name = "lower"
size = ["14'", "12' 3"]
height = "11 in"
support = "blocks"

[platform.joists]
size = "2x8"
species = "southern pine"
grade = "#2"
spacing = "16 in"
use = "UC4A"

[platform.decking]
board = "5/4x6"
kind = "wood"
species = "southern pine"
lay = "tight"
gap = "3/16 in"
use = "UC4A"

[[platform]]
name = "upper"
uncut = { rims = "10'", joists = "12'" }
height = 20.5
support = "platform"

[platform.joists]
size = "2x8"
species = "hem-fir"
grade = "no.2"
spacing = 16
use = "UC3B"

[platform.decking]
board = "5/4x6"
kind = "composite"
angle = 45
lay = "spaced"
gap = "3/16 in"

[[lot]]
code = "L1"
item = "2x8x12"
supplier = "Yard One"
ordered = 12
promised = "2026-05-06"
use = "UC4A"

[prices]
"2x8x12" = "14.28"
block = 7.5

[rules]
support_longest = "4'"

[phases.frame]
hours = 12.5
without_checks = ["level"]

[[log]]
on = 2026-05-12
at = "08:30"
who = "R. Stone"
do = "start"
phase = "frame"

[[log]]
on = "2026-05-12"
at = 09:05:00
who = "R. Stone"
do = "check"
check = "square.lower"
values = ["14'", "12' 3"]
"""


NOT_TEXT = "a job file is plain text in UTF-8; save it again as such"


def read(text: str) -> JobFile:
    return parse_job_file(text, "job.toml")


def problems(text: str) -> tuple[str, ...]:
    with pytest.raises(InputErrors) as caught:
        read(text)
    return caught.value.problems


def with_line(number: int, new: str) -> str:
    lines = GOOD.splitlines()
    lines[number - 1] = new
    return "\n".join(lines) + "\n"


def line_with(text: str, after: int = 0) -> int:
    return next(n for n, line in enumerate(GOOD.splitlines(), 1) if n > after and line.startswith(text))


@pytest.mark.parametrize(
    ("typed", "tenths"), [('"temperate"', 120), ('"Marine"', 145), ('"9 to 15"', 120), ("12.5", 125), ('"12 %"', 120)]
)
def test_service_moisture_is_a_percent_a_climate_or_two_months(typed: str, tenths: int) -> None:
    site = read(with_line(line_with("digging"), f"service_moisture = {typed}")).spec.site
    assert site.service_moisture_tenths == tenths


def test_a_good_file_becomes_typed_values() -> None:
    job = read(GOOD)
    assert (job.code, job.client, job.unit, job.start) == ("26-501", "Client Test Close", Unit.INCH, date(2026, 5, 4))
    lower, upper = job.spec.platforms
    assert (lower.width_nm, lower.depth_nm, lower.uncut) == (14 * FOOT, 12 * FOOT + 3 * INCH, False)
    assert (lower.attachment, lower.support, lower.height_nm) == (Attachment.FREE, Support.BLOCKS, 11 * INCH)
    # PS 20 dry sizes (from memory: PS 20-20 Table 2): 2x8 is 1-1/2 by 7-1/4 in, 5/4x6 is 1 by 5-1/2 in.
    assert (lower.joists.thickness_nm * 2, lower.joists.depth_nm * 4) == (3 * INCH, 29 * INCH)
    assert (lower.decking.thickness_nm, lower.decking.width_nm * 2) == (INCH, 11 * INCH)
    assert lower.joists.grade == "no.2"
    # 12 ft joists between two rims of 1-1/2 in: 147 in outside.
    assert (upper.uncut, upper.width_nm, upper.depth_nm) == (True, 120 * INCH, 147 * INCH)
    assert (upper.rim_stock_nm, upper.joist_stock_nm, upper.height_nm * 2) == (10 * FOOT, 12 * FOOT, 41 * INCH)
    assert (upper.decking.kind, upper.decking.angle_deg) == (BoardKind.COMPOSITE, 45)
    assert (upper.decking.gap_intent, lower.decking.gap_intent) == (GapIntent.SPACED, GapIntent.TIGHT)
    assert job.spec.finish is Finish.OIL and job.spec.site.digging and not job.spec.permit
    assert job.spec.site.service_moisture_tenths == 120
    assert job.spec.rules.figure("support_longest") == 4 * FOOT
    assert job.prices == {"2x8x12": 142800, "block": 75000}
    (lot,) = job.lots
    assert (lot.code, lot.ordered, lot.received, lot.promised) == ("L1", 12, 0, date(2026, 5, 6))
    ((phase, change),) = job.phase_changes
    assert (phase, change.hours, change.without_checks, change.skip) == ("frame", 12.5, ("level",), False)
    first, second = job.log
    assert (first.do, first.phase, first.at) == (Doing.START, "frame", time(8, 30))
    assert (second.check, second.values, second.at) == ("square.lower", ("14'", "12' 3"), time(9, 5))


def test_house_rules_lie_under_the_jobs_own() -> None:
    job = parse_job_file(GOOD, "job.toml", house=Rules({"support_longest": FOOT, "level": 3 * MM, "crew_size": 4}))
    assert job.spec.rules.figure("support_longest") == 4 * FOOT
    assert job.spec.rules.figure("level") == 3 * MM
    assert job.spec.crew_size == 4


def test_a_metric_job_takes_actual_sizes_and_bare_millimetres() -> None:
    text = GOOD.replace("start = 2026-05-04", 'start = 2026-05-04\nunit = "mm"')
    text = text.replace('size = "2x8"', 'size = "45x195"', 1).replace('board = "5/4x6"', 'board = "28x145"', 1)
    text = text.replace("height = 20.5", "height = 520").replace("spacing = 16\n", "spacing = 400\n")
    text = text.replace('"12\' 3"]', "3600]").replace('values = ["14\'", 3600]', 'values = ["4267", "3600"]')
    job = read(text)
    lower, upper = job.spec.platforms
    assert (lower.joists.thickness_nm, lower.joists.depth_nm) == (45 * MM, 195 * MM)
    assert (lower.decking.width_nm, lower.depth_nm) == (145 * MM, 3600 * MM)
    assert (upper.height_nm, upper.joists.spacing_nm) == (520 * MM, 400 * MM)


# Each fault: the line that is replaced (by its start), what it becomes, and the whole message that must come back.
FAULTS: list[tuple[str, str, str]] = [
    (
        'code = "26-501"',
        'code = "26-14"',
        "job.toml:1: code: '26-14' is not a job code; write two digits of the year, a dash and three digits, "
        "like 26-014",
    ),
    (
        'code = "26-501"',
        "",
        'job.toml:1: code: missing; write code = "26-014"',
    ),
    (
        'code = "26-501"',
        "code = 26",
        'job.toml:1: code: a number cannot stand here; write text in quotes, like code = "26-014"',
    ),
    (
        "title",
        'title = ""',
        "job.toml:2: title: title is empty; give title at least one character",
    ),
    (
        "title",
        'title = "a\\u0000b"',
        "job.toml:2: title: title holds a NUL character; remove it and try again",
    ),
    (
        "client",
        'client = ["x"]',
        'job.toml:3: client: a list cannot stand here; write text in quotes, like client = "Client Hollow Lane"',
    ),
    (
        "crew",
        "crew = true",
        'job.toml:5: crew: true or false cannot stand here; write text in quotes, like crew = "..."',
    ),
    (
        "start",
        'start = "04/05/2026"',
        "job.toml:6: start: '04/05/2026' could be two different days; write it like 2026-05-12 (year-month-day)",
    ),
    (
        "start",
        "start = 2026-05-04T10:00:00",
        "job.toml:6: start: a date or time cannot stand here; write a day like start = 2026-05-04",
    ),
    (
        "start",
        'start = "1999-05-04"',
        "job.toml:6: start: '1999-05-04' is outside 2000-2099; write it like 2026-05-12 (year-month-day)",
    ),
    (
        "finish",
        'finish = "oild"',
        "job.toml:7: finish: 'oild' is not one of the choices (did you mean oil?); choose none, oil or stain",
    ),
    (
        "finish",
        'permit = "yes"',
        "job.toml:7: permit: text cannot stand here; write true or false, without quotes",
    ),
    (
        "finish",
        'unit = "cm"',
        "job.toml:7: unit: 'cm' is not one of the choices (did you mean mm?); choose in or mm",
    ),
    (
        "frost_depth",
        'frost_depth = "-3"',
        "job.toml:10: site_facts.frost_depth: '-3' is not a length: it is negative; write it like 12', 12' "
        '3-1/4", 12-3-1/4, 147-1/4, 147.25, 3/8" or 3740mm',
    ),
    (
        "frost_depth",
        "frost_depth = 200",
        "job.toml:10: site_facts.frost_depth: 16' 8\" is out of range; it may be 0\" to 10'",
    ),
    (
        "soil",
        'soil = "clai"',
        "job.toml:11: site_facts.soil: 'clai' is not one of the choices (did you mean clay?); choose "
        "bedrock, sedimentary rock, gravel, sand, clay or unknown",
    ),
    (
        "digging",
        "digging = 1",
        "job.toml:12: site_facts.digging: a number cannot stand here; write true or false, without quotes",
    ),
    (
        "digging",
        "service_moisture = 45",
        "job.toml:12: site_facts.service_moisture: a service moisture of 45 % cannot be; give 3 to 30 percent, like 12",
    ),
    (
        "digging",
        "diging = true",
        "job.toml:12: site_facts.diging: no such key (did you mean digging?); known here are carries, digging, drain, "
        "electric, frost_depth, ground, live, old_deck, service_moisture, snow and soil",
    ),
    (
        'name = "lower"',
        'name = "Lower Deck"',
        "job.toml:15: platform[1].name: 'Lower Deck' is not a platform name; use a-z, 0-9 and -, like upper "
        "or back-deck",
    ),
    (
        'name = "lower"',
        'name = "upper"',
        "job.toml:36: platform[2].name: upper is the name of an earlier platform; give each platform its own name",
    ),
    (
        'name = "lower"',
        "",
        'job.toml:14: platform[1].name: missing; write name = "deck"',
    ),
    (
        'size = ["14',
        'size = "14 by 12"',
        'job.toml:16: platform[1].size: a bare value cannot stand here; write size = ["12\'", "16\' 3"]: '
        "width, then depth",
    ),
    (
        'size = ["14',
        'size = ["14\'", "12\' 3", "9"]',
        'job.toml:16: platform[1].size: 3 lengths cannot stand here; write size = ["12\'", "16\' 3"]: width, '
        "then depth",
    ),
    (
        'size = ["14',
        'size = ["14\'", "12, 3"]',
        "job.toml:16: platform[1].size[2]: '12, 3' is not a length: a comma could mean 12 3 or 12. 3; write "
        "it like 12', 12' 3-1/4\", 12-3-1/4, 147-1/4, 147.25, 3/8\" or 3740mm",
    ),
    (
        'size = ["14',
        'size = ["14\'", "61\'"]',
        "job.toml:16: platform[1].size[2]: 61' is out of range; it may be 2' to 60'",
    ),
    (
        'size = ["14',
        "",
        'job.toml:14: platform[1]: the size is missing; write size = ["12\'", "16\' 3"] (width, depth, outside '
        'the rims) or uncut = { rims = "10\'", joists = "12\'" }',
    ),
    (
        'size = ["14',
        'size = ["14\'", "12\'"]\nuncut = { rims = "10\'", joists = "12\'" }',
        'job.toml:17: platform[1].uncut: both size and uncut are given; write size = ["12\'", "16\' 3"] '
        '(width, depth, outside the rims) or uncut = { rims = "10\'", joists = "12\'" }',
    ),
    (
        'height = "11 in"',
        'height = "15\'"',
        "job.toml:17: platform[1].height: 15' is out of range; it may be 0\" to 14'",
    ),
    (
        'height = "11 in"',
        'height = "6 in"',
        'job.toml:17: platform[1].height: 6" is less than the deck board and joist are thick together; it is '
        'measured from the ground to the top of the boards: 8-1/4" or more',
    ),
    (
        'height = "11 in"',
        'height = "1/3"',
        "job.toml:17: platform[1].height: '1/3' is not a length: it is not a whole 1/64 in; the nearest are "
        "21/64 in and 11/32 in; write it like 12', 12' 3-1/4\", 12-3-1/4, 147-1/4, 147.25, 3/8\" or 3740mm",
    ),
    (
        'height = "11 in"',
        "height = nan",
        "job.toml:17: platform[1].height: 'nan' is not a length; "
        "write it like 12', 12' 3-1/4\", 12-3-1/4, 147-1/4, 147.25, 3/8\" or 3740mm",
    ),
    (
        'support = "blocks"',
        'support = "footings"',
        "job.toml:14: platform[1].beam: missing; a platform on footings needs a [[platform.beam]]: plies, "
        "size, at, posts, post",
    ),
    (
        'support = "blocks"',
        'support = "platform"',
        "job.toml:18: platform[1].support: no platform stands on the ground; give the lowest one wood blocks, blocks "
        "or footings",
    ),
    (
        'support = "blocks"',
        'support = "blocks"\nattachment = "atached"',
        "job.toml:19: platform[1].attachment: 'atached' is not one of the choices (did you mean attached?); "
        "choose free-standing or attached",
    ),
    (
        'species = "southern',
        'species = "southern pin"',
        "job.toml:22: platform[1].joists.species: 'southern pin' is not a structural species group (did you "
        "mean southern pine?); choose southern pine, douglas fir-larch, hem-fir, spruce-pine-fir, redwood, "
        "western cedar, ponderosa pine, red pine or northern species",
    ),
    (
        'grade = "#2"',
        'grade = "no.9"',
        "job.toml:23: platform[1].joists.grade: 'no.9' is not a grade (did you mean no.3?); read it on the "
        "grade stamp: select structural, no.1, no.2, no.3 or stud",
    ),
    (
        'spacing = "16 in"',
        'spacing = "30 in"',
        "job.toml:24: platform[1].joists.spacing: 2' 6\" is out of range; it may be 6\" to 2'",
    ),
    (
        'use = "UC4A"',
        'use = "UC3A"',
        "job.toml:25: platform[1].joists.use: 'UC3A' is not a use category taken here; read it on the end "
        "tag: UC3B, UC4A or UC4B",
    ),
    (
        'use = "UC4A"',
        'use = "UC4A"\ncolour = "red"',
        "job.toml:26: platform[1].joists.colour: no such key; known here are grade, size, spacing, species and use",
    ),
    (
        'board = "5/4x6"',
        'board = "6x6"',
        "job.toml:28: platform[1].decking.board: 6x6 is no deck board; give the size like 5/4x6",
    ),
    (
        'kind = "wood"',
        'kind = "woood"',
        "job.toml:29: platform[1].decking.kind: 'woood' is not one of the choices (did you mean wood?); "
        "choose wood or composite",
    ),
    (
        'lay = "tight"',
        'lay = "tigth"',
        "job.toml:31: platform[1].decking.lay: 'tigth' is not one of the choices (did you mean tight?); "
        "choose tight or spaced",
    ),
    (
        'gap = "3/16 in"',
        'gap = "2 in"',
        'job.toml:32: platform[1].decking.gap: 2" is out of range; it may be 0" to 1"',
    ),
    (
        "angle = 45",
        "angle = 30",
        "job.toml:51: platform[2].decking.angle: 30 is not an angle taken here; 0 runs across the joists, 45 "
        "is diagonal, 90 along them",
    ),
    (
        "angle = 45",
        'angle = "45"',
        "job.toml:51: platform[2].decking.angle: text cannot stand here; write a whole number, like angle = 0",
    ),
    (
        "uncut",
        'uncut = { rims = "10\'" }',
        'job.toml:37: platform[2].uncut.joists: missing; write joists = "12\'"',
    ),
    (
        "uncut",
        'uncut = { rims = "10\'", joists = "12\'", blocks = 3 }',
        "job.toml:37: platform[2].uncut.blocks: no such key; known here are joists and rims",
    ),
    (
        'code = "L1"',
        'code = "L 1"',
        "job.toml:56: lot[1].code: 'L 1' is not a lot code; use letters, digits and -, like L1",
    ),
    (
        "supplier",
        "",
        'job.toml:55: lot[1].supplier: missing; write supplier = "Yard One"',
    ),
    (
        "ordered",
        "ordered = -1",
        "job.toml:59: lot[1].ordered: -1 is out of range; it may be 0 to 100000",
    ),
    (
        "ordered",
        "ordered = 2.5",
        "job.toml:59: lot[1].ordered: a number cannot stand here; write a whole number, like ordered = 12",
    ),
    (
        "promised",
        'promised = "soon"',
        "job.toml:60: lot[1].promised: 'soon' is not a date; write it like 2026-05-12 (year-month-day)",
    ),
    (
        'use = "UC4A"',
        'use = "UC1"',
        "job.toml:25: platform[1].joists.use: 'UC1' is not a use category taken here; read it on the end "
        "tag: UC3B, UC4A or UC4B",
    ),
    (
        '"2x8x12"',
        '"2x8x12" = "14,28"',
        "job.toml:64: prices.2x8x12: '14,28' is not a price: a comma could be a thousands or a decimal mark; "
        "write it like 14.28 or 0.0425",
    ),
    (
        '"2x8x12"',
        '"2x8x12" = -3',
        "job.toml:64: prices.2x8x12: '-3' is not a price: it is negative; write it like 14.28 or 0.0425",
    ),
    (
        "support_longest",
        'support_longest = "four"',
        "job.toml:68: rules.support_longest: 'four' is not a length; "
        "write it like 12', 12' 3-1/4\", 12-3-1/4, 147-1/4, 147.25, 3/8\" or 3740mm",
    ),
    (
        "hours",
        "hours = -2",
        "job.toml:71: phases.frame.hours: '-2' is not a number of hours; write person-hours from 0 to 9999, "
        "like 12 or 7.5",
    ),
    (
        "without_checks",
        'without_checks = ["levels"]',
        "job.toml:72: phases.frame.without_checks[1]: frame has no check 'levels' (did you mean level?); it "
        "has crown, joist-spacing, span, fasteners, support, square and level",
    ),
    (
        "without_checks",
        'without_checks = "level"',
        "job.toml:72: phases.frame.without_checks: text cannot stand here; write a list of texts, like "
        'without_checks = ["..."]',
    ),
    (
        'do = "start"',
        'do = "begin"',
        "job.toml:78: log[1].do: 'begin' is not one of the choices; choose start, signoff, hold, reopen, "
        "check, waive, order, receive, use, return, note, rain, off, hours, quote, accept, extra, invoice, paid, spend or punch",
    ),
    (
        'phase = "frame"',
        'phase = "ledger"',
        "job.toml:79: log[1].phase: this job has no phase 'ledger'; it has visit, design, quote, locate, delivery, "
        "layout, strip, pads, posts, frame, under-deck, board-gap, boards, site-close, final, hand-over, "
        "finish and care",
    ),
    (
        'phase = "frame"',
        'phase = "frmae"',
        "job.toml:79: log[1].phase: this job has no phase 'frmae' (did you mean frame?); it has visit, "
        "design, quote, locate, delivery, layout, strip, pads, posts, frame, under-deck, board-gap, boards, "
        "site-close, final, hand-over, finish and care",
    ),
    (
        'phase = "frame"',
        "",
        'job.toml:74: log[1].phase: missing; write phase = "frame"',
    ),
    (
        'phase = "frame"',
        'phase = "frame"\ncheck = "square.lower"',
        "job.toml:80: log[1].check: start takes no check; it takes on, at, who, do, phase, reason and past",
    ),
    (
        'at = "08:30"',
        'at = "8.30"',
        "job.toml:76: log[1].at: '8.30' is not a time of day; write it like at = \"08:30\"",
    ),
    (
        'on = "2026-05-12"',
        'on = "1987-05-12"',
        "job.toml:82: log[2].on: '1987-05-12' is outside 2000-2099; write it like 2026-05-12 (year-month-day)",
    ),
    (
        "values",
        'values = "14"',
        'job.toml:87: log[2].values: text cannot stand here; write a list of texts, like values = ["16\' 3", '
        '"20\' 2 7/16"]',
    ),
    (
        "values",
        'values = ["14\'", 147]',
        "job.toml:87: log[2].values[2]: a number cannot stand here; write a list of texts, like values = "
        '["16\' 3", "20\' 2 7/16"]',
    ),
]

# The same, where the message goes on with a long list of what is known.
LISTED: list[tuple[str, str, str]] = [
    (
        'size = "2x8"',
        'size = "2x7"',
        "job.toml:21: platform[1].joists.size: '2x7' is not a lumber size (did you mean 2x8?); ",
    ),
    (
        'size = "2x8"',
        'size = "8x2"',
        "job.toml:21: platform[1].joists.size: '8x2' is not a lumber size (did you mean 2x8?); ",
    ),
    (
        "support_longest",
        'suport_longest = "4\'"',
        "job.toml:68: rules.suport_longest: no such rule (did you mean support_longest?); ",
    ),
    (
        "[phases.frame]",
        "[phases.fram]",
        "job.toml:70: phases.fram: no such phase (did you mean frame?); ",
    ),
    (
        'check = "square.lower"',
        'check = "square"',
        "job.toml:86: log[2].check: this job has no check 'square'; ",
    ),
    (
        'check = "square.lower"',
        'check = "squar.lower"',
        "job.toml:86: log[2].check: this job has no check 'squar.lower' (did you mean square.lower?); ",
    ),
    (
        'check = "square.lower"',
        'check = "level.lower"',
        "job.toml:86: log[2].check: this job has no check 'level.lower' (did you mean block-level.lower?); ",
    ),
]


@pytest.mark.parametrize(("line", "new", "expected"), FAULTS)
def test_each_fault_is_named_with_its_line_and_what_would_be_right(line: str, new: str, expected: str) -> None:
    assert problems(with_line(line_with(line), new)) == (expected,)


@pytest.mark.parametrize(("line", "new", "expected"), LISTED)
def test_a_fault_in_a_known_word_lists_the_words(line: str, new: str, expected: str) -> None:
    (found,) = problems(with_line(line_with(line), new))
    assert found.startswith(expected) and len(found) > len(expected) + 20


def test_all_faults_come_at_once_in_the_order_of_the_file() -> None:
    text = GOOD.replace('code = "26-501"', 'code = "x"').replace('species = "hem-fir"', 'species = "hemfirr"')
    text = text.replace('phase = "frame"', 'phase = "frmae"').replace("hours = 12.5", 'hours = "long"')
    found = problems(text)
    assert [line.split(":")[1] for line in found] == ["1", str(line_with("species", 36)), "71", "79"]
    assert all(line.startswith("job.toml:") and "; " in line for line in found)


def test_a_wrong_key_is_named_beside_the_missing_one() -> None:
    found = problems(with_line(line_with("title"), 'titel = "Platform"'))
    assert found[0] == 'job.toml:1: title: missing; write title = "Ground-level platform"'
    assert found[1].startswith(
        "job.toml:2: titel: no such key (did you mean title?); known here are client, code, crew"
    )
    found = problems(with_line(line_with("[platform.joists]"), "[platform.joist]"))
    assert found[0] == "job.toml:14: platform[1].joists: missing; add the table [platform.joists]"
    assert found[1].startswith("job.toml:20: platform[1].joist: no such key (did you mean joists?)")


def test_a_receipt_needs_a_lot_and_takes_no_readings() -> None:
    found = problems(with_line(line_with('do = "check"'), 'do = "receive"\nlot = "L9"\ncount = 3'))
    assert found == (
        "job.toml:86: log[2].lot: no such lot 'L9' (did you mean L1?); lots are L1",
        "job.toml:88: log[2].check: receive takes no check; it takes on, at, who, do, lot, count and reason",
        "job.toml:89: log[2].values: receive takes no values; it takes on, at, who, do, lot, count and reason",
    )


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "job.toml:1: the file is empty; sample_jobs/ shows what to write"),
        ("x = " + "9" * 5000, "job.toml: a number or date in it cannot be read; write lengths and dates in quotes"),
        ("x = " + "[" * 3000 + "]" * 3000, "job.toml: brackets are nested too deep; two levels are all it takes"),
    ],
)  # fmt: skip
def test_what_cannot_be_parsed_at_all_is_refused(text: str, expected: str) -> None:
    assert problems(text) == (expected,)


@pytest.mark.parametrize(
    ("text", "line"), [(GOOD + "code = \n", 88), ('code = "1', 1), ("a = 1\na = 2\n", 2), ("[table\n", 1)]
)
def test_what_is_not_toml_is_refused_with_its_line(text: str, line: int) -> None:
    (found,) = problems(text)
    assert found.startswith(f"job.toml:{line}: this is not TOML: ")
    assert found.endswith("; write key = value, and texts and lengths in quotes")


@pytest.mark.parametrize(
    ("data", "message", "hint"),
    [
        (GOOD.encode("utf-16"), "job.toml:1: there is a NUL byte", NOT_TEXT),
        (GOOD.replace("well", "é").encode("cp1252"), "job.toml:2: not UTF-8", "save the file as UTF-8 and try again"),
        (b"# x\n" * 250_001, "job.toml: 1,000,004 bytes is no job file", "a job file has at most 1,000,000 bytes"),
        (b"a = 1\n\0", "job.toml:2: there is a NUL byte", NOT_TEXT),
    ],
)  # fmt: skip
def test_bytes_that_are_no_job_file_are_refused(data: bytes, message: str, hint: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_job_bytes(data, "job.toml")
    assert (caught.value.message, caught.value.hint) == (message, hint)


def test_a_byte_order_mark_and_carriage_returns_are_no_fault() -> None:
    assert parse_job_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode(), "job.toml") == read(GOOD)
    text = with_line(line_with("soil"), 'soil = "clai"').replace("\n", "\r\n")
    assert problems(text)[0].startswith("job.toml:11: site_facts.soil")


def test_a_beam_and_guard_have_their_own_faults() -> None:
    text = GOOD.replace('support = "blocks"', 'support = "footings"').replace('height = "11 in"', 'height = "4\'"')
    beam = '[[platform.beam]]\nplies = 2\nsize = "2x10"\nat = "11\'"\nposts = {}\npost = "6x6"\n\n[platform.joists]'
    one = text.replace("[platform.joists]", beam.format(3), 1)
    (found,) = problems(one)
    assert found == (
        "job.toml:20: platform[1].beam[1]: one beam cannot carry a free-standing platform; "
        "add a second one, or attach it to the house"
    )
    attached = one.replace('support = "footings"', 'support = "footings"\nattachment = "attached"')
    job = read(attached)
    (made,) = job.spec.platforms[0].beams
    assert (made.plies, made.size, made.at_nm, made.posts, made.post_size) == (2, "2x10", 11 * FOOT, 3, "6x6")
    assert job.spec.platforms[0].attached
    low = attached.replace('height = "4\'"', 'height = "17 in"')
    # 1 in board, 7-1/4 in joist, 9-1/4 in beam (PS 20 dry sizes, from memory): 17-1/2 in.
    assert problems(low) == (
        "job.toml:17: platform[1].height: 1' 5\" is less than the deck board, joist and beam are thick together; "
        "it is measured from the ground to the top of the boards: 1' 5-1/2\" or more",
    )
    few = problems(attached.replace("posts = 3", "posts = 1"))
    assert few[0] == "job.toml:25: platform[1].beam[1].posts: 1 is out of range; it may be 2 to 20"
    on_wood = GOOD.replace("[platform.joists]", beam.format(3), 1).replace(
        'support = "blocks"', 'support = "wood blocks"'
    )
    assert (
        "job.toml:20: platform[1].beam[1]: a platform on wood blocks takes no beam; leave it out or write "
        'support = "footings" or "blocks"'
    ) in problems(on_wood)
    # On pad blocks a beam lies on pads: it has neither posts nor a post size.
    on_pads = problems(GOOD.replace("[platform.joists]", beam.format(3), 1))
    assert "job.toml:20: platform[1].beam[1].pads: missing; write pads = 3" in on_pads
    assert any("beam[1].posts: no such key" in text for text in on_pads)


def test_a_tall_flight_needs_its_rises_written() -> None:
    text = GOOD.replace('height = "11 in"', 'height = "12\'"')
    text = text.replace("[platform.joists]", '[[platform.stairs]]\nwidth = "36 in"\n\n[platform.joists]', 1)
    assert problems(text) == (
        "job.toml:20: platform[1].stairs[1].rise: missing; a flight over 11' 6\" needs a landing: write each rise",
    )


def test_many_faults_are_cut_short() -> None:
    text = GOOD + "".join(f'[[log]]\non = 2026-05-12\nwho = "x"\ndo = "start"\nphase = "p{n}"\n' for n in range(60))
    found = problems(text)
    assert len(found) == 41 and found[-1] == "job.toml: and 20 more like these"


def test_control_characters_never_reach_the_message() -> None:
    (found,) = problems(with_line(line_with("soil"), 'soil = "\\u001b[2J"'))
    assert "\x1b" not in found
    with pytest.raises(InputErrors) as caught:
        parse_job_file("", "a\x1b[2J.toml")
    assert "\x1b" not in caught.value.problems[0]


# --- lines ------------------------------------------------------------------------------------------------------------

TRICKY = '''\
# comment with = and [x]
plain = 1
"quoted key" = "a # not a comment"
'literal.key' = 'c:\\path'
dotted.inner . deep = true
long = """
x = 1
[not a table]
\\"""still"""
lit = \'\'\'
y = 2 \'\'\'
list = [ # one
  "a", [1, 2],
  { k = 1, m = "}" },
]
when = 2026-05-12 10:00:00

[ table . sub ]
z = 1
[[row]]
a = 1
[row.part]
b = 2
[[row.leaf]]
c = 3
[[row]]
a = 4
[[row.leaf]]
c = 5
'''


def test_every_key_is_found_on_its_line() -> None:
    lines = key_lines(TRICKY)
    wanted: dict[tuple[str | int, ...], int] = {
        ("plain",): 2, ("quoted key",): 3, ("literal.key",): 4, ("dotted", "inner", "deep"): 5, ("long",): 6,
        ("lit",): 10,
        ("list",): 12, ("list", 0): 13, ("list", 1, 1): 13, ("list", 2, "m"): 14, ("when",): 16, ("table", "sub"): 18,
        ("table", "sub", "z"): 19, ("row", 0): 20, ("row", 0, "a"): 21, ("row", 0, "part", "b"): 23,
        ("row", 0, "leaf", 0, "c"): 25, ("row", 1): 26, ("row", 1, "a"): 27, ("row", 1, "leaf", 0, "c"): 29,
    }  # fmt: skip
    assert {path: lines.get(path) for path in wanted} == wanted


def _paths(value: object, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    out = [path]
    if isinstance(value, dict):
        for key, item in value.items():
            out += _paths(item, (*path, key))
    elif isinstance(value, list):
        for index, item in enumerate(value):
            out += _paths(item, (*path, index))
    return out


@pytest.mark.parametrize("text", [TRICKY, GOOD])
def test_no_key_of_the_document_is_missed(text: str) -> None:
    assert set(_paths(tomllib.loads(text))) == set(key_lines(text))


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


_WORD = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=12)
_BLOCK = st.text("ab =[]#\n'", max_size=12).filter(lambda text: "'''" not in text and not text.endswith("'"))
_VALUES = st.recursive(
    st.one_of(st.integers(), st.booleans(), _WORD.map(_quoted), _BLOCK.map(lambda text: f"'''{text}'''")),
    lambda inner: st.lists(inner, max_size=3),
    max_leaves=6,
)


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    return str(value)


@settings(max_examples=examples(80, 1600), deadline=None)
@given(st.lists(st.tuples(_WORD, _VALUES), unique_by=lambda pair: pair[0], max_size=6))
def test_lines_of_any_flat_document_point_at_their_keys(pairs: list[tuple[str, Any]]) -> None:
    text, wanted = "", {}
    for key, value in pairs:
        wanted[(key,)] = text.count("\n") + 1
        text += f"{_quoted(key)} = {_toml(value)}\n"
    assert list(tomllib.loads(text)) == [key for key, _ in pairs]
    assert {path: line for path, line in key_lines(text).items() if len(path) == 1} == wanted


# --- round trip and robustness ----------------------------------------------------------------------------------------

_NAME = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Cn", "Co", "Zl", "Zp"]), min_size=1
).filter(lambda text: bool(text.strip()) and len(text) < 150)


@settings(max_examples=examples(60, 1200), deadline=None)
@given(
    title=_NAME,
    reason=_NAME,
    sixteenths=st.integers(9 * 16, 20 * 16),
    count=st.integers(1, 500),
    price=st.integers(0, 10**7),
    day=st.dates(date(2000, 1, 1), date(2099, 12, 31)),
    bare=st.booleans(),
)
def test_the_kept_source_reads_back_to_the_same_job(
    title: str, reason: str, sixteenths: int, count: int, price: int, day: date, bare: bool
) -> None:
    # A bare decimal stops at a thousandth of an inch, so odd sixteenths are written as fractions.
    height = (
        f"{sixteenths / 16}" if bare and sixteenths % 2 == 0 else json.dumps(f"{sixteenths // 16}-{sixteenths % 16}/16")
    )
    text = GOOD.replace('title = "Platform by the well"', f"title = {_quoted(title)}")
    text = text.replace('height = "11 in"', f"height = {height}").replace("2026-05-12\nat", f"{day}\nat", 1)
    text = text.replace("block = 7.5", f"block = {price / 10000}")
    text += f'[[log]]\non = "{day}"\nwho = "R. Stone"\ndo = "receive"\nlot = "L1"\ncount = {count}\n'
    text += f"reason = {_quoted(reason)}\n"
    job = parse_job_file(text, "job.toml")
    kept = json.loads(json.dumps(job.source))
    again = parse_job_table(kept, "the book")
    assert again == job
    assert json.loads(json.dumps(again.source)) == kept
    assert job.prices["block"] == price and job.log[-1].count == count
    assert job.spec.platforms[0].height_nm * 16 == sixteenths * INCH


def test_the_source_keeps_every_key_that_was_written() -> None:
    assert set(_paths(dict(read(GOOD).source))) == set(_paths(tomllib.loads(GOOD)))


def test_a_table_without_lines_names_the_key_alone() -> None:
    kept = dict(read(GOOD).source)
    kept["code"] = "no"
    with pytest.raises(InputErrors) as caught:
        parse_job_table(kept, "job 26-501")
    assert caught.value.problems == (
        "job 26-501: code: 'no' is not a job code; write two digits of the year, a dash and three digits, like 26-014",
    )


def _swap(line: str) -> Callable[[str], str]:
    return lambda text: re.sub(r"= .*", f"= {line}", text, count=1)


_JUNK = st.sampled_from(
    ["{}", "[]", '""', "1", "-1", "1.5", "true", "[1]", "{a = 1}", "1e400", "07:00:00", "2026-01-01", '"x"', '"1/0"']
)
_EDIT = st.tuples(st.integers(0, len(GOOD.splitlines()) - 1), st.one_of(_JUNK.map(_swap), st.just(lambda text: "")))


@settings(max_examples=examples(250, 5000), deadline=None)
@given(st.lists(_EDIT, min_size=1, max_size=3))
def test_any_spoilt_file_is_read_or_refused_in_words(edits: list[tuple[int, Callable[[str], str]]]) -> None:
    lines = GOOD.splitlines()
    for index, edit in edits:
        lines[index] = edit(lines[index])
    try:
        read("\n".join(lines))
    except InputErrors as error:
        assert error.problems and all(re.match(r"job\.toml:\d+: .+", line) for line in error.problems)


@settings(max_examples=examples(100, 2000), deadline=None)
@given(st.binary(max_size=60))
def test_any_bytes_are_refused_in_words(data: bytes) -> None:
    with pytest.raises(InputError):
        parse_job_bytes(data, "job.toml")


def test_a_size_that_makes_no_footing_is_refused_where_it_is_written() -> None:
    text = GOOD.replace('support = "blocks"', 'support = "footings"\nattachment = "attached"')
    text = text.replace('height = "11 in"', 'height = "12\'"').replace(
        'size = ["14\'", "12\' 3"]', 'size = ["60\'", "60\'"]'
    )
    beam = '[[platform.beam]]\nplies = 2\nsize = "2x12"\nat = "59\'"\nposts = 2\npost = "6x6"\n\n[platform.joists]'
    (found,) = problems(text.replace("[platform.joists]", beam, 1))
    assert found.startswith("job.toml:14: platform[1]: ") and "is too much for a plain pad; give more posts" in found


def test_a_house_rules_file_is_read_by_the_same_rules() -> None:
    data = (
        b'unit = "mm"\n[rules]\nlevel = 5\nwaste_boards = 7.5\n[phases.frame]\nhours = 20\n[phases.care]\nskip = true\n'
    )
    figures, changes = parse_rules_bytes(data, "house.toml")
    assert figures == {"level": 5 * MM, "waste_boards": 75}
    assert [(key, change.hours, change.skip) for key, change in changes] == [
        ("frame", 20.0, False),
        ("care", None, True),
    ]
    with pytest.raises(InputErrors) as caught:
        parse_rules_bytes(b'[rules]\nlevel = "-1"\n[phase.frame]\nhours = 3\n', "house.toml")
    assert caught.value.problems[0].startswith("house.toml:2: rules.level: '-1' is not a length: it is negative; ")
    assert caught.value.problems[1] == (
        "house.toml:3: phase: no such key (did you mean phases?); known here are phases, rules and unit"
    )


def test_corners_are_cut_out_or_clipped_and_boards_get_a_border() -> None:
    cuts = '[[platform.cut]]\ncorner = "front right"\nwidth = "4\'"\ndepth = 60\n\n[[platform.cut]]\ncorner = "Back Left"\nleg = "2\' 6"\n'
    text = GOOD.replace(
        'gap = "3/16 in"\nuse = "UC4A"', f'gap = "3/16 in"\nuse = "UC4A"\nborder = true\noverhang = 1\n\n{cuts}', 1
    )
    lower, upper = read(text).spec.platforms
    assert lower.cuts == (
        CutOut(Corner.FRONT_RIGHT, 4 * FOOT, 5 * FOOT), Clip(Corner.BACK_LEFT, 30 * INCH),
    )  # fmt: skip
    assert (lower.decking.border, lower.decking.overhang_nm) == (True, INCH)
    assert (upper.cuts, upper.decking.border, upper.decking.overhang_nm) == ((), False, 0)
    # 14 x 12-1/4 ft less 4 x 5 ft and half of 2-1/2 ft squared.
    assert lower.area_ft2 == 14 * 12.25 - 20 - 3.125


CUT = "[[platform.cut]]\ncorner = {corner}\n{sizes}\n"


@pytest.mark.parametrize(
    ("corner", "sizes", "after", "fault"),
    [
        ('"front right"', 'width = "14\'"\ndepth = "5\'"', "lower",
         "platform[1].cut: the front right corner: a cut-out of 14' does not fit a platform 14' wide; 13' is the most"),
        ('"front"', 'leg = "2\'"', "lower",
         "platform[1].cut[1].corner: 'front' is not one of the choices; choose back left, front"
         " left, front right or back right"),
        ('"front left"', 'leg = "2\'"\nwidth = "2\'"', "lower",
         "platform[1].cut[1].leg: a clipped corner has one leg; leave out width and depth, or leave out leg to cut it"
         " square"),
        ('"front left"', 'leg = "6 in"', "lower", "platform[1].cut[1].leg: 6\" is out of range; it may be 1' to 60'"),
        ('"front left"', 'width = "4\'"', "lower", "platform[1].cut[1].depth: missing; write depth = \"5'\""),
        ('"front left"', 'leg = "2\'"', "upper",
         "platform[2].cut: a frame of uncut boards has square corners; write its size instead of uncut"),
    ],
)  # fmt: skip
def test_a_cut_that_cannot_be_framed_is_told(corner: str, sizes: str, after: str, fault: str) -> None:
    block = CUT.format(corner=corner, sizes=sizes)
    mark = '[[platform]]\nname = "upper"' if after == "lower" else '[[lot]]\ncode = "L1"'
    assert mark in GOOD
    (found,) = problems(GOOD.replace(mark, f"{block}\n{mark}"))
    assert fault in found


def test_joists_beside_a_cut_out_need_two_supports() -> None:
    footed = GOOD.replace('support = "blocks"', 'support = "footings"\nattachment = "attached"').replace(
        'height = "11 in"', 'height = "5\'"'
    )
    beam = '[[platform.beam]]\nplies = 2\nsize = "2x10"\nat = "10\'"\nposts = 3\npost = "6x6"\n\n'
    cut = CUT.format(corner='"front right"', sizes='width = "4\'"\ndepth = "5\'"')
    mark = '[[platform]]\nname = "upper"'
    (found,) = problems(footed.replace(mark, f"{beam}{cut}\n{mark}"))
    # 12 ft 3 in deep less 5 ft: those joists run 7 ft 3 in from the back.
    assert "the joists beside the front right cut-out need two supports" in found
    assert 'they run from 0" to 7\' 3" from the back edge' in found
    under = beam.replace("10'", "6'")
    (lower, _) = read(footed.replace(mark, f"{beam}{under}{cut}\n{mark}")).spec.platforms
    assert [b.at_nm / FOOT for b in lower.beams] == [6, 10]
