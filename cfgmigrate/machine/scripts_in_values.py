"""Scripts in codes of their owner's own that stand in a setting's value: a list of texts, a text of several lines, or one line.

Where the site file says what their words mean, such a value is a script as in a file of its own. Else its lines are asked
about, each by its number in the file: nothing of them is understood, and what moves the filament in them stays as it is. That a
value is such a script is shown by its lines alone, each with words and numbers; one line by itself only where its
words are those of the others. A line of a code (`codes_in_values.py`) of which every word is explained is left out.

What the lines do is worked out in `scripts/`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.own_lines import own_lines
from cfgmigrate.dialects.script_text import script_of
from cfgmigrate.dialects.source import Source
from cfgmigrate.files.own_scripts import own_script
from cfgmigrate.files.own_words import is_script_of
from cfgmigrate.files.roles import FileRole, OwnScript, Role
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine import codes
from cfgmigrate.machine.own_codes import told_of
from cfgmigrate.machine.script_role import occasion
from cfgmigrate.machine.words import read_name

#: a letter with its number, as every such script has it; and a code of the standard's
_LETTERED = pattern(r"(?<![\w.])[A-Za-z][-+]?\.?\d")
_STANDARD = pattern(r"(?m)^[ \t]*(?:[Nn]\d+[ \t]+)?[GMgm]\d")
_LINE, _LINE_END = pattern(r"[^\r\n]+"), pattern(r"[\r\n]")
_SEVERAL = pattern(r"[\r\n]|\\n|[\"'][ \t]*,[ \t]*[\"']|^\[")


def values_around(document: Document) -> dict[int, int]:
    """For each setting that stands in another one's value, by its number in the file, that of the other."""
    found: dict[int, int] = {}
    outer: Setting | None = None
    for setting in document.settings if document.dialect != codes.DIALECT else ():
        if outer is not None and outer.start <= setting.start and setting.end <= outer.end:
            found[setting.at] = outer.at
        elif setting.behind is None:
            outer = setting
    return found


def told_script(document: Document, setting: Setting) -> str:
    """The id of the script that a setting holds by what its owner explained of the file's words; "" for none."""
    if not document.own_words or document.dialect == codes.DIALECT or setting.state is not State.ACTIVE:
        return ""
    text = script_of(document, setting)
    if not _LETTERED.search(text) and not _SEVERAL.search(setting.value):
        return ""
    is_one = is_script_of(text.encode("latin-1"), dict(document.own_words))
    return occasion(read_name(setting.section, setting.key)) if is_one else ""


def is_text_of_lines(document: Document, setting: Setting) -> bool:
    """Whether a value of a nested file is lines of letters and numbers, which are no number of anything."""
    several = document.dialect == "nested" and _LINE_END.search(setting.value)
    return bool(several) and bool(_LETTERED.search(script_of(document, setting)))


def unexplained_in_values(
    documents: Iterable[Document], known: Collection[tuple[str, int]]
) -> Iterator[FileRole]:
    """What stands in such values of each file; `known` is what was understood or is said to be nothing, settings and words
    of codes in them, by path and first byte."""
    for document in documents:
        if document.dialect == codes.DIALECT or not _LETTERED.search(document.data.decode("latin-1")):
            continue
        own = _unexplained(document, {start for path, start in known if path == document.path})
        if own is not None:
            yield FileRole(document.path, Role.IN_FORCE, "", own=own)


def _unexplained(document: Document, known: Collection[int]) -> OwnScript | None:
    values = [
        (setting, script_of(document, setting))
        for setting in document.settings
        if setting.state is State.ACTIVE
        and setting.behind is None
        and setting.start not in known
        and setting.value
    ]
    scripts = {
        setting.start: text
        for setting, text in values
        if _SEVERAL.search(setting.value) and _LETTERED.search(text) and not _STANDARD.search(text)
    }
    words = {word for text in scripts.values() for word in _words(text)}
    for setting, text in values:
        own = _words(text)
        if setting.start not in scripts and len(own) > 1 and own <= words:
            scripts[setting.start] = text
    return _in_file(document, scripts, known) if scripts else None


def _in_file(document: Document, scripts: dict[int, str], known: Collection[int]) -> OwnScript | None:
    """What these texts hold, each given by its first byte, with the lines of the file that it stands in."""
    source = Source(document.path, document.data)
    lines = [
        (source.where(start + found.start())[0], found[0], _is_known(found[0], start + found.start(), known))
        for start, text in sorted(scripts.items())
        for found in _LINE.finditer(text)
    ]
    own = own_script("\n".join(text for _, text, _ in lines).encode("latin-1"))
    if own is None:
        return None
    told = dict(document.own_words)
    uses = tuple(
        replace(use, line=lines[use.line - 1][0])
        for use in own.uses
        if not told_of(use, told) and not lines[use.line - 1][2]
    )
    if not uses:
        return None
    return OwnScript(uses, tuple(replace(each, line=lines[each.line - 1][0]) for each in own.legend))


def _is_known(text: str, start: int, known: Collection[int]) -> bool:
    """Whether a line begins with a code, and what is behind that is known to the last word."""
    line = next(own_lines(text), None)
    words = line.words[1:] if line is not None and line.head else ()
    return bool(words) and all(start + word.start in known for word in words)


def _words(text: str) -> set[str]:
    """The words of a text that has nothing but words with numbers."""
    lines = [line for line in own_lines(text) if not line.empty]
    return (
        {word.word for line in lines for word in line.words} if all(line.plain for line in lines) else set()
    )
