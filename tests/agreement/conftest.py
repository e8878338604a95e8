"""The command line of the commands' tests."""

from tests.commands.conftest import deck, home

__all__ = ["deck", "home"]
