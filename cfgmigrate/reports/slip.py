"""A slip to print or send: what takes a multimeter, for someone who has one, with room for each figure.

It stands by itself: the cautions, how to measure each, and how the figures come back. What is known already is left out.
"""

from __future__ import annotations

from collections.abc import Iterable

from cfgmigrate.reports.screen import wrapped
from cfgmigrate.reports.wording import capital
from cfgmigrate.sheet.schema import sheet_schema

SLIP_WIDTH = 78
_CAUTIONS = (
    "Before each: switch the printer off, pull the plug, let it cool down. Never plug or unplug a motor under power. "
    "An ohmmeter goes only on what is unplugged. Where a line says that it takes power, follow the board's maker, and "
    "leave it out if in doubt. The maker's data sheets and the local electrical rules come first; mains wiring is for "
    "licensed people."
)


def slip(machine: str, said: Iterable[str] = (), config: str = "") -> str:
    """The slip's text. `said` are the fields that are answered already, `config` is how the files are named in a
    command. Every figure is asked with its field's name, so that the lines can be sent back as they are."""
    known = set(said)
    asked = [each for each in sheet_schema().fields.values() if each.meter and each.path not in known]
    lines = [f"For someone with a multimeter: {machine or 'a printer'}", ""]
    lines += wrapped("Measure what you can, and leave the rest empty.", SLIP_WIDTH)
    lines += wrapped(_CAUTIONS, SLIP_WIDTH)
    for number, field in enumerate(asked, 1):
        lines += ["", *wrapped(f"{capital(field.label)}. {field.says}", SLIP_WIDTH, f"{number}. ")]
        lines += wrapped(field.measure, SLIP_WIDTH, "   How: ", "   ")
        lines += ["", f"   {field.path}: ______________ {field.unit}"]
    if not asked:
        lines += ["", "Nothing is left to measure with a multimeter."]
    lines += ["", "Measured by, and when: ____________________________________", ""]
    lines += wrapped(
        "Write the figures in place of the underlines and send the text back. This puts them into the swap sheet:",
        SLIP_WIDTH,
    )
    lines.append(f"  cfgmigrate sheet {config or 'CONFIG'} --filled SLIP")
    return "\n".join(lines) + "\n"
