"""Which files are the machine: told from folders as people keep them, or asked, and never guessed."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from folderbench import ASKED, MAIN, RAILS, STEPPERS, Folder, folder, laid, lay, roles

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.files.configuration import Configuration, open_configuration
from cfgmigrate.files.judge import judge
from cfgmigrate.files.roles import Role
from cfgmigrate.files.telling import told_of
from cfgmigrate.trials import Wishes

SAMPLES = Path(__file__).parents[2] / "sample_configs"


SEEDS = range(60)


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


def test_what_is_taken_in_is_in_force_whatever_it_is_called(tmp_path: Path) -> None:
    lay(tmp_path, {"main.conf": "include = feed_old.conf\n[axis x]\nmax: 3\n", "feed_old.conf": STEPPERS})
    lay(tmp_path, {"feed.conf": STEPPERS.replace("96", "94")})
    assert roles(open_configuration([tmp_path])) == {
        "main.conf": "in force",
        "feed_old.conf": "in force",
        "feed.conf": "kept copy",
    }


def test_a_copy_that_is_named_is_in_force_and_told_first(tmp_path: Path) -> None:
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


def test_saved_values_may_be_called_by_their_path(tmp_path: Path) -> None:
    found = laid(
        tmp_path, {"main.txt": MAIN, "saved.val": "fil push/pulses_mm=96.4\nleft-right/top_spd=210\n"}
    )
    (question,) = found.roles.questions
    assert (question.kind, question.instead) == ("saved", ("saved.val",))


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
        ("; my numbers, beats main.conf", "; kept.conf is read afterwards", Role.IN_FORCE),
        ("; mine", "; the panel writes kept.conf, which is read last", Role.IN_FORCE),
        ("; written by the panel, 3 May", "; kept.conf does not override this file", Role.IN_FORCE),
        ("; written by the panel, 3 May", "; kept.conf goes over to this one", Role.IN_FORCE),
    ],
)
@pytest.mark.parametrize(("below", "all_below"), [("", ""), ("put by.", ""), ("rig.", "rig.")])
def test_what_the_panel_writes_and_another_file_says_to_count_in_the_end_is_saved(
    head: str, said: str, role: Role, below: str, all_below: str
) -> None:
    drive = "[feeder]\nsteps per mm = 96\nlag = 0.5\n"
    main = f"[axis x]\nhighest spot = 210\n[axis y]\nhighest spot = 210\n{drive}"
    files = {
        "main.conf": f"{said}\n{main.replace('[', '[' + all_below)}",
        "kept.conf": f"{head}\n{drive.replace('[', '[' + below)}",
    }
    documents = {path: read(path, text.encode(), "sectioned") for path, text in files.items()}
    assert judge(documents, "wren", {}).roles["kept.conf"].role is role
