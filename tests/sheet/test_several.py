"""Sheets of several feeders and filaments: each lane is what a plain sheet of that feeder alone would say."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.ground.findings import BadInput, Place, Refused
from cfgmigrate.machine.model import MACHINE, Holder
from cfgmigrate.sheet.model import Sheet, SheetEntry, laid_over
from cfgmigrate.sheet.reader import parse_sheet
from cfgmigrate.sheet.schema import measured_schema, sheet_schema
from cfgmigrate.sheet.several import NO_NAMES, Known, one_lane

SCHEMA = sheet_schema()
KNOWN = Known({"left": 1, "right": 2}, (1, 2), (Holder("filament", "petg_black"), Holder("print", "fine")))
PETG, TPU = Holder("filament", "petg_black"), Holder("filament", "tpu")

TWO = """\
feeders:
  1:
    old: {tube: {length: 430 mm, bore: 2 mm, bend: 180 deg}}
    new:
      drive: on the carriage
      feed_per_turn: 4.15 mm
      drive_gear: {effective_diameter: 7.33 mm, gear_ratio: 50:9, external_meshes: 1}
      motor: {rated_current: 0.8 A, recommended_current: 0.4 A}
      driver: {part: TMC2209, sense_resistor: 0.11 ohm}
      tube: {length: 38 mm, bore: 2 mm}
  right: {same_as: 1, new: {steps_per_mm: 512 1/mm, microsteps: 16, tube: }}
filament: {material: PLA, diameter: 1.75 mm, modulus: 3.4 GPa}
filaments:
  petg black: {material: PETG, diameter: 1.72 mm}
  tpu: {values: old, modulus: }
carriage: {old_mass: 310 g}
values: new
"""


def sheet(text: str, known: Known = NO_NAMES) -> Sheet:
    return parse_sheet(text.encode(), "s.yaml", known=known)


def two() -> Sheet:
    return sheet(TWO, Known({"right": 2}))


def said(found: Sheet) -> dict[str, str]:
    return {path: entry.text for path, entry in found.entries.items()}


def test_each_feeder_has_its_own_and_what_the_machine_has_once() -> None:
    first, second = said(two().lane(1)), said(two().lane(2))
    assert first["new.feed_per_turn"] == "4.15 mm" and "new.steps_per_mm" not in first
    assert first["carriage.old_mass"] == second["carriage.old_mass"] == "310 g"
    assert second["old.tube.length"] == "430 mm" and second["new.motor.rated_current"] == "0.8 A"
    assert not {"feeder", "values", "same_as"} & (set(first) | set(second))


def test_an_own_answer_drops_what_answered_the_same_question_in_another_way() -> None:
    second = said(two().lane(2))
    assert second["new.steps_per_mm"] == "512 1/mm" and second["new.microsteps"] == "16"
    for rival in ("feed_per_turn", "drive_gear.effective_diameter", "drive_gear.gear_ratio"):
        assert f"new.{rival}" not in second
    assert second["new.drive_gear.external_meshes"] == "1"


def test_a_key_with_nothing_behind_it_says_not_so_here() -> None:
    assert "new.tube.length" in two().lane(1).entries
    assert not [path for path in two().lane(2).entries if path.startswith("new.tube")]


def test_a_profile_s_material_goes_over_the_sheet_s_and_under_what_is_said_of_it_by_name() -> None:
    own = SheetEntry("filament.material", "ASA", Place("p.conf", 3, 1), word="ASA")
    plain, petg, tpu = (two().lane(1, profile, own if profile else None) for profile in (None, PETG, TPU))
    assert [each.entries["filament.material"].word for each in (plain, petg, tpu)] == ["PLA", "PETG", "ASA"]
    assert petg.entries["filament.diameter"].value == 1.72 and tpu.entries["filament.diameter"].value == 1.75
    assert "filament.modulus" in plain.entries
    assert "filament.modulus" not in petg.entries and "filament.modulus" not in tpu.entries


def test_the_same_material_again_drops_nothing() -> None:
    own = SheetEntry("filament.material", "PLA", Place("p.conf", 3, 1), word="PLA")
    assert "filament.modulus" in two().lane(1, Holder("filament", "white"), own).entries


def test_the_age_of_values_is_said_for_the_machine_a_feeder_or_a_profile() -> None:
    found = sheet(
        "feeders: {1: {values: old, new: {drive: tube-fed}}, 2: {values: new}}\nprints: {fine: {values: new}}"
    )
    assert [found.values_of(Holder("feeder", number)) for number in "123"] == ["old", "new", ""]
    assert found.values_of(Holder("print", "fine")) == "new" and found.values_of(MACHINE) == ""
    assert found.swapped == (1,)
    assert two().values_of(TPU) == "old" and two().values_of(PETG) == "" and two().values_of(MACHINE) == "new"
    assert two().values_of(Holder("feeder", "1")) == ""


def test_a_plain_sheet_means_the_first_feeder_or_the_one_it_names() -> None:
    text = "old: {retraction: 5 mm}\nvalues: old\nclearance: {highest_z: 200 mm}\n"
    for added, meant, given_ in (("", 1, None), ("feeder: 2\n", 2, 2), ("feeder: Right\n", 2, 2)):
        found = sheet(text + added, KNOWN)
        assert (found.plain, found.swapped, found.feeder) == (True, (meant,), given_)
        assert found.tells_of(meant) and not found.tells_of(3 - meant)
        assert set(found.lane(meant).entries) == {"old.retraction", "clearance.highest_z"}
        assert set(found.lane(3 - meant).entries) == {"clearance.highest_z"}
        assert found.values_of(MACHINE) == found.values_of(Holder("feeder", str(meant))) == "old"
        assert found.values_of(Holder("feeder", str(3 - meant))) == ""


def test_what_was_said_is_kept_by_whom_it_is_about() -> None:
    plain = sheet("old: {retraction: 5 mm}\nclearance: {highest_z: 200 mm}\n").by_holder()
    several = sheet(
        "feeders: {1: {old: {retraction: 5 mm}}, 2: {old: {lag: 1 s}}}\nclearance: {highest_z: 200 mm}\n"
    )
    assert {holder: set(found) for holder, found in plain.items()} == {
        MACHINE: {"clearance.highest_z"}, Holder("feeder", "1"): {"old.retraction"},
    }  # fmt: skip
    assert set(several.by_holder()) == {MACHINE, Holder("feeder", "1"), Holder("feeder", "2")}
    assert set(two().by_holder()[Holder("filament", "petg black")]) == {
        "filament.material",
        "filament.diameter",
    }


def test_a_measured_sheet_names_its_lane() -> None:
    text = b"of: {feeder: right, filament: PETG black}\nmeasured: {feed: {asked: 100 mm}}\n"
    found = parse_sheet(text, "m.yaml", measured_schema(), KNOWN)
    assert (found.feeder, found.filament, found.swapped) == (2, "PETG black", (2,))


def test_who_works_out_one_feeder_takes_no_sheet_of_several() -> None:
    for text in ("feeder: 2\n", TWO.replace("right", "2")):
        with pytest.raises(Refused):
            one_lane(sheet(text))
    for text in ("old: {retraction: 5 mm}\n", "filaments: {a: {material: PLA}}\n"):
        assert one_lane(sheet(text))


@pytest.mark.parametrize(
    ("text", "place", "what", "remedy"),
    [
        ("feeders: {middle: {new: {drive: tube-fed}}}", "1:11", "no feeder 'middle'", "Known ones: 1 (left), 2 (right)."),
        ("feeders: {3: {new: {drive: tube-fed}}}", "1:11", "no feeder '3'", "1 (left), 2"),
        ("feeders: {0: {new: {drive: tube-fed}}}", "1:11", "no feeder '0'", "count from 1 here"),
        ("feeder: middle", "1:9", "no feeder 'middle'", "1 (left), 2"),
        ("feeders: {1: {new: {lag: 1 s}}}", "1:21", "no field new.lag", "old.lag"),
        ("feeders: {1: {nwe: {lag: 1 s}}}", "1:15", "no field nwe", "new"),
        ("feeders: {1: {clearance: {highest_z: 1 mm}}}", "1:15", "no field clearance", "old, new, values, same_as"),
        ("feeders: {1: {values: odd}}", "1:23", "not one of its words", "old, new"),
        ("feeders: {2: {same_as: 1}}", "1:24", "says nothing about feeder 1", "none"),
        ("feeders: {1: {old: {lag: 1 s}}, 2: {same_as: 2}}", "1:46", "the same as itself", "of their own: 1."),
        ("feeders: {1: {same_as: 2}, 2: {same_as: 1}}", "1:24", "takes over another one's", "of their own: none."),
        ("feeders: {1: {same_as: [2]}}", "1:24", "takes one feeder", "same_as: 1"),
        ("feeders: {1: {old: {lag: 1 s}}, left: {old: {lag: 2 s}}}", "1:33", "feeder 1 is here twice", "one of the two"),
        ("feeders: {1: {old: {lag: 1 s}}}\nold: {lag: 2 s}", "2:1", "old stands beside feeders", "feeders: {1: {old"),
        ("feeders: {1: {old: {lag: 1 s}}}\nfeeder: 1", "2:1", "feeder stands beside feeders", "Leave it out"),
        ("feeders: [1]", "1:10", "holds one group of fields for each", "number or name"),
        ("feeders: {1: 5 mm}", "1:14", "holds fields, not one value", "old"),
        ("feders: {1: {old: {lag: 1 s}}}", "1:1", "no field feders", "feeders"),
        ("filament: {material: PLA}\nfilamens: {a: {}}", "2:1", "no field filamens", "filaments"),
        ("filaments: {white: {material: PLA}}", "1:13", "no filament profile 'white'", "petg_black"),
        ("filaments: {petg black: {lenght: 1 mm}}", "1:26", "no field filament.lenght", "values"),
        ("filaments: {petg black: PETG}", "1:25", "filament holds fields, not one value", "material"),
        ("filaments: {petg black: {values: old}, PETG-black: {values: old}}", "1:40", "is here twice", "one of the two"),
        ("prints: {fine: {material: PLA}}", "1:17", "no field material", ""),
        ("filament: {diameter: 1.75 mm}\nfeeders: {1: {new: {tube: {bore: 1.7 mm}}}}", "2:34", "not more than filament.diameter", "slip"),
        ("new: {tube: {bore: 1.8 mm}}\nfilaments: {petg black: {diameter: 1.85 mm}}", "1:20", "not more than filament.diameter", "slip"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_several_is_said_where_it_stands(
    text: str, place: str, what: str, remedy: str
) -> None:
    with pytest.raises(BadInput) as caught:
        sheet(text, KNOWN)
    assert str(caught.value.place) == f"s.yaml:{place}"
    assert what in caught.value.what and remedy in str(caught.value)


OTHERS = Known(
    {"red": 1, "near red": 2},
    (1, 2),
    shared={"blue": (1, 2)},
    counted={"feeder 0": 1, "feeder 1": 2, "tool 0": 1},
)


@pytest.mark.parametrize(
    ("text", "number", "why"),
    [
        ("RED", 1, ""), ("feeder.red", 1, ""), ('pusher "red"', 1, ""), ("[feeder near-red]", 2, ""), ("near_red", 2, ""),
        ("T0", 1, ""), ("tool 0", 1, ""), ("feeder 0", 1, ""), ("2", 2, ""), ("T1", None, "no feeder"), ("green", None, "no feeder"),
        ("Blue", None, "'Blue' is the name of feeders 1 and 2. Write its number: 1, 2."), ("feeder blue", None, "no feeder"),
        ("feeder 1", None, "'feeder 1' may be feeder 2, which the files call so"), ("feeder", None, "no feeder"),
        ("0", None, "They count from 1 here, whatever the files do."),
    ],
)  # fmt: skip
def test_a_feeder_goes_by_its_number_or_as_the_files_call_it(text: str, number: int | None, why: str) -> None:
    assert OTHERS.number(text) == number
    assert number is not None or why in ". ".join(OTHERS.why_not(text))


def test_without_a_site_file_a_name_is_refused_with_how_to_give_one() -> None:
    with pytest.raises(BadInput) as caught:
        sheet("feeders: {right: {old: {lag: 1 s}}}")
    assert "cfgmigrate.yaml" in caught.value.remedy


def test_no_field_has_itself_for_a_rival() -> None:
    for path, rivals in SCHEMA.rivals.items():
        assert path not in rivals, path


fields = st.dictionaries(
    st.sampled_from([path for path in SCHEMA.fields if path.startswith(("old.", "new."))]), st.booleans(), max_size=12
)  # fmt: skip


def entries(chosen: dict[str, bool], line: int) -> dict[str, SheetEntry]:
    return {
        path: SheetEntry(path, "x" if full else "", Place("s.yaml", line), word=f"{line}" if full else "")
        for path, full in chosen.items()
    }


@given(fields, fields)
def test_laid_over_another_an_own_answer_always_stands_and_nothing_comes_from_nowhere(
    below: dict[str, bool], own: dict[str, bool]
) -> None:
    lower, upper = entries(dict.fromkeys(below, True), 1), entries(own, 2)
    laid = laid_over(lower, upper)
    for path, full in own.items():
        assert (path in laid) == full and laid.get(path, upper[path]) is upper[path]
    for path, entry in laid.items():
        assert entry is upper.get(path, lower.get(path))
        assert path in own or not any(path in SCHEMA.rivals.get(other, ()) for other in own if own[other])
    assert laid_over(lower, lower) == lower


@given(
    st.sets(
        st.sampled_from([path for path in SCHEMA.fields if path.startswith(("old.", "new."))]), min_size=1
    )
)
def test_a_feeder_s_lane_says_what_a_plain_sheet_of_it_would(paths: set[str]) -> None:
    tree: dict[str, dict[str, object]] = {}
    for path in sorted(paths):
        *above, name = path.split(".")
        node: dict[str, object] = tree
        for part in above:
            node = node.setdefault(part, {})  # type: ignore[assignment]
        node[name] = SCHEMA.fields[path].example
    plain = str(tree)
    own = sheet(f"feeders: {{2: {plain}}}").lane(2)
    assert said(own) == said(sheet(f"{plain}\n".replace("{'", "{'", 1)))
