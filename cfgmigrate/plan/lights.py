"""The lights: for each thing that can wreck a machine, whether it is taken care of. None stays old in silence.

A light is `set` where every value that belongs to it is written or stands already, `by hand` where what to set is
told to a person, `unaffected` where the sheet says outright that it is as before, and `unknown` in every other
case. So a field that is missing never makes a light better. Nor does a value that the program worked out by taking
something as it was only because nobody said otherwise: a result counts where the sheet says all that it asks for
(`settle` in `knowledge/lights.yaml`), and not before.

What is asked is a `Case`, one holder with what the sheet says of it and what became of its values; where that
comes from is not known here. Nothing is computed here, and what a person does about a light is decided elsewhere.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.knowledge.lights import LightKind, Lights, Wanted, light_kinds
from cfgmigrate.machine.quantities import PROTECTED, quantity
from cfgmigrate.plan.as_before import denied, told_otherwise
from cfgmigrate.plan.at_console import TO_STORE
from cfgmigrate.plan.model import BY_PROFILES, LINES_LEFT, Light
from cfgmigrate.plan.moves_not_understood import NOBODY_EXPLAINED
from cfgmigrate.plan.turned_by_formulas import THE_OTHER_WAY
from cfgmigrate.rules.carry_open import NOT_CARRIED
from cfgmigrate.rules.cross_checks import HELD_BACK_FOR
from cfgmigrate.rules.texts_of_rules import AGE_OPEN
from cfgmigrate.sheet.model import Entries

_SAY_WHAT_IT_IS = "say in the site file what it is (survey --write-site has the line), or accept this by name and set it at the machine"
_SAY_WHAT_IT_SETS = (
    "give this machine a line of its own for it there, or change it by hand, and accept this by name"
)
_SAY_HOW_OLD = "if that is still the old drive's, say values: old in the sheet"
_SAY_WHAT_MOVES = (
    "say in the site file, under moves, what these words mean (survey --write-site has the lines); or look through "
    "these lines, change by hand what is old, and accept this by name"
)
_WRITE_THE_NUMBER = "write the number that is right in place of that formula by hand, or accept this by name"
SET, BY_HAND, UNAFFECTED, UNKNOWN = "set", "by hand", "unaffected", "unknown"
#: from the worst to the best; the worst value is the light's
STATES = (UNKNOWN, BY_HAND, SET, UNAFFECTED)


class Stand(Struct, frozen=True):
    """What became of one value. `text` and `where` are as the files have it ("" both where none does).

    `done` is true where it is written or right already, `change` the id of the change that writes it. `why` says
    what became of it, or why nothing did."""

    done: bool
    why: str
    change: str = ""
    text: str = ""
    where: str = ""
    #: whether a person said what its line is, and it is set by hand alone
    hand: bool = False
    #: what a person stores at the board's console, which wins over the files
    console: str = ""
    #: the text with its unit, where it is a number by itself
    measured: str = ""

    @property
    def shown(self) -> str:
        return self.measured or self.text


class Case(Struct, frozen=True):
    """One holder whose lights are asked for.

    `of` says which kinds of light it has (`feeder`, `machine`); one without any has those of the values that stand in it,
    as a profile does. `stands` has the values of the lights by quantity, those that a file sets or that
    were worked out; `hand` the by-hand items that are told, by their rule, as id and text. `elsewhere` are values that
    each profile sets for itself, so that this holder need not; `suspects` are settings that were not understood and may
    be such a value; `kept` are numbers among the saved values that may be it, and would win over the file.
    A holder that the sheet says nothing of is not `told`. `gap` says what is not there that may set any value which the
    files don't have, "" where all of them are whole. A profile `rests_on` the holders that it runs with.
    """

    holder: str
    said: Entries
    stands: Mapping[str, Stand]
    of: tuple[str, ...] = ()
    hand: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    elsewhere: Collection[str] = ()
    told: bool = True
    suspects: Mapping[str, str] = field(default_factory=dict)
    open: Mapping[str, str] = field(default_factory=dict)
    kept: Mapping[str, str] = field(default_factory=dict)
    gap: str = ""
    #: which files in force were not understood at all: what they set may win over what is set here
    silent: str = ""
    rests_on: tuple[str, ...] = ()
    #: lines that nobody understood of files that are read after those with the values, by the quantity that they may override
    over: Mapping[str, str] = field(default_factory=dict)
    #: lines that may be a value of which another line is read, by its quantity
    beside: Mapping[str, str] = field(default_factory=dict)
    #: lines of scripts that move what a light is about and that nobody explained, by its quantity
    moves: Mapping[str, str] = field(default_factory=dict)
    #: words of codes that nobody explained, and which may set what each profile sets for itself, by its quantity
    strange: Mapping[str, str] = field(default_factory=dict)
    #: what of the profiles' own is not known to be dealt with, by the quantity that each of them sets for itself
    left_old: Mapping[str, str] = field(default_factory=dict)
    #: lines that are only named in a list and are to be measured anew, by the quantity that they seem to be
    named: Mapping[str, str] = field(default_factory=dict)


class _LightState(Struct, frozen=True):
    state: str
    why: str
    missing: tuple[str, ...] = ()
    rests_on: tuple[str, ...] = ()


def lights(cases: Iterable[Case], known: Lights | None = None) -> tuple[Light, ...]:
    """Every light of every holder, light by light in the order of `lights.yaml`."""
    known = known or light_kinds()
    holders = tuple(cases)
    found: dict[tuple[str, str], Light] = {}
    for kind in known.kinds:
        for case in holders:
            if _concerns(kind, case):
                below = [found[kind.name, name] for name in case.rests_on if (kind.name, name) in found]
                found[kind.name, case.holder] = _with_below(_light(kind, case, known), kind, case, below)
    return tuple(found.values())


def _with_below(light: Light, kind: LightKind, case: Case, below: Sequence[Light]) -> Light:
    """A profile's light, which is no better than those that it rests on where none of its own values says it all: what
    it feeds by its full steps alone rests on the feeder's turn."""
    if any(value.always and value.quantity in case.stands for value in kind.values):
        return light
    worse = [each for each in below if STATES.index(each.state) < STATES.index(light.state)]
    if not worse:
        return light
    worst = min(worse, key=lambda each: STATES.index(each.state))
    why = f"it rests on that of {worst.holder}: {worst.why}"
    return replace(light, state=worst.state, why=why, missing=worst.missing, rests_on=worst.rests_on)


def _concerns(kind: LightKind, case: Case) -> bool:
    if case.of:
        return kind.of in case.of
    return any(
        value.quantity in case.stands or (value.always and value.quantity in case.open)
        for value in kind.values
    )


def _light(kind: LightKind, case: Case, known: Lights) -> Light:
    if not case.told:
        return Light(
            kind.name, case.holder, UNAFFECTED, "the sheet tells of other feeders and not of this one"
        )
    there = [value for value in kind.values if value.quantity in case.stands]
    found = [_of_value(value, kind, case, known) for value in there if case.stands[value.quantity].text]
    found += _of_none(kind, case, known, there)
    found += [
        _of_value(value, kind, case, known)
        for value in kind.values
        if value not in there and not value.always and value.quantity in case.suspects
    ]
    found += _of_open(kind, case)
    found += _of_moves(kind, case, found)
    found += _of_named(kind, case)
    found += _of_protected(kind, case)
    worst = min((each.state for each in found), key=STATES.index, default=UNAFFECTED)
    telling = [each for each in found if each.state == worst]
    return Light(
        light=kind.name,
        holder=case.holder,
        state=worst,
        why="; ".join(dict.fromkeys(each.why for each in telling)) or BY_PROFILES,
        missing=tuple(dict.fromkeys(line for each in telling for line in each.missing)),
        rests_on=() if worst == UNKNOWN else _joined(each.rests_on for each in found),
    )


def _of_none(kind: LightKind, case: Case, known: Lights, there: Sequence[Wanted]) -> list[_LightState]:
    """What is to be said where no file has any of the values of which one must be set."""
    always = [value for value in kind.values if value.always]
    in_files = [value for value in there if value.always and case.stands[value.quantity].text]
    elsewhere = not case.gap and any(value.quantity in case.elsewhere for value in always)
    if not case.of or in_files:
        return []
    if elsewhere:
        return [*_of_strange(always, case), *_of_beside(always, case), *_of_left_old(always, case)]
    found = [_of_value(value, kind, case, known) for value in always]
    return [max(found, key=lambda each: (STATES.index(each.state), -len(each.missing)))]


def _of_moves(kind: LightKind, case: Case, found: Sequence[_LightState]) -> list[_LightState]:
    """What is to be said of a light that would be set or told by hand, where lines of scripts do what it is about and
    nobody explained them."""
    worst = min((each.state for each in found), key=STATES.index, default=SET)
    if not case.of or worst not in (SET, BY_HAND):
        return []
    what = "; ".join(dict.fromkeys(each.why for each in found if each.state == worst)) or BY_PROFILES
    return [
        _LightState(
            UNKNOWN, f"{what}, but {case.moves[value.quantity]}", _what_settles(case.moves[value.quantity])
        )
        for value in kind.values
        if value.quantity in case.moves
    ]


def _what_settles(moves: str) -> tuple[str, ...]:
    turned = (_WRITE_THE_NUMBER,) if THE_OTHER_WAY in moves else ()
    return (*turned, *(() if turned and NOBODY_EXPLAINED not in moves else (_SAY_WHAT_MOVES,)))


def _of_named(kind: LightKind, case: Case) -> Iterator[_LightState]:
    """What is to be said of lines that a step only names among others: they stay, and are a person's matter."""
    for value in kind.values:
        if case.of and value.quantity in case.named:
            item = case.hand.get(LINES_LEFT)
            yield _LightState(BY_HAND, case.named[value.quantity], rests_on=(item[0],) if item else ())


def _of_protected(kind: LightKind, case: Case) -> Iterator[_LightState]:
    """What is to be said of something that is never written and that a step has set by hand, whether a file has it or not."""
    for rule in kind.rules:
        if case.of and rule.startswith(PROTECTED) and rule in case.hand:
            item, text = case.hand[rule]
            yield _LightState(BY_HAND, text, rests_on=(item,))


def _of_strange(always: Iterable[Wanted], case: Case) -> Iterator[_LightState]:
    """Each profile sets the value for itself; but a line of the machine's, whose code nobody explained, may set it too."""
    for value in _not_as_before(always, case):
        if value.quantity in case.strange:
            label = quantity(value.quantity).label
            why = f"each profile sets the {label} for itself, but nothing says what {case.strange[value.quantity]} is, which may be one too"
            yield _LightState(UNKNOWN, why, (_SAY_WHAT_IT_IS,))


def _of_beside(always: Iterable[Wanted], case: Case) -> Iterator[_LightState]:
    """The same of a line that is not understood and by its words may be one too. A number that is near is not enough here,
    where nothing is missing."""
    for value in _not_as_before(always, case):
        if value.quantity in case.beside:
            label = quantity(value.quantity).label
            why = f"each profile sets the {label} for itself, but {case.beside[value.quantity]} may be one too and is not understood"
            yield _LightState(UNKNOWN, why, (_SAY_WHAT_IT_IS,))


def _of_left_old(always: Iterable[Wanted], case: Case) -> Iterator[_LightState]:
    """The same of a profile that is not known to set it: what it prints with stays as it is."""
    for value in _not_as_before(always, case):
        if value.quantity in case.left_old:
            why = f"profiles set the {quantity(value.quantity).label} for themselves, but {case.left_old[value.quantity]}"
            yield _LightState(UNKNOWN, why, (_SAY_WHAT_IT_SETS,))


def _not_as_before(always: Iterable[Wanted], case: Case) -> Iterator[Wanted]:
    """What each profile sets for itself, and the sheet does not say that it stays."""
    for value in always:
        if value.quantity in case.elsewhere and not any(_same(names, case.said) for names in value.same):
            yield value


def _of_open(kind: LightKind, case: Case) -> list[_LightState]:
    """What is to be said of values that are questions themselves, where the sheet doesn't say that they stay."""
    return [
        _LightState(UNKNOWN, f"{quantity(value.quantity).label} is a question: {case.open[value.quantity]}")
        for value in kind.values
        if (value.always or value.questioned)
        and value.quantity in case.open
        and not any(_same(names, case.said) for names in value.same)
        and not any(name in case.said and case.said[name].word == word for name, word in value.unless)
    ]


def _of_value(value: Wanted, kind: LightKind, case: Case, known: Lights) -> _LightState:
    stand = case.stands.get(value.quantity, Stand(False, ""))
    if stopped := next((rule for rule in kind.stops if rule in case.hand), ""):
        lacking = (name for name in kind.stops[stopped] if name not in case.said and known.asks_for(name))
        return _LightState(UNKNOWN, case.hand[stopped][1], tuple(_question(name, known) for name in lacking))
    if stand.why.startswith(NOT_CARRIED):
        return _LightState(
            UNKNOWN, f"{quantity(value.quantity).label} stays {stand.shown} ({stand.where}), {stand.why}"
        )
    for name, word in value.unless:
        if name in case.said and case.said[name].word == word:
            return _LightState(UNAFFECTED, f"the sheet says {name}: {word}")
    full = any(_said(names, case.said) for names in value.settle)
    if stand.console:
        if not full:
            return _LightState(
                UNKNOWN, f"{stand.console}, at the board's console", _missing(value, case.said, known)
            )
        if value.quantity in case.beside:
            what = f"{stand.console}, at the board's console, but {case.beside[value.quantity]} may be one too and is not understood"
            return _LightState(UNKNOWN, what, (_SAY_WHAT_IT_IS,))
        return _LightState(BY_HAND, f"at the board's console: {stand.console}", rests_on=(TO_STORE,))
    if full and stand.done and value.quantity in case.kept:
        what = (
            f"{stand.why}, but {case.kept[value.quantity]} may be what the board keeps of it, and that wins"
        )
        return _LightState(UNKNOWN, what, (_SAY_WHAT_IT_IS,))
    if full and stand.done and value.quantity in case.over:
        what = f"{stand.why}, but {case.over[value.quantity]} may be it once more, and that wins in spite of this"
        return _LightState(UNKNOWN, what, (_SAY_WHAT_IT_IS,))
    if full and stand.done and case.silent:
        return _LightState(UNKNOWN, f"{stand.why}, but {case.silent}, and it may set it too")
    if full and stand.done and value.quantity in case.beside:
        what = f"{stand.why}, but {case.beside[value.quantity]} may be one too and is not understood"
        return _LightState(UNKNOWN, what, (_SAY_WHAT_IT_IS,))
    if full and stand.done:
        return _LightState(SET, stand.why, rests_on=(stand.change,) if stand.change else ())
    if full and stand.hand:
        return _LightState(
            BY_HAND, f"{quantity(value.quantity).label} is {stand.shown} ({stand.where}): {stand.why}"
        )
    protected = quantity(value.quantity).protected  # never written, so what a file has is for hands too
    rules = [rule for rule in kind.rules if rule.startswith("protected.") or not protected]
    hand = [case.hand[rule] for rule in rules if rule in case.hand]
    lower = any((case.said[name].value or 0.0) < 0 for name in value.below if name in case.said)
    same = (
        None
        if lower or stand.why.startswith(HELD_BACK_FOR) or told_otherwise(value.against, case.said)
        else next((names for names in value.same if _same(names, case.said)), None)
    )
    if not stand.text and same is None and value.quantity in case.suspects:
        what = f"{case.suspects[value.quantity]} may be the {quantity(value.quantity).label} and is not understood"
        return _LightState(UNKNOWN, what, (_SAY_WHAT_IT_IS,))
    if not stand.text and case.gap and same is None:
        return _LightState(
            UNKNOWN, f"no line that I understand sets the {quantity(value.quantity).label}, and {case.gap}"
        )
    if full and hand and (protected or not stand.text):
        (item, text), *_ = hand
        return _LightState(BY_HAND, text, rests_on=(item,))
    if same is not None:
        if stand.change:
            return _LightState(SET, stand.why, rests_on=(stand.change,))
        told = ", ".join(f"{name}: {case.said[name].text}" for name in same)
        return _LightState(UNAFFECTED, f"the sheet says {told}")
    for rule in (rule for rule in kind.instead if full and rule in case.hand):
        item, text = case.hand[rule]
        return _LightState(BY_HAND, text, rests_on=(item,))
    label = quantity(value.quantity).label
    kept = (
        f"{label} stays {stand.shown} ({stand.where})"
        if stand.text
        else f"no line that I understand sets the {label}"
    )
    if stand.change and not full:
        kept = f"{stand.why} by what is said so far, which settles it only in part"
    reason = f", and {stand.why}" if full and stand.why else ""
    if stand.why.startswith(AGE_OPEN):
        reason = f"; {_SAY_HOW_OLD}: {stand.why.removeprefix(AGE_OPEN)}"
    asked = () if full and stand.text else _missing(value, case.said, known)
    return _LightState(UNKNOWN, kept + reason, asked)


def _said(names: Iterable[str], said: Entries) -> bool:
    return all(name in said and said[name].word != "no" for name in names)


def is_as_before(value: Wanted, said: Entries) -> bool:
    """Whether the sheet says outright that the old value stays, or that it does not matter."""
    if any(name in said and said[name].word == word for name, word in value.unless):
        return True
    return any(_same(names, said) for names in value.same) and not told_otherwise(value.against, said)


def _same(names: Iterable[str], said: Entries) -> bool:
    """Whether the sheet says of all of them that they are as before, and none of its figures denies it."""
    return all(
        name in said and not denied(name, said) and (said[name].word == "yes" or said[name].value == 0)
        for name in names
    )


def _missing(value: Wanted, said: Entries, known: Lights) -> tuple[str, ...]:
    """What to ask for: the fields of the list that lacks least, and, where nothing of it is said yet, whether it
    is as before. Where a list is said in full and led to no value, it is one that goes on from it."""

    def lacking(names: Sequence[str]) -> list[str]:
        return [name for name in names if not _said((name,), said)]

    full = [set(names) for names in value.settle if not lacking(names)]
    lists = [
        names for names in value.settle if lacking(names) and all(set(names) > each for each in full[:1])
    ]
    if not lists:
        return ()
    nearest = min(
        lists, key=lambda names: (len(lacking(names)), len(names) == len(lacking(names)), -len(names))
    )
    asked = [_question(name, known) for name in lacking(nearest)]
    if len(lacking(nearest)) < len(nearest):  # what is begun may be finished in another way, too
        ways = (lacking(names) for names in lists)
        others = dict.fromkeys(way[0] for way in ways if len(way) == 1 and way[0] not in lacking(nearest))
        asked[-1] = "; or ".join((asked[-1], *(_question(name, known) for name in others)))
    if len(lacking(nearest)) == len(nearest):
        for names in value.same[:1]:
            asked += [f"or say {name}: yes, if that is so" for name in lacking(names)]
    return tuple(asked)


def _question(name: str, known: Lights) -> str:
    ask = known.ask(name)
    usual = f"{ask.usual}; " if ask.usual else ""
    return f"tell me {ask.what} ({name}: {usual}{ask.where})"


def _joined(ids: Iterable[Sequence[str]]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(each for several in ids for each in several))
