"""House rules: every default prints and reads back, and a replaced figure stays in sight."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.errors import InputError, InputErrors
from tracker.trade.lengths import FOOT, INCH, MM, Unit
from tracker.trade.rules import BY_KEY, RULES, Rule, RuleKind, Rules, parse_rule, parse_rules, show_rule


def test_each_rule_has_its_own_key_a_meaning_and_a_source() -> None:
    assert len(BY_KEY) == len(RULES)
    for rule in RULES:
        assert rule.what and rule.source
        assert rule.least <= rule.default
        assert rule.most is None or rule.default <= rule.most


@pytest.mark.parametrize("unit", Unit)
@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.key)
def test_a_default_reads_back_from_its_own_text(rule: Rule, unit: Unit) -> None:
    assert parse_rule(rule, show_rule(rule, rule.default, unit), unit) == rule.default


@given(st.integers(1, 64 * 240), st.sampled_from(Unit))
def test_a_length_set_to_any_sixty_fourth_is_shown_unrounded(sixty_fourths: int, unit: Unit) -> None:
    rule, figure = BY_KEY["level"], sixty_fourths * (INCH // 64)
    assert parse_rule(rule, show_rule(rule, figure, unit), unit) == figure


@given(st.integers(0, 1000))
def test_a_percentage_reads_back(tenths: int) -> None:
    rule = BY_KEY["waste_boards"]
    assert parse_rule(rule, show_rule(rule, tenths, Unit.INCH), Unit.INCH) == tenths


@pytest.mark.parametrize(
    ("key", "unit", "text"),
    [
        ("level", Unit.INCH, "1/4 in"), ("level", Unit.MM, "6.35 mm"), ("support_longest", Unit.INCH, "60 in"),
        ("last_board_least", Unit.INCH, "50 %"), ("cure_days", Unit.INCH, "3"),
    ],
)  # fmt: skip
def test_defaults_as_they_are_shown(key: str, unit: Unit, text: str) -> None:
    assert Rules().text(key, unit) == text


def test_a_house_rule_keeps_the_default_and_the_published_limit_in_sight() -> None:
    plain = Rules().limit("level", Unit.INCH)
    assert (plain.text, plain.source) == ("1/4 in", "common practice")
    assert plain.published == BY_KEY["level"].published != ""
    own = Rules({"level": 3 * INCH // 16}).limit("level", Unit.INCH)
    assert (own.what, own.text, own.source) == (plain.what, "3/16 in", "house rule")
    assert own.published == f"instead of 1/4 in (common practice); {plain.published}"
    bare = Rules({"cure_days": 7}).limit("cure_days", Unit.INCH)
    assert (bare.text, bare.source, bare.published) == ("7", "house rule", "instead of 3 (common practice)")


def test_a_jobs_own_rules_lie_over_the_houses_over_the_defaults() -> None:
    house = Rules({"level": INCH, "cure_days": 5})
    job = house.for_job({"level": 2 * INCH})
    assert [job.figure(key) for key in ("level", "cure_days", "drying_days")] == [2 * INCH, 5, 28]
    assert [job.source(key) for key in ("level", "drying_days")] == ["set for this job", "common practice"]
    assert [job.source(key) for key in ("cure_days",)] == ["house rule"]
    assert house.figure("level") == INCH
    # The limit a verdict shows says whose it is, and what it replaced: the house rule, or where there is none, the default.
    assert job.limit("level", Unit.INCH).published.startswith("instead of 1 in (house rule)")
    alone = Rules().for_job({"level": INCH // 2}).limit("level", Unit.INCH)
    assert alone.source == "set for this job" and alone.published.startswith("instead of 1/4 in (common practice)")


def test_typed_rules() -> None:
    typed = {"level": "3/16", "cure_days": "7", "last_board_least": "33.3 %", "support_longest": "4'"}
    assert parse_rules(typed, Unit.INCH) == {
        "level": 3 * INCH // 16, "cure_days": 7, "last_board_least": 333, "support_longest": 4 * FOOT,
    }  # fmt: skip
    assert parse_rules({"level": "5"}, Unit.MM) == {"level": 5 * MM}
    assert parse_rules({}, Unit.MM) == {}


def test_every_wrong_rule_is_named_at_once() -> None:
    typed = {
        "levle": "1/4", "cure_days": "3.5", "waste_boards": "101", "level": "-1/4", "hours_per_day": "0", "drying_days": "9999999",
        "support_longest": "0", "crew_size": "2",
    }  # fmt: skip
    with pytest.raises(InputErrors) as caught:
        parse_rules(typed, Unit.INCH)
    assert [problem.partition(";")[0] for problem in caught.value.problems] == [
        "levle: no such rule (did you mean level?)",
        "cure_days: '3.5' is not a count",
        "waste_boards: '101' is not a percentage: more than 100",
        "level: '-1/4' is not a length: it is negative",
        "hours_per_day: '0' is too little: working hours in a crew day, 1 at least",
        "drying_days: '9999999' is too much: days from the last board until the finish, 366 at most",
        "support_longest: '0' is too little: unsupported stretch of a joist on the ground, more than nothing at least",
    ]
    assert all("; " in problem for problem in caught.value.problems)


@given(st.sampled_from(RULES), st.text(max_size=12), st.sampled_from(Unit))
def test_any_text_is_a_figure_within_bounds_or_refused(rule: Rule, text: str, unit: Unit) -> None:
    try:
        figure = parse_rule(rule, text, unit)
    except InputError as error:
        assert error.hint
        return
    assert rule.least <= figure
    assert rule.most is None or figure <= rule.most
    assert rule.kind is not RuleKind.PERCENT or figure <= 1000
