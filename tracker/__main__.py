"""``python -m tracker`` is the same as ``deckjobs``."""

from tracker.start import run

if __name__ == "__main__":
    run()
