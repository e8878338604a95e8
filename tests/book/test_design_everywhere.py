"""Whatever is typed into the form of a new job, form, take, job and check say the same of its design, each fault by its clause."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.book.conftest import DAY, hand_of
from tests.often import examples
from tracker.book.jobs import job_view, take_job
from tracker.book.opening import open_book
from tracker.book.proposal import preview
from tracker.book.views import CheckState
from tracker.trade.cautions import DEFER
from tracker.trade.checks.design import DESIGN
from tracker.trade.design import design_lines
from tracker.trade.jobfile import JobFaults, parse_job_bytes, parse_job_table, write_job
from tracker.trade.jobfile.form import JobForm

CLAUSES = {
    "joist span", "clipped corner", "overhang", "beam", "posts", "footings", "frost", "ledger", "joist spacing", "joints",
    "use category", "guard", "rim depth", "stairs", "stringers", "handrail", "stair guard", "loads", "permit", "locate",
}  # fmt: skip
PLATFORM = "platform.0."
# What the form takes, far past what the tables allow; what is left out is suggested.
TYPED = {
    f"{PLATFORM}size.0": st.integers(4, 30).map("{}'".format),
    f"{PLATFORM}size.1": st.integers(4, 30).map("{}'".format),
    f"{PLATFORM}height": st.integers(6, 14 * 12).map("{} in".format),
    "site_facts.frost_depth": st.sampled_from(["0 in", "36 in"]),
}  # fmt: skip
MAY_BE_TYPED = {
    f"{PLATFORM}attachment": st.sampled_from(["attached", "free-standing"]),
    f"{PLATFORM}support": st.sampled_from(["wood blocks", "blocks", "footings"]),
    f"{PLATFORM}joists.size": st.sampled_from(["2x6", "2x8", "2x10", "2x12"]),
    f"{PLATFORM}joists.spacing": st.sampled_from(["12 in", "16 in", "24 in"]),
    f"{PLATFORM}joists.species": st.sampled_from(["southern pine", "hem-fir", "redwood"]),
    f"{PLATFORM}joists.use": st.sampled_from(["UC3B", "UC4A"]),
    f"{PLATFORM}decking.board": st.sampled_from(["5/4x6", "2x6"]),
    f"{PLATFORM}beams": st.sampled_from(["1", "2", "3"]),
    f"{PLATFORM}beam.0.size": st.sampled_from(["2x6", "2x12"]),
    f"{PLATFORM}flights": st.sampled_from(["0", "1", "2"]),
    f"{PLATFORM}guarded": st.sampled_from(["yes", "no"]),
    f"{PLATFORM}cut.0.leg": st.sampled_from(["1'", "2'", "6'"]),
    "site_facts.digging": st.sampled_from(["yes", "no"]),
    "site_facts.soil": st.sampled_from(["sand", "clay", "unknown"]),
    "site_facts.carries": st.sampled_from(["hot tub", "roof, screen room"]),
    "site_facts.live": st.sampled_from(["40", "100"]),
    "site_facts.snow": st.sampled_from(["30", "70"]),
    "permit": st.sampled_from(["yes", "no"]),
}


CLIPPED = {
    f"{PLATFORM}corners": "1", f"{PLATFORM}cut.0.corner": "front left", f"{PLATFORM}cut.0.kind": "clipped at 45 degrees",
}  # fmt: skip


@settings(max_examples=examples(8, 400), deadline=None)
@given(typed=st.fixed_dictionaries(TYPED, optional=MAY_BE_TYPED))
def test_form_take_job_and_check_say_the_same_of_any_design(typed: dict[str, str]) -> None:
    cut = CLIPPED if f"{PLATFORM}cut.0.leg" in typed else {}
    form = JobForm({}, {**cut, "title": "Any deck", "client": "Client Plover Lane (invented)", **typed}, DAY, "26-101")
    hand = hand_of("Owner Plover")
    with TemporaryDirectory() as folder, closing(open_book(Path(folder) / "jobs.book")) as book:
        proposal = preview(book, form.source, DAY)
        try:
            spec = parse_job_table(form.source, "form").spec
        except JobFaults as error:
            assert proposal.problems and all(fault.what and fault.path for fault in error.faults)
            return
        failing = [line for line in design_lines(spec) if not line.good]
        assert all(line.clause in CLAUSES and line.text and line.source for line in design_lines(spec))
        faults = tuple(line.said for line in failing)
        if not proposal.problems:
            assert proposal.against == ((*faults, f"{DEFER}.") if faults else ())
        taken = take_job(book, hand, parse_job_bytes(write_job(form.source).encode(), "job.toml"))
        told = tuple(text.removeprefix("design: ") for text in taken.warnings if text.startswith("design: "))
        assert told == faults
        view = job_view(book, "26-101", DAY)
        judged = view.check(DESIGN).answer
        assert view.design_faults == faults
        assert view.check(DESIGN).state is (CheckState.FAILED if faults else CheckState.PASSED)
        assert judged is not None and tuple(judged.answer["faults"]) == faults  # type: ignore[arg-type]
