"""What a person is asked about the files once, before the swap: questions that one key settles, and materials.

A question of the machine's whose remedy is a line of the site file becomes one with numbered answers, each with the
line that it stands for. Only what concerns the swap is asked, and a few at most: what is near the old path or the old
retraction and not understood comes first. Filaments whose material nothing says are one table.

This module asks nobody and writes nothing; what an answer is kept as is said by `files/site_writing.py`.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from typing import Any

from msgspec import Struct, field

from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.files.kept_listing import listing_doubts
from cfgmigrate.files.own_words import BY_AXES, MEANINGS, NO_PART, SPEEDS, TO_AXES
from cfgmigrate.files.roles import FileRole, Role
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.axes_unnamed import WHICH
from cfgmigrate.machine.commas import AS_NUMBERS, COMMA, POINT, WHY, asked_together, once_a_file
from cfgmigrate.machine.model import Machine, Profile
from cfgmigrate.machine.near_lengths import lengths_of
from cfgmigrate.machine.number_units import NOT_SAID_HERE, WHERE_RMS_IS_SAID
from cfgmigrate.machine.own_codes import OwnCode, own_codes
from cfgmigrate.machine.precedence import BOTH_SAID
from cfgmigrate.machine.quantities import known, quantity
from cfgmigrate.machine.teach import teachable
from cfgmigrate.machine.teachable import Teachable

#: so many are asked at most; `survey` lists all
MOST_OF_FILES = 3
#: and so many of scripts in codes of their owner's own, beside them
MOST_OF_SCRIPTS = 4
NOTHING_OF_THE_KIND = "ignore"
_LINE = pattern(r'"((?:[^"\\]|\\.)*)": (?:\{quantity: ([\w.@]+), unit: ([^}]*)\}|([\w.@]+))')
_WORD = pattern(r"words: \{(\w+): x\}")
_RMS_OR_PEAK = {"rms": "RMS, also called effective", "peak": "peak, also called maximum"}
_OF_THE_SWAP = pattern(r"(?:feeder|feed|motor|retraction|lag|probe|axis\.z)\..*")


class SiteAnswer(Struct, frozen=True):
    """One answer: how it is said, and the entry of the site file that it stands for."""

    text: str
    section: str
    key: str
    value: Any
    #: further lines of the section that the answer stands for
    more: Mapping[str, Any] = field(default_factory=dict)

    @property
    def entry(self) -> Mapping[str, Mapping[str, Any]]:
        return {self.section: {self.key: self.value, **self.more}}


class SiteQuestion(Struct, frozen=True):
    """A question about a line of a file. `name` tells it apart from all others."""

    name: str
    place: str
    why: str
    answers: tuple[SiteAnswer, ...]


def site_questions(machine: Machine, left: Collection[str] = ()) -> tuple[SiteQuestion, ...]:
    """The questions to ask, the most urgent first; without those in `left`, which were left open before."""
    near = (
        _of_number(each) for each in teachable(machine, lengths_of(machine)) if each.asked and each.candidates
    )
    found: dict[str, SiteQuestion] = {}
    for question in (
        *map(_of_listing, machine.unclaimed),
        *_of_commas(machine),
        *_of_axes(machine),
        *near,
        *_of_doubts(machine),
    ):
        if question.answers and question.name not in left:
            found.setdefault(question.name, question)
    scripts = [each for each in _of_scripts(machine, left) if each.name not in left][:MOST_OF_SCRIPTS]
    return (*scripts, *tuple(found.values())[:MOST_OF_FILES])


def silent_filaments(machine: Machine) -> tuple[Profile, ...]:
    """The filaments whose material the files don't say, where there are several filaments."""
    filaments = [each for each in machine.found_profiles if each.holder.kind == "filament"]
    return tuple(each for each in filaments if not each.material) if len(filaments) > 1 else ()


def _of_scripts(machine: Machine, left: Collection[str]) -> Iterator[SiteQuestion]:
    """What a remark explains of such scripts, to be confirmed as a whole; then each word that none explains, or of which
    that was left open, where it may matter."""
    codes = own_codes(machine.own_scripts)
    groups: dict[str, list[OwnCode]] = {}
    for code in codes:
        if code.means and f"moves {code.pattern}" not in left:
            groups.setdefault(code.pattern, []).append(code)
    for scripts, told in groups.items():
        lines = "; ".join(f"`{each.called}` is {each.means} ({each.shown})" for each in told)
        entries = {each.key: each.means for each in told}
        first, *_ = entries
        more = {key: value for key, value in entries.items() if key != first}
        yes = SiteAnswer("yes, all of it", "moves", first, entries[first], more)
        why = f"a remark seems to say what words of {scripts} mean. Is all of this so? {lines}"
        yield SiteQuestion(f"moves {scripts}", told[0].said.partition(" says: ")[0], why, (yes,))
    for code in codes:
        if code not in groups.get(code.pattern, ()) and code.matters:
            answers = tuple(SiteAnswer(_it_says(each), "moves", code.key, each) for each in MEANINGS)
            file, use = code.uses[0]
            why = f"what does `{code.called}` say in {code.pattern}? (A number with a plus is a step, whatever the place.) {code.shown}"
            yield SiteQuestion(f"moves {code.key}", _place(file, use.line), why, answers)


def _it_says(meaning: str) -> str:
    if meaning in SPEEDS:
        return f"a speed in {meaning}"
    if meaning in BY_AXES:
        return f"how far {BY_AXES[meaning]} goes from where it stands, in mm"
    if meaning in TO_AXES:
        return f"where {TO_AXES[meaning]} goes to, in mm"
    return "nothing that moves" if meaning == NO_PART else f"how many mm of {meaning}"


def _of_listing(role: FileRole) -> SiteQuestion:
    """Whether a text is what the board keeps."""
    (doubt,) = listing_doubts((role,))
    answers = (
        SiteAnswer("yes, the board keeps these values", "roles", role.path, str(Role.SAVED)),
        SiteAnswer("no, the board keeps nothing of it", "roles", role.path, str(Role.NONE)),
        SiteAnswer(
            "no, they are a filament's or a print's own settings", "roles", role.path, str(Role.PROFILE)
        ),
    )
    where = _place(role.path, doubt.place.line)
    return SiteQuestion(role.path, where, f"{doubt.text}: {doubt.why}", answers)


def _of_number(taught: Teachable) -> SiteQuestion:
    first = taught.settings[0]
    answers = [
        SiteAnswer(_it_is(name), taught.under, taught.code or taught.pattern, _value(taught, name))
        for name in (*taught.candidates, *_other_ends(taught))
    ]
    if not taught.code:
        answers.append(
            SiteAnswer(
                "it is not an axis limit" if any(map(_is_end, taught.candidates)) else "it is something else",
                "meanings",
                taught.pattern,
                NOTHING_OF_THE_KIND,
            )
        )
    why = f"{first.text} is not understood, and {taught.why}"
    return SiteQuestion(taught.pattern, _place(first.place.file, first.place.line), why, tuple(answers))


def _is_end(name: str) -> bool:
    return name.startswith("axis.") and name.endswith((".min", ".max"))


#: mm; the low end of an axis lies about as near to 0 as this (common practice, no source)
_NEAR_ZERO = 20.0


def _other_ends(taught: Teachable) -> Iterator[str]:
    """The ends of the other axes, where a line may be the end of one: who says no to that one would leave it unread."""
    number = read_value(taught.settings[0].setting.value)
    if taught.code or not any(map(_is_end, taught.candidates)) or not isinstance(number, Number):
        return
    side = "min" if number.value <= _NEAR_ZERO else "max"
    yield from (name for axis in "xyz" if (name := f"axis.{axis}.{side}") not in taught.candidates)


def _value(taught: Teachable, name: str) -> Any:
    return {"quantity": name} if taught.code else name


def _of_commas(machine: Machine) -> Iterator[SiteQuestion]:
    """Whether the numbers of a file have commas for points: one answer for all of its lines, and for the files beside it that
    are written like it."""
    keys = asked_together(machine.doubts, machine.documents)
    for doubt in once_a_file(machine.doubts):
        if doubt.why.startswith(WHY) and AS_NUMBERS in doubt.remedy:
            key = keys[doubt.place.file]
            answers = (
                SiteAnswer(f"yes, in all of {key} a comma stands for the point", "decimals", key, COMMA),
                SiteAnswer("no, here a comma stands between two numbers", "decimals", key, POINT),
            )
            where = _place(doubt.place.file, doubt.place.line)
            yield SiteQuestion(f"decimals {key}", where, f"{doubt.text}: {doubt.why}", answers)


def _of_axes(machine: Machine) -> Iterator[SiteQuestion]:
    """Which axis a word such as `across` is: one answer for all names that have it."""
    for doubt in machine.doubts:
        if doubt.why.startswith(WHICH) and (found := _WORD.search(doubt.remedy)):
            answers = tuple(SiteAnswer(f"`{found[1]}` is {axis}", "words", found[1], axis) for axis in "xyz")
            where = _place(doubt.place.file, doubt.place.line)
            yield SiteQuestion(f"words {found[1]}", where, f"{doubt.text}: {doubt.why}", answers)


def _of_doubts(machine: Machine) -> Iterator[SiteQuestion]:
    held = {(each.place.file, each.place.line): each.quantity for each in machine.readings}
    for doubt in machine.doubts:
        answers = tuple(_answers(doubt))
        about = [
            each.value["quantity"] if isinstance(each.value, dict) else str(each.value) for each in answers
        ]
        of_both = doubt.about if doubt.remedy.startswith(BOTH_SAID) else ""
        about.append(held.get((doubt.place.file, doubt.place.line), of_both))
        # one answer would be said of all of them, but for one that is of a row
        several = "," in doubt.text.partition("=")[2] and not any("@" in name for name in about)
        if answers and not several and any(_OF_THE_SWAP.fullmatch(name) for name in about):
            where = _place(doubt.place.file, doubt.place.line)
            look = f". Where to look: {WHERE_RMS_IS_SAID}" if doubt.asks(NOT_SAID_HERE) else ""
            yield SiteQuestion(answers[0].key, where, f"{doubt.text}: {doubt.why}{look}", answers)


def _answers(doubt: Doubt) -> Iterator[SiteAnswer]:
    """The answers that a remedy offers: its lines of a names file, as `name_line` writes them."""
    lines = [
        (re.sub(r"\\(.)", r"\1", key), meant or plain, unit)
        for key, meant, unit, plain in _LINE.findall(doubt.remedy)
    ]
    several = len({key for key, _, _ in lines}) > 1
    for key, meant, unit in lines:
        it = key if several else "it"
        if meant == NOTHING_OF_THE_KIND:
            yield SiteAnswer(f"{it} is something else", "meanings", key, NOTHING_OF_THE_KIND)
        elif unit.endswith(" rms") and known(meant.replace("@", "x")):
            for word, said in _RMS_OR_PEAK.items():
                own = f"{unit.removesuffix('rms')}{word}"
                yield SiteAnswer(f"{it} is {said}", "meanings", key, {"quantity": meant, "unit": own})
        elif known(meant) and unit:
            yield SiteAnswer(
                f"{_it_is(meant, it)} in {unit}", "meanings", key, {"quantity": meant, "unit": unit}
            )
        elif known(meant):
            yield SiteAnswer(_it_is(meant, it), "meanings", key, meant)
    if lines and not several and all(meant != NOTHING_OF_THE_KIND and not unit for _, meant, unit in lines):
        yield SiteAnswer("it is something else", "meanings", lines[0][0], NOTHING_OF_THE_KIND)


#: what an answer is good for besides: the sheet's figures are to the same end as the file's
_ALSO = {"runout.distance": ", or on to the tip"}


def _it_is(name: str, it: str = "it") -> str:
    return f"{it} is the {quantity(name).label}{_ALSO.get(name, '')}" if known(name) else f"{it} is {name}"


def _place(file: str, line: int) -> str:
    return f"{file}:{line}"
