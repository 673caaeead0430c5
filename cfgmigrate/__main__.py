"""Where the command begins, also as `python -m cfgmigrate`.

What it needs is loaded here and not at the top, so that a Ctrl-C in that moment ends it with a word, as any later one does.
"""

from __future__ import annotations

import sys


def main() -> None:
    """Run the command line and end the process with its exit status."""
    try:
        from cfgmigrate.cli import main as command_line

        command_line()
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        sys.exit(3)


if __name__ == "__main__":
    main()
