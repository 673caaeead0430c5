"""More spellings than words.yaml has examples: what people write, and what only looks like it.

All of it is made up here; common practice, no source.
"""

from __future__ import annotations

import re

import pytest

from cfgmigrate.machine.matching import Fit, best_fits
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.spellings import is_cut_short, ways_of
from cfgmigrate.machine.words import readings_of_name

MEANT = {
    "axis.x.hold_current": ["[axis x] i_hld", "x_hld_cur"],
    "feeder.feed_per_turn": [
        "extruder mm per rotation",
        "feed per revolution e",
        "[filament drive] mm per rev",
        "drive gear, mm each turn",
        "[feeder] travel per turn",
        "e mm/rev",
        "[extruder] filament per rev",
        "[feeder] mm per shaft turn",
        "[drive gear] mm per turn",
        "[feeder] mm per motor turn",
        "[extruder] distance per revolution (mm)",
    ],
    "feeder.steps_per_mm": [
        "E steps/mm",
        "E motor, pulses per mm",
        "extruder steps",
        "[extruder] steps mm",
        "filament steps per mm",
        "pulses for each mm of filament",
        "E_STEPS_MM",
        "StepsPerMmE",
        "[pusher] resolution steps/mm",
        "[feeder] microsteps per mm",
    ],
    "feeder.gear_ratio": [
        "extruder gear ratio",
        "[feeder] reduction ratio",
        "[feeder] gearing",
        "e gear reduction",
        "[feeder] motor turns per gear turn",
    ],
    "feeder.full_steps": [
        "[feeder] whole steps a turn",
        "[feeder] motor step angle",
        "e steps/rev",
        "[e motor] whole steps per rev",
        "[feeder] step angle degrees",
        "motor steps per rev e",
    ],
    "feeder.microsteps": [
        "extruder microstepping",
        "E microsteps",
        "[extruder driver] microstep",
        "e_usteps",
        "microsteps extruder",
        "[feeder] microstep resolution",
    ],
    "feeder.direction": [
        "extruder direction",
        "invert extruder",
        "e motor reversed",
        "flip extruder direction",
        "[feeder] direction inverted",
        "reverse feeder",
        "[feeder] motor direction",
    ],
    "feeder.max_speed": [
        "extruder max speed",
        "max e feedrate",
        "e max velocity (mm/s)",
        "[feeder] maximum feed rate",
        "max feed speed",
        "[feeder] fastest feed",
    ],
    "feeder.max_acceleration": [
        "e max acceleration",
        "extruder accel max",
        "[feeder] acceleration limit",
    ],
    "feeder.max_feed_length": [
        "longest push",
        "longest filament run",
        "longest stretch of feed",
        "longest single feed",
        "[pusher] longest single run",
    ],
    "motor.run_current": [
        "extruder motor current (mA)",
        "extruder stepper current",
        "e motor amps",
        "[feeder] ma",
        "[extruder] amps",
        "e run current rms",
        "E current (mA RMS)",
        "pusher current (A RMS)",
        "[feeder] motor current peak",
        "extruder current amps",
        "[feeder motor] moving mA",
    ],
    "motor.hold_current": [
        "extruder hold current",
        "e idle current",
        "[feeder] standstill current ma",
        "[feeder motor] current while waiting",
    ],
    "motor.sense_resistor": [
        "e sense resistor ohms",
        "[feeder] r_sense",
        "[feeder driver] shunt resistance",
        "[driver e] sense ohm",
    ],
    "retraction.length": [
        "draw-back distance",
        "retraction (mm)",
        "retract mm",
        "retraction_mm",
        "drawing back, e length",
        "filament withdrawal length",
        "pullBackLength",
        "[slicing] pull back distance",
        "suck-back amount mm",
        "[print] length pulled back",
    ],
    "retraction.speed": [
        "retraction speed (mm/s)",
        "retract velocity",
        "withdrawal rate",
        "pulling back, speed mm/min",
        "[rewind] pace",
    ],
    "retraction.return_speed": [
        "return speed",
        "speed of pushing back",
        "refeed speed",
        "[pull back] return velocity",
        "speed of putting back",
        "[retraction] return rate",
        "un-retraction speed",
        "UN_RETRACT_2_SPEED",
        "[retraction] refeed mm/s",
    ],
    "retraction.extra_on_return": [
        "extra on return",
        "retraction: surplus on return",
        "extra when pushing back, mm",
        "[pull back] surplus at return",
        "extra at refeed mm",
        "un-retract: extra mm",
    ],
    "retraction.lift": [
        "hop of the nozzle",
        "z rise",
        "nozzle lift",
        "retraction: raise z",
        "hop while pulled back",
        "[retraction] raise by",
        "rise z when withdrawn",
        "hop height",
    ],
    "lag.coefficient": [
        "lag of the pressure, s",
        "flow lag, number",
        "lag constant",
        "number for the lag",
        "[feeder] ooze lag",
        "delay of the flow s",
        "flow delay",
        "lag time",
        "[feeder] latency of flow",
        "feed lag",
        "pressure lag",
        "factor for the lag",
    ],
    "lag.averaging": [
        "lag averaging",
        "lag averaging time s",
        "flow lag averaged over ms",
        "mean time of the lag",
    ],
    "axis.z.max": [
        "z ceiling",
        "z travel limit",
        "z upper limit",
        "z-axis max",
        "maximum z",
        "build height, greatest",
        "top of z mm",
        "soft ceiling z",
        "soft z end",
        "[z] stroke",
        "zmax",
        "z stroke, usable",
        "z top",
        "[z] max",
        "[z motor] top position",
        "build height",
        "highest print height",
        "[axis z] upper limit",
        "z max limit",
    ],
    "axis.x.min": [
        "x lowest place",
        "[x] min",
        "x lower limit",
        "min x position",
        "[gantry x] from",
        "x travel min",
    ],
    "axis.x.max_speed": [
        "x fastest",
        "max x velocity",
        "[axis x] speed limit",
    ],
    "axis.x.max_acceleration": [
        "x_max_accl",
        "[axis x] accl",
        "x max accel",
    ],
    "machine.max_speed": [
        "maximum velocity",
        "max travel speed",
        "[machine] fastest move",
        "[motion] top speed",
    ],
    "machine.max_acceleration": [
        "hardest acceleration",
        "[machine] hardest ramp",
        "maximum acceleration mm/s2",
    ],
    "resonance.x": [
        "swing of x in Hz",
        "x ringing Hz",
        "x resonance",
        "natural frequency x hz",
        "[ghosting] x Hz",
        "x ringing frequency",
        "[resonance] x freq",
    ],
    "probe.offset_x": [
        "probe offset x",
        "nozzle to feeler offset x",
        "[feeler] x away",
        "x probe offset",
        "[touch probe] from nozzle x offset",
    ],
    "probe.offset_z": [
        "feeler offset z",
        "[height sensor] z offset",
        "probe z offset",
    ],
    "mesh.from_x": [
        "height map x from",
        "grid from x",
        "bed survey x lowest",
        "probing area min x",
        "[bed survey] x from",
    ],
    "mesh.to_y": [
        "height map y to",
        "[grid] y to",
    ],
    "park.x": [
        "park position x",
        "park x",
        "[park] x",
        "x park position",
        "parking x",
    ],
    "filament.diameter": [
        "filament diameter (mm)",
        "[filament] dia",
        "material diameter",
        "filament size",
    ],
    "nozzle.diameter": [
        "nozzle bore",
        "nozzle size",
        "[hotend] nozzle diameter",
        "nozzle dia mm",
    ],
    "heater.hotend.max_temperature": [
        "hotend max temp",
        "extruder max temp",
        "nozzle temp max",
        "max hotend temperature",
        "[extruder] max temperature",
        "[hotend] temperature limit",
    ],
    "heater.bed.max_temperature": [
        "bed max temp",
        "[heated bed] max temp",
        "max bed temperature",
    ],
    "feeder.load_length": [
        "length to load",
        "filament, how far to push in",
        "[loading] far",
    ],
    "feeder.unload_length": [
        "length to take out",
        "filament, how far to pull out",
        "[unload] length",
    ],
    "end_stop.x": [
        "[x switch] position",
        "end switch x position",
        "[limit switch x] place",
    ],
    "power.supply_voltage": [
        "supply voltage",
        "psu voltage",
        "power supply volts",
    ],
}
NOT_MEANT = [
    "[fan] max speed",
    "[part fan] speed",
    "layer height",
    "max layer height",
    "[bed] max power",
    "first layer speed",
    "travel speed",
    "print speed",
    "fill-in lines, fastest speed",
    "z hop speed",
    "shortest jump with retraction",
    "pulls on one spot, at most",
    "pull back between layers",
    "wipe over mm",
    "coast for mm3",
    "[display] contrast max",
    "[servo] max angle",
    "[probe] speed",
    "[feeler] touches",
    "[home] pace of z",
    "home z at the top",
    "[end stop z] max",
    "max temp",
    "[heater] max",
    "[board] max rate",
    "max step rate",
    "[axis z] backlash",
    "x corner jump, greatest",
    "[serial] baud",
    "how many feeders",
    "second nozzle, x away",
    "tool 2 shift y",
    "[extruder] pin",
    "[feeder] step line",
    "filament end, mm to the sensor",
    "filament sensor line",
    "[filament] price per kg",
    "filament density",
    "filament flow percent",
    "flow rate",
    "flow percent of the wall",
    "bead width",
    "nozzle offset x",
    "how many nozzles",
    "nozzle temp",
    "bed size x",
    "[mesh] speed",
    "grid columns",
    "z step size",
    "z motors count",
    "quiet drive below speed",
    "shunt input line",
    "fan current",
    "heater current",
    "supply current max",
    "slowest move",
    "slowest jump",
    "acceleration",
    "travel acceleration",
    "ramp of the pull back",
    "ramp in the infill",
    "deceleration factor",
    "linear rail length",
    "advance warning",
    "smooth microsteps on",
    "screen rotation",
    "x position",
    "park speed",
    "load speed",
    "unload temperature",
    "blackout: z up",
    "time to idle",
    "[speeds] top",
    "[speeds] infill",
    "[speed] outer wall",
    "retraction wanted or not",
    "pull back permitted",
    "feeders fitted",
    "feeder block temperature",
    "grid forgotten above",
    "feeler pace z",
    "skirt, how far out",
    "brim, widest",
    "support gap z",
    "raft thickness",
    "fill up to z",
    "bridge, share of flow",
    "[fan] ratio",
    "share of overlap",
    "gear teeth",
    "[extruder] gear diameter",
    "belt pitch",
    "pulley teeth",
    "[belt] steps",
    "[menu] steps",
    "[script park] max speed",
    "tries to change filament, at most",
    "seconds until the hold current",
    "current time",
    "current file",
    "current position z",
    "last position z",
    "rotation angle of display",
    "speed",
    "length",
    "distance",
    "max",
    "min",
    "z",
    "current",
    "diameter",
    "e",
    "step",
    "direction",
    "[camera] rotation",
    "[log] max size",
    "[network] max length",
    "run",
    "[job] run time",
    "hold time",
    "z safe height",
    "clearance height",
    "xy offset",
    "[tool changer] max x",
    "probe z hop",
    "park lift z",
    "shake test, highest Hz",
    "shake test x, lowest Hz",
    "x ringing, how fast it dies",
    "extra length of skirt",
    "nozzle size of tip label",
    "layer at most so high",
    "filament mm3 a second at most",
    "melt mm3/s at most",
    "wipe before the pull",
    "purge tower width",
    "purge mm3",
    "purge line mm",
    "load cell sense",
    "sense line",
    "temperature sense resistor",
    "pressure sensor factor",
    "advance notice time",
    "lag of camera",
    "steps per degree",
    "mm per pixel",
    "mm per second",
    "lag made up for: on",
    "linear rail",
    "switch at the top of z, inverted",
    "feeder direction line",
    "z switch inverted",
    "x homes to which side",
]


def fitted(text: str) -> tuple[Fit, ...]:
    found = re.fullmatch(r"(?:\[(.*?)\] )?(.*)", text)
    assert found
    return best_fits(readings_of_name(found[1] or "", found[2]))[1]


@pytest.mark.parametrize(("name", "text"), [(name, text) for name, texts in MEANT.items() for text in texts])
def test_what_people_write_is_understood(name: str, text: str) -> None:
    (fit,) = fitted(text)
    assert fit.quantity == name
    assert not fit.strange


@pytest.mark.parametrize("text", NOT_MEANT)
def test_what_only_looks_like_it_is_not_read(text: str) -> None:
    """A fit in a section that is not understood is no reading."""
    assert all(quantity(fit.quantity).protected or fit.strange for fit in fitted(text))


@pytest.mark.parametrize(("short", "word"), [("accn", "acceleration"), ("retrn", "retraction")])
def test_a_word_in_ion_may_be_cut_to_its_beginning_and_its_end(short: str, word: str) -> None:
    assert (word,) in ways_of(short)


def test_a_slip_changes_two_neighbours_round_and_no_more() -> None:
    assert ways_of("reveres") == ways_of("reverse")
    assert ways_of("reserve") != ways_of("reverse")


@pytest.mark.parametrize(
    ("piece", "words"),
    [
        ("xmn", ("x", "min")),
        ("xmx", ("x", "max")),
        ("vmn", ("speed", "min")),
        ("vmax", ("speed", "max")),
        ("zmin", ("z", "min")),
        ("qmn", ("qmn",)),
        ("mnq", ("mnq",)),
    ],
)
def test_a_letter_and_a_bound_make_a_word(piece: str, words: tuple[str, ...]) -> None:
    assert ways_of(piece)[0] == words


@pytest.mark.parametrize(
    ("piece", "words"),
    [
        ("speeds", "speed"),
        ("loaded", "loaded"),
        ("stopping", "stop"),
        ("boxes", "boxes"),
        ("wings", "wings"),
        ("using", "using"),
        ("vmax", "speed max"),
        ("maxv", "speed max"),
        ("xmn", "x min"),
        ("ecur", "e current"),
        ("xv", "xv"),
        ("maxx", "max x"),
        ("accl", "accel"),
        ("accn", "acceleration"),
        ("retr", "retract"),
        ("retrct", "retrct"),
        ("spd", "speed"),
        ("spds", "speed"),
        ("retractoin", "retraction"),
        ("reveres", "reverse"),
        ("reserve", "reserve"),
        ("lenght", "length"),
        ("lngth", "length"),
        ("acceleratoin", "acceleration"),
        ("gridxmin", "grid x min"),
        ("maxspeed", "max speed"),
        ("winde", "winder"),
        ("motore", "motor e"),
        ("temps", "temp"),
        ("te", "te"),
        ("zum", "zum"),
        ("m", "m"),
        ("pulls", "pull"),
        ("red", "reduced | reducer"),
        ("tmp", "temp | tempo"),
        ("xvmax", "x speed max"),
        ("zamx", "z maximum acceleration"),
        ("padv", "pressure adv"),
        ("xlmin", "xlmin"),
        ("uvmax", "uvmax"),
    ],
)
def test_a_run_of_letters_is_a_word_its_plural_words_joined_or_short_for_one(piece: str, words: str) -> None:
    assert " | ".join(map(" ".join, ways_of(piece))) == words
    known_as_it_is = words == piece or piece in ("speeds", "temps", "pulls", "stopping")
    assert not (is_cut_short(piece) and known_as_it_is)


@pytest.mark.parametrize(
    ("piece", "cut"),
    [("lngth", True), ("tem", True), ("red", True), ("speeds", False), ("zum", False), ("maxspeed", False)],
)
def test_what_is_known_only_as_a_part_of_a_word_is_cut_short(piece: str, cut: bool) -> None:
    assert is_cut_short(piece) is cut


@pytest.mark.parametrize("piece", ["plan", "plans", "plane"])
def test_a_word_of_everyday_is_short_for_none_of_the_trade_s(piece: str) -> None:
    assert ways_of(piece) == ((piece,),)
    assert not is_cut_short(piece)


def test_three_consonants_of_a_plural_are_no_word_that_two_would_not_be() -> None:
    """`rts` at the end of a name is a speed as likely as several ratios."""
    assert ways_of("rts") == (("rts",),)
    assert ways_of("stps") == (("step",),)
    assert ways_of("spd") == (("speed",),)
