"""Every key of every screen, once: bindings, key line, help page and command palette read this list."""

from __future__ import annotations

from dataclasses import dataclass

from textual.binding import Binding, BindingType

ANYWHERE = "anywhere"

SCREEN_TITLES = {
    ANYWHERE: "Anywhere",
    "jobs": "Open jobs",
    "job": "One job",
    "reading": "A reading",
    "buy": "To buy",
    "lots": "Material of a job",
    "ticket": "A delivery ticket",
    "cuts": "Cut list",
    "cost": "Cost of a job",
    "sheet": "Day sheet",
    "choice": "A list to choose from",
    "asking": "A question",
    "page": "A page to read",
}
"""The screens by name, in the order help lists them."""


@dataclass(frozen=True, slots=True)
class Action:
    """One thing a key does on one ``screen``; ``keys`` are Textual key names, comma separated.

    ``shows`` prints the key for a person; ``label`` is the short word of the key line, ``help`` the full one.
    ``listed`` puts it on the key line, in the order of this file; ``palette`` offers it in the palette.
    """

    screen: str
    name: str
    keys: str
    shows: str
    label: str
    help: str
    listed: bool = True
    palette: bool = True
    priority: bool = False

    @property
    def id(self) -> str:
        """A stable dotted id."""
        return f"{self.screen}.{self.name}"


ACTIONS: tuple[Action, ...] = (
    Action(ANYWHERE, "help", "question_mark,f1", "?", "help", "list the keys (F1 where a field takes the ?)"),
    Action(ANYWHERE, "command_palette", "ctrl+p", "ctrl+p", "find", "find an action by its name", False, False),
    Action(
        ANYWHERE,
        "other_light",
        "f9",
        "F9",
        "light",
        "switch between the dark and the daylight colours",
        False,
    ),
    Action(
        ANYWHERE,
        "suspend_process",
        "ctrl+z",
        "ctrl+z",
        "pause",
        "back to the shell for a while; fg brings the screens back",
        False,
        False,
    ),
    Action(ANYWHERE, "leave", "ctrl+q", "ctrl+q", "leave", "leave the program from any screen", False, True, True),
    Action("jobs", "open", "enter", "enter", "open", "open the job under the cursor"),
    Action("jobs", "buy", "b", "b", "buy", "what is left to buy, over all jobs"),
    Action("jobs", "ticket", "t", "t", "ticket", "a supplier's delivery came: type the counts off its ticket"),
    Action("jobs", "sheet", "d", "d", "day sheet", "the day sheet of today"),
    Action("jobs", "narrow", "slash", "/", "filter", "show only jobs that hold the words you type"),
    Action("jobs", "drafts", "k", "k", "drafts", "go on with something typed and not saved"),
    Action("jobs", "reread", "r", "r", "re-read", "read the book again"),
    Action("jobs", "leave", "q", "q", "quit", "leave the program"),
    Action(
        "jobs",
        "need",
        "1,2,3,4,5,6,7,8,9",
        "1-9",
        "needs you",
        "go to that line of NEEDS YOU",
        False,
        False,
    ),
    Action("jobs", "unfilter", "escape", "esc", "all jobs", "end the filter", False, False),
    Action("job", "read", "enter", "enter", "read", "enter readings for the check under the cursor"),
    Action("job", "start", "s", "s", "start", "start this phase"),
    Action("job", "sign_off", "o", "o", "sign off", "sign this phase off"),
    Action("job", "waive", "w", "w", "waive", "waive the check under the cursor; asks for the reason"),
    Action("job", "hold", "h", "h", "hold", "hold this phase; asks for the reason"),
    Action("job", "ways", "g", "g", "in the way", "list what stands in the way and go there"),
    Action("job", "reopen", "u", "u", "reopen", "undo the sign-off of this phase; asks for the reason"),
    Action("job", "note", "n", "n", "note", "write a note on this job"),
    Action("job", "buy", "b", "b", "buy", "what is left to buy for this job"),
    Action("job", "lots", "m", "m", "material", "the material of this job: lots, deliveries, cut list, cost"),
    Action(
        "job",
        "working",
        "f2",
        "F2",
        "working",
        "the working and the source of the check under the cursor",
        False,
    ),
    Action("job", "before", "left", "←", "phase before", "show the phase before", False),
    Action("job", "after", "right", "→", "phase after", "show the phase after", False),
    Action("job", "back", "escape", "esc", "back", "back to the open jobs"),
    Action("reading", "save", "ctrl+s,f10", "ctrl+s", "save", "save the reading (F10 does the same)"),
    Action("reading", "keep", "escape", "esc", "keep draft", "go back; what you typed is kept as a draft"),
    Action("reading", "working", "f2", "F2", "working", "the working, the limits and their source"),
    Action("reading", "row", "f3", "F3", "add row", "add a row to the table"),
    Action("reading", "last", "f4", "F4", "last values", "fill the empty fields with the last reading"),
    Action("reading", "clear", "f8", "F8", "clear", "empty every field; again puts it back", False),
    Action("reading", "down", "down", "↓", "next", "the field below; enter goes on field by field", False, False),
    Action("reading", "up", "up", "↑", "before", "the field above", False, False),
    Action("buy", "order", "o", "o", "order", "order the line under the cursor; asks how many, from whom, for when"),
    Action("buy", "working", "enter,f2", "enter", "who and why", "who needs it by when, and how it was taken off"),
    Action("buy", "cuts", "c", "c", "cut list", "the cut list of these jobs bought together"),
    Action("buy", "job", "j", "j", "go to job", "open a job the line is for"),
    Action("buy", "back", "escape", "esc", "back", "back"),
    Action("lots", "ticket", "r", "r", "ticket", "a delivery came: type the counts off the ticket"),
    Action("lots", "inspect", "i", "i", "inspect", "what the lot looks like: count, stamp, tag, moisture, culls"),
    Action("lots", "use", "u", "u", "use", "pieces were built in; asks how many"),
    Action("lots", "give_back", "g", "g", "give back", "pieces went back to the yard; asks how many"),
    Action("lots", "scrap", "x", "x", "scrap", "pieces were spoiled; asks how many"),
    Action("lots", "offcut", "f", "f", "offcut", "put offcuts back to stock; asks their length and how many"),
    Action("lots", "transfer", "t", "t", "to a job", "pieces go to another job; asks which and how many"),
    Action("lots", "cuts", "c", "c", "cut list", "the cut list of this job"),
    Action("lots", "cost", "m", "m", "money", "what the material of this job costs"),
    Action("lots", "buy", "b", "b", "buy", "what is left to buy for this job"),
    Action("lots", "back", "escape", "esc", "back", "back to the job"),
    Action("ticket", "save", "ctrl+s,f10", "ctrl+s", "receive", "receive what was counted (F10 does the same)"),
    Action("ticket", "keep", "escape", "esc", "keep draft", "go back; what you typed is kept as a draft"),
    Action("ticket", "all", "f3", "F3", "all came", "fill in what is due of this lot; the word all does the same"),
    Action("ticket", "every", "f4", "F4", "everything came", "fill in what is due of every lot not counted yet"),
    Action("ticket", "clear", "f8", "F8", "clear", "empty every field; again puts it back"),
    Action("ticket", "down", "down", "↓", "next", "the lot below; enter goes on too", False, False),
    Action("ticket", "up", "up", "↑", "before", "the lot above", False, False),
    Action("cuts", "stop", "s", "s", "stop", "stop looking for a cheaper plan and keep the best"),
    Action("cuts", "again", "r", "r", "look again", "look for a cheaper plan once more"),
    Action("cuts", "working", "enter,f2", "enter", "working", "boards, cost and proof of the size under the cursor"),
    Action("cuts", "back", "escape", "esc", "back", "stop when it is still looking, else back"),
    Action("cost", "back", "escape", "esc", "back", "back to the material"),
    Action("sheet", "before", "left", "←", "day before", "the day sheet of the day before"),
    Action("sheet", "after", "right", "→", "day after", "the day sheet of the day after"),
    Action("sheet", "today", "t", "t", "today", "the day sheet of today"),
    Action("sheet", "back", "escape", "esc", "back", "back to the open jobs"),
    Action("choice", "go", "enter", "enter", "this one", "choose the line under the cursor, or go there"),
    Action("choice", "back", "escape", "esc", "not now", "choose nothing"),
    Action(
        "asking", "accept", "enter", "enter", "do it", "do it; with several fields: the next one, do it on the last"
    ),
    Action("asking", "save", "ctrl+s,f10", "ctrl+s", "do it now", "do it from any of several fields"),
    Action("asking", "back", "escape", "esc", "not now", "do nothing; what you typed is offered next time"),
    Action("asking", "down", "down", "↓", "next", "the field below", False, False),
    Action("asking", "up", "up", "↑", "before", "the field above", False, False),
    Action("page", "back", "escape,q", "esc", "back", "back", True, False),
)


def of_screen(screen: str) -> tuple[Action, ...]:
    """The actions of one screen, then those that work anywhere."""
    own = tuple(action for action in ACTIONS if action.screen == screen)
    return own + (tuple(a for a in ACTIONS if a.screen == ANYWHERE) if screen != ANYWHERE else ())


def bindings(screen: str) -> list[BindingType]:
    """The Textual bindings of one screen's own actions; each of the numbered keys passes itself on."""
    out: list[BindingType] = []
    for action in ACTIONS:
        if action.screen != screen:
            continue
        for key in action.keys.split(","):
            call = f"{action.name}('{key}')" if action.name == "need" else action.name
            out.append(Binding(key, call, action.label, show=False, priority=action.priority, id=f"{action.id}.{key}"))
    return out
