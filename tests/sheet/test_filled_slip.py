"""A slip that somebody filled is read back as it stands, mail marks and all, and a bad line is named."""

from __future__ import annotations

import pytest

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.reports.slip import slip
from cfgmigrate.sheet.filled_slip import filled_slip
from cfgmigrate.sheet.schema import sheet_schema

FIELD = "new.motor.winding_resistance"
METERED = [field for field in sheet_schema().fields.values() if field.meter]


def filled(figure: str, mark: str = "") -> str:
    lines = (f"{mark}{line}" for line in slip("Wren").splitlines())
    return "\n".join(
        line.replace("______________", figure) if f" {FIELD}:" in line else line for line in lines
    )


@pytest.mark.parametrize("mark", ["", "> ", ">> "])
@pytest.mark.parametrize("figure", ["2.1", "2,1", "__2.1____", "2.1 ohm"])
def test_a_figure_in_place_of_the_line_is_read_with_its_unit(figure: str, mark: str) -> None:
    found = filled_slip(filled(figure, mark), "slip.txt")
    assert {path: each.text for path, each in found.items()} == {FIELD: "2.1 ohm"}


def test_every_figure_that_a_slip_asks_for_comes_back() -> None:
    text = slip("Wren")
    for field in METERED:
        text = text.replace(f"{field.path}: ______________", f"{field.path}: {field.example}")
    found = filled_slip(text, "slip.txt")
    assert {path: each.entry.value for path, each in found.items()} == {
        field.path: pytest.approx(float(field.example.split()[0])) for field in METERED
    }


@pytest.mark.parametrize("figure", ["a lot", "2.1 V", "900000", "-3"])
def test_a_bad_line_is_named_with_its_place(figure: str) -> None:
    text = filled(figure)
    line = next(number for number, each in enumerate(text.splitlines(), 1) if f" {FIELD}:" in each)
    with pytest.raises(BadInput) as caught:
        filled_slip(text, "slip.txt")
    assert caught.value.place is not None and caught.value.place.line == line and FIELD in caught.value.what


def test_a_slip_that_nobody_filled_says_so() -> None:
    with pytest.raises(BadInput, match="no line"):
        filled_slip(slip("Wren"), "slip.txt")
