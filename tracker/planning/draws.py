"""A payment schedule: shares of the contract, each due when a phase is signed off. Pure; the shares always add up.

Typed like ``deposit=10% frame=40% boards=3000 final=rest``: ``deposit`` is due when the quote is accepted, every other
name is a phase. Fixed amounts come off first; percentages are of the whole; one share may be the rest.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from fractions import Fraction

from tracker.errors import InputError, InputErrors
from tracker.planning.cents import round_cents, share_out
from tracker.text import clean, listing, near
from tracker.trade.money import format_money, parse_money, parse_percent, percent_text
from tracker.trade.phases import HAND_OVER
from tracker.trade.rules import Rules

DEPOSIT = "deposit"
EXAMPLE = "write it like deposit=10% frame=40% boards=30% final=rest"


@dataclass(frozen=True, slots=True)
class Share:
    """One draw as it was agreed: ``tenths`` of a percent and so many ``hundredths`` besides, else ``cents``, else (both None)
    the rest.

    ``odd_cent``: a rest that takes the odd cents, so that equal shares come to equal amounts; every rest that is agreed now
    does, one kept by an older version shared them out.
    """

    name: str
    tenths: int | None = None
    cents: int | None = None
    hundredths: int = 0
    odd_cent: bool = False

    @property
    def percent(self) -> int:
        """The share in hundredths of a percent; 0 of a fixed amount and of the rest."""
        return (self.tenths or 0) * 10 + self.hundredths

    @property
    def percent_text(self) -> str:
        """``33.33 %``."""
        return percent_text(self.percent, 2)


def share_of_whole(name: str, percent: int) -> Share:
    """A draw of so many hundredths of a percent."""
    tenths, hundredths = divmod(percent, 10)
    return Share(name, tenths, hundredths=hundredths)


def usual_draws(rules: Rules, phases: Sequence[str]) -> tuple[Share, ...]:
    """The house's schedule for a job with these phases: deposit, frame, boards, the rest at the final walk-through.

    Draws of phases the job does not have go to the last. Raises InputError when the house rules ask for more than all.
    """
    wanted = (
        (DEPOSIT, rules.figure("deposit")),
        ("frame", rules.figure("draw_frame")),
        ("boards", rules.figure("draw_boards")),
    )
    shares = tuple(share_of_whole(name, part) for name, part in wanted if part and (name == DEPOSIT or name in phases))
    if sum(share.percent for share in shares) > 10_000:
        raise InputError(
            "the house rules deposit, draw_frame and draw_boards are more than 100 % together",
            "set them lower: deckjobs rules --set draw_frame=40",
        )
    last = next((key for key in ("final", HAND_OVER) if key in phases), phases[-1])
    return (*(share for share in shares if share.name != last), Share(last, odd_cent=True))


def parse_draws(words: Sequence[str], phases: Collection[str]) -> tuple[Share, ...]:
    """Read a schedule as people type it; raises InputErrors naming every share that cannot be."""
    problems: list[str] = []
    shares: list[Share] = []
    for word in words:
        name, equals, text = word.partition("=")
        name, text = name.strip().lower(), text.strip()
        if not equals or not text:
            problems.append(f"{clean(word)[:40]!r} is no draw")
        elif name != DEPOSIT and name not in phases:
            problems.append(f"{clean(name)[:40]!r} is no phase of this job{near(name, (DEPOSIT, *phases))}")
        elif name in {share.name for share in shares}:
            problems.append(f"{name} is there twice")
        else:
            try:
                shares.append(_share(name, text))
            except InputError as error:
                problems.append(f"{name}: {error.message}")
    rests = [share.name for share in shares if _is_rest(share)]
    if len(rests) > 1:
        problems.append(f"only one draw can be the rest, not {listing(rests, 'and')}")
    if not problems and not shares:
        problems.append("no draw is named")
    if problems:
        raise InputErrors(problems, f"{EXAMPLE}; phases are {listing(phases, 'and')}")
    return tuple(shares)


def _share(name: str, text: str) -> Share:
    if text == "rest":
        return Share(name, odd_cent=True)
    if text.endswith("%"):
        return share_of_whole(name, parse_percent(text, "a share", 2))
    return Share(name, cents=parse_money(text))


def _is_rest(share: Share) -> bool:
    return share.tenths is None and share.cents is None


def split_draws(total_cents: int, shares: Sequence[Share]) -> list[int]:
    """What each draw comes to; together exactly ``total_cents``.

    Every share is rounded once to the cent and the rest takes what that leaves over, so that equal shares are equal amounts;
    without a rest to take it (or where rounding would come to more than all) the cents left over go by largest remainder.
    Raises InputError when the shares are more than the whole, or less and none is the rest.
    """
    fixed = sum(share.cents or 0 for share in shares)
    percent = sum(share.percent for share in shares)
    rest = any(_is_rest(share) for share in shares)
    weights = [total_cents * share.percent + 10_000 * (share.cents or 0) for share in shares]
    left = 10_000 * total_cents - sum(weights)
    if left < 0 or (left and not rest):
        said = " and ".join(
            part for part in (percent_text(percent, 2) if percent else "", format_money(fixed) if fixed else "") if part
        )
        raise InputError(
            f"the draws come to {said or 'nothing'} of {format_money(total_cents)}, {'more' if left < 0 else 'less'} than all",
            "make one of them the rest, like final=rest"
            + ("; a share of the price is written with %, like deposit=10%" if 0 < fixed <= 10_000 else ""),
        )
    if left and any(share.odd_cent for share in shares):
        parts = [round_cents(Fraction(weight, 10_000)) for weight in weights]  # the rest's own is 0
        over = total_cents - sum(parts)
        if over >= 0:
            return [over if _is_rest(share) else part for share, part in zip(shares, parts, strict=True)]
    weights = [left if _is_rest(share) else w for share, w in zip(shares, weights, strict=True)]
    return share_out(total_cents, weights)
