"""Files of one folder that set the same of a feeder each."""

from __future__ import annotations

import pytest
from feederbench import OWN, two

from cfgmigrate.dialects import read
from cfgmigrate.files.site_reading import parse_site
from cfgmigrate.machine import feeders_by_file
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise

#: what says that a file is a feeder's
BARE = OWN.replace('"feeder": "{name}", ', "")


def files_of(found: Machine) -> dict[str, set[str]]:
    """The files that each feeder's own values stand in."""
    held: dict[str, set[str]] = {}
    for each in found.every_reading:
        if each.holder.kind == "feeder":
            held.setdefault(str(each.holder), set()).add(each.place.file)
    return held


@pytest.mark.parametrize(
    ("first", "second", "text"),
    [
        ("feeders/wren.json", "feeders/heron.json", BARE),
        ("feeder_wren.json", "feeder_heron.json", BARE),
        ("parts/one.json", "parts/two.json", OWN),
        ("tools/left.json", "tools/right.json", BARE),
        ("tools/0.json", "tools/1.json", BARE),
    ],
)
def test_files_that_set_the_same_of_a_feeder_are_a_feeder_each(first: str, second: str, text: str) -> None:
    found = two(first, second, text)
    assert files_of(found) == {"feeder 1": {first}, "feeder 2": {second}}
    assert not any(found.followed.values()), "one value would be written into both"
    assert not [each for each in found.doubts if "which one holds" in each.why]


def test_a_list_of_the_names_says_which_is_the_first() -> None:
    found = two("feeders/wren.json", "feeders/heron.json", more='{"feederOrder": ["heron", "wren"]}')
    assert found.feeder_names == {"heron": 1, "wren": 2}
    assert files_of(found)["feeder 1"] == {"feeders/heron.json"}


def test_files_that_may_be_a_feeder_each_are_asked_about_and_not_edited() -> None:
    found = two("parts/wren.json", "parts/heron.json", BARE)
    open_ones = [each for each in found.every_reading if each.quantity.startswith(("retraction.", "feeder."))]
    assert open_ones and not any(each.editable for each in open_ones)
    (asked,) = [each for each in found.doubts if "feeder of its own" in each.why]
    assert "known_as: [parts/wren.json]" in asked.remedy


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        ("lamp = {n}\nwide = {n}1\nhigh = {n}2\n", 0),
        ("lamp = {n}\nwide = {n}1\n[retraction]\nlength = {n}\n", 0),
        ("lamp = {n}\n[retraction]\nlength = {n}\nspeed = {n}0\n", 1),
    ],
    ids=["nothing of a feeder", "one thing", "two"],
)
def test_files_alike_are_asked_about_where_they_set_two_things_of_a_feeder(text: str, asked: int) -> None:
    files = {"parts/wren.ini": text.format(n=4), "parts/heron.ini": text.format(n=5)}
    found = recognise([read(path, each.encode(), "sectioned") for path, each in files.items()])
    assert len([each for each in found.doubts if "feeder of its own" in each.why]) == asked


def test_the_site_file_settles_it() -> None:
    site = parse_site(
        b"site: 1\nfeeders: {heron: parts/heron.json, wren: {known_as: [parts/wren.json]}}\n",
        "cfgmigrate.yaml",
    )
    found = two("parts/wren.json", "parts/heron.json", BARE, site.feeders)
    assert files_of(found) == {"feeder 1": {"parts/heron.json"}, "feeder 2": {"parts/wren.json"}}
    assert all(each.editable for each in found.readings if each.quantity == "retraction.length")
    assert not [each for each in found.doubts if "no effect" in each.why]


def test_a_question_tells_its_answers_apart() -> None:
    one = "[retraction]\nlength = {}\n"
    found = recognise([read(p, one.format(n).encode(), "sectioned") for p, n in (("a.ini", 5), ("b.ini", 6))])
    (asked,) = found.doubts
    said = " or ".join(f'"{path} [retraction] length": retraction.length' for path in ("a.ini", "b.ini"))
    assert said in asked.remedy


def test_one_file_of_a_feeder_beside_one_of_all_is_the_machine_s() -> None:
    found = two("feeders/wren.json", "feeders/common.json", BARE)
    assert (found.feeders, found.feeder_names, files_of(found)) == ((1,), {}, {})


@pytest.mark.parametrize(
    ("one", "other", "alike"),
    [("abc", "abc", True), ("ab", "ab", False), ("abcdef", "abc", True), ("abcdefg", "abc", False), ("abcx", "abcy", True),
     ("abcvwx", "abcxyz", True), ("abcuvwx", "abcdefg", False)],
)  # fmt: skip
def test_siblings_share_three_settings_and_half_of_what_the_larger_has(
    one: str, other: str, alike: bool
) -> None:
    keys = [frozenset(("", each) for each in several) for several in (one, other)]
    assert feeders_by_file.siblings(*keys) is alike and feeders_by_file.siblings(*reversed(keys)) is alike


@pytest.mark.parametrize(
    ("path", "text", "name"),
    [
        ("a/wren.ini", "feeder = Heron\n", "heron"),
        ("a/wren.ini", "[feeder]\ndrive = 'Heron'\n", "heron"),
        ("a/wren.ini", "[fan]\nfeeder = heron\n", ""),
        ("a/wren.ini", "feeder = 4\n", ""),
        ("a/wren.ini", f"feeder = {'h' * 39}\n", "h" * 39),
        ("a/wren.ini", f"feeder = {'h' * 40}\n", ""),
        ("a/feeder_wren.ini", "a = 1\n", "wren"),
        ("feeders/wren.ini", "a = 1\n", "wren"),
        ("a/wren.ini", "a = 1\n", ""),
    ],
)
def test_a_file_is_a_feeder_s_by_a_line_its_own_name_or_its_folder_s(path: str, text: str, name: str) -> None:
    document = read(path, text.encode(), "sectioned")
    assert feeders_by_file._own_name(document, path.rpartition("/")[0]) == name


_GULL = "name: Gull\nsteps per mm: 418.6\npullback: 5.2\ntube: 655\n"
_TERN = "[who]\nname = Tern\n[drive]\nsteps per mm = 416.5\n[pull]\nlen = 5.4\n"


def _by_whatever_hands(gull: str, tern: str) -> dict[str, set[str]]:
    documents = [
        read("feeder_gull.txt", gull.encode(), "flat"),
        read("feeder_tern.txt", tern.encode(), "sectioned"),
    ]
    return files_of(recognise(documents))


def test_files_that_say_the_name_that_theirs_has_beside_a_feeders_word_are_a_feeder_each_in_whatever_hand() -> (
    None
):
    assert sorted(_by_whatever_hands(_GULL, _TERN).values()) == [{"feeder_gull.txt"}, {"feeder_tern.txt"}]


def test_a_name_that_a_file_does_not_say_is_no_feeders() -> None:
    assert not _by_whatever_hands(_GULL.replace("Gull", "Anna"), _TERN)
