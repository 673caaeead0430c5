"""Which files are kept copies: by a mark and what they share, and not by the mark alone."""

from __future__ import annotations

from pathlib import Path

import pytest
from folderbench import KILN, PUSHER, RAILS, STEPPERS, laid, lay, roles

from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.files.roles import Role

SAMPLES = Path(__file__).parents[2] / "sample_configs"


def test_an_old_copy_beside_the_live_file_is_left(tmp_path: Path) -> None:
    lay(tmp_path, {"steppers.conf": STEPPERS, "steppers_old.conf": STEPPERS.replace("96", "438")})
    found = open_configuration([tmp_path])
    assert roles(found) == {"steppers.conf": "in force", "steppers_old.conf": "kept copy"}
    assert "100%" in found.roles["steppers_old.conf"].why and "'old'" in found.roles["steppers_old.conf"].why


@pytest.mark.parametrize("when", ["2 springs ago", "a_year_ago", "long ago"])
def test_a_file_that_says_how_long_ago_it_was_is_a_kept_copy(tmp_path: Path, when: str) -> None:
    lay(tmp_path, {"steppers.conf": STEPPERS, f"steppers {when}.conf": STEPPERS.replace("96", "438")})
    assert roles(open_configuration([tmp_path]))[f"steppers {when}.conf"] == "kept copy"


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


@pytest.mark.parametrize(
    "name", ["temp_sensors", "last_layer", "old_limits", "backup_battery", "before_print"]
)
def test_a_mark_alone_makes_no_copy(tmp_path: Path, name: str) -> None:
    lay(tmp_path, {"steppers.conf": STEPPERS, f"{name}.conf": "[sensor]\npin: 4\nwindow: 3\n"})
    assert set(roles(open_configuration([tmp_path])).values()) == {"in force"}


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


def test_the_question_about_files_that_look_like_copies_speaks_of_those_alone(tmp_path: Path) -> None:
    """Three of sixteen did, and the screen said that every file here did."""
    kept = "".join(f"M{90 + n} S{n}.5\n" for n in range(12))
    (tmp_path / "hen.conf").write_text("[feeder]\nsteps per mm = 97.3\n[axis x]\nhigh end = 210\n")
    (tmp_path / "saved.nc").write_text(f"; kept 3 Nov by the board\nM10 E97.4 ; steps per mm\n{kept}")
    (tmp_path / "saved old.nc").write_text(f"; kept 14 May by the board\nM10 E97.4 ; steps per mm\n{kept}")
    asked = [each.text for each in open_configuration([tmp_path]).roles.questions]
    assert asked == [
        "By its name or its first line each of these looks like a kept copy. Which one does the machine read?"
    ]
