"""Word-address lines, written one by one and checked against the machine's limits while they are.

A `Pen` knows where the nozzle is and what was fed, so that nothing can be written that leaves the limits, moves
before it is known where the nozzle stands, or feeds more at once than the machine takes. Positions are absolute
(G90), feed is relative (M83) where E moves the filament, and absolute where another axis does; units are mm (G21) and
speeds mm/min, as in RS-274; M83, M104, M109, M140 and M190 are common practice of the trade, no source. A bead is taken as a rectangle of its width and height.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from msgspec import Struct, field

from cfgmigrate.files.heads import OWN_TEST
from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.scripts.feed_letter import USUAL
from cfgmigrate.trials.bench import Bench

CAUTIONS = (
    "Stay beside the machine, with a hand at the switch, from the first line to the last.",
    "The nozzle and the bed burn, and so does what comes out. Moving axes crush; gears draw in fingers, hair and sleeves.",
    "Read the lines before you run them. The maker's manual comes first. Nothing may lie on the bed.",
)
#: what begins or ends a comment must not stand in one
_NO_COMMENT = str.maketrans({";": ",", "(": "[", ")": "]"})
#: mm: where the nozzle heats up and primes, from the edge of x; the priming line and the wipe behind it
EDGE, PRIME, WIPE = 3.0, 46.0, 8.0
#: beads laid one upon the other in the priming line
THICK = 2.0
#: in a remark: how many stops there are, known only at the end
_ALL = "@stops@"
#: mm/s; slow enough to be stopped by hand
TRAVEL, RISE = 80.0, 5.0


class Segment(Struct, frozen=True):
    """One move: from, to, mm of filament fed (below 0: drawn back), mm/s, and the line it stands on."""

    start: tuple[float, float, float]
    end: tuple[float, float, float]
    feed: float
    speed: float
    line: int


class Written(Struct, frozen=True):
    """A script: its text, its moves, what a person has to know of it (name and value), how far x and y
    reach on this machine (mm: x from, x to, y from, y to), and what is to be done at each of its stops."""

    name: str
    text: str
    segments: tuple[Segment, ...]
    facts: tuple[tuple[str, str], ...]
    reach: tuple[float, float, float, float]
    stops: tuple[str, ...] = ()


class Trial(Struct, frozen=True):
    """One kind of script. `write` raises Refused where a limit it needs is not known."""

    name: str
    says: str
    measured: str
    write: Callable[[Bench], Written]


#: what the script takes for granted
_OF_HEAT = "M104, M109, M140 and M190"


class Pen(Struct):
    """Writes one script: its lines, its moves, and where the nozzle is (None before homing)."""

    bench: Bench
    title: str
    lines: list[str] = field(default_factory=list)
    segments: list[Segment] = field(default_factory=list)
    facts: list[tuple[str, str]] = field(default_factory=list)
    at: tuple[float, float, float] | None = None
    hot: tuple[float, float] = (0.0, 0.0)
    drawn: float = 0.0
    #: mm of filament since it was last counted anew
    fed: float = 0.0
    stops: list[str] = field(default_factory=list)

    def begin(self, *remarks: str) -> None:
        """The head of the script: what it is, its cautions, and how to read its result."""
        self.remark(f"{self.title}, for {self.bench.name or 'this machine'}", OWN_TEST, "")
        self.remark(*(f"CAUTION: {caution}" for caution in CAUTIONS), "")
        self.remark(*remarks, "")
        codes = f"M83, {_OF_HEAT} are" if self.bench.letter == USUAL else f"{_OF_HEAT} are"
        self.remark(f"{codes} not in any standard. Check that your machine understands them this way.", "")
        self._modes()

    def _modes(self) -> None:
        self.words("G21", "mm")
        self.words("G90", "positions are absolute")
        if self.bench.letter == USUAL:
            self.words("M83", "feed is relative")
        else:
            self.remark(
                f"{self.bench.letter} moves the filament, as in the machine's own scripts, and is absolute as well"
            )

    def remark(self, *texts: str) -> None:
        for text in texts:
            plain = "".join(letter if letter.isprintable() else " " for letter in text.translate(_NO_COMMENT))
            self.lines.append(f"; {plain}".rstrip())

    def words(self, words: str, remark: str = "") -> None:
        self.lines.append(f"{words} ; {remark}" if remark else words)

    def home(self, height: float) -> None:
        """Home, rise, and go to the middle; from here on it is known where the nozzle stands."""
        x0, x1, y0, y1 = self.bench.area()
        self.words("G28", "home all axes")
        wishes = self.bench.wishes
        if wishes.begin:
            self.remark("the machine's own lines, as they were given. They are not checked here.")
            self.lines += [line.rstrip() for line in wishes.begin]
            self.remark("end of the machine's own lines")
            self._modes()
        elif self.bench.get("mesh.to_x") is not None:
            self.remark(
                "a machine with a bed map needs its own line here to measure or load it: --begin FILE"
            )
            self.remark(*(f"    your start script has: {line}" for line in self.bench.mesh_lines()))
        if wishes.feeder_line:
            self.words(wishes.feeder_line, "take this feeder")
        self.at = (math.nan, math.nan, math.nan)
        self.go(z=height, speed=self.rise_speed)
        self.go((x0 + x1) / 2, (y0 + y1) / 2)

    def heat(self, nozzle: float, bed: float) -> None:
        """Bed first, then the nozzle, waiting for both."""
        self.hot = nozzle, bed
        if bed:
            self.words(f"M140 S{number(bed, 0)}")
        self._wait()
        self.words(f"G92 {self.bench.letter}0")
        self.fed = 0.0

    def _wait(self) -> None:
        nozzle, bed = self.hot
        if bed:
            self.words(f"M190 S{number(bed, 0)}", "wait for the bed")
        if nozzle:
            self.words(f"M109 S{number(nozzle, 0)}", "wait for the nozzle")

    def prime(self, bead: Bead, nozzle: float, bed: float) -> None:
        """Heat up off the test field, near the edge of x; lay a thick line there, halfway along y and towards its low
        end, and wipe the nozzle on it."""
        _, _, y0, y1 = self.bench.area()
        x, length = self.bench.need("axis.x.min") + EDGE, min(y1 - y0, PRIME)
        begin, end = (y0 + y1 + length) / 2, (y0 + y1 - length) / 2
        self.go(x, begin)
        self.heat(nozzle, bed)
        self.remark("a priming line, and a wipe on its end")
        self.go(z=bead.height, speed=self.rise_speed)
        speed = bead.speed(15.0, self.bench) / THICK
        self.go(x, end, speed, feed=THICK * bead.feed * length)
        self.go(x, min(begin, end + WIPE))
        self.go(z=min(bead.height + 3, self.bench.need("axis.z.max")), speed=self.rise_speed)

    def end(self) -> None:
        """Up and out of the way, the filament pushed back to where it was, and off with the heaters."""
        assert self.at is not None
        self.go(z=min(self.at[2] + 20, self.bench.need("axis.z.max")), speed=self.rise_speed)
        if self.drawn > 1e-6:
            self.remark("the filament goes back to where it was")
            self.feed(self.drawn, self.bench.get("retraction.return_speed") or RISE)
        self.words("M104 S0", "heaters off")
        self.words("M140 S0")
        self.remark("the end")

    @property
    def rise_speed(self) -> float:
        return self.bench.at_most(RISE, "axis.z.max_speed")

    @property
    def travel_speed(self) -> float:
        return self.bench.at_most(TRAVEL, "machine.max_speed", "axis.x.max_speed", "axis.y.max_speed")

    def stop(self, *remarks: str) -> None:
        """Say what to do, and wait until a person goes on; then wait for the temperatures, which a stop may lose."""
        self.stops.append(" ".join(remarks))
        self.remark(f"stop {len(self.stops)} of {_ALL}: {remarks[0]}", *remarks[1:])
        display = self.bench.wishes.display
        if display:
            self.words(display.replace("{text}", _shown(f"{len(self.stops)}: {remarks[0]}")))
        self.words(self.bench.wishes.pause, "go on when done")
        self._wait()

    def go(
        self,
        x: float | None = None,
        y: float | None = None,
        speed: float | None = None,
        *,
        z: float | None = None,
        feed: float = 0.0,
    ) -> None:
        """One straight move, with filament where `feed` (mm) is not 0. Raises Refused beyond a limit."""
        if self.at is None:
            raise ValueError("a move before homing")
        goal = tuple(
            old if new is None else round(new, 3) for old, new in zip(self.at, (x, y, z), strict=True)
        )
        for axis, value in zip("xyz", goal, strict=True):
            self._check(axis, value)
        speed = self.travel_speed if speed is None else speed
        words = ["G1" if feed else "G0"]
        words += [
            f"{letter}{number(value, 3)}"
            for letter, value, new in zip("XYZ", goal, (x, y, z), strict=True)
            if new is not None
        ]
        self.fed += feed
        told = feed if self.bench.letter == USUAL else self.fed
        words += [f"{self.bench.letter}{number(told, 5)}"] if feed else []
        words.append(f"F{number(60 * speed, 0)}")
        self.words(" ".join(words))
        self.segments.append(
            Segment(self.at, (goal[0], goal[1], goal[2]), round(feed, 5), speed, len(self.lines))
        )
        self.at = goal[0], goal[1], goal[2]

    def feed(self, length: float, speed: float) -> None:
        """Filament alone, below 0 back; in parts where the machine takes no longer move."""
        most = self.bench.get("feeder.max_feed_length")
        parts = math.ceil(abs(length) / most - 1e-9) if most else 1
        self.drawn -= length
        for _ in range(max(1, parts)):
            self.go(feed=length / max(1, parts), speed=self.bench.at_most(speed, "feeder.max_speed"))

    def _check(self, axis: str, value: float) -> None:
        if math.isnan(value):
            return
        low = self.bench.lowest_z() if axis == "z" else self.bench.need(f"axis.{axis}.min")
        high = self.bench.need(f"axis.{axis}.max")
        if not low <= value <= high:
            raise Refused(
                f"{axis} would go to {value:g} mm, and the files allow {low:g} mm to {high:g} mm",
                Place("trial"),
                "Nothing was written. Ask for less.",
            )

    def done(self, name: str) -> Written:
        x0, x1, y0, y1 = (self.bench.need(f"axis.{axis}.{end}") for axis in "xy" for end in ("min", "max"))
        text = ("\n".join(self.lines) + "\n").replace(_ALL, str(len(self.stops)))
        if self.stops:
            many = f"{len(self.stops)}; each has its number in the listing and on the page, with what to do"
            self.facts.append(("stops", many))
        reach = (x0, x1, y0, y1)
        return Written(name, text, tuple(self.segments), tuple(self.facts), reach, tuple(self.stops))


class Bead(Struct, frozen=True):
    """What is laid down: width and height in mm, and the filament for it."""

    width: float
    height: float
    filament: float

    @property
    def feed(self) -> float:
        """mm of filament for one mm of bead: the same volume."""
        return self.width * self.height / (math.pi * self.filament**2 / 4)

    def speed(self, wanted: float, bench: Bench) -> float:
        """mm/s of the nozzle, as much slower as the feeder and the axes ask for."""
        feeder = bench.get("feeder.max_speed")
        speed = bench.at_most(wanted, "machine.max_speed", "axis.x.max_speed", "axis.y.max_speed")
        return min(speed, feeder / self.feed) if feeder else speed


def bead_of(bench: Bench) -> Bead:
    """1.1 nozzles wide, half a nozzle high (common practice, no source)."""
    nozzle = bench.need("nozzle.diameter")
    return Bead(round(1.1 * nozzle, 3), round(0.5 * nozzle, 3), bench.need("filament.diameter"))


def draw(pen: Pen, bead: Bead, points: Sequence[tuple[float, float]], speed: float) -> None:
    """Lay a bead from where the nozzle is through these points."""
    for x, y in points:
        assert pen.at is not None
        length = math.hypot(x - pen.at[0], y - pen.at[1])
        if length > 1e-3:
            pen.go(x, y, speed, feed=bead.feed * length)


def _shown(text: str) -> str:
    """A text as a machine's display takes it: no comment signs."""
    return text.translate(_NO_COMMENT)


def number(value: float, places: int) -> str:
    """As RS-274 has numbers: digits, one point, no exponent, no needless zeros."""
    text = f"{value:.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def nice(value: float) -> float:
    """The next lower step that a person would choose: 1, 2 or 5 and a power of ten."""
    decade = 10.0 ** math.floor(math.log10(value) + 1e-9)
    return decade * max(size for size in (1, 2, 5) if size * decade <= value * (1 + 1e-9))
