"""Which work rain, frost or heat stops, in words: read it before the crew drives out. No forecast is known here.

Every line is common practice unless it names its source; the figures for the finish are the rules in force.
"""

from __future__ import annotations

from tracker.trade.lengths import Unit
from tracker.trade.metric import in_unit
from tracker.trade.phases import Phase
from tracker.trade.rules import Rules

_DRY_GROUND = "rain: wet clay smears under the plate and stays soft; let it dry before you compact"
_STOPS = {
    "layout": "hard rain slackens strings and washes out paint: check the diagonals again after it",
    "strip": _DRY_GROUND,
    "dig": "rain: cover the holes overnight; bail them and dig back to firm soil before the inspection",
    "pads": _DRY_GROUND,
    "pour": "no pour into water or onto frozen ground; below 40 °F air keep the concrete warm (from memory: ACI 306R);"
    " hard rain: cover it until it has set",
    "cure": "frost: cover fresh concrete with blankets until it has set hard; heat and wind: keep it damp",
    "boards": "rain: wet boards are slippery and read too wet; measure moisture again before you set the gap",
}
OUTDOORS = "rain stops it: wet boards and ladders slip, and cords lie in water"
"""What is said of outdoor work that has no line of its own."""


def weather_stops(phase: Phase, rules: Rules, unit: Unit) -> str:
    """What weather does to the work of a phase, in words and the job's own units; empty for work under a roof or at a
    desk.
    """
    if phase.key == "finish":
        figure = rules.figure
        return (
            f"{figure('finish_rain_days')} dry days before it and {figure('finish_dry_hours')} dry hours after it;"
            f" air {rules.text('finish_coldest', unit)} to {rules.text('finish_hottest', unit)}"
        )
    return in_unit(_STOPS.get(phase.key, OUTDOORS if phase.outdoors else ""), unit)
