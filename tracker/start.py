"""What runs first: Ctrl-C in the very first moments, while the program is still being read, ends it in order too.

Imports nothing that is not guarded.
"""

import sys


def run() -> None:
    """The console script: run the command line and leave with its exit code; 130 when it was stopped before it could begin."""
    try:
        from tracker.cli import run as run_line

        run_line()
    except KeyboardInterrupt:
        if sys.stderr is not None:
            sys.stderr.write("deckjobs: stopped\n")
        sys.exit(130)
