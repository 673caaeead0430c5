"""Small sketches in plain text for what is hard to say in words: where to hold the calipers, what a length runs from.

Letters, lines and points only, so that they come through every terminal and are no loss where they are read aloud.
"""

from __future__ import annotations

_TUBE = (
    "drive gear          hot end",
    "   (O)===============[]",
    "    |<--- length --->|",
)
_SKETCHES: dict[str, tuple[str, ...]] = {
    "drive_gear.effective_diameter": (
        "  /\\/\\/\\     outer edge of the teeth",
        "  ------     <- here: where the filament is gripped,",
        "   (  )         a little below the outer edge",
    ),
    "tube.length": _TUBE,
    "path_length": (
        "drive gear          hot end  nozzle",
        "   (O)===============[]------>",
        "    |<----- path length ----->|",
    ),
    "drive_gear.gear_ratio": (
        "motor (11 teeth) --> big gear (56 teeth) on the drive gear's shaft",
        "driven to driving: 56:11",
    ),
    "clearance.highest_z": (
        "  frame, spool holder",
        "  ===================   <- feeler gauge just passes",
        "     [ carriage ]",
        "          V nozzle's tip",
        "          |  <- this height",
        "  ------------------- bed",
    ),
}


def sketch_of(path: str) -> tuple[str, ...]:
    """The sketch that goes with a field, () where there is none."""
    return next((lines for end, lines in _SKETCHES.items() if path.endswith(end)), ())
