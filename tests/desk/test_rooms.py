"""What the rooms do is what the commands do: the same files, to the byte."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from deskbench import SAMPLES, Browser, browser_of, desk_at

from cfgmigrate import api
from cfgmigrate.desk.session import Desk
from cfgmigrate.files.site_reading import site_at
from cfgmigrate.sheet.reader import read_sheet
from cfgmigrate.store import transaction
from cfgmigrate.store.keeping import Store
from cfgmigrate.store.transaction import FileReplacement

NAMES = sorted(path.name for path in SAMPLES.iterdir() if path.is_dir() and path.name != "sheets")


def files_in(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()
    }


def say(browser: Browser, path: str, said: str, do: str = "keep", stamp: str = "") -> tuple[int, str]:
    stamp = stamp or browser.get(f"swap?more={path}").stamp_of(path)
    found = browser.post("swap/answer", {"path": path, "answer": said, "do": do, "stamp": stamp})
    return found.status, found.main


@pytest.mark.parametrize("sample", NAMES)
def test_every_room_opens_on_every_sample(tmp_path: Path, sample: str) -> None:
    browser = desk_at(tmp_path, sample, sheet=True)
    for room in ("machine", "understood", "packet", "history", "record", "after"):
        assert browser.get(room).status == 200, room
    assert browser.get("understood").text.count('<mark class="known">') > 0


@pytest.mark.exhaustive
@pytest.mark.parametrize("sample", ["dunlin", "lapwing"])
def test_the_swap_is_a_form_in_three_sittings(tmp_path: Path, sample: str) -> None:
    empty = desk_at(tmp_path, sample).get("swap")
    said = desk_at(tmp_path, sample, sheet=True).get("swap")
    for page in (empty, said):
        assert page.status == 200 and page.text.count('aria-labelledby="sitting-') == 3
    assert said.text.count('class="field said"') > 5 and empty.text.count('class="field said"') == 0
    assert (
        "light-set" in said.text and '<svg class="ratio"' in said.text and '<svg class="drawing"' in said.text
    )


def test_a_role_that_is_chosen_stands_in_the_site_file(tmp_path: Path) -> None:
    browser = desk_at(tmp_path, "lapwing")
    page = browser.get("machine")
    number = re.search(r'<label for="role-(\d+)"><code>feed_old', page.text)
    assert number
    found = browser.post("machine/roles", {"stamp": page.stamps()[0], f"role-{number[1]}": "other machine"})
    assert found.status == 200 and "Kept in cfgmigrate.yaml" in found.said
    assert site_at(tmp_path / "lapwing").roles_of(["feed_old.conf"])["feed_old.conf"].role == "other machine"
    page = browser.get("machine")
    number = re.search(r'<label for="role-(\d+)"><code>feed_old', page.text)
    assert number
    browser.post("machine/roles", {"stamp": page.stamps()[0], f"role-{number[1]}": "kept copy"})
    assert site_at(tmp_path / "lapwing").roles_of(["feed_old.conf"])["feed_old.conf"].role == "kept copy"


def test_a_page_that_shows_what_is_no_longer_so_writes_nothing(tmp_path: Path) -> None:
    browser = desk_at(tmp_path)
    stamp = browser.get("machine").stamps()[0]
    (tmp_path / "wren" / "cfgmigrate.yaml").write_text("site: 1\nroles: {slicing.conf: profile}\n")
    found = browser.post("machine/roles", {"stamp": stamp, "role-0": "kept copy"})
    assert found.status == 409 and "somebody changed this" in found.main
    assert (tmp_path / "wren" / "cfgmigrate.yaml").read_text() == "site: 1\nroles: {slicing.conf: profile}\n"


def test_what_a_setting_is_can_be_said_on_its_line_and_is_read_at_once(tmp_path: Path) -> None:
    config = tmp_path / "odd"
    shutil.copytree(SAMPLES / "wren", config)
    feed = config / "feed.conf"
    feed.write_text(feed.read_text() + "\n[feeder]\nmm at a stretch = 512\n")
    browser = browser_of(Desk(config, tmp_path))
    page = browser.get("understood?file=0")
    form = re.search(r'name="start" value="(\d+)">\s*<label[^>]*>“[^<]*stretch', page.text)
    assert form, "the line does not ask what it is"
    said = {"stamp": page.stamps()[0], "file": "0", "start": form[1], "quantity": "feeder.load_length"}
    found = browser.post("understood/meaning", said)
    assert found.status == 200, found.main
    assert any(
        each.quantity == "feeder.load_length" and each.value == 512 for each in api.survey(config).readings
    )


def test_a_meaning_goes_to_the_line_that_was_shown(tmp_path: Path) -> None:
    browser, feed = desk_at(tmp_path), tmp_path / "wren" / "feed.conf"
    feed.write_text(feed.read_text() + "\n[feeder]\nmm at a stretch = 512\nmm on a terrace = 7.5\n")
    page = browser.get("understood?file=0")
    form = re.search(r'name="start" value="(\d+)">\s*<label[^>]*>“[^<]*stretch', page.text)
    assert form
    swapped = (
        feed.read_text()
        .replace("mm at a stretch = 512", "@")
        .replace("mm on a terrace = 7.5", "mm at a stretch = 512")
    )
    feed.write_text(swapped.replace("@", "mm on a terrace = 7.5"))
    said = {"stamp": page.stamps()[0], "file": "0", "start": form[1], "quantity": "feeder.load_length"}
    found = browser.post("understood/meaning", said)
    assert found.status == 409 and "somebody changed this" in found.main
    assert not (tmp_path / "wren" / "cfgmigrate.yaml").exists()


def test_a_change_of_the_file_that_the_site_file_extends_is_noticed(tmp_path: Path) -> None:
    (tmp_path / "tern").mkdir()
    (tmp_path / "tern" / "cfgmigrate.yaml").write_text("site: 1\nextends: ../workshop.yaml\n")
    (tmp_path / "workshop.yaml").write_text("site: 1\n")
    desk = Desk(tmp_path / "tern", tmp_path)
    before = desk.fingerprint()
    assert desk.fingerprint() == before
    (tmp_path / "workshop.yaml").write_text("site: 1\nmeanings: {gears: ignore}\n")
    assert desk.fingerprint() != before


def test_a_role_is_said_of_what_the_files_were_shown_to_be(tmp_path: Path) -> None:
    browser, site = desk_at(tmp_path, "lapwing"), tmp_path / "lapwing" / "cfgmigrate.yaml"
    page, before = browser.get("machine"), site.read_bytes() if site.exists() else None
    shown = re.findall(r'<label for="role-(\d+)"><code>feed_old', page.text)[0]
    (tmp_path / "lapwing" / "feed_old.conf").write_text("nothing but words\n")
    found = browser.post("machine/roles", {"stamp": page.stamps()[0], f"role-{shown}": "other machine"})
    assert found.status == 409 and (site.read_bytes() if site.exists() else None) == before


def test_a_meaning_that_is_none_leaves_the_site_file_as_it_was(tmp_path: Path) -> None:
    browser = desk_at(tmp_path)
    page = browser.get("understood?file=0")
    start = re.search(r'name="start" value="(\d+)"', page.text)
    assert start
    said = {"stamp": page.stamps()[0], "file": "0", "start": start[1], "quantity": "no.such"}
    assert browser.post("understood/meaning", said).status == 422
    assert not (tmp_path / "wren" / "cfgmigrate.yaml").exists()


def test_answers_are_kept_as_the_terminal_keeps_them(tmp_path: Path) -> None:
    browser = desk_at(tmp_path)
    assert say(browser, "new.drive", "on the carriage")[0] == 200
    assert say(browser, "new.tube.length", "36,5 cm")[0] == 200
    assert say(browser, "old.tube.length", "about 540")[0] == 200
    sheet = read_sheet(tmp_path / "swap.yaml")
    assert sheet.entries["new.tube.length"].value == 365
    assert sheet.entries["old.tube.length"].value == 540 and sheet.entries["old.tube.length"].uncertainty > 0


def test_several_measurements_become_a_mean_with_how_sure_it_is(tmp_path: Path) -> None:
    browser = desk_at(tmp_path)
    stamp = browser.get("swap").stamp_of("new.tube.length")
    said = {
        "path": "new.tube.length",
        "answer": "",
        "often": ["36.4", "36.5", "", "36.9"],
        "do": "keep",
        "stamp": stamp,
    }
    assert browser.post("swap/answer", said).status == 200
    entry = read_sheet(tmp_path / "swap.yaml").entries["new.tube.length"]
    assert entry.value == pytest.approx(36.6, abs=0.01) and entry.uncertainty > 0


def test_what_is_no_answer_is_told_and_not_kept(tmp_path: Path) -> None:
    browser = desk_at(tmp_path)
    for said in ("", "long", "-5", "9999 m", "5 kg", "1,234"):
        status, main = say(browser, "new.tube.length", said)
        assert status == 422 and not (tmp_path / "swap.yaml").exists(), (said, main)


def test_an_answer_that_contradicts_another_is_told_and_the_sheet_stays(tmp_path: Path) -> None:
    browser = desk_at(tmp_path)
    assert say(browser, "filament.diameter", "2.85 mm")[0] == 200
    before = (tmp_path / "swap.yaml").read_bytes()
    assert say(browser, "new.tube.bore", "2 mm")[0] == 422
    assert (tmp_path / "swap.yaml").read_bytes() == before


def test_later_not_known_and_taken_back_are_kept_too(tmp_path: Path) -> None:
    browser = desk_at(tmp_path)
    say(browser, "new.drive", "on the carriage")
    with_drive = (tmp_path / "swap.yaml").read_bytes()
    say(browser, "new.tube.length", "", "later")
    assert b"later: new.tube.length" in (tmp_path / "swap.yaml").read_bytes()
    say(browser, "new.tube.length", "", "not known")
    assert b"not known: new.tube.length" in (tmp_path / "swap.yaml").read_bytes()
    say(browser, "new.tube.length", "", "take back")
    assert (tmp_path / "swap.yaml").read_bytes() == with_drive
    say(browser, "new.drive", "", "take back")
    assert read_sheet(tmp_path / "swap.yaml").get("new.drive") is None


def test_the_second_of_two_windows_is_shown_the_others_answer_and_writes_nothing(tmp_path: Path) -> None:
    browser = desk_at(tmp_path)
    stamp = browser.get("swap").stamp_of("new.tube.length")
    assert say(browser, "new.tube.length", "38 mm", stamp=stamp)[0] == 200
    status, main = say(browser, "new.tube.length", "45 mm", stamp=stamp)
    assert status == 409 and "38 mm" in main and "45 mm" in main
    assert read_sheet(tmp_path / "swap.yaml").entries["new.tube.length"].value == 38


def test_two_windows_at_different_fields_are_both_heard(tmp_path: Path) -> None:
    browser = desk_at(tmp_path)
    page = browser.get("swap")
    one, other = page.stamp_of("new.tube.length"), page.stamp_of("new.drive")
    assert say(browser, "new.tube.length", "38 mm", stamp=one)[0] == 200
    assert say(browser, "new.drive", "on the carriage", stamp=other)[0] == 200


def test_the_next_question_and_what_helps_most_come_by_themselves(tmp_path: Path) -> None:
    browser = desk_at(tmp_path)
    assert 'data-later="' in browser.get("swap").text
    assert 'name="path"' in browser.get("swap/ahead").text


def test_prepare_install_and_revert_are_those_of_the_commands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The way through the desk beside the way by the functions that the commands use, at the same place."""
    (tmp_path / "at").mkdir()
    work = tmp_path / "at"
    browser = desk_at(work, sheet=True)
    config, original = work / "wren", files_in(work / "wren")
    stamp = browser.get("packet").stamps()[0]
    assert "Written to" in browser.post("packet", {"stamp": stamp, "name": "packet"}).said
    by_desk = files_in(work / "packet")
    page = browser.get("packet/packet/install")
    assert files_in(config) == original, "the dry run wrote"
    typed = re.search(r"type the machine.{1,10}s name: <strong>(.*?)</strong>", page.text)
    said = {"stamp": page.stamps()[0], **({"typed": typed[1]} if typed else {})}
    assert "Installed" in browser.post("packet/packet/install", said).said
    installed = {path: data for path, data in files_in(config).items() if not path.startswith(".cfgmigrate")}
    page = browser.get("packet/packet/revert")
    assert "Reverted" in browser.post("packet/packet/revert", {"stamp": page.stamps()[0]}).said
    for path, data in original.items():
        assert (config / path).read_bytes() == data
    shutil.rmtree(work)
    work.mkdir()
    desk_at(work, sheet=True)
    made = api.prepare([config], work / "swap.yaml", out=work / "packet")
    assert files_in(work / "packet") == by_desk
    lights = [light.name for light in made.plan.lights if light.state == "unknown"]
    api.install(work / "packet", accept_unknown=lights)
    assert {path: (config / path).read_bytes() for path in installed} == installed


def test_with_a_light_that_is_not_set_the_machines_name_has_to_be_typed(tmp_path: Path) -> None:
    browser = desk_at(tmp_path)
    (tmp_path / "swap.yaml").write_text(
        "old: {drive: tube-fed}\nnew: {drive: on the carriage, tube: {length: 38 mm}}\n"
    )
    browser.post("packet", {"stamp": browser.get("packet").stamps()[0], "name": "packet"})
    original = files_in(tmp_path / "wren")
    page = browser.get("packet/packet/install")
    assert "type the machine" in page.main
    for typed in ("", "another"):
        found = browser.post("packet/packet/install", {"stamp": page.stamps()[0], "typed": typed})
        assert found.status == 422 and files_in(tmp_path / "wren") == original
    found = browser.post("packet/packet/install", {"stamp": page.stamps()[0], "typed": "wren"})
    assert "Installed" in found.said, found.main


def test_verdicts_are_kept_in_the_packet_and_bind_the_install(tmp_path: Path) -> None:
    browser = desk_at(tmp_path, sheet=True)
    browser.post("packet", {"stamp": browser.get("packet").stamps()[0], "name": "packet"})
    page = browser.get("packet/packet")
    count = page.text.count("data-item=")
    said = {f"verdict-{number}": "accepted" for number in range(count)} | {
        "verdict-0": "held",
        "note-0": "it oozes",
    }
    found = browser.post("packet/packet/judge", {"stamp": page.stamps()[0], "reviewer": "B. Heron", **said})
    assert f"{count} verdicts of B. Heron" in found.said
    dry = browser.get("packet/packet/install?review=yes")
    assert "What would be held back" in dry.main and "it oozes" in dry.main
    assert "1 held" in browser.get("packet/packet").main


def test_a_record_that_the_review_page_saved_is_taken_in(tmp_path: Path) -> None:
    browser = desk_at(tmp_path, sheet=True)
    browser.post("packet", {"stamp": browser.get("packet").stamps()[0], "name": "packet"})
    packet = api.open_packet(tmp_path / "packet")
    item = packet.plan.changes[0].id
    record = (
        f'format: 1\npacket: "{packet.hash}"\nreviewer: "A. Plover"\ntime: "2031-05-04T10:11:12Z"\nverdicts:\n'
        f'  - {{item: "{item}", verdict: accepted, note: ""}}\n'
    )
    stamp = browser.get("packet/packet").stamps()[0]
    assert browser.post("packet/packet/record", {"record": record, "stamp": "0"}).status == 409
    found = browser.post("packet/packet/record", {"record": record, "stamp": stamp})
    assert found.said == "Taken in: 1 verdict of A. Plover."


def test_what_a_form_leaves_open_stays_as_it_was_judged(tmp_path: Path) -> None:
    """And who else reads an edited file is told with the packet."""
    browser = desk_at(tmp_path, sheet=True)
    (tmp_path / "wren" / "hall").mkdir()
    (tmp_path / "wren" / "hall" / "hall.txt").write_text("name = Knot\n[press]\nfeeds = ../feed.conf\n")
    (tmp_path / "wren" / "cfgmigrate.yaml").write_text(
        "site: 1\nroles: {hall/hall.txt: other machine}\nshared: {feed.conf: swapped together}\n"
    )
    found = browser.post("packet", {"stamp": browser.get("packet").stamps()[0], "name": "packet"})
    assert "feed.conf is named at hall/hall.txt:3" in found.said
    for said in ({"verdict-1": "held", "note-1": "grinds"}, {"verdict-2": "accepted"}):
        stamp = browser.get("packet/packet").stamps()[0]
        found = browser.post("packet/packet/judge", {"stamp": stamp, "reviewer": "B. Heron", **said})
    assert found.said == "Kept in the packet: 1 verdict of B. Heron. Given before and kept as they were: 1."
    main = browser.get("packet/packet").main
    assert "1 accepted, 1 held" in main and "grinds" in main


def test_what_cannot_be_read_of_a_mail_is_told_on_the_page(tmp_path: Path) -> None:
    browser = desk_at(tmp_path, sheet=True)
    browser.post("packet", {"stamp": browser.get("packet").stamps()[0], "name": "packet"})
    mail = "From: B. Heron\nC1 ok\nC2: hmm, do 1.2 instead"
    found = browser.post(
        "packet/packet/record", {"record": mail, "stamp": browser.get("packet/packet").stamps()[0]}
    )
    assert "Taken in: 1 verdict of B. Heron." in found.said
    assert "Not read, so still open: line 3: C2: hmm, do 1.2 instead" in found.said


@pytest.mark.parametrize("count", ["-3", "2.9", "0.5", "101"])
def test_a_test_has_a_whole_number_of_repeats_and_not_too_many(tmp_path: Path, count: str) -> None:
    browser = desk_at(tmp_path, sheet=True)
    made = {"trial": "feed", "file": "feed.nc", "nozzle": "210", "count": count}
    assert browser.post("after/trial", made).status == 422
    assert not (tmp_path / "feed.nc").exists()


def test_a_script_is_not_overwritten_by_its_page(tmp_path: Path) -> None:
    browser = desk_at(tmp_path, sheet=True)
    found = browser.post("after/trial", {"trial": "feed", "file": "pull.html", "nozzle": "210"})
    assert found.status == 422 and "name is that of the script" in found.main
    assert not (tmp_path / "pull.html").exists()


def test_the_review_page_is_the_packets_own_and_nothing_but_our_script_may_run_on_it(tmp_path: Path) -> None:
    browser = desk_at(tmp_path, sheet=True)
    browser.post("packet", {"stamp": browser.get("packet").stamps()[0], "name": "packet"})
    found = browser.get("packet/packet/page")
    assert found.text == (tmp_path / "packet" / "changes.html").read_text(encoding="utf-8")
    policy = found.headers["content-security-policy"]
    assert "script-src 'sha256-" in policy and "unsafe" not in policy and "form-action 'none'" in policy


def test_the_packet_of_another_machine_is_not_installed_here(tmp_path: Path) -> None:
    (tmp_path / "one").mkdir()
    (tmp_path / "two").mkdir()
    desk_at(tmp_path / "one", sheet=True)
    api.prepare(tmp_path / "one" / "wren", tmp_path / "one" / "swap.yaml", out=tmp_path / "two" / "packet")
    browser = desk_at(tmp_path / "two")
    found = browser.get("packet/packet/install")
    assert found.status == 422 and "prepared for the configuration in" in found.main


def test_a_script_and_its_page_are_those_of_the_command(tmp_path: Path) -> None:
    browser = desk_at(tmp_path, sheet=True)
    found = browser.post("after/trial", {"trial": "feed", "file": "feed.nc", "nozzle": "210"})
    assert "Written to" in found.said, found.main
    from cfgmigrate.trials import Wishes

    made = api.trial("feed", [tmp_path / "wren"], sheet=tmp_path / "swap.yaml", wishes=Wishes(nozzle=210))
    assert (tmp_path / "feed.nc").read_text() == made.written.text
    assert (tmp_path / "feed.html").read_text() == api.trial_page(made)
    assert browser.get("after/trial/feed").text == (tmp_path / "feed.html").read_text()
    assert browser.post("after/trial", {"trial": "feed", "file": "feed.nc", "nozzle": "210"}).status == 422


def test_what_was_measured_becomes_a_packet(tmp_path: Path) -> None:
    browser = desk_at(tmp_path, sheet=True)
    browser.post("after/measured", {"do": "begin"})
    assert (tmp_path / "measured.yaml").read_text() == api.measured_starter([tmp_path / "wren"], "swap.yaml")
    for path, said in (("measured.feed.moved", "98.7 98,9 98.8"), ("measured.feed.asked", "100")):
        stamp = browser.get("after").stamp_of(path)
        found = browser.post("after/measured", {"do": "keep", "path": path, "answer": said, "stamp": stamp})
        assert found.status == 200 and "Kept" in found.said, found.main
    assert "moved: [98.7 mm, 98.9 mm, 98.8 mm]" in (tmp_path / "measured.yaml").read_text()
    assert "Written to" in browser.post("after/tune", {"name": "tuned"}).said
    assert api.open_packet(tmp_path / "tuned").plan.kind == "tune"


def test_the_history_lists_each_step_with_what_it_wrote(tmp_path: Path) -> None:
    browser = desk_at(tmp_path, sheet=True)
    made = api.prepare([tmp_path / "wren"], tmp_path / "swap.yaml", out=tmp_path / "packet")
    api.install(tmp_path / "packet")
    api.mark_done(tmp_path / "wren", made.plan.by_hand[0].id)
    api.revert(tmp_path / "packet")
    page = browser.get("history")
    assert page.status == 200
    for word in ("1. install", "2. by hand", "3. revert", made.plan.changes[0].edits[0].new, "--to start"):
        assert word in page.main, word


def test_what_was_interrupted_is_told_with_the_button_that_finishes_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "tern").mkdir()
    before = b"[feeder]\nsteps per mm = 96\n"
    (tmp_path / "tern" / "feed.conf").write_bytes(before)
    monkeypatch.setattr(transaction, "remove", lambda path: None)  # killed just before
    with (store := Store(tmp_path / "tern")).locked():
        transaction.carry_out(store, "install", [FileReplacement("feed.conf", before, b"[feeder]\n")])
    browser = browser_of(Desk(tmp_path / "tern", tmp_path))
    for room in ("machine", "history"):
        assert f'action="{browser.entry.place}/finish"' in browser.get(room).text, room
    assert "An interrupted install was found and finished: feed.conf" in browser.post("finish").said
    assert "/finish" not in browser.get("history").text and not store.pending


def test_what_is_done_by_hand_is_ticked_and_comes_back_on_revert(tmp_path: Path) -> None:
    browser = desk_at(tmp_path, sheet=True)
    made = api.prepare([tmp_path / "wren"], tmp_path / "swap.yaml", out=tmp_path / "packet")
    lights = [light.name for light in made.plan.lights if light.state == "unknown"]
    api.install(tmp_path / "packet", accept_unknown=lights)
    item = made.plan.by_hand[0].id
    shown = re.search(
        rf'name="stamp" value="(\w+)"><input type="hidden" name="item" value="{item}"',
        browser.get("packet").text,
    )
    assert shown is not None
    button = {"item": item, "stamp": shown[1]}
    assert "Done" in browser.post("status/done", button).said
    api.revert(tmp_path / "packet")
    assert "Undo by hand" in browser.get("packet").main
    assert browser.post("status/done", button).status == 409, "an old page's “It is done” undoes nothing"
    assert "Undo by hand" in browser.get("packet").main


@pytest.mark.parametrize("sign", ["\x1b", "\x07", "\x7f"])
def test_a_sign_that_acts_on_a_terminal_is_never_sent_back_as_it_is(tmp_path: Path, sign: str) -> None:
    browser = desk_at(tmp_path, "dunlin")
    stamp = browser.get("swap?more=new.feed_per_turn").stamp_of("new.feed_per_turn")
    told = browser.post(
        "swap/answer",
        {"path": "new.feed_per_turn", "answer": f"{sign}[31m9.2", "do": "keep", "stamp": stamp},
    )
    assert told.status != 200 or "9.2" in told.text
    assert sign not in told.text
