"""The words of scripts in codes of their owner's own are asked about, with their lines and with what remarks say."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.files.own_scripts import own_script
from cfgmigrate.files.own_words import as_told
from cfgmigrate.files.roles import FileRole, FileSet, Role
from cfgmigrate.files.site_reading import parse_site
from cfgmigrate.machine.own_codes import IN_OWN_CODES, left_unexplained, lessons, meaning_offered, own_codes
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.site_questions import site_questions

LEGEND = b"; D up-down, K = wire mm\nK-6 V3600\nD200 V800\nK4 V800\n"
OTHER = b"K-480 V3600\nhonk 3\nK470 V3000\nhonk 3\n"


def roles(**texts: bytes) -> FileSet:
    paths = {f"quits/{name}.mv": own_script(text) for name, text in texts.items()}
    return FileSet({path: FileRole(path, Role.NONE, "unread", own=own) for path, own in paths.items()})


@pytest.mark.parametrize(
    ("says", "means"),
    [("fil push (mm)", "filament in"), ("mm per minute", "mm per minute"), ("mm/s", "mm per second"), ("up-down", "to z"),
     ("front-back", "to y"), ("across", "to x"), ("beeps", ""), ("pull out", "filament out")],
)  # fmt: skip
def test_a_remark_offers_what_its_words_say(says: str, means: str) -> None:
    assert meaning_offered(says) == means


def test_scripts_of_one_folder_share_their_words_and_what_one_of_them_explains() -> None:
    found = {each.key: each for each in own_codes(roles(end=LEGEND, swap=OTHER).values())}
    assert {key: each.means for key, each in found.items()} == {
        "quits/*.mv K": "filament in", "quits/*.mv D": "to z", "quits/*.mv V": "", "quits/*.mv honk": ""
    }  # fmt: skip
    assert "quits/swap.mv:1: K-480 V3600" in found["quits/*.mv K"].shown
    assert lessons(roles(end=LEGEND).values())[1].startswith(
        '# "quits/*.mv K": filament in    # quits/end.mv:1'
    )
    contrary = {
        each.word: each.means
        for each in own_codes(roles(end=LEGEND, swap=b"; K = up-down\n" + OTHER).values())
    }
    assert contrary["k"] == ""


def test_what_a_remark_explains_is_confirmed_in_one_answer_and_the_rest_asked_word_by_word() -> None:
    machine = recognise(
        [read("a.ini", b"[axis z]\nhighest spot = 210\n", "sectioned")], roles=roles(end=LEGEND)
    )
    assert any(each.why.startswith(IN_OWN_CODES) for each in machine.doubts)
    first, second = site_questions(machine)
    assert first.answers[0].entry == {"moves": {"quits/*.mv K": "filament in", "quits/*.mv D": "to z"}}
    assert "quits/end.mv:2: K-6 V3600" in first.why
    assert second.answers[8].entry == {"moves": {"quits/*.mv V": "mm per minute"}}
    single = site_questions(machine, left=["moves quits/*.mv"])
    assert [each.name.rpartition(" ")[2] for each in single] == ["D", "V"]


def test_of_a_script_that_is_explained_in_part_only_what_comes_often_is_asked() -> None:
    site = parse_site(b'site: 1\nmoves: {"quits/end.mv K": filament in}\n', "cfgmigrate.yaml")
    (left,) = left_unexplained([as_told(read("quits/end.mv", LEGEND, "command"), site.moves)])
    assert left.own is not None and {each.word for each in left.own.uses} == {"v"}


@pytest.mark.parametrize(
    ("says", "meaning"),
    [
        ("filament back", "filament out"),
        ("filament mm", "filament in"),
        ("feed rate", ""),
        ("filament temp", ""),
        ("turns per minute", ""),
        ("mm per minute", "mm per minute"),
    ],
)
def test_what_a_remark_says_otherwise_is_offered_as_no_way_of_the_filament(says: str, meaning: str) -> None:
    assert meaning_offered(says) == meaning


KEPT = "M7441 B283.05\nM7445 B0.71 ; lag, s\nM7444 B8\nM7446 B3\n"


def kept(*lines: str) -> list[tuple[str, int]]:
    said = "site: 1\nmoves:\n" + "".join(f"  {each}\n" for each in lines)
    site = parse_site(said.encode(), "cfgmigrate.yaml")
    found = recognise([as_told(read("kept.nc", KEPT.encode(), "command"), site.moves)])
    read_ = [(each.quantity, each.place.line) for each in found.every_reading if each.value is not None]
    return read_ + [("", each.place.line) for each in found.unread]


def test_what_moves_nothing_may_still_set_something() -> None:
    lines = kept('"kept.nc M": nothing', '"kept.nc B": nothing')
    assert ("lag.coefficient", 2) in lines
    assert {line for _, line in lines} == {1, 2, 3, 4}
