"""The machine's record, from its history.

How it reads is in `reports/record.py`.
"""

from __future__ import annotations

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.workflow.inputs import Paths, listed


def report(root: Paths, form: str = "markdown") -> str:
    """The machine's record: each step of its history, each value, why, and who reviewed it.

    `root` is the configuration's folder, or all files and folders of a machine that shares its history, `form` is "markdown" or "html". Gives the record's text. Raises BadInput
    where the history can't be read or there is no such form; a history whose chain is broken is told of in the record itself.
    """
    from cfgmigrate.reports.record import render_html, render_markdown
    from cfgmigrate.workflow.asked import asked_history

    renderers = {"markdown": render_markdown, "html": render_html}
    if form not in renderers:
        raise BadInput(
            f"there is no record in the form {form!r}", Place("report"), 'There are "markdown" and "html".'
        )
    return renderers[form](asked_history(root, anew=True), listed(root)[0].resolve().name)
