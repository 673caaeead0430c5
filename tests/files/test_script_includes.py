"""A file that a script has read and that is not there is told, wherever the script stands, once; a remark has nothing read."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.files.gaps import NOT_THERE, gaps

MOVES = "M920 X80.2 Y80.2 Z400 E96.4\nG28\nG1 X4 Y5 F3000\nG1 X9\n"
ACTIVE = "#define FEEDER_STEPS 96\n"


@pytest.mark.parametrize(
    ("path", "dialect", "text", "line"),
    [
        ("a.nc", "command", f"{MOVES}include window-lamp.cmd\n", 5),
        ("a.nc", "command", f"{MOVES}run window-lamp.cmd ; the lamp\n", 5),
        ("a.nc", "command", f'{MOVES}if lamp include "window-lamp.cmd"\n', 5),
        ("a.nc", "command", f'{MOVES}N70 M830 P"window-lamp.nc"\n', 5),
        (
            "a.conf",
            "sectioned",
            "[feeder]\nsteps = 96\n[end]\nlines =\n  G1 X4\n  include window-lamp.cmd\n",
            6,
        ),
        ("a.json", "nested", '{"scripts": {\n "end": "G1 X4\\ncall window-lamp.cmd\\nG1 X5"}}', 2),
        (
            "a.h",
            "header",
            f'{ACTIVE}#ifdef LAMP\n#define AT_END "G1 X4\\n" \\\n "include window-lamp.cmd\\n"\n#endif\n',
            4,
        ),
        ("a.h", "header", f'{ACTIVE}#if LAMP > MOST\n#define LAMP_FILE "window-lamp.h"\n#endif\n', 3),
        ("a.h", "header", f'{ACTIVE}#if LAMP > MOST\n#include "window-lamp.h"\n#endif\n', 3),
        ("a.set", "flat", "feeder.steps = 96\nrun window-lamp.cmd\n", 2),
    ],
)
def test_a_missing_file_of_a_script_or_a_branch_is_told_once(
    path: str, dialect: str, text: str, line: int
) -> None:
    document = read(path, text.encode(), dialect)
    (gap,) = gaps([document], ())
    assert (
        gap.doubt.why == NOT_THERE
        and gap.doubt.text.startswith("window-lamp.")
        and gap.doubt.place.line == line
    )


@pytest.mark.parametrize(
    "line",
    ["; run window-lamp.nc", "M834 see window-lamp.nc", "G1 X4.5", "run window-lamp", 'M836 P"a.b c.nc"'],
)
def test_a_remark_a_message_and_a_number_have_nothing_read(line: str) -> None:
    assert not gaps([read("a.nc", f"{MOVES}{line}\n".encode(), "command")], ())


def test_a_file_that_is_there_and_one_that_two_lines_name_are_told_no_more() -> None:
    document = read("a.nc", f"{MOVES}run lamp.cmd\nrun off.cmd\ncall off.cmd\n".encode(), "command")
    (gap,) = gaps([document], ("scripts/Lamp.cmd",))
    assert gap.doubt.text == "off.cmd"
