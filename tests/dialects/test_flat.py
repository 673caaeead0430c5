"""What a flat file says, line by line, and what it does not."""

from __future__ import annotations

import re
from itertools import product

import pytest

from cfgmigrate.dialects import detect
from cfgmigrate.dialects.document import Document
from cfgmigrate.dialects.flat import likelihood, read
from cfgmigrate.dialects.source import span_of_rest
from cfgmigrate.machine.recognise import recognise


def document(text: str) -> Document:
    return read("dunlin.txt", text.encode())


@pytest.mark.parametrize(
    ("line", "key", "value"),
    [
        ("feeder.mm_per_turn=22.9", "feeder.mm_per_turn", "22.9"),
        ("feeder.mm_per_turn = 22.9", "feeder.mm_per_turn", "22.9"),
        ("feeder.mm_per_turn: 22.9", "feeder.mm_per_turn", "22.9"),
        ("feeder.mm_per_turn:22.9", "feeder.mm_per_turn", "22.9"),
        ("feeder.mm_per_turn 22.9", "feeder.mm_per_turn", "22.9"),
        ("\tfeeder.mm_per_turn\t22.9  ", "feeder.mm_per_turn", "22.9"),
        ("run current = 0.8", "run current", "0.8"),
        ("z max travel 190 mm", "z max travel", "190 mm"),
        ("z max travel: 190", "z max travel", "190"),
        ("offset -1.5", "offset", "-1.5"),
        ("name Wren the second", "name", "Wren the second"),
        ("path C:/x=1", "path", "C:/x=1"),
        ("place http://there", "place", "http://there"),
        ("export LAG=0.3", "LAG", "0.3"),
        ("exported = 1", "exported", "1"),
        ("lag=0.3 # measured", "lag", "0.3"),
        ("lag=0.3 ; measured", "lag", "0.3"),
        ("lag=0.3#4", "lag", "0.3#4"),
        ("name='a # b' # c", "name", "'a # b'"),
        ("ratio=a=b", "ratio", "a=b"),
        ("empty=", "empty", ""),
    ],
)
def test_a_line_is_a_setting(line: str, key: str, value: str) -> None:
    (setting,) = document(line + "\n").settings
    assert (setting.section, setting.key, setting.value) == ("", key, value)
    assert document(line).settings == (setting,)


@pytest.mark.parametrize("line", ["# lag = 3", "  ; lag = 3", "", " \t"])
def test_remarks_and_blank_lines_are_none(line: str) -> None:
    found = document(f"{line}\na = 1\n{line}")
    assert [setting.key for setting in found.settings] == ["a"]
    assert found.doubts == ()


@pytest.mark.parametrize("line", ["alone", "= 3", ": 3", "lag # = 3", "word   "])
def test_a_line_without_key_and_value_is_a_doubt_and_reading_goes_on(line: str) -> None:
    found = document(f"a = 1\n{line}\nb = 2\n")
    assert [setting.key for setting in found.settings] == ["a", "b"]
    assert [(doubt.place.line, doubt.text) for doubt in found.doubts] == [(2, line.strip())]


def test_include_lines_are_reported() -> None:
    found = document("include feed.txt\ninclude = 'parts/*.txt'\n")
    assert [each.target for each in found.includes] == ["feed.txt", "parts/*.txt"]


def test_colons_alone_make_no_flat_file() -> None:
    assert likelihood("machine: Wren\nold: 3\n") == 0
    assert likelihood("machine = Wren\nold 3\n") == 1


def test_an_order_with_several_values_is_a_section_of_what_it_is_and_what_of() -> None:
    text = "motor axis=x pulses=84 fine=16  ; left\nlimit z speed=10 accel=90\n"
    found = [(each.section, each.key, each.value) for each in read("wren.txt", text.encode()).settings]
    assert found == [
        ("motor x", "axis", "x"),
        ("motor x", "pulses", "84"),
        ("motor x", "fine", "16"),
        ("limit z", "speed", "10"),
        ("limit z", "accel", "90"),
    ]


def test_a_line_behind_two_slashes_is_a_remark() -> None:
    assert [each.key for each in read("wren.txt", b"// old = 3\nnew = 4\n").settings] == ["new"]


def test_lines_of_a_phrase_a_colon_and_a_number_make_a_flat_file_and_prose_does_not() -> None:
    numbers = "".join(f"what the {word} does: {n} mm/s\n" for n, word in enumerate("abcdef"))
    assert likelihood(numbers) == 1
    assert likelihood(numbers.replace("mm/s", "and so on, as was said")) == 0
    codes = "feed: 5\nlag: 0.5\nrow: 0.02 0.01 -0.03\nspeed: 30 mm/s\nstart 1: G91\nstart 2: G1 E-0.8 F1800\nend: HOME\n"
    assert likelihood(codes) > 0.75 > likelihood(codes.replace("G1", "a move of"))
    assert likelihood("top:\n" + "".join(f"  key {n}: {n}\n" for n in range(9))) == 0


@pytest.mark.parametrize(
    ("line", "parts"),
    [
        ("STEPS PER MM: X 80, Y 80.5, Z 800", [("X", "80"), ("Y", "80.5"), ("Z", "800")]),
        ("accn cap = X 2700, EXTR 1450 mm/s2  # both", [("X", "2700"), ("EXTR", "1450 mm/s2")]),
        ("REVERSED: X n, Y y", [("X", "n"), ("Y", "y")]),
        ("HOT END: max=272; min=4", [("max", "272"), ("min", "4")]),
    ],
)
def test_a_line_that_labels_its_numbers_is_a_heading_of_them(line: str, parts: list[tuple[str, str]]) -> None:
    data = f"{line}\n".encode()
    document = read("one.txt", data)
    heading = re.split(r" ?[:=]", line)[0]
    assert [(s.section, s.key, s.value) for s in document.settings] == [(heading, *part) for part in parts]
    assert all(data[s.start : s.end].decode() == s.value for s in document.settings)


@pytest.mark.parametrize(
    "value", ["X 80, X 90", "80, 90", "on Monday 3, and 4 more", "X 80", "tube 495, bore"]
)
def test_a_value_that_labels_nothing_is_one_value(value: str) -> None:
    document = read("one.txt", f"key: {value}\n".encode())
    assert [(s.section, s.key, s.value) for s in document.settings] == [("", "key", value)]


def test_a_sheet_of_labelled_lines_is_a_configuration() -> None:
    text = "SHEET 7 / of the shop\nSTEPS PER MM: X 80, Y 80\nSPEED CAP: X 185, EXTR 52\nRUN CURRENT: X 0.7, EXTR 0.7\nPARK: X 8, Y 3\nLAG: 0.4 s\n"
    found = detect(text.encode())
    assert found is not None and found.name == "flat"
    machine = recognise([read("one.txt", text.encode())])
    assert {r.quantity: r.value for r in machine.readings} == {
        "axis.x.steps_per_mm": 80, "axis.y.steps_per_mm": 80, "axis.x.max_speed": 185, "feeder.max_speed": 52,
        "axis.x.run_current": 0.7, "motor.run_current": 0.7, "lag.coefficient": 0.4,
        "park.x": 8, "park.y": 3,
    }  # fmt: skip


@pytest.mark.parametrize(
    "line",
    [
        "== fil push ==",
        "=== fil push",
        "= fil push =",
        "--- fil push ---",
        "*** fil push ***",
        "* fil push *",
        "~~ fil push ~~  # since march",
        "<fil push>",
        "  :: fil push ::",
        "### fil push ###",
        "# ---- fil push ----",
        "#### fil push",
    ],
)
def test_words_between_signs_are_a_section(line: str) -> None:
    found = document(f"speed = 3\n{line}\nspeed = 4\nlag 0.5\n")
    assert [(each.section, each.key) for each in found.settings] == [
        ("", "speed"),
        ("fil push", "speed"),
        ("fil push", "lag"),
    ]
    assert found.doubts == ()


@pytest.mark.parametrize("head", ["<{}>", "{{{}}}", "({})", "[[{}]]", "*** {} ***"])
def test_heads_in_any_signs_above_lines_with_colons_make_a_file_of_settings(head: str) -> None:
    """Its short remarks are no heads then, though keys stand twice below them."""
    feeder, fan = head.format("feeder"), head.format("chamber fan")
    text = (
        f"# shop\n{feeder}\n# by hand\nbite : 34.5    # mm a turn\nsense : +\nrest : 0.6, 5 at 70\n\n{fan}\n"
        "# loud\nbite : 2\nsense : none\nrest : 6 x 5\n"
    )
    dialect = detect(text.encode())
    assert dialect is not None and dialect.name == "flat"
    found = [(each.section, each.key) for each in document(text).settings]
    assert found == [(name, key) for name in ("feeder", "chamber fan") for key in ("bite", "sense", "rest")]


@pytest.mark.parametrize(
    "text",
    [
        "(feeder)\nlag 1\n",
        "lag 1\n(by hand)\n(again)\nrest 2\n",
        "[[feeder]]\nlag 1\n[[feeder]]\nlag 2\n",
        "(it was far lower in March)\nlag 1\n(as was this one)\nrest 2\n",
    ],
)
def test_brackets_that_may_be_remarks_are_no_heads(text: str) -> None:
    found = document(text)
    assert {each.section for each in found.settings} == {""} and found.doubts


@pytest.mark.parametrize(
    "text",
    [
        "# ---- fil push ----\nspeed = 3\n# ---- fan ----\nlag = 4\n",
        "# fil push\nspeed = 3\n# fan\nspeed = 4\n",
        "speed = 3\n# it was lower before we took the belt off\nspeed = 4\nlag = 2\n# so was this, I think, in May\nlag = 3\n",
        "-- fil push\nspeed = 3\n",
        "# 20\nspeed = 3\n",
    ],
)
def test_remarks_are_no_sections_where_no_key_needs_them(text: str) -> None:
    assert {each.section for each in document(text).settings} == {""}


def test_short_remarks_are_sections_where_several_keys_stand_below_two() -> None:
    text = (
        "# belt axis\nspeed = 220\nsteps = 80\n\n# fil push:\nspeed = 70\nsteps = 95\n# by ear\nlag = 0.5\n"
    )
    assert [(each.section, each.key) for each in document(text).settings] == [
        ("belt axis", "speed"),
        ("belt axis", "steps"),
        ("fil push", "speed"),
        ("fil push", "steps"),
        ("by ear", "lag"),
    ]


def test_a_title_that_is_closed_holds_no_longer() -> None:
    found = document("<fan>\nlag = 1\n</fan>\nlag = 2\n")
    assert [each.section for each in found.settings] == ["fan", ""]


@pytest.mark.parametrize("signs", ["# ---- {} ----", "== {} ==", "# {}"])
def test_what_stands_below_another_title_is_another_things(signs: str) -> None:
    axis, feeder, fan = (signs.format(name) for name in ("left-right", "feeder", "blower"))
    text = f"{axis}\npulses_mm = 80\ntop_spd = 220\n{feeder}\npulses_mm = 95\ntop_spd = 70\nlag = 0.5\n{fan}\nlag = 0.6\n"
    found = recognise([document(text)])
    assert {each.quantity: each.value for each in found.readings} == {
        "axis.x.steps_per_mm": 80,
        "axis.x.max_speed": 220,
        "feeder.steps_per_mm": 95,
        "feeder.max_speed": 70,
        "lag.coefficient": 0.5,
    }
    assert not found.followed


@pytest.mark.parametrize(
    "line", ["bring in feeders.txt", "reads also  feeders.txt # if there", "then use 'feeders.txt'"]
)
def test_words_for_reading_and_a_files_name_take_it_in(line: str) -> None:
    found = document(f"a = 1\n{line}\n")
    assert [each.target.strip("'") for each in found.includes] == ["feeders.txt"]
    assert [each.key for each in found.settings] == ["a"]


def test_words_for_reading_and_a_number_are_a_setting() -> None:
    assert [each.key for each in document("take in 5.5\n").settings] == ["take in"]


_DASHED = "-- wader: two dashes = the machine passes it over\n== thread pusher ==\nlag = 0.4 -- was 0.5\nlimits = 5 -- 70, # no more\n"


def test_where_two_dashes_open_a_line_of_remarks_they_open_one_behind_a_value_too() -> None:
    found = document(_DASHED)
    assert [(each.key, each.value) for each in found.settings] == [("lag", "0.4"), ("limits", "5")]
    assert not found.doubts


def test_two_dashes_are_part_of_a_value_where_no_line_shows_that_they_open_a_remark() -> None:
    found = document("-- pusher --\nlimits = 5 -- 70 # no more\n")
    assert [(each.section, each.key, each.value) for each in found.settings] == [
        ("pusher", "limits", "5 -- 70")
    ]


def test_a_file_of_sections_is_never_flat() -> None:
    text = "[x axis]\nsteps per mm: 80\ngreatest speed (mm/min): 9000\n[filament drive]\nsteps per mm: 96\ngreatest speed (mm/min): 2400\n"
    assert not likelihood(text)
    dialect = detect(text.encode())
    assert dialect is not None and dialect.name == "sectioned"


def test_a_key_may_end_in_its_unit_in_brackets() -> None:
    text = "top speed (mm/min) = 9000\nfilament drive current (mA) = 600\nsmoothing(s) = 0.04\n"
    assert likelihood(text) == 1
    assert [each.key for each in document(text).settings][:2] == [
        "top speed (mm/min)",
        "filament drive current (mA)",
    ]


def test_where_a_value_ends_is_the_same_whether_or_not_two_dashes_may_begin_a_remark() -> None:
    """Without a dash in it a rest of a line is read in one step, and where dashes may count in two."""
    for signs in product('a.\t #"\r\n', repeat=4):
        rest = "=" + "".join(signs)
        assert span_of_rest(rest, 1, len(rest)) == span_of_rest(rest, 1, len(rest), dashes=True), rest
