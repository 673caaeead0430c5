"""A setting that may be taught, and how it is shown: what points at it, and the lines of the site file that a person only takes the `#`
away from. What may be taught is decided in `teach.py`.
"""

from __future__ import annotations

from msgspec import Struct

from cfgmigrate.machine.behind_sensor import LEFT_BEHIND
from cfgmigrate.machine.model import Unread
from cfgmigrate.machine.occasions import speaks_of_occasion
from cfgmigrate.machine.quantities import quantity

PATH, RETRACTION = "the old path", "the old retraction"
#: what a line is whose name says a retraction and how fast
RETRACTION_SPEED = "retraction.speed"
MEANT_BY_LENGTH = {RETRACTION: ("retraction.length",)}


class Teachable(Struct, frozen=True):
    """A setting to teach: the name as a meaning has it (with `@` for several axes), its number, its remark, the
    ids that it may be, the likeliest first, and all settings that the line would teach."""

    pattern: str
    value: float
    text: str
    remark: str
    candidates: tuple[str, ...]
    settings: tuple[Unread, ...]
    near: str = ""
    #: the quantity that can wreck something of which its name says every word, and one or two more
    says: str = ""
    #: a word of a code is taught under `codes`
    code: str = ""
    #: the quantity that it may be since no line was read for that one, or only `beside`
    perhaps: str = ""
    beside: str = ""
    #: who tells that it is so, and the unit that goes with `perhaps`
    told: str = ""
    unit: str = ""

    @property
    def close_to(self) -> str:
        """What it is near by its number, else by its words, for people; "" for nothing."""
        meant = self.says or self.perhaps
        if meant == "retraction.length" and self.candidates[:1] == (RETRACTION_SPEED,):
            meant = RETRACTION_SPEED
        return self.near or (f"the {quantity(meant).label}" if meant else "")

    @property
    def hint(self) -> str:
        """What points at it, in two or three words: `near the old path`, `may be the Z maximum`; "" for nothing."""
        if self.perhaps:
            return f"may be {self.close_to}"
        return f"near {self.close_to}" if self.close_to else ""

    @property
    def under(self) -> str:
        """The section of the site file in which it is taught."""
        return "codes" if self.code else "meanings"

    @property
    def asked(self) -> bool:
        """Whether a person is asked about it at once: what is near a length that matters, may be a value for which no line was
        read, or may be what is left behind the filament's sensor."""
        return bool(self.near or self.perhaps) or self.says == LEFT_BEHIND

    @property
    def why(self) -> str:
        """What points at it, for people."""
        if self.told and self.beside:
            return f"{self.told}: it {self.hint}, beside {self.beside}, in {self.unit}"
        if self.beside and self.perhaps == "lag.coefficient":
            return f"it {self.hint} as well, beside {self.beside}"
        if self.beside:
            kind = "a height" if self.perhaps == "axis.z.max" else "an end of travel"
            return f"its name and number are those of {kind} as {self.close_to} is ({self.beside})"
        if self.told:
            return f"{self.told}: it {self.hint}, for which no line was understood{f'; its number is in {self.unit}' if self.unit else ''}"
        if self.perhaps:
            return f"it {self.hint}, for which no line was understood"
        return f"its number is near {self.near}" if self.near else f"its name says {self.close_to} and more"

    @property
    def meaning(self) -> str:
        """The entry of `meanings`, or of `codes` for a word of a code, that settles it."""
        usual = () if self.at_an_occasion else MEANT_BY_LENGTH.get(self.near, ())
        return self._entry((self.candidates or usual or ("QUANTITY",))[0])

    def _entry(self, meant: str) -> str:
        if self.code:
            return f"{self.code}: {{quantity: {meant}}}"
        if self.unit and meant == self.perhaps:
            meant = f"{{quantity: {meant}, unit: {self.unit}}}"
        pattern = self.pattern.replace("\\", "\\\\").replace('"', '\\"')
        return f'"{pattern}": {meant}'

    @property
    def by_screw(self) -> str:
        """What a line in volts, or one with the sign of its side, asks for in place of a quantity; "" for any other."""
        if self.candidates != ("ignore",):
            return ""
        if self.says.startswith("probe.offset_"):
            return (
                "its number says how far the probe sits to a side whose offset is below zero, so no meaning here has its sign: change it "
                f"by hand, the other way round from the {quantity(self.says).label}, and say in cfgmigrate.yaml, under meanings: {self.meaning}"
            )
        return f"it is in volts, so a screw sets it: change it by hand once that is set, and say in cfgmigrate.yaml, under meanings: {self.meaning}"

    @property
    def at_an_occasion(self) -> bool:
        """Whether its words speak of a pause, a change and the like: whatever is near it, it is no retraction of the print."""
        return any(speaks_of_occasion(each) for each in self.settings)

    def lines(self) -> tuple[str, ...]:
        """The lines of the site file, taken out of force, one for each candidate: a person takes the `#` away."""
        near = f"; {self.hint}" if self.hint else ""
        said = f"; {self.remark}" if self.remark else ""
        others = (f"# {self._entry(each)}" for each in self.candidates[1:])
        return (f"# {self.meaning}    # {self.text}{near}{said}", *others)
