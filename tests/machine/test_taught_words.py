"""A word that a person explained holds in every name of the files, and takes nothing away that was understood."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.api import read_machine
from cfgmigrate.dialects import read
from cfgmigrate.files.site_reading import parse_site, site_at
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.names import names_said
from cfgmigrate.machine.recognise import recognise

TEXT = """\
[lomik]
zum klo = 0.65 A rms
dub = 60 mm/s
quux dub = 12
[axis x]
dub = 200 mm/s
"""


def taught(text: str, words: str, file: str = "one.ini", dialect: str = "sectioned") -> Machine:
    site = parse_site(f"site: 1\nwords: {{{words}}}\n".encode(), "cfgmigrate.yaml")
    return recognise([read(file, text.encode(), dialect)], names_said(None, site))


def test_one_word_teaches_every_setting_in_which_no_other_word_is_strange() -> None:
    assert not recognise([read("one.ini", TEXT.encode(), "sectioned")]).readings
    machine = taught(TEXT, "lomik: feeder, zum klo: run current, dub: top speed")
    values = {each.quantity: (each.value, each.editable) for each in machine.readings}
    assert values == {
        "motor.run_current": (0.65, True),
        "feeder.max_speed": (60.0, True),
        "axis.x.max_speed": (200.0, True),
    }
    assert [each.setting.key for each in machine.unread] == ["quux dub"]


def test_a_word_that_stands_before_all_keys_says_what_it_was_taught_to_say() -> None:
    keys = ["x_speed_max", "y_speed_max", "accel_max", "retract_len", "steps_mm", "run_current_ma", "micro"]
    text = "".join(f"lomik_{key} = {number}\n" for number, key in enumerate(keys, 90))
    names = {each.quantity for each in taught(text, "lomik: feeder", "one.cfg", "flat").readings}
    assert "feeder.steps_per_mm" in names and "feeder.max_acceleration" in names


def test_a_word_of_a_remark_is_taught_as_one_of_a_name() -> None:
    text = "S120 L5.5 ; fluxel length, mm\n"
    assert not recognise([read("one.nc", text.encode(), "command")]).readings
    machine = taught(text, "fluxel: retraction", "one.nc", "command")
    assert [(each.quantity, each.value) for each in machine.readings] == [("retraction.length", 5.5)]


@pytest.mark.parametrize(
    "line, at, why",
    [
        ("speed: feeder", 1, "understood already"),
        ("htr zum: feeder", 1, "protected by its own words"),
        ("zum: fluxel", 6, "no word that is understood"),
        ("zum: ''", 6, "says nothing"),
        ("'..': feeder", 1, "no word of a setting's name"),
        ("zum: feeder, ZUM: retraction", 14, "explained twice"),
    ],
)
def test_what_can_not_be_taught_is_an_error_with_its_place(line: str, at: int, why: str) -> None:
    with pytest.raises(BadInput, match=why) as caught:
        taught(TEXT, line)
    assert (caught.value.place.line, caught.value.place.column) == (2, at + 8)


def test_a_word_of_the_trade_may_be_explained_as_what_it_is_already() -> None:
    text = "[taster]\noffset x = 21.5 mm\n"
    values = {each.quantity: each.value for each in taught(text, "taster: probe, TEMPO: speed").readings}
    assert values == {"probe.offset_x": 21.5}
    for other in ("taster: retraction", "tempo: probe", "taster: probe speed"):
        with pytest.raises(BadInput, match="understood already"):
            taught(text, other)


def test_a_word_that_stands_nowhere_is_told_with_its_line() -> None:
    doubts = taught(TEXT, "gruz: acceleration").doubts
    assert [(each.place.file, each.place.line, each.text) for each in doubts] == [
        ("cfgmigrate.yaml", 2, "gruz")
    ]


def test_words_that_machines_share_come_from_the_file_that_is_extended(tmp_path: Path) -> None:
    (tmp_path / "shop.yaml").write_text("site: 1\nwords: {lomik: feeder, gruz: acceleration}\n")
    (tmp_path / "cfgmigrate.yaml").write_text("site: 1\nextends: shop.yaml\nwords: {dub: top speed}\n")
    site = site_at(tmp_path)
    machine = recognise([read("one.ini", TEXT.encode(), "sectioned")], names_said(None, site))
    assert {each.quantity for each in machine.readings} == {"feeder.max_speed", "axis.x.max_speed"}
    assert not any(each.text == "gruz" for each in machine.doubts)
    by_itself = parse_site(site.joined, "site.yaml")
    assert {item.key for item in by_itself.words} == {"lomik", "gruz", "dub"}


def test_a_word_that_says_nothing_by_itself_may_be_an_axis(tmp_path: Path) -> None:
    (tmp_path / "wick.h").write_text(
        "#define ACROSS_LEAST -2.0\n#define ACROSS_MOST 238.0\n#define DEEP_MOST 220\n"
    )
    (tmp_path / "cfgmigrate.yaml").write_text("site: 1\nwords: {across: x}\n")
    machine = read_machine([tmp_path])[1]
    assert (machine.get("axis.x.min").value, machine.get("axis.x.max").value) == (-2.0, 238.0)  # type: ignore[union-attr]


def test_all_words_that_are_the_trade_s_are_told_at_once_with_what_to_write_instead(tmp_path: Path) -> None:
    (tmp_path / "wick.h").write_text("#define LEAST_GATHER 5\n")
    (tmp_path / "cfgmigrate.yaml").write_text(
        "site: 1\nwords: {least: minimum, gather: speed, most: maximum}\n"
    )
    with pytest.raises(BadInput) as caught:
        read_machine([tmp_path])
    assert all(f"{word!r}" in caught.value.what for word in ("least", "gather", "most"))
    assert '"FARTHEST_LEFT": axis.x.min' in caught.value.remedy
