"""The block that a machine writes at the end of a sectioned file, and what only looks like one."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects.document import Document
from cfgmigrate.dialects.sectioned import read

BODY = "[lag]\ncoefficient: 0.40\n# [old]\n# coefficient: 0.36\n"
BLOCK = """
#%% What follows was saved by the machine, last on a Tuesday.
#%% [lag]
#%% coefficient = 0.46
#%% [lamp]
#%% level by the hour =
#%%   40, 70
#%%   90, 15
"""


def document(text: str) -> Document:
    return read("wren.conf", text.encode())


def saved(text: str) -> list[tuple[str, str, str]]:
    return [(each.section, each.key, each.value) for each in document(text).settings if each.saved]


def test_its_settings_come_after_those_of_the_body_with_their_places_in_the_file() -> None:
    found = document(BODY + BLOCK)
    assert [(each.section, each.key, each.value, each.saved) for each in found.settings] == [
        ("lag", "coefficient", "0.40", False),
        ("lag", "coefficient", "0.46", True),
        ("lamp", "level by the hour", "40, 70\n#%%   90, 15", True),
    ]
    override = found.settings[1]
    assert (override.line, override.column) == (8, 19)
    assert found.slice(override.start, override.end) == "0.46"
    assert found.doubts == ()


def test_a_value_in_it_can_be_edited_in_place() -> None:
    text = BODY + BLOCK
    setting = document(text).settings[1]
    assert saved(text[: setting.start] + "0.44" + text[setting.end :])[0] == ("lag", "coefficient", "0.44")


@pytest.mark.parametrize("marker", ["#", ";", "##", "#>", ";+", "#@@", ";~|~"])
def test_any_marker_will_do_when_all_lines_have_it(marker: str) -> None:
    assert saved(BODY + BLOCK.replace("#%%", marker))[0] == ("lag", "coefficient", "0.46")


@pytest.mark.parametrize(
    "block",
    [
        BLOCK.replace("by the machine, ", ""),
        BLOCK.replace("saved by", "put here by"),
        BLOCK.replace("saved by the machine", "kept by the board, never change it here"),
    ],
)
def test_signs_that_no_person_comments_out_with_make_up_for_one_thing_that_is_not_said(block: str) -> None:
    assert saved(BODY + block)[0] == ("lag", "coefficient", "0.46")
    assert saved(BODY + block.replace("#%%", "#")) == []


@pytest.mark.parametrize(
    "text",
    [BODY, BODY + "# saved by the machine\n", BODY + "\n# saved in May:\n# [lag]\n# coefficient = 0.46\n"],
)
def test_what_a_person_wrote_stays_a_remark(text: str) -> None:
    assert saved(text) == []
    assert document(text).doubts == ()


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (BODY + BLOCK + "\n[after]\nit: 1\n", "does not stand at the end"),
        (BODY + BLOCK + "# the night shift was here\n", "do not begin with #%%"),
        (
            BODY + BLOCK.replace("coefficient = 0.46", "coefficient was 0.46 once"),
            "neither a section nor a setting",
        ),
        (BODY + BLOCK.replace("#%% [lamp]", "// [lamp]"), "does not stand at the end"),
        (
            BODY + BLOCK.replace("#%%", "#").replace("saved by", "put here by"),
            "nothing says",
        ),
        (BODY + "\n#%% [lag]\n#%% coefficient = 0.46\n", "nothing says"),
    ],
)
def test_what_comes_close_to_a_block_is_not_read_and_a_doubt_says_what_it_lacks(text: str, why: str) -> None:
    assert saved(text) == []
    doubts = [doubt for doubt in document(text).doubts if "the machine wrote" in doubt.why]
    assert [why in doubt.why for doubt in doubts] == [True]


def test_what_a_person_commented_out_above_it_stays_a_remark() -> None:
    assert [key for _, key, _ in saved(BODY + "# [fan]\n# level: 0.3\n" + BLOCK)] == [
        "coefficient",
        "level by the hour",
    ]
