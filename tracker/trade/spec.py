"""What a job is, in the trade's words: platforms, joists, beams, boards, stairs, guard, site. Frozen values, no text parsing.

Orientation used everywhere: the *front* is the rim nearest the yard, the *back* the rim or ledger nearest the house; joists
run front to back (the depth), rims run left to right (the width).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from tracker.trade.lengths import INCH, Unit
from tracker.trade.loading import Loading
from tracker.trade.outline import Cut, Facing, Outline
from tracker.trade.rules import Rules

USUAL_RAIL_NM = 36 * INCH
"""A rail beside a stair, where nobody says how high (common practice)."""


class Attachment(StrEnum):
    """Whether the platform hangs on the house."""

    FREE = "free-standing"
    HOUSE = "attached"


class Support(StrEnum):
    """What carries the joists."""

    WOOD_BLOCKS = "wood blocks"
    """Blocks cut of treated lumber, nailed under the rims and joists."""
    BLOCKS = "blocks"
    """Blocks or pads on prepared ground, straight under the joists."""
    FOOTINGS = "footings"
    """Beams on posts on poured footings."""
    PLATFORM = "platform"
    """The platform below."""


ON_GROUND = frozenset({Support.WOOD_BLOCKS, Support.BLOCKS})
"""What carries joists straight on the ground, at points along each."""


class Ground(StrEnum):
    """What is there already where the deck is to stand."""

    BARE = "bare"
    """Grass or soil: it is stripped and made ready."""
    READY = "ready"
    """Cloth and base are in place."""


class BoardKind(StrEnum):
    """What the deck boards are made of."""

    WOOD = "wood"
    COMPOSITE = "composite"


class GapIntent(StrEnum):
    """How the boards are meant to be laid."""

    TIGHT = "tight"
    """Wet boards laid touching; they shrink to their gap."""
    SPACED = "spaced"
    """Boards laid with a spacer."""


class Stringers(StrEnum):
    """How the stringers of a flight are made: notched for the steps, or left whole with the treads on brackets."""

    CUT = "cut"
    SOLID = "solid"


class Finish(StrEnum):
    """What goes on the boards at the end."""

    NONE = "none"
    OIL = "oil"
    STAIN = "stain"


@dataclass(frozen=True, slots=True)
class Joists:
    """Joist stock: nominal ``size`` (``2x8``), dressed sizes, species, grade, on-centre spacing, treatment use category."""

    size: str
    thickness_nm: int
    depth_nm: int
    species: str
    grade: str
    spacing_nm: int
    use_category: str


@dataclass(frozen=True, slots=True)
class Beam:
    """A built-up beam: ``at_nm`` from the back edge to its centre line; ``posts`` along it, evenly spread.

    Under a platform on pad blocks it lies on so many pads, and ``post_size`` is empty.
    """

    plies: int
    size: str
    at_nm: int
    posts: int
    post_size: str


@dataclass(frozen=True, slots=True)
class Decking:
    """Deck boards: dressed sizes, material, species, ``angle_deg`` 0 (across the joists), 45 or 90, and the gap wanted.

    ``gap_nm`` is the gap wanted in service; ``overhang_nm`` is how far the boards stand past the frame, and ``border``
    whether one mitred board runs all round.
    """

    board: str
    width_nm: int
    thickness_nm: int
    kind: BoardKind
    species: str
    angle_deg: int
    gap_intent: GapIntent
    gap_nm: int
    use_category: str
    overhang_nm: int = 0
    border: bool = False


@dataclass(frozen=True, slots=True)
class Stairs:
    """A flight: clear width and the total rise from landing to walking surface.

    It leaves from the side ``edge``, ``from_nm`` along it from the left end of who faces it; None where the job does not say.
    ``handrail`` and ``guard`` say whether it gets a handrail, and a guard on its ``open_sides``: 2, or fewer beside a wall.
    Their heights are straight up from the nosings; None where nobody says.
    """

    width_nm: int
    rise_nm: int
    edge: Facing | None = None
    from_nm: int | None = None
    handrail: bool = False
    guard: bool = False
    stringers: Stringers = Stringers.CUT
    open_sides: int = 2
    guard_height_nm: int | None = None
    handrail_height_nm: int | None = None

    @property
    def guard_tall_nm(self) -> int:
        """How high its guard is planned: 36 in where nobody says, as on the platform."""
        return self.guard_height_nm or USUAL_RAIL_NM

    @property
    def handrail_tall_nm(self) -> int:
        """How high its handrail is planned: 36 in where nobody says, the middle of the rule's 34 to 38."""
        return self.handrail_height_nm or USUAL_RAIL_NM


@dataclass(frozen=True, slots=True)
class Guard:
    """A guard: height above the walking surface, the run it protects, and the sides it stands on where the job says so."""

    height_nm: int
    length_nm: int
    edges: tuple[Facing, ...] = ()


@dataclass(frozen=True, slots=True)
class Platform:
    """One platform. ``width_nm`` by ``depth_nm`` are outside the rims, over all; ``cuts`` are the corners cut out or clipped
    off; ``height_nm`` is walking surface above grade; ``beside_house`` says that the house closes the back of a free-standing
    platform, so that nobody falls off there.

    ``uncut`` means the frame is built from whole stock: rims of ``rim_stock_nm`` and joists of ``joist_stock_nm``, the
    depth being the joist plus two rim thicknesses.
    """

    name: str
    width_nm: int
    depth_nm: int
    height_nm: int
    uncut: bool
    rim_stock_nm: int
    joist_stock_nm: int
    attachment: Attachment
    support: Support
    joists: Joists
    decking: Decking
    beams: tuple[Beam, ...] = ()
    stairs: tuple[Stairs, ...] = ()
    guard: Guard | None = None
    cuts: tuple[Cut, ...] = ()
    beside_house: bool = False

    @property
    def outline(self) -> Outline:
        """Its outline outside the rims."""
        return Outline(self.width_nm, self.depth_nm, self.cuts)

    @property
    def attached(self) -> bool:
        """Whether a ledger carries the back edge."""
        return self.attachment is Attachment.HOUSE

    @property
    def on_blocks(self) -> bool:
        """Whether blocks stand straight under the joists."""
        return self.support in ON_GROUND and not self.beams

    @property
    def on_pads(self) -> bool:
        """Whether its beams lie on pad blocks."""
        return self.support is Support.BLOCKS and bool(self.beams)

    @property
    def area_ft2(self) -> float:
        """Plan area in square feet."""
        return self.outline.area_ft2


@dataclass(frozen=True, slots=True)
class Site:
    """The yard: frost depth, soil bearing, climate moisture of sheltered wood in tenths of a percent; whether anything is dug
    (None: nobody said).

    ``live_psf`` is the live load this deck is designed for, 0 where the house's figure stands; ``snow_psf`` its snow load;
    ``carries`` what stands on it that no deck table covers (``loading.HEAVY``).
    ``old_deck_nm`` is width and depth of a deck that is taken away first (empty: none), ``drain_nm`` the length of a drain laid
    in the ground.
    """

    place: str
    frost_depth_nm: int
    soil: str
    service_moisture_tenths: int
    digging: bool | None
    electric: bool
    ground: Ground = Ground.BARE
    live_psf: int = 0
    snow_psf: int = 0
    carries: tuple[str, ...] = ()
    old_deck_nm: tuple[int, ...] = ()
    drain_nm: int = 0

    def loading(self, rules: Rules) -> Loading:
        """What a deck here is designed to carry."""
        return Loading(self.live_psf or rules.figure("live_load"), self.snow_psf)


@dataclass(frozen=True, slots=True)
class JobSpec:
    """Everything a check or a take-off may ask of a job. ``permit`` says whether the local office asked for one; ``no_permit``
    who there said that none is needed.
    """

    unit: Unit
    platforms: tuple[Platform, ...]
    site: Site
    permit: bool
    finish: Finish
    rules: Rules
    crew_size: int
    no_permit: str = ""

    @property
    def loading(self) -> Loading:
        """What the deck is designed to carry."""
        return self.site.loading(self.rules)

    def platform(self, name: str) -> Platform:
        """The platform of that name; raises KeyError."""
        for platform in self.platforms:
            if platform.name == name:
                return platform
        raise KeyError(name)
