"""A file that a line says is read too, which is there and reads as none of the dialects: `S900 "materials.csv" ; read too`.

The machine goes by it, and nothing in it is understood: old values stay there. So a person has to look it through, and is told
before all else. Only a line whose remark says so counts, a setting that names a table or a file that is read (`read last = saved.txt`), and one
that names what is run on an occasion (`at end = bits/end.nc`): a name alone may be a manual's.

Who has looked says so in the site file, by the file's role: `no configuration` is a person's word that nothing of the swap is
in it, or that it is changed by hand.

This module looks at documents and names only, never at a disk. What the table holds is not read.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from cfgmigrate.dialects.document import Document, State, readable
from cfgmigrate.dialects.remark_marks import COMMAND_MARK
from cfgmigrate.files.roles import FileRole, Role
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.pattern import pattern

#: how the reason of each doubt begins
READ_ELSEWHERE = "the machine reads this file, and I can't"
_REMEDY = "look it through by hand: what it sets may be of the old drive. Once nothing in it is, write in cfgmigrate.yaml: {role}"
#: what else is to be done with a script whose words nobody explained
WHAT_ITS_WORDS_MEAN = "; or say under moves what its words mean (survey --write-site has the lines)"
_LINE_END = pattern(rb"\r\n?|\n")
_SAID = pattern(
    rf"""[ \t]*[A-Za-z]\w{{0,20}}[ \t]+["'](?P<path>[^"'\r\n]{{1,200}})["'][ \t]*{COMMAND_MARK}[ \t]*(?:is |also |is also )?(?:read|taken in|loaded)\b""",
    re.IGNORECASE,
)
_TABLE = pattern(r"""["']?(?P<path>[^"'\r\n,:;=<>|*?]{1,200}\.(?:csv|tsv))["']?""", re.IGNORECASE)
RUN_ON_OCCASION = pattern(
    r"(?i)(?<![a-z])(?:scripts?|macros?|moves|begin|start|end|finish|before|after|change|swap|load|unload|pause|resume|cancel|park|purge"
    r"|wipe|runs?|calls?|bit|routine|sequence)(?![a-z])"
)
_ANY_TEXT = pattern(
    r"""["']?(?P<path>[^"'\r\n,:;=<>|*? \t]{1,200}\.(?!(?:png|jpe?g|gif|webp|bmp|svg|pdf|log|md|html?|zip|gz|stl|bin|hex)\b)[a-z][a-z0-9]{0,5})["']?""",
    re.IGNORECASE,
)
_READ = pattern(
    r"(?i)(?<![a-z])(?:reads?|table|includes?|loads?|from|takes?|uses?|saved|kept|keeps?|stored|values|settings|also|last|wins)(?![a-z])"
)


def read_elsewhere(document: Document, there: Mapping[str, FileRole]) -> Iterator[Doubt]:
    """A doubt for each file that a document has read and that is no configuration."""
    if not any(_is_none(role) for role in there.values()):
        return
    seen: set[str] = set()
    for line, target in _named(document):
        path = _found(document.path, target, there)
        if path and path not in seen:
            seen.add(path)
            yield Doubt(
                Place(document.path, line, 1),
                path,
                READ_ELSEWHERE,
                _REMEDY.format(role=_role(path)) + _words(there[path]),
            )


def told_elsewhere(doubt: Doubt) -> str:
    """Such a doubt in a sentence."""
    where = f"{doubt.place.file}:{doubt.place.line}"
    return f"{doubt.text} is read by the machine, by {where}, and I can't read it: look through it by hand. Once nothing in it is of the old drive, write in cfgmigrate.yaml: {_role(doubt.text)}{doubt.remedy.partition(WHAT_ITS_WORDS_MEAN)[1]}."


def _role(path: str) -> str:
    return f'roles: {{"{path}": no configuration}}'


def _named(document: Document) -> Iterator[tuple[int, str]]:
    """The names of files that a document has read, each with its line."""
    if document.dialect == "command":
        for number, line in enumerate(_LINE_END.split(document.data), 1):
            if found := _SAID.match(readable(line[:400])):
                yield number, found["path"]
        return
    for setting in document.settings:
        if setting.state is not State.ACTIVE or "." not in setting.value:
            continue
        reads = _READ.search(setting.key)
        named = _TABLE.fullmatch(setting.value) if reads else None
        if named is None and (reads or RUN_ON_OCCASION.search(setting.key)):
            named = _ANY_TEXT.fullmatch(setting.value)
        if named:
            yield setting.line, named["path"]


def _words(role: FileRole) -> str:
    return WHAT_ITS_WORDS_MEAN if role.own else ""


def run_by(document: Document) -> Iterator[str]:
    """The names of files that a document's settings have run on an occasion."""
    for setting in document.settings if document.dialect != "command" else ():
        runs = setting.state is State.ACTIVE and RUN_ON_OCCASION.search(setting.key)
        if runs and (named := _ANY_TEXT.fullmatch(setting.value)):
            yield named["path"]


def _found(by: str, target: str, there: Mapping[str, FileRole]) -> str:
    """The path of a file that is named, beside who names it or at the root; "" where it is none that can't be read."""
    plain = target.replace("\\", "/").removeprefix("./").strip()
    folder = by.rpartition("/")[0]
    beside = f"{folder}/{plain}" if folder else plain
    return next((path for path in (beside, plain) if path in there and _is_none(there[path])), "")


def _is_none(role: FileRole) -> bool:
    """Whether a file can't be read here, and nobody said that nothing is in it."""
    return role.role is Role.NONE and not role.stated
