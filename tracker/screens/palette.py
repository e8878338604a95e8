"""The command palette: the actions that apply on the screen in front, and the jobs to go to, by their words."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from textual.command import DiscoveryHit, Hit, Hits, Provider

from tracker.book.frontviews import Place
from tracker.errors import TrackerError
from tracker.screens.actions import Action, of_screen
from tracker.screens.desk import Desk
from tracker.screens.frame import Framed
from tracker.screens.front import go_to
from tracker.text import clean

JOBS = 8


class Applying(Provider):
    """The actions of the screen in front that apply now."""

    def applying(self) -> Iterator[Action]:
        """The actions."""
        for action in of_screen(getattr(self.screen, "NAME", "")):
            if action.palette and self.screen.check_action(action.name, ()) is True:
                yield action

    def words(self, action: Action) -> str:
        """An action as a line of the palette."""
        return f"{action.label}: {action.help} ({action.shows})"

    async def do(self, action: Action) -> None:
        """Run an action on the screen it belongs to."""
        await self.screen.run_action(f"app.{action.name}" if action.screen == "anywhere" else action.name)

    async def discover(self) -> Hits:
        """Every action that applies."""
        for action in self.applying():
            yield DiscoveryHit(self.words(action), partial(self.do, action))

    async def search(self, query: str) -> Hits:
        """The actions whose words match."""
        matcher = self.matcher(query)
        for action in self.applying():
            text = self.words(action)
            if (score := matcher.match(text)) > 0:
                yield Hit(score, matcher.highlight(text), partial(self.do, action))


class JobHits(Provider):
    """The jobs whose code, title, client or place hold the words typed; from a box over a screen there is no way to them."""

    async def search(self, query: str) -> Hits:
        """Ways to jobs."""
        from tracker.book.finding import find

        desk = self.app
        if not isinstance(desk, Desk) or desk.book is None or not isinstance(self.screen, Framed):
            return
        try:
            found = await desk.ask(find, query, limit=JOBS, only_jobs=True)
        except TrackerError:
            return  # what cannot be searched has no hits; the screen in front says when the book is away
        matcher = self.matcher(query)
        for hit in found.hits:
            text = f"go to job {clean(hit.job)}  {clean(hit.title)}"
            yield Hit(max(matcher.match(text), 0.5), matcher.highlight(text), partial(go_to, desk, Place(hit.job)))
