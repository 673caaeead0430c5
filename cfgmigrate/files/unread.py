"""What is said of a file that reads as none of the dialects, though it may be the machine's after all.

Two things show it: lines of letters and numbers such as a script has, and a role that the user gave it in the site
file. In the first case the line of the site file that has it read is offered; in the second nothing is written before
it is read, unless it holds saved values, which may be a print-out for people.
A file that would read as a dialect but for zero bytes or its encoding stops it too: it was torn, or saved otherwise than meant.

Nothing is read by this; a file is looked at as bytes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct

from cfgmigrate.dialects import DIALECTS, LOOKED_AT, detect, read
from cfgmigrate.dialects.document import Document, readable
from cfgmigrate.files.console_talk import has_paths, is_listing, without_talk
from cfgmigrate.files.content import known_words
from cfgmigrate.files.for_comparing import without_what_is_compared
from cfgmigrate.files.forgotten_entries import without_forgotten_entries
from cfgmigrate.files.found import SITE
from cfgmigrate.files.lists_below import without_old_lists
from cfgmigrate.files.marks import folder_marks, is_log, marks_of, words_of
from cfgmigrate.files.own_words import as_told, is_whole_script, with_told_codes
from cfgmigrate.files.pattern import same_path, spelled
from cfgmigrate.files.roles import Role
from cfgmigrate.files.said_saved import says_saved
from cfgmigrate.files.site import BELOW_SITE, Site
from cfgmigrate.ground.pattern import pattern

NO_DIALECT = "the content reads as none of the dialects"
#: so many lines of letters and numbers, and such a part of all, look like a script
SCRIPT_LINES, SCRIPT_PART = 3, 0.2
#: a text of saved values is read in the dialect that this part of it is, and so many of its lines
LIKELY_OF_SAVED, FEWEST_SAVED = 0.3, 3
#: a file with so many settings before the line where reading stops is a configuration, and no letter with colons
FEWEST_BEFORE_A_FAULT = 12
#: such a part of a text's lines are a name and a number in one of settings, so many lines at least, and so many different
#: words of the trade are among the names
SETTING_PART, FEWEST_SETTING_LINES, FEWEST_TRADE_WORDS = 0.5, 5, 3
#: such a part of a text's bytes may be zero, besides those at its end
ZERO_PART = 0.01
_TWO_BYTES = (b"\xff\xfe", b"\xfe\xff")
_LOOKS_SO = "are words of a letter and a number"
_WORDS = pattern(rb"[ \t]*[A-Za-z]\d{1,4}[ \t]+[A-Za-z][-+]?\.?\d")
_SITE_VERSION = pattern(rb"(?m)^site:[ \t]*\d+[ \t]*\r?$")
_SITE_FIELD = pattern(rb"(?m)^(?:roles|meanings|codes|words|profiles|feeders|dialects|decimals):")
_LINE_END = pattern(rb"[\r\n]+")
_REMARK = pattern(r"[ \t]*(?:[#;%!]|//|--)")
_REMARK_BYTES = pattern(_REMARK.pattern.encode())
_PAIR = pattern(
    r"""[ \t]*["']?(?P<name>[^\W\d]\w*(?:[ \t./-]+[\w@]+){0,4})["']?[ \t]*(?:[-=]>|:?=|:|[|])[ \t]*["']?[-+~]?\.?\d[^\r\n]*"""
)
_NAME_AND_NUMBER = pattern(r"[ \t]*[A-Za-z]\w+(?:[ \t]*[=:]|(?=[ \t]))[ \t]*[-+]?\.?\d")
#: `Material: PETG`
_SAYS = pattern(
    r"""[ \t]*["']?(?P<name>[^\W\d]\w*(?:[ \t_-]+\w+){0,2})["']?[ \t]*[:=][ \t]*["']?(?P<value>\w{2,8}(?:[ \t+-]+\w{1,12}){0,2})["']?[ \t]*"""
)
_NAME_AND_COLON = pattern(r"""[ \t]*(?:-[ \t]+)?["']?[^\W\d][^\r\n:=]{0,60}[:=](?:[ \t]|$)|[ \t]+[-\w]""")
#: a line that opens what stands deeper below it, as in YAML
_OPENS = pattern(r"(?m)^[ \t]*[\w \t.-]{1,60}:[ \t]*\r?\n[ \t]+[\w-]")


def why_unread(path: str, data: bytes, why: str, site: Site) -> str:
    """Why a file was not read, with what to do about it where it looks like a script or the user gave it a role."""
    if why == NO_DIALECT and (torn := _no_plain_text(data)) is not None:
        return torn.why
    if why != NO_DIALECT or b"\0" in data[:LOOKED_AT]:
        return why
    if _SITE_VERSION.search(data[:LOOKED_AT]) and _SITE_FIELD.search(data[:LOOKED_AT]):
        return f"{why}, but it is a site file; it is read only where it is called {SITE}, beside the configuration or above it"
    if role_said(site, path) is Role.SAVED:
        return (
            f"{why}, though {SITE} says that it holds saved values; none was taken from it. A console's print-out is read "
            "where most of its lines are a name and a number, or some are a path and a number, `feeder.steps: 412`. Else copy its values, one `name = number` a line, or say "
            f"which of the dialects it is in ({', '.join(DIALECTS)}), in {SITE}, {BELOW_SITE}: dialects: {{{_entry(path, 'flat')}}}"
        )
    lines = [
        line for line in _LINE_END.split(data[:LOOKED_AT]) if line.strip() and not _REMARK_BYTES.match(line)
    ]
    found = sum(1 for line in lines if _WORDS.match(line))
    if found < SCRIPT_LINES or found < SCRIPT_PART * len(lines):
        return why
    return (
        f"{why}, but {found} of its {len(lines)} lines {_LOOKS_SO}; if the machine runs it, write in {SITE}, {BELOW_SITE}: "
        f"dialects: {{{_entry(path)}}}"
    )


def comes_nearest(path: str, data: bytes) -> str:
    """Which dialect a text that reads as none comes nearest to, and its first line that is none of that; "" for none."""
    if b"\0" in data[:LOOKED_AT]:
        return ""
    text = data[:LOOKED_AT].decode("latin-1")
    likely = {name: dialect.likelihood(text) for name, dialect in DIALECTS.items()}
    best = max(likely, key=lambda each: likely[each])
    if likely[best] < LIKELY_OF_SAVED:
        return ""
    fault = next(iter(read(path, data[:LOOKED_AT], best).doubts), None)
    where = f", but for line {fault.place.line}: {fault.text!r}" if fault else ""
    return f"; it comes nearest to {best}{where}"


def begun_and_left(path: str, data: bytes) -> str:
    """Why a file is not read that begins as a nested one and then has a line that fits nothing, "" for any other."""
    if b"\0" in data[:LOOKED_AT] or not DIALECTS["nested"].likelihood(data[:LOOKED_AT].decode("latin-1")):
        return ""
    document = read(path, data, "nested")
    fault = next((each for each in document.doubts if each.why.endswith("what follows is not read")), None)
    if fault is None or len(document.settings) < FEWEST_BEFORE_A_FAULT:
        return ""
    what = fault.why.partition(";")[0]
    return f"{NO_DIALECT}, though it begins as a nested one and can't be read beyond line {fault.place.line}: {fault.text!r}: {what}; {fault.remedy}"


class _NoPlainText(Struct, frozen=True):
    dialect: str
    why: str


def _no_plain_text(data: bytes) -> _NoPlainText | None:
    """Which dialect a file would read as but for zero bytes or two bytes for each letter, and why it does not."""
    if data.startswith(_TWO_BYTES):
        plain, what = (
            data.decode("utf-16", errors="replace").encode(),
            "it is in UTF-16, two bytes for each letter",
        )
    else:
        filled = data.rstrip(b"\0")
        zeros = data.count(b"\0")
        if not zeros or filled.count(b"\0") > ZERO_PART * len(filled):
            return None
        line = data[: data.index(b"\0")].count(b"\n") + 1
        plain, what = (
            filled.replace(b"\0", b""),
            f"it has zero bytes ({zeros}, from line {line} on), as where writing was cut off",
        )
    found = detect(plain)
    if found is None:
        return None
    return _NoPlainText(found.name, f"{NO_DIALECT}, since {what}; else it reads as {found.name}")


def reads_but_for_its_bytes(path: str, data: bytes, others: Iterable[str]) -> str:
    """Why a file is asked about that would be a configuration but for zero bytes or its encoding, "" for any other: words of
    letters and numbers, which may be something printed, a log or a copy of one of `others`; and where one of them is a copy of it,
    which is asked about in its place."""
    found = _no_plain_text(data)
    others = tuple(others)
    if (
        found is None
        or found.dialect == "command"
        or is_log(path.rpartition("/")[2])
        or _is_copy(path, others)
        or any(_goes_by_its_name(each, path) for each in others)
    ):
        return ""
    return f"{found.why}. Save it whole, as UTF-8, and run this again"


def may_be_settings(path: str, data: bytes, others: Iterable[str]) -> str:
    """Why a file is asked about that reads as none of the dialects and has many lines of a name and a number, "" for any
    other: a script, a text whose lines stand in one another, or one whose name says that it is a log, or a copy of one of `others`.
    """
    text = readable(data[:LOOKED_AT])
    if "\0" in text or text.startswith(("#!", "<?", "<!")) or is_log(path.rpartition("/")[2]):
        return ""
    if _is_copy(path, others):
        return ""
    lines = _lines_of(text)
    if plastic := _plastic_said(lines):
        return (
            f"{NO_DIALECT}, and it says {plastic!a:.40}; if it is a profile in use, write in {SITE}: "
            f"roles: {{{_entry(path, str(Role.PROFILE))}}}, else {Role.NONE} in place of {Role.PROFILE}"
        )
    if _OPENS.search(text):
        return ""
    names = [found["name"] for line in lines if (found := _PAIR.fullmatch(line))]
    if len(names) < max(FEWEST_SETTING_LINES, SETTING_PART * len(lines)):
        return ""
    words = known_words()
    trade = words.trade | words.hardware | words.filament | frozenset[str]().union(*words.concepts)
    known = dict.fromkeys(word for name in names for word in words_of(name) if word in trade)
    if len(known) < FEWEST_TRADE_WORDS:
        return ""
    return (
        f"{NO_DIALECT}, and {len(names)} of its {len(lines)} lines are a name and a number ({', '.join([*known][:3])} …); if the "
        f"machine reads it, write in {SITE}, {BELOW_SITE}: dialects: {{{_entry(path, 'flat')}}}, or another of {', '.join(DIALECTS)}"
    )


def _lines_of(text: str) -> list[str]:
    """The lines of a text that are neither empty nor a remark."""
    return [line for line in text.splitlines() if line.strip() and not _REMARK.match(line)]


def _plastic_said(lines: Sequence[str]) -> str:
    """What a text says of the plastic that it is of, where it has lines of a name and a number besides: one person's own profile, whose
    other words may be in any language. "" for any other text, and for the card of a roll: `Roll: 212`, `Box: 2`."""
    words = known_words()
    said = next(
        (
            line.strip()
            for line in lines
            if (found := _SAYS.fullmatch(line))
            and not words.filament.isdisjoint(words_of(found["name"]))
            and not words.materials.isdisjoint(words_of(found["value"])[:1])
        ),
        "",
    )
    names = [found["name"] for line in lines if (found := _PAIR.fullmatch(line))] if said else []
    own = [name for name in names if not words.card.issuperset(words_of(name))]
    pairs = (
        sum(bool(_NAME_AND_COLON.match(line)) for line in lines) if own and len(names) >= FEWEST_SAVED else 0
    )
    return said if pairs >= SETTING_PART * len(lines) else ""


def _goes_by_its_name(path: str, other: str) -> bool:
    """Whether a file has the name of another one, with a mark or an ending more."""
    name, own = (each.rpartition("/")[2] for each in (path, other))
    return name != own and (name.startswith(f"{own}.") or marks_of(name).bare == marks_of(own).bare)


def _is_copy(path: str, others: Iterable[str]) -> bool:
    """Whether the name of a file or its folder says that it is a copy, and there is one of its bare name without a mark."""
    marks = marks_of(path.rpartition("/")[2])
    if not (marks.directed or folder_marks(path).directed):
        return False
    rest = [marks_of(other.rpartition("/")[2]) for other in others if not folder_marks(other).directed]
    return any(other.bare == marks.bare and not other.directed for other in rest)


def lessons_of_unread(whys: Mapping[str, str]) -> list[str]:
    """The lines of the site file, out of force, that have such files read."""
    return [f"# {_entry(path)}    # it looks like a script" for path, why in whys.items() if _LOOKS_SO in why]


def _entry(path: str, dialect: str = "command") -> str:
    key = path.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{key}": {dialect}'


def dialect_by_site(path: str, data: bytes, site: Site) -> str | None:
    """The dialect of a script whose words the user explained; that of a profile of names and numbers, `flat`, or `sectioned` where its own words say the plastic alone; that which a
    text of saved values reads as better than as any other, though a console's talk stands between its lines; None where it is certain by itself, or none is near enough."""
    if words := site.own_words(path):
        return "command" if is_whole_script(data, words) else None
    role = role_said(site, path)
    if role is None and says_saved(data, path):
        role = Role.SAVED
    if role not in (Role.SAVED, Role.PROFILE) or b"\0" in data[:LOOKED_AT] or detect(data) is not None:
        return None
    text = data[:LOOKED_AT].decode("latin-1")
    if role is Role.PROFILE:
        plain = "flat" if _is_of_names_and_numbers(text) else None
        return "sectioned" if plain is None and _plastic_said(_lines_of(text)) else plain
    likely = {name: each.likelihood(text) for name, each in DIALECTS.items()}
    best = max(likely, key=lambda name: likely[name])
    lines = sum(1 for line in text.splitlines() if line.strip())
    if likely[best] >= LIKELY_OF_SAVED and likely[best] * lines >= FEWEST_SAVED:
        return best
    return "flat" if is_listing(text) or (role_said(site, path) is Role.SAVED and has_paths(text)) else None


def _is_of_names_and_numbers(text: str) -> bool:
    """Whether most lines begin with a name and a number behind it, with nothing between but a sign: `pullback  3600 um`."""
    lines = _lines_of(text)
    found = sum(bool(_NAME_AND_NUMBER.match(line)) for line in lines)
    return found >= max(FEWEST_SAVED, SETTING_PART * len(lines))


def told_of_unread(whys: Mapping[str, str]) -> Iterator[str]:
    """What is said first of such files, a sentence each."""
    yield from (f"{path}: {why}." for path, why in whys.items() if why.startswith(f"{NO_DIALECT}, "))


def role_said(site: Site, path: str) -> Role | None:
    """The role that the user gave this very path."""
    return next((each.role for each in site.roles if same_path(each.pattern, path)), None)


def said_to_be_none(site: Site, paths: Iterable[str]) -> frozenset[str]:
    """Those of these paths of which the user said that they are no configuration."""
    return frozenset(path for path, said in site.roles_of(paths).items() if said.role is Role.NONE)


def as_listed(document: Document, site: Site) -> Document:
    """A document as it counts: of a console's listing that the user or the text itself said to be saved values, what the board
    listed alone, without what it showed for comparing; of a script, what its words were said to mean; of any other, less what its head
    says is forgotten, and less the lists that do not hold."""
    document = without_forgotten_entries(with_told_codes(as_told(document, site.moves), site.codes))
    document = without_old_lists(document)
    if document.dialect not in ("flat", "command"):
        return document
    role = role_said(site, document.path)
    saved = role is Role.SAVED or (role is None and bool(says_saved(document.data, document.path)))
    heard = without_talk(document) if saved and document.dialect == "flat" else document
    return without_what_is_compared(heard, saved)


def faults_of_unread(site: Site, skipped: Mapping[str, str]) -> Iterator[str]:
    """Files that are part of the machine by the site file, and read as none of the dialects; a sentence each."""
    in_no_dialect = {spelled(path) for path, why in skipped.items() if why.startswith(NO_DIALECT)}
    for each in site.roles:
        if each.role in (Role.IN_FORCE, Role.PROFILE) and spelled(each.pattern) in in_no_dialect:
            yield (
                f"{each.place}: {each.pattern} is {each.role} by the site file, and reads as none of the dialects: say "
                "which under dialects, or take this line out"
            )
