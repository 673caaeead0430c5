"""HTML that is one file and stays inert: the environment for templates, and the content policy.

Every value put into a template is made inert and escaped. The page's style and script stand in it and are
named in its Content-Security-Policy by their hashes, so nothing else may run and nothing may be fetched,
whatever a file or a sheet holds.

This module deliberately knows no plan.
"""

from __future__ import annotations

import base64
import hashlib
import json
from functools import lru_cache
from typing import TYPE_CHECKING

from markupsafe import Markup, escape

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.reports import wording
from cfgmigrate.reports.safe_text import PROSE_LIMIT, inert
from cfgmigrate.reports.templating import TEMPLATES, with_templates

if TYPE_CHECKING:
    from jinja2 import Environment

_ACTIVE = pattern("[&<>\"']")
#: what is not longer is kept once it was escaped: the same sentences stand in many places, and in many machines' pages
_SHORT_PROSE = 400
_LONG_WORD = pattern(r"\S{17,}")
_PIECE = pattern(r"[^./_,;:=-]{1,12}[./_,;:=-]?|[./_,;:=-]")


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The jinja2 environment for pages: every value is inert and escaped unless it is `Markup`."""
    from jinja2 import Environment, StrictUndefined

    def harmless(value: object) -> object:
        if isinstance(value, Markup):
            return value
        text = str(value)
        return _harmless(text) if len(text) <= _SHORT_PROSE else _harmless.__wrapped__(text)

    made = Environment(
        autoescape=True,
        finalize=harmless,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update(sentence=wording.sentence, whole=whole)
    return with_templates(made, ".html")


@lru_cache(maxsize=8192)
def _harmless(text: str) -> Markup:
    return breakable(inert(text.strip("\n"), PROSE_LIMIT))


def own(text: str) -> Markup:
    """Text of the program's own that is HTML already."""
    return Markup(text)


def whole(value: object) -> Markup:
    """`value` for an attribute or a title, where no `<wbr>` may stand."""
    return escape(inert(str(value).strip("\n"), PROSE_LIMIT))


def breakable(text: str) -> Markup:
    """Inert text, escaped, with places to break in words too long for a column: after dots, slashes and the
    like, and every few letters where there are none."""
    if not _LONG_WORD.search(text):
        return escape(text)
    if not _ACTIVE.search(text):  # then nothing is escaped
        return Markup(_LONG_WORD.sub(lambda word: "<wbr>".join(_PIECE.findall(word[0])), text))
    shown, position = Markup(), 0
    for word in _LONG_WORD.finditer(text):
        shown += escape(text[position : word.start()]) + Markup("<wbr>").join(_PIECE.findall(word[0]))
        position = word.end()
    return shown + escape(text[position:])


def exact(value: object) -> Markup:
    """`value` for an attribute, to be read back by `JSON.parse`: harmless as it stands, and nothing lost."""
    return escape(json.dumps(value))


def asset(name: str) -> str:
    """The text of a style or script in templates/."""
    return (TEMPLATES / name).read_text(encoding="utf-8")


def scripts(*names: str) -> str:
    """Scripts in templates/ as one, so that one digest allows them; the first have what the others use."""
    return "".join(map(asset, names))


def policy(style: str, script: str = "") -> str:
    """A Content-Security-Policy that allows this style and this script and nothing else (W3C CSP 3)."""
    scripts = f"script-src {_hash(script)}; " if script else ""
    return f"default-src 'none'; style-src {_hash(style)}; {scripts}base-uri 'none'; form-action 'none'"


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"
