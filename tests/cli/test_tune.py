"""After the swap, from outside: trial, tune, guide and report, with the packet's whole way there and back."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import markdown_it
import pytest
from commandline import Runner

from cfgmigrate.dialects.grammar import data_folder
from cfgmigrate.trials import TRIALS

SAMPLES = data_folder("sample_configs")
MEASURED = """\
sheet: swap.yaml
machine: Wren
measured:
  feed: {at_feed_per_turn: 24.69 mm, asked: 100 mm, moved: [98.7 mm, 98.9 mm, 98.8 mm], reading_error: 0.2 mm}
  retraction: {lowest: 0 mm, more_each: 0.1 mm, best_storey: 5, storeys: 9}
  lag: {best: 0.048 s}
  current: {at: 0.42 A, rise: 0.03 A}
  z: {highest: 250.6 mm}
"""


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, cli: Runner) -> Path:
    """Wren after its swap: the packet is installed, and a few things were measured."""
    shutil.copytree(SAMPLES / "wren", tmp_path / "wren")
    shutil.copyfile(SAMPLES / "sheets" / "wren.yaml", tmp_path / "swap.yaml")
    (tmp_path / "measured.yaml").write_text(MEASURED, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert cli("prepare", "wren", "--sheet", "swap.yaml", "-o", "swap").status == 0
    assert cli("install", "swap").status == 0
    return tmp_path


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir()) if path.is_file()}


def changes(packet: Path) -> dict[str, str]:
    found = json.loads((packet / "changes.json").read_bytes())["changes"]
    return {change["quantity"]: change["new"]["text"] for change in found}


def test_tune_review_install_history_and_the_way_back(cli: Runner, desk: Path) -> None:
    before = files(desk / "wren")
    assert cli("tune", "wren", "--measured", "measured.yaml", "-o", "tuned").status == 0
    # 24.69 · 98.8/100 = 24.394 ± 0.016; 0.42 + 0.03; 0.45/2; 0 + 4 · 0.1; 250.6 − 2.5 (all by hand)
    found = changes(desk / "tuned")
    wanted = {
        "feeder.feed_per_turn": "24.39", "motor.run_current": "0.45", "motor.hold_current": "0.22",
        "retraction.length": "0.40", "lag.coefficient": "0.048", "axis.z.max": "248.1",
    }  # fmt: skip
    assert {name: found[name] for name in wanted} == wanted
    assert set(found) - set(wanted) <= {"script.end.z"}
    assert files(desk / "wren") == before
    assert cli("verify", "tuned").status == 0
    assert (desk / "tuned" / "rules" / "swap.yaml").read_bytes() == (desk / "swap.yaml").read_bytes()
    assert (desk / "tuned" / "sheet.yaml").read_text(encoding="utf-8") == MEASURED
    assert cli("install", "tuned").status == 0
    kinds = [entry["kind"] for entry in json.loads(cli("history", "wren", "--json").out)["entries"]]
    assert kinds == ["install", "tune"]
    assert cli("tune", "wren", "--measured", "measured.yaml", "-o", "again").status == 0
    assert changes(desk / "again") == {}
    assert cli("revert", "tuned").status == 0
    assert files(desk / "wren") == before


def test_what_the_swap_left_open_in_scripts_is_told_again_until_it_is_mended(
    cli: Runner, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copytree(SAMPLES / "siskin", tmp_path / "siskin")
    shutil.copyfile(SAMPLES / "sheets" / "siskin.yaml", tmp_path / "swap.yaml")
    measured = "sheet: swap.yaml\nmeasured:\n  lag: {best: 0.05 s}\n"
    (tmp_path / "measured.yaml").write_text(measured, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert cli("prepare", "siskin", "--sheet", "swap.yaml", "-o", "swap").status == 0
    assert cli("install", "swap").status == 0

    def told(packet: str) -> str:
        assert cli("tune", "siskin", "--measured", "measured.yaml", "-o", packet).status == 0
        assert cli("verify", packet).status == 0
        doubts = json.loads((tmp_path / packet / "changes.json").read_bytes())["doubts"]
        return "\n".join(f"{doubt['text']}: {doubt['why']}" for doubt in doubts)

    first = told("first")
    assert (
        "G1 E-4.2 F2100 ; pull back: this pulls back 4.2 mm; the longest retraction in force is 0." in first
    )
    assert "G1 Z6 F600: a relative move of 6 mm" in first
    assert "E350" not in first  # the install has shortened it
    machine = tmp_path / "siskin" / "machine.json"
    machine.write_text(machine.read_text(encoding="utf-8").replace("E-4.2", "E-0.6"), encoding="utf-8")
    assert "pulls back" not in told("second")


def test_the_pages_of_a_tuning_say_nothing_of_a_day_of_the_swap(cli: Runner, desk: Path) -> None:
    assert cli("tune", "wren", "--measured", "measured.yaml", "-o", "tuned").status == 0
    for page in ("changes.md", "changes.html", "checklist.md"):
        text = (desk / "tuned" / page).read_text(encoding="utf-8")
        assert "24.39" in text or page == "checklist.md"
        assert "day of the swap" not in text


def test_a_swap_sheet_that_is_named_takes_the_place_of_the_sheets_own(cli: Runner, desk: Path) -> None:
    (desk / "swap.yaml").rename(desk / "other.yaml")
    said = cli("tune", "wren", "--measured", "measured.yaml", "-o", "tuned")
    assert said.status == 2 and "swap.yaml" in said.err and not (desk / "tuned").exists()
    assert (
        cli("tune", "wren", "--measured", "measured.yaml", "--sheet", "other.yaml", "-o", "tuned").status == 0
    )


@pytest.mark.parametrize(
    ("source", "said"),
    [
        ("measured:\n  feed: {moved: [98.7 mm, 98.9]}\n", "measured.yaml:2:"),
        ("measured:\n  fed: {asked: 100 mm}\n", "measured.feed"),
        ("machine: Wren\n", "nothing was measured"),
        ("measured: [", "YAML"),
    ],
)
def test_a_wrong_measured_sheet_is_one_error_and_nothing_is_written(
    cli: Runner, desk: Path, source: str, said: str
) -> None:
    (desk / "measured.yaml").write_text(source, encoding="utf-8")
    shown = cli("tune", "wren", "--measured", "measured.yaml", "-o", "tuned")
    assert shown.status == 2 and said in shown.err
    assert not (desk / "tuned").exists()


def test_a_starter_holds_what_is_in_force_and_is_not_written_over(cli: Runner, desk: Path) -> None:
    assert cli("tune", "wren", "--starter", "new.yaml", "--sheet", "swap.yaml").status == 0
    text = (desk / "new.yaml").read_text(encoding="utf-8")
    assert "\n    at_feed_per_turn: 24.69 mm\n" in text
    assert "\n    at: 0.4 A\n" in text
    assert "\nsheet: swap.yaml\n" in text and "\nmachine: Wren\n" in text
    assert cli("tune", "wren", "--starter", "new.yaml").status == 3
    assert cli("tune", "wren", "--starter", "other.yaml", "-o", "packet").status == 2
    assert cli("tune", "wren", "-o", "packet").status == 2


@pytest.mark.parametrize("name", TRIALS)
def test_every_trial_can_be_written_with_a_page_and_never_over_a_file(
    cli: Runner, desk: Path, name: str
) -> None:
    said = cli("trial", name, "wren", "-o", "script.nc", "--page", "script.html")
    assert said.status == 0, said.err
    page = (desk / "script.html").read_text(encoding="utf-8")
    assert "<svg" in page and "Content-Security-Policy" in page and "<script" not in page
    assert "CAUTION" in (desk / "script.nc").read_text(encoding="ascii")
    assert cli("trial", name, "wren", "-o", "script.nc").status == 3


def test_a_length_that_was_measured_with_other_files_is_told_and_writes_nothing(
    cli: Runner, desk: Path
) -> None:
    (desk / "measured.yaml").write_text(
        "measured: {feed: {at_feed_per_turn: 33.1 mm, asked: 100 mm, moved: [98.7 mm, 98.9 mm, 98.8 mm]}}\n"
    )
    said = cli("tune", "wren", "--measured", "measured.yaml", "-o", "tuned")
    assert said.status == 0 and "Measure again with the files as they are" in " ".join(said.out.split())
    assert changes(desk / "tuned") == {}


def test_a_trial_for_files_without_limits_is_refused_and_nothing_is_written(cli: Runner, desk: Path) -> None:
    shutil.copytree(SAMPLES / "knot", desk / "knot")
    said = cli("trial", "clearance", "knot", "-o", "script.nc")
    assert said.status == 3 and "axis." in said.err
    assert not (desk / "script.nc").exists()
    assert cli("trial", "clearence", "wren", "-o", "script.nc").status == 2


def test_guide_lists_what_may_be_seen_and_ranks_what_to_look_at(cli: Runner, desk: Path) -> None:
    listed = cli("guide").out
    for seen in (
        "gaps at corners",
        "irregular wall",
        "stringing",
        "clicks",
        "grinding",
        "soft mount",
        "no push",
        "first layer off",
    ):
        assert seen in listed
        said = cli("guide", "wren", "--sheet", "swap.yaml", "--seen", seen)
        assert said.status == 0 and "Hand over to" in " ".join(said.out.split())
    found = json.loads(cli("guide", "wren", "--sheet", "swap.yaml", "--seen", "clicks", "--json").out)
    assert [one["seen"] for one in found] == ["clicks"]
    every = json.loads(cli("guide", "--json").out)
    assert all(one["seen"] in listed and one["says"] in listed for one in every) and len(every) > 7
    said = cli("guide", "wren", "--feeder", "1", "--sheet", "swap.yaml", "--seen", "stringing").out
    assert "trial retraction wren --sheet swap.yaml --feeder 1 -o" in said
    assert cli("guide", "--seen", "rain").status == 2


def test_the_record_says_each_step_with_why_and_by_whom(cli: Runner, desk: Path) -> None:
    assert cli("tune", "wren", "--measured", "measured.yaml", "-o", "tuned").status == 0
    assert cli("install", "tuned").status == 0
    assert cli("revert", "tuned", "--only", "lag.coefficient").status == 0
    assert cli("report", "wren", "-o", "record").status == 0
    text = (desk / "record" / "record.md").read_text(encoding="utf-8")
    assert "### Feed per turn: 24.69 → 24.39" in text
    assert "measured.feed.at_feed_per_turn * measured.feed.moved / measured.feed.asked" in text
    assert "not reviewed by a second person" in text
    assert "## 3. Reverted: step 2" in text
    html = (desk / "record" / "record.html").read_text(encoding="utf-8")
    assert "24.69 → 24.39" in html and "<script" not in html
    assert markdown_it.MarkdownIt("commonmark").enable("table").render(text).count("<h2>") == 4
    assert cli("report", "wren", "-o", "record").status == 3
    assert cli("report", "wren").out == text
    assert cli("report", "wren", "-o", "one.html").status == 0 and (desk / "one.html").is_file()


def test_a_drive_that_turned_the_wrong_way_round_is_reversed_by_hand_in_the_line_that_is_named(
    cli: Runner, desk: Path
) -> None:
    feed = desk / "wren" / "feed.conf"
    text = feed.read_text(encoding="utf-8").replace("[feeder]\n", "[feeder]\nreversed = no\n")
    feed.write_text(text, encoding="utf-8")
    (desk / "measured.yaml").write_text("machine: Wren\nmeasured:\n  feed: {went: out}\n", encoding="utf-8")
    assert cli("tune", "wren", "--measured", "measured.yaml", "-o", "tuned").status == 0
    assert not changes(desk / "tuned")
    line = text[: text.index("reversed = no")].count("\n") + 1
    told = (desk / "tuned" / "checklist.md").read_text(encoding="utf-8")
    assert f"Where it stands: feed.conf:{line} (\\[feeder\\] reversed = no)" in told and "went out" in told
