"""Which files are the machine: told from folders as people keep them, or asked, and never guessed."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from folderbench import ASKED, Folder, folder

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.files.configuration import Configuration, open_configuration
from cfgmigrate.files.judge import judge
from cfgmigrate.files.roles import FileSet, Role
from cfgmigrate.files.telling import FilesUnclear, ask_first, roles_by
from cfgmigrate.trials import Wishes

SEEDS = range(60)
SAMPLES = Path(__file__).parents[2] / "sample_configs"


def asked(files: FileSet) -> set[str]:
    """The files that some question is about."""
    return {path for question in files.questions for option in question.options for path in option.files}


def roles(configuration: Configuration) -> dict[str, str]:
    return {path: str(found.role) for path, found in configuration.roles.items()}


def taken_wrongly(made: Folder, configuration: Configuration) -> set[str]:
    """Files that would be edited and are not the machine's, though nothing is asked."""
    if configuration.roles.questions:
        return set()
    may = {str(role) for role in Role if role.taken}
    return {each.path for each in configuration.documents if made.truth[each.path] not in may}


@pytest.mark.parametrize("usual", [True, False], ids=["usual", "unusual"])
def test_nothing_that_is_not_the_machines_is_taken_without_being_asked_about(
    tmp_path: Path, usual: bool
) -> None:
    """Law 9."""
    for seed in SEEDS:
        made = folder(seed, usual)
        found = open_configuration([made.lay(tmp_path / str(seed))])
        assert not taken_wrongly(made, found), seed
        assert len(found.roles.questions) <= 3, seed


def test_usual_names_of_copies_need_no_question_and_every_file_gets_its_role(tmp_path: Path) -> None:
    unasked = 0
    for seed in SEEDS:
        made = folder(seed)
        found = open_configuration([made.lay(tmp_path / str(seed))])
        unasked += not found.roles.questions
        assert found.roles.questions or roles(found) == made.truth, seed
    assert unasked >= 0.95 * len(SEEDS)


def test_what_names_dont_tell_is_asked(tmp_path: Path) -> None:
    for seed in SEEDS:
        made = folder(seed, usual=False)
        if ASKED in made.truth.values():
            found = open_configuration([made.lay(tmp_path / str(seed))])
            assert found.roles.questions, seed


def test_an_answer_settles_what_was_asked(tmp_path: Path) -> None:
    """With the live root named, the copies are copies, and the other machine is another."""
    for seed in SEEDS:
        made = folder(seed, usual=False)
        live = [path for path, role in made.truth.items() if role == Role.IN_FORCE]
        place = made.lay(tmp_path / str(seed))
        found = open_configuration([place], machine=[place / path for path in live])
        assert not found.roles.questions, seed
        assert not taken_wrongly(made, found), seed
        assert {path for path, role in roles(found).items() if role == Role.IN_FORCE} == set(live), seed


# --- single cases -----------------------------------------------------------------------------------------------

STEPPERS = "[axis x]\nsteps_per_mm: 84\n[axis y]\nsteps_per_mm: 84\n[feeder]\nsteps_per_mm: 96\nmax_speed: 40\nhardest: 900\n"


def lay(place: Path, files: dict[str, str]) -> Path:
    for path, text in files.items():
        (place / path).parent.mkdir(parents=True, exist_ok=True)
        (place / path).write_text(text)
    return place


def test_an_old_copy_beside_the_live_file_is_left(tmp_path: Path) -> None:
    lay(tmp_path, {"steppers.conf": STEPPERS, "steppers_old.conf": STEPPERS.replace("96", "438")})
    found = open_configuration([tmp_path])
    assert roles(found) == {"steppers.conf": "in force", "steppers_old.conf": "kept copy"}
    assert "100%" in found.roles["steppers_old.conf"].why and "'old'" in found.roles["steppers_old.conf"].why


@pytest.mark.parametrize("twin", [False, True])
def test_what_a_copy_alone_takes_in_is_the_machines_unless_another_one_of_its_name_is_live(
    tmp_path: Path, twin: bool
) -> None:
    """Somebody may have commented the line out; that the part is no longer read is not for this program to say."""
    lay(
        tmp_path,
        {
            "kiln.ini": STEPPERS + ("also read = parts/pusher.ini\n" if twin else ""),
            "kiln_old.ini": "also read = pusher.ini\n" + STEPPERS,
            "pusher.ini": "[feeder]\nsteps per mm = 96\n",
            **({"parts/pusher.ini": "[feeder]\nsteps per mm = 97\n"} if twin else {}),
        },
    )
    found = roles(open_configuration([tmp_path]))
    assert found["kiln_old.ini"] == "kept copy"
    assert found["pusher.ini"] == ("kept copy" if twin else "in force")


def test_the_include_guard_of_a_copy_hides_nothing(tmp_path: Path) -> None:
    text = "#ifndef LIMITS_H\n#define LIMITS_H\n#define X_MAX 200\n#define Y_MAX 200\n#define Z_MAX 190\n#endif\n"
    lay(tmp_path, {"limits (copy).h": text, "limits.h": text, "limits-2024-01-02.h": text})
    (document,) = open_configuration([tmp_path]).documents
    assert document.path == "limits.h"
    assert {each.state for each in document.settings} == {"active"}


def test_a_second_machine_in_the_folder_is_asked_about_with_a_fleet_file(tmp_path: Path) -> None:
    from cfgmigrate.files.telling import FilesUnclear, ask_first

    lay(tmp_path, {"heron/heron.conf": STEPPERS, "otter/otter.conf": STEPPERS.replace("84", "168")})
    found = open_configuration([tmp_path])
    (question,) = found.roles.questions
    assert (question.kind, {option.label for option in question.options}) == ("machine", {"heron", "otter"})
    with pytest.raises(FilesUnclear) as problem:
        ask_first(found.roles, tmp_path)
    assert problem.value.status == 3
    assert "--machine" in problem.value.remedy and "cfgmigrate.yaml" in problem.value.remedy
    assert "machines:" in problem.value.remedy and "otter: otter" in problem.value.remedy


@pytest.mark.parametrize(
    "name", ["temp_sensors", "last_layer", "old_limits", "backup_battery", "before_print"]
)
def test_a_mark_alone_makes_no_copy(tmp_path: Path, name: str) -> None:
    lay(tmp_path, {"steppers.conf": STEPPERS, f"{name}.conf": "[sensor]\npin: 4\nwindow: 3\n"})
    assert set(roles(open_configuration([tmp_path])).values()) == {"in force"}


def test_what_is_taken_in_is_in_force_whatever_it_is_called(tmp_path: Path) -> None:
    lay(tmp_path, {"main.conf": "include = feed_old.conf\n[axis x]\nmax: 3\n", "feed_old.conf": STEPPERS})
    lay(tmp_path, {"feed.conf": STEPPERS.replace("96", "94")})
    assert roles(open_configuration([tmp_path])) == {
        "main.conf": "in force",
        "feed_old.conf": "in force",
        "feed.conf": "kept copy",
    }


def test_a_copy_that_is_named_is_in_force_and_told_first(tmp_path: Path) -> None:
    from cfgmigrate.files.telling import told_of

    lay(tmp_path, {"steppers.conf": STEPPERS, "steppers_old.conf": STEPPERS})
    found = open_configuration([tmp_path / "steppers_old.conf"])
    assert [each.path for each in found.documents] == ["steppers_old.conf"]
    assert "though its name says 'old'" in told_of(found.roles)[0]


def test_a_test_script_of_this_program_is_no_part_of_the_machine(tmp_path: Path) -> None:
    shutil.copytree(SAMPLES / "dunlin", tmp_path / "dunlin")
    sheet = SAMPLES / "sheets" / "dunlin.yaml"
    made = api.trial("feed", [tmp_path / "dunlin"], sheet=sheet, wishes=Wishes(nozzle=210))
    (tmp_path / "dunlin" / "feed.nc").write_text(made.written.text)
    found = open_configuration([tmp_path / "dunlin"])
    assert "feed.nc" not in {each.path for each in found.documents}
    assert found.roles["feed.nc"].why == "it is a test script of this program"


def test_a_heater_file_is_no_profile(tmp_path: Path) -> None:
    lay(tmp_path, {"steppers.conf": STEPPERS, "heat.conf": "[fan]\nspeed: 3\n[nozzle]\ntemperature: 215\n"})
    assert roles(open_configuration([tmp_path]))["heat.conf"] == "in force"


def test_a_part_for_each_axis_is_no_look_alike(tmp_path: Path) -> None:
    text = "steps = 84\nmicrosteps = 16\ncurrent = 0.8\nspeed = 200\naccel = 3000\na turn = 36\n"
    lay(tmp_path, {f"{axis}.txt": text for axis in "xyz"})
    assert not open_configuration([tmp_path]).roles.questions


def test_of_two_look_alikes_the_one_of_the_plainer_name_is_taken_while_it_is_asked(tmp_path: Path) -> None:
    lines = "".join(
        f"[rail {axis}]\nhighest = 20{at}\nfastest = 15{at} mm/s\n" for at, axis in enumerate("xyz")
    )
    (tmp_path / "plover.conf").write_text(lines + "hardest start = 2800\n")
    (tmp_path / "plover as it ran in march.conf").write_text(lines + "hardest start = 2500\n")
    found = open_configuration([tmp_path])
    assert roles(found)["plover.conf"] == str(Role.IN_FORCE)
    assert asked(found.roles) == {"plover as it ran in march.conf"}


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


@pytest.mark.parametrize(
    "other", ["ladle-14 of the night watch.set", "ladle-14 nice one.set", "ladle-14(2).set"]
)
def test_of_two_alike_the_one_called_like_its_folder_is_offered_first_and_both_are(
    other: str, tmp_path: Path
) -> None:
    folder = tmp_path / "ladle-14"
    folder.mkdir()
    text = "".join(
        f"axis.{axis}.{name} = {at}00\n"
        for axis in "xyz"
        for at, name in enumerate(("high_end", "low_end", "steps"), 1)
    )
    (folder / "ladle-14.set").write_text(text)
    (folder / other).write_text(text.replace("300", "301", 1))
    with pytest.raises(FilesUnclear) as unclear:
        ask_first(open_configuration([folder]).roles, folder)
    answers = [line for line in str(unclear.value).splitlines() if "--machine" in line]
    assert "ladle-14.set" in answers[0] and other not in answers[0] and other in answers[1]


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


def test_profiles_in_a_makers_own_codes_are_no_machine_and_another_device_is_asked_about(
    tmp_path: Path,
) -> None:
    machine = "G21\n; steps per mm\nH3 X80 Y80 A92\n; top speed mm/s\nH4 X220 Y200 A70\n; suck-back: length mm\nH61 L6\n"
    files = {
        "stint.nc": machine,
        "cutter.nc": "G21\n; steps per mm\nH3 X40 Y40\n; knife pressure\nH9 S80\n; top speed mm/s\nH4 X300 Y300\n",
        "filaments/grey.nc": "; nozzle, bed\nH51 S206\nH52 S60\n; suck-back: length mm\nH61 L6.3\n; layer\nH53 Z0.2\n",
        "filaments/clear petg.nc": "; nozzle, bed\nH51 S240\nH52 S82\n; suck-back: length mm\nH61 L7\n; layer\nH53 Z0.2\n",
    }
    for path, text in files.items():
        (tmp_path / path).parent.mkdir(exist_ok=True)
        (tmp_path / path).write_text(text)
    found = open_configuration([tmp_path])
    assert {path for path, role in roles(found).items() if role == "profile"} == {
        "filaments/grey.nc",
        "filaments/clear petg.nc",
    }
    assert asked(found.roles) == {"stint.nc", "cutter.nc"}


def test_what_copies_are_of_stays_a_profile_when_none_of_the_copies_runs(tmp_path: Path) -> None:
    reel = "[reel]\nmaterial: PLA\ndiameter: 1.75\nretraction: 5\nretraction_speed: 30\nfan: 60\nflow: 98\nbed: 60\n"
    lay(
        tmp_path,
        {
            "heron.conf": STEPPERS,
            "reels/grey.conf": reel,
            "spare reels/grey.conf": reel,
            "sea.conf": "[sea]\ndepth: 4\n",
        },
    )
    before = open_configuration([tmp_path])
    (question,) = before.roles.questions
    assert str(before.roles["reels/grey.conf"].role) == "profile"
    said = {path: str(role) for path, role in roles_by(question, 0).items()}
    (tmp_path / "cfgmigrate.yaml").write_text(json.dumps({"site": 1, "roles": said}))
    found = open_configuration([tmp_path])
    assert not found.roles.questions
    assert (roles(found)["reels/grey.conf"], roles(found)["spare reels/grey.conf"]) == (
        "profile",
        "kept copy",
    )


KILN = (
    "[whole machine]\nname = Kiln\ndrift = 4\n[across]\nway = 36\nfar = 210\n[along]\nway = 36\nfar = 190\n"
    "[lift]\nway = 6\nfar = 170\n"
)
PUSHER = "[pusher]\nsteps = 400\nway = 31.9\ncoil = 0.8\n[pull back]\nlength = 5.2\nspeed = 45\n"


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


@pytest.mark.parametrize("behind", [".rainy sunday", ".2nd", " for the wet reel", "-as Mira had it"])
@pytest.mark.parametrize("taken_in", [True, False])
def test_what_is_called_like_another_file_and_more_is_a_kept_copy(
    behind: str, taken_in: bool, tmp_path: Path
) -> None:
    files = {"kiln.ini": ("also read = pusher.ini\n" if taken_in else "") + KILN, "pusher.ini": PUSHER}
    short = "[pusher]\nsteps = 200\nway = 31.1\n[pull back]\nlength = 6.9\n"
    found = open_configuration([lay(tmp_path, {**files, f"pusher.ini{behind}": short})])
    assert roles(found) == {**dict.fromkeys(files, "in force"), f"pusher.ini{behind}": "kept copy"}
    assert "100%" in found.roles[f"pusher.ini{behind}"].why


def test_what_is_called_like_another_file_and_more_is_no_copy_with_other_settings(tmp_path: Path) -> None:
    lay(tmp_path, {"kiln.ini": KILN, "kiln.ini.lamp": "[lamp]\npin = 4\nbright = 3\n"})
    assert set(roles(open_configuration([tmp_path])).values()) == {"in force"}


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


def test_what_a_machine_reads_too_is_its_part_whatever_filament_it_names_and_its_copy_elsewhere_is_left(
    tmp_path: Path,
) -> None:
    """A part that names the filament it starts with looks like a profile, and so does each copy of it."""
    part = "wheel.motor.current = 700 mA\nwheel.speed = 70\nwheel.accel = 2500\nfilament.width = 1.75\nfilament.default = plain pla\n"
    (tmp_path / "kestrel.txt").write_text(
        "x.travel.high = 210\ny.travel.high = 200\nz.travel.high = 190\nread-too = wheel.txt\n"
    )
    (tmp_path / "wheel.txt").write_text(part)
    (tmp_path / "drawer").mkdir()
    (tmp_path / "drawer" / "wheel - white tube.txt").write_text(part.replace("2500", "2000"))
    found = open_configuration([tmp_path])
    assert roles(found) == {
        "drawer/wheel - white tube.txt": "kept copy",
        "kestrel.txt": "in force",
        "wheel.txt": "in force",
    }
    assert not found.roles.questions


#: a machine whose axes go by words of its own, in one name style and another
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


def test_a_file_that_takes_in_what_a_machine_has_built_in_is_no_profile(tmp_path: Path) -> None:
    (tmp_path / "kite.conf").write_text(f"include = pusher.conf\nwall_order = outer\n{OFF}")
    (tmp_path / "pusher.conf").write_text("push_motor_angle = 1.8\npush_current = 800\n")
    assert open_configuration([tmp_path]).roles.role("kite.conf") is Role.IN_FORCE


def test_one_word_in_two_forms_is_no_print(tmp_path: Path) -> None:
    (tmp_path / "kite.conf").write_text(f"beep = yes\n{OFF}")
    assert open_configuration([tmp_path]).roles.role("kite.conf") is Role.IN_FORCE


def test_three_kinds_of_wall_are_no_axes(tmp_path: Path) -> None:
    tails = ("speed", "acceleration", "width", "flow", "length")
    walls = "".join(f"{wall}_{tail} = 40\n" for wall in ("wall", "infill", "skirt") for tail in tails)
    (tmp_path / "fine.conf").write_text(walls)
    assert open_configuration([tmp_path]).roles.role("fine.conf") is Role.PROFILE


RAILS = "".join(
    f"[axis {axis}]\nsteps_per_mm: 84\nhighest spot: {high}\ncurrent: 0.7\nmax_speed: 40\n"
    for axis, high in (("x", 235), ("y", 236), ("z", 190))
)
MOSS = (
    "filament name = Moss\nnozzle heat = 215\nbed heat = 60\nfan share = 40\npull back = 5.4\npull speed = 45\n"
    "lag = 0.5\nflow share = 97\ndensity = 1.24\nfirst heat = 220\n"
)
FERN = MOSS.replace("215", "210").replace("Moss", "Fern")


@pytest.mark.parametrize(
    ("files", "kinds", "taken"),
    [
        ({"a/x.conf": RAILS, "b/y.conf": RAILS}, ["machine"], {"a/x.conf"}),
        ({"a/x.conf": RAILS, "a/y.conf": RAILS}, ["machine"], {"a/x.conf"}),
        ({"x.conf": RAILS, "a/y.conf": RAILS}, ["look-alikes"], {"x.conf"}),
        ({"a/x.conf": RAILS, "b/x.conf": RAILS}, ["look-alikes"], {"a/x.conf"}),
        ({"m.conf": RAILS, "reels/moss.conf": MOSS, "reels/fern.conf": FERN}, [], None),
        ({"m.conf": RAILS, "reels/moss.conf": MOSS, "shelf/fern.conf": FERN}, [], None),
        ({"m.conf": RAILS, "reels/moss.conf": MOSS, "shelf/moss.conf": MOSS}, ["look-alikes"], None),
    ],
    ids=lambda each: " ".join(each) if isinstance(each, dict) else None,
)
def test_two_files_that_say_the_same_are_two_machines_a_copy_or_alternatives(
    tmp_path: Path, files: dict[str, str], kinds: list[str], taken: set[str] | None
) -> None:
    """Machines of two names in two folders; profiles of two names, wherever they lie; else one may be a copy."""
    found = open_configuration([lay(tmp_path, files)]).roles
    assert [question.kind for question in found.questions] == kinds
    assert found.keys() == files.keys(), "every file has a role"
    if taken is not None:
        assert {path for path, each in found.items() if each.role.taken} == taken
    if not kinds:
        assert set(found.of(Role.PROFILE)) == files.keys() - {"m.conf"}


KEYS = ("turn length", "coil", "microsteps", "pull", "pull speed")


def pusher(*numbers: int, more: int = 0) -> str:
    """Settings of a feeder, and further ones that no other file has."""
    own = "".join(f"extra {at} = {at}\n" for at in range(more))
    return (
        "[feeder]\n" + "".join(f"{key} = {number}\n" for key, number in zip(KEYS, numbers, strict=True)) + own
    )


def cut(text: str, settings: int) -> str:
    """The section with its first settings alone."""
    return "".join(text.splitlines(keepends=True)[: settings + 1])


@pytest.mark.parametrize(
    ("files", "other"),
    [
        # three settings of five, or not as many
        ({"pusher.conf": pusher(1, 2, 3, 4, 5), "drive one.conf": pusher(1, 2, 3, 8, 9)}, "pusher.conf"),
        ({"pusher.conf": pusher(1, 2, 3, 4, 5), "drive one.conf": pusher(1, 2, 7, 8, 9)}, ""),
        # the same name with a mark sets the same things otherwise; another name says nothing, nor one in a folder beside
        ({"pusher.conf": pusher(1, 2, 3, 4, 5), "pusher 2.conf": pusher(5, 6, 7, 8, 9)}, "pusher.conf"),
        ({"pusher.conf": pusher(1, 2, 3, 4, 5), "pusher 2.conf": pusher(5, 6, 7, 8, 9, more=2)}, "pusher.conf"),
        ({"pusher.conf": pusher(1, 2, 3, 4, 5), "pusher 2.conf": pusher(5, 6, 7, 8, 9, more=4)}, ""),
        ({"pusher.conf": cut(pusher(1, 2, 3, 4, 5), 3), "pusher 2.conf": pusher(5, 6, 7, 8, 9)}, "pusher.conf"),
        ({"pusher.conf": cut(pusher(1, 2, 3, 4, 5), 2), "pusher 2.conf": pusher(5, 6, 7, 8, 9)}, ""),
        ({"pusher.conf": pusher(1, 2, 3, 4, 5), "drive 2.conf": pusher(5, 6, 7, 8, 9)}, ""),
        ({"pusher.conf": pusher(1, 2, 3, 4, 5), "a/pusher.conf": pusher(5, 6, 7, 8, 9)}, "pusher.conf"),
        ({"b/pusher.conf": pusher(1, 2, 3, 4, 5), "a/pusher.conf": pusher(5, 6, 7, 8, 9)}, ""),
    ],
    ids=["three in five", "two in five", "a mark", "five in seven", "five in nine", "a mark and three in five", "a mark and two in five", "another name", "below its namesake", "beside its folder"],
)  # fmt: skip
def test_how_much_alike_two_files_have_to_be_to_be_asked_about(
    tmp_path: Path, files: dict[str, str], other: str
) -> None:
    found = open_configuration([lay(tmp_path, {"rails.conf": RAILS, **files})]).roles
    assert [question.instead for question in found.questions] == ([(other,)] if other else [])


@pytest.mark.parametrize("names", [("a pusher.conf", "b drive.conf"), ("b pusher.conf", "a drive.conf")])
def test_of_several_files_the_one_that_is_most_alike_is_told(tmp_path: Path, names: tuple[str, str]) -> None:
    most, less = names
    files = {most: pusher(1, 2, 3, 4, 5, more=9), less: pusher(1, 2, 3, 8, 9)}
    files["c/spare part.conf"] = pusher(1, 2, 3, 4, 5)
    found = open_configuration([lay(tmp_path, {"rails.conf": RAILS, **files})]).roles
    assert f"100% of its settings are the same in {most}" in found["c/spare part.conf"].why


@pytest.mark.parametrize(
    ("copy", "shared", "kept"),
    [
        ("pusher_old.conf", 2, False),
        ("pusher_old.conf", 3, True),
        ("drive_old.conf", 5, False),
        ("drive_old.conf", 6, True),
    ],
)
def test_a_marked_file_is_a_copy_of_its_namesake_from_three_settings_in_ten_on_and_of_another_from_six(
    tmp_path: Path, copy: str, shared: int, kept: bool
) -> None:
    def feeder(own: str, common: int) -> str:
        names = [f"name {at}" if at < common else f"{own} {at}" for at in range(10)]
        return "[feeder]\n" + "".join(f"{name} = {at}\n" for at, name in enumerate(names))

    files = {"rails.conf": RAILS, "pusher.conf": feeder("other", 10), copy: feeder("own", shared)}
    assert (roles(open_configuration([lay(tmp_path, files)]))[copy] == "kept copy") is kept


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


@pytest.mark.parametrize(
    ("moves", "settings", "role"),
    [(30, 50, "none"), (30, 60, "in force"), (30, 70, "in force"), (29, 2, "in force")],
)
def test_what_mostly_lays_filament_down_is_something_to_print(
    tmp_path: Path, moves: int, settings: int, role: str
) -> None:
    """From thirty such moves on, where they are more than a third of all that it says."""
    laid = "".join(f"G1 X{at} Y2 E0.{at:02}\n" for at in range(1, moves + 1))
    other = "".join(f"G1 X{at} F3000\n" for at in range(1, settings + 1))
    lay(tmp_path, {"m.conf": RAILS, "rook.gcode": laid + other})
    wanted = {"none": Role.NONE, "in force": Role.IN_FORCE}[role]
    assert open_configuration([tmp_path]).roles["rook.gcode"].role is wanted


def test_a_file_named_after_a_material_among_materials_is_a_profile_though_it_has_an_acceleration_of_x_and_y(
    tmp_path: Path,
) -> None:
    (tmp_path / "reels").mkdir()
    head = (
        "; K121 acceleration mm/s2   K130 lowest place   K131 highest place   K140 pull back: L length mm\n"
    )
    (tmp_path / "setup.nc").write_text(
        head
        + "K121 X3500 Y3000 Z100 E4000\nK130 X-5 Y-12 Z-1\nK131 X255 Y215 Z240\n"
        + "K140 L4.6\nK122 X9 Y9\nK101 X80 Y80\nK120 X200 Y180\n"
    )
    (tmp_path / "reels/pla.nc").write_text(
        "; the club's, codes as in setup.nc\nK140 L4.6\nK121 X3000 Y2800\nK7 S208\nK141 E0.5\nK72 P100\nK40 Q12\n"
    )
    found = open_configuration([tmp_path])
    assert not found.roles.questions
    assert roles(found) == {"setup.nc": str(Role.IN_FORCE), "reels/pla.nc": str(Role.PROFILE)}


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


BLOCKS = "== {} ==\npulses_mm = {}\nfine = 16\ntop_spd = {}\n"
MAIN = "".join(
    BLOCKS.format(*each) for each in (("left-right", 80, 220), ("fil push", 95, 70), ("arm", 60, 90))
)


def test_a_file_alone_in_a_folder_that_sets_much_the_same_otherwise_is_asked_about(tmp_path: Path) -> None:
    other = MAIN.replace("80", "90").replace("95", "1240").replace("60", "44").replace("16", "8")
    found = laid(tmp_path, {"main.txt": MAIN, "pastepot/machine.txt": other})
    (question,) = found.roles.questions
    assert question.kind == "machine"
    assert {path for option in question.options for path in option.files} == {
        "main.txt",
        "pastepot/machine.txt",
    }


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


def test_saved_values_may_be_called_by_their_path(tmp_path: Path) -> None:
    found = laid(
        tmp_path, {"main.txt": MAIN, "saved.val": "fil push/pulses_mm=96.4\nleft-right/top_spd=210\n"}
    )
    (question,) = found.roles.questions
    assert (question.kind, question.instead) == ("saved", ("saved.val",))


def test_a_file_beside_profiles_that_sets_the_same_is_one(tmp_path: Path) -> None:
    reel = "density = 1.2\nhot = {}\npull = 5.5\npull_spd = 40\n"
    files = {
        f"fil/{name}.txt": reel.format(hot)
        for name, hot in (("pla_cheap", 205), ("petg", 235), ("bendy", 222))
    }
    found = laid(tmp_path, {"main.txt": MAIN, **files})
    assert found.roles.role("fil/bendy.txt") is Role.PROFILE
    found = laid(tmp_path / "b", {"main.txt": MAIN, **files, "fil/fan.txt": "fan pin = B2\nfan most = 255\n"})
    assert found.roles.role("fil/fan.txt") is not Role.PROFILE


def test_two_that_set_the_same_beside_profiles_are_profiles_of_another_kind(tmp_path: Path) -> None:
    reel = "density = 1.2\nhot = 220\npull = 5.5\npull_spd = 40\n"
    how = "tall = {}\nbroad = 0.5\nrind = 60\ninside = 90\npull = 5\nkick = {}\nquiet = 3\nglow = 4\n"
    files = {"kit/pla.ree": reel, "kit/fine.how": how.format(0.1, 2), "kit/coarse.how": how.format(0.3, 4)}
    found = laid(tmp_path, {"main.txt": MAIN, **files})
    assert {found.roles.role(path) for path in files} == {Role.PROFILE}
    del files["kit/coarse.how"]
    found = laid(tmp_path / "b", {"main.txt": MAIN, **files})
    assert found.roles.role("kit/fine.how") is not Role.PROFILE


@pytest.mark.parametrize("path", ["old_days/petg_week.h", "little/push.h"])
def test_a_header_that_nothing_takes_in_is_not_read_where_others_set_the_same(
    tmp_path: Path, path: str
) -> None:
    main = '#include "push.h"\n#define X_STEPS_PER_MM 80\n#define Y_STEPS_PER_MM 80\n#define Z_STEPS_PER_MM 400\n'
    push = "#define PULL_MM 5.5f\n#define PULL_MMS 40\n"
    files = {"m/main.h": main, "m/push.h": push}
    found = laid(tmp_path, {**files, path: "#define PULL_MM 6.0f\n#define PULL_MMS 25\n"})
    assert found.roles.role(path) is Role.COPY
    found = laid(tmp_path / "b", {**files, path: "#define HEATED_MM 6.0f\n"})
    assert found.roles.role(path) is not Role.COPY


@pytest.mark.parametrize(("path", "asked_about"), [("blue/main.txt", True), ("blue/other.txt", False)])
def test_a_small_file_below_its_namesake_that_sets_the_same_is_asked_about(
    tmp_path: Path, path: str, asked_about: bool
) -> None:
    small = "== fil push ==\npulses_mm = 1240\nfine = 8\ntop_spd = 3\n== blue ==\nshade = 4\n"
    found = laid(tmp_path, {"main.txt": MAIN, path: small})
    assert (path in asked(found.roles)) is asked_about


def laid(folder: Path, files: dict[str, str]) -> Configuration:
    for path, text in files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text)
    return open_configuration([folder])


def test_scripts_in_codes_of_ones_own_are_no_machines(tmp_path: Path) -> None:
    begin = "R80\nR1 X2 Y4 V900\nR5 K0\nR1 K14 V240\nR1 X80 K10 V1200\nR1 Y30 K-1\n"
    spool = "R1 K-518 V3300\nR1 X112 Y2 V9000\nR1 K435 V3000\nR1 K53 V180\nR1 K30 V250\nR1 Y60\n"
    root = lay(
        tmp_path,
        {
            "frame.conf": "[axis x]\nhighest spot = 235\n[axis y]\nhighest spot = 230\n",
            "moves/begin.mv": begin,
            "moves/spool.mv": spool,
        },
    )
    found = open_configuration([root])
    assert not found.roles.questions
    assert set(roles(found).values()) == {"in force"}


@pytest.mark.parametrize("dialect, role", [("sectioned", Role.IN_FORCE), ("command", Role.NONE)])
def test_a_file_called_a_log_is_the_machines_where_it_sets_two_axes_by_name(dialect: str, role: Role) -> None:
    text = "[axis x]\nsteps per mm = 80\n[axis y]\nsteps per mm = 80\n"
    text = "M92 X80 Y80\n" if dialect == "command" else text
    assert (
        judge({"log.conf": read("log.conf", text.encode(), dialect)}, "here", {}).roles["log.conf"].role
        is role
    )


def test_scripts_in_codes_of_a_maker_s_own_are_not_what_the_board_keeps() -> None:
    machine = b"[axis x]\nhighest spot = 210\nmax speed = 200\n[axis y]\nhighest spot = 210\nmax speed = 200\n[feeder]\nrun current = 0.9 A\n"
    run = b"; the button\nK3 X150 Y10 V150\nK1 S20 V5\nK1 S780 V60 ; nearly there\nK1 S110 V4\nK2 T0\n"
    kept = b"M92 X80 Y80 E415\nM906 E850\nM203 X200\n"
    files = {
        "frame.conf": machine,
        "load.cmd": run,
        "brush.cmd": b"K3 X296 Y300 V200\nK3 X311 Y5 V100\nK3 X296 Y6 V9\nK1 S5 V5\n",
        "kept.dump": kept,
    }
    kinds = {"frame.conf": "sectioned"}
    documents = {path: read(path, data, kinds.get(path, "command")) for path, data in files.items()}
    assert {path: role.role for path, role in judge(documents, "wren", {}).roles.items()} == {
        "frame.conf": Role.IN_FORCE,
        "load.cmd": Role.IN_FORCE,
        "brush.cmd": Role.IN_FORCE,
        "kept.dump": Role.SAVED,
    }


@pytest.mark.parametrize(
    ("head", "said", "role"),
    [
        ("; written by the panel, 3 May", "; the panel writes kept.conf, which is read last", Role.SAVED),
        ("; written by the panel, 3 May", "; nothing", Role.IN_FORCE),
        ("; my numbers, beats main.conf", "; kept.conf is read afterwards", Role.SAVED),
        ("; mine", "; the panel writes kept.conf, which is read last", Role.IN_FORCE),
    ],
)
def test_what_the_panel_writes_and_another_file_says_to_count_in_the_end_is_saved(
    head: str, said: str, role: Role
) -> None:
    drive = "[feeder]\nsteps per mm = 96\nlag = 0.5\n"
    files = {
        "main.conf": f"{said}\n[axis x]\nhighest spot = 210\n[axis y]\nhighest spot = 210\n{drive}",
        "kept.conf": f"{head}\n{drive}",
    }
    documents = {path: read(path, text.encode(), "sectioned") for path, text in files.items()}
    assert judge(documents, "wren", {}).roles["kept.conf"].role is role


def test_a_file_called_by_a_mark_alone_is_no_copy_where_it_alone_takes_in_what_lies_beside_it(
    tmp_path: Path,
) -> None:
    root = "#define TOP_Z 395.0f\n#define X_MAX 200\n#define Y_MAX 210\n#define PUSH_TICKS_MM 773.6f\n"
    parts = {
        "pins.h": "#define PIN_X 4\n#define PIN_Y 5\n",
        "moves.h": "#define FAST_X 200\n#define FAST_Y 180\n",
    }
    takes = '#include "pins.h"\n#include "moves.h"\n'
    files = {
        "src/attic.h": takes + root,
        "src_may/attic.h": takes + root.replace("773.6", "770"),
        "src_may/moves.h": parts["moves.h"],
    }
    for path, text in {**files, **{f"src/{name}": text for name, text in parts.items()}}.items():
        (tmp_path / path).parent.mkdir(exist_ok=True)
        (tmp_path / path).write_text(text)
    found = open_configuration([tmp_path]).roles
    assert {path: role.role for path, role in found.items() if role.role.taken} == dict.fromkeys(
        ("src/attic.h", "src/moves.h", "src/pins.h"), Role.IN_FORCE
    )
    assert not found.questions
