"""Each filament's and print's values are its own: in every dialect, in one file and in several."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.files.roles import FileRole, FileSet, NamedProfile, Role
from cfgmigrate.machine import profiles as own
from cfgmigrate.machine.model import MACHINE, Holder, Machine
from cfgmigrate.machine.recognise import recognise

RETRACTION = "retraction.length"
OWN = {"pla": 5.2, "petg": 6.0, "tpu": 2.0}
PETG = Holder("filament", "petg")


def machine(files: dict[str, tuple[str, str]], profiles: tuple[str, ...] = ()) -> Machine:
    """The machine of files, by path: dialect and text. Those in `profiles` have that role."""
    documents = [read(path, text.encode(), dialect) for path, (dialect, text) in files.items()]
    roles = {path: FileRole(path, Role.PROFILE, "said in the test") for path in profiles}
    return recognise(documents, roles=FileSet(roles))


def retractions(found: Machine) -> dict[str, float | None]:
    return {str(each.holder): each.value for each in found.readings if each.quantity == RETRACTION}


ONE_FILE = {
    "sectioned": "[filament {0}]\nnozzle = 210\nretraction length = {1}\nlag = 0.5\n",
    "flat": "filament.{0}.nozzle = 210\nfilament.{0}.retraction.length = {1}\n",
    "header": "#define FILAMENT_{0}_LAG 0.5\n#define FILAMENT_{0}_RETRACTION_LENGTH {1}\n",
}


@pytest.mark.parametrize("dialect", sorted(ONE_FILE))
def test_three_filaments_in_one_file_keep_three_retractions(dialect: str) -> None:
    text = "".join(ONE_FILE[dialect].format(name, value) for name, value in OWN.items())
    found = machine({"wren": (dialect, text)})
    assert retractions(found) == {f"filament {name}": value for name, value in OWN.items()}
    assert [found.material(holder) for holder in found.profiles] == ["PLA", "PETG", "TPU"]
    assert found.get(RETRACTION) is None
    for name, value in OWN.items():
        own = found.view(1, Holder("filament", name)).get(RETRACTION)
        assert own is not None and own.value == value


@pytest.mark.parametrize(
    "text",
    [
        '{"filaments": {"pla": {"retraction": {"length": 5.2}, "lag": 0.5, "flow": 1}, '
        '"petg": {"retraction": {"length": 6.0}, "lag": 0.7, "flow": 1}, '
        '"tpu": {"retraction": {"length": 2.0}, "lag": 0.9, "flow": 1}}}',
        '{"spools": [{"name": "pla", "retraction": {"length": 5.2}}, '
        '{"name": "petg", "retraction": {"length": 6.0}}, {"name": "tpu", "retraction": {"length": 2.0}}]}',
        '{"printer": {"filament": {"materials": [{"name": "pla", "retraction length": 5.2}, '
        '{"name": "petg", "retraction length": 6.0}, {"name": "tpu", "retraction length": 2.0}]}}}',
    ],
)
def test_objects_below_a_word_for_filaments_are_filaments(text: str) -> None:
    assert retractions(machine({"wren.json": ("nested", text)})) == {
        f"filament {name}": value for name, value in OWN.items()
    }


@pytest.mark.parametrize(
    "above", ["print_sets", "layerModes", "quality levels", "slicing styles", "qualities"]
)
def test_sets_of_prints_below_a_word_for_them_are_no_rivals_of_the_machine_s_own(above: str) -> None:
    sets = '{"brisk": {"retract_mm": 1.0, "layer_mm": 0.1}, "calm": {"retract_mm": 1.3, "layer_mm": 0.3}}'
    found = machine({"wren.json": ("nested", f'{{"retract_mm": 1.1, "{above}": {sets}}}')})
    assert retractions(found) == {"machine": 1.1, "print brisk": 1.0, "print calm": 1.3}
    assert not found.doubts


FILES = {
    "sectioned": "[retraction]\nlength = {1}\n[about]\nmaterial = {0}\n",
    "flat": "filament name = {0}\nretraction length = {1} mm\n",
    "header": '#define MATERIAL "{0}"\n#define RETRACTION_LENGTH {1}\n',
    "command": "M207 S{1} F2400\n",
    "nested": '{{"filament": "{0}", "retraction": {{"length": {1}}}}}',
}


@pytest.mark.parametrize("dialect", sorted(FILES))
def test_three_filaments_in_three_files_keep_three_retractions(dialect: str) -> None:
    files = {f"spools/{name}": (dialect, FILES[dialect].format(name, value)) for name, value in OWN.items()}
    found = machine({"wren": ("sectioned", "[retraction]\nlength = 5\n"), **files}, tuple(files))
    said = {holder.casefold(): value for holder, value in retractions(found).items()}
    assert said == {"machine": 5, **{f"filament {name}": value for name, value in OWN.items()}}
    assert {found.material(holder) for holder in found.profiles} == {"PLA", "PETG", "TPU"}
    assert not found.followed and not found.shadowed


def test_a_print_profile_is_told_from_a_filaments() -> None:
    text = "[print fine]\nlayer = 0.1\nretraction length = 5\n[print draft]\nlayer = 0.3\nretraction length = 6\n"
    assert retractions(machine({"wren": ("sectioned", text)})) == {"print fine": 5, "print draft": 6}
    slicing = "[profile]\nname = ring gauges\nlayer height = 0.2\nwalls = 3\n[retraction]\nlength = 4.6\n"
    assert retractions(machine({"slicing": ("sectioned", slicing)}, ("slicing",))) == {
        "print ring gauges": 4.6
    }
    assert retractions(machine({"slicing": ("sectioned", slicing)})) == {"machine": 4.6}


def test_a_file_of_print_settings_holds_one_print_for_each_word_before_its_keys() -> None:
    text = "".join(
        f"{name}_lyr = {layer}\n{name}_vel = 40\n{name}_retract_length = {own}\n"
        for name, layer, own in (("fine", 0.1, 5), ("draft", 0.3, 6))
    )
    assert retractions(machine({"prn": ("flat", text)}, ("prn",))) == {"print fine": 5, "print draft": 6}


def test_a_list_of_sorts_of_jobs_holds_print_profiles() -> None:
    jobs = ", ".join(
        f'"{name}": {{"retraction length": {mm}, "layer": 0.2}}' for name, mm in (("brisk", 4), ("dainty", 3))
    )
    text = f'{{"types of job": {{{jobs}}}}}'
    assert retractions(machine({"wren": ("nested", text)})) == {"print brisk": 4, "print dainty": 3}


@pytest.mark.parametrize("kind", [("profile: tpu", "filament tpu"), ("material abs", "filament abs")])
def test_a_materials_name_makes_a_profile_a_filaments(kind: tuple[str, str]) -> None:
    text = f"[{kind[0]}]\nretraction length = 2\nlayer = 0.2\n"
    assert retractions(machine({"wren": ("sectioned", text)})) == {kind[1]: 2}


@pytest.mark.parametrize(
    "section",
    [
        "filament",
        "filament sensor",
        "filament drive",
        "filament load",
        "print head",
        "material change",
        "print area",
    ],
)
def test_a_word_for_a_profile_alone_makes_none(section: str) -> None:
    text = f"[{section}]\nretraction length = 2\nlag = 0.5\n"
    assert machine({"wren": ("sectioned", text)}).profiles == ()


def test_keys_of_walls_and_moves_are_no_profiles_names() -> None:
    text = "".join(
        f"print.{which}.wall.{what} = 20\nprint_{which}_wall_{what} = 20\n"
        for which in ("outer", "inner", "first")
        for what in ("speed", "width", "flow")
    )
    assert machine({"wren": ("flat", text)}).profiles == ()


def test_a_longer_name_is_told_from_a_shorter() -> None:
    keys = ("LAG", "RETRACTION_LENGTH", "RETRACTION_SPEED")
    text = "".join(
        f"#define FILAMENT_{name}_{key} {value}\n"
        for name, own in (("PETG", 5), ("PETG_BLACK", 6), ("PLA", 4))
        for key, value in zip(keys, (0.5, own, 30), strict=True)
    )
    assert retractions(machine({"wren.h": ("header", text)})) == {
        "filament petg": 5,
        "filament petg black": 6,
        "filament pla": 4,
    }


def test_a_name_shared_by_two_files_makes_two_profiles() -> None:
    text = "[filament petg]\nretraction length = {0}\nlag = 0.5\n"
    found = machine({"a.ini": ("sectioned", text.format(5)), "b.ini": ("sectioned", text.format(6))})
    assert retractions(found) == {"filament petg (a.ini)": 5, "filament petg (b.ini)": 6}
    assert not found.followed


TWO = "[feeder]\nsteps per mm = 96\n[feeder 2]\nsteps per mm = 438\n"


@pytest.mark.parametrize(
    ("line", "serves"),
    [("feeder = 2", (2,)), ("tool = T0", (1,)), ("for feeder = right", (2,)), ("flow = 1", (1, 2))],
)
def test_a_profile_serves_the_feeder_that_it_says(line: str, serves: tuple[int, ...]) -> None:
    text = f"{TWO}[filament petg]\nretraction length = 5\n{line}\n[filament pla]\nretraction length = 4\nfeeder = 0\n"
    text = text.replace("feeder = 0", "feeder = 1") if "2" in line else text
    found = machine({"wren": ("sectioned", text)})
    own = found.reading(RETRACTION, PETG)
    assert own is not None and own.serves == serves
    for number in (1, 2):
        assert (PETG in found.profiles_serving(number)) == (number in serves)


@pytest.mark.parametrize(
    "feeders",
    [
        '[{"label": "right", "retraction length": 1}, {"label": "left", "retraction length": 2}]',
        '{"names": ["right", "left"], "retraction length": [1, 2]}',
    ],
)
def test_a_feeder_is_known_by_the_name_that_the_files_give_it(feeders: str) -> None:
    own = '[{"name": "petg", "lag": 0.5, "flow": 1, "feeder": "left"}, {"name": "pla", "lag": 0.4, "flow": 1, "feeder": "right"}]'
    found = machine({"wren.json": ("nested", f'{{"feeders": {feeders}, "filaments": {own}}}')})
    assert found.profiles_serving(1) == (Holder("filament", "pla"),)
    assert found.profiles_serving(2) == (PETG,)


@pytest.mark.parametrize(
    ("line", "serves"),
    [("for = pine", (2,)), ("nozzle = oak", (1,)), ("for = PLA", (1, 2)), ("nozzle = 2", (1, 2))],
)
def test_a_profile_that_says_the_name_of_a_feeder_is_that_ones(line: str, serves: tuple[int, ...]) -> None:
    two = "[feeder, oak]\nsteps per mm = 96\n[feeder, pine]\nsteps per mm = 438\n"
    found = machine({"wren": ("sectioned", f"{two}[filament petg]\nretraction length = 5\n{line}\n")})
    own = found.reading(RETRACTION, PETG)
    assert found.feeder_names == {"oak": 1, "pine": 2} and own is not None and own.serves == serves


def test_profiles_that_only_say_1_are_a_question_where_there_are_two_feeders() -> None:
    text = f"{TWO}[filament petg]\nretraction length = 5\nfeeder = 1\n"
    found = machine({"wren": ("sectioned", text)})
    own = found.reading(RETRACTION, PETG)
    assert own is not None and not own.editable
    assert any("known_as: [T1]" in doubt.remedy for doubt in found.doubts)


NAMES = ("pla", "petg black", "petg white", "tpu")
SECTIONS = ("retraction", *(f"filament {name}" for name in NAMES))
PLACES = ("wren.ini", "spools.ini")


@given(
    st.lists(
        st.tuples(st.sampled_from(PLACES), st.sampled_from(SECTIONS), st.sampled_from((4, 5, 6.5))),
        max_size=8,
    )
)
def test_two_profiles_never_share_a_reading(said: list[tuple[str, str, float]]) -> None:
    texts = dict.fromkeys(PLACES, "[about]\nnote = none\n")
    for path, section, value in said:
        texts[path] += f"[{section}]\nretraction length = {value}\n"
    found = recognise([_sectioned(path, text) for path, text in texts.items()])
    spans = Counter((each.place.file, each.start) for each in found.every_reading)
    assert set(spans.values()) <= {1} and len(found.every_reading) == len(said)
    for reading in found.every_reading:
        assert (reading.holder == MACHINE) == (reading.setting.section == "retraction")
        assert (
            reading.holder == MACHINE
            or reading.setting.section.removeprefix("filament ") in reading.holder.name
        )
    for key, along in found.followed.items():
        assert {each.key for each in along} == {key}
        assert found.reading(*key) is not None
    for profile in (None, *found.profiles):
        seen = found.view(1, profile).get(RETRACTION)
        own = found.reading(RETRACTION, profile) if profile else None
        assert seen is (own or found.reading(RETRACTION, MACHINE))


def _sectioned(path: str, text: str) -> Document:
    return read(path, text.encode(), "sectioned")


@pytest.mark.parametrize("number", ["²", "9" * 5000])
def test_a_number_that_no_feeder_has_is_read_without_harm(number: str) -> None:
    text = f"{TWO}[filament petg]\nretraction length = 5\nfeeder = {number}\n[filament pla]\nretraction length = 4\n"
    assert set(retractions(machine({"wren.conf": ("sectioned", text)})).values()) == {5.0, 4.0}


def test_a_diameter_is_no_name_and_a_spools_kind_is_its_material() -> None:
    """Two spools of one diameter go by their files; what kind of plastic each is stands in its own section."""
    text = "[spool]\nmaker = a neighbour\nkind = {}\n[flow]\nfilament = 1.75\n[brim]\nkind = skirt\n[retract]\nlength = {}\n"
    documents = [
        read(f"spools/{name}.ini", text.format(kind, length).encode(), "sectioned")
        for name, kind, length in (("bendy 88", "TPU 88A", 2.4), ("clear one", "PETG", 5.8))
    ]
    roles = FileSet({each.path: FileRole(each.path, Role.PROFILE, "a spool") for each in documents})
    found = recognise(documents, roles=roles).found_profiles
    assert {(each.holder.name, each.material) for each in found} == {
        ("bendy 88", "TPU"),
        ("clear one", "PETG"),
    }


TWO_FEEDERS = "[feeder 1]\nretraction length = 5\n[feeder 2]\nretraction length = 4\n"
REEL = "[filament clear]\nmaterial = PLA\nretraction length = 5.4\n"


def told(said: NamedProfile, text: str = REEL) -> Machine:
    """A machine of two feeders whose file `reels/clear` is what was said of it."""
    documents = [
        read("wren", TWO_FEEDERS.encode(), "sectioned"),
        read("reels/clear", text.encode(), "sectioned"),
    ]
    roles = {"reels/clear": FileRole("reels/clear", Role.PROFILE, "said in the test")}
    return recognise(documents, roles=FileSet(roles, named={"reels/clear": said}))


@pytest.mark.parametrize(
    ("said", "holder"),
    [
        (NamedProfile("filament", "glass", "PETG", 2), "filament glass"),
        (NamedProfile("", "", "PETG", 2), "filament clear"),
    ],
)
def test_what_is_said_of_a_file_holds_for_the_section_in_it(said: NamedProfile, holder: str) -> None:
    found = told(said)
    assert retractions(found) == {"feeder 1": 5, "feeder 2": 4, holder: 5.4}
    (profile,) = found.found_profiles
    assert (profile.feeders, profile.material) == ((2,), "PETG")


@pytest.mark.parametrize(
    ("said", "text", "material"),
    [
        (NamedProfile("filament", "tpu soft", "", 2), "name = tpu soft\nretraction length = 2\n", "TPU"),
        (NamedProfile("filament", "tpu soft", "PETG", 2), "name = tpu soft\nretraction length = 2\n", "PETG"),
        (NamedProfile("filament", "tpu soft", "", 2), REEL, "PLA"),
        (NamedProfile("filament", "glass", "", 2), "name = glass\nretraction length = 2\n", ""),
    ],
)
def test_to_name_a_profile_does_not_take_away_the_material_that_its_name_says(
    said: NamedProfile, text: str, material: str
) -> None:
    assert [each.material for each in told(said, text).found_profiles] == [material]


def test_one_name_for_a_file_of_two_profiles_leaves_them_two() -> None:
    found = told(NamedProfile("filament", "glass", "", 2), REEL + REEL.replace("clear", "dark"))
    assert retractions(found).keys() >= {"filament clear", "filament dark"}
    assert {profile.feeders for profile in found.found_profiles} == {(2,)}


@pytest.mark.parametrize("line", ["used in feeder = 2", "feeder = 2", "for tool = 2", "runs in feeder = 2"])
def test_a_profile_says_which_feeder_it_is_for(line: str) -> None:
    found = told(NamedProfile("", ""), f"{REEL}{line}\n")
    assert [profile.feeders for profile in found.found_profiles] == [(2,)]
    assert not [each for each in found.unread if line.startswith(each.setting.key) and each.nearest]


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ("a/grade-petg.ini", "petg"),
        ("grade_petg_black.ini", "petg_black"),
        ("a/grade-zum.ini", "grade-zum"),
        ("fan-petg.ini", "fan-petg"),
        ("heron material PETG.txt", "PETG"),
        ("the big one_filament_petg black.txt", "petg black"),
        ("heron spool holder.txt", "heron spool holder"),
        ("a/petg.ini", "petg"),
        ("a/filament.ini", "filament"),
    ],
)
def test_a_file_s_name_is_the_profile_s_without_a_word_for_one_before_a_material(
    path: str, name: str
) -> None:
    assert own._of_file(path) == name


@pytest.mark.parametrize(
    ("section", "key", "only"),
    [("", "diameter", True), ("", "dia mm", True), ("", "mm", False), ("x", "diameter", False), ("", "diameter nozzle", False),
     ("", "", False)],
)  # fmt: skip
def test_a_diameter_and_no_more_in_a_filament_s_file_is_the_filament_s(
    section: str, key: str, only: bool
) -> None:
    assert own._only_diameter(Setting(section, key, "1", 0, 1, 1, 1)) is only


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ("heron_petg.txt", "petg"),
        ("heron for petg.txt", "petg"),
        ("heron-when-printing-PETG.txt", "PETG"),
        ("spool-pla.txt", "pla"),
        ("stool_petg.txt", "stool_petg"),
        ("stool with petg.txt", "stool with petg"),
        ("heron, with black petg.txt", "black petg"),
        ("with petg.txt", "petg"),
    ],
)
def test_a_file_called_by_a_material_is_a_filament_s_without_the_machine_s_own_name(
    path: str, name: str
) -> None:
    files = {
        "heron.txt": ("flat", "x_steps_per_mm = 80\ny_steps_per_mm = 80\nretraction_length = 5\n"),
        path: ("flat", "retraction_length = 4\nretraction_speed = 30\n"),
    }
    assert retractions(machine(files, (path,))) == {"machine": 5, str(Holder("filament", name)): 4}


def test_a_print_s_name_may_stand_before_its_word_and_a_filament_s_below_what_prints_with_it() -> None:
    text = "[{0} print]\nretraction length = {1}\nretraction speed = {2}\n"
    both = text.format("fine", 4, 30) + text.format("draft", 5, 40)
    assert retractions(machine({"a.conf": ("sectioned", both)})) == {"print fine": 4, "print draft": 5}
    nested = '{"print_with": {"grey pla": {"retraction_length": 4, "lag": 0.4}, "tpu": {"retraction_length": 2, "lag": 0.8}}}'
    found = machine({"a.json": ("nested", nested)})
    assert retractions(found) == {"filament grey pla": 4, "filament tpu": 2}


@pytest.mark.parametrize("head", ["moss_soft", "Moss Soft"])
def test_a_profile_s_file_may_have_all_below_its_own_name(head: str) -> None:
    found = machine(
        {"reels/moss soft.yml": ("nested", f"{head}:\n  hot: 226 C\n  pull_back: 2.5 mm\n")},
        ("reels/moss soft.yml",),
    )
    assert retractions(found) == {"filament moss soft": 2.5}


BLOCKS = "".join(
    f"  {name} sunny:\n    hot: 210\n    dia: 1.75\n    retraction: {value}\n    lag: 0.5\n"
    for name, value in OWN.items()
)


@pytest.mark.parametrize("parent", ["goods", "our colours"])
def test_blocks_of_a_profiles_file_that_end_in_a_material_are_one_filament_each(parent: str) -> None:
    text = f"layers:\n  height: 0.2\n{parent}:\n{BLOCKS}"
    found = machine({"reels.yaml": ("nested", text)}, ("reels.yaml",))
    assert retractions(found) == {f"filament {name} sunny": value for name, value in OWN.items()}


def test_a_word_above_such_blocks_that_says_what_they_are_about_still_counts() -> None:
    rows = "".join(f"  {name}:\n    length: {value}\n    speed: 40\n" for name, value in OWN.items())
    found = machine({"reels.yaml": ("nested", f"retraction:\n{rows}")}, ("reels.yaml",))
    assert retractions(found) == {f"filament {name}": value for name, value in OWN.items()}


def test_one_block_that_names_a_material_leaves_the_file_one_profile() -> None:
    text = "goods:\n  pla sunny:\n    retraction: 5.2\n    lag: 0.5\n"
    (holder,) = machine({"reels.yaml": ("nested", text)}, ("reels.yaml",)).profiles
    assert holder.name == "reels"


@pytest.mark.parametrize(
    ("dialect", "text"),
    [
        ("nested", "retraction:\n  length: 0.9\nsheet:\n  name: rough, with glue\n"),
        ("sectioned", "[retraction]\nlength = 0.9\n[sheet]\nname = rough + glue\n"),
    ],
)
def test_the_name_of_a_sheet_is_not_the_profile_s(dialect: str, text: str) -> None:
    assert retractions(machine({"petg.txt": (dialect, text)}, ("petg.txt",))) == {"filament petg": 0.9}


@pytest.mark.parametrize(
    ("dialect", "text"),
    [
        ("nested", "who:\n  name: ruby petg\nretraction:\n  length: 0.9\n"),
        ("nested", "retraction:\n  length: 0.9\nname: ruby petg\n"),
        ("sectioned", "[retraction]\nlength = 0.9\n[this filament]\nname = ruby petg\n"),
    ],
)
def test_a_name_above_all_or_of_a_filament_is_the_profile_s(dialect: str, text: str) -> None:
    assert retractions(machine({"a7.txt": (dialect, text)}, ("a7.txt",))) == {"filament ruby petg": 0.9}


CALLED_BY_MATERIAL = """[wire drive]
steps per mm = 91.7
[PETG teal]
bed = 74
pull back length = 5.9 ; mm
pull back speed = 31 ; mm/s
[PLA sand]
bed = 57
pull back length = 4.9 ; mm
pull back speed = 36 ; mm/s
"""


def test_sections_called_by_a_material_are_filaments_in_a_machine_s_file_too() -> None:
    found = recognise([read("heron.conf", CALLED_BY_MATERIAL.encode(), "sectioned")])
    assert {(each.quantity, each.holder.name): each.value for each in found.readings if each.holder.name} == {
        ("retraction.length", "PETG teal"): 5.9,
        ("retraction.speed", "PETG teal"): 31,
        ("retraction.length", "PLA sand"): 4.9,
        ("retraction.speed", "PLA sand"): 36,
    }


def test_a_material_with_a_word_of_the_trade_is_no_filament_s_name() -> None:
    text = CALLED_BY_MATERIAL.replace("PETG teal", "PETG feeder").replace("PLA sand", "PLA feeder")
    found = recognise([read("heron.conf", text.encode(), "sectioned")])
    assert not [each for each in found.readings if each.holder.kind == "filament"]


def test_a_word_for_profiles_glued_to_one_that_gathers_them_holds_several() -> None:
    text = '{"printprofiles": {"plain": {"retractdistance": 5.2, "nozzlelift": 0.1}, "tidy": {"retractdistance": 4.7, "nozzlelift": 0.3}}}'
    found = recognise([read("heron.json", text.encode(), "nested")])
    lengths = {
        str(each.holder): each.value for each in found.readings if each.quantity == "retraction.length"
    }
    assert lengths == {"print plain": 5.2, "print tidy": 4.7}


@pytest.mark.parametrize("names", [("PETG handover", "PLA handover"), ("PETG", "PLA old"), ("pc", "pa")])
def test_a_section_for_something_a_copy_or_two_letters_are_no_filament(names: tuple[str, str]) -> None:
    text = CALLED_BY_MATERIAL.replace("PETG teal", names[0]).replace("PLA sand", names[1])
    found = recognise([read("heron.conf", text.encode(), "sectioned")])
    assert names[1] not in {each.holder.name for each in found.readings}


def test_sections_called_by_a_material_leave_keys_that_begin_with_one_what_they_are() -> None:
    keys = "FILAMENT_PETG_RETRACT = 5 mm\nFILAMENT_TPU_RETRACT = 3 mm\nFILAMENT_PETG_LAG = 0.5 s\nFILAMENT_TPU_LAG = 0.4 s\n"
    alone = recognise([read("heron.conf", keys.encode(), "sectioned")])
    both = recognise([read("heron.conf", (keys + CALLED_BY_MATERIAL).encode(), "sectioned")])
    assert {str(each.holder) for each in alone.readings} < {str(each.holder) for each in both.readings}


JOBS = '"prints": [{"nr": 1800, "g": 34}, {"nr": 1803, "g": 21}, {"nr": 1806, "g": 341}]'


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("petg.json", '{"pull": {"length": 4.8}, ' + JOBS + "}"),
        ("soft.json", '{"kind": "TPU", "retraction": {"length": 4.8}, ' + JOBS + "}"),
    ],
)
def test_what_was_printed_with_a_filament_makes_its_file_no_print_s(name: str, text: str) -> None:
    found = machine({name: ("nested", text), "m.conf": ("sectioned", "[axis x]\nhigh end = 210\n")}, (name,))
    assert [each.kind for each in found.profiles] == ["filament"]


@pytest.mark.parametrize(
    "text",
    [
        '{"prints": [{"name": "fine", "layer height": 0.1, "line width": 0.4}, {"name": "rough", "layer height": 0.3, "line width": 0.5}]}',
        '{"kind": "PLA", "prints": [{"name": "fine", "layer height": 0.1, "line width": 0.4}, {"name": "rough", "layer height": 0.3, "line width": 0.5}]}',
    ],
)
def test_prints_that_go_by_names_stay_prints(text: str) -> None:
    found = machine({"sets.json": ("nested", text)}, ("sets.json",))
    assert {"fine", "rough"} <= {each.name for each in found.profiles if each.kind == "print"}


ROLLS = '"rolls": [{"no": 1, "left g": 780}, {"no": 2, "left g": 190}]'


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("reels/pla.json", '{"retract mm": 5.0, ' + ROLLS + "}"),
        ("reels/sand.json", '{"profile": "PLA sand", "retract mm": 5.0, ' + ROLLS + "}"),
        ("reels/rubber.json", '{"name": "rubber", "retract mm": 5.0, "prints": [{"what": "foot"}, {"what": "cap"}]}'),
    ],
)  # fmt: skip
def test_a_list_of_rolls_or_prints_leaves_a_declared_profile_its_own(name: str, text: str) -> None:
    frame = "[axis x]\nhigh end = 210\n[retract]\nlength = 5.2\n"
    found = machine({name: ("nested", text), "m.conf": ("sectioned", frame)}, (name,))
    assert len(found.profiles) == 1
    assert {each.holder.kind != "machine" for each in found.readings if each.place.file == name} == {True}
    assert [each.value for each in found.readings if each.place.file == "m.conf"] == [210, 5.2]


def test_rolls_with_a_name_stay_profiles_of_their_own() -> None:
    rolls = '"rolls": [{"name": "sand", "retract mm": 5.0}, {"name": "teal", "retract mm": 4.1}]'
    found = machine({"pla.json": ("nested", '{"name": "all", ' + rolls + "}")}, ("pla.json",))
    assert sorted(each.value or 0 for each in found.readings if each.quantity == RETRACTION) == [4.1, 5.0]
    assert len(found.profiles) == 2


def test_rolls_of_two_materials_are_not_read_as_one_of_them() -> None:
    rolls = '"rolls": [{"no": 1, "material": "PLA", "retract mm": 5.0}, {"no": 2, "material": "PETG", "retract mm": 4.1}]'
    found = machine({"pla.json": ("nested", '{"name": "all", ' + rolls + "}")}, ("pla.json",))
    assert not retractions(found)
    assert "which one holds is not clear" in found.doubts[0].why
