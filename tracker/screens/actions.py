"""Every key of every screen, once: bindings, key line, help page and command palette read this list."""

from __future__ import annotations

from dataclasses import dataclass

from textual.binding import Binding, BindingType

ANYWHERE = "anywhere"

SCREEN_TITLES = {
    ANYWHERE: "Anywhere",
    "morning": "Today",
    "jobs": "Open jobs",
    "finding": "Find anything",
    "job": "One job",
    "plan": "Plan of a platform",
    "reading": "A reading",
    "buy": "To buy",
    "history": "History of a job",
    "lots": "Material of a job",
    "ticket": "A delivery ticket",
    "taking": "A job form",
    "cuts": "Cut list",
    "cost": "Cost of a job",
    "money": "Money of a job",
    "hours": "Hours of a job",
    "sheet": "Day sheet",
    "choice": "A list to choose from",
    "handover": "Hand-over of a job",
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
    Action(
        ANYWHERE,
        "command_palette",
        "ctrl+p",
        "ctrl+p",
        "more",
        "everything that can be done here, and every job, by its words",
        False,
        False,
    ),
    Action(
        ANYWHERE,
        "other_light",
        "f9",
        "F9",
        "light",
        "the next colours: dark, daylight, high contrast, none",
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
    Action(
        ANYWHERE,
        "search",
        "ctrl+f",
        "ctrl+f",
        "find",
        "find a job, a check, a lot, a note or a reason by its words",
        listed=False,
        priority=True,
    ),
    Action(ANYWHERE, "leave", "ctrl+q", "ctrl+q", "leave", "leave the program from any screen", False, True, True),
    Action("morning", "open", "enter", "enter", "go there", "go to the thing under the cursor"),
    Action("morning", "need", "1,2,3,4,5,6,7,8,9", "1-9", "needs you", "go to that line of NEEDS YOU", palette=False),
    Action(
        "morning",
        "new_job",
        "n",
        "n",
        "new job",
        "take a job in: a form with the plan, the price and the days beside it",
    ),
    Action("morning", "jobs", "j", "j", "jobs", "all open jobs in a table"),
    Action("morning", "buy", "b", "b", "buy", "what is left to buy, over all jobs"),
    Action("morning", "ticket", "t", "t", "ticket", "a supplier's delivery came: type the counts off its ticket"),
    Action("morning", "sheet", "d", "d", "day sheet", "the day sheet of today"),
    Action("morning", "search", "slash", "/", "find", "find anything by its words; ctrl+f does it from any screen"),
    Action("morning", "samples", "s", "s", "samples", "load the sample jobs, all invented, into this book; asks first"),
    Action("morning", "ideas", "i", "i", "ideas", "read the five ideas behind the book", listed=False),
    Action("morning", "stop", "escape", "esc", "stop", "stop loading sample jobs after the one in hand"),
    Action("morning", "across", "left,right", "← →", "other list", "go to the other list; tab does too", False, False),
    Action("morning", "drafts", "k", "k", "drafts", "go on with something typed and not saved"),
    Action("morning", "reread", "r", "r", "re-read", "read the book again"),
    Action("morning", "leave", "q", "q", "quit", "leave the program"),
    Action("jobs", "open", "enter", "enter", "open", "open the job under the cursor"),
    Action(
        "jobs", "new_job", "n", "n", "new job", "take a job in: a form with the plan, the price and the days beside it"
    ),
    Action("jobs", "narrow", "slash", "/", "filter", "show only jobs that hold the words you type"),
    Action("jobs", "sort", "s", "s", "sort", "the next order: code, working days late, money, phases, what holds them"),
    Action("jobs", "finished", "f", "f", "finished", "the decks handed over, in place of the open jobs; again: those"),
    Action("jobs", "buy", "b", "b", "buy", "what is left to buy, over all jobs"),
    Action("jobs", "ticket", "t", "t", "ticket", "a supplier's delivery came: type the counts off its ticket"),
    Action("jobs", "sheet", "d", "d", "day sheet", "the day sheet of today"),
    Action("jobs", "drafts", "k", "k", "drafts", "go on with something typed and not saved"),
    Action("jobs", "back", "escape", "esc", "back", "end the filter; without one back to the morning"),
    Action("jobs", "reread", "r", "r", "re-read", "read the book again"),
    Action("jobs", "leave", "q", "q", "quit", "leave the program"),
    Action("finding", "go", "enter", "enter", "go there", "go to the place under the cursor"),
    Action("finding", "back", "escape", "esc", "back", "back; the words are kept"),
    Action("finding", "down", "down", "↓", "next", "the place below", False, False),
    Action("finding", "up", "up", "↑", "before", "the place above", False, False),
    Action("finding", "further", "pagedown", "pgdn", "page", "a page of places down", False, False),
    Action("finding", "nearer", "pageup", "pgup", "page", "a page of places up", False, False),
    Action("job", "read", "enter", "enter", "read", "enter readings for the check under the cursor"),
    Action("job", "start", "s", "s", "start", "start this phase"),
    Action("job", "sign_off", "o", "o", "sign off", "sign this phase off"),
    Action("job", "waive", "w", "w", "waive", "waive the check under the cursor; asks for the reason"),
    Action("job", "hold", "h", "h", "hold", "hold this phase; asks for the reason"),
    Action("job", "ways", "g", "g", "in the way", "list what stands in the way and go there"),
    Action("job", "note", "n", "n", "note", "write a note on this job"),
    Action("job", "plan", "p", "p", "plan", "the plan drawn to scale, at the platform of the check under the cursor"),
    Action("job", "lots", "m", "m", "material", "the material of this job: lots, deliveries, cut list, cost"),
    Action("job", "hours", "t", "t", "hours", "crew hours: type 6h frame; what was logged; take an entry back"),
    Action("job", "buy", "b", "b", "buy", "what is left to buy for this job"),
    Action("job", "money", "c", "c", "money", "contract, draws, invoices, cost against the quote, margin"),
    Action("job", "history", "y", "y", "history", "every entry of this job, searched by words"),
    Action(
        "job", "change", "e", "e", "change", "change the job: differences first, then a change order with its reason"
    ),
    Action(
        "job", "hand_over", "v", "v", "hand-over", "punch list, what stands open, care, and the papers of the hand-over"
    ),
    Action("job", "take_back", "x", "x", "take back", "take the last reading of the check back; asks for the reason"),
    Action("job", "reopen", "u", "u", "reopen", "undo the sign-off of this phase; asks for the reason"),
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
    Action("job", "back", "escape", "esc", "back", "back to where you came from"),
    Action("reading", "save", "ctrl+s,f10", "ctrl+s", "save", "save the reading (F10 does the same)"),
    Action("reading", "keep", "escape", "esc", "keep draft", "go back; what you typed is kept as a draft"),
    Action("reading", "working", "f2", "F2", "working", "the working, the limits and their source"),
    Action("reading", "row", "f3", "F3", "add row", "add a row to the table"),
    Action(
        "reading",
        "same",
        "ctrl+r",
        "ctrl+r",
        "rest same",
        'the empty readings below like this one; " alone is like the one above',
    ),
    Action("reading", "last", "f4", "F4", "last values", "fill the empty fields with the last reading"),
    Action(
        "reading", "correct", "f5", "F5", "correct", "correct the last reading instead of adding one; again adds one"
    ),
    Action("reading", "picture", "f6", "F6", "picture", "swap the verdict and the picture of what is typed"),
    Action("reading", "take_back", "f7", "F7", "take back", "take the last reading back; asks for the reason"),
    Action("reading", "clear", "f8", "F8", "clear", "empty every field; again puts it back", False),
    Action("reading", "down", "down", "↓", "next", "the field below; enter goes on field by field", False, False),
    Action("reading", "up", "up", "↑", "before", "the field above", False, False),
    Action("reading", "further", "pagedown", "pgdn", "page", "some lines down a long table", False, False),
    Action("reading", "nearer", "pageup", "pgup", "page", "some lines up", False, False),
    Action("plan", "closer", "plus,equals_sign", "+", "closer", "come closer; so does the wheel, at the pointer"),
    Action("plan", "further", "minus", "-", "further", "see more of it; so does the wheel"),
    Action("plan", "whole", "0", "0", "all", "show all of the plan"),
    Action("plan", "back", "escape", "esc", "back", "back to the plan from a list, else back to the job"),
    Action(
        "plan",
        "check",
        "enter",
        "enter",
        "check",
        "the check that failed at the joist in hand, else the one told below",
    ),
    Action("plan", "joist_before", "comma", ",", "joist before", "the joist on the left; a click chooses one too"),
    Action("plan", "joist_after", "full_stop", ".", "after", "the joist on the right"),
    Action("plan", "other_platform", "n,tab", "n", "next platform", "the next platform of the job"),
    Action("plan", "tape", "t", "t", "tape list", "the tape list of every rim and the order of cutting"),
    Action("plan", "signs", "l", "l", "signs", "what the signs mean, the facts, and what the checks found"),
    Action("plan", "phase_layers", "m", "m", "by phase", "the layers that matter in the phase the job is in"),
    Action("plan", "frame", "f", "f", "frame", "show the frame, or leave it out"),
    Action("plan", "supports", "s", "s", "supports", "show the supports, or leave them out"),
    Action("plan", "boards", "b", "b", "boards", "show the boards, or leave them out"),
    Action("plan", "checks", "c", "c", "checks", "show what the checks found, or leave it out"),
    Action("plan", "page", "g", "g", "SVG", "write the plan as an SVG page for paper, with the layers that are on"),
    Action("plan", "left", "left", "←", "left", "what is on the left; a drag moves the plan too", False, False),
    Action("plan", "right", "right", "→", "right", "what is on the right", False, False),
    Action("plan", "up", "up", "↑", "back", "what is towards the back", False, False),
    Action("plan", "down", "down", "↓", "front", "what is towards the front", False, False),
    Action("plan", "page_down", "pagedown", "pg dn", "list on", "scroll the list beside the plan", False, False),
    Action("plan", "page_up", "pageup", "pg up", "list back", "scroll the list back", False, False),
    Action("buy", "order", "o", "o", "order", "order the line under the cursor; asks how many, from whom, for when"),
    Action("buy", "working", "enter,f2", "enter", "who and why", "who needs it by when, and how it was taken off"),
    Action("buy", "cuts", "c", "c", "cut list", "the cut list of these jobs bought together"),
    Action("buy", "job", "j", "j", "go to job", "open a job the line is for"),
    Action("buy", "back", "escape", "esc", "back", "back"),
    Action("history", "open", "enter", "enter", "whole entry", "the entry whole: values, working, source, digest"),
    Action("history", "narrow", "slash", "/", "search", "show only entries that hold the words you type"),
    Action("history", "other_end", "o", "o", "oldest/newest first", "turn the list round"),
    Action(
        "history", "undo", "x", "x", "take back", "take this entry back: says what comes of it, asks for the reason"
    ),
    Action("history", "back", "escape", "esc", "back", "end the search, else back to the job"),
    Action("lots", "ticket", "r", "r", "ticket", "a delivery came: type the counts off the ticket"),
    Action("lots", "back", "escape", "esc", "back", "back to the job"),
    Action("lots", "inspect", "i", "i", "inspect", "what the lot looks like: count, stamp, tag, moisture, culls"),
    Action("lots", "use", "u", "u", "use", "pieces were built in; asks how many"),
    Action("lots", "give_back", "g", "g", "give back", "pieces went back to the yard; asks how many"),
    Action("lots", "scrap", "x", "x", "scrap", "pieces were spoiled; asks how many"),
    Action("lots", "offcut", "f", "f", "offcut", "put offcuts back to stock; asks their length and how many"),
    Action("lots", "transfer", "t", "t", "to a job", "pieces go to another job; asks which and how many"),
    Action(
        "lots",
        "put_right",
        "e",
        "e",
        "put right",
        "a count of this lot was wrong: correct it or take it back; asks why",
    ),
    Action("lots", "cancel", "k", "k", "cancel", "cancel what is still to come of the order; asks how many and why"),
    Action("lots", "cuts", "c", "c", "cut list", "the cut list of this job"),
    Action("lots", "cost", "m", "m", "money", "what the material of this job costs"),
    Action("lots", "buy", "b", "b", "buy", "what is left to buy for this job"),
    Action("ticket", "save", "ctrl+s,f10", "ctrl+s", "receive", "receive what was counted (F10 does the same)"),
    Action("ticket", "keep", "escape", "esc", "keep draft", "go back; what you typed is kept as a draft"),
    Action("ticket", "all", "f3", "F3", "all came", "fill in what is due of this lot; the word all does the same"),
    Action("ticket", "every", "f4", "F4", "everything came", "fill in what is due of every lot not counted yet"),
    Action("ticket", "clear", "f8", "F8", "clear", "empty every field; again puts it back"),
    Action("ticket", "down", "down", "↓", "next", "the lot below; enter goes on too", False, False),
    Action("ticket", "up", "up", "↑", "before", "the lot above", False, False),
    Action(
        "taking", "save", "ctrl+s,f10", "ctrl+s", "check, save", "look the job over; there, save it (F10 does the same)"
    ),
    Action("taking", "keep", "escape", "esc", "keep draft", "go back; what you typed is kept as a draft"),
    Action(
        "taking",
        "step_after",
        "pagedown,f6",
        "PgDn",
        "next step",
        "the next step; enter in the last field too (F6 does the same)",
    ),
    Action("taking", "step_before", "pageup,f5", "PgUp", "step back", "the step before (F5 does the same)"),
    Action("taking", "list", "f3", "F3", "list", "list the choices of the field in hand"),
    Action("taking", "look", "f4", "F4", "plan, price", "the plan and what it comes to, or the form again"),
    Action("taking", "clear", "f2", "F2", "start over", "throw out what you typed; again puts it back"),
    Action("taking", "more", "f7", "F7", "add platform", "one platform more"),
    Action("taking", "fewer", "f8", "F8", "drop platform", "take this platform out"),
    Action("taking", "down", "down", "↓", "next", "the field below; enter goes on too", False, False),
    Action("taking", "up", "up", "↑", "before", "the field above", False, False),
    Action(
        "taking", "choice_before", "left", "←", "choice before", "in a field of choices: the one before", False, False
    ),
    Action(
        "taking", "choice_after", "right", "→", "choice after", "in a field of choices: the one after", False, False
    ),
    Action("cuts", "stop", "s", "s", "stop", "stop looking for a cheaper plan and keep the best"),
    Action("cuts", "again", "r", "r", "look again", "look for a cheaper plan once more"),
    Action("cuts", "working", "enter,f2", "enter", "working", "boards, cost and proof of the size under the cursor"),
    Action("cuts", "back", "escape", "esc", "back", "stop when it is still looking, else back"),
    Action("cost", "back", "escape", "esc", "back", "back to the material"),
    Action("money", "invoice", "i", "i", "invoice", "invoice what is ready; asks which draws"),
    Action("money", "paid", "p", "p", "received", "money came in; asks how much and how"),
    Action("money", "spend", "s", "s", "spent", "hire, a fee, another cost; asks how much and for which phase"),
    Action("money", "extra", "e", "e", "price a change", "put the price of a change on the contract"),
    Action("money", "quote", "q", "q", "quote", "record a quote, with another option beside it when you name one"),
    Action("money", "accept", "a", "a", "accept", "the client took an option of the quote"),
    Action("money", "price", "f2", "F2", "price", "what the job should cost and be sold for today, with its working"),
    Action("money", "hours", "t", "t", "hours", "the crew hours of this job"),
    Action(
        "money", "paper", "w", "w", "on paper", "write a quote, an invoice or this page for the office as PDF or HTML"
    ),
    Action("money", "back", "escape", "esc", "back", "back to the job"),
    Action("hours", "log", "enter", "enter", "log", "log what is typed; on an entry: take it back"),
    Action("hours", "before", "f3", "F3", "day before", "log for the day before"),
    Action("hours", "after", "f4", "F4", "day after", "log for the day after, today at the latest"),
    Action("hours", "by_phase", "f2", "F2", "by phase", "hours by phase against the estimate"),
    Action("hours", "learnt", "f6", "F6", "per unit", "what finished phases took for each unit of work, over all jobs"),
    Action("hours", "undo", "f8", "F8", "take back", "take the entry under the cursor back; asks for the reason"),
    Action("hours", "down", "down", "↓", "entries", "go to the entries; escape comes back to the line", False, False),
    Action("hours", "back", "escape", "esc", "back", "back; what you typed is offered next time"),
    Action("sheet", "before", "left", "←", "day before", "the day sheet of the day before"),
    Action("sheet", "after", "right", "→", "day after", "the day sheet of the day after"),
    Action("sheet", "today", "t", "t", "today", "the day sheet of today"),
    Action("sheet", "go", "g", "g", "go to a day", "the day sheet of a day you name"),
    Action("sheet", "text", "e", "e", "write", "write the sheet to a text file, as the shell prints it"),
    Action("sheet", "paper", "p", "p", "on paper", "write the sheet as PDF, HTML or CSV: a summary and a page a job"),
    Action("sheet", "back", "escape", "esc", "back", "back to where you came from"),
    Action("handover", "do", "enter", "enter", "do it", "close the item, go to what is open, or record the care"),
    Action("handover", "add", "a", "a", "add", "put something on the punch list; asks what"),
    Action("handover", "read", "p", "p", "papers", "read a paper: punch list, walk-through, as-built record, care"),
    Action("handover", "write", "e", "e", "to a file", "write a paper as PDF or HTML, or the calendar, to a file"),
    Action("handover", "end_care", "n", "n", "end care", "nobody comes for care any more; asks why"),
    Action("handover", "back", "escape", "esc", "back", "back to the job"),
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
