"""Which files are profiles, and which only look like one."""

from __future__ import annotations

from pathlib import Path

from folderbench import MAIN, STEPPERS, asked, laid, lay, roles

from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.files.roles import Role

SAMPLES = Path(__file__).parents[2] / "sample_configs"


def test_a_heater_file_is_no_profile(tmp_path: Path) -> None:
    lay(tmp_path, {"steppers.conf": STEPPERS, "heat.conf": "[fan]\nspeed: 3\n[nozzle]\ntemperature: 215\n"})
    assert roles(open_configuration([tmp_path]))["heat.conf"] == "in force"


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


OFF = "fan_off_layers = 1\nsave_every_layer = yes\n"


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


def test_what_a_nozzle_is_made_of_makes_no_filaments_profile(tmp_path: Path) -> None:
    feeder = "[drive]\nper mm = 418.6\n[pull]\nlen = 5.2\n[end]\nmaterial = hard brass\n"
    reel = "[pull]\nlen = 4.8\n[reel]\nwhat = PETG black\n"
    lay(tmp_path, {"steppers.conf": STEPPERS, "feeder.conf": feeder, "grey.conf": reel})
    found = roles(open_configuration([tmp_path]))
    assert (found["feeder.conf"], found["grey.conf"]) == ("in force", "profile")


FRAME = "[machine]\nname = Gannet\n[x]\nmotor current = 0.8\nsteps per mm = 80\nmax = 226\n[y]\nmotor current = 0.8\nsteps per mm = 80\nmax = 230\n"
SAND = '"layer": 0.2, "walls": 3, "nozzle c": 208, "retract mm": 5.0, "x_max": 220, "y_max": 219'


def _with_sand(folder: Path, name: str, text: str) -> tuple[str, str]:
    """The role of a filament's file with limits, and what is asked of the files beside one machine's frame."""
    (folder / "gannet.ini").write_text(FRAME)
    (folder / "coils").mkdir()
    (folder / "coils" / name).write_text(f"{{{text}}}")
    found = open_configuration([folder]).roles
    return found.role(f"coils/{name}").value, " ".join(each.text for each in found.questions)


def test_how_far_a_filament_may_be_printed_makes_its_file_no_second_machine(tmp_path: Path) -> None:
    (tmp_path / "said").mkdir()
    (tmp_path / "named").mkdir()
    assert _with_sand(tmp_path / "said", "sand.json", '"machine": "gannet", ' + SAND) == ("profile", "")
    assert _with_sand(tmp_path / "named", "pla_sand.json", SAND) == ("profile", "")


def test_limits_beside_a_motor_or_for_another_machine_are_asked_about(tmp_path: Path) -> None:
    cases = (
        '"machine": "petrel", ' + SAND,
        SAND + ', "x_steps_per_mm": 80, "y_steps_per_mm": 80',
        SAND + ', "x_motor_current": 700, "y_motor_current": 700',
    )
    for number, text in enumerate(cases):
        (tmp_path / str(number)).mkdir()
        role, question = _with_sand(tmp_path / str(number), "pla_sand.json", text)
        assert role != "profile", text
        assert "Which one is meant?" in question, text
