"""Whole configurations: files and folders, what is skipped and why, and files that take in others."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.files.configuration import LARGEST, open_configuration
from cfgmigrate.files.found import SITE
from cfgmigrate.files.roles import Role
from cfgmigrate.ground.findings import BadInput, Refused

FEED = "[feeder]\nmm_per_turn: 22.9\n"


def lay(root: Path, **files: str) -> Path:
    """Files below a folder; `__` in a name is a slash, a last `_conf` an ending."""
    for name, text in files.items():
        path = root / (name.replace("__", "/").removesuffix("_conf") + ".conf")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode())
    return root


def paths(root: Path, *more: Path) -> list[str]:
    return [document.path for document in open_configuration([root, *more]).documents]


def test_a_folder_is_read_in_the_order_of_its_paths_each_file_once(tmp_path: Path) -> None:
    lay(tmp_path, b=FEED, a=FEED, sub__c=FEED)
    found = open_configuration([tmp_path, tmp_path / "a.conf"])
    assert [document.path for document in found.documents] == ["a.conf", "b.conf", "sub/c.conf"]
    assert found.root == tmp_path.resolve()


def test_the_root_is_what_holds_all_that_is_named(tmp_path: Path) -> None:
    lay(tmp_path, one__a=FEED, two__b=FEED)
    assert paths(tmp_path / "one", tmp_path / "two" / "b.conf") == ["one/a.conf", "two/b.conf"]


def test_what_is_no_configuration_in_a_folder_is_skipped_with_the_reason(tmp_path: Path) -> None:
    lay(tmp_path, a=FEED)
    (tmp_path / ".hidden").write_text(FEED)
    (tmp_path / "a.conf.bak").write_text(FEED)
    (tmp_path / "a.conf~").write_text(FEED)
    (tmp_path / "notes.md").write_text("The hut stands by the river, and is dry.\n")
    (tmp_path / "picture").write_bytes(b"\x89PNG\0\0")
    (tmp_path / "out").symlink_to("/etc/hostname")
    (tmp_path / "same").symlink_to("a.conf")
    (tmp_path / "circle").symlink_to("circle")
    (tmp_path / "packet" / "before").mkdir(parents=True)
    (tmp_path / "packet" / "changes.json").write_text("{}")
    found = open_configuration([tmp_path])
    assert [document.path for document in found.documents] == ["a.conf"]
    assert dict(found.skipped) == {
        ".hidden": "it is hidden",
        "a.conf.bak": "its name says 'bak', and 100% of its settings are in a.conf too",
        "a.conf~": "its name says '~', and 100% of its settings are in a.conf too",
        "notes.md": "the content reads as none of the dialects",
        "out": "it is a link to outside the folder",
        "circle": "it is a link that leads nowhere",
        "packet": "it is a packet of this program",
        "picture": dict(found.skipped)["picture"],
        "same": "it is the same file as a.conf",
    }


def test_where_all_that_can_be_read_is_said_to_be_something_else_nothing_is_left_to_read(
    tmp_path: Path,
) -> None:
    lay(tmp_path, a=FEED)
    (tmp_path / "cfgmigrate.yaml").write_text("site: 1\nroles: {a.conf: other machine}\n")
    with pytest.raises(BadInput, match="nothing here reads as a configuration"):
        open_configuration([tmp_path])


def test_a_named_file_must_be_readable(tmp_path: Path) -> None:
    notes = tmp_path / "notes.md"
    notes.write_text("The hut stands by the river, and is dry.\n")
    with pytest.raises(BadInput, match=r"^notes\.md: the content reads as none") as problem:
        open_configuration([notes])
    assert "--dialect" in problem.value.remedy
    for wrong in ([tmp_path / "nowhere"], [], [tmp_path]):
        with pytest.raises(BadInput):
            open_configuration(wrong)


def test_what_is_said_to_be_the_machine_s_must_be_among_the_files(tmp_path: Path) -> None:
    """A name that was mistyped must not leave another machine's file in force unasked."""
    lay(tmp_path / "hut", a=FEED, b=FEED.replace("22.9", "23.4"))
    lay(tmp_path, elsewhere=FEED)
    (tmp_path / "hut" / "picture").write_bytes(b"\x89PNG\0\0")
    for said in ("c.conf", "picture", "../elsewhere.conf", str(tmp_path / "elsewhere.conf"), "."):
        with pytest.raises(BadInput, match="not among those of the configuration"):
            open_configuration([tmp_path / "hut"], machine=[said])
    for said in ("b.conf", str(tmp_path / "hut" / "b.conf")):
        found = open_configuration([tmp_path / "hut"], machine=[said]).roles["b.conf"]
        assert found.role is Role.IN_FORCE and found.said


def test_the_user_can_say_the_dialect(tmp_path: Path) -> None:
    lay(tmp_path, a="a: 1\nb: 2\n")
    for said in ({"*": "flat"}, {"a.conf": "flat"}, {str(tmp_path / "a.conf"): "flat"}):
        (document,) = open_configuration([tmp_path / "a.conf"], said).documents
        assert document.dialect == "flat"
    for wrong in ({"*": "flap"}, {"b.conf": "flat", "*": "flat"}):
        with pytest.raises(BadInput):
            open_configuration([tmp_path / "a.conf"], wrong)


def test_a_file_past_all_measure_is_refused(tmp_path: Path) -> None:
    huge = tmp_path / "huge.conf"
    with huge.open("wb") as file:
        file.truncate(LARGEST + 1)
    with pytest.raises(BadInput, match="too many"):
        open_configuration([huge])


def test_an_included_file_comes_before_the_one_that_takes_it_in(tmp_path: Path) -> None:
    lay(tmp_path, a="include = z*.conf\n" + FEED, z1=FEED, z2=FEED)
    assert paths(tmp_path) == ["z1.conf", "z2.conf", "a.conf"]
    assert paths(tmp_path / "a.conf") == ["z1.conf", "z2.conf", "a.conf"]


def test_an_include_line_below_all_settings_puts_the_file_behind(tmp_path: Path) -> None:
    lay(tmp_path, m=FEED + "include = b.conf\n", b="[feeder]\nmm_per_turn: 7.33\n")
    assert paths(tmp_path) == ["m.conf", "b.conf"]


def test_a_setting_above_an_include_that_sets_it_again_is_a_doubt(tmp_path: Path) -> None:
    lay(tmp_path, m=FEED + "include = b.conf\n[axis z]\nmax: 1\n", b="[feeder]\nmm_per_turn: 7.33\n")
    doubts = open_configuration([tmp_path]).documents[1].doubts
    assert [(doubt.place.file, doubt.place.line, "b.conf:2" in doubt.why) for doubt in doubts] == [
        ("m.conf", 2, True)
    ]


def test_a_missing_included_file_is_a_doubt(tmp_path: Path) -> None:
    lay(tmp_path, a="include = gone.conf\n" + FEED)
    (doubt,) = open_configuration([tmp_path]).documents[0].doubts
    assert (doubt.place.line, doubt.place.column, doubt.text) == (1, 11, "gone.conf")


def test_files_that_include_each_other_are_refused_with_the_chain(tmp_path: Path) -> None:
    lay(tmp_path, a="include = b.conf\n" + FEED, b=FEED + "include = a.conf\n")
    with pytest.raises(Refused, match=r"^b\.conf:3:\d+: .*a\.conf:1 -> b\.conf:3 -> a\.conf"):
        open_configuration([tmp_path])
    lay(tmp_path / "own", a="include = a.conf\n" + FEED)
    with pytest.raises(Refused, match=r"a\.conf:1 -> a\.conf"):
        open_configuration([tmp_path / "own"])


@pytest.mark.parametrize("target", ["../outside.conf", "../*.conf", "/etc/*.conf", "/etc/hostname"])
def test_an_include_that_leads_out_of_the_root_is_refused_with_the_chain(tmp_path: Path, target: str) -> None:
    lay(
        tmp_path,
        outside=FEED,
        inside__a="include = b.conf\n" + FEED,
        inside__b=f"include = {target}\n" + FEED,
    )
    with pytest.raises(Refused) as problem:
        open_configuration([tmp_path / "inside"])
    assert f"a.conf:1 -> b.conf:1 -> {target}" in problem.value.what


def test_headers_are_read_as_one_sequence(tmp_path: Path) -> None:
    (tmp_path / "a.h").write_text('#include "z.h"\n#define Z_MAX BED\n#if FANS == 2\n#define LAG 1\n#endif\n')
    (tmp_path / "z.h").write_text("#define BED 190\n#define FANS 2\n")
    limits, machine = open_configuration([tmp_path]).documents
    assert (limits.path, machine.path) == ("z.h", "a.h")
    assert [(each.key, each.state, each.resolved) for each in machine.settings] == [
        ("Z_MAX", "active", "190"),
        ("LAG", "active", ""),
    ]


def test_an_included_header_knows_what_stands_above_its_line_and_nothing_below(tmp_path: Path) -> None:
    """As ISO C has it (C11 6.10.2p3): the line is replaced by the file. Options first, then what asks for them."""
    (tmp_path / "a.h").write_text(
        '#define WITH_TUBE 1\n#include "feed.h"\n#include "feed.h"\n#define WITH_PROBE 1\n'
        '#if WITH_PROBE\n#include "reach.h"\n#endif\n'
    )
    (tmp_path / "feed.h").write_text(
        "#ifndef FEED_H\n#define FEED_H\n#if WITH_TUBE\n#define LONGEST 550\n#else\n#define LONGEST 100\n#endif\n"
        "#if WITH_PROBE\n#define EARLY 1\n#endif\n#ifndef WITH_TUBE\n#define WITH_TUBE 0\n#endif\n#endif\n"
    )
    (tmp_path / "reach.h").write_text("#if WITH_PROBE\n#define OFFSET -32\n#endif\n")
    found = open_configuration([tmp_path])
    states = {
        (document.path, each.key, each.value): each.state.value
        for document in found.documents
        for each in document.settings
    }
    assert states == {
        ("feed.h", "FEED_H", ""): "active",
        ("feed.h", "LONGEST", "550"): "active",
        ("feed.h", "LONGEST", "100"): "inactive",
        ("feed.h", "EARLY", "1"): "inactive",
        ("feed.h", "WITH_TUBE", "0"): "inactive",
        ("a.h", "WITH_TUBE", "1"): "active",
        ("a.h", "WITH_PROBE", "1"): "active",
        ("reach.h", "OFFSET", "-32"): "active",
    }
    assert not any(document.doubts for document in found.documents)


def test_a_header_taken_in_under_a_condition_that_is_not_known_is_undecided(tmp_path: Path) -> None:
    (tmp_path / "a.h").write_text('#define A 1\n#if BOARD == 3\n#include "board.h"\n#endif\n')
    (tmp_path / "board.h").write_text("#define LONGEST 550\n")
    (tmp_path / "c.h").write_text('#if 0\n#include "d.h"\n#endif\n#define C 1\n')
    (tmp_path / "d.h").write_text("#define LONGEST 3\n")
    states = {
        document.path: document.settings[-1].state.value
        for document in open_configuration([tmp_path]).documents
    }
    assert states == {"a.h": "active", "board.h": "undecided", "c.h": "active", "d.h": "active"}


def test_a_name_that_an_included_header_defines_again_is_a_doubt(tmp_path: Path) -> None:
    (tmp_path / "a.h").write_text('#define LAG 1\n#define OTHER 1\n#include "b.h"\n#define END 1\n')
    (tmp_path / "b.h").write_text("#define LAG 2\n#ifndef OTHER\n#define OTHER 2\n#endif\n")
    doubts = [doubt for document in open_configuration([tmp_path]).documents for doubt in document.doubts]
    assert [(doubt.place.file, doubt.place.line, doubt.text) for doubt in doubts] == [("a.h", 1, "LAG: 1")]


def test_one_site_file_says_the_dialects_of_many_machines(tmp_path: Path) -> None:
    for name in ("wren", "lark"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "wheel.ini").write_text("[feeder]\nsteps per mm = 93.1\n")
    (tmp_path / "lark" / "reels.txt").write_text("pla.retraction = 5.5\n")
    text = 'site: 1\ndialects: {"*/reels.txt": flat, "lark/reels.txt": flat, "none/*.txt": nested}\n'
    (tmp_path / SITE).write_text(text)
    assert [each.path for each in open_configuration([tmp_path / "wren"]).documents] == ["wren/wheel.ini"]
    there = open_configuration([tmp_path / "lark"]).documents
    assert {each.path: each.dialect for each in there}["lark/reels.txt"] == "flat"
    (tmp_path / SITE).write_text('site: 1\ndialects: {"lark/reel.txt": flat}\n')
    with pytest.raises(BadInput, match="it was not read"):  # a typo
        open_configuration([tmp_path / "wren"])
