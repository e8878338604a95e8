"""A drawing as plain values: where every joist stands, what the checks said of it, and the tape of every rim."""

from __future__ import annotations

from tracker.reports.drawing_shapes import Drawing
from tracker.trade.answer import Plain
from tracker.trade.lengths import exact_text, millimetres
from tracker.trade.tapelist import cutting_order, tape_list


def drawing_json(drawing: Drawing) -> dict[str, Plain]:
    """One platform; lengths as ``{"text", "mm"}``, joists from the left, supports by name."""

    def length(nm: int) -> Plain:
        return {"text": exact_text(nm, drawing.unit), "mm": millimetres(nm)}

    return {
        "platform": drawing.name,
        "width": length(drawing.width_nm),
        "depth": length(drawing.depth_nm),
        "corners": [[length(x), length(y)] for x, y in drawing.outline],
        "joists": [
            {
                "number": joist.number,
                "left_edge": length(joist.near_nm),
                "right_edge": length(joist.far_nm),
                "plies": joist.plies,
                "why": joist.why,
                "from_back": [[length(start), length(end)] for start, end in joist.stretches],
                "pieces": [
                    [length(part) for part in one.parts_nm]
                    for one in drawing.frame.joists
                    if one.line.number == joist.number
                ],
                "crown": None if joist.crown_nm is None else length(joist.crown_nm),
                "checked": joist.mark.value,
            }
            for joist in drawing.joists
        ],
        "supports": [
            {
                "what": spot.what.value,
                "name": spot.name,
                "from_left": length(spot.at[0]),
                "from_back": length(spot.at[1]),
                "checked": spot.mark.value,
            }
            for spot in drawing.spots
        ],
        "stairs": [
            {
                "name": flight.name,
                "treads": len(flight.treads),
                "from": [[length(x), length(y)] for x, y in flight.treads[0].points[:2]],
            }
            for flight in drawing.flights
        ],
        "guard": [[[length(x), length(y)] for x, y in line] for line in drawing.guard],
        "checks": [
            {"title": note.title, "state": note.state.value, "parts": list(note.parts), "headline": note.headline}
            for note in drawing.checks
        ],
        "tape": [
            {
                "rim": tape.title,
                "length": length(tape.rim.length_nm),
                "pieces": [length(part) for part in tape.rim.parts_nm],
                "joints": [{"at": length(joint.at_nm), "where": str(joint)} for joint in tape.rim.joints],
                "marks": [
                    {"joist": m.joist, "at": length(m.at_nm), "plies": m.plies, "why": m.why.value} for m in tape.marks
                ],
            }
            for tape in tape_list(drawing.frame)
        ],
        "cut": list(cutting_order(drawing.frame, drawing.unit)),
        "notes": [*drawing.facts, *drawing.notes],
    }
