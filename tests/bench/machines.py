"""Configurations of any size for the measurements, made from the demo's own machine and from nothing else.

`configuration` gives a whole machine of so many lines in four files; `text_of` gives one long text in a
dialect. What is added to reach the length is of the kind that real files are full of: further fans and
sensors, remarks, commented-out values, routines. Every number is made up.
"""

from __future__ import annotations

from itertools import count
from pathlib import Path

SAMPLES = Path(__file__).parents[2] / "sample_configs"
SHEETS = SAMPLES / "sheets"

_SECTION = """
[fan {n}]
# beside the cabinet, {n} of many
line = {n}
power = {percent} %
starts above = {degrees}          # degrees C
slowest = 18 %
;slowest = 20 %                   ; could be heard at night
"""
_ROUTINE = """
[script air {n}]
lines =
    G90
    M106 P{n} S{percent}         ; a little air
    G4 S2
    M106 P{n} S0
"""
_FLAT = """
# fan {n}, beside the cabinet
fan.{n}.line = {n}
fan.{n}.power = {percent} %
fan.{n}.starts_above = {degrees}   # degrees C
"""
_HEADER = """
/* fan {n}, beside the cabinet */
#define FAN_{n}_LINE {n}
#define FAN_{n}_POWER {percent} // percent
#if FAN_{n}_POWER > 50
#define FAN_{n}_ABOVE {degrees}
#endif
"""
_COMMAND = """
; fan {n}, beside the cabinet
M106 P{n} S{percent}
G4 S2
M106 P{n} S0 ; off again
"""
_NESTED = """
  // fan {n}, beside the cabinet
  "fan {n}": {{
    "line": {n},
    "power": "{percent} %",
    "starts above": {degrees},
  }},
"""
PARTS = {"sectioned": _SECTION, "flat": _FLAT, "header": _HEADER, "command": _COMMAND, "nested": _NESTED}
#: what stands before and behind the parts
ROUND = {"sectioned": ("[machine]\nname = Wren\n", ""), "nested": ("{\n", "}\n")}


def padded(text: str, part: str, lines: int) -> str:
    """`text` with as many `part`s behind it as its length needs, cut to `lines` lines at most."""
    made = [text if text.endswith("\n") or not text else text + "\n"]
    have = text.count("\n")
    for n in count(1):
        if have >= lines:
            return "".join(made)
        made.append(part.format(n=n, percent=20 + n % 80, degrees=30 + n % 40))
        have += part.count("\n")
    raise AssertionError("count never ends")


def text_of(dialect: str, lines: int) -> str:
    """One text in a dialect, of so many lines or a few more."""
    before, behind = ROUND.get(dialect, ("", ""))
    return padded(before, PARTS[dialect], lines) + behind


def configuration(lines: int) -> dict[str, str]:
    """Wren in four sectioned files with so many lines altogether, or a few more, by their names."""
    wren = {path.name: path.read_text(encoding="utf-8") for path in sorted((SAMPLES / "wren").iterdir())}
    files = {
        "feed.conf": wren["feed.conf"] + wren["heat.conf"],
        "frame.conf": wren["frame.conf"],
        "routines.conf": wren["routines.conf"],
        "slicing.conf": wren["slicing.conf"],
    }
    each = max(0, lines - sum(text.count("\n") for text in files.values())) // len(files)
    return {
        name: padded(text, _ROUTINE if name == "routines.conf" else _SECTION, text.count("\n") + each)
        for name, text in files.items()
    }


def write_configuration(folder: Path, lines: int) -> Path:
    """The same as files in a folder, which is made."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in configuration(lines).items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder
