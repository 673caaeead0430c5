"""Drawings of what to measure and where: lines of our own, in the page's colours, with their text beside them.

Ochre is what is measured, ink the things, faint what is only around. Each is told in words too, for those who hear it.
This module knows fields by the ends of their paths, and no value.
"""

from __future__ import annotations

from html import escape

from msgspec import Struct

_ARROWS = "M{a} {y}H{b}M{a} {y}l7 -4M{a} {y}l7 4M{b} {y}l-7 -4M{b} {y}l-7 4"


class Drawing(Struct, frozen=True):
    """`says` is the drawing in words, `parts` what is drawn on a sheet of 320 by 140."""

    says: str
    parts: tuple[str, ...]


def _ink(path: str) -> str:
    return f'<path class="stroke-ink" d="{path}"/>'


def _faint(path: str) -> str:
    return f'<path class="stroke-soft" d="{path}"/>'


def _measured(path: str) -> str:
    return f'<path class="stroke-ochre" d="{path}"/>'


def _ring(x: float, y: float, radius: float, kind: str = "ink") -> str:
    return f'<circle class="stroke-{kind}" cx="{x:g}" cy="{y:g}" r="{radius:g}"/>'


def _text(x: float, y: float, text: str, anchor: str = "middle") -> str:
    return f'<text x="{x:g}" y="{y:g}" text-anchor="{anchor}">{escape(text)}</text>'


def _across(a: float, b: float, y: float) -> str:
    return _measured(_ARROWS.format(a=a, b=b, y=y))


def _upright(x: float, a: float, b: float) -> str:
    return _measured(f"M{x} {a}V{b}M{x} {a}l-4 7M{x} {a}l4 7M{x} {b}l-4 -7M{x} {b}l4 -7")


_DRIVE_TO_NOZZLE = (
    _ring(60, 60, 20),
    _ring(60, 60, 3),
    _ink("M82 55H200M82 65H200"),
    _ink("M200 45H236V78H228L218 88L208 78H200Z"),
    _text(60, 28, "drive gear"),
    _text(218, 36, "hot end"),
)

_BESIDE = (
    _faint("M90 20H130V60H116L110 70L104 60H90Z"),
    _ink("M150 20H190V60H176L170 70L164 60H150Z"),
    _faint("M110 70V110M170 70V110"),
    _across(110, 170, 100),
    _text(110, 126, "before"),
    _text(170, 126, "now"),
)

_BY_END: dict[str, Drawing] = {
    "drive_gear.effective_diameter": Drawing(
        "The drive gear from its side. What counts is the diameter where the filament is gripped, a little less than over "
        "the points of the teeth.",
        (
            _ring(110, 72, 50, "soft"),
            _ring(110, 72, 42),
            _ring(110, 72, 8),
            _ink("M153 12V132M162 12V132"),
            _across(68, 152, 72),
            _text(240, 62, "this diameter:"),
            _text(240, 80, "at the filament,"),
            _text(240, 98, "not over the teeth"),
        ),
    ),
    "drive_gear.gear_ratio": Drawing(
        "A small gear on the motor drives a big one on the drive gear's shaft. Count the teeth of both: big to small.",
        (
            _ring(90, 72, 20),
            _ring(90, 72, 4),
            _ring(158, 72, 47),
            _ring(158, 72, 12),
            _text(90, 44, "motor"),
            _text(158, 18, "drive gear's shaft"),
            _text(265, 60, "count the teeth,"),
            _text(265, 78, "big to small:"),
            _text(265, 96, "47:12"),
        ),
    ),
    "drive_gear.external_meshes": Drawing(
        "Two gears that touch outside to outside are one mesh, and turn opposite ways.",
        (_ring(110, 72, 30), _ring(175, 72, 35), _measured("M141 40V104"), _text(250, 76, "one mesh")),
    ),
    "tube.length": Drawing(
        "The tube from the drive gear to the hot end, measured along it.",
        (*_DRIVE_TO_NOZZLE, _across(82, 200, 108), _text(140, 130, "this length, along the tube")),
    ),
    "path_length": Drawing(
        "The whole filament path from the drive gear to the nozzle's tip.",
        (
            *_DRIVE_TO_NOZZLE,
            _faint("M60 66V118M218 88V118"),
            _across(60, 218, 108),
            _text(140, 130, "drive gear to tip"),
        ),
    ),
    "tube.bore": Drawing(
        "The tube seen from its end; the inner diameter counts.",
        (
            _ring(110, 70, 50),
            _ring(110, 70, 26),
            _across(85, 135, 70),
            _text(245, 66, "the inner one:"),
            _text(245, 84, "a drill's shank"),
            _text(245, 102, "that just goes in"),
        ),
    ),
    "tube.bend": Drawing(
        "A tube with two bends of a quarter circle each. Together they are 180 degrees, whichever way they go.",
        (
            _ink("M30 30H90A30 30 0 0 1 120 60V70A30 30 0 0 0 150 100H210"),
            _measured("M96 24A36 36 0 0 1 126 54M114 76A36 36 0 0 0 144 106"),
            _text(128, 34, "90 deg", "start"),
            _text(104, 116, "90 deg", "end"),
            _text(260, 60, "together"),
            _text(260, 78, "180 deg"),
        ),
    ),
    "clearance.highest_z": Drawing(
        "The carriage raised until a feeler gauge just passes below the frame; the height of the nozzle's tip above the "
        "bed counts.",
        (
            _faint("M40 12H200M40 20H200"),
            _ink("M90 26H150V56H126L120 66L114 56H90Z"),
            _ink("M30 126H220"),
            _upright(120, 68, 126),
            _text(230, 20, "frame", "start"),
            _text(230, 46, "carriage", "start"),
            _text(132, 100, "this height", "start"),
            _text(230, 130, "bed", "start"),
        ),
    ),
    "carriage.nozzle_shift.z": Drawing(
        "The nozzle's tip before and now, from the side. What counts is how much higher it is; a lower one has a minus.",
        (
            _faint("M60 14H100V50H86L80 60L74 50H60Z"),
            _ink("M150 14H190V84H176L170 94L164 84H150Z"),
            _faint("M80 60H250M170 94H250"),
            _upright(236, 60, 94),
            _text(80, 84, "before"),
            _text(170, 116, "now"),
            _text(258, 74, "this:", "start"),
            _text(258, 90, "lower, −", "start"),
        ),
    ),
    "nozzle_shift.x": Drawing(
        "The nozzle's tip before and now, from the front. What counts is how far it moved towards higher x; the other way it "
        "has a minus.",
        (*_BESIDE, _text(255, 52, "higher x: +"), _measured("M225 62H285M285 62l-7 -4M285 62l-7 4")),
    ),
    "nozzle_shift.y": Drawing(
        "The nozzle's tip before and now, from the side. What counts is how far it moved towards higher y; the other way it "
        "has a minus.",
        (*_BESIDE, _text(255, 52, "higher y: +"), _measured("M225 62H285M285 62l-7 -4M285 62l-7 4")),
    ),
    "mounting_side": Drawing(
        "Drives seen from the motor. Before, the filament ran past the gear on its left. On the same side it still does; "
        "mirrored, it runs past on the right.",
        (
            _ring(65, 64, 24, "soft"),
            _faint("M38 14V112"),
            _ring(165, 64, 24),
            _measured("M138 14V112"),
            _ring(265, 64, 24),
            _measured("M292 14V112"),
            _text(60, 132, "before"),
            _text(160, 132, "same"),
            _text(265, 132, "mirrored"),
        ),
    ),
}


def drawing_of(path: str) -> str:
    """The drawing that goes with a field, as an `<svg>` element; "" where there is none."""
    found = next((drawing for end, drawing in _BY_END.items() if path.endswith(end)), None)
    if found is None:
        return ""
    label = escape(found.says, quote=True)
    return f'<svg class="drawing" viewBox="0 0 320 140" role="img" aria-label="{label}">{"".join(found.parts)}</svg>'
