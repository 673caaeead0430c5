"""How the browser is led to the desk without telling everybody on this computer the way.

What a program is called with can be read by all users of a computer, and the desk's address has its secret in it. So the
browser is called with a file that only its owner can read, and that sends it on. The file lies at the user's home and
not among hidden ones, since a browser that is shut in may read nothing else; it is taken away as soon as a browser came
in, or when the desk ends. Where none can be written the address itself has to do: it lets one in only once.
"""

from __future__ import annotations

import html
import os
import tempfile
from pathlib import Path

from cfgmigrate.desk.guard import Pass

_LEADS_ON = (
    '<!doctype html><html lang="en"><meta charset="utf-8"><meta name="referrer" content="no-referrer">'
    '<meta http-equiv="refresh" content="0; url={0}"><title>The desk</title><p><a href="{0}">To the desk</a></p></html>\n'
)


def way_in(entry: Pass) -> str:
    """The address to call a browser with: that of a private file, which `entry` keeps until somebody came in."""
    try:
        handle, name = tempfile.mkstemp(".html", "cfgmigrate-desk-", Path.home())
    except (OSError, RuntimeError):
        return entry.address
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(_LEADS_ON.format(html.escape(entry.address)))
    entry.doorway = Path(name)
    return entry.doorway.as_uri()
