"""A measured sheet that is filled answer by answer; all else in it stays as it stands.

An answer is read as the swap sheet's are (`answers.py`); several measurements of one thing are a list. The file is
replaced in one step, and only where it is still the one that was read.
"""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import Any

from cfgmigrate.ground.disk import write_through
from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.ground.one_at_a_time import one_at_a_time
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.quantity_text import NotAQuantity
from cfgmigrate.sheet.answers import understood
from cfgmigrate.sheet.in_place import in_place, says
from cfgmigrate.sheet.model import Sheet
from cfgmigrate.sheet.reader import parse_sheet
from cfgmigrate.sheet.schema import Field, measured_schema
from cfgmigrate.sheet.several import NO_NAMES, Known

#: signs of a list of measurements
LONGEST_LIST = 1000
_NUMBER_WITH_UNIT = pattern(r"[+-]?(?:\d+[.,]?\d*|[.,]\d+)\s*[^\d\s,;\[\]]*")


def put_measured(path: Path, before: bytes, field: Field, said: str, known: Known = NO_NAMES) -> Sheet:
    """The measured sheet at `path`, which read `before`, with one more answer; "" takes the answer away.

    Raises NotAQuantity where the answer says nothing of the field, BadInput where the sheet would be wrong with it,
    Refused where the file was changed since it was read; then nothing was written."""
    from ruamel.yaml import YAML

    yaml: Any = YAML(typ="rt", pure=True)
    yaml.preserve_quotes = True
    yaml.width = 10_000
    source = before.decode("utf-8-sig")
    data = yaml.load(source) or yaml.map()
    *groups, name = field.path.split(".")
    inner = data
    for group in groups:
        if not isinstance(inner.get(group), dict):
            inner[group] = yaml.map()
        inner = inner[group]
    text: str | None = source
    if said.strip():
        inner[name] = _value(yaml, field, said)
        text = in_place(yaml, source, (*groups, name), inner[name])
    gone = (*measured_schema().former_names(field.path), *(() if said.strip() else (name,)))
    for each in gone:
        if inner.pop(each, None) is not None and text is not None:
            text = in_place(yaml, text, (*groups, each), None)
    if text is None or not says(yaml, text, data):
        out = io.StringIO()
        yaml.dump(data, out)
        text = out.getvalue()
    new = text.encode()
    found = parse_sheet(new, str(path), measured_schema(), known)
    with one_at_a_time(path.resolve().parent):
        if path.read_bytes() != before:
            raise Refused(
                "the measured sheet was changed since it was read", Place(str(path)), "Do it again."
            )
        try:
            write_through(path, new)
        except OSError as error:
            raise Refused(
                f"the measured sheet can't be written: {error.strerror or error}", Place(str(path))
            ) from error
    return found


def _value(yaml: Any, field: Field, said: str) -> Any:
    if field.kind != "repeats":
        return understood(field, said).text
    if len(said) > LONGEST_LIST:
        raise NotAQuantity("these are too many measurements", "Write some ten of them.")
    numbers = _NUMBER_WITH_UNIT.findall(said)
    if not numbers or re.sub(r"[\s,;\[\]]", "", _NUMBER_WITH_UNIT.sub("", said)):
        raise NotAQuantity(
            "these are not measurements", f"Write them one after the other, such as {field.example}."
        )
    for each in numbers:
        _refuse_two_in_one(each.strip())
    texts = [each.replace(",", ".").strip() for each in numbers]
    several = yaml.seq([text if re.search(r"[^\d.+-]", text) else f"{text} {field.unit}" for text in texts])
    several.fa.set_flow_style()
    return several


def _refuse_two_in_one(number: str) -> None:
    """A comma between whole numbers of one length, or before three digits, may stand between two measurements, or between
    thousands. Raises NotAQuantity there."""
    if found := re.match(r"[+-]?(\d+),(\d+)", number):
        whole, part = found.groups()
        if len(part) == 3 or len(part) == len(whole) > 1:
            both = f"{whole}.{part}, or {whole} {part} for two"
            raise NotAQuantity(f"{whole},{part} may be one measurement or two", f"Write {both}.")
