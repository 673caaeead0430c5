"""Reading the site file: every field with its place, what is wrong by line and column, joined with what it extends."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.files.found import SITE
from cfgmigrate.files.site_reading import parse_site, site_at
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.machine.names import names_of

WHOLE = """\
site: 1
# what is what
roles: {machine.conf: in force, machine_v2.conf: kept copy, "bigone/**": other machine, reels/: profile}
feeders: {1: {name: left, known_as: ["feeder", "T0"]}, 2: {name: right, known_as: "feeder 2"}}
profiles: {reels/petg_black.conf: {filament: PETG black, material: PETG, feeders: [1]}}
dialects: {odd.txt: flat}
decimals: {reels/: comma, reels/x.conf: point}
meanings: {"[drive] mm one way": feeder.feed_per_turn, "MD_@_VMAX": axis.@.max_speed, "[display] turns": ignore}
codes: {M933.L: {quantity: lag.coefficient, unit: s}}
"""


def test_every_field_of_the_schema_is_read() -> None:
    site = parse_site(WHOLE.encode(), SITE)
    paths = ["machine.conf", "machine_v2.conf", "bigone/parts/a.conf", "reels/x.conf", "other.conf"]
    assert {path: str(found.role) for path, found in site.roles_of(paths).items()} == {
        "machine.conf": "in force",
        "machine_v2.conf": "kept copy",
        "bigone/parts/a.conf": "other machine",
        "reels/x.conf": "profile",
    }
    assert [(each.number, each.name, each.known_as) for each in site.feeders] == [
        (1, "left", ("feeder", "T0")),
        (2, "right", ("feeder 2",)),
    ]
    profile = site.profile_of("reels/petg_black.conf")
    assert profile is not None
    assert (profile.filament, profile.material, profile.feeders) == ("PETG black", "PETG", (1,))
    assert site.dialects == {"odd.txt": "flat"}
    assert site.decimals_of(["reels/y.conf", "reels/x.conf", "z"]) == {
        "reels/y.conf": "comma",
        "reels/x.conf": "point",
    }
    assert [item.key for item in site.codes] == ["M933.L"]
    names = names_of(site.meanings, SITE)
    assert names.entries["md_x_vmax"].meanings[0].quantity == "axis.x.max_speed"


@pytest.mark.parametrize(
    ("text", "line", "column", "says"),
    [
        ("roles: {}\n", 1, 1, "no site file of version 1"),
        ("site: 2\n", 1, 7, "no site file of version 1"),
        ("site: 1\nrole: {a: in force}\n", 2, 1, "did you mean 'roles'"),
        ("site: 1\nroles: {a.conf: in fource}\n", 2, 17, "did you mean 'in force'"),
        ("site: 1\nroles: {../a.conf: in force}\n", 2, 9, "below its folder"),
        ("site: 1\nroles: all\n", 2, 8, "lines of"),
        ("site: 1\nfeeders: {0: {name: x}}\n", 2, 11, "goes by its number"),
        ('site: 1\nprofiles: {"[a] b": ignore}\n', 2, 21, "said below meanings"),
        ("site: 1\nprofiles: {a: {filament: x, print: y}}\n", 2, 15, "not both"),
        ("site: 1\ndialects: {a.txt: flatt}\n", 2, 19, "did you mean 'flat'"),
        ("site: 1\ndecimals: {a.txt: coma}\n", 2, 19, "did you mean 'comma'"),
        ("site: 1\nextends: gone.yaml\n", 2, 10, "can't be read"),
        ('site: 1\nextends: "a\\0b.yaml"\n', 2, 10, "no file is called so"),
        (f"site: 1\nprofiles: {{a: {{feeders: [{'1' * 5000}]}}}}\n", 2, 26, "goes by its number"),
        (
            "site: 1\nfeeders:\n" + "".join(f"  n{each}: \n" for each in range(100)),
            102,
            3,
            "more than 99 feeders",
        ),
        ("site: 1\nfeeders: {1: left, 2: left}\n", 2, 20, "two feeders are called left"),
        ("site: 1\nfeeders: {01: left, 1: right}\n", 2, 21, "two feeders are called right"),
        ("site: 1\nfeeders: {1: {known_as: [feeder 2]}}\n", 2, 11, "the number of another one"),
        (
            "site: 1\nfeeders: {1: {known_as: [E1]}, 2: {known_as: [e1]}}\n",
            2,
            32,
            "can't both be known as 'e1'",
        ),
    ],
)
def test_what_is_wrong_is_told_with_line_and_column(
    tmp_path: Path, text: str, line: int, column: int, says: str
) -> None:
    (tmp_path / SITE).write_text(text)
    with pytest.raises(BadInput) as problem:
        site_at(tmp_path)
    assert problem.value.place is not None
    assert (problem.value.place.line, problem.value.place.column) == (line, column)
    assert says in str(problem.value)


@pytest.mark.parametrize(
    ("text", "numbers", "begins"),
    [
        ('{right: "feeder 2", left: "feeder 1"}', {"right": 2, "left": 1}, {"feeder": 1}),
        ("{right: T1, left: T0}", {"right": 2, "left": 1}, {"t": 0}),
        (
            '{left: feeders/left.json, right: {known_as: ["feeder 2", T1]}}',
            {"left": 1, "right": 2},
            {"feeder": 1, "t": 0},
        ),
        ("{right: near the door, left: by the wall}", {"right": 1, "left": 2}, {}),
        ('{2: {name: far, known_as: ["feeder 1"]}}', {"far": 2}, {"feeder": 0}),
    ],
)
def test_a_feeder_is_the_one_whose_number_it_is_known_by(
    tmp_path: Path, text: str, numbers: dict[str, int], begins: dict[str, int]
) -> None:
    (tmp_path / SITE).write_text(f"site: 1\nfeeders: {text}\n")
    found = site_at(tmp_path)
    assert {each.name: each.number for each in found.feeders} == numbers
    assert found.counts_from == begins


def test_a_code_of_the_site_file_says_what_a_word_sets(tmp_path: Path) -> None:
    from cfgmigrate.workflow.prepare import read_machine

    (tmp_path / "set.nc").write_text("M92 X84 Y86 Z410 E96\nM933 L0.4 Q2\n")
    assert read_machine(tmp_path)[1].get("lag.coefficient") is None
    (tmp_path / SITE).write_text("site: 1\ncodes: {M933.L: {quantity: lag.coefficient, unit: s}}\n")
    reading = read_machine(tmp_path)[1].get("lag.coefficient")
    assert reading is not None and (reading.value, reading.text) == (0.4, "0.4")
    (tmp_path / SITE).write_text("site: 1\ncodes: {M933: ignore}\n")
    with pytest.raises(BadInput, match="with its letter"):
        site_at(tmp_path)
    (tmp_path / SITE).write_text("site: 1\ncodes: {G1.Z: axis.z.max}\n")
    with pytest.raises(BadInput, match="is of a move"):
        site_at(tmp_path)


def test_what_it_extends_is_joined_for_meanings_and_codes_alone(tmp_path: Path) -> None:
    (tmp_path / "workshop.yaml").write_text(
        "site: 1\nmeanings: {pull: retraction.length, push: ignore}\ncodes: {M9.L: {quantity: lag.coefficient}}\n"
    )
    root = tmp_path / "wren"
    root.mkdir()
    (root / SITE).write_text("site: 1\nextends: ../workshop.yaml\nmeanings: {push: retraction.speed}\n")
    site = site_at(root)
    assert [item.key for item in site.meanings] == ["push", "pull"]
    alone = parse_site(site.joined, "site.yaml")
    assert {item.key: item.node.text for item in alone.meanings} == {
        "push": "retraction.speed",
        "pull": "retraction.length",
    }
    assert [item.key for item in alone.codes] == ["M9.L"]
    (tmp_path / "workshop.yaml").write_text("site: 1\nroles: {a: in force}\n")
    with pytest.raises(BadInput, match="no field 'roles'"):
        site_at(root)


def test_a_site_file_that_stands_by_itself_knows_which_lines_it_took_in(tmp_path: Path) -> None:
    from cfgmigrate.files.site_writing import joined_text

    (tmp_path / "workshop.yaml").write_text(
        "site: 1\nmeanings: {pull: ignore}\ncodes: {M9.L: ignore}\nwords: {kurz: least}\n"
    )
    root = tmp_path / "wren"
    root.mkdir()
    (root / SITE).write_text("site: 1\nextends: ../workshop.yaml\nmeanings: {push: ignore}  # ours\n")
    site = site_at(root)
    assert site.shared == {"pull", "kurz", "[M9] L"}
    alone = parse_site(site.joined, "site.yaml")
    assert alone.shared == site.shared and alone.joined == site.joined
    assert parse_site(joined_text(site.joined, b""), "site.yaml").shared == site.shared
    assert parse_site(site.source, SITE).shared == frozenset()


def test_crossed_plugs_are_taken_as_they_are_said_and_begin_no_counting(tmp_path: Path) -> None:
    text = "site: 1\nfeeders: {1: {name: wren, known_as: [T0, E1, P1]}, 2: {name: finch, known_as: [T1, E0, P0]}}\n"
    (tmp_path / SITE).write_text(text)
    site = site_at(tmp_path)
    assert [each.known_as for each in site.feeders] == [("T0", "E1", "P1"), ("T1", "E0", "P0")]
    assert site.counts_from == {"t": 0}
