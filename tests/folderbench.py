"""Folders as people keep them, made from a seed, each with the truth about its files.

A live machine (one file, several, or a root that takes in others; in three dialects), kept copies under usual names
or under names that no list has, a second machine, profiles, a board's dump, a log, a picture and notes.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from pathlib import Path

from cfgmigrate.files.configuration import Configuration, open_configuration
from cfgmigrate.files.roles import FileSet, Role

#: how people call a copy of NAME.EXT; all have a mark with a direction
USUAL = (
    "{name}_old.{ext}", "{name}-old.{ext}", "{name}.{ext}.bak", "{name}.{ext}.old", "{name}.bak.{ext}",
    "{name} (copy).{ext}", "copy of {name}.{ext}", "{name} - Copy.{ext}", "{name}_backup.{ext}", "{name}.{ext}~",
    "{name}-2024-03-09.{ext}", "{name}_20240309.{ext}", "{name}.{ext}.2024-03-09", "{name}.{ext}.orig",
    "{name}_before.{ext}", "old/{name}.{ext}", "backup/{name}.{ext}", "archive 2023/{name}.{ext}",
    "{name} before service.{ext}", "{name}.{ext}.save", "prev_{name}.{ext}",
)  # fmt: skip
#: names that say nothing, or only that there are several
UNUSUAL = (
    "works dont touch.{ext}", "tuesday.{ext}", "{name}_v2.{ext}", "{name} (1).{ext}", "{name}_new.{ext}",
    "{name}-test.{ext}", "{name}2.{ext}", "zz.{ext}", "the good one.{ext}",
)  # fmt: skip
MATERIALS = ("pla", "petg", "abs", "tpu")
ASKED = "asked"


@dataclass
class Folder:
    """Files with their contents, and for each its role, or ASKED where nobody can tell it."""

    files: dict[str, str] = field(default_factory=dict)
    truth: dict[str, str] = field(default_factory=dict)
    several: bool = False

    def put(self, path: str, text: str, truth: str) -> None:
        self.files[path], self.truth[path] = text, str(truth)

    def lay(self, place: Path) -> Path:
        for path, text in self.files.items():
            (place / path).parent.mkdir(parents=True, exist_ok=True)
            (place / path).write_text(text, encoding="utf-8")
        return place


def folder(seed: int, usual: bool = True) -> Folder:
    """A folder for a seed; `usual`: one machine, copies by usual names alone."""
    draw = random.Random(seed)
    made = Folder()
    dialect = draw.choice(("sectioned", "flat", "header"))
    live = _machine(draw, dialect, "wren", draw.choice(("one", "several", "root")))
    for path, text in live.items():
        made.put(path, text, Role.IN_FORCE)
    _add_copies(made, draw, live, USUAL, draw.randint(0, 5), Role.COPY)
    _add_company(made, draw, dialect)
    if not usual:
        # only what the machine's root is alone can't be told from it
        roots = {path: text for path, text in live.items() if "parts/" not in path}
        _add_copies(made, draw, roots, UNUSUAL, draw.randint(0, 3), ASKED)
        if draw.random() < 0.4:
            made.several = True
            for path, text in _machine(draw, dialect, "dunlin", "root" if "root" in live else "one").items():
                made.put(f"dunlin/{path}", text, ASKED)
    return made


def _machine(draw: random.Random, dialect: str, name: str, shape: str) -> dict[str, str]:
    """The files of a machine. The numbers are its own."""
    ext = {"sectioned": "conf", "flat": "txt", "header": "h"}[dialect]
    number = draw.randint
    axes = [
        (axis, quantity, str(number(40, 900)))
        for axis in "xyz"
        for quantity in ("steps_per_mm", "max_speed", "hardest", "highest_spot", "run_current")
    ]
    feed = [
        ("feeder", q, str(number(1, 900))) for q in ("steps_per_mm", "max_speed", "run_current", "gear_teeth")
    ]
    feed += [("retraction", q, str(number(1, 9))) for q in ("length", "speed", "lift")]
    heat = [("heater", q, str(number(100, 300))) for q in ("max_temp", "pin", "sensor", "gain", "window")]
    groups = {"axes": axes, "feed": feed, "heat": heat}
    if shape == "one":
        return {f"{name}.{ext}": _text(dialect, [*axes, *feed, *heat])}
    if shape == "several" and dialect != "header":
        return {f"{group}.{ext}": _text(dialect, rows) for group, rows in groups.items()}
    found = {f"parts/{group}.{ext}": _text(dialect, rows) for group, rows in groups.items()}
    line = {"sectioned": "include = {}", "flat": "include {}", "header": '#include "{}"'}[dialect]
    root = "".join(line.format(path) + "\n" for path in found)
    own = [("board", q, str(number(1, 99))) for q in ("slots", "fans", "lamps", "buzzer", "screen", "doors")]
    return {f"{name}.{ext}": root + _text(dialect, own), **found}


def _text(dialect: str, rows: list[tuple[str, str, str]]) -> str:
    if dialect == "flat":
        return "".join(f"{section}.{key} = {value}\n" for section, key, value in rows)
    if dialect == "header":
        return "".join(f"#define {section.upper()}_{key.upper()} {value}\n" for section, key, value in rows)
    lines: list[str] = []
    above = ""
    for section, key, value in rows:
        if section != above:
            lines.append(f"[{'axis ' if section in 'xyz' else ''}{section}]")
        lines.append(f"{key}: {value}")
        above = section
    return "\n".join(lines) + "\n"


def _older(draw: random.Random, text: str, most: int) -> str:
    """A text as it was before: a few lines had another value, and one was not there yet."""
    lines = text.splitlines()
    own = [at for at, line in enumerate(lines) if line[-1:].isdigit()]
    for at in draw.sample(own, min(len(own), draw.randint(0, most))):
        lines[at] += "1"
    return "\n".join(lines) + "\n"


def _add_copies(
    made: Folder, draw: random.Random, live: dict[str, str], names: tuple[str, ...], count: int, truth: str
) -> None:
    for _ in range(count):
        path = draw.choice(sorted(live))
        place, _, file = path.rpartition("/")
        name, _, ext = file.rpartition(".")
        copy = draw.choice(names).format(name=name, ext=ext)
        copy = f"{place}/{copy}" if place else copy
        if copy not in made.files:
            most = max(1, len(live[path].splitlines()) // 5)
            made.put(copy, _older(draw, live[path], most), truth)


def _add_company(made: Folder, draw: random.Random, dialect: str) -> None:
    """Profiles, a dump, a log, a picture and notes."""
    if draw.random() < 0.5:
        for material in draw.sample(MATERIALS, draw.randint(1, 4)):
            text = f"filament name = {material}\nnozzle temperature = {draw.randint(190, 260)}\nretraction = 4.{draw.randint(1, 9)}\n"
            made.put(f"{draw.choice(('reels/', ''))}{material}.prof", text, Role.PROFILE)
    if dialect != "command" and draw.random() < 0.4:
        made.put(
            "board.nc", f"M92 X84 Y86 Z410 E{draw.randint(80, 800)}\nM203 X200 Y200 Z10 E50\n", Role.SAVED
        )
    if draw.random() < 0.4:
        made.put("session.log", "M92 X84 Y86 Z410 E96\nM203 X200 Y200 Z10 E50\n", Role.NONE)
    if draw.random() < 0.4:
        made.put("frame.jpg", "\0\1\2 no text", Role.NONE)
    if draw.random() < 0.5:
        made.put(
            "notes.txt", "The rods want grease, and the belt was new in March. Ask for spares!\n", Role.NONE
        )


# --- single folders ----------------------------------------------------------------------------------------------

STEPPERS = "[axis x]\nsteps_per_mm: 84\n[axis y]\nsteps_per_mm: 84\n[feeder]\nsteps_per_mm: 96\nmax_speed: 40\nhardest: 900\n"
#: a machine without a letter of an axis
KILN = (
    "[whole machine]\nname = Kiln\ndrift = 4\n[across]\nway = 36\nfar = 210\n[along]\nway = 36\nfar = 190\n"
    "[lift]\nway = 6\nfar = 170\n"
)
PUSHER = "[pusher]\nsteps = 400\nway = 31.9\ncoil = 0.8\n[pull back]\nlength = 5.2\nspeed = 45\n"
#: a frame without its feeder
RAILS = "".join(
    f"[axis {axis}]\nsteps_per_mm: 84\nhighest spot: {high}\ncurrent: 0.7\nmax_speed: 40\n"
    for axis, high in (("x", 235), ("y", 236), ("z", 190))
)
#: a machine in blocks with heads of their own
MAIN = "".join(
    f"== {part} ==\npulses_mm = {steps}\nfine = 16\ntop_spd = {fastest}\n"
    for part, steps, fastest in (("left-right", 80, 220), ("fil push", 95, 70), ("arm", 60, 90))
)


def lay(place: Path, files: dict[str, str]) -> Path:
    """Writes files into a folder, which it gives back."""
    for path, text in files.items():
        (place / path).parent.mkdir(parents=True, exist_ok=True)
        (place / path).write_text(text)
    return place


def laid(place: Path, files: dict[str, str]) -> Configuration:
    return open_configuration([lay(place, files)])


def roles(configuration: Configuration) -> dict[str, str]:
    return {path: str(found.role) for path, found in configuration.roles.items()}


def asked(files: FileSet) -> set[str]:
    """The files that some question is about."""
    return {path for question in files.questions for option in question.options for path in option.files}
