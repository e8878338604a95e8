"""What a job form suggests for the questions nobody answered, from the answers there are. Pure."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Protocol

from tracker.errors import InputError
from tracker.text import count
from tracker.trade.design import RIM_LEAST
from tracker.trade.framing import TREAD_RUN
from tracker.trade.guards import HEIGHT_LEAST_NM, guard_required
from tracker.trade.jobfile.questions import MOST_BEAMS, NO, UNCUT, YES, number
from tracker.trade.lengths import FOOT, INCH, Unit, format_length, format_small
from tracker.trade.loading import LIVE_USUAL_PSF, Loading, parse_load
from tracker.trade.loads import SOIL_BEARING_PSF
from tracker.trade.lumber import dressed
from tracker.trade.postloads import table_joist_nm
from tracker.trade.spec import Attachment, BoardKind, Ground, Stringers, Support
from tracker.trade.stairs import CUT_STRINGER_RUN_MOST_NM, HANDRAIL_RISERS, RISE_MOST_NM, riser_count
from tracker.trade.suggest import (
    GROUND_SIZES,
    JOIST_SIZES,
    LOW,
    Suggestion,
    joist_span_nm,
    past_beams_nm,
    suggest_beam,
    suggest_beam_places,
    suggest_beams,
    suggest_ground_joists,
    suggest_joists,
    suggest_pad_beams,
    suggest_pads,
    suggest_permit,
    suggest_post,
    suggest_posts,
    suggest_support,
    suggest_use,
    suggest_wood_block_joists,
)

NOTHING = Suggestion("", "")


class Answers(Protocol):
    """The answers of a form, as far as suggestions rest on them."""

    @property
    def code(self) -> str:
        """The code suggested for a new job."""

    @property
    def today(self) -> date:
        """The day a relative day counts from."""

    @property
    def unit(self) -> Unit:
        """What bare numbers are."""

    @property
    def platforms(self) -> int:
        """How many platforms there are."""

    def text(self, key: str) -> str:
        """What stands for a question."""

    def value(self, key: str) -> str:
        """What stands for it, or is suggested."""

    def nm(self, key: str) -> int | None:
        """A length in nm; None when there is none."""


def platform_name(at: int, platforms: int) -> str:
    """The name of a platform that has none: ``deck`` is the first."""
    return "deck" if not at else "upper" if platforms == 2 else f"deck-{at + 1}"


@dataclass(frozen=True, slots=True)
class Suggestions:
    """The suggestions of one form."""

    form: Answers

    def of(self, key: str) -> Suggestion:
        """What is suggested for a question by its key; an empty text when nothing is."""
        parts = key.split(".")
        if parts[0] == "platform" and len(parts) > 2:
            return self._of_platform(int(parts[1]), ".".join(parts[2:]))
        simple: Mapping[str, Callable[[], Suggestion]] = {
            "code": lambda: Suggestion(self.form.code, "the next free one"),
            "start": lambda: Suggestion(self.form.today.isoformat(), "today"),
            "site_facts.digging": self._digging,
            "permit": self._permit,
        }
        return simple[key]() if key in simple else NOTHING

    def _of_platform(self, at: int, key: str) -> Suggestion:
        simple: Mapping[str, Callable[[int], Suggestion]] = {
            "name": lambda at: Suggestion(platform_name(at, self.form.platforms), ""),
            "support": self._support,
            "joists.species": lambda at: self._as_before(at, "joists.species", "southern pine"),
            "joists.grade": lambda at: self._as_before(at, "joists.grade", "no.2"),
            "joists.spacing": self._spacing,
            "joists.size": self._joists,
            "joists.use": self._frame_use,
            "beams": self._beams,
            "decking.board": lambda at: self._as_before(at, "decking.board", "5/4x6" if self._inch else "28x120"),
            "decking.kind": lambda at: self._as_before(at, "decking.kind", BoardKind.WOOD.value),
            "decking.species": lambda at: self._as_before(at, "decking.species", "southern pine"),
            "decking.lay": self._lay,
            "decking.gap": lambda at: self._as_before(at, "decking.gap", "3/16 in" if self._inch else "5"),
            "decking.use": self._use,
            "guarded": self._guarded,
            "guard.height": lambda at: Suggestion(
                format_small(HEIGHT_LEAST_NM, self.form.unit), "the least height of the rule"
            ),
        }
        if key in simple:
            return simple[key](at)
        head, _, rest = key.partition(".")
        if head == "beam":
            n, _, field = rest.partition(".")
            return self._beam(at, int(n), field)
        if head == "stairs" and key.endswith(".rise"):
            return Suggestion(self.form.value(f"platform.{at}.height"), "the height of the platform")
        if head == "stairs" and key.endswith(".width"):
            return Suggestion("36 in" if self._inch else "915", "the least the code allows; wider is kinder")
        if head == "stairs":
            return self._flight(key.rpartition(".")[2], f"platform.{at}.{key.rpartition('.')[0]}.")
        return NOTHING

    @property
    def _inch(self) -> bool:
        return self.form.unit is Unit.INCH

    @property
    def _loading(self) -> Loading:
        """The loads the form names."""
        live, snow = (self._load(key) for key in ("live", "snow"))
        return Loading(max(live, LIVE_USUAL_PSF), snow)

    def _load(self, key: str) -> int:
        try:
            return parse_load(self.form.value(f"site_facts.{key}"), self.form.unit)
        except InputError:
            return 0

    def _digging(self) -> Suggestion:
        if self._any_footings:
            return Suggestion(YES, "footings are dug")
        if self.form.value("site_facts.ground") == Ground.READY.value:
            return Suggestion(NO, "the ground is ready")
        return Suggestion(YES, "sod is stripped, beds are dug")

    @property
    def _any_footings(self) -> bool:
        return any(self._on_footings(at) for at in range(self.form.platforms))

    def _as_before(self, at: int, key: str, first: str) -> Suggestion:
        return (
            Suggestion(self.form.value(f"platform.{at - 1}.{key}"), "as the platform before")
            if at
            else Suggestion(first, "")
        )

    def _support(self, at: int) -> Suggestion:
        height = self.form.nm(f"platform.{at}.height")
        if at:
            return Suggestion(Support.PLATFORM.value, "it stands on the one below")
        attached = self._attached(at)
        return suggest_support(
            height, self._board_nm(at), attached, self.form.unit, self._footings_nm(at) if attached else 0
        )

    def _footings_nm(self, at: int) -> int:
        """The least height with room for the boards, joists and beams that footings would carry; 0 where no size is known."""
        sides, key, unit = self._sides(at), f"platform.{at}.", self.form.unit
        spacing, attached = self.form.nm(f"{key}joists.spacing"), self._attached(at)
        if sides is None or spacing is None:
            return 0
        wood, grade = self.form.value(f"{key}joists.species"), self.form.value(f"{key}joists.grade")
        places = suggest_beam_places(sides[1], attached, unit, wood, grade, spacing, MOST_BEAMS, self._loading)
        span = joist_span_nm(sides[1], places, attached)
        least = dressed(RIM_LEAST).depth_nm if attached else 0  # a ledger asks for deep joists
        past = past_beams_nm(sides[1], places, attached)
        joists = suggest_joists(wood, grade, spacing, span, unit, past, least, self._loading)
        joist = table_joist_nm(places[0], places, sides[1], attached)
        beam = suggest_beam(wood, grade, 2, joist, unit, self._loading)
        sizes = [found.text if found else JOIST_SIZES[unit][-1] for found in (joists, beam)]
        return self._board_nm(at) + sum(dressed(size).depth_nm for size in sizes)

    def _attached(self, at: int) -> bool:
        return self.form.value(f"platform.{at}.attachment") == Attachment.HOUSE.value

    def _sides(self, at: int) -> tuple[int, int] | None:
        """Width and depth as far as they are known; uncut boards give them without the rims."""
        key = f"platform.{at}."
        uncut = self.form.value(f"{key}make") == UNCUT
        width, depth = (
            self.form.nm(key + k) for k in (("uncut.rims", "uncut.joists") if uncut else ("size.0", "size.1"))
        )
        return None if width is None or depth is None else (width, depth)

    def _spacing(self, at: int) -> Suggestion:
        diagonal = self.form.text(f"platform.{at}.decking.angle") == "45"
        inches = 12 if diagonal else 16
        text = f"{inches} in" if self._inch else "300" if diagonal else "400"
        return Suggestion(text, "for diagonal boards" if diagonal else "what most deck boards allow")

    def _places(self, at: int) -> tuple[int, ...]:
        beams = number(self.form.value(f"platform.{at}.beams"), 0 if self._on_blocks(at) else 1, MOST_BEAMS)
        found = (self.form.nm(f"platform.{at}.beam.{n}.at") for n in range(beams))
        return tuple(nm for nm in found if nm is not None)

    def _span(self, at: int) -> int | None:
        sides = self._sides(at)
        return joist_span_nm(sides[1], self._places(at), self._attached(at)) if sides else None

    def _table_joist(self, at: int, n: int) -> int | None:
        """What the tables of a platform's ``n``-th beam are entered with."""
        sides, place = self._sides(at), self.form.nm(f"platform.{at}.beam.{n}.at")
        if sides is None or place is None:
            return None
        stacked = sum(
            other != at and self.form.value(f"platform.{other}.support") == Support.PLATFORM.value
            for other in range(self.form.platforms)
        )
        return table_joist_nm(place, self._places(at), sides[1], self._attached(at), stacked)

    def _joists(self, at: int) -> Suggestion:
        key, unit = f"platform.{at}.", self.form.unit
        spacing, height, span = self.form.nm(f"{key}joists.spacing"), self.form.nm(f"{key}height"), self._span(at)
        usual = Suggestion("2x8" if self._inch else "45x195", "the usual size on short spans")
        beams = self._on_blocks(at) and self.form.value(f"{key}beams") != "0"
        if beams or self._on_footings(at):
            if spacing is None or span is None:
                return NOTHING
            wood, grade = self.form.value(f"{key}joists.species"), self.form.value(f"{key}joists.grade")
            none = Suggestion("", f"none here spans {format_length(span, unit)}: add a beam")
            sides = self._sides(at)
            past = past_beams_nm(sides[1], self._places(at), self._attached(at)) if sides else 0
            on_them = self.form.value(f"{key}guarded") == YES or self._attached(at)
            least = dressed(RIM_LEAST).depth_nm if on_them else 0  # a guard and a ledger ask for a deep rim
            return suggest_joists(wood, grade, spacing, span, unit, past, least, self._loading) or none
        if at or height is None:
            return usual
        fits = (
            suggest_wood_block_joists
            if self.form.value(f"{key}support") == Support.WOOD_BLOCKS.value
            else suggest_ground_joists
        )
        # Where none fits the shallowest is what says how much height is wanting.
        return fits(height, self._board_nm(at), unit) or Suggestion(
            GROUND_SIZES[unit][-1], "the shallowest joist there is"
        )

    def _board_nm(self, at: int) -> int:
        try:
            return dressed(self.form.value(f"platform.{at}.decking.board")).thickness_nm
        except InputError:
            return INCH

    def _use(self, at: int, deep_nm: int = FOOT) -> Suggestion:
        height = self.form.nm(f"platform.{at}.height")
        support = self.form.value(f"platform.{at}.support")
        on = Support(support) if support in tuple(Support) else Support.BLOCKS
        return suggest_use(on, height or 0, self._board_nm(at), deep_nm)

    def _frame_use(self, at: int) -> Suggestion:
        """By the lowest wood of the frame: the joists, or the beams under them."""
        key = f"platform.{at}."
        beams = number(self.form.value(f"{key}beams"), 0, MOST_BEAMS) if self._on_footings(at) else 0
        try:
            joists = dressed(self.form.value(f"{key}joists.size")).depth_nm
            sizes = [self.form.value(f"{key}beam.{n}.size") for n in range(beams)]
            deep = joists + max((dressed(size).depth_nm for size in sizes), default=0)
        except InputError:
            deep = 0
        return self._use(at, max(deep, FOOT))

    def _on_footings(self, at: int) -> bool:
        return self.form.value(f"platform.{at}.support") == Support.FOOTINGS.value

    def _on_blocks(self, at: int) -> bool:
        return self.form.value(f"platform.{at}.support") == Support.BLOCKS.value

    def _pad_beams(self, at: int) -> Suggestion:
        """As many beams on pads as carry the platform, where there is room for them under it; else none."""
        none = Suggestion("0", "a block under every joist")
        sides, key, unit = self._sides(at), f"platform.{at}.", self.form.unit
        height, spacing = self.form.nm(f"{key}height"), self.form.nm(f"{key}joists.spacing")
        if sides is None or height is None or height > LOW or spacing is None or self._attached(at):
            return none
        wood, grade = self.form.value(f"{key}joists.species"), self.form.value(f"{key}joists.grade")
        places = suggest_pad_beams(sides[1], unit)
        span, past = joist_span_nm(sides[1], places, False), past_beams_nm(sides[1], places, False)
        joists = suggest_joists(wood, grade, spacing, span, unit, past, loading=self._loading)
        beam = suggest_beam(wood, grade, 2, self._pad_joist(places, sides[1]), unit, self._loading)
        if joists is None or beam is None or len(places) > MOST_BEAMS:
            return none
        needed = self._board_nm(at) + dressed(joists.text).depth_nm + dressed(beam.text).depth_nm
        if needed > height:
            return none
        return Suggestion(str(len(places)), "beams on a few pads, in place of blocks under every joist")

    def _pad_joist(self, places: tuple[int, ...], depth_nm: int) -> int:
        return max(table_joist_nm(place, places, depth_nm, False) for place in places)

    def _beams(self, at: int) -> Suggestion:
        if self._on_blocks(at):
            return self._pad_beams(at)
        key, unit, one = f"platform.{at}.", self.form.unit, self._attached(at)
        few = Suggestion("1" if one else "2", "with the ledger" if one else "free-standing")
        sides, spacing = self._sides(at), self.form.nm(f"{key}joists.spacing")
        if sides is None or spacing is None:
            return few
        wood, grade = self.form.value(f"{key}joists.species"), self.form.value(f"{key}joists.grade")
        places = suggest_beam_places(sides[1], one, unit, wood, grade, spacing, MOST_BEAMS, self._loading)
        if str(len(places)) == few.text:
            return few
        longest = format_length(joist_span_nm(sides[1], suggest_beams(sides[1], one, unit), one), unit)
        return Suggestion(str(len(places)), f"{few.text} would leave joists {longest} between supports: too far")

    def _beam(self, at: int, n: int, field: str) -> Suggestion:
        key, unit = f"platform.{at}.", self.form.unit
        sides, wood, grade = (
            self._sides(at),
            self.form.value(f"{key}joists.species"),
            self.form.value(f"{key}joists.grade"),
        )
        if field == "plies":
            return Suggestion("2", "")
        usual = Suggestion("6x6" if self._inch else "145x145", "carries more than a 4x4")
        if sides is None:
            return usual if field == "post" else NOTHING
        if field == "at":
            return self._beam_at(at, n, sides[1])
        joist = self._table_joist(at, n) or sides[1]
        plies = number(self.form.value(f"{key}beam.{n}.plies"), 1, 4)
        if field == "post":
            posts = number(self.form.value(f"{key}beam.{n}.posts"), 2, 99)
            # No taller than the deck: the joists and the beam are still to be taken off.
            tall = self.form.nm(f"{key}height") or 0
            none = Suggestion("", "no post here may stand so tall under that load: add a post")
            return suggest_post(wood, joist, sides[0], posts, tall, unit, self._loading) or none
        if field == "size":
            none = Suggestion("", "no beam table reaches this: add a beam")
            return suggest_beam(wood, grade, plies, joist, unit, self._loading, self._beam_room(at)) or none
        if field in ("posts", "pads"):
            size = self.form.value(f"{key}beam.{n}.size")
            none = Suggestion("", "no beam table reaches this: take a deeper beam, or add one")
            found = suggest_posts(size, wood, grade, plies, joist, sides[0], unit, self._loading) or none
            if field == "posts" or not found.text:
                return found
            pads = suggest_pads(int(found.text), joist, sides[0], self._soil_psf, unit, self._loading)
            return Suggestion(str(pads), f"{found.why}; the soil carries them")
        return NOTHING

    def _beam_room(self, at: int) -> int | None:
        """What the boards and joists leave of the height for a beam; None where that is not known yet."""
        height = self.form.nm(f"platform.{at}.height")
        try:
            joists = dressed(self.form.value(f"platform.{at}.joists.size")).depth_nm
        except InputError:
            return None
        return None if height is None else height - self._board_nm(at) - joists

    def _beam_at(self, at: int, n: int, depth_nm: int) -> Suggestion:
        unit, attached = self.form.unit, self._attached(at)
        if self._on_blocks(at):
            places = suggest_pad_beams(depth_nm, unit)
        else:
            beams = number(self.form.value(f"platform.{at}.beams"), 1, MOST_BEAMS)
            places = suggest_beams(depth_nm, attached, unit, beams)
        if n >= len(places):
            return NOTHING
        end = places[n] == places[-1] or (not attached and not n)
        return Suggestion(
            format_length(places[n], unit), "leaves a short overhang" if end else "under the joists, between their ends"
        )

    @property
    def _soil_psf(self) -> int:
        soil = self.form.value("site_facts.soil")
        return SOIL_BEARING_PSF.get(soil, SOIL_BEARING_PSF["clay"])

    def _lay(self, at: int) -> Suggestion:
        wood = self.form.value(f"platform.{at}.decking.kind") == BoardKind.WOOD.value
        return (
            Suggestion("tight", "wet boards shrink to their gap")
            if wood
            else Suggestion("spaced", "it does not shrink")
        )

    def _flight(self, field: str, flight: str) -> Suggestion:
        """What a flight of its rise wants, by the rules the design check judges it by."""
        rise_nm = self.form.nm(f"{flight}rise")
        if rise_nm is None or not 0 < rise_nm <= RISE_MOST_NM:
            return NOTHING
        risers = riser_count(rise_nm)
        match field:
            case "handrail":
                wanted = risers >= HANDRAIL_RISERS
                return Suggestion(YES if wanted else NO, f"{count(risers, 'riser')}")
            case "guard" if self.form.text(f"{flight}open_sides") == "0":
                return Suggestion(NO, "it has walls on both sides")
            case "guard":
                wanted = guard_required(rise_nm)
                return Suggestion(YES if wanted else NO, "wanted at this rise" if wanted else "not wanted at this rise")
            case "stringers":
                solid = (risers - 1) * TREAD_RUN > CUT_STRINGER_RUN_MOST_NM
                made = Stringers.SOLID if solid else Stringers.CUT
                return Suggestion(made.value, "too long for cut ones" if solid else "short enough for cut ones")
        return NOTHING

    def _guarded(self, at: int) -> Suggestion:
        height = self.form.nm(f"platform.{at}.height")
        wanted = height is not None and guard_required(height)
        return (
            Suggestion(YES, "wanted at this height")
            if wanted
            else Suggestion(NO, "not wanted at this height by the rule")
        )

    def _permit(self) -> Suggestion:
        platforms = range(self.form.platforms)
        sides = [found for at in platforms if (found := self._sides(at))]
        area = sum(width * depth for width, depth in sides) / FOOT**2
        height = max((self.form.nm(f"platform.{at}.height") or 0 for at in platforms), default=0)
        why = suggest_permit(area, height, any(self._attached(at) for at in platforms))
        return Suggestion(YES, why) if why else NOTHING
