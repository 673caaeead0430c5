"""What to look at next: what may be seen after the swap, ranked for one machine by its own numbers.

The table is `symptoms.yaml`; its syntax stands in its header and is checked here when it is loaded: every name
exists, every condition can be read, every part of the measured sheet is there, and everything seen leads to an
end. What is cheap and likely comes first: effort over likelihood, where a condition on the machine's numbers
can make a thing as likely as can be.

This module looks at no print and changes nothing.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Mapping
from pathlib import Path

from msgspec import Struct

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.positioned_yaml import Node, read_data
from cfgmigrate.rules import derivation, dimensions, library
from cfgmigrate.rules.formula import Condition, holds, names, nominal
from cfgmigrate.rules.rule import PLACEHOLDER, not_filled
from cfgmigrate.rules.rule_file import Fields, located
from cfgmigrate.rules.scope import Scope
from cfgmigrate.rules.vocabulary import RuleNames
from cfgmigrate.sheet.schema import measured_schema

TABLE = Path(__file__).parents[1] / "knowledge" / "symptoms.yaml"
#: the greatest effort and likelihood
MOST_EFFORT, MOST_LIKELY = 5, 3
_SYNTAX = "Mend the table; its syntax stands in its header."

#: what is set at the driver where no file has it
_CURRENT, _KNOWN_BY = "motor.current", ("was.motor.run_current", "new.motor.measured_current")
#: the part of a limit by which a value may lie below it and has reached it all the same
_AS_GOOD_AS = 1e-3
_OPTIONAL = pattern(r"\[([^\[\]]*)\]")

_SYMPTOM_FIELDS = {"seen": "text", "also": "list", "says": "text", "look": "list", "end": "text"}
_LOOK_FIELDS = {
    **dict.fromkeys(("at", "why", "check", "settles", "effort", "likely", "when", "surer"), "text"),
    **dict.fromkeys(("value", "up_to", "at_limit", "trial", "measured", "leads_to"), "text"),
    "cautions": "list",
}


#: the part of a symptom's words that must be among those said
NEAR_ENOUGH = 0.5
#: words that tell nothing of what is seen, as `_stems` leaves them
SMALL_WORDS = frozenset(
    [
        "a",
        "an",
        "and",
        "at",
        "but",
        "doe",
        "feed",
        "filament",
        "in",
        "is",
        "it",
        "lin",
        "my",
        "not",
        "of",
        "off",
        "on",
        "or",
        "print",
        "printer",
        "the",
        "ther",
        "to",
        "when",
        "with",
    ]
)


class Look(Struct, frozen=True):
    """One thing to look at, as the table has it; see the header of `symptoms.yaml`."""

    at: str
    why: str
    check: str
    settles: str
    effort: int
    likely: int
    place: Place
    when: Condition | None = None
    surer: Condition | None = None
    value: str = ""
    up_to: str = ""
    at_limit: str = ""
    trial: str = ""
    measured: str = ""
    leads_to: str = ""
    cautions: tuple[str, ...] = ()

    def uses(self) -> tuple[str, ...]:
        """Every name that it looks at."""
        found = [name for node in (self.when, self.surer) if node is not None for name in names(node)]
        found += [name for name in (self.value, self.up_to) if name]
        for text in self.texts:
            found += PLACEHOLDER.findall(text)
        return tuple(dict.fromkeys(found))

    @property
    def texts(self) -> tuple[str, ...]:
        """What people read of it; all of it is filled."""
        return (self.why, self.check, self.at_limit, self.settles, *self.cautions)


class Symptom(Struct, frozen=True):
    seen: str
    also: tuple[str, ...]
    says: str
    look: tuple[Look, ...]
    end: str


class Hint(Struct, frozen=True):
    """One thing to look at on one machine, its numbers put in; `value` and `up_to` are "" where not known."""

    at: str
    why: str
    check: str
    settles: str
    value: str
    up_to: str
    trial: str
    measured: str
    leads_to: str
    cautions: tuple[str, ...]
    likely: int
    effort: int
    #: whether the value is as far up as it may go
    full: bool = False
    #: whether the value is only what was worked out for a screw or a jumper: no file says what it is now
    unread: bool = False


class Guidance(Struct, frozen=True):
    """What to look at for one thing seen, in order, and what comes at the end."""

    seen: str
    says: str
    hints: tuple[Hint, ...]
    end: str


@compiled
def symptoms() -> tuple[Symptom, ...]:
    """The table. Raises BadInput with file and line where it breaks its own syntax."""
    root = read_data(TABLE)
    found = root.get("symptoms")
    table = tuple(_symptom(node) for node in (found.elements or () if found else ()))
    rules = {rule.name: (rule.unit, rule.label) for rule in library.tuning_book().rules}
    _check(table, library.tuning_vocabulary().with_rules(rules))
    return table


def symptom(text: str) -> Symptom:
    """The symptom that these words name. Raises BadInput with the nearest ones."""
    known = {words.casefold(): one for one in symptoms() for words in (one.seen, *one.also)}
    wanted = " ".join(text.replace("-", " ").replace("_", " ").casefold().split())
    if wanted in known:
        return known[wanted]
    by_words = _by_words(wanted, known)
    if by_words is not None:
        return by_words
    near = difflib.get_close_matches(wanted, known, n=3, cutoff=0.5)
    meant = f"Did you mean {' or '.join(near)}? " if near else ""
    listed = ", ".join(one.seen for one in symptoms())
    raise BadInput(f"nothing is known of {text!r}", Place("--seen"), f"{meant}There are: {listed}.")


def _by_words(wanted: str, known: Mapping[str, Symptom]) -> Symptom | None:
    """The one symptom of which most words were said, whatever their order and endings: "it clicks when printing fast";
    of two the one with more words. None where too few were said, or two symptoms share as many."""
    said = _stems(wanted)
    shares: dict[str, tuple[float, int]] = {}
    for label, one in known.items():
        words = _stems(label)
        share = len(said & words) / max(1, len(words)), len(said & words)
        shares[one.seen] = max(shares.get(one.seen, (0.0, 0)), share)
    best = sorted(shares, key=lambda seen: shares[seen], reverse=True)[:2]
    if shares[best[0]][0] < NEAR_ENOUGH or shares[best[0]] == shares[best[1]]:
        return None
    return known[best[0].casefold()]


def _stems(text: str) -> frozenset[str]:
    """The words of a text without endings and small words."""
    words = (re.sub(r"(?<=...)(ings?|ers?|ed|es|s|e)$", "", word) for word in re.findall(r"[a-z]+", text))
    stems = (re.sub(r"(.)\1$", r"\1", word) for word in words)  # skipped, skips
    return frozenset(word for word in stems if word not in SMALL_WORDS)


def guidance(one: Symptom, scope: Scope) -> Guidance:
    """What to look at on this machine, best first: the least effort for the greatest likelihood."""
    hints = [_hint(look, scope) for look in one.look if _applies(look.when, look, scope, otherwise=True)]
    hints.sort(key=lambda hint: (hint.effort / hint.likely, hint.effort))
    return Guidance(one.seen, one.says, tuple(hints), one.end)


def _hint(look: Look, scope: Scope) -> Hint:
    surer = _applies(look.surer, look, scope, otherwise=False)
    full = bool(look.at_limit) and _is_full(look, scope)
    return Hint(
        at=look.at,
        why=_told(look.why, scope),
        check=_told(look.at_limit if full else look.check, scope),
        settles="" if full else _told(look.settles, scope),
        value=_shown(look.value, scope),
        up_to=_shown(look.up_to, scope),
        trial="" if full else look.trial,
        measured="" if full else look.measured,
        leads_to=look.leads_to,
        cautions=tuple(_told(caution, scope) for caution in look.cautions),
        likely=MOST_LIKELY + 1 if surer else look.likely,
        effort=look.effort,
        full=full,
        unread=look.value == _CURRENT and not any(map(scope.given, _KNOWN_BY)),
    )


def _is_full(look: Look, scope: Scope) -> bool:
    """Whether the value in question is as far up as it may go: the next step would be beyond."""
    value, most = (scope.bases(look.uses()).get(name) for name in (look.value, look.up_to))
    return value is not None and most is not None and nominal(value) >= nominal(most) * (1 - _AS_GOOD_AS)


def _told(text: str, scope: Scope) -> str:
    """A text with this machine's values, without the stretches in [ ] that hold one that is not known."""

    def stretch(found: re.Match[str]) -> str:
        known = all(scope.given(name) is not None for name in PLACEHOLDER.findall(found[1]))
        return found[1] if known else ""

    return " ".join(derivation.fill(_OPTIONAL.sub(stretch, text), scope).split())


def _applies(condition: Condition | None, look: Look, scope: Scope, otherwise: bool) -> bool:
    if condition is None:
        return otherwise
    return holds(condition, scope.bases(look.uses()), scope.words(look.uses()))


def _shown(name: str, scope: Scope) -> str:
    given = scope.given(name) if name else None
    return derivation.quantity_text(given) if given is not None else ""


def _symptom(node: Node) -> Symptom:
    reader = Fields(node, _SYMPTOM_FIELDS, _SYNTAX)
    return Symptom(
        reader.needed("seen"),
        reader.texts("also"),
        reader.needed("says"),
        tuple(_look(item) for item in reader.items("look")),
        reader.needed("end"),
    )


def _look(node: Node) -> Look:
    reader = Fields(node, _LOOK_FIELDS, _SYNTAX)

    def whole(name: str, most: int) -> int:
        text = reader.needed(name)
        if not text.isdecimal() or len(text) > 9 or not 1 <= int(text) <= most:
            raise reader.error(f"{name} is a whole number from 1 to {most}", name)
        return int(text)

    return Look(
        at=reader.needed("at"),
        why=reader.needed("why"),
        check=reader.needed("check"),
        settles=reader.needed("settles"),
        effort=whole("effort", MOST_EFFORT),
        likely=whole("likely", MOST_LIKELY),
        place=node.place,
        when=reader.condition("when"),
        surer=reader.condition("surer"),
        value=reader.text("value"),
        up_to=reader.text("up_to"),
        at_limit=reader.text("at_limit"),
        trial=reader.text("trial"),
        measured=reader.text("measured"),
        leads_to=reader.text("leads_to"),
        cautions=reader.texts("cautions"),
    )


def _check(table: tuple[Symptom, ...], vocabulary: RuleNames) -> None:
    known = {one.seen for one in table}
    parts = {path.split(".")[1] for path in measured_schema().fields if path.startswith("measured.")}
    for one, look in [(of, look) for of in table for look in of.look]:
        for what in _faults(one, look, known, parts, vocabulary):
            raise BadInput(what, look.place, _SYNTAX)


def _faults(
    one: Symptom, look: Look, known: set[str], parts: set[str], vocabulary: RuleNames
) -> Iterator[str]:
    for name in look.uses():
        if not vocabulary.has(name):
            yield f"nothing is called {name!r}; the nearest name is {vocabulary.nearest(name)!r}"
    units = {name: vocabulary.unit(name) for name in look.uses()}
    for condition in (look.when, look.surer):
        if condition is not None:
            with located(look.place):
                dimensions.check_condition(condition, units)
    guarded = set(names(look.when)) if look.when is not None else set()
    for text in look.texts:
        if not_filled(text):
            yield f"a brace around no name in {text!r}"
        for name in PLACEHOLDER.findall(_OPTIONAL.sub("", text)):
            if not name.startswith("const.") and name not in guarded:
                yield f"{name} may not be known here, so it has to stand in [ ]"
    if look.measured and look.measured not in parts:
        yield f"the measured sheet has no part {look.measured!r}"
    if look.leads_to and (look.leads_to not in known or look.leads_to == one.seen):
        yield f"{look.leads_to!r} is nothing else that may be seen"
    if look.up_to and not look.value:
        yield "up_to without a value"
    if look.at_limit and not look.up_to:
        yield "at_limit without up_to"
