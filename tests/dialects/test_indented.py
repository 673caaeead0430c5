"""Nested files without brackets are read as those with brackets are, and nothing is read behind what fits nothing."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from cfgmigrate.dialects import detect, read
from cfgmigrate.dialects.document import State
from cfgmigrate.machine.recognise import recognise

KEYS = st.sampled_from(
    ["feeder", "x", "max speed", "run-current", "mm_per_turn", "lag", "retraction", "küche"]
)
SCALARS = st.one_of(st.integers(-999, 9999), st.booleans(), st.sampled_from(["n 2", "1.75 mm", "a # b"]))
TREES = st.recursive(
    st.one_of(SCALARS, st.lists(st.integers(0, 300), min_size=2, max_size=3)),
    lambda inner: st.dictionaries(KEYS, inner, min_size=1, max_size=4),
    max_leaves=12,
).filter(lambda tree: isinstance(tree, dict))


def on_one_line(value: Any) -> str:
    if not isinstance(value, dict):
        return json.dumps(value)
    return f"{{{', '.join(f'{key}: {on_one_line(each)}' for key, each in value.items())}}}"


def indented(tree: dict[str, Any], deep: int, step: int, end: str, folded: bool = False) -> str:
    """With `folded`, what stands below the first names is in brackets on their lines."""
    found = []
    for key, value in tree.items():
        before = " " * deep + key + ":"
        if isinstance(value, dict) and folded:
            found.append(f"{before} {on_one_line(value)}{end}")
        elif isinstance(value, dict):
            found.append(f"{before}  # of {len(value)}{end}{end}{indented(value, deep + step, step, end)}")
        else:
            found.append(f"{before} {json.dumps(value)}{' # said' if deep else ''}{end}")
    return "".join(found)


@given(TREES, st.sampled_from([1, 2, 4]), st.sampled_from(["\n", "\r\n", "\r"]), st.booleans())
def test_it_says_what_the_same_in_brackets_says(
    tree: dict[str, Any], step: int, end: str, folded: bool
) -> None:
    data = indented(tree, 0, step, end, folded).encode()
    lines = read("one.yaml", data, "nested")
    assert b"".join(data[piece.start : piece.end] for piece in lines.pieces) == data
    assert not lines.doubts
    brackets = read("one.json", json.dumps(tree, ensure_ascii=False).encode(), "nested")
    assert [(s.section, s.key, s.value) for s in lines.settings] == [
        (s.section, s.key, s.value) for s in brackets.settings
    ]
    for setting in lines.settings:
        assert data[setting.start : setting.end].decode() == setting.value


MACHINE = b"""# lengths mm, speeds mm/s
drives:
  x: {fastest: 200, microsteps: 16}
  y:
    fastest: 180     # before: 190
feeder:
  mm per turn: 22.5
  gear ratio: "3:1"
  stages:
    - teeth: 12
"""


def test_a_machine_is_read_from_it() -> None:
    found = detect(MACHINE)
    assert found is not None and found.name == "nested"
    machine = recognise([read("one.yaml", MACHINE)])
    assert {r.quantity: r.value for r in machine.readings} == {
        "axis.x.max_speed": 200,
        "axis.x.microsteps": 16,
        "axis.y.max_speed": 180,
        "feeder.feed_per_turn": 22.5,
        "feeder.gear_ratio": 3,
    }
    # the teeth below the drive are of a gear that nothing explains: what the gears go into stays unsettled
    assert {r.quantity for r in machine.readings if not r.editable} == {
        "feeder.feed_per_turn",
        "feeder.gear_ratio",
    }


def test_objects_in_brackets_stand_in_one_another_on_one_line_and_may_hold_nothing() -> None:
    text = b"axes: {x: {}, z: {min: 0, max: 250, }, }\nbed: {}\nfeeder: {lag: 0.6}\n"
    document = read("one.yaml", text, "nested")
    assert [(s.section, s.key) for s in document.settings] == [
        ("axes.z", "min"), ("axes.z", "max"), ("feeder", "lag")
    ]  # fmt: skip
    assert not document.doubts


def test_a_unit_in_a_lines_remark_is_a_statement() -> None:
    machine = recognise([read("one.yaml", b"feeder:\n  fastest: 2400 # mm/min\n", "nested")])
    assert [(r.quantity, r.value) for r in machine.readings] == [("feeder.max_speed", 40)]


@pytest.mark.parametrize(
    "text",
    [
        b"feeder:\n  lag: *here\n  other: 1\n",
        b"feeder:\n  lag: !special 0.4\n  other: 1\n",
        b"feeder: &here\n  lag: *here\n  other: 1\n",
    ],
)
def test_what_stands_for_something_unknown_is_a_doubt(text: bytes) -> None:
    document = read("one.yaml", text, "nested")
    assert [setting.key for setting in document.settings] == ["other"]
    assert [doubt.place.line for doubt in document.doubts] == [2]


UNFOLDED = {
    "a value": b"lag: &l 0.4\nfeeder:\n  lag: *l  # as above\n",
    "a list": b"lag: &l [1, 2]\nfeeder: {lag: *l, speed: &s 3}\nother: *s\n",
    "a block": b"a: &pull\n  length: 4\n  and: {on: 1, off: 2}\nb:\n  retraction: *pull\n",
    "a block in an item": b"tools:\n  - &left\n    name: left\n    length: 4\n  - *left\n  - name: other\n",
    "an alias of an alias": b"a: &one\n  x: 4\nb: &two\n  in: *one\nc:\n  <<: *two\n",
    "a merge": b"a: &base\n  length: 4\n  and: {on: 1, off: 2}\nb:\n  <<: *base\n  length: 3\n  more: 1\n",
    "a merge that comes last": b"a: &base\n  and: {on: 1, off: 2}\nb:\n  and: {on: 3}\n  <<: *base\nc: *base\n",
    "the first of several merges": b"a: &a {x: 1}\nb: &b {x: 2, y: 2}\nc:\n  <<: [*a, *b]\nd: {<<: *b, x: 5}\n",
    "an anchor that is set again": b"a: &a {x: 1}\nb: *a\nc: &a {x: 2}\nd: *a\n",
}


def flat(tree: object, path: str = "") -> dict[str, str]:
    if isinstance(tree, dict | list):
        members = tree.items() if isinstance(tree, dict) else enumerate(tree)
        if not isinstance(tree, list) or any(isinstance(each, dict) for each in tree):
            return {k: v for key, each in members for k, v in flat(each, f"{path}.{key}").items()}
    return {path.strip("."): json.dumps(tree) if not isinstance(tree, str) else tree}


@pytest.mark.parametrize("text", UNFOLDED.values(), ids=UNFOLDED)
def test_what_an_alias_stands_for_is_read_where_the_alias_stands(text: bytes) -> None:
    """Against the general-purpose YAML library ruamel.yaml, which unfolds by the standard."""
    document = read("one.yaml", text, "nested")
    assert not document.doubts
    found = {
        f"{each.section}.{each.key}".strip("."): each.value
        for each in document.settings
        if each.state is State.ACTIVE
    }
    assert found == flat(YAML(typ="safe").load(text))
    for each in document.settings:
        there = slice(*each.behind) if each.behind else slice(each.start, each.end)
        assert text[there].decode() == each.value
        assert not each.behind or text[each.start : each.end].startswith(b"*")
    assert len({each.at for each in document.settings}) == len(document.settings)


def test_aliases_of_aliases_end_at_a_number_of_values() -> None:
    text = b"a0: &a0 {" + b", ".join(b"k%d: 1" % n for n in range(60)) + b"}\n"
    for deep in range(1, 9):
        text += b"a%d: &a%d\n" % (deep, deep)
        text += b"".join(b"  m%d: *a%d\n" % (n, deep - 1) for n in range(9))
    document = read("one.yaml", text, "nested")
    assert len(document.settings) < 6000
    assert any("more than" in doubt.why for doubt in document.doubts)


@pytest.mark.parametrize(
    "bad", [b"    deeper: 1\n", b"\ttab: 1\n", b"no colon here\n", b"open: [1, 2\n", b'open: "never closed\n']
)
def test_nothing_is_read_behind_what_fits_nothing(bad: bytes) -> None:
    document = read("one.yaml", b"feeder:\n  lag: 0.4\n" + bad + b"feeder:\n  lag: 0.5\n", "nested")
    assert [setting.value for setting in document.settings] == ["0.4"]
    assert [doubt.place.line for doubt in document.doubts] == [3]
    assert document.pieces[-1].kind == "unplaced"


def test_a_text_of_several_lines_is_one_value() -> None:
    text = b"at end:\n  script: |\n    G1 X0\n    G1 Y0\n\n  lift: 0.3\n"
    document = read("one.yaml", text, "nested")
    assert [(s.key, s.value) for s in document.settings] == [
        ("script", "G1 X0\n    G1 Y0"),
        ("lift", "0.3"),
    ]


def test_a_profile_may_be_a_few_names_and_moves() -> None:
    found = detect(
        b"reel:\n  name: grey\n  plastic: PETG\n  warm: 235\n  first: G1 E5 F300\n  last: G1 E-5 F1800\n"
    )
    assert found is not None and found.name == "nested"


@pytest.mark.parametrize(
    "text",
    [
        b"Dear friend:\n  this is a letter: and no more\n  it has: colons\n  yours: truly\n",
        b"old:\n  tube:\n    length: 430 mm\n    bore: 2 mm\nnew:\n  tube:\n    length: 40 mm\n",
        b"site: 1\nroles:\n  a.conf: in force\n  b.conf: kept copy\n  c.conf: 3\n  d: 1\n  e: 4\n",
    ],
)
def test_letters_and_sheets_are_no_configuration(text: bytes) -> None:
    assert detect(text) is None


@pytest.mark.parametrize("sheet", ["\n  name: smooth, with glue\n  shift: 0.03", " smooth"])
def test_what_lies_on_a_bed_is_a_sheet_too(sheet: str) -> None:
    text = f"material: TPU\nretraction:\n  length: 5\n  speed: 30\n  lift: 0.2\nsheet:{sheet}\n"
    found = detect(text.encode())
    assert found is not None and found.name == "nested"
    ours = "sheet: swap.yaml\nseen:\n  length: 5\n  speed: 30\n  lift: 0.2\n"
    assert detect(ours.encode()) is None


@pytest.mark.parametrize("word", ["drives", "feeders", "motors"])
def test_drives_of_the_axes_are_no_feeders(word: str) -> None:
    lines = "".join(f'"{axis}": {{"fastest": 200, "microsteps": 16, "run current": 0.8}},' for axis in "xyz")
    text = f'{{"{word}": {{{lines.rstrip(",")}}}}}'
    machine = recognise([read("one.json", text.encode(), "nested")])
    assert machine.feeders in ((), (1,))
    assert not any(r.quantity.startswith(("feeder.", "motor.")) for r in machine.readings)


def test_objects_in_brackets_are_items_as_those_below_one_another_are() -> None:
    lines = b"motors:\n  - {job: feed, steps per mm: 96.5}\n  - {job: x, steps per mm: 80}\n"
    below = b"motors:\n  - job: feed\n    steps per mm: 96.5\n  - job: x\n    steps per mm: 80\n"
    first, second = (read("one.yaml", each, "nested") for each in (lines, below))
    assert [(s.section, s.key, s.value) for s in first.settings] == [
        (s.section, s.key, s.value) for s in second.settings
    ]


LISTS = b"""load:
- K5 V90        # in
- "K30 V9"
ends:
  - park
  - dwell: 3
  - K-6 V90
walk: {at: 3}
sizes:
  - 10
  - 20
"""


def test_texts_behind_dashes_are_one_value_of_their_list_however_deep_they_stand() -> None:
    document = read("a.yaml", LISTS, "nested")
    assert not document.doubts and detect(LISTS).name == "nested"  # type: ignore[union-attr]
    assert [(each.section, each.key, each.value) for each in document.settings] == [
        ("", "load", 'K5 V90        # in\n- "K30 V9"'),
        ("ends.1", "dwell", "3"),
        ("ends", "2", "K-6 V90"),
        ("walk", "at", "3"),
    ]


@pytest.mark.parametrize(
    "inside",
    [
        "what: sole, seen: stopped, buckled",
        "buckled, what: sole",
        'hot: 205, "two words" , wide: {fan, pct: 40}',
        "fan: , hot: 205",
        "at 10:40, hot: 205",
        "stopped",
    ],
)
def test_a_name_without_a_value_in_an_object_on_one_line_says_nothing_and_is_no_fault(inside: str) -> None:
    text = f"tries:\n  - {{{inside}}}\nretraction:\n  length: 3.5\n"
    document = read("kept.yaml", text.encode(), "nested")
    assert not document.doubts
    loaded = YAML(typ="safe").load(text)

    def said(path: str, tree: Any) -> dict[str, str]:
        members = tree.items() if isinstance(tree, dict) else enumerate(tree)
        found: dict[str, str] = {}
        for key, each in members:
            inner = f"{path}.{key}".strip(".")
            found |= (
                said(inner, each)
                if isinstance(each, dict | list)
                else {inner: str(each)}
                if each is not None
                else {}
            )
        return found

    assert {f"{each.section}.{each.key}": each.value for each in document.settings} == said("", loaded)


@pytest.mark.parametrize("inside", ["length: 3, speed:42", "speed:42 mm/s, length: 3", "length: 3, lift:-.2"])
def test_a_number_right_behind_a_colon_is_asked_about_and_no_name_without_a_value(inside: str) -> None:
    """YAML takes all of it for a name, and whoever wrote it meant a value."""
    document = read("kept.yaml", f"retraction: {{{inside}}}\nfeeder:\n  lag: 0.4\n".encode(), "nested")
    assert document.doubts


@pytest.mark.parametrize("inside", ["length: 3,5, speed: 20", "length: 3, 5", "length: [3, 5"])
def test_a_number_behind_a_comma_is_no_name_without_a_value(inside: str) -> None:
    """It may be the rest of a number with a decimal comma, of which 3 would be read."""
    document = read("kept.yaml", f"retraction: {{{inside}}}\nfeeder:\n  lag: 0.4\n".encode(), "nested")
    assert document.doubts and not [each for each in document.settings if each.key == "length"]
