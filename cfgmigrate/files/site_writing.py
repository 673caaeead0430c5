"""Writing the site file: commented when it is new, and with every comment kept when it is written again.

It is written only on request, in one step, and never over a change that was made since it was read. What a file
says already stays; only what was asked and answered since is added. What it would say is read again before. A role that
rests on a question nobody has answered is not written: it would be one from then on.
"""

from __future__ import annotations

import io
import json
import re
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path
from typing import Any

from cfgmigrate.files.found import SITE
from cfgmigrate.files.roles import FileRole, FileSet, Role
from cfgmigrate.files.site import SITE_VERSION, Site
from cfgmigrate.files.site_lines import with_entries
from cfgmigrate.files.site_reading import TAKEN_IN, parse_site, taken_in
from cfgmigrate.files.telling import roles_by
from cfgmigrate.ground.disk import write_through
from cfgmigrate.ground.findings import BadInput, Place, Refused
from cfgmigrate.ground.one_at_a_time import one_at_a_time

_HEADER = f"""\
# What the files here are, as far as they don't tell it themselves. Everything here may be edited; what is said on
# the command line comes before it. Paths are relative to this file; patterns with * and ** are allowed, and a
# folder ends with a slash. Further fields: extends, profiles, dialects, decimals, shared, meanings, codes, words, moves,
# and with several feeders their names and what is their own in the files: a file, a section or a word.
#   feeders: {{left: feeders/left.json, right: {{known_as: ["feeder 2", T1]}}}}     or: {{1: left, 2: right}}
# A meaning may be for one file: "feeders/left.json [wheel] ratio": feeder.gear_ratio
site: {SITE_VERSION}

# Roles: {", ".join(role.value for role in Role)}.
roles:
"""


_LESSONS = """\
# Not understood. Take away the # of each line that is right, of one for each name; where none is, write what it is.
"""
#: what stands between an entry and what is said of it
_REMARK = "    # "


def site_text(site: Site, files: FileSet, whole: bool = True) -> str:
    """The text of a site file: the one that there is with the roles of `files` added, or a new, commented one.

    With `whole` every role that was found is written, but for what hangs on an open question; else only those that the
    user gave."""
    roles = {
        path: found.role.value
        for path, found in files.items()
        if (found.said or (whole and not _is_open(found, files)))
        and found.role is not Role.NONE
        and not found.why.startswith(SITE)
    }
    if not site.there:
        lines = [f"  {_quoted(path)}: {role}  # {_comment(files[path].why)}" for path, role in roles.items()]
        return _HEADER + "\n".join(lines) + "\n"
    return added(site.source, {"roles": roles})


def _is_open(found: FileRole, files: FileSet) -> bool:
    """Whether a file's role may be another one by the answer to a question. What goes with which machine is open, while
    it is open which one is meant, for all but copies."""
    asked = {path for each in files.questions for option in each.options for path in option.files}
    asked |= {path for each in files.questions for path in each.instead}
    which = any(each.kind == "machine" for each in files.questions)
    return found.path in asked or (which and found.role is not Role.COPY)


def answers_offered(files: FileSet) -> list[str]:
    """A line for each role that an answer to an open question would give."""
    return [
        f"{_quoted(path)}: {role.value}{_REMARK}{_comment(question.text)}"
        for question in files.questions
        for number in range(0 if question.none else 1, len(question.options) + 1)
        for path, role in roles_by(question, number).items()
        if not number or path in question.options[number - 1].files
    ]


def with_lessons(text: str, lessons: Mapping[str, Sequence[str]]) -> str:
    """A site file's text with lines out of force, each in the section in which it teaches something: to take away the
    `#` is all that is left to do. A line that is there already is not added again."""
    for section, lines in lessons.items():
        said = {line.removeprefix("# ").partition(_REMARK)[0]: line for line in reversed(lines)}
        new = [line for entry, line in reversed(said.items()) if entry not in text]
        if not new:
            continue
        head = re.search(rf"^{section}:[ \t]*(?:#.*)?\n(?P<inner>[ \t]*(?=[^\s#]))?", text, re.M)
        indent = (head["inner"] if head else "") or "  "
        block = _LESSONS + "".join(f"#{indent}{line.removeprefix('# ')}\n" for line in new)
        if head:
            at = head.start("inner") if head["inner"] else head.end()
            text = text[:at] + block + text[at:]
        else:
            text += f"\n{section}:\n{block}"
    return text


def answered_text(site: Site, answers: Mapping[str, Role]) -> str:
    """The text of a site file with the roles that were answered; the one that there is, or a new one."""
    files = FileSet({path: FileRole(path, role, "answered", said=True) for path, role in answers.items()})
    return site_text(site, files)


def added(source: bytes, sections: Mapping[str, Mapping[str, Any]]) -> str:
    """A site file's text with entries added to its sections; those that are there stay as they are, and so does every
    byte of the text where the entries can be lines of their own."""
    data = _read(source)
    new = {
        name: {key: value for key, value in entries.items() if key not in (data.get(name) or {})}
        for name, entries in sections.items()
    }
    new = {name: entries for name, entries in new.items() if entries}
    text = source.decode("utf-8")
    for (
        name,
        entries,
    ) in new.items():  # one by one: a new section behind all that is there, its remarks included
        text = _with_section(text, name, entries)
    return text


def _with_section(text: str, name: str, entries: Mapping[str, Any]) -> str:
    data = _read(text.encode())
    if data.get(name) is None:
        data[name] = _yaml().map()
    data[name].update(entries)
    lines = with_entries(text, {name: entries}, _entry)
    return lines if lines is not None and _says(lines, data) else _dumped(_yaml(), data)


def corrected(source: bytes, sections: Mapping[str, Mapping[str, Any]]) -> str:
    """The same, where what is said anew takes the place of what was said before."""
    data = _read(source)
    if not any(key in (data.get(name) or {}) for name, entries in sections.items() for key in entries):
        return added(source, sections)
    for name, entries in sections.items():
        for key in (data.get(name) or {}).keys() & entries.keys():
            data[name][key] = entries[key]
    return added(_dumped(_yaml(), data).encode(), sections)


def _entry(key: str, value: Any) -> str:
    """An entry as one line."""
    yaml = _yaml()
    yaml.default_flow_style = True
    return _dumped(yaml, {key: value}).strip().removeprefix("{").removesuffix("}")


def _says(text: str, data: Any) -> bool:
    """Whether a text says just this."""
    from ruamel.yaml.error import YAMLError

    try:
        found = _yaml().load(text.removeprefix("\ufeff"))
    except (YAMLError, ValueError):
        return False
    return bool(found == data)


def _read(source: bytes) -> Any:
    """A site file's tree, to be written again. Raises BadInput where its names are one to a reader of YAML, or it has a
    kind of value that a site file doesn't: it could be read, and not written."""
    from ruamel.yaml.error import MarkedYAMLError, YAMLError

    yaml = _yaml()
    try:
        return yaml.load(source.decode("utf-8-sig")) or yaml.map()
    except (YAMLError, ValueError, TypeError) as error:
        mark = error.problem_mark if isinstance(error, MarkedYAMLError) else None
        place = Place(SITE, mark.line + 1, mark.column + 1) if mark else Place(SITE)
        raise BadInput(
            "the site file can be read, and not written again: two of its names are one number to a reader of YAML, or a "
            "value is of a kind of its own",
            place,
            "put such names into quotes, and take such signs (!!int, <<) out",
        ) from None


def settled_text(site: Site, sections: Mapping[str, Mapping[str, Any]]) -> str:
    """The text of a site file with what was answered; the one that there is, or a new one without roles."""
    source = site.source if site.there else _HEADER.partition("\n\n")[0].encode() + b"\n"
    return added(source, sections)


def joined_text(source: bytes, shared: bytes, of_others: Collection[str] = ()) -> bytes:
    """The text of a site file that stands by itself: with the meanings, codes and words of the file that it extends, and
    a last line that says which those are, `of_others`."""
    yaml = _yaml()
    taken = taken_in(source)
    own, above = _read(source.rpartition(TAKEN_IN)[0] if taken else source), _read(shared)
    own.pop("extends", None)
    for name in ("meanings", "codes", "words"):
        for key, value in (above.get(name) or {}).items():
            if own.get(name) is None:
                own[name] = yaml.map()
            own[name].setdefault(key, value)
    text = _dumped(yaml, own).encode()
    of_others = sorted({*of_others, *taken})
    return text + TAKEN_IN + json.dumps(of_others).encode() + b"\n" if of_others else text


def write_site(root: Path, site: Site, text: str) -> Path:
    """Writes the site file of a root in one step; behind a link the file that it leads to. Raises Refused where it was
    changed since it was read, or can't be written, and BadInput where it couldn't be read again; then nothing was written."""
    path = root / SITE
    parse_site(text.encode(), SITE)
    with one_at_a_time(path.resolve().parent):
        present = path.read_bytes() if path.is_file() else b""
        if present != site.source:
            raise Refused(
                "the site file was changed since it was read",
                Place(str(path)),
                "Nothing was written. Run it again.",
            )
        try:
            write_through(path, text.encode())
        except OSError as error:
            raise Refused(
                f"the site file can't be written: {error.strerror or error}",
                Place(str(path)),
                "Nothing was changed.",
            ) from error
    return path


def _yaml() -> Any:
    from ruamel.yaml import YAML

    yaml = YAML(typ="rt", pure=True)
    yaml.preserve_quotes = True
    yaml.width = 10_000
    return yaml


def _dumped(yaml: Any, data: Any) -> str:
    out = io.StringIO()
    yaml.dump(data, out)
    return out.getvalue()


def _quoted(text: str) -> str:
    plain = all(sign.isalnum() or sign in "._-/" for sign in text) and text[:1].isalpha()
    return text if plain else '"' + _escaped(text.replace("\\", "\\\\").replace('"', '\\"')) + '"'


def _comment(text: str) -> str:
    return _escaped(" ".join(text.split()))


def _escaped(text: str) -> str:
    """The text with what can't stand in YAML, or would end a line of it, as YAML writes it in quotes."""
    return "".join(sign if sign.isprintable() else f"\\U{ord(sign):08x}" for sign in text)
