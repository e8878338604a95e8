"""Every check of the registry: it asks plainly, answers whatever is typed, and is named as people name it."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.often import examples
from tests.trade.geometry_cases import GROUND
from tests.trade.phase_jobs import EVERY_MIX, FULL_JOB, GROUND_JOB, RAISED, job_of
from tracker.errors import InputError
from tracker.trade.answer import Answer, Verdict, answer_from_json
from tracker.trade.checks.base import Case, Check, LotLine
from tracker.trade.checks.registry import BY_KEY, CHECKS, checks_for
from tracker.trade.lengths import Unit
from tracker.trade.phases import PHASES, phases_for
from tracker.trade.readings import Form, Kind, Readings, parse_readings, parse_value
from tracker.trade.spec import BoardKind, Finish, JobSpec, Platform

DAY = date(2026, 5, 12)
LOTS = (
    LotLine("L1", "2x8x12", 11, 11, 11, "UC4A"),
    LotLine("L2", "5/4x6x10", 28, 28, 28, "UC3B", dry=True),
    LotLine("L3", "16d ring-shank nails", 2, 2, 2),
)


def case_of(job: JobSpec, platform: Platform) -> Case:
    return Case(job, platform, DAY, DAY + timedelta(days=3), LOTS)


def composite(platform: Platform) -> Platform:
    return replace(platform, decking=replace(platform.decking, kind=BoardKind.COMPOSITE))


CASES = [
    case_of(job, platform)
    for unit in Unit
    for job in (job_of(GROUND, RAISED, permit=True, finish=Finish.OIL, unit=unit), job_of(composite(GROUND), unit=unit))
    for platform in job.platforms
]
PAIRS = [(check, case) for check in CHECKS for case in CASES if check.applies(case.job, case.platform)]


def names(form: Form) -> list[str]:
    one = len(form.columns) == 1
    return [spec.key for spec in form.fields] + [
        row if one else f"{row}.{column.key}" for row in form.rows for column in form.columns
    ]


def test_every_check_has_its_own_key_and_says_what_it_asks() -> None:
    assert len(BY_KEY) == len(CHECKS)
    for check in CHECKS:
        assert check.title and check.asks and check.source
        assert check.key == check.key.lower() and " " not in check.key and "." not in check.key


def test_the_readme_lists_every_check_with_its_phase_in_the_order_of_the_work() -> None:
    lines = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8").splitlines()
    table = lines[lines.index("| check | phase | what is read |") + 2 :]
    told = [tuple(cell.strip(" `") for cell in line.split("|")[1:3]) for line in table[: len(CHECKS)]]
    phase_of = {key: phase.key for phase in PHASES for key in phase.checks}
    assert told == [(check.key, phase_of[check.key]) for check in CHECKS]
    assert table[len(CHECKS)] == ""


def test_the_checks_stand_in_the_order_of_the_work() -> None:
    place = {key: number for number, phase in enumerate(PHASES) for key in phase.checks}
    assert [place[check.key] for check in CHECKS] == sorted(place.values())


@pytest.mark.parametrize(("check", "case"), PAIRS, ids=lambda x: getattr(x, "key", ""))
def test_a_form_can_be_filled_in(check: Check, case: Case) -> None:
    form = check.form(case)
    asked = names(form)
    assert asked and len(asked) == len(set(asked))
    assert len(set(form.rows)) == len(form.rows)
    assert form.open_rows or form.least_rows <= len(form.rows)
    assert bool(form.columns) or not (form.rows or form.open_rows)
    assert not {spec.key for spec in form.fields} & set(form.rows)
    for spec in (*form.fields, *form.columns):
        assert spec.label
        assert (spec.kind is Kind.CHOICE) == bool(spec.choices)
        assert all(word == word.lower() for word in spec.choices)
        if spec.example:
            parse_value(spec, spec.example, case.job.unit, DAY)


@pytest.mark.parametrize(("check", "case"), PAIRS, ids=lambda x: getattr(x, "key", ""))
def test_an_example_of_a_length_is_in_the_unit_of_the_job(check: Check, case: Case) -> None:
    form = check.form(replace(case, job=replace(case.job, unit=Unit.MM)))
    for spec in (*form.fields, *form.columns):
        if spec.kind in (Kind.LENGTH, Kind.SIGNED, Kind.LENGTHS):
            assert not {"'", '"', "in"} & {*spec.example, *spec.example.split()}, spec.example


@pytest.mark.parametrize(("check", "case"), PAIRS, ids=lambda x: getattr(x, "key", ""))
def test_no_readings_are_not_enough_and_it_says_which_are_wanted(check: Check, case: Case) -> None:
    answer = check.judge(case, Readings())
    if check.from_spec:  # the design asks for none
        assert answer.verdict in (Verdict.PASSED, Verdict.FAILED) and answer.working
        return
    assert answer.verdict is Verdict.INCOMPLETE
    assert answer.headline and answer.moves and answer.source


def tokens_for(form: Form) -> st.SearchStrategy[list[str]]:
    """Values that fit their fields, some of them left out, some wrong."""
    asked = [(name, spec) for spec in form.fields for name in [spec.key]]
    for row in (*form.rows, *(["extra 1", "extra 2"] if form.open_rows else [])):
        asked += [(row if len(form.columns) == 1 else f"{row}.{c.key}", c) for c in form.columns]
    fitting = {
        Kind.LENGTH: st.sampled_from(["0", "1/8\"", "1\"", "16\"", "4'", "9' 11", "12' 3-1/4", "120\"", "15' 10", "3000mm", "22000'"]),
        Kind.SIGNED: st.sampled_from(["0", "1/8\"", "-1/8\"", "1/4\"", "3\"", "-2mm", "10'"]),
        Kind.LENGTHS: st.sampled_from(["0", "0; 4'; 8'; 12'", "4'; 0", "0; 0", "12'; 24'", "0; 144\""]),
        Kind.COUNT: st.sampled_from(["0", "1", "2", "4", "27", "9999999"]),
        Kind.PERCENT: st.sampled_from(["0", "8.5", "12", "19", "28", "35", "200"]),
        Kind.NUMBER: st.sampled_from(["0", "-40", "20", "70.5", "9999999"]),
        Kind.TEXT: st.sampled_from(["UC4A", "none", "B-12", "western redcedar", "\x1b[2J", "[/b]", "southern pine"]),
        Kind.YESNO: st.sampled_from(["yes", "no"]),
        Kind.BY_EYE: st.sampled_from(["good", "good by R. Stone"]),
        Kind.DATE: st.sampled_from(["2026-05-01", "2026-05-12", "2026-06-30", "2000-01-01", "2099-12-31"]),
    }  # fmt: skip

    def one(name: str, index: int) -> st.SearchStrategy[str]:
        spec = asked[index][1]
        values = st.sampled_from(spec.choices) if spec.kind is Kind.CHOICE else fitting[spec.kind]
        return st.one_of(values.map(lambda text: f"{name}={text}"), st.just(""))

    return st.tuples(*(one(name, index) for index, (name, _) in enumerate(asked))).map(
        lambda given: [token for token in given if token]
    )


@settings(max_examples=examples(30, 600), deadline=None)
@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.key)
@given(data=st.data())
def test_whatever_is_measured_the_check_answers_or_says_what_is_wrong(check: Check, data: st.DataObject) -> None:
    case = data.draw(st.sampled_from([case for other, case in PAIRS if other is check]))
    form = check.form(case)
    tokens = data.draw(tokens_for(form))
    readings = parse_readings(form, tokens, case.job.unit, DAY)
    try:
        answer = check.judge(case, readings)
    except InputError as error:
        assert error.message
        return
    assert answer.verdict is not None
    assert answer.headline and "\n" not in answer.headline
    assert answer.source
    assert answer.verdict is not Verdict.FAILED or answer.moves, "a failed check says what to do next"
    assert _read_back(answer) == answer


def _read_back(answer: Answer) -> Answer:
    return answer_from_json(json.loads(json.dumps(answer.as_json(), allow_nan=False)))


# -- the checks of a job


def keys(job: JobSpec) -> list[str]:
    return [check.key for check in checks_for(job, phases_for(job))]


def test_a_job_of_one_platform_names_its_checks_plainly() -> None:
    found = keys(GROUND_JOB)
    assert "square" in found and not any("." in key for key in found)
    assert not {"permit", "footing-inspection"} & set(found)


def test_a_job_of_several_platforms_names_the_platform() -> None:
    found = keys(FULL_JOB)
    assert {"square.upper", "square.lower", "level.upper", "level.lower", "permit", "locate"} <= set(found)
    assert "square" not in found and "permit.upper" not in found
    for check in checks_for(FULL_JOB, phases_for(FULL_JOB)):
        assert check.key in (check.check.key, f"{check.check.key}.{check.platform.name}")


def test_each_check_of_every_mix_belongs_to_a_phase_of_the_job_and_applies() -> None:
    for job in EVERY_MIX:
        phases = {phase.key: phase for phase in phases_for(job)}
        found = checks_for(job, phases.values())
        assert len({check.key for check in found}) == len(found)
        for check in found:
            assert check.check.key in phases[check.phase].checks
            assert check.check.applies(job, check.platform)
