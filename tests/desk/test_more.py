"""Beside the rooms: comparison and rules are those of the commands, and every command that is named is one."""

from __future__ import annotations

import html
import re
import shutil
from pathlib import Path

import pytest
from commandline import Runner
from deskbench import SAMPLES, desk_at, words

from cfgmigrate import api
from cfgmigrate.desk.more_room import ONLY_AT_THE_TERMINAL
from cfgmigrate.ground.progress import stage
from cfgmigrate.reports.comparison import render_comparison_page


def test_what_is_compared_lies_in_the_work_folder(tmp_path: Path) -> None:
    browser = desk_at(tmp_path, sheet=True)
    shutil.copytree(SAMPLES / "siskin", tmp_path / "siskin")
    (tmp_path / ".hidden").mkdir()
    (tmp_path / "away").symlink_to("/etc")
    api.prepare([tmp_path / "wren"], tmp_path / "swap.yaml", out=tmp_path / "packet")
    page = browser.get("more")
    listed = re.search(r'<select id="old".*?</select>', page.text, re.DOTALL)
    assert listed
    there = [words(each) for each in re.findall(r"<option[^>]*>(.*?)</option>", listed[0])]
    assert there == ["wren, as it is", "packet, before", "packet, after", "siskin"]
    found = browser.get("more/compare?old=wren,%20as%20it%20is&new=packet,%20after")
    wanted = render_comparison_page(api.compare(tmp_path / "wren", tmp_path / "packet" / "after").to_json())
    assert found.text == wanted and "unsafe" not in found.headers["content-security-policy"]
    for old in ("away", "..", ".hidden", "/etc", ""):
        assert browser.get(f"more/compare?old={old}&new=siskin").status == 422


def test_a_rule_is_told_as_the_command_tells_it(tmp_path: Path, cli: Runner) -> None:
    browser = desk_at(tmp_path)
    names = re.findall(r'more/rule/([\w.]+)"', browser.get("more").text)
    assert {rule.name for rule in (*api.explain(), *api.tuning_rules())} == set(names)
    page = browser.get("more/rule/retraction.length")
    shown = re.search(r"<pre[^>]*>(.*?)</pre>", page.text, re.DOTALL)
    assert shown
    told = html.unescape(re.sub(r"<[^>]*>", "", shown[1]))
    said = cli("explain", "retraction.length", "--full").out
    assert [line for line in told.splitlines() if line] == [
        line for line in said.splitlines() if line and not line.startswith("By the ")
    ]
    assert browser.get("more/rule/no.such").status == 422


@pytest.mark.parametrize("command", [command for _, command in ONLY_AT_THE_TERMINAL])
def test_every_command_that_is_named_takes_what_is_named(cli: Runner, command: str) -> None:
    name, *rest = command.split()
    helped = cli(name, "--help").out
    assert all(f"{each} " in helped or f"{each}\n" in helped for each in rest if each.startswith("--"))


def test_while_something_runs_it_is_told_what(tmp_path: Path) -> None:
    browser = desk_at(tmp_path)
    assert browser.get("working").text == ""
    with stage("writing the pages"):
        assert browser.get("working").text == "writing the pages"


def test_a_link_to_a_packet_is_its_name_whatever_it_is(tmp_path: Path) -> None:
    browser, name = desk_at(tmp_path, sheet=True), "autumn.swap_of_the_drive.second"
    api.prepare([tmp_path / "wren"], tmp_path / "swap.yaml", out=tmp_path / name)
    for path in ("packet", f"packet/{name}", f"packet/{name}/install"):
        page = browser.get(path)
        links = re.findall(rf'"{browser.entry.place}/packet/([^"/]+)', page.text)
        assert page.status == 200 and set(links) == {name}, path
