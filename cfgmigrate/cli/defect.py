"""A defect of the program, told in one line; what its makers need to mend it goes into a file of its own.

The report holds the traceback, the command line and the versions. It holds no content of the user's files but what a
message of Python may quote.
"""

from __future__ import annotations

import platform
import shlex
import tempfile
import traceback
from collections.abc import Sequence


def report(error: Exception, arguments: Sequence[str]) -> str:
    """Write the report; what is to be said of it, for standard error."""
    from cfgmigrate import __version__
    from cfgmigrate.reports.safe_text import inert

    text = (
        f"cfgmigrate {__version__}, Python {platform.python_version()}, {platform.platform()}\n"
        f"{shlex.join(['cfgmigrate', *arguments])}\n\n{''.join(traceback.format_exception(error))}"
    )
    what = inert(f"cfgmigrate: a defect of this program: {type(error).__name__}: {error}")
    try:
        with tempfile.NamedTemporaryFile(
            "w",
            prefix="cfgmigrate-defect-",
            suffix=".txt",
            delete=False,
            encoding="utf-8",
            errors="backslashreplace",
        ) as file:
            file.write(text)
    except OSError:
        return f"{what}\n  No report could be written. Please say what you ran."
    return f"{what}\n  The report is in {inert(file.name, 0)}. Please look it through and send it."
