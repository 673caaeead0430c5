"""A current that is no amount but a code for the driver, as a remark of the file says:

    #define FEED_CURRENT  24      // I = (n + 1) / 32 * Vref / (Rsense + 0.02) / sqrt2
    #define X_CURRENT     15      // code n means (n+1)*50 mA

Such a number taken for amperes or milliamperes is read wrong, and what would be written in its place would be another current
altogether. So it is not taken: it is a question, and the line stays as it is. A remark behind the number says so, or one
above its run of lines, or the line's own name. Anywhere else in the files such a remark counts for whole numbers
beside which no unit stands. Where the user named the number's key, what they say holds.

What the code for the new current is, by the remark's formula, is worked out in `plan/codes_for_currents.py`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.remark_marks import COMMAND_MARK, LINE_MARK
from cfgmigrate.dialects.value import Items, Number, read_value
from cfgmigrate.ground.findings import Doubt, Likeness, Place
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.collection import Collection, line_of
from cfgmigrate.machine.model import Unread
from cfgmigrate.machine.names import Names
from cfgmigrate.machine.nearest import said_in_full
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.remarks import remarks_of
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.stated import stated
from cfgmigrate.machine.words import read_name, split

CURRENTS = ("motor.run_current", "motor.hold_current")
#: what makes doubts of such numbers one kind of question
CODE_FOR_A_CURRENT = "code for a current"
#: the largest code: a driver's register for a current has 8 bits at the most (common practice, no source)
LARGEST_CURRENT_CODE = 255
#: A; a code that would set more by its step is none (common practice, no source)
_MOST_SET = 5.0
#: so many lines are gone up from a number to the remark above its run, and so much of a remark is looked at
_LINES_UP, LONGEST_CODE_REMARK = 40, 400
_QUOTED = 80
_NAMED_CODE = frozenset({"code", "codes", "register", "reg"})
#: when a current flows, as the name of its code says it
_WHEN = (
    ("motor.run_current", frozenset({"run", "running", "moving", "work", "working", "print", "printing"})),
    ("motor.hold_current", frozenset({"rest", "resting", "hold", "holding", "idle", "still", "standstill", "standing"})),
)  # fmt: skip
_NAMED_UNIT = frozenset(
    {"a", "ma", "amp", "amps", "milliamp", "milliamps", "ampere", "amperes", "milliampere", "milliamperes"}
)
_A_CODE = r"(?:[nk]|code|value|count|number|reg(?:ister)?|setting)"
_STEP = r"([\d.]{1,8})[ \t]*(mA|A|milliamps?|amps?)\b"
#: one more than a code, which is multiplied or divided
_ONE_MORE = r"\([ \t]*(?:(?:[a-z]\w{0,20}|\d{1,3})[ \t]*\+[ \t]*1|1[ \t]*\+[ \t]*[a-z]\w{0,20})[ \t]*\)"
_FORMULA = pattern(
    rf"{_ONE_MORE}[ \t]*[*x×·/]|[*x×·][ \t]*{_ONE_MORE}",
    re.I,
    needs=("+",),
)
#: so much current for each count
_STEPS = tuple(
    pattern(text, re.I, needs=("a",))
    for text in (
        rf"\b{_A_CODE}[ \t]*[*x×·][ \t]*{_STEP}",
        rf"{_STEP}[ \t]*[*x×·][ \t]*{_A_CODE}\b",
        rf"\b(?:steps?|units?|counts?|multiples|lots) of {_STEP}",
        rf"^[*x×·][ \t]*{_STEP}",
        rf"{_STEP}[ \t]*(?:each\b|(?:/|per\b|an?\b|for each\b|for every\b|to the\b|to a\b)[ \t]*(?:step|count|unit|bit|code|digit|notch)\b)",
    )
)
_CODES = pattern(
    r"(?<!colour )(?<!color )(?<!post )(?<!error )(?<!fault )(?<!blink )(?<!-)\bcodes?\b|\bregister (?:values?|codes?|numbers?|settings?|steps?)\b",
    re.I,
    needs=("code", "register"),
)
#: the codes that there are
_RANGE = pattern(r"\b0[ \t]*(?:\.\.+|-|–|to)[ \t]*(?:15|31|63|127|255)\b|\bof (?:31|63|127|255)\b")
_OF_A_DRIVER = pattern(r"\bcurrents?\b|\bdrivers?\b|\bmotors?\b|\bv_?ref\b|sense|\bm?A\b|\bamps?\b", re.I)
_OF_CURRENTS = pattern(r"\bcurrents?\b", re.I)
_HEADER_MARKS = pattern(r"//|/\*")
_MARKS = pattern(LINE_MARK)
_COMMAND_MARKS = pattern(COMMAND_MARK)


class CodeRemark(Struct, frozen=True):
    """What a remark says of codes, with where its lines are; `line` is 0 where a key's own name says it."""

    text: str
    path: str = ""
    line: int = 0

    @property
    def told(self) -> str:
        if not self.line:
            return "its name"
        at = min(
            (m.start() for each in (_FORMULA, _CODES, *_STEPS) if (m := each.search(self.text))), default=0
        )
        short = self.text[max(self.text.rfind(". ", 0, at) + 1, 0) :].strip()
        short = short if len(short) <= _QUOTED else f"{short[:_QUOTED].rpartition(' ')[0]} …"
        return f"the remark in {self.path}:{self.line} (“{short}”)"


def ask_of_codes(found: Collection, documents: Sequence[Document], names: Names | None) -> None:
    """Turns currents of the feeders' motors, and questions about their units, into the question what code is right."""
    lines = {(each.reading.place.file, each.reading.place.line) for each in found.readings if each.reading.quantity in CURRENTS}  # fmt: skip
    lines |= {(each.place.file, each.place.line) for each in found.doubts if each.about in CURRENTS}
    near = {
        (each.place.file, each.place.line): (each, what)
        for each in found.unread
        if (what := _named_a_code(each))
    }
    coded = dict(lines_with_codes(lines | near.keys(), documents, names))
    if not coded:
        return
    asked: dict[tuple[str, int], Doubt] = {}
    for each in found.readings:
        at = each.reading.place.file, each.reading.place.line
        if at in coded and each.reading.quantity in CURRENTS:
            asked[at] = _asked(each.reading.place, each.reading.setting, each.reading.quantity, coded[at])
    by_path = {document.path: document for document in documents}
    for doubt in found.doubts:
        at = doubt.place.file, doubt.place.line
        if at in coded and doubt.about in CURRENTS:
            setting = next(each for each in by_path[at[0]].settings if each.line == at[1])
            asked.setdefault(at, _asked(doubt.place, setting, doubt.about, coded[at]))
    for at, (unread, what) in near.items():
        if at in coded:
            asked.setdefault(at, _asked(unread.place, unread.setting, what, coded[at]))
    found.readings[:] = [
        each
        for each in found.readings
        if each.reading.quantity not in CURRENTS
        or (each.reading.place.file, each.reading.place.line) not in coded
    ]
    found.unread[:] = [
        replace(each, nearest=()) if (each.place.file, each.place.line) in asked else each
        for each in found.unread
    ]
    found.unsure[:] = [each for each in found.unsure if (each[1].place.file, each[1].place.line) not in asked]
    found.doubts[:] = [
        *(
            each
            for each in found.doubts
            if each.about not in CURRENTS or (each.place.file, each.place.line) not in asked
        ),
        *asked.values(),
    ]


def _asked(place: Place, setting: Setting, what: str, remark: CodeRemark) -> Doubt:
    label = quantity(what).label
    why = f"{label}: by {remark.told} this number is a code for the driver, and no amperes; it stays as it is"
    remedy = (
        "look up which code sets the new current, and write it by hand once the new motor is on; then say in cfgmigrate.yaml, "
        f"under meanings: {name_line(setting, 'ignore')}; if it is an amount after all, say so there with its unit: "
        f"{name_line(setting, what, 'mA')}, or A"
    )
    like = Likeness(CODE_FOR_A_CURRENT, of=what, own=str(place))
    return Doubt(place, line_of(setting), why, remedy, about=what, like=like)


def _named_a_code(unread: Unread) -> str:
    """Which of the currents a line is a code for, by its name; "" for none. `run code` names none by itself: where a remark of
    the file tells what codes set, it is one."""
    setting = unread.setting
    if setting.state is not State.ACTIVE or _NAMED_CODE.isdisjoint(split(setting.key)):
        return ""
    said = dict(said_in_full(read_name(setting.section, setting.key)))
    return next((each for each in CURRENTS if each in said), "") or _by_when(setting)


def _by_when(setting: Setting) -> str:
    """Which current a code is for, by the time alone at which it flows; "" where the name says something else as well."""
    words = {*split(setting.key)} - _NAMED_CODE
    return next((what for what, times in _WHEN if len(words) == 1 and words <= times), "")


def lines_with_codes(
    lines: Iterable[tuple[str, int]], documents: Sequence[Document], names: Names | None
) -> Iterator[tuple[tuple[str, int], CodeRemark]]:
    """Those of the lines whose number is a code, with what says so."""
    wanted: dict[str, set[int]] = {}
    for path, line in lines:
        wanted.setdefault(path, set()).add(line)
    for document in documents if wanted else ():
        mine = wanted.get(document.path, ())
        settings = [each for each in document.settings if each.line in mine] if mine else []
        open_ones = [each for each in settings if not (names and names.find(document, each))]
        found = {each.line: code_remark(document, each, documents) for each in open_ones}
        said = next((each for each in found.values() if each is not None), None)
        for setting in open_ones:
            # where one of a file's currents is a code, a bare whole number beside it is no amount
            remark = found[setting.line] or (said if _is_bare(document, setting) else None)
            if remark is not None:
                yield (document.path, setting.line), remark


def code_remark(document: Document, setting: Setting, documents: Sequence[Document]) -> CodeRemark | None:
    """What says that a current's number is a code; None where nothing does, or where it can be none."""
    number = _whole(setting)
    if number is None:
        return None
    if not _NAMED_CODE.isdisjoint(split(setting.key)) and _by_when(setting):
        return next(_legends(document, number.value), None)
    own = _own(document, setting)
    in_a_unit = _is_in_a_unit(setting, number)
    if _FORMULA.search(own) or (not in_a_unit and _says_codes(own, number.value, weak=True)):
        return CodeRemark(own, document.path, setting.line)
    if not _is_bare(document, setting):
        return None
    above = _above(document, setting.line)
    if above is not None and _says_codes(above.text, number.value, weak=False):
        return above
    others = (document, *(each for each in documents if each is not document))
    found = next((each for other in others for each in _legends(other, number.value)), None)
    if found is None and not _NAMED_CODE.isdisjoint(split(setting.key)):
        return CodeRemark("")
    return found


def _own(document: Document, setting: Setting) -> str:
    remarks = remarks_of(document)
    return (remarks.behind(setting) or remarks.of_line(setting))[:LONGEST_CODE_REMARK]


def _whole(setting: Setting) -> Number | None:
    """The whole number that a setting is; of a list, a number for each motor, the feeder's, which is the last."""
    number = read_value(setting.value)
    if isinstance(number, Items) and _by_when(setting):
        number = number.items[-1] if number.items else number
    if not isinstance(number, Number) or not number.text.strip().isdigit():
        return None
    return number if number.value <= LARGEST_CURRENT_CODE else None


def _is_in_a_unit(setting: Setting, number: Number) -> bool:
    return bool(number.unit) or not _NAMED_UNIT.isdisjoint(split(setting.key))


def _is_bare(document: Document, setting: Setting) -> bool:
    """Whether a value is a whole number that may be a code, and neither it nor its name or remark states a unit."""
    number = _whole(setting)
    if number is None or _is_in_a_unit(setting, number):
        return False
    told = stated(_own(document, setting)).unit
    return told is None or told.of != "current"


def _says_codes(text: str, value: float, weak: bool) -> bool:
    """Whether a remark says that a number is a code; by its range alone only where the remark is the number's own, or about currents."""
    return bool(
        _FORMULA.search(text)
        or _CODES.search(text)
        or ((weak or _OF_CURRENTS.search(text)) and _RANGE.search(text))
        or any(_sets_so_much(each, value) for step in _STEPS for each in (step.search(text),) if each)
    )


def _sets_so_much(found: re.Match[str], value: float) -> bool:
    try:
        step = float(found[1]) / (1000 if found[2].casefold().startswith("m") else 1)
    except ValueError:
        return False
    return 0 < step * max(value, 1) <= _MOST_SET


def _legends(document: Document, value: float) -> Iterator[CodeRemark]:
    """The remarks of a file that tell what codes set, of whichever line."""
    for each in _of_drivers(document):
        if _says_codes(each.text, value, weak=False):
            yield each


@once
def _of_drivers(document: Document) -> tuple[CodeRemark, ...]:
    return tuple(
        CodeRemark(text, document.path, line) for line, text in _blocks(document) if _OF_A_DRIVER.search(text)
    )


def _blocks(document: Document) -> Iterator[tuple[int, str]]:
    """The remarks of a file, those on lines below each other as one, each with its first line."""
    start, parts = 0, list[str]()
    for line, (text, alone) in _remarks(document).items():
        if parts and (line != start + len(parts) or not alone):
            yield start, " ".join(parts)[:LONGEST_CODE_REMARK]
            parts = []
        start = start if parts else line
        parts.append(text)
    if parts:
        yield start, " ".join(parts)[:LONGEST_CODE_REMARK]


def _above(document: Document, line: int) -> CodeRemark | None:
    """The remark above the run of lines in which a line stands; one nearer that states a unit ends the way there."""
    remarks, rows = _remarks(document), _rows(document)
    parts: list[str] = []
    at = line - 1
    while at > max(0, line - _LINES_UP) and rows[at - 1].strip():
        text, alone = remarks.get(at, ("", False))
        if alone:
            parts.insert(0, text)
        elif parts:
            break
        at -= 1
    text = " ".join(parts)[:LONGEST_CODE_REMARK]
    return CodeRemark(text, document.path, at + 1) if parts else None


@once
def _rows(document: Document) -> tuple[str, ...]:
    return tuple(document.data.decode("utf-8", "replace").splitlines())


@once
def _remarks(document: Document) -> Mapping[int, tuple[str, bool]]:
    """The remark on each line that has one, and whether nothing else stands there."""
    found: dict[int, tuple[str, bool]] = {}
    if document.dialect == "nested":
        return found
    mark = {"header": _HEADER_MARKS, "command": _COMMAND_MARKS}.get(document.dialect, _MARKS)
    inside = False
    for number, row in enumerate(_rows(document), 1):
        begins = None if inside else mark.search(row)
        if not inside and begins is None:
            continue
        text = row if begins is None else row[begins.end() :]
        alone = inside or not row[: begins.start() if begins else 0].strip()
        if document.dialect == "header" and (inside or (begins is not None and begins[0] == "/*")):
            text, ends, _ = text.partition("*/")
            inside = not ends
        found[number] = text.strip(" \t*/-=#;()" if alone else " \t*/-=#;"), alone
    return found
