"""The templates of pages, compiled: Python that jinja2 made of them, which loads ten times as fast.

It lies beside the rest of what is compiled (`ground/compiled.py`): in a wheel it comes with it, in a checkout it is made
when it is missing. It holds for one version of jinja2, whose number is in the folder's name. Any other version, and a
folder that can't be written, read the templates as they are written, and it only costs time.

A template is code of the program, as its Python is; nothing of the user's goes through here.
"""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from cfgmigrate.ground import compiled

if TYPE_CHECKING:
    from jinja2 import Environment

TEMPLATES = Path(__file__).with_name("templates")


def with_templates(made: Environment, ending: str) -> Environment:
    """The environment, with the templates whose names have that ending."""
    from jinja2 import ChoiceLoader, FileSystemLoader, ModuleLoader

    made.loader = written = FileSystemLoader(TEMPLATES)
    beside = compiled.folder()
    if beside is not None:
        where = beside / _folder_name(ending)
        if not where.is_dir() and not compiled.installed():
            _put_folder(made, ending, where)
        made.loader = ChoiceLoader([ModuleLoader(where), written])
    return made


def compile_templates(into: Path) -> None:
    """Write all compiled templates, a folder for each ending."""
    from jinja2 import FileSystemLoader

    from cfgmigrate.reports import gfm, html

    for ending, made in ((".md", gfm.environment()), (".html", html.environment())):
        made.loader = FileSystemLoader(TEMPLATES)
        _compile(made, ending, into / _folder_name(ending))


def _folder_name(ending: str) -> str:
    import jinja2

    return f"templates{ending}-{jinja2.__version__}"


def _put_folder(made: Environment, ending: str, where: Path) -> None:
    """Into place in one step, so that no other run ever sees half of it."""
    import shutil
    import tempfile

    with suppress(OSError):
        half = Path(tempfile.mkdtemp(dir=where.parent))
        try:
            _compile(made, ending, half)
            half.rename(where)
        finally:
            shutil.rmtree(half, ignore_errors=True)


def _compile(made: Environment, ending: str, where: Path) -> None:
    made.compile_templates(where, extensions=[ending[1:]], zip=None, ignore_errors=False)
