"""The dialect of a file is found by its content, and what is no configuration is none."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import DIALECTS, detect, read
from cfgmigrate.ground.findings import BadInput

OURS = {
    "sectioned": "# Wren\n[feeder]\nmm_per_turn: 22.9\n\n[script end]\nsteps:\n    G91\n    G1 Z5\n",
    "flat": "# Dunlin\nfeeder.mm_per_turn = 22.9\nlag 0.4\nz max travel 190 mm\nname = Dunlin\n",
    "header": "/* Plover */\n#ifndef PLOVER_H\n#define PLOVER_H\n#define Z_MAX 190\n#endif\n",
    "command": "; Knot\nM92 X84 Y86 E96\nM203 E25\nM77 ready\n",
    "nested": '{\n  "feeder": {\n    "mm per turn": 22.9 // of the gear\n  },\n  "limits": [190, 200]\n}\n',
}
NOT_OURS = {
    "prose": "The ringing hut stands by the river.\nIt holds two printers, and a stove.\n",
    "licence": "Permission is hereby granted, free of charge, to any person obtaining a copy\nof this software, to deal in it:\n",
    "Markdown": "# Wren\n\n- one: two\n- three\n\n[here](there) and [there]\n\n```\nx = 1\n```\n\n| a | b |\n",
    "YAML": "machine: Wren\nold:\n  drive: tube-fed\n  lag: 0.3 s\nnew:\n  - a\n",
    "a list in JSON": '[\n  {"machine": "Wren"},\n  2\n]\n',
    "something like JSON": "{\n  machine: 'Wren',\n  lag: 0.3\n}\n",
    "XML": '<?xml version="1.0"?>\n<machine name="Wren">\n  <lag>0.3</lag>\n</machine>\n',
    "shell script": "#!/bin/sh\nname=Wren\necho $name\n",
    "shell functions": "name=Wren\nif [ -n x ]; then\n  echo $name\nfi\nwork() {\n  rm -f x\n}\nwork && echo done\n",
    "Python": "import os\n\ndef lag(x):\n    return x + 1\n\nclass A:\n    pass\n\nprint(lag(3))\n",
    "C": '#include <stdio.h>\nint main(void)\n{\n    printf("x");\n    return 0;\n}\n',
    "CSV": "time,length,speed\n1,2,3\n4,5,6\n",
    "log": "2024-01-01 12:00:01 started\n2024-01-01 12:00:02 heater on, 21 C\n2024-01-01 12:00:03 done\n",
    "nothing": "",
    "blank": "\n\n  \n",
    "remarks alone": "# one\n# two\n",
    "zero bytes": "a = 1\0\n",
}


def test_names_and_short_values_below_drawn_titles_in_remarks_are_flat() -> None:
    drive = "# --- drive\nmotor plug: D6\nsteps: 200\nteeth: 20\nwheel: 60\nturned: yes\noiled: 2024-10\n"
    way = "# --- way\nway: 720\ntube: 655\npurge: 45\nholder: left\njams: 14\n"
    found = detect((drive + way).encode())
    assert found is not None and found.name == "flat"
    assert detect((drive + way).replace("# --- ", "# ").encode()) is None


def test_every_dialect_is_found_by_content() -> None:
    assert set(OURS) == set(DIALECTS), "a new dialect has a short file of its own in OURS"
    for name, text in OURS.items():
        for end in ("\n", "\r\n", "\r"):
            found = detect(text.replace("\n", end).encode("utf-8-sig"))
            assert found is not None and found.name == name


@pytest.mark.parametrize("name", sorted(DIALECTS))
def test_a_dialect_leaves_the_files_of_the_others_alone(name: str) -> None:
    """The likeliest wins, and of two alike the first of the registry: so none may be sure of another's file."""
    for other, text in OURS.items():
        if other != name:
            assert DIALECTS[name].likelihood(text) < DIALECTS[other].likelihood(text), f"{name} takes {other}"


@pytest.mark.parametrize("kind", sorted(NOT_OURS))
def test_what_is_no_configuration_is_no_dialect(kind: str) -> None:
    assert detect(NOT_OURS[kind].encode()) is None


def test_utf16_is_refused_with_a_way_out() -> None:
    assert detect("[a]\nb: 1\n".encode("utf-16")) is None
    with pytest.raises(BadInput, match=r"UTF-16") as problem:
        read("a.conf", "[a]\nb: 1\n".encode("utf-16"), "sectioned")
    assert "UTF-8" in problem.value.remedy


def test_zero_bytes_are_refused_with_their_line() -> None:
    with pytest.raises(BadInput, match=r"^a\.conf:2: the file holds zero bytes"):
        read("a.conf", b"[a]\nb: \0\n", "sectioned")


def test_a_file_of_no_dialect_is_refused_with_the_choice() -> None:
    with pytest.raises(BadInput, match=r"none of the dialects") as problem:
        read("notes.txt", b"The ringing hut stands by the river, and is dry.\n")
    assert all(name in problem.value.remedy for name in DIALECTS)
    with pytest.raises(BadInput, match=r"there is no dialect 'flap'"):
        read("notes.txt", b"a = 1\n", "flap")


@pytest.mark.parametrize(
    ("text", "name"),
    [
        (">>> report\nboard: steps:\nboard: M92 E148.9\nboard: pulls:\nboard: M207 S5.5\nok\n>>> M92 E150.2\nok\n", "command"),
        ("machines:\n  wren:\n    feeder: {lag: 0.6, full steps: 200}\n    z: {max: 180}\n", "nested"),
        ("machines: {wren: {feeder: {lag: 0.6, full steps: 200}, z: {max: 180}}}\n", "nested"),
        ("machines:\n  Wren: wren  # its folder\n  Dunlin: {config: dunlin}\nfirst: {a: 1, b: 2, c: 3}\n", ""),
        ("machines: {Wren: wren, Dunlin: dunlin}\nfirst: {a: 1, b: 2, c: 3}\n", ""),
        ("machines:\n  Wren:\n    config: wren\nfirst: {a: 1, b: 2, c: 3}\n", ""),
    ],
)  # fmt: skip
def test_a_talk_with_a_console_and_several_machines_are_read_and_a_fleet_is_none(
    text: str, name: str
) -> None:
    found = detect(text.encode())
    assert (found.name if found else "") == name


def test_a_long_file_is_told_by_its_beginning() -> None:
    assert detect(OURS["sectioned"].encode() * 5000) is DIALECTS["sectioned"]


@pytest.mark.parametrize("name", sorted(DIALECTS))
@pytest.mark.parametrize(
    "text",
    [
        *(" " * 300_000, "a" * 300_000, "a " * 150_000, "a = " + " " * 300_000 + "b", 'k = "' * 60_000),
        *("k = " + ' "' * 150_000, "k = " + ' "\\"' * 60_000, "k: " + "# " * 150_000, "\n" * 100_000),
        *("/*" * 150_000, "#define A " + "/*" * 100_000, "#define " + "\\\n" * 50_000, "[" * 300_000),
        *(
            "X" + " " * 300_000 + "y",
            "X1" + " 1" * 100_000 + "z",
            "(" * 300_000,
            "a:" * 100_000,
            ";+ saved\n" * 20_000,
        ),
        *("[a]\n" + "  \n" * 50_000 + " x", "#if " + "(" * 100_000, "#if " + "1+" * 100_000, "'" * 300_000),
    ],
    ids=lambda text: f"{text[:12]!r}…",
)
def test_a_long_line_is_read_without_getting_stuck(name: str, text: str) -> None:
    """No token may take more than linear time: with a worse one these would run for hours."""
    document = read("long", text.encode(), name)
    assert sum(piece.end - piece.start for piece in document.pieces) == len(text)


def test_keys_of_prose_below_headings_are_sectioned() -> None:
    text = (
        "[How far it goes]\nleft and right (X), least = 0\ndoes it turn round, too? = no\n"
        "it lets the wire in, this far = 92   # Anna says (94)\n"
    )
    found = detect(text.encode())
    assert found is not None and found.name == "sectioned"


def test_keys_that_say_their_kind_behind_a_comma_are_sectioned() -> None:
    text = "; distances in mm\n[front-back]\nramp, hardest : 900   ; was 800\nreach, near : 3 mm\n"
    found = detect(text.encode())
    assert found is not None and found.name == "sectioned"


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("# rear bench\nspool holder, width = 68 mm\ncord drive, pulses to the mm = 93\ncord drive, turned round = no\n", "flat"),
        ("a, b = 1, 2\nc, d = swap(a, b)\n", ""),
        ("Now, if all goes well, x = y.\n", ""),
    ],
)  # fmt: skip
def test_a_part_and_what_is_said_of_it_behind_a_comma_are_flat_where_a_measure_follows(
    text: str, name: str
) -> None:
    found = detect(text.encode())
    assert (found.name if found else "") == name
