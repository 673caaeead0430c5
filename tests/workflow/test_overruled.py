"""A value that was written and does not count is told: by status, and by a revert that would leave the machine as it was."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from msgspec.structs import replace
from packetbench import seal_anew

from cfgmigrate import api
from cfgmigrate.workflow.overruled import lights_now, put_back_in_vain

SAMPLES = Path(__file__).parents[2] / "sample_configs"


@pytest.fixture
def installed(tmp_path: Path) -> Path:
    """The sample Dunlin with its packet installed; of two lines of one name the later one counts there."""
    shutil.copytree(SAMPLES / "dunlin", tmp_path / "dunlin")
    api.prepare(tmp_path / "dunlin", SAMPLES / "sheets" / "dunlin.yaml", out=tmp_path / "packet")
    api.install(tmp_path / "packet")
    return tmp_path


def add(folder: Path, lines: str) -> None:
    with (folder / "dunlin" / "feed.txt").open("a") as file:
        file.write(lines)


def states(folder: Path) -> dict[str, str]:
    return {light["light"]: light["state"] for light in api.status(folder / "dunlin").lights}


def test_what_counts_as_it_was_installed_is_not_told(installed: Path) -> None:
    assert api.status(installed / "dunlin").changed == ()
    assert states(installed)["feed"] == states(installed)["retraction"] == "set"
    assert not any("does not count" in note for note in api.revert(installed / "packet", dry_run=True).notes)


def test_an_old_value_below_an_installed_one_takes_its_light_away(installed: Path) -> None:
    add(installed, "feeder-steps-per-mm 202.0\nretraction-length 6.2\n")
    found = api.status(installed / "dunlin")
    assert {each["quantity"]: (each["installed"], each["now"]) for each in found.changed} == {
        "feeder.steps_per_mm": ("775.0", "202.0"),
        "retraction.length": ("0.74", "6.2"),
    }
    assert states(installed)["feed"] == states(installed)["retraction"] == "unknown"
    assert states(installed)["height"] == "set"


def test_an_installed_line_that_was_put_back_by_hand_takes_its_light_away(installed: Path) -> None:
    feed = installed / "dunlin" / "feed.txt"
    feed.write_text(feed.read_text().replace("775.0", "202.0"))
    (only,) = api.status(installed / "dunlin").changed
    assert (only["now"], only["where"]) == ("202.0", "feed.txt:10")
    assert states(installed)["feed"] == "unknown"


def test_a_number_of_one_s_own_in_an_installed_line_is_told_however_near_and_is_set_by_hand(
    installed: Path,
) -> None:
    feed = installed / "dunlin" / "feed.txt"
    feed.write_text(feed.read_text().replace("775.0", "776.2"))
    found = api.status(installed / "dunlin")
    assert [(each["installed"], each["now"]) for each in found.changed] == [("775.0", "776.2")]
    assert states(installed)["feed"] == "by hand"


def test_an_estimate_that_was_written_over_by_hand_is_none_any_more(installed: Path) -> None:
    feed = installed / "dunlin" / "feed.txt"
    assert "Retraction length" in {
        each["label"].capitalize() for each in api.status(installed / "dunlin").estimates
    }
    feed.write_text(feed.read_text().replace("retraction-length 0.74", "retraction-length 0.9"))
    found = api.status(installed / "dunlin")
    assert "Retraction length" not in {each["label"].capitalize() for each in found.estimates}


def test_after_two_tunings_and_edits_by_hand_all_is_taken_back_to_the_start(installed: Path) -> None:
    measured = installed / "measured.yaml"
    for number, band in ((1, 6), (2, 4)):
        measured.write_text(
            f"sheet: {SAMPLES / 'sheets' / 'dunlin.yaml'}\nmeasured:\n  retraction: {{lowest: 0.2 mm, more_each: 0.1 mm, best_storey: {band}}}\n"
            "  feed: {at_steps_per_mm: 775.0 1/mm, asked: 100 mm, moved: [98.7 mm, 98.9 mm, 98.8 mm], reading_error: 0.2 mm}\n"
        )
        tuned = api.tune(installed / "dunlin", measured, out=installed / f"tuned {number}")
        api.install(tuned.folder)
    surer = " ".join(text for _, text in api.status(installed / "dunlin").surer)
    assert "of the feed per turn" not in surer, "the feed was measured"
    feed = installed / "dunlin" / "feed.txt"
    feed.write_text(feed.read_text().replace("784.4", "780.0"))
    api.revert_to(installed / "dunlin", "start", keep=["feeder.steps_per_mm"])
    assert api.status(installed / "dunlin").in_force == ()


def test_an_installed_line_that_is_not_there_any_more_takes_its_light_away(installed: Path) -> None:
    feed = installed / "dunlin" / "feed.txt"
    text = feed.read_text().replace("feeder-steps-per-mm", "#feeder-steps-per-mm")
    feed.write_text(
        "".join(line for line in text.splitlines(True) if not line.startswith("retraction-length"))
    )
    found = api.status(installed / "dunlin").changed
    assert {(each["quantity"], each["now"], each["where"]) for each in found} == {
        ("feeder.steps_per_mm", "", "feed.txt"),
        ("retraction.length", "", "feed.txt"),
    }
    assert states(installed)["feed"] == states(installed)["retraction"] == "unknown"


def test_the_lights_of_a_file_that_is_not_there_any_more_are_unknown(installed: Path) -> None:
    (installed / "dunlin" / "body.txt").unlink()
    assert states(installed)["height"] == "unknown" and states(installed)["feed"] == "set"


def test_values_that_were_taken_back_are_no_lights_and_the_others_stay(installed: Path) -> None:
    api.revert(installed / "packet", only=["feeder.steps_per_mm"])
    found = states(installed)
    assert (found["feed"], found["retraction"], found["height"]) == ("unknown", "set", "set")


def test_a_value_taken_back_and_tuned_since_counts_as_tuned(installed: Path) -> None:
    api.revert(installed / "packet", only=["retraction.length"])
    (installed / "measured.yaml").write_text(
        f"sheet: {SAMPLES / 'sheets' / 'dunlin.yaml'}\nmeasured:\n  retraction: {{lowest: 0.2 mm, more_each: 0.1 mm, best_storey: 6}}\n"
    )
    api.install(api.tune(installed / "dunlin", installed / "measured.yaml", out=installed / "tuned").folder)
    assert states(installed).get("retraction") != "unknown"


def test_a_profile_that_no_install_knew_has_a_light_of_its_own(tmp_path: Path) -> None:
    shutil.copytree(SAMPLES / "lapwing", tmp_path / "lapwing")
    api.prepare(tmp_path / "lapwing", SAMPLES / "sheets" / "lapwing.yaml", out=tmp_path / "packet")
    api.install(tmp_path / "packet")
    assert not any(light["state"] == "unknown" for light in api.status(tmp_path / "lapwing").lights)
    old = (SAMPLES / "lapwing" / "reels" / "abs_black.conf").read_text()
    (tmp_path / "lapwing" / "reels" / "abs_white.conf").write_text(old.replace("abs black", "abs white"))
    unknown = [each for each in api.status(tmp_path / "lapwing").lights if each["state"] == "unknown"]
    assert {each["holder"] for each in unknown} == {"filament abs white"}
    assert all("no install knew that file" in each["why"] for each in unknown)


@pytest.mark.parametrize(
    ("of", "read", "states_"),
    [
        ("machine", {"machine", "filament reed"}, {"machine": "unknown", "filament reed": "set"}),
        ("machine", {"machine"}, {"machine": "unknown", "filament reed": "unknown"}),
        ("filament reed", {"machine", "filament reed"}, {"filament reed": "unknown"}),
    ],
)
def test_a_profile_with_a_length_of_its_own_keeps_its_light_when_the_machine_s_was_changed(
    of: str, read: set[str], states_: dict[str, str]
) -> None:
    """A profile without one goes by the machine's, and an edit of its own line is still an edit."""
    lights = [
        {"light": "retraction", "holder": holder, "state": "set", "why": ""}
        for holder in ("machine", "filament reed")
    ]
    length = "retraction.length"
    edit = {
        "quantity": length,
        "holder": of,
        "label": "retraction length",
        "installed": "0.7",
        "now": "6.1",
        "where": "m.conf:3",
    }
    found = lights_now(lights, [edit], read={(length, holder) for holder in read})
    assert {each["holder"]: each["state"] for each in found if each["holder"] in states_} == states_


def test_of_a_broken_history_it_is_not_said_that_nothing_is_in_force(installed: Path) -> None:
    from cfgmigrate.reports.status_text import status_lines

    (installed / "dunlin" / ".cfgmigrate" / "history.jsonl").write_text("")
    found = api.status(installed / "dunlin")
    assert found.problems and found.next.startswith("cfgmigrate history ")
    told = " ".join(line.text for line in status_lines(found.to_json(), 200))
    assert "can't be told" in told and "Nothing that this program installed" not in told


def test_a_revert_says_what_a_later_line_overrules(installed: Path) -> None:
    add(installed, "feeder-steps-per-mm 780\n")
    told = "feed.txt:10 202.0 does not count: feed.txt:37 says 780. Take that line out, or write 202.0 there"
    assert told in api.revert(installed / "packet", dry_run=True).notes
    assert told in api.revert(installed / "packet").notes


def test_of_several_values_on_one_line_each_is_told_by_its_own_old_number(installed: Path) -> None:
    add(installed, "feeder-steps-per-mm 780\n")
    report = api.revert(installed / "packet", dry_run=True)
    (steps,) = [item for item in report.restored if item.name == "feeder.steps_per_mm"]
    beside = replace(steps, name="retraction.extra_on_return", old="0.1", installed="0")
    report = replace(report, restored=(*report.restored, beside))
    (told,) = put_back_in_vain(installed / "dunlin", report)
    assert told.startswith("feed.txt:10 202.0 does not count")


def test_a_packet_that_was_never_installed_here_and_does_not_hold_takes_nothing_back(installed: Path) -> None:
    """Its `before/` may hold anything, and the files its `after/`."""
    from cfgmigrate.ground.findings import Refused

    shutil.rmtree(installed / "dunlin" / ".cfgmigrate")
    feed = (installed / "dunlin" / "feed.txt").read_bytes()
    assert api.revert(installed / "packet", dry_run=True).restored, "one that holds does"
    sheet = installed / "packet" / "sheet.yaml"
    sheet.write_bytes(sheet.read_bytes().replace(b"309", b"308"))
    seal_anew(installed / "packet")
    with pytest.raises(Refused, match="the packet does not hold"):
        api.revert(installed / "packet")
    assert (installed / "dunlin" / "feed.txt").read_bytes() == feed


def test_a_profile_copied_after_the_install_is_told_by_the_revert(tmp_path: Path) -> None:
    shutil.copytree(SAMPLES / "lapwing", tmp_path / "m")
    api.prepare(tmp_path / "m", SAMPLES / "sheets" / "lapwing.yaml", out=tmp_path / "packet")
    api.install(tmp_path / "packet")
    reels = tmp_path / "m" / "reels"
    clear = (reels / "petg_clear.conf").read_text()
    assert not any("still has" in note for note in api.revert(tmp_path / "packet", dry_run=True).notes)
    (reels / "petg_blue.conf").write_text(clear.replace("clear", "blue"))
    told = "reels/petg_blue.conf:13 still has 0.75, as was installed in reels/petg_clear.conf"
    assert any(note.startswith(told) for note in api.revert(tmp_path / "packet").notes)


@pytest.mark.parametrize("kept", ["96.4", "98.0"])
def test_at_the_board_s_console_goes_back_what_the_board_kept_and_not_what_the_file_had(
    tmp_path: Path, kept: str
) -> None:
    config = tmp_path / "jug"
    config.mkdir()
    (config / "jug.txt").write_text("feeder.steps_per_mm = 96.4\nfeeder.microsteps = 16\nx.max = 200\n")
    (config / "kept.txt").write_text(
        f"feeder.steps_per_mm  {kept} /mm\nx.max  200 mm\nfeeder.microsteps  16\n"
    )
    (config / "cfgmigrate.yaml").write_text("site: 1\nroles: {kept.txt: saved values}\n")
    (tmp_path / "swap.yaml").write_text("new: {steps_per_mm: 426.7 1/mm, microsteps: 16}\n")
    packet = api.prepare(config, tmp_path / "swap.yaml", out=tmp_path / "packet")
    unknown = [light.light for light in packet.plan.lights if light.state == "unknown"]
    api.install(tmp_path / "packet", accept_unknown=unknown)
    for dry in (True, False):
        notes = api.revert(tmp_path / "packet", dry_run=dry).notes
        assert not any("does not count" in note for note in notes)
        assert notes[0].endswith(f"store these at its console: feeder.steps_per_mm {kept}")
