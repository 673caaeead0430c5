"""What a command says first: which files it takes as the machine, which it leaves, and what it has to ask.

A few lines. Every file that is taken as the machine is named, however many there are: one that does not belong
there must be seen. Profiles beyond the first few are counted. What can't be told is asked in grouped questions, each with how to answer it; `ask_first` refuses for whoever would write.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from cfgmigrate.files.board_kept import THE_BOARDS
from cfgmigrate.files.called_after_others import WHOSE_FILE
from cfgmigrate.files.found import CLOSED, OUTSIDE, SITE
from cfgmigrate.files.gaps import TORN
from cfgmigrate.files.gaps import told as told_gap
from cfgmigrate.files.kept_listing import listing_doubts
from cfgmigrate.files.marks import is_log
from cfgmigrate.files.roles import FileSet, Question, Role
from cfgmigrate.files.site import BELOW_SITE
from cfgmigrate.files.unread import told_of_unread
from cfgmigrate.ground.findings import Place, Refused

#: so many profiles are named, and so many files are offered as answers
MOST_FILES_NAMED = 6
MOST_UNREAD_NAMED = 3
UNREAD = "no configuration"
_PICTURES = (".png", ".jpg", ".jpeg", ".gif", ".bmp", ".webp", ".svg", ".heic")
#: why a file is left that nobody has to be told of
NOT_TOLD = ("it is hidden", "it is a packet of this program", "it is the site file")
#: how the reason begins for which a file is not even opened, and what such a file is called
_NOT_OPENED = {
    OUTSIDE: "link that leads out of the folder",
    "it is a link to a folder": "link to a folder",
    "it is a link that leads nowhere": "link that leads nowhere",
    f"{CLOSED}: No such file": "link that leads nowhere",
    CLOSED: "that can't be read",
    "it is not an ordinary file": "that is no ordinary file",
    "it has ": "that is too large",
}
_PLURALS = {
    "kept copy": "kept copies",
    "picture": "pictures",
    "log": "logs",
    "link that leads out of the folder": "links that lead out of the folder",
    "link to a folder": "links to folders",
    "link that leads nowhere": "links that lead nowhere",
    "that is no ordinary file": "that are no ordinary files",
    "that is too large": "that are too large",
}
#: one, and several
_TAKEN = {
    Role.IN_FORCE: ("this file as your machine", "these {} as your machine"),
    Role.PROFILE: ("this one as a profile", "these {} as profiles"),
    Role.SAVED: ("this one as saved values", "these {} as saved values"),
}


def told(roles: Mapping[str, Role], whys: Mapping[str, str] | None = None) -> list[str]:
    """The lines that a command begins with, for the role of each file."""
    parts = [
        f"{(one if len(paths) == 1 else several).format(len(paths))}: {_listed(paths, MOST_FILES_NAMED if role is Role.PROFILE else len(paths))}"
        for role, (one, several) in _TAKEN.items()
        if (paths := [path for path, found in roles.items() if found is role])
    ]
    lines = [f"I take {'; and '.join(parts)}."] if parts else []
    kinds: dict[str, list[str]] = {}
    for path, role in roles.items():
        why = (whys or {}).get(path, "")
        if not role.taken and why not in NOT_TOLD:
            kinds.setdefault(_kind(path, role, why), []).append(path)
    if kinds:
        left = ", ".join(_counted(paths, kind) for kind, paths in kinds.items())
        lines.append(f"I leave {sum(map(len, kinds.values()))}: {left}.")
    return [*lines, *told_of_unread(whys or {})]


def with_decimal_commas(paths: Sequence[str]) -> list[str]:
    """The line that tells in which files numbers have commas for points; none where there is no such file."""
    if not paths:
        return []
    return [
        f"The numbers in {_listed(paths, MOST_FILES_NAMED)} have decimal commas (5,2): I read and write them so."
    ]


def told_of(files: FileSet) -> list[str]:
    """The same with what was named though its name speaks of a copy, what contradicts itself, and what is open."""
    named = [f"{path}: {found.why}." for path, found in files.items() if found.said and "though" in found.why]
    lines = [
        *named,
        *map(told_gap, files.gaps),
        *map(told_gap, listing_doubts(files.values())),
        *told({path: found.role for path, found in files.items()}, _whys(files)),
    ]
    lines += files.faults
    lines += [f"To be asked: {question.text}" for question in files.questions if question.kind != TORN]
    return lines


def _whys(files: FileSet) -> dict[str, str]:
    return {path: found.why for path, found in files.items()}


def _listed(paths: Sequence[str], most: int) -> str:
    if len(paths) <= most:
        return ", ".join(paths)
    return f"{', '.join(paths[: most - 1])} and {len(paths) - most + 1} more"


def _kind(path: str, role: Role, why: str) -> str:
    if role is Role.COPY:
        return "kept copy"
    if role is Role.OTHER:
        return "of another machine"
    if not_opened := next((kind for said, kind in _NOT_OPENED.items() if why.startswith(said)), ""):
        return not_opened
    if path.lower().endswith(_PICTURES):
        return "picture"
    return "log" if is_log(path.rpartition("/")[2]) else UNREAD


def may_be_configuration(path: str) -> bool:
    """Whether a file that nobody could look into may be one of the machine's, by its name."""
    return not path.lower().endswith(_PICTURES) and not is_log(path.rpartition("/")[2])


def _counted(paths: Sequence[str], kind: str) -> str:
    """How many there are of a kind. What could not be read may be the machine all the same, so it is named."""
    plural = _PLURALS.get(kind, kind)
    named = (
        f" ({_listed(paths, MOST_UNREAD_NAMED)})" if kind == UNREAD or kind in _NOT_OPENED.values() else ""
    )
    return f"{len(paths)} {plural if len(paths) > 1 else kind}{named}"


class FilesUnclear(Refused):
    """Which files are the machine can't be told. `files` has the questions."""

    def __init__(self, what: str, root: Path, remedy: str, files: FileSet) -> None:
        super().__init__(what, Place(str(root)), remedy)
        self.root = root
        self.files = files


def ask_first(files: FileSet, root: Path) -> None:
    """Raises FilesUnclear where which files are the machine can't be told, with how to answer."""
    if files.faults:
        raise Refused(
            "; ".join(files.faults),
            Place(str(root / SITE)),
            "Nothing was written. Put the site file right first.",
        )
    if files.unreadable:
        raise Refused(
            "\n  ".join(files.unreadable),
            Place(str(root)),
            "Nothing was written: what can't be read may hold the very value that has to change. Mend the line, or who may read "
            f"the file; what is none of the machine's is left with roles: {{FILE: {UNREAD}}} in {SITE}.",
        )
    if not files.questions:
        return
    lines = [line for question in files.questions for line in question_lines(question)]
    # one answer may settle two questions
    answers = "\n  ".join(dict.fromkeys(line for each in files.questions for line in _answers(each)))
    torn = all(question.kind == TORN for question in files.questions)
    what = (
        "it may be no whole configuration"
        if torn
        else "which files are the machine can't be told from the files alone"
    )
    first = "Get the whole file first. If it is all there is, say" if torn else "Say"
    raise FilesUnclear(
        "\n  ".join([what, *lines]),
        root,
        f"Nothing was written. {first} it by one of these, then run it again:\n  {answers}",
        files,
    )


def question_lines(question: Question) -> Iterator[str]:
    """A question with its numbered answers."""
    yield question.text
    for number, option in enumerate(question.options, 1):
        own = ", ".join(option.files)
        yield f"  {number}. {option.label}{'' if option.label.startswith(own) else f': {own}'}"
    if question.none:
        yield f"  0. {question.none}"


def roles_by(question: Question, number: int) -> dict[str, Role]:
    """What each file is by the answer of that number, 0 for none of them. What they are then copies of stays what it was
    found to be: part of the machine, or a profile."""
    others = Role.OTHER if question.kind in ("machine", WHOSE_FILE) else Role.COPY
    told = {path: others for option in question.options for path in option.files}
    chosen = Role.SAVED if question.kind == THE_BOARDS else question.role
    return {**told, **dict.fromkeys(question.options[number - 1].files if number else (), chosen)}


def _answers(question: Question) -> Iterator[str]:
    if question.kind in (THE_BOARDS, WHOSE_FILE):
        for role in (Role.SAVED, Role.COPY) if question.kind == THE_BOARDS else (question.role, Role.OTHER):
            yield f"in {SITE}, {BELOW_SITE}: roles: {{{_key(question.instead[0])}: {role}}}"
        yield "on a terminal: answer the question that is asked there"
        return
    choices = [each for each in (question.instead, *(option.files for option in question.options)) if each]
    files = choices[0]
    for number, each in enumerate(choices[:MOST_FILES_NAMED]):
        said = " ".join(f"--machine {_word(path)}" for path in each)
        yield f"{'or, if that is meant' if number else 'on the command line'}: {said}"
    yield f"in {SITE}, {BELOW_SITE}: roles: {{{_key(files[0])}: {Role.IN_FORCE}}}   (cfgmigrate survey --write-site begins one)"
    yield f"in a fleet file, for this machine: machine: [{', '.join(map(_key, files))}]"
    yield "on a terminal: answer the question that is asked there"
    if question.kind == "machine" and len(question.options) > 1 and not question.none:
        yield "for all of them, in a fleet file:"
        yield from (f"  {line}" for line in fleet_lines(question))


def fleet_lines(question: Question) -> Iterator[str]:
    """A fleet file for the machines of a question, ready to save at the root."""
    yield "sheet: swap.yaml"
    yield "machines:"
    for option in question.options:
        folder = option.files[0].rpartition("/")[0]
        label = "".join(sign if sign.isalnum() or sign in " ._-+()" else " " for sign in option.label).strip()
        if folder and all(path.startswith(folder + "/") for path in option.files):
            yield f"  {_key(label)}: {_key(folder)}"
        else:
            yield f"  {_key(label)}: {{config: ., machine: [{', '.join(map(_key, option.files))}]}}"


def _key(text: str) -> str:
    plain = all(sign.isalnum() or sign in "._-/ " for sign in text) and text[:1].isalpha()
    return text if plain else '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _word(text: str) -> str:
    import shlex

    return shlex.quote(text)
