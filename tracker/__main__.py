"""``python -m tracker`` is the same as ``deckjobs``."""

from tracker.cli import run

if __name__ == "__main__":
    run()
