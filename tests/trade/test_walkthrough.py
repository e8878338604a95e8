"""The walk-through asks for what the deck has, with the figures of its own spec and rules."""

from __future__ import annotations

from dataclasses import replace

from tests.book.conftest import job_text
from tracker.trade.jobfile import parse_job_bytes
from tracker.trade.spec import Attachment, Finish, Guard, JobSpec, Stairs
from tracker.trade.walkthrough import walk_through

SPEC = parse_job_bytes(job_text().encode(), "job.toml").spec
FOOT = 304_800_000


def titles(spec: JobSpec) -> list[str]:
    return [part.title for part in walk_through(spec)]


def words(spec: JobSpec) -> str:
    return " ".join(f"{p.text} {p.limit} {p.source}" for part in walk_through(spec) for p in part.points)


def test_a_plain_platform_has_no_stairs_guard_or_permit_to_look_at() -> None:
    assert titles(SPEC) == ["Boards", "Screws", "Edges", "Drainage and air", "Yard", "Papers"]
    told = words(SPEC)
    assert "3/16 in wanted, 1/16 in either way" in told
    assert not any(word in told for word in ("ledger", "Permit", "4 in ball", "test button", "stain"))


def test_what_the_spec_adds_is_asked_for() -> None:
    platform = replace(
        SPEC.platforms[0], attachment=Attachment.HOUSE, stairs=(Stairs(3 * FOOT, 2 * FOOT),),
        guard=Guard(3 * FOOT, 20 * FOOT),
    )  # fmt: skip
    spec = replace(SPEC, platforms=(platform,), permit=True, finish=Finish.STAIN)
    assert titles(spec) == ["Boards", "Screws", "Edges", "Stairs", "Guard", "Drainage and air", "Yard", "Papers"]
    told = words(spec)
    assert all(word in told for word in ("36 in or more", "4 in ball", "ledger", "Permit", "The stain"))


def test_several_platforms_are_walked_one_by_one() -> None:
    lower = replace(SPEC.platforms[0], name="lower")
    found = titles(replace(SPEC, platforms=(SPEC.platforms[0], lower)))
    assert found[:5] == ["Boards, deck", "Screws, deck", "Edges, deck", "Drainage and air, deck", "Boards, lower"]


def test_the_owners_own_figures_are_the_ones_asked_for() -> None:
    spec = replace(SPEC, rules=replace(SPEC.rules, house={"gap_tolerance": 3_175_000}))
    assert "3/16 in wanted, 1/8 in either way house rule" in words(spec)
