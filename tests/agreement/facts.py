"""Facts as the surfaces tell them: one fact, every surface that tells it, and what does not agree."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import NamedTuple, TypeAlias

Value: TypeAlias = "str | int | bool | tuple[Value, ...] | None"


class Fact(NamedTuple):
    """What is told: a ``kind`` of thing (job, phase, need, lot...), which one, and what of it."""

    kind: str
    which: tuple[str, ...]
    what: str


@dataclass(slots=True)
class Facts:
    """Everything that was told, by fact and by the surface that told it."""

    told: dict[Fact, dict[str, Value]] = field(default_factory=dict)
    wrong_sums: list[str] = field(default_factory=list)

    def tell(self, surface: str, kind: str, which: str | tuple[str, ...], **said: Value) -> None:
        """A surface tells several things of one subject; telling one thing twice in two ways is found out too."""
        subject = (which,) if isinstance(which, str) else which
        for what, value in said.items():
            surfaces = self.told.setdefault(Fact(kind, subject, what), {})
            if surface in surfaces and surfaces[surface] != value:
                surfaces[f"{surface} (again)"] = value
            surfaces[surface] = value

    def adds_up(self, surface: str, what: str, total: int, parts: Iterable[int], slack: int = 0) -> None:
        """A surface shows a sum and its lines, which were each rounded where there is ``slack``."""
        lines = list(parts)
        if abs(total - sum(lines)) > slack:
            self.wrong_sums.append(f"{surface}: {what} is {total}, its lines come to {sum(lines)} ({lines})")

    def disagreements(self) -> Iterator[str]:
        """One line for each fact that two surfaces tell differently, and for each sum that is not that of its lines."""
        for fact, surfaces in sorted(self.told.items(), key=lambda pair: pair[0][:3]):
            if len(set(surfaces.values())) > 1:
                said = "; ".join(f"{surface}: {value!r}" for surface, value in surfaces.items())
                yield f"{fact.kind} {' '.join(fact.which)}: {fact.what}: {said}"
        yield from self.wrong_sums

    @property
    def compared(self) -> int:
        """How many tellings there were besides the first of each fact."""
        return sum(len(surfaces) - 1 for surfaces in self.told.values())
