"""A packet that somebody altered and sealed anew does not hold, whatever was altered, and is not installed.

The forger is the strongest there can be: they have this program, make files, hashes and patches anew, and seal
everything. Only sheet, files and rules stay as the reader of the packet knows them, or the other way about.
"""

from __future__ import annotations

import copy
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from cfgmigrate import api
from cfgmigrate.ground.findings import Doubt, Place, Refused
from cfgmigrate.packet.folder import INDEX, Contents, Packet, hash_of_json, index_bytes, sha256
from cfgmigrate.packet.opening import verify_hashes
from cfgmigrate.packet.review import Judgement, Verdict
from cfgmigrate.packet.write import write_packet
from cfgmigrate.plan.basis import ToldAge
from cfgmigrate.plan.edits import apply_edits, edits_by_file
from cfgmigrate.plan.model import LeftOut, Plan
from cfgmigrate.reports.card import cards_of
from cfgmigrate.rules import library
from cfgmigrate.workflow.again import _strange_rules, plan_again
from cfgmigrate.workflow.placed import _only_told, unlike_there
from cfgmigrate.workflow.verify import (
    Verified,
    _laid_beside,
    _of_no_kind,
    _other_pages,
    _other_patches,
    _sheet_called_otherwise,
    verified,
)

SAMPLES = Path(__file__).parents[2] / "sample_configs"
MEASURED = """\
sheet: swap.yaml
measured:
  retraction: {start: 0.2 mm, step: 0.1 mm, best_band: 4, bands: 8}
  lag: {best: 0.051 s}
"""
Json = dict[str, Any]
Forgery = Callable[[Json], None]


@pytest.fixture(scope="module")
def genuine(tmp_path_factory: pytest.TempPathFactory) -> Packet:
    folder = tmp_path_factory.mktemp("genuine")
    config = shutil.copytree(SAMPLES / "wren", folder / "wren")
    return api.prepare([config], SAMPLES / "sheets" / "wren.yaml", out=folder / "packet")


def seal(
    genuine: Packet,
    out: Path,
    plan: Plan,
    sheet: bytes | None = None,
    rules: dict[str, bytes] | None = None,
) -> Path:
    """A packet with this plan and all that follows from it; the rest as the genuine one has it."""
    sheet, given = sheet or genuine.sheet, rules or dict(genuine.rules)
    after = {
        path: apply_edits(genuine.before[path], edits) for path, edits in edits_by_file(plan.changes).items()
    }
    contents = Contents(plan, genuine.before, after, sheet, genuine.names, given)
    write_packet(out, contents, {}, genuine.preparer)
    return out


def forged(genuine: Packet, out: Path, forgery: Forgery) -> Path:
    document = copy.deepcopy(dict(genuine.index))
    forgery(document)
    return seal(genuine, out, Plan.from_json(document))


def change(document: Json, name: str) -> Json:
    found: Json = next(each for each in document["changes"] if each["id"] == name)
    return found


def rotation(document: Json) -> Json:
    return change(document, "feeder.feed_per_turn")


def halve_an_input(document: Json) -> None:
    given = rotation(document)["derivation"]["inputs"][0]
    given["value"] /= 2


def double_in_the_formula(document: Json) -> None:
    rotation(document)["derivation"]["formula"] += " * 2"


def false_old_value(document: Json) -> None:
    rotation(document)["old"]["value"] *= 1.1


def false_old_text(document: Json) -> None:
    change(document, "motor.run_current")["old"]["text"] = "0.1"


def origin_that_is_not_there(document: Json) -> None:
    rotation(document)["derivation"]["inputs"][0]["origin"] = "sheet.yaml:9999"


def origin_of_no_rule(document: Json) -> None:
    rotation(document)["derivation"]["inputs"][0]["origin"] = "rule of.thumb"


def second_item_of_a_rule(document: Json) -> None:
    again = copy.deepcopy(document["findings"][0])
    again["value"] = (again["value"] or 1.0) * 3
    document["findings"].append(again)


def within_one_sigma(document: Json) -> None:
    found = change(document, "lag.coefficient")
    found["new"] |= {"value": 0.07, "text": "0.07"}
    for edit in found["edits"]:
        edit["new"] = "0.07"


def no_cautions(document: Json) -> None:
    for item in (*document["changes"], *document["by_hand"], *document["findings"]):
        item["cautions"] = []


def no_doubts(document: Json) -> None:
    document["doubts"] = []


def nothing_by_hand(document: Json) -> None:
    document["by_hand"] = []


def a_light_set(document: Json) -> None:
    document["lights"][0] |= {"state": "unaffected", "why": "trust me", "rests_on": []}


def no_lights(document: Json) -> None:
    document["lights"] = []


def a_change_left_out(document: Json) -> None:
    document["changes"] = [each for each in document["changes"] if each["id"] != "motor.run_current"]


def another_text_to_check(document: Json) -> None:
    rotation(document)["verify"] = "Nothing to check."


def a_milder_status(document: Json) -> None:
    change(document, "lag.coefficient")["status"] = "measured"


def another_uncertainty(document: Json) -> None:
    change(document, "lag.coefficient")["new"]["uncertainty"] /= 2


def another_cause(document: Json) -> None:
    rotation(document)["cause"] = []


def another_holder(document: Json) -> None:
    rotation(document)["holder"] = "feeder 2"


def an_age_of_its_own(document: Json) -> None:
    document["inputs"]["basis"]["installs"] = True
    edit = change(document, "motor.run_current")["edits"][0]
    age = {"file": edit["file"], "start": edit["start"], "end": edit["end"], "age": "no such age"}
    document["inputs"]["basis"]["ages"] = [{**age, "why": ""}]


def another_dialect(document: Json) -> None:
    document["inputs"]["files"][0]["dialect"] = "flat"


FORGERIES = (
    halve_an_input, double_in_the_formula, false_old_value, false_old_text, origin_that_is_not_there,
    origin_of_no_rule, second_item_of_a_rule, within_one_sigma, no_cautions, no_doubts, nothing_by_hand, a_light_set,
    no_lights, a_change_left_out, another_text_to_check, a_milder_status, another_uncertainty, another_cause,
    another_holder, an_age_of_its_own, another_dialect,
)  # fmt: skip


def assert_caught(packet: Path) -> None:
    """It is sealed well, and does not hold."""
    assert not verify_hashes(packet)
    assert verified(packet).problems


def test_what_nobody_altered_holds(genuine: Packet, tmp_path: Path) -> None:
    assert verified(forged(genuine, tmp_path / "packet", lambda _: None)).problems == ()


@pytest.mark.parametrize("forgery", FORGERIES, ids=lambda forgery: forgery.__name__)
def test_a_plan_altered_and_sealed_anew_is_caught(genuine: Packet, tmp_path: Path, forgery: Forgery) -> None:
    document = copy.deepcopy(dict(genuine.index))
    forgery(document)
    assert document != genuine.index, "the forgery altered nothing"
    assert_caught(forged(genuine, tmp_path / "packet", forgery))


def test_what_does_not_hold_is_not_installed(genuine: Packet, tmp_path: Path) -> None:
    packet, root = forged(genuine, tmp_path / "packet", no_cautions), Path(genuine.plan.root)
    there = {path: path.read_bytes() for path in root.rglob("*") if path.is_file()}
    for dry_run in (True, False):
        with pytest.raises(Refused, match="does not hold"):
            api.install(packet, dry_run=dry_run)
    assert {path: path.read_bytes() for path in root.rglob("*") if path.is_file()} == there


def other_sheet(genuine: Packet) -> bytes:
    """The genuine sheet with one number made another."""
    found = genuine.sheet.replace(b"recommended_current: 0.42 A", b"recommended_current: 0.30 A")
    assert found != genuine.sheet
    return found


def test_a_plan_of_another_sheet_is_caught(genuine: Packet, tmp_path: Path) -> None:
    """Everything in it is consistent, but the sheet beside it says something else."""
    (tmp_path / "other.yaml").write_bytes(other_sheet(genuine))
    found = api.work_out([Path(genuine.plan.root)], tmp_path / "other.yaml")
    plan = replace(found.plan, sheet_path=genuine.plan.sheet_path, sheet_sha256=sha256(genuine.sheet))
    assert plan.changes != genuine.plan.changes
    assert_caught(seal(genuine, tmp_path / "packet", plan))


def test_another_sheet_beside_the_plan_is_caught(genuine: Packet, tmp_path: Path) -> None:
    sheet = other_sheet(genuine)
    plan = replace(genuine.plan, sheet_sha256=sha256(sheet))
    assert_caught(seal(genuine, tmp_path / "packet", plan, sheet=sheet))


def altered_rules(genuine: Packet) -> dict[str, bytes]:
    """The packet's rules, with the feed per turn twice what it is."""
    name = next(each for each in genuine.rules if b"sets: feeder.feed_per_turn" in genuine.rules[each])
    source = genuine.rules[name].decode()
    lines = [
        line + " * 2" if line.strip().startswith(("formula:", "- formula:")) else line
        for line in source.splitlines()
    ]
    assert lines != source.splitlines()
    return {**genuine.rules, name: ("\n".join(lines) + "\n").encode()}


def test_other_rules_beside_the_plan_are_caught(genuine: Packet, tmp_path: Path) -> None:
    assert_caught(seal(genuine, tmp_path / "packet", genuine.plan, rules=altered_rules(genuine)))


@pytest.mark.exhaustive
def test_a_plan_of_other_rules_is_caught(genuine: Packet, tmp_path: Path) -> None:
    own = tmp_path / "own"
    own.mkdir()
    for name, data in altered_rules(genuine).items():
        if data != genuine.rules[name]:
            (own / name).write_bytes(data)
    found = api.work_out([Path(genuine.plan.root)], SAMPLES / "sheets" / "wren.yaml", rules=own)
    plan = replace(found.plan, rules_sha256=genuine.plan.rules_sha256)
    assert plan.changes != genuine.plan.changes
    assert_caught(seal(genuine, tmp_path / "packet", plan))


@pytest.mark.exhaustive
def test_rules_of_somebody_s_own_that_the_packet_holds_are_named(
    genuine: Packet, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = tmp_path / "own"
    own.mkdir()
    (name,) = [name for name, data in altered_rules(genuine).items() if data != genuine.rules[name]]
    (own / name).write_bytes(altered_rules(genuine)[name])
    sheet = SAMPLES / "sheets" / "wren.yaml"
    packet = api.prepare([Path(genuine.plan.root)], sheet, out=tmp_path / "packet", rules=own)
    found = verified(packet.folder)
    assert found.problems == ()
    assert any(name in line for line in found.unproven)
    made_elsewhere(monkeypatch)
    with pytest.raises(Refused, match="a rule of somebody's own"):
        api.install(packet.folder, dry_run=True)


def test_an_altered_table_is_caught(genuine: Packet, tmp_path: Path) -> None:
    name = next(iter(library.table_sources()))
    rules = {**genuine.rules, name: genuine.rules[name] + b"# more\n"}
    assert_caught(seal(genuine, tmp_path / "packet", genuine.plan, rules=rules))


@pytest.mark.parametrize(
    "forgery",
    [
        within_one_sigma,
        false_old_value,
        false_old_text,
        origin_of_no_rule,
        double_in_the_formula,
        second_item_of_a_rule,
        halve_an_input,
    ],
    ids=lambda each: each.__name__,
)
def test_to_name_another_release_hides_no_contradiction(
    genuine: Packet, tmp_path: Path, forgery: Forgery
) -> None:
    """What only the engine can see is not looked at then; that numbers, places and files fit together is."""

    def both(document: Json) -> None:
        forgery(document)
        document["inputs"]["program"]["knowledge"] = "0" * 64

    assert_caught(forged(genuine, tmp_path / "packet", both))


def test_a_packet_of_another_release_says_that_it_was_not_worked_out_again(
    genuine: Packet, tmp_path: Path
) -> None:
    def other(document: Json) -> None:
        document["inputs"]["program"]["knowledge"] = "0" * 64
        no_cautions(document)

    packet = forged(genuine, tmp_path / "packet", other)
    found = verified(packet)
    assert found.problems == ()
    assert [line for line in found.unproven if "was not worked out again" in line]
    assert [line for line in found.unproven if "not looked at" in line and "cautions" in line]
    with pytest.raises(Refused, match="not all of it can be proven"):
        api.install(packet, dry_run=True)
    assert set(found.unproven) <= set(api.install(packet, dry_run=True, accept_unproven=True).notes)


def test_a_packet_that_was_prepared_here_is_not_worked_out_twice(
    genuine: Packet, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(_: Packet) -> None:
        raise AssertionError("it was worked out again")

    monkeypatch.setattr("cfgmigrate.workflow.verify.verified_content", never)
    assert api.install(genuine.folder, dry_run=True).files


@pytest.mark.parametrize(
    ("path", "text", "told"),
    [
        ("qualities/soft shoes.conf", "[print soft shoes]\nretraction length = 5.8 mm\n", "does not know it"),
        ("cfgmigrate.yaml", 'site: 1\nmeanings: {"[drive] one way": ignore}\n', "what the site file says"),
        ("shopping.txt", "two nozzles, a brush, filament\n", ""),
    ],
)
def test_what_comes_between_prepare_and_install_stops_it_where_it_counts(
    tmp_path: Path, path: str, text: str, told: str
) -> None:
    config = shutil.copytree(SAMPLES / "wren", tmp_path / "wren")
    packet = api.prepare([config], SAMPLES / "sheets" / "wren.yaml", out=tmp_path / "packet")
    (config / path).parent.mkdir(exist_ok=True)
    (config / path).write_text(text, encoding="utf-8")
    if not told:
        assert api.install(packet.folder, dry_run=True).files
        return
    with pytest.raises(Refused, match=told):
        api.install(packet.folder, dry_run=True)
    assert told in str(api.install(packet.folder, dry_run=True, accept_unproven=True).notes)


def test_a_packet_is_worked_out_again_where_the_list_of_seals_is_not_the_user_s_alone(
    genuine: Packet, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from cfgmigrate.packet.made_here import made_a_moment_ago, remember

    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    assert made_a_moment_ago(genuine) is None
    remember(genuine)
    assert made_a_moment_ago(genuine) is not None
    (tmp_path / "cfgmigrate" / "prepared").chmod(0o666)
    assert made_a_moment_ago(genuine) is None
    (tmp_path / "cfgmigrate" / "prepared").chmod(0o600)
    (tmp_path / "cfgmigrate").chmod(0o777)
    assert made_a_moment_ago(genuine) is None


def test_a_seal_counts_for_a_day_and_for_what_the_program_knew(
    genuine: Packet, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from cfgmigrate.packet import made_here

    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    made_here.remember(genuine)
    path = tmp_path / "cfgmigrate" / "prepared"
    seal, knowledge, at, standing = path.read_text(encoding="ascii").split()
    for line in (
        f"{seal} {knowledge} {int(at) - made_here.A_MOMENT}",
        f"{seal} {knowledge} {int(at) + 3600} {standing}",
        f"{seal} {'0' * 64} {at}",
        f"{'0' * 64} {knowledge} {at}",
    ):
        path.write_text(line + "\n", encoding="ascii")
        assert made_here.made_a_moment_ago(genuine) is None


@pytest.mark.exhaustive
@pytest.mark.parametrize("machine", ["dunlin", "knot", "plover", "siskin", "wren"])
def test_every_sample_s_packet_is_worked_out_again_to_the_last_field(machine: str, tmp_path: Path) -> None:
    packet = api.prepare([SAMPLES / machine], SAMPLES / "sheets" / f"{machine}.yaml", out=tmp_path / "packet")
    assert verified(packet.folder) == Verified()


@pytest.mark.exhaustive
def test_a_configuration_carried_over_is_worked_out_again(tmp_path: Path) -> None:
    sheet = SAMPLES / "sheets" / "wren.yaml"
    packet = api.prepare([SAMPLES / "plover"], sheet, out=tmp_path / "packet", source=[SAMPLES / "wren"])
    found = verified(packet.folder)
    assert found.problems == ()
    (told,) = found.unproven
    assert told.startswith("origin/: that the values carried over are those of 'wren'")
    forged = replace(packet.plan, basis=replace(packet.plan.basis, installs=True))
    assert plan_again(replace(packet, plan=forged)).basis == packet.plan.basis


@pytest.mark.exhaustive
def test_one_file_named_of_a_machine_is_worked_out_again(genuine: Packet, tmp_path: Path) -> None:
    (tmp_path / "wren").mkdir()
    config = shutil.copytree(SAMPLES / "wren", tmp_path / "wren", dirs_exist_ok=True)
    (config / "cfgmigrate.yaml").write_text("site: 1\n", encoding="utf-8")
    packet = api.prepare([config / "frame.conf"], SAMPLES / "sheets" / "wren.yaml", out=tmp_path / "packet")
    assert packet.plan.basis.named == ("frame.conf",)
    assert verified(packet.folder) == Verified()


def made_elsewhere(monkeypatch: pytest.MonkeyPatch) -> None:
    """From here on no packet counts as one that was prepared on this machine."""
    monkeypatch.setattr("cfgmigrate.packet.made_here.made_a_moment_ago", lambda _: None)


def laid_out(genuine: Packet, tmp_path: Path, more: dict[str, bytes] | None = None) -> Path:
    """The genuine packet's configuration, once more, with further files."""
    root = shutil.copytree(genuine.plan.root, tmp_path / "wren")
    for path, data in (more or {}).items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_bytes(data)
    return root


def test_a_packet_from_elsewhere_is_installed_where_all_of_it_is_proven(
    genuine: Packet, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made_elsewhere(monkeypatch)
    report = api.install(genuine.folder, laid_out(genuine, tmp_path))
    assert report.written and not report.notes


PROFILE = b"[filament]\nmaterial = PETG\ndiameter = 1.75\n[retraction]\nlength = 5.1\nspeed = 40\n"


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"reels/petg.conf": PROFILE}, "reels/petg.conf: in this configuration it is profile"),
        ({"cfgmigrate.yaml": b"site: 1\nmeanings: {turns: ignore}\n"}, "what the site file says"),
    ],
    ids=["a profile that it does not know", "a site file"],
)
def test_a_packet_that_does_not_know_its_place_is_not_installed_unless_told(
    genuine: Packet, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, more: dict[str, bytes], told: str
) -> None:
    made_elsewhere(monkeypatch)
    root = laid_out(genuine, tmp_path, more)
    with pytest.raises(Refused, match=told):
        api.install(genuine.folder, root)
    report = api.install(genuine.folder, root, accept_unproven=True)
    (entry,) = api.history(root).entries
    assert report.written and told in str(report.notes)
    assert told in str((entry.reasons or {})["accepted_unproven"])


@pytest.mark.parametrize("root", ["/x/..", "/x/" + "y" * 5000, "/x/a\x00b"], ids=lambda root: ascii(root[:8]))
def test_a_packet_of_a_folder_with_an_impossible_name_is_verified_and_writes_nowhere_else(
    genuine: Packet, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, root: str
) -> None:
    place = tmp_path / "temporary"
    place.mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(place))
    packet = seal(genuine, tmp_path / "packet", replace(genuine.plan, root=root))
    assert verified(packet).problems == ()
    assert list(place.iterdir()) == []


def called_a_profile(genuine: Packet, out: Path) -> Path:
    """The same files, and one that the machine reads is said to be a profile; all else follows from that."""
    first = genuine.plan.files[0]
    files = (replace(first, role="profile"), *genuine.plan.files[1:])
    packet = seal(genuine, out, replace(genuine.plan, files=files))
    plan = plan_again(api.open_packet(packet))
    shutil.rmtree(packet)
    return seal(genuine, out, plan)


def test_a_false_role_with_all_that_follows_from_it_is_told_and_is_not_installed(
    genuine: Packet, tmp_path: Path
) -> None:
    packet = called_a_profile(genuine, tmp_path / "packet")
    first = genuine.plan.files[0].path
    found = verified(packet)
    assert found.problems == ()
    assert f"{first}: recorded as profile, and by the packet's files alone it is in force" in found.unproven
    with pytest.raises(Refused, match="recorded as profile, and in this configuration it is in force"):
        api.install(packet, laid_out(genuine, tmp_path))


@pytest.mark.parametrize("about", ["feed.conf", "another.conf"], ids=["a file of the packet", "another file"])
def test_a_doubt_that_nothing_raises_is_told_and_is_not_installed(
    genuine: Packet, tmp_path: Path, about: str
) -> None:
    false = Doubt(Place(about, 1, 1), "all", "the retraction of this machine is measured already", "keep it")
    packet = seal(genuine, tmp_path / "packet", replace(genuine.plan, doubts=(*genuine.plan.doubts, false)))
    found = verified(packet)
    assert found.problems == ()
    assert any("nothing raises this doubt" in each and false.why in each for each in found.unproven)
    with pytest.raises(Refused, match="nothing raises this doubt"):
        api.install(packet, laid_out(genuine, tmp_path))


@pytest.mark.parametrize("named", ["bench.conf", "feeed.conf"], ids=["like none", "nearly one that is there"])
def test_a_doubt_of_a_line_that_takes_in_a_missing_file_is_one_that_the_files_raise(
    tmp_path: Path, named: str
) -> None:
    config = shutil.copytree(SAMPLES / "wren", tmp_path / "wren")
    frame = config / "frame.conf"
    frame.write_text(f"include = {named}\n" + frame.read_text(encoding="utf-8"), encoding="utf-8")
    packet = api.prepare([config], SAMPLES / "sheets" / "wren.yaml", out=tmp_path / "packet")
    doubt = next(each for each in packet.plan.doubts if named in str(each))
    assert verified(packet.folder) == Verified()
    milder = Doubt(doubt.place, doubt.text, doubt.why, "nothing has to be done")
    doubts = tuple(milder if each is doubt else each for each in packet.plan.doubts)
    other = seal(packet, tmp_path / "other", replace(packet.plan, doubts=doubts))
    assert any("nothing raises this doubt" in each for each in verified(other).unproven)


@pytest.mark.parametrize("place", ["origin/more.conf", "old/feed.conf"])
def test_a_file_laid_in_that_nothing_rests_on_is_a_fault(genuine: Packet, tmp_path: Path, place: str) -> None:
    first = genuine.plan.files[0].path
    data = genuine.before[first]
    contents = Contents(
        genuine.plan, genuine.before, genuine.after, genuine.sheet, None, genuine.rules, {place: data}
    )
    packet = write_packet(tmp_path / "packet", contents, {}, genuine.preparer)
    assert verified(packet.folder).problems == (f"{place}: nothing in the plan rests on it",)


def test_what_a_history_is_said_to_have_told_is_asked_of_the_history(genuine: Packet, tmp_path: Path) -> None:
    """A value that is called the new drive's already is not changed, and the plan that follows from that is consistent."""
    retraction = next(each for each in genuine.plan.changes if each.id.startswith("retraction.length"))
    edit = retraction.edits[0]
    age = ToldAge(edit.file, edit.start, edit.end, "new", "entry 1 of the history wrote it")
    basis = replace(genuine.plan.basis, installs=True, ages=(age,))
    packet = seal(genuine, tmp_path / "first", replace(genuine.plan, basis=basis))
    plan = plan_again(api.open_packet(packet))
    assert retraction.id not in {each.id for each in plan.changes}
    packet = seal(genuine, tmp_path / "packet", plan)
    found = verified(packet)
    assert found.problems == () and any("history" in line for line in found.unproven)
    with pytest.raises(Refused, match="the history here does not tell"):
        api.install(packet, laid_out(genuine, tmp_path))


@pytest.mark.exhaustive
def test_the_rest_of_a_swap_is_worked_out_again_and_says_that_it_rests_on_a_history(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    config, sheet = shutil.copytree(SAMPLES / "wren", tmp_path / "wren"), SAMPLES / "sheets" / "wren.yaml"
    first = api.prepare([config], sheet, out=tmp_path / "first")
    ids = [card.key for card in cards_of(first.plan).reviewed]
    held = {"motor.run_current", "motor.hold_current"}
    api.record_verdicts(
        first.folder,
        "Somebody Else",
        judgements=[Judgement(each, Verdict.HELD if each in held else Verdict.ACCEPTED, "") for each in ids],
    )
    assert api.install(first.folder, require_review=True, accept_unknown=["current"]).held
    rest = api.prepare([config], sheet, out=tmp_path / "rest")
    assert rest.plan.rest_of == (first.hash,) and rest.plan.changes
    found = verified(rest.folder)
    assert found.problems == ()
    assert len(found.unproven) == 1 and "history" in found.unproven[0]
    made_elsewhere(monkeypatch)
    assert not api.install(rest.folder).notes


@pytest.mark.exhaustive
def test_what_was_measured_is_worked_out_again(tmp_path: Path) -> None:
    config, sheet = shutil.copytree(SAMPLES / "wren", tmp_path / "wren"), SAMPLES / "sheets" / "wren.yaml"
    api.install(api.prepare([config], sheet, out=tmp_path / "swap").folder)
    shutil.copy(sheet, tmp_path / "swap.yaml")
    measured = tmp_path / "measured.yaml"
    measured.write_text(MEASURED, encoding="utf-8")
    packet = api.tune([config], measured, out=tmp_path / "tuned")
    assert packet.plan.changes
    assert verified(packet.folder) == Verified()


def sealed_anew(
    genuine: Packet, out: Path, alter: Callable[[Path], None], listed: Callable[[str], bool]
) -> Path:
    """The genuine packet's folder, altered; what is `listed` of it is sealed anew."""
    shutil.copytree(genuine.folder, out)
    alter(out)
    index = {name: value for name, value in genuine.index.items() if name != "seal"}
    names = {path.relative_to(out).as_posix() for path in out.rglob("*") if path.is_file()} - {INDEX}
    index["contents"] = {name: sha256((out / name).read_bytes()) for name in sorted(names) if listed(name)}
    (out / INDEX).write_bytes(index_bytes({**index, "seal": hash_of_json(index)}))
    return out


@pytest.mark.parametrize("name", ["forward.patch", "revert.patch"])
def test_a_patch_altered_and_sealed_anew_is_caught(genuine: Packet, tmp_path: Path, name: str) -> None:
    """Whoever has no program on the machine goes forward and back by it."""

    def alter(folder: Path) -> None:
        data = (folder / name).read_bytes()
        (folder / name).write_bytes(data.replace(b"262", b"2620"))
        assert (folder / name).read_bytes() != data

    packet = sealed_anew(genuine, tmp_path / "packet", alter, lambda _: True)
    assert verify_hashes(packet) == ()
    (problem,) = _other_patches(api.open_packet(packet))
    assert problem.startswith(f"{name}: not the patch of the plan")


@pytest.mark.parametrize("name", ["changes.html", "Checklist.md", "revert.patch", "names.yaml", "site.yaml"])
def test_a_file_of_the_packet_s_own_names_that_it_does_not_list_is_a_fault(
    genuine: Packet, tmp_path: Path, name: str
) -> None:
    packet = sealed_anew(
        genuine,
        tmp_path / "packet",
        lambda folder: (folder / name).write_bytes(b"somebody's own") and None,
        lambda each: each != name,
    )
    assert f"{name}: not part of the packet" in map(str, verify_hashes(packet))


def test_a_packet_without_its_patches_does_not_hold(genuine: Packet, tmp_path: Path) -> None:
    packet = sealed_anew(
        genuine,
        tmp_path / "packet",
        lambda folder: (folder / "revert.patch").unlink(),
        lambda _: True,
    )
    (problem,) = _other_patches(api.open_packet(packet))
    assert problem.startswith("revert.patch: ")


@pytest.mark.parametrize(
    "name", ["checklist.html", "more/page.html", "signed/page.html", "signed/lone.yaml.sig"]
)
def test_a_page_that_no_packet_has_is_a_fault_where_it_is_listed_and_told_where_it_is_not(
    genuine: Packet, tmp_path: Path, name: str
) -> None:
    def alter(folder: Path) -> None:
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text("<p>Plug the motor in under power.", encoding="utf-8")

    listed = api.open_packet(sealed_anew(genuine, tmp_path / "listed", alter, lambda _: True))
    (problem,) = (*_other_pages(listed), *_of_no_kind(listed))
    assert problem.startswith(f"{name}: no ")
    beside = api.open_packet(sealed_anew(genuine, tmp_path / "beside", alter, lambda each: each != name))
    assert [*_other_pages(beside), *_of_no_kind(beside)] == []
    (told,) = _laid_beside(beside)
    assert told.startswith(f"{name}: not part of the packet")


def test_a_rule_left_out_of_a_tune_packet_is_missing(genuine: Packet) -> None:
    """A measured value would be left old in silence."""
    sources = library.book_sources(library.tuning_book())
    tuned = replace(genuine, plan=replace(genuine.plan, kind="tune"), rules=sources)
    assert _strange_rules(tuned) == ()
    fewer = {name: data for name, data in sources.items() if name != "retraction.length.yaml"}
    assert len(fewer) == len(sources) - 1
    with pytest.raises(ValueError, match=r"rules/retraction\.length\.yaml is missing"):
        _strange_rules(replace(tuned, rules=fewer))


@pytest.mark.parametrize(
    ("path", "told"),
    [
        ("feed.conf", "is a file of the machine"),
        ("./parts/../feed.conf", "is a file of the machine"),
        ("{root}/feed.conf", "is a file of the machine"),
        ("sheets/\x1b[2Jwren.yaml", "acts on what shows it"),
        ("sheets/\u202ewren.yaml", "acts on what shows it"),
        ("sheets/wren.yaml", ""),
        ("/home/l\u00e8ne/caf\u00e9 sheets/feed.conf", ""),
    ],
)
def test_a_sheet_is_not_called_like_a_file_of_the_machine(genuine: Packet, path: str, told: str) -> None:
    plan = replace(genuine.plan, sheet_path=path.format(root=genuine.plan.root))
    found = [*_sheet_called_otherwise(replace(genuine, plan=plan))]
    assert len(found) == bool(told) and all(told in each for each in found)


def test_what_a_site_file_says_and_what_is_left_alone_is_told_without_the_configuration(
    genuine: Packet,
) -> None:
    assert [*_only_told(genuine)] == []
    (told,) = _only_told(replace(genuine, site=b"site: 1\nmeanings: {turns: ignore}\n"))
    assert told.startswith("site.yaml: whoever prepared it said what is what (meanings)")
    left = (LeftOut("limits.conf", "kept copy", "its maker has checked it"),)
    (told,) = _only_told(replace(genuine, plan=replace(genuine.plan, left_out=left)))
    assert told.startswith("what it says of files that it leaves alone (1)")


@pytest.mark.parametrize("forged", ["another reason", "left unsaid"])
def test_what_a_packet_says_of_a_file_that_it_leaves_alone_is_held_against_the_configuration(
    tmp_path: Path, forged: str
) -> None:
    config = shutil.copytree(SAMPLES / "wren", tmp_path / "wren")
    shutil.copy(config / "feed.conf", config / "feed.conf.bak")
    found = api.work_out([config], SAMPLES / "sheets" / "wren.yaml")
    contents = Contents(found.plan, found.before, found.after, found.sheet, None, found.sources, found.more)
    packet = write_packet(tmp_path / "packet", contents, {}, "Preparer")
    assert packet.plan.left_out and unlike_there(packet, (), config) == []
    (copied,) = packet.plan.left_out
    left = (replace(copied, why="its maker has checked it"),) if forged == "another reason" else ()
    (told,) = unlike_there(replace(packet, plan=replace(packet.plan, left_out=left)), (), config)
    assert told.startswith("feed.conf.bak: ")
