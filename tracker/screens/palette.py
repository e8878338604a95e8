"""The command palette: the actions that apply on the screen in front, by their words."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from textual.command import DiscoveryHit, Hit, Hits, Provider

from tracker.screens.actions import Action, of_screen


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
