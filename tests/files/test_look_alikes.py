"""Files that are much alike: which is taken, and which is asked about."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from folderbench import MAIN, RAILS, STEPPERS, asked, laid, lay, roles

from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.files.roles import Role
from cfgmigrate.files.telling import FilesUnclear, ask_first, roles_by

SAMPLES = Path(__file__).parents[2] / "sample_configs"


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


def test_a_file_that_asks_not_to_be_changed_and_that_nothing_takes_in_is_asked_about(tmp_path: Path) -> None:
    """It sets what the machine does, and other numbers."""
    own = "[thrust]\nsteps = 415\ncurrent = 0.6\n[draw]\nlength = {}\nspeed = 30\nafter = 0.1\n"
    (tmp_path / "plover.conf").write_text(own.format("6.2") + "[rail x]\nhighest = 210\n")
    (tmp_path / "plover by Io.conf").write_text("; please do not edit!\n" + own.format("4.9"))
    found = open_configuration([tmp_path])
    assert asked(found.roles) == {"plover by Io.conf"} and not roles(found)["plover by Io.conf"].startswith(
        "in"
    )
    (tmp_path / "plover.conf").write_text("include = plover by Io.conf\n" + own.format("6.2"))
    assert not asked(open_configuration([tmp_path]).roles)


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


@pytest.mark.parametrize(("path", "asked_about"), [("blue/main.txt", True), ("blue/other.txt", False)])
def test_a_small_file_below_its_namesake_that_sets_the_same_is_asked_about(
    tmp_path: Path, path: str, asked_about: bool
) -> None:
    small = "== fil push ==\npulses_mm = 1240\nfine = 8\ntop_spd = 3\n== blue ==\nshade = 4\n"
    found = laid(tmp_path, {"main.txt": MAIN, path: small})
    assert (path in asked(found.roles)) is asked_about


def test_scripts_for_things_that_have_sections_of_their_names_are_no_copies(tmp_path: Path) -> None:
    script = "".join(f"G1 X{at} Y{at} F900\nG1 E-{at} F240\n" for at in range(2, 9))
    heads = "".join(
        f"[{name}]\nhighest = 20{at}\nfastest = 9\nsteps = 84\n" for at, name in enumerate(("ochre", "slate"))
    )
    laid = {"main.conf": heads, "scripts/to ochre.nc": script, "scripts/to slate.nc": script}
    lay(tmp_path, laid)
    found = open_configuration([tmp_path])
    assert not asked(found.roles)
    assert {path for path, role in roles(found).items() if role == str(Role.IN_FORCE)} == laid.keys()
    for other in (heads.replace("slate", "third"), "[ochre]\nbed = 60\n[slate]\nbed = 70\n"):
        (tmp_path / "main.conf").write_text(other)
        assert asked(open_configuration([tmp_path]).roles)


@pytest.mark.parametrize(
    ("heading", "once_more"), [("bog oak", True), ("reel", False), ("bog oak damp", False)]
)
def test_a_profile_below_the_name_of_another_one_of_its_folder_may_be_a_copy_and_is_asked_about(
    heading: str, once_more: bool, tmp_path: Path
) -> None:
    reel = "[{}]\nmaterial = TPU\nretraction = 1.5\nflow = 106\n"
    lay(
        tmp_path,
        {
            "plover.conf": MAIN,
            "reels/bog oak.conf": reel.format("bog oak") + "fan = 60\n",
            "reels/bog oak damp.conf": reel.format(heading).replace("1.5", "1.2"),
        },
    )
    found = open_configuration([tmp_path]).roles
    assert asked(found) == ({"reels/bog oak damp.conf"} if once_more else set())
