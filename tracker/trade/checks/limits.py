"""What a check will judge against, said before anything is read: for the paper that goes to the yard.

A check states its limits with its verdict. Here it is asked with the example readings of its own form, which come from
the job, and only its limits are kept. Pure.
"""

from __future__ import annotations

from collections.abc import Mapping

from tracker.errors import InputError
from tracker.trade.answer import Limit
from tracker.trade.checks.base import Case, Check
from tracker.trade.readings import Form, readings_of

_BY_RULE: Mapping[str, tuple[str, ...]] = {
    "delivery": ("moisture_most_delivery",),
    "block-level": ("level", "shim_most"),
    "joist-spacing": ("joist_spacing", "sample_every"),
    "support": ("support_longest", "sample_every"),
}
"""House rules of the checks whose rows cannot all take the same example."""


def limits_of(check: Check, case: Case) -> tuple[Limit, ...]:
    """The limits a check applies to a case; empty where it has none (a paper is there or it is not)."""
    form = check.form(case)
    try:
        answer = check.judge(case, readings_of(form, _examples(form), case.job.unit, case.today))
    except InputError:
        limits: tuple[Limit, ...] = ()
    else:
        limits = answer.limits
    return limits or tuple(case.rules.limit(key, case.job.unit) for key in _BY_RULE.get(check.key, ()))


def _examples(form: Form) -> list[tuple[str, str]]:
    named = [(field.key, field.example) for field in form.fields if field.example]
    single = len(form.columns) == 1
    for row in form.rows:
        named += [(row if single else f"{row}.{col.key}", col.example) for col in form.columns if col.example]
    return named
