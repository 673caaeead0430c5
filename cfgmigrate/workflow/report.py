"""The machine's record, from its history.

How it reads is in `reports/record.py`.
"""

from __future__ import annotations

from pathlib import Path

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.workflow.inputs import PathLike


def report(root: PathLike, form: str = "markdown") -> str:
    """The machine's record: each step of its history, each value, why, and who reviewed it.

    `root` is the configuration's folder, `form` is "markdown" or "html". Gives the record's text. Raises BadInput
    where the history can't be read or there is no such form; a history whose chain is broken is told of in the record itself.
    """
    from cfgmigrate.reports.record import render_html, render_markdown
    from cfgmigrate.store.history import history

    place = Path(root)
    renderers = {"markdown": render_markdown, "html": render_html}
    if form not in renderers:
        raise BadInput(
            f"there is no record in the form {form!r}", Place("report"), 'There are "markdown" and "html".'
        )
    return renderers[form](history(place, anew=True), place.resolve().name)
