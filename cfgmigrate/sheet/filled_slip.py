"""A filled slip read back: the lines that somebody wrote a figure behind, whatever else a mail has put around them.

A line counts where it begins with the name of a field and a colon, as the slip has them (`new.motor.winding_resistance:
2.1 ohm`), behind quotation marks of a mail or not; what is left empty is left out. An answer is understood as at the
bench, so a bare number has the unit that the slip prints behind it.

Nothing is written here.
"""

from __future__ import annotations

from collections.abc import Iterator

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.quantity_text import NotAQuantity
from cfgmigrate.sheet.answers import Understood, understood
from cfgmigrate.sheet.fields import Wrong
from cfgmigrate.sheet.reader import one_error
from cfgmigrate.sheet.schema import sheet_schema

_LINE = pattern(r"[\s>|*•-]*(?P<path>(?:old|new)\.[a-z_.]+)\s*:(?P<answer>.*)")
_BLANK = pattern(r"[_.…]{2,}")


def filled_slip(text: str, name: str) -> dict[str, Understood]:
    """What a filled slip says, by field; `name` is the file's in errors. Raises BadInput with each line that can't be
    right, and where no line has an answer."""
    found: dict[str, Understood] = {}
    wrong: list[Wrong] = []
    for number, path, answer in _answers(text):
        place = Place(name, number)
        field = sheet_schema().fields.get(path)
        if field is None:
            wrong.append(
                Wrong(place, f"there is no field {path}", "Leave the names as the slip prints them.")
            )
        elif path in found:
            wrong.append(Wrong(place, f"{path} is answered twice", "Leave one of the two lines."))
        else:
            try:
                found[path] = understood(field, answer)
            except NotAQuantity as error:
                wrong.append(Wrong(place, f"{path}: {error.what}", error.remedy))
    if wrong:
        raise one_error(wrong)
    if not found:
        raise BadInput(
            "no line of the slip has an answer", Place(name), "Write the figures in place of the underlines."
        )
    return found


def _answers(text: str) -> Iterator[tuple[int, str, str]]:
    """The lines with an answer: their number, the field, and what stands there without the blank of the slip."""
    for number, line in enumerate(text.splitlines(), 1):
        match = _LINE.fullmatch(line.rstrip())
        if match is None:
            continue
        unit = sheet_schema().fields[match["path"]].unit if match["path"] in sheet_schema().fields else ""
        answer = " ".join(_BLANK.sub(" ", match["answer"]).split())
        while unit and answer.endswith(f"{unit} {unit}"):
            answer = answer.removesuffix(unit).rstrip()
        if answer and answer != unit:
            yield number, match["path"], answer
