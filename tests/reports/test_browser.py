"""The page in a real browser: Debian's chromium, opened from a file with the network off.

From outside: axe-core (npm) looks for barriers by the rules of WCAG 2.2 A and AA, in light and dark, wide and
narrow. Where chromium, playwright or npm are missing, these tests say so and are skipped.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from browserbench import CHROMIUM, FLAGS
from msgspec.structs import replace

import cfgmigrate
from cfgmigrate import api
from cfgmigrate.apply.install import install
from cfgmigrate.files.gaps import NOT_THERE
from cfgmigrate.fleet.file import Fleet
from cfgmigrate.fleet.groups import Hand, Record
from cfgmigrate.fleet.moved import Moved
from cfgmigrate.fleet.pieces import FleetPiece
from cfgmigrate.fleet.summary import render_page as render_hall
from cfgmigrate.ground.findings import Doubt, Place, Refused
from cfgmigrate.packet.answer import read_answer
from cfgmigrate.packet.folder import Contents
from cfgmigrate.packet.review import parse_review
from cfgmigrate.packet.standing import record_review
from cfgmigrate.packet.write import write_packet
from cfgmigrate.plan.edits import apply_edits
from cfgmigrate.reports.card import cards_of
from cfgmigrate.reports.comparison import render_comparison_page
from cfgmigrate.reports.page import render_page

pytestmark = [pytest.mark.browser, pytest.mark.exhaustive]

PHONE, DESK = (360, 740), (1200, 900)
FAULTS = "(window.__faults = [], document.addEventListener('securitypolicyviolation', (e) => __faults.push(e.blockedURI + e.violatedDirective)))"
NO_STORAGE = "Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('denied'); } })"

Open = Callable[..., Any]


@pytest.fixture(scope="module")
def chromium(driver: Any) -> Iterator[Any]:
    """One browser for all: to begin another one takes longer than most of these tests."""
    found = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
    yield found
    found.close()


@pytest.fixture
def browse(chromium: Any, tmp_path: Path) -> Iterator[Open]:
    """Opens a page's text from a file, in a context of its own that knows of no other, without a network.

    Afterwards there must have been no request but for the file, no message on the console, no error."""
    contexts: list[Any] = []
    complaints: list[str] = []

    def look(text: str, size: tuple[int, int] = DESK, scheme: str = "light", setup: str = "") -> Any:
        file = tmp_path / f"page{len(contexts)}.html"
        file.write_text(text, encoding="utf-8")
        context = chromium.new_context(
            offline=True,
            viewport={"width": size[0], "height": size[1]},
            color_scheme=scheme,
            accept_downloads=True,
        )
        contexts.append(context)
        context.set_default_timeout(60_000)
        context.add_init_script(FAULTS)
        if setup:
            context.add_init_script(setup)
        context.on("request", lambda request: complaints.append(request.url))
        page = context.new_page()
        page.on("console", lambda message: complaints.append(f"console: {message.text}"))
        page.on("pageerror", lambda error: complaints.append(f"error: {error}"))
        page.on("dialog", lambda dialog: (complaints.append(f"dialog: {dialog.message}"), dialog.dismiss()))
        page.goto(file.as_uri())
        complaints[:] = [complaint for complaint in complaints if complaint != file.as_uri()]
        return page

    yield look
    for context in contexts:
        for page in context.pages:
            complaints += page.evaluate("window.__faults")
        context.close()
    own = [one for one in complaints if not one.startswith((tmp_path.as_uri(), "blob:"))]
    assert own == []


PAGES: dict[int, tuple[SimpleNamespace, str]] = {}


def rendered(found: SimpleNamespace) -> str:
    """The page of a plan; each plan is rendered once only."""
    if id(found) not in PAGES:
        text = render_page(found.plan, found.before, found.after, found.packet_hash)
        PAGES[id(found)] = (found, text)
    return PAGES[id(found)][1]


def saved(page: Any) -> bytes:
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Save the record").click()
    return Path(waiting.value.path()).read_bytes()


def give(page: Any, title: str, verdict: str, note: str = "") -> None:
    card = page.get_by_role("article").filter(has=page.get_by_role("heading", name=title))
    card.get_by_label(verdict, exact=True).check()
    if note:
        card.get_by_role("textbox").fill(note)


def test_it_opens_offline_and_shows_formulas_and_pictures(browse: Open, wren: SimpleNamespace) -> None:
    page = browse(rendered(wren))
    assert page.title() == "Changes for Wren"
    assert page.get_by_role("heading", level=1).inner_text() == "Changes for Wren"
    # MathML that the browser does not know would have no layout of its own: a fraction is higher than a line
    fraction, letter = (
        page.locator("mfrac").first.bounding_box(),
        page.locator("mfrac mi").first.bounding_box(),
    )
    assert fraction["height"] > 1.5 * letter["height"]
    assert page.locator("svg.picture").count() == 3
    colour = page.evaluate(
        "getComputedStyle(document.querySelector('.picture .fill-slate, .picture .stroke-slate')).color"
    )
    assert colour


def test_a_review_is_given_saved_taken_in_and_installed(
    browse: Open, wren: SimpleNamespace, tmp_path: Path
) -> None:
    root, packet = tmp_path / "wren", tmp_path / "packet"
    root.mkdir()
    for path, data in wren.before.items():
        (root / path).write_bytes(data)
    plan, sheet, rules = replace(wren.plan, root=str(root)), b"machine: Wren\n", {"a.yaml": b"says: it\n"}
    identity = Contents(plan, wren.before, wren.after, sheet, None, rules).hash
    text = render_page(plan, wren.before, wren.after, identity)
    write_packet(
        packet,
        Contents(plan, wren.before, wren.after, sheet, None, rules),
        {"changes.html": text},
        "A. Heron",
    )

    page = browse(text)
    give(page, "Filament fed by one turn", "accepted")
    give(page, "Highest Z", "accepted", 'checked "twice": it\'s 188.5\nwith a gauge \U0001f426 \u202e')
    give(page, "Retraction", "held", "first the lag")
    page.get_by_label("Your name").fill("B. Plover")
    found = parse_review(saved(page), "record")

    assert (found.packet, found.reviewer) == (identity, "B. Plover")
    verdicts = {judgement.item: (judgement.verdict.value, judgement.note) for judgement in found.judgements}
    assert verdicts == {
        "feeder.feed_per_turn": ("accepted", ""),
        "axis.z.max": ("accepted", 'checked "twice": it\'s 188.5\nwith a gauge \U0001f426 \u202e'),
        "retraction.length": ("held", "first the lag"),
    }
    record_review(packet, found)
    report = install(packet, require_review=True)
    assert report.installed == ("feeder.feed_per_turn", "axis.z.max")
    assert b"mm_per_turn: 4.15" in (root / "wren.ini").read_bytes()
    assert b"length: 5.4" in (root / "wren.ini").read_bytes()


def test_a_record_of_another_packet_says_what_became_different(
    browse: Open, wren: SimpleNamespace, tmp_path: Path
) -> None:
    page = browse(rendered(wren))
    give(page, wren.plan.changes[0].label, "accepted")
    page.get_by_label("Your name").fill("B. Plover")
    found = parse_review(saved(page), "record")
    plan = replace(wren.plan, changes=wren.plan.changes[1:])
    edits = [edit for change in plan.changes for edit in change.edits]
    after = {
        path: apply_edits(data, [edit for edit in edits if edit.file == path])
        for path, data in wren.before.items()
    }
    write_packet(
        tmp_path / "packet",
        Contents(plan, wren.before, after, b"x: y\n", None, {"a.yaml": b"x: y\n"}),
        {},
        "A. Heron",
    )
    with pytest.raises(Refused, match=r"change feeder\.feed_per_turn is gone"):
        record_review(tmp_path / "packet", found)


def test_nothing_is_lost_on_reload(browse: Open, wren: SimpleNamespace) -> None:
    page = browse(rendered(wren))
    give(page, "Retraction", "questioned", "why not 0.3?")
    page.get_by_label("Your name").fill("B. Plover")
    page.reload()
    assert page.get_by_label("Your name").input_value() == "B. Plover"
    card = page.get_by_role("article").filter(has=page.get_by_role("heading", name="Retraction"))
    assert card.get_by_label("questioned").is_checked()
    assert card.get_by_role("textbox").input_value() == "why not 0.3?"
    assert "1 of 9 looked at" in page.locator("#looked").inner_text()


def test_a_saved_record_can_be_gone_on_from_and_another_packets_cannot(
    browse: Open, wren: SimpleNamespace, tmp_path: Path
) -> None:
    page = browse(rendered(wren))
    note = 'line one\nline "two" \\ \u2028 end'
    give(page, "Highest Z", "held", note)
    page.get_by_label("Your name").fill("B. Plover")
    record = tmp_path / "kept.yaml"
    record.write_bytes(saved(page))
    fresh = browse(rendered(wren))
    fresh.get_by_label("Your name").fill("b. plover")
    fresh.locator("#go-on").set_input_files(record)
    fresh.get_by_text("Went on from kept.yaml: 1 verdict.").wait_for()
    card = fresh.get_by_role("article").filter(has=fresh.get_by_role("heading", name="Highest Z"))
    assert card.get_by_label("held").is_checked()
    assert card.get_by_role("textbox").input_value() == note
    # another state of the packet, in which the judged item is the same, and one in which it is not
    record.write_bytes(record.read_bytes().replace(wren.packet_hash.encode(), b"0" * 64))
    card.get_by_role("button", name="withdraw").click()
    assert not card.get_by_label("held").is_checked()
    fresh.locator("#go-on").set_input_files(record)
    fresh.wait_for_function("document.querySelectorAll('input:checked').length === 1")
    record.write_bytes(
        re.sub(rb'("change axis.z.max": ")[0-9a-f]{64}', rb"\g<1>" + b"0" * 64, record.read_bytes())
    )
    fresh.locator("#go-on").set_input_files(record)
    fresh.get_by_text("Can't go on from kept.yaml: the record is of another packet").wait_for()


def test_another_persons_record_stands_beside_and_is_not_taken_for_ones_own(
    browse: Open, wren: SimpleNamespace, tmp_path: Path
) -> None:
    page = browse(rendered(wren))
    give(page, "Highest Z", "held", "the lamp")
    page.get_by_label("Your name").fill("B. Plover")
    record = tmp_path / "theirs.yaml"
    record.write_bytes(saved(page))
    assert "Saved" not in page.locator("#message").inner_text()
    other = browse(rendered(wren))
    give(other, "Highest Z", "accepted")
    other.get_by_label("Your name").fill("C. Teal")
    other.locator("#go-on").set_input_files(record)
    other.get_by_text("B. Plover: 1 verdict shown beside yours.").wait_for()
    card = other.get_by_role("article").filter(has=other.get_by_role("heading", name="Highest Z"))
    assert card.locator(".beside").inner_text() == "B. Plover: held: the lamp"
    (own,) = parse_review(saved(other), "record").judgements
    assert own.verdict.value == "accepted"


def test_a_note_without_a_verdict_becomes_a_question_and_says_so(browse: Open, wren: SimpleNamespace) -> None:
    page = browse(rendered(wren))
    card = page.get_by_role("article").filter(has=page.get_by_role("heading", name="Lag coefficient"))
    card.locator("summary").first.click()
    card.get_by_role("textbox").fill("at which layer height?")
    card.get_by_role("textbox").blur()
    assert card.get_by_label("questioned").is_checked()
    assert page.locator("#message").inner_text() == "A note without a verdict counts as a question."


def test_without_a_name_nothing_is_saved_and_the_page_says_why(browse: Open, wren: SimpleNamespace) -> None:
    page = browse(rendered(wren))
    page.get_by_role("button", name="Save the record").click()
    assert "Your name is missing" in page.locator("#message").inner_text()
    assert page.evaluate("document.activeElement.id") == "reviewer"
    assert page.locator("#record-box").is_hidden()


def test_where_the_browser_keeps_nothing_the_page_says_so_and_still_saves(
    browse: Open, wren: SimpleNamespace
) -> None:
    page = browse(rendered(wren), setup=NO_STORAGE)
    assert "This browser keeps nothing between visits" in page.locator("#message").inner_text()
    give(page, "Highest Z", "accepted")
    page.get_by_label("Your name").fill("B. Plover")
    assert len(parse_review(saved(page), "record").judgements) == 1


def test_the_whole_review_can_be_done_with_the_keyboard(browse: Open, wren: SimpleNamespace) -> None:
    page = browse(rendered(wren))
    key = page.keyboard.press

    def tab_to(what: str, most: int = 400) -> None:
        for _ in range(most):
            key("Tab")
            if page.evaluate(f"document.activeElement.matches({json.dumps(what)})"):
                return
        raise AssertionError(f"{what} can't be reached with the Tab key")

    key("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to what needs your verdict"
    key("Enter")
    tab_to("#C1 input[type=radio]")
    key("Space")
    key("ArrowRight")
    tab_to("#C1 textarea", 2)
    page.keyboard.type("seen")
    tab_to("#reviewer")
    page.keyboard.type("B. Plover")
    tab_to("#save", 2)
    with page.expect_download() as waiting:
        key("Enter")
    (judgement,) = parse_review(Path(waiting.value.path()).read_bytes(), "record").judgements
    assert (judgement.item, judgement.verdict.value, judgement.note) == (
        cards_of(wren.plan).changes[0].key,
        "held",
        "seen",
    )
    tab_to("#next")
    key("Enter")
    assert page.evaluate("document.activeElement.id") == "C2"


def test_whatever_has_the_focus_can_be_seen(browse: Open, wren: SimpleNamespace) -> None:
    page = browse(rendered(wren))
    for _ in range(40):
        page.keyboard.press("Tab")
        outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
        assert outline != "none", page.evaluate("document.activeElement.outerHTML")


@pytest.mark.parametrize("width", [320, 360, 768, 1200])
def test_nothing_is_wider_than_the_screen(
    width: int, browse: Open, wren: SimpleNamespace, all_hostile: SimpleNamespace
) -> None:
    """WCAG 2.2, 1.4.10: no scrolling in two directions at a width of 320 CSS pixels."""
    for found in (wren, all_hostile):
        page = browse(rendered(found), size=(width, 700))
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_a_line_of_ten_thousand_characters_stays_within_the_screen(
    browse: Open, long_line: SimpleNamespace
) -> None:
    page = browse(rendered(long_line), size=PHONE)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE[0]


@pytest.mark.exhaustive
def test_hostile_texts_run_nothing_and_change_nothing(browse: Open, hostile: SimpleNamespace) -> None:
    page = browse(rendered(hostile))
    assert page.title().startswith("Changes for Wren")
    assert page.locator("article").count() == 9
    assert page.locator("img, iframe, object, link").count() == 0
    assert page.get_by_role("heading", name="The review").is_visible()
    give(page, "Highest Z", "accepted")
    page.get_by_label("Your name").fill(hostile.text[:200])
    found = parse_review(saved(page), "record")
    (judgement,) = found.judgements
    assert judgement.item == hostile.plan.changes[-1].id


def test_it_prints_as_it_is_opened_with_a_line_to_sign(browse: Open, wren: SimpleNamespace) -> None:
    page = browse(rendered(wren))
    page.locator("#C1 summary").first.click()
    assert page.locator(".sign").is_hidden()
    page.emulate_media(media="print")
    assert page.locator(".sign").is_visible()
    assert page.locator(".progress").is_hidden() and page.locator(".filters").is_hidden()
    assert page.locator("#C1 .result").is_visible() and page.locator("#C2 .result").is_hidden()
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    page.set_viewport_size({"width": 700, "height": 900})  # A4 less its margins
    pdf = page.pdf(format="A4", print_background=False)
    assert pdf.startswith(b"%PDF-")
    assert 1 <= len(re.findall(rb"/Type\s*/Page\b", pdf)) <= 10


SAMPLES = Path(cfgmigrate.__file__).parents[1] / "sample_configs"
MOST = {1300: 7_000, 820: 9_000, 390: 11_000}


@pytest.fixture(scope="module", params=sorted(path.stem for path in (SAMPLES / "sheets").glob("*.yaml")))
def sample(request: pytest.FixtureRequest) -> str:
    found = api.work_out(SAMPLES / request.param, SAMPLES / "sheets" / f"{request.param}.yaml")
    return render_page(found.plan, found.before, found.after, "0" * 64, "A. Heron")


@pytest.mark.parametrize("width", MOST)
def test_the_page_of_every_sample_opens_short_and_says_first_who_asks_whom_for_what(
    width: int, sample: str, browse: Open
) -> None:
    page = browse(sample, size=(width, 900))
    assert page.evaluate("document.documentElement.scrollHeight") <= MOST[width]
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.locator("header .lead").inner_text().startswith("A. Heron asks you, as the second person")


def test_every_sample_takes_at_most_ten_sheets_of_paper_with_derivations_only_where_opened(
    sample: str, browse: Open
) -> None:
    page = browse(sample, size=(700, 900))
    margins = dict.fromkeys(("top", "bottom", "left", "right"), "12mm")
    assert len(re.findall(rb"/Type\s*/Page\b", page.pdf(format="A4", margin=margins))) <= 10


def test_the_case_for_a_change_is_one_touch_away_and_its_formula_is_not_cut_off(
    browse: Open, wren: SimpleNamespace
) -> None:
    for size in (PHONE, DESK):
        page = browse(rendered(wren), size=size)
        assert page.locator("#C1 .result").is_hidden()
        page.locator("#C1 summary").first.click()
        assert page.locator("#C1 .result").is_visible()
        shown = page.locator(
            "#C1 .formula .plain" if size == PHONE else "#C1 .formula .typeset"
        ).bounding_box()
        assert shown["x"] >= 0 and shown["x"] + shown["width"] <= size[0]


def test_rows_are_gone_through_and_judged_with_single_keys(browse: Open, wren: SimpleNamespace) -> None:
    page = browse(rendered(wren))
    key = page.keyboard.press
    key("n")
    assert page.evaluate("document.activeElement.id") == "C1"
    key("a")
    key("n")
    key("h")
    key("n")
    key("p")
    key("d")
    assert page.evaluate("document.activeElement.id") == "C2"
    assert page.locator("#C2 .result").is_visible()
    assert page.locator("#C1").get_by_label("accepted").is_checked()
    assert page.locator("#C2").get_by_label("held").is_checked()
    page.locator("#C2 textarea").fill("and hop")
    assert page.locator("#C2 textarea").input_value() == "and hop"
    assert page.locator("#C2").get_by_label("held").is_checked()


def test_rows_can_be_filtered_and_all_of_them_come_back(browse: Open, wren: SimpleNamespace) -> None:
    page = browse(rendered(wren))
    cards = cards_of(wren.plan)
    page.locator("#C1").get_by_label("accepted").check()
    expected = {
        "open": len(cards.reviewed) - 1,
        "estimates": sum(card.status == "estimate" for card in cards.changes),
        "by hand": len(cards.by_hand),
        "questions": len(cards.doubts),
        "all": len(cards.reviewed),
    }
    for name, many in expected.items():
        button = page.get_by_role("button", name=name, exact=True)
        button.click()
        assert button.get_attribute("aria-pressed") == "true"
        assert page.locator("article:visible").count() == many, name


def test_without_script_the_page_says_at_the_top_how_to_answer(
    driver: Any, wren: SimpleNamespace, tmp_path: Path
) -> None:
    file = tmp_path / "page.html"
    file.write_text(rendered(wren), encoding="utf-8")
    browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
    page = browser.new_context(java_script_enabled=False, offline=True).new_page()
    page.goto(file.as_uri())
    said = page.locator("header noscript p")
    assert "Answer by mail with the numbers" in said.inner_text()
    assert said.bounding_box()["y"] < 300
    example = page.locator("header noscript pre").inner_text()
    assert example.startswith(f"packet {wren.packet_hash[:8]}\nC1 accepted\n")
    assert page.locator("#save").is_hidden() and page.locator(".filters").is_hidden()
    page.locator("#C1 summary").first.click()
    assert page.locator("#C1 .result").is_visible()
    browser.close()


def test_a_folded_number_opens_when_a_link_leads_to_it(browse: Open, wren: SimpleNamespace) -> None:
    page = browse(rendered(wren))
    card = page.get_by_role("article").filter(has=page.get_by_role("heading", name="Retraction"))
    card.locator("summary").first.click()
    card.get_by_role("link", name="rule path.give_new").click()
    assert page.locator("details:target .formula").is_visible()


@pytest.mark.exhaustive
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_axe_finds_no_barrier(
    scheme: str, size: tuple[int, int], browse: Open, wren: SimpleNamespace, axe: str
) -> None:
    page = browse(rendered(wren), size=size, scheme=scheme)
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    page.get_by_label("Your name").fill("B. Plover")
    page.get_by_role("button", name="Save the record").click()
    page.evaluate(axe)
    found = page.evaluate("axe.run(document)")
    shown = [(rule["id"], [node["html"][:120] for node in rule["nodes"][:3]]) for rule in found["violations"]]
    assert shown == []
    assert len(found["passes"]) > 20


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_no_barrier_in_a_comparison(scheme: str, browse: Open, axe: str) -> None:
    row = {"quantity": "heater.hotend.max_temperature", "unit": "degC", "old": 275.0, "new": 300.0}
    found = {
        "differences": [{**row, "protected": True}, {**row, "quantity": "lag.averaging", "unit": "s"}],
        "only_old": ["retraction.lift"],
        "only_new": [],
        "same": 3,
    }
    page = browse(render_comparison_page(found), size=PHONE, scheme=scheme)
    page.evaluate(axe)
    result = page.evaluate("axe.run(document)")
    assert [
        (rule["id"], [node["html"][:120] for node in rule["nodes"][:3]]) for rule in result["violations"]
    ] == []


def test_a_comparison_is_searched_and_sorted(browse: Open) -> None:
    rows = [
        {"quantity": f"axis.{name}.max_speed", "unit": "mm/s", "old": old, "new": 300.0}
        for name, old in (("x", 90.0), ("y", 250.0), ("z", 9.0))
    ]
    found = {"differences": rows, "only_old": [], "only_new": [], "same": 3}
    page = browse(render_comparison_page(found))
    first = page.locator("tbody th")
    page.get_by_role("button", name="old").click()
    assert first.all_inner_texts() == [f"{name} maximum speed" for name in "ZXY"]
    page.get_by_role("button", name="old").click()
    assert first.all_inner_texts() == [f"{name} maximum speed" for name in "YXZ"]
    page.get_by_label("Find").fill("Y MAX")
    assert page.locator("tbody tr:visible").count() == 1
    assert page.locator("#found").inner_text() == "1 of 3 shown"


HALL_WORD = "<script>document.title='run'</script>" + "w" * 300


HALL_PIECES = (
    FleetPiece(
        "retraction.length",
        "change retraction.length",
        "d1",
        "retraction length",
        "5.4 mm → 0.6 mm",
        "estimate",
    ),
    FleetPiece(HALL_WORD, f"by hand {HALL_WORD}", "d2", HALL_WORD, HALL_WORD * 4, "by hand"),
)


def hall() -> str:
    """The summary of a fleet with every part that it may have, some of it hostile."""
    value = Moved("retraction.length", "retraction length", "mm", 5.4, "5.4", 0.6, "0.6", "estimate")
    usual = [
        Record(name, "swap.yaml", (name,), changes=(value,), pieces=(*HALL_PIECES, own))
        for name, own in (
            ("Wren", replace(HALL_PIECES[0], name="a")),
            ("Dunlin", replace(HALL_PIECES[0], name="b")),
        )
    ]
    odd = Record(
        "Knot",
        "swap.yaml",
        ("knot",),
        differs=(("old.tube.length", HALL_WORD),),
        changes=(replace(value, value=None, text=HALL_WORD),),
        by_hand=(Hand("screw", HALL_WORD, "power on"),),
        warnings=(HALL_WORD,),
        notes=(HALL_WORD,),
        doubts=(
            Doubt(Place(HALL_WORD, 3, 1), HALL_WORD, NOT_THERE),
            Doubt(Place("a.nc", 1, 1), "x", HALL_WORD),
        ),
        lights=(("feed", "unknown"), ("height", "set")),
    )
    many = [replace(odd, name=f"Serin {number}", settings=(HALL_WORD, "b")) for number in range(12)]
    broken = Record("Twite", "swap.yaml", (), error=f"nowhere: {HALL_WORD}\n  check the path")
    return render_hall(Fleet("fleet.yaml", b"", ()), [*usual, replace(odd, settings=("b",)), *many, broken])


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["narrow", "wide"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_summary_of_a_fleet_has_no_barrier_runs_nothing_and_fits(
    scheme: str, size: tuple[int, int], browse: Open, axe: str
) -> None:
    page = browse(hall(), size=size, scheme=scheme)
    assert page.title() == "16 machines, prepared together"
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    for fold in page.locator("details").all():
        fold.evaluate("(it) => { it.open = true }")
    page.evaluate(axe)
    result = page.evaluate("axe.run(document)")
    assert [
        (rule["id"], [node["html"][:120] for node in rule["nodes"][:3]]) for rule in result["violations"]
    ] == []


def test_a_verdict_for_a_group_is_saved_as_one_record(browse: Open) -> None:
    page = browse(hall())
    form = page.locator("[data-group]")
    form.locator("summary").click()
    form.get_by_role("button", name="Save").click()
    assert "Your name is missing" in form.get_by_role("status").inner_text()
    page.get_by_label("Your name").fill("B. Plover")
    form.get_by_role("button", name="Save").click()
    assert form.get_by_role("status").inner_text() == "No verdict is given yet."
    form.get_by_label("Verdict on Retraction length").select_option("accepted")
    form.get_by_label("Note on").nth(1).fill('why "this"?')
    with page.expect_download() as waiting:
        form.get_by_role("button", name="Save").click()
    found = parse_review(Path(waiting.value.path()).read_bytes(), waiting.value.suggested_filename)
    assert (found.group, found.packet, found.reviewer) == (("Wren", "Dunlin"), "", "B. Plover")
    assert [(one.item, one.verdict.value, one.note) for one in found.judgements] == [
        ("retraction.length", "accepted", ""), (HALL_WORD, "questioned", 'why "this"?'),
    ]  # fmt: skip
    assert found.basis == {piece.name: piece.digest for piece in HALL_PIECES}


def test_the_summary_of_a_fleet_is_searched_by_what_it_says(browse: Open) -> None:
    page = browse(hall())
    groups = page.locator("article.listed:visible")
    page.get_by_label("Find").fill("questioned")
    assert groups.count() == 0
    page.get_by_label("Find").fill("dunlin 0.6")
    assert groups.count() == 1


def test_what_a_search_finds_in_a_folded_part_of_a_comparison_is_shown(browse: Open) -> None:
    rows = [{"quantity": f"axis.x.speed_{n}", "unit": "mm/s", "old": 1.0, "new": float(n)} for n in range(60)]
    page = browse(render_comparison_page({"differences": rows, "only_old": [], "only_new": [], "same": 3}))
    assert page.locator("tbody tr:visible").count() == 0
    page.get_by_label("Find").fill("speed_59")
    assert page.locator("tbody tr:visible").count() == 1


def test_the_rest_is_accepted_by_a_second_touch_that_says_what_it_is(
    browse: Open, wren: SimpleNamespace
) -> None:
    page = browse(rendered(wren), size=PHONE)
    total = page.locator("[data-item]").count()
    give(page, "Retraction", "held", "first the lag")
    page.get_by_role("button", name="Accept the rest").click()
    said = page.locator("#rest-said").inner_text()
    assert "The rest is what has no verdict yet: C1, " in said
    assert page.locator("input[value=accepted]:checked").count() == 0
    page.get_by_role("button", name=f"Yes, accept these {total - 1}").click()
    assert page.locator("input[value=accepted]:checked").count() == total - 1
    assert page.locator("input[value=held]:checked").count() == 1
    assert page.get_by_role("button", name="Accept the rest").is_visible()


def test_verdicts_can_leave_as_a_mail_that_is_read_as_they_were_given(
    browse: Open, wren: SimpleNamespace
) -> None:
    page = browse(rendered(wren), size=PHONE)
    page.get_by_label("Your name").fill("B. Plover")
    give(page, "Retraction", "held", "4 mm,\nnot less")
    give(page, "Filament fed by one turn", "accepted")
    page.get_by_role("button", name="Copy my verdicts as a mail").click()
    text = page.locator("#record").input_value()
    numbers = {card.number: card.key for card in cards_of(wren.plan).reviewed}
    found = read_answer(text, "mail.txt", numbers, wren.packet_hash)
    assert found.name == "B. Plover" and not found.unread
    assert sorted((each.verdict.value, each.note) for each in found.judgements) == [
        ("accepted", ""),
        ("held", "4 mm, not less"),
    ]


def test_a_link_within_an_item_leaves_a_way_back_in_sight(browse: Open, wren: SimpleNamespace) -> None:
    page = browse(rendered(wren), size=PHONE)
    link = page.locator("[data-item] a[href^='#']").first
    origin = link.evaluate("link => link.closest('[data-item]').id")
    page.locator(f"#{origin} summary").first.click()
    link.click()
    back = page.get_by_role("button", name=f"Back to {origin}")
    assert back.is_visible()
    back.click()
    assert back.is_hidden()
    assert page.locator(f"#{origin} h3").evaluate(
        "e => { const b = e.getBoundingClientRect(); return b.bottom > 0 && b.top < innerHeight }"
    )
