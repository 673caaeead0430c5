"""Two machines in one folder are asked about, and what is another's by its folder, its name or its own words goes with it."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from folderbench import KILN, MAIN, PUSHER, STEPPERS, asked, laid, lay, roles

from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.files.roles import Role
from cfgmigrate.files.telling import FilesUnclear, ask_first, roles_by

SAMPLES = Path(__file__).parents[2] / "sample_configs"

#: machines that are called as their files are, whose axes go by words that nobody knows
_MACHINE = (
    "about:\n    name: {name}\nsideways:\n    pulses_mm: 80\n    to: {reach}\nfore:\n    pulses_mm: 80\n    to: {reach}\n"
    "wire_drive:\n    pulses_mm: 91\n    amps: 0.7\nsuck:\n    by: 5.1\n    pace: 40\n"
)


def _lay(where: Path, **files: str) -> Path:
    for name, text in files.items():
        (where / name.replace("__", ".").replace("_", " ")).write_text(text)
    return where


def test_two_files_that_call_themselves_by_their_own_names_are_two_machines(tmp_path: Path) -> None:
    place = _lay(
        tmp_path,
        barge__txt=_MACHINE.format(name="barge", reach=230),
        skiff__txt=_MACHINE.format(name="Skiff", reach=110),
    )
    (question,) = open_configuration([place]).roles.questions
    assert (question.kind, {each.label for each in question.options}) == ("machine", {"barge", "skiff"})


def test_files_of_filaments_that_call_themselves_by_their_own_names_are_no_machines(tmp_path: Path) -> None:
    spool = "about:\n    name: {name}\nsuck:\n    by: 5\n    pace: 40\nheat:\n    tip: 210\n    plate: 60\nair:\n    share: 100\n"
    place = _lay(tmp_path, grey__txt=spool.format(name="grey"), teal__txt=spool.format(name="teal"))
    assert not [
        each for each in open_configuration([place]).roles.questions if each.text.startswith("Here are")
    ]


@pytest.mark.parametrize("site", ["", "roles: {skiff.txt: other machine}"])
def test_what_is_called_after_the_other_machine_goes_with_it(tmp_path: Path, site: str) -> None:
    place = _lay(
        tmp_path,
        barge__txt=_MACHINE.format(name="barge", reach=230),
        skiff__txt=_MACHINE.format(name="skiff", reach=110),
        skiff_end__txt="G91\nG1 E-4 F2400\nG0 X0\n",
        end__txt="G91\nG1 E-5.1 F2400\nG0 X0\n",
    )
    if site:
        (tmp_path / "cfgmigrate.yaml").write_text(f"site: 1\n{site}\n")
    found = open_configuration([place], machine=[] if site else ["barge.txt"]).roles
    assert {path: str(role.role) for path, role in found.items() if path.endswith(".txt")} == {
        "barge.txt": "in force",
        "end.txt": "in force",
        "skiff.txt": "other machine",
        "skiff end.txt": "other machine",
    }


@pytest.mark.parametrize(("said", "role"), [("other machine", "other machine"), ("profile", "in force")])
def test_what_a_file_takes_in_is_another_machine_s_where_that_file_was_said_to_be(
    tmp_path: Path, said: str, role: str
) -> None:
    grey = "include more.conf\n[filament grey]\nmaterial = PLA\nnozzle temperature = 210\n"
    lay(tmp_path, {"heron.conf": STEPPERS, "grey.conf": grey, "more.conf": "[retraction]\nlength = 5.2\n"})
    (tmp_path / "cfgmigrate.yaml").write_text(f"site: 1\nroles: {{grey.conf: {said}}}\n")
    assert str(open_configuration([tmp_path]).roles["more.conf"].role) == role


@pytest.mark.parametrize(
    ("said", "role"),
    [
        ("Bo gave me this from his, only to look at", "other machine"),
        ("found in the drawer", "in force"),
    ],
)
def test_a_file_that_says_it_is_only_to_look_at_and_sets_what_the_machine_sets_is_anothers(
    tmp_path: Path, said: str, role: str
) -> None:
    place = _lay(
        tmp_path,
        barge__txt=_MACHINE.format(name="barge", reach=230),
        barge_two__txt=f"# {said}\nwire_drive:\n    pulses_mm: 400\nsuck:\n    by: 0.7\n    pace: 35\n",
    )
    assert str(open_configuration([place]).roles["barge two.txt"].role) == role


def test_a_second_machine_in_the_folder_is_asked_about_with_a_fleet_file(tmp_path: Path) -> None:
    lay(tmp_path, {"heron/heron.conf": STEPPERS, "otter/otter.conf": STEPPERS.replace("84", "168")})
    found = open_configuration([tmp_path])
    (question,) = found.roles.questions
    assert (question.kind, {option.label for option in question.options}) == ("machine", {"heron", "otter"})
    with pytest.raises(FilesUnclear) as problem:
        ask_first(found.roles, tmp_path)
    assert problem.value.status == 3
    assert "--machine" in problem.value.remedy and "cfgmigrate.yaml" in problem.value.remedy
    assert "machines:" in problem.value.remedy and "otter: otter" in problem.value.remedy


def test_a_machine_that_is_called_by_its_name_alone_is_another_than_one_of_another_name(
    tmp_path: Path,
) -> None:
    axes = {axis: {"travel": {"low": 0, "high": 230}, "stepsPerMm": 80, "speedLimit": 200} for axis in "xyz"}
    for place, name in (("", "Fieldfare"), ("redpoll", "Redpoll")):
        (tmp_path / place).mkdir(exist_ok=True)
        text = json.dumps({"machine": name, "axes": axes})
        (tmp_path / place / f"{name.lower()}.json").write_text(text)
    found = open_configuration([tmp_path], machine=("fieldfare.json",))
    assert roles(found) == {"fieldfare.json": str(Role.IN_FORCE), "redpoll/redpoll.json": str(Role.OTHER)}


def test_what_lies_with_another_machine_is_not_taken_once_it_is_said_which_is_meant(tmp_path: Path) -> None:
    """Siskin has a folder of its own, with a profile that nothing takes in."""
    for path in (SAMPLES / "wren").iterdir():
        (tmp_path / path.name).write_bytes(path.read_bytes())
    shutil.copytree(SAMPLES / "siskin", tmp_path / "siskin")
    (question,) = open_configuration([tmp_path]).roles.questions
    number = [option.files[0] for option in question.options].index("frame.conf") + 1
    said = {path: str(role) for path, role in roles_by(question, number).items()}
    (tmp_path / "cfgmigrate.yaml").write_text(json.dumps({"site": 1, "roles": said}))
    found = open_configuration([tmp_path])
    taken = {path for path, each in found.roles.items() if each.role.taken}
    assert not found.roles.questions and "frame.conf" in taken and "slicing.conf" in taken
    assert not any(path.startswith("siskin/") for path in taken)


def test_what_lies_with_a_file_said_to_be_another_machine_s_goes_with_it_whatever_its_axes_are_called(
    tmp_path: Path,
) -> None:
    (tmp_path / "box").mkdir()
    _lay(tmp_path, barge__txt=_MACHINE.format(name="barge", reach=230), end__nc="G91\nG1 Z5 F300\nM2\n")
    _lay(
        tmp_path / "box", skiff__txt=_MACHINE.format(name="skiff", reach=110), end__nc="G91\nG1 Z8 F600\nM2\n"
    )
    _lay(tmp_path / "box", white__txt="plastic:\n    name: white\n    hot: 202\nsuck:\n    by: 3\n")
    _lay(tmp_path, cfgmigrate__yaml="site: 1\nroles: {barge.txt: in force, box/skiff.txt: other machine}\n")
    found = open_configuration([tmp_path]).roles
    assert {each.role for path, each in found.items() if path.startswith("box/")} == {Role.OTHER}
    assert found["end.nc"].role is Role.IN_FORCE


def test_a_file_of_another_machine_in_the_same_folder_takes_nothing_along(tmp_path: Path) -> None:
    lay(
        tmp_path,
        {
            "in/heron.conf": STEPPERS,
            "in/otter.conf": STEPPERS.replace("84", "168"),
            "in/heat.conf": "[hot end]\nsense: 4\n",
        },
    )
    (tmp_path / "cfgmigrate.yaml").write_text("site: 1\nroles: {in/otter.conf: other machine}\n")
    found = roles(open_configuration([tmp_path]))
    assert found["in/heron.conf"] == found["in/heat.conf"] == "in force"


def two_printers(place: Path, name: str = "name = Crumb\n") -> Path:
    """Kiln at the root; Crumb in a folder, with a root file and parts of its own. No axis goes by its letter."""
    small = (
        KILN.replace("name = Kiln\n", name).replace("36", "30").replace("210", "118").replace("6\n", "7\n")
    )
    return lay(
        place,
        {
            "kiln.ini": "also read = pusher.ini\n" + KILN,
            "pusher.ini": PUSHER,
            "crumb/crumb.ini": "also read = pusher.ini\n" + small.replace("170", "99"),
            "crumb/pusher.ini": PUSHER.replace("31.9", "30.4").replace("5.2", "4.1"),
        },
    )


@pytest.mark.parametrize("name", ["name = Crumb\n", ""])
def test_a_folder_with_a_root_file_of_its_own_is_another_machine_whatever_axes_are_called(
    name: str, tmp_path: Path
) -> None:
    found = open_configuration([two_printers(tmp_path, name)])
    (question,) = found.roles.questions
    assert question.kind == "machine" and asked(found.roles) == {"kiln.ini", "crumb/crumb.ini"}
    taken = {path for path, each in found.roles.items() if each.role.taken}
    assert taken in ({"kiln.ini", "pusher.ini"}, {"crumb/crumb.ini", "crumb/pusher.ini"})


@pytest.mark.parametrize("said", [{"kiln.ini": "in force"}, {"crumb/crumb.ini": "other machine"}])
def test_once_it_is_said_which_is_meant_the_other_goes_with_all_that_it_takes_in(
    said: dict[str, str], tmp_path: Path
) -> None:
    two_printers(tmp_path)
    (tmp_path / "cfgmigrate.yaml").write_text(json.dumps({"site": 1, "roles": said}))
    found = open_configuration([tmp_path])
    assert not found.roles.questions
    assert {path for path, each in found.roles.items() if each.role.taken} == {"kiln.ini", "pusher.ini"}


def test_a_file_that_both_machines_take_in_stays(tmp_path: Path) -> None:
    two_printers(tmp_path)
    (tmp_path / "crumb/crumb.ini").write_text("also read = ../pusher.ini\n" + KILN.replace("Kiln", "Crumb"))
    (tmp_path / "cfgmigrate.yaml").write_text("site: 1\nroles: {crumb/crumb.ini: other machine}\n")
    assert roles(open_configuration([tmp_path]))["pusher.ini"] == "in force"


def test_a_folder_with_parts_of_the_same_machine_stays(tmp_path: Path) -> None:
    """It has a root file of its own, and sets other things."""
    lay(tmp_path, {"kiln.ini": KILN, "parts/all.ini": "also read = pusher.ini\n", "parts/pusher.ini": PUSHER})
    found = open_configuration([tmp_path])
    assert not found.roles.questions and set(roles(found).values()) == {"in force"}


MOTORS = {
    "turns mm": "40",
    "motor angle": "1.8",
    "current": "700",
    "lowest": "0",
    "highest": "200",
    "pace": "90",
}

IN_WORDS = "".join(
    f"{axis}_{tail.replace(' ', '_')} = {value}\n"
    for axis in ("sideways", "inwards", "skywards")
    for tail, value in MOTORS.items()
)

WORDS_RUN_TOGETHER = "".join(
    f"{axis}{tail.title().replace(' ', '')} = {value}\n"
    for axis in ("sideways", "inwards", "skywards")
    for tail, value in MOTORS.items()
)

OFF = "fan_off_layers = 1\nsave_every_layer = yes\n"


def test_a_file_whose_axes_go_by_words_is_a_machine_and_the_one_in_the_folder_beside_is_another(
    tmp_path: Path,
) -> None:
    (tmp_path / "box").mkdir()
    (tmp_path / "kite.conf").write_text(f"printer_name = kite\ninclude = pusher.conf\n{IN_WORDS}{OFF}")
    (tmp_path / "pusher.conf").write_text("push_motor_angle = 1.8\npush_current = 800\n")
    (tmp_path / "box/box.conf").write_text(
        f"printerName = box\ninclude = boxPusher.conf\n{WORDS_RUN_TOGETHER}"
    )
    (tmp_path / "box/boxPusher.conf").write_text("pushMotorAngle = 1.8\npushCurrent = 650\n")
    found = open_configuration([tmp_path]).roles
    (question,) = found.questions
    assert question.kind == "machine" and asked(found) == {"kite.conf", "box/box.conf"}
    assert not found.of(Role.PROFILE)


@pytest.mark.parametrize(
    ("names", "machines"),
    [
        (["x gruz", "x lomik", "y gruz", "y lomik"], True),
        (["x gruz", "y gruz", "y lomik"], False),
        (["x gruz", "x lomik", "x vabek", "x quibble"], False),
    ],
    ids=["four of two axes", "three", "four of one axis"],
)
def test_four_settings_of_two_axes_in_words_of_nobody_s_make_two_files_two_machines(
    tmp_path: Path, names: list[str], machines: bool
) -> None:
    files = {
        path: "".join(f"{name} = {first + at}\n" for at, name in enumerate(names))
        for path, first in (("wren/one.conf", 3), ("heron/two.conf", 51))
    }
    found = open_configuration([lay(tmp_path, files)]).roles
    assert [question.kind for question in found.questions] == (["machine"] if machines else [])


def test_two_alike_roots_with_parts_of_their_own_are_two_machines_and_the_upper_one_comes_first(
    tmp_path: Path,
) -> None:
    axes = "".join(
        f"[{axis}]\nsteps = 80\nend = 2{at}0\nramp = 3{at}00\nplug = {axis}\n"
        for at, axis in enumerate("xyz")
    )
    (tmp_path / "moorhen").mkdir()
    for path, steps in (("dabchick.cfg", "93.6"), ("moorhen/moorhen.cfg", "97.1")):
        (tmp_path / path).write_text(f"include = feeder.cfg\n{axes}")
        (tmp_path / path).with_name("feeder.cfg").write_text(f"[feeder]\nsteps per mm = {steps}\n")
    found = open_configuration([tmp_path])
    (question,) = found.roles.questions
    assert [option.files for option in question.options] == [("dabchick.cfg",), ("moorhen/moorhen.cfg",)]
    assert [each.path for each in found.documents] == ["feeder.cfg", "dabchick.cfg"]


def test_a_file_alone_in_a_folder_that_sets_much_the_same_otherwise_is_asked_about(tmp_path: Path) -> None:
    other = MAIN.replace("80", "90").replace("95", "1240").replace("60", "44").replace("16", "8")
    found = laid(tmp_path, {"main.txt": MAIN, "pastepot/machine.txt": other})
    (question,) = found.roles.questions
    assert question.kind == "machine"
    assert {path for option in question.options for path in option.files} == {
        "main.txt",
        "pastepot/machine.txt",
    }


def test_one_alone_in_a_folder_with_a_name_of_its_own_is_another_machine_whatever_its_axes_are_called(
    tmp_path: Path,
) -> None:
    ours = "machine:\n  called: Dotterel\naxes:\n  x_left:\n    ramp: 4200\n  y:\n    brink: 310\n    ramp: 2600\n  z:\n    brink: 280\n"
    theirs = "name: Barn\npulses per mm: 139.0\ny brink: 210\ny ramp: 1500\nz brink: 240\nwire way: 480\n"
    found = laid(tmp_path, {"dotterel.yaml": ours, "barn/barn.txt": theirs})
    (question,) = found.roles.questions
    assert question.kind == "machine"
    assert {option.label for option in question.options} == {"dotterel", "barn"}


_HALL = "[x axis]\nfar end = 230\n[y axis]\nfar end = 220\n[z axis]\nfar end = 240\n"
_ONE_OF_HALL = "include {}common.cfg\n[pusher]\nsteps per mm = {}\n[retraction]\nlength = {}\n"


@pytest.mark.parametrize(
    ("one", "other"),
    [("north/m.cfg", "south/m.cfg"), ("north.cfg", "south.cfg"), ("unit1/m.cfg", "unit2/m.cfg")],
)
def test_machines_that_take_in_the_axes_of_one_file_and_set_the_same_beside_it_are_asked_about(
    tmp_path: Path, one: str, other: str
) -> None:
    up = "../" if "/" in one else ""
    files = {
        "common.cfg": _HALL,
        one: _ONE_OF_HALL.format(up, 91.5, 4.1),
        other: _ONE_OF_HALL.format(up, 92.5, 4.2),
    }
    (question,) = laid(tmp_path, files).roles.questions
    assert question.kind == "machine"
    assert {path for option in question.options for path in option.files} >= {one, other}


@pytest.mark.parametrize(
    "beside",
    [
        {"grey.cfg": "[retraction]\nlength = 4.2\nspeed = 35\n", "white.cfg": "[retraction]\nlength = 4.1\nspeed = 33\n"},
        {
            "recipes/draft.cfg": "[pace]\nhighest = 90\n[retraction]\nlength = 4.2\n",
            "recipes/fine.cfg": "[pace]\nhighest = 60\n[retraction]\nlength = 4.1\n",
        },
        {"heat.cfg": "[notes]\nday = 3\npage = 12\n", "fans.cfg": "[notes]\nday = 4\npage = 13\n"},
    ],
)  # fmt: skip
def test_recipes_and_parts_that_take_in_the_axes_of_one_file_are_no_machines(
    tmp_path: Path, beside: dict[str, str]
) -> None:
    """Were one of them chosen as the machine, the others would keep their old values in silence."""
    files = {
        "common.cfg": _HALL,
        "machine.cfg": _ONE_OF_HALL.format("", 91.5, 4.1).partition("[retraction]")[0],
    }
    for path, text in beside.items():
        files[path] = f"include {'../' if '/' in path else ''}common.cfg\n{text}"
    roles = laid(tmp_path, files).roles
    assert not any(each.kind == "machine" for each in roles.questions)
    assert all(roles[path].role.taken for path in files)


def test_files_of_one_name_in_two_folders_that_take_in_the_axes_of_one_file_are_two_machines(
    tmp_path: Path,
) -> None:
    own = "include ../common.cfg\n[retraction]\nlength = {}\n"
    files = {"common.cfg": _HALL, "gull/m.cfg": own.format(4.1), "tern/m.cfg": own.format(4.2)}
    (question,) = laid(tmp_path, files).roles.questions
    assert question.kind == "machine"


def test_the_sides_of_one_machine_that_take_in_the_axes_of_one_file_are_no_machines(tmp_path: Path) -> None:
    files = {
        "common.cfg": _HALL,
        "left pusher.cfg": _ONE_OF_HALL.format("", 91.5, 4.1),
        "right pusher.cfg": _ONE_OF_HALL.format("", 92.5, 4.2),
    }
    assert not any(each.kind == "machine" for each in laid(tmp_path, files).roles.questions)


@pytest.mark.parametrize(
    ("one", "other", "machines"),
    [
        ("loft/loft.txt", "shed/shed.txt", ["machine"]),
        ("house/loft/m.txt", "house/shed/n.txt", ["machine"]),
        ("left/loft.txt", "right/shed.txt", []),
        ("pusher 1/a.txt", "pusher 2/b.txt", []),
        ("first pusher/a.txt", "second pusher/b.txt", []),
        ("loft/loft.txt", "saved/shed.txt", []),
        # what they set alike is of one axis
        ("wren/WrenMachine.txt", "heron/HeronMachine.txt", ["machine"]),
        ("wren/wren_printer.txt", "heron/heron_printer.txt", ["machine"]),
        ("wren/WrenMachine.txt", "heron/HeronFeeder.txt", []),
        ("wren/WrenMachine.txt", "heron/Machine.txt", []),
        ("wren/left machine.txt", "heron/right machine.txt", []),
        ("wren/wren.txt", "heron/heron.txt", []),
    ],
)
def test_files_alone_in_folders_side_by_side_that_set_much_the_same_are_two_machines_but_not_of_two_feeders(
    tmp_path: Path, one: str, other: str, machines: list[str]
) -> None:
    text = MAIN if one.startswith("wren") else MAIN.replace("arm", "front-back")
    found = laid(
        tmp_path, {one: text, other: text.replace("80", "90").replace("16", "8").replace("95", "411")}
    )
    assert [each.kind for each in found.roles.questions if each.kind == "machine"] == machines


def test_what_the_board_saved_in_a_folder_of_its_own_is_no_machine(tmp_path: Path) -> None:
    other = MAIN.replace("80", "90").replace("95", "96").replace("60", "44").replace("16", "8")
    found = laid(tmp_path, {"main.txt": MAIN, "saved/values.txt": other})
    assert "machine" not in {question.kind for question in found.roles.questions}


_AXES = "[x slide]\nfar end = {0}\n[y slide]\nfar end = {0}\n[z bed]\nfar end = {0}\n"


@pytest.mark.parametrize("by_site", [False, True])
@pytest.mark.parametrize(
    ("ours", "role"),
    [
        ("[pull in]\nfile 1 = push.conf\n", "other machine"),
        ("[pull in]\nfile 1 = push.conf\nfile 2 = feeder.conf\n", "in force"),
        ("", "in force"),
    ],
)
def test_a_file_that_only_the_other_machine_s_list_names_is_the_other_s(
    tmp_path: Path, ours: str, role: str, by_site: bool
) -> None:
    """Nobody knows the words of these lists; where ours has none, the file may be read by any way."""
    lay(
        tmp_path,
        {
            "dunlin.conf": ours + _AXES.format(221),
            "knot.conf": "[pull in]\nfile 1 = feeder.conf\n" + _AXES.format(164),
            "push.conf": "[tug]\nlength = 5.2\n",
            "feeder.conf": "[tug]\nlength = 4.0\n",
        },
    )
    if by_site:
        (tmp_path / "cfgmigrate.yaml").write_text("site: 1\nroles: {knot.conf: other machine}\n")
    found = open_configuration([tmp_path], machine=[] if by_site else ["dunlin.conf"]).roles
    assert str(found["feeder.conf"].role) == role
    assert str(found["push.conf"].role) == "in force"
    assert str(found["knot.conf"].role) == "other machine"


def test_a_file_that_says_it_is_not_the_machine_beside_it_is_of_another(tmp_path: Path) -> None:
    (tmp_path / "barge").mkdir()
    (tmp_path / "tub").mkdir()
    (tmp_path / "barge" / "barge.conf").write_text(
        "[x]\nsteps per mm = 80\nmax = 230\n[y]\nsteps per mm = 80\nmax = 210\n[retraction]\nlength = 5.1\nspeed = 38\n"
    )
    other = "[x]\nsteps per mm = 160\nmax = 190\n[retraction]\nlength = 2.4\nspeed = 15\n"
    (tmp_path / "tub" / "tub.conf").write_text(
        "; TUB, the paste mixer, not Barge! one computer has both\n" + other
    )
    found = open_configuration([tmp_path]).roles
    assert found.role("tub/tub.conf") is Role.OTHER and found.role("barge/barge.conf") is Role.IN_FORCE


@pytest.mark.parametrize(
    ("name", "head"),
    [
        ("machine", "# Filament drive (not the machine limits: these are in machine.conf)"),
        ("motion", "# drive speeds, not motion limits."),
        ("barge", "# Barge's drive, not barge limits"),
    ],
)
def test_a_part_whose_head_says_what_it_does_not_hold_stays_the_machine_s(
    tmp_path: Path, name: str, head: str
) -> None:
    axes = "[x]\nsteps per mm = 80\nmax = 230\n[y]\nsteps per mm = 80\nmax = 210\n"
    (tmp_path / f"{name}.conf").write_text(axes)
    (tmp_path / "feeder.conf").write_text(
        head + "\n[feeder]\nsteps per mm = 94\n[retraction]\nlength = 5.1\nspeed = 38\n"
    )
    assert open_configuration([tmp_path]).roles.role("feeder.conf") is Role.IN_FORCE


_CALLED = "machine_name: Heron\nx_max: 224\ny_max: 227\nz_max: 235\nx_min: 0\ny_min: 0\nfeeder_steps_per_mm: 263.4\npull_mm: 6.5\n"


@pytest.mark.parametrize(
    ("head", "role"),
    [
        ("/* COOT, the blue one. Not Heron. */", Role.OTHER),
        ("// for the three arms, not Heron", Role.OTHER),
        ("/* Coot's board, not for Heron */", Role.OTHER),
        ("/* Heron's feeder. Not Coot. */", Role.IN_FORCE),
        ("/* not Heron's old feeder */", Role.IN_FORCE),
        ("// not heron limits: these are in the other file", Role.IN_FORCE),
    ],
)
def test_a_file_beside_the_machine_that_says_it_is_not_what_that_is_called_is_of_another(
    tmp_path: Path, head: str, role: Role
) -> None:
    (tmp_path / "first.txt").write_text(_CALLED)
    (tmp_path / "coot.h").write_text(
        f'{head}\n#define NAME "Coot"\n#define FEEDER_STEPS_MM 418.5\n#define LOAD_MM 380\n#define PULL_MM 4.2\n'
    )
    found = open_configuration([tmp_path]).roles
    assert found.role("coot.h") is role and found.role("first.txt") is Role.IN_FORCE


_MAIN_FILE = "[{head}]\nfile 1 = tools.json\n[x axis]\nsteps per mm = 80\nmax = 242\n[y axis]\nsteps per mm = 80\nmax = 228\n{more}"
_READ_FILE = '{"reach": {"x": [-8, 242], "y": [-5, 228]}, "x": {"max": 242}, "y": {"max": 228}%s}'


@pytest.mark.parametrize(
    ("head", "more", "called", "apart"),
    [
        ("also read", "", "", False),
        ("included files", "", "", False),
        ("compare with", "", "", True),
        ("not read any more", "", "", True),
        ("old parts", "", "", True),
        ("also read", "[general]\nname = wren\n", ', "machine": {"name": "finch"}', True),
    ],
)
def test_a_file_that_the_main_file_says_it_reads_is_no_machine_of_its_own(
    tmp_path: Path, head: str, more: str, called: str, apart: bool
) -> None:
    (tmp_path / "wren.conf").write_text(_MAIN_FILE.format(head=head, more=more))
    (tmp_path / "tools.json").write_text(_READ_FILE % called)
    found = open_configuration([tmp_path]).roles
    assert any(each.kind == "machine" for each in found.questions) is apart
    if not apart:
        assert found.role("tools.json") is Role.IN_FORCE
