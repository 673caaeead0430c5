"""changes.html is one well-formed file that asks for nothing, says everything, and is inert.

Well-formedness is checked with CPython's html.parser; what a browser makes of the page is in
`test_browser.py`.
"""

from __future__ import annotations

import base64
import hashlib
import html
import json
import re
from html.parser import HTMLParser
from types import SimpleNamespace

import pytest
from cardtexts import texts_of
from msgspec.structs import replace

from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.packet.binding import review_basis
from cfgmigrate.plan.model import ByHand, Light, Plan
from cfgmigrate.plan.screw_lines import WITH_THE_OLD
from cfgmigrate.reports import overview
from cfgmigrate.reports.card import cards_of
from cfgmigrate.reports.html import breakable
from cfgmigrate.reports.markdown import render_markdown
from cfgmigrate.reports.page import _at_the_machine, render_page

# HTML Living Standard, 13.1.2: void elements have no end tag.
VOID = {"meta", "br", "input", "hr", "img", "link", "col", "wbr", "source"}


class Reader(HTMLParser):
    """Every element with its attributes, the visible text, and whether each end tag meets its start tag."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.faults: list[str] = []
        self.text = ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.faults.append(f"</{tag}> at {self.getpos()}")

    def handle_data(self, data: str) -> None:
        if not self.open or self.open[-1] not in {"style", "script"}:
            self.text += data

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.elements if name == tag]


def rendered(found: SimpleNamespace) -> str:
    return render_page(found.plan, found.before, found.after, found.packet_hash)


@pytest.fixture(scope="module")
def page(wren: SimpleNamespace) -> Reader:
    return Reader(rendered(wren))


def words_of(text: str) -> str:
    return " ".join(text.split())


def test_every_element_is_closed(page: Reader) -> None:
    assert page.faults == []
    assert page.open == []


def test_the_page_asks_for_nothing_from_anywhere(page: Reader) -> None:
    for tag, attributes in page.elements:
        assert tag not in {"link", "img", "iframe", "object", "embed", "base", "audio", "video", "form"}
        for name in ("src", "href", "action", "xlink:href", "data"):
            assert (attributes.get(name) or "#").startswith("#"), (tag, attributes)


def test_the_content_policy_allows_the_pages_own_style_and_script_and_nothing_else(
    wren: SimpleNamespace,
) -> None:
    text = rendered(wren)
    (policy,) = re.findall(r'http-equiv="Content-Security-Policy" content="([^"]+)"', text)
    for tag in ("style", "script"):
        (inline,) = re.findall(rf"<{tag}>(.*?)</{tag}>", text, re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(inline.encode()).digest()).decode()
        assert f"{tag}-src 'sha256-{digest}'" in policy
    assert policy.startswith("default-src 'none'; ")
    assert "unsafe" not in policy


def test_no_element_carries_a_style_or_a_handler_of_its_own(page: Reader) -> None:
    for tag, attributes in page.elements:
        assert not [name for name in attributes if name == "style" or name.startswith("on")], tag


def test_ids_are_unique_and_every_link_leads_somewhere(page: Reader) -> None:
    ids = [attributes["id"] for _, attributes in page.elements if "id" in attributes]
    assert len(ids) == len(set(ids))
    for _, attributes in page.elements:
        for name in ("href", "aria-labelledby", "aria-describedby"):
            for target in (attributes.get(name) or "").split():
                assert target.removeprefix("#") in ids, target


def test_every_part_of_the_plan_is_there(page: Reader, wren: SimpleNamespace) -> None:
    text = words_of(page.text)
    plan: Plan = wren.plan
    for card in cards_of(plan).all:
        assert [part for part in texts_of(card) if words_of(part) not in text] == []
    for left in plan.left_alone:
        assert left.quantity in text
        assert left.why in text
    for status, number in overview.counts(plan):
        assert f"{status.value} {number} {overview.MEANING[status]}" in text


def test_work_that_is_the_same_at_every_swap_is_folded_away_behind_what_has_to_be_looked_at(
    wren: SimpleNamespace,
) -> None:
    usual = [
        ByHand(f"do the {name}", None, "", "as usual", rule=f"work.{name}")
        for name in ("wires", "grip", "gears")
    ]
    minded = ByHand("compare", None, "", "why", rule="work.sheet", warnings=("it may kill the driver",))
    own = ByHand("turn the screw", 0.4, "V", "why", rule="motor.reference_voltage")
    text = render_page(
        replace(wren.plan, by_hand=(*usual, minded, own)), wren.before, wren.after, wren.packet_hash
    )
    folded = text.split('<details class="fold">', 1)[1].split("To look up", 1)[0]
    assert "<strong>3 steps of usual work, as at every swap:</strong> H1 to H3." in folded
    assert [number for number in ("H1", "H2", "H3", "H4", "H5") if f'id="{number}"' in folded] == [
        "H1",
        "H2",
        "H3",
    ]
    twins = [replace(own, holder=f"filament {name}") for name in ("grey", "red", "blue")]
    alike = render_page(replace(wren.plan, by_hand=tuple(twins)), wren.before, wren.after, wren.packet_hash)
    assert "The same for filament red; filament blue: H2 to H3</summary>" in alike
    few = render_page(
        replace(wren.plan, by_hand=(*usual[:2], own)), wren.before, wren.after, wren.packet_hash
    )
    assert 'class="fold"' not in few


def test_every_change_step_by_hand_and_doubt_can_be_given_a_verdict(
    page: Reader, wren: SimpleNamespace
) -> None:
    items = [
        json.loads(attributes["data-item"] or "")
        for _, attributes in page.elements
        if "data-item" in attributes
    ]
    plan: Plan = wren.plan
    cards = cards_of(plan)
    first = [card.key for card in (*cards.changes, *cards.doubts)]
    assert (
        items[: len(first)] == first
    )  # what is written and what is asked, before what is done at the machine
    assert set(items) == {card.key for card in cards.reviewed}
    assert len(set(items)) == len(plan.changes) + len(plan.by_hand) + len(plan.doubts)
    assert len(page.all("textarea")) == len(items) + 1


def test_the_page_carries_what_a_review_is_of(page: Reader, wren: SimpleNamespace) -> None:
    (body,) = page.all("body")
    assert body["data-packet"] == wren.packet_hash
    assert json.loads(body["data-basis"] or "") == review_basis(wren.plan)


def test_each_file_stands_there_in_full_before_and_after(wren: SimpleNamespace) -> None:
    text = rendered(wren)
    for path, data in wren.before.items():
        (table,) = re.findall(
            rf'<table class="lines sides"[^>]*>\s*<caption[^>]*>{path}.*?</table>', text, re.DOTALL
        )
        rows = re.findall(r"<tr class=\"(?:same|changed)\".*?</tr>", table, re.DOTALL)
        for column, expected in ((1, data), (3, wren.after[path])):
            cells = [re.findall(r"<td[^>]*>(.*?)</td>", row, re.DOTALL)[column] for row in rows]
            lines = [html.unescape(re.sub(r"<[^>]+>", "", cell)) for cell in cells]
            assert lines == expected.decode().splitlines()


def test_hostile_text_adds_no_element_and_no_attribute(
    hostile: SimpleNamespace, harmless: SimpleNamespace
) -> None:
    found, sound = Reader(rendered(hostile)), Reader(rendered(harmless))
    assert found.faults == []
    for name in ("script", "style", "svg", "math", "article", "table", "textarea", "input", "title"):
        assert len(found.all(name)) == len(sound.all(name)), name
    names = {name for _, attributes in found.elements for name in attributes}
    assert names <= {name for _, attributes in sound.elements for name in attributes}
    assert not found.all("img")


def test_no_character_that_acts_reaches_the_page(all_hostile: SimpleNamespace) -> None:
    text = rendered(all_hostile)
    for letter in "\x00\x08\x1b\x7f\x9b\u202e\u2066\u200f\u2028\ufeff":
        assert letter not in text


def test_a_line_of_ten_thousand_characters_is_cut(hostile: SimpleNamespace) -> None:
    assert max(map(len, re.findall(r"w+", Reader(rendered(hostile)).text))) <= 2000


def test_a_damaged_file_is_said_at_the_top(wren: SimpleNamespace) -> None:
    after = {**wren.after, "wren.ini": b"something else"}
    assert "does not agree with itself" in render_page(wren.plan, wren.before, after, wren.packet_hash)


def test_a_plan_without_changes_is_a_page_too(empty: Plan) -> None:
    found = Reader(render_page(empty, {}, {}, "0" * 64))
    assert found.faults == []
    assert "Nothing changes." in found.text


def test_the_same_plan_gives_the_same_bytes(wren: SimpleNamespace) -> None:
    assert rendered(wren) == rendered(wren)


def test_a_formula_that_cannot_be_typeset_is_shown_as_text(wren: SimpleNamespace) -> None:
    change = wren.plan.changes[0]
    odd = replace(change, derivation=replace(change.derivation, formula="from the table, row 3 <b>"))
    found = Reader(rendered(SimpleNamespace(**{**vars(wren), "plan": replace(wren.plan, changes=(odd,))})))
    assert "from the table, row 3 <b>" in found.text


def test_a_long_word_can_be_broken_and_loses_nothing() -> None:
    for text in ("new.drive_gear.effective_diameter", "w" * 100, "a short one", "<b>" * 20, "x/" * 30 + "&"):
        shown = breakable(text)
        assert html.unescape(str(shown).replace("<wbr>", "")) == text
        pieces = str(shown).split("<wbr>")
        assert max(len(html.unescape(word)) for piece in pieces for word in piece.split()) <= 16


def test_a_file_of_20_000_lines_stands_whole_on_a_page_hardly_larger_than_itself(
    wren: SimpleNamespace,
) -> None:
    path = next(iter({edit.file for change in wren.plan.changes for edit in change.edits}))
    more = b"".join(
        b"# ring %05d, a net & a pole as counted in spring at the hut\n" % n for n in range(20_000)
    )
    files = {name: {**wren.before, path: wren.before[path] + b"\n" + more} for name in ("before", "after")}
    text = render_page(wren.plan, files["before"], files["after"], wren.packet_hash)
    assert len(text.encode()) < 1.4 * len(more) + len(rendered(wren).encode())
    seen = Reader(text)
    assert seen.faults == []
    assert all(f"# ring {number:05d}, a net & a pole" in seen.text for number in range(0, 20_000, 7))


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({}, ""),
        ({"filament.material": "PLA"}, ""),
        ({"new.drive": "on the carriage"}, "Drive: the old one → on the carriage."),
        (
            {"old.drive": "tube-fed", "new.drive": "tube-fed", "new.driver.part": "TMC2209"},
            "Drive: tube-fed → tube-fed; driver: now TMC2209.",
        ),
        (
            {
                "old.drive": "tube-fed", "new.drive": "on the carriage",
                "old.drive_gear.gear_ratio": "3:1", "new.drive_gear.gear_ratio": "56:11",
                "old.tube.length": "365 mm", "new.tube.length": "41 mm",
                "old.feed_per_turn": "4 mm", "new.feed_per_turn": "4 mm",
            },
            "Drive: tube-fed → on the carriage; gear ratio: 3:1 → 56:11; tube: 365 mm → 41 mm.",
        ),
    ],
)  # fmt: skip
def test_what_was_swapped_is_told_in_one_sentence(
    wren: SimpleNamespace, said: dict[str, str], told: str
) -> None:
    assert overview.swap_sentence(replace(wren.plan, swap=tuple(said.items()))) == told


def test_the_page_says_open_near_its_top_what_was_swapped(wren: SimpleNamespace) -> None:
    text = render_page(wren.plan, wren.before, wren.after, "0" * 64)
    said = text[text.index('<section class="said"') : text.index('id="changes"')]
    assert "Does this match what you hold in your hands?" in said
    for path, value in wren.plan.swap:
        if path.startswith("new.") and dict(wren.plan.swap).get(path.replace("new.", "old.")) != value:
            assert value in said, path


def test_the_page_says_how_to_answer_by_mail(wren: SimpleNamespace) -> None:
    text = render_page(wren.plan, wren.before, wren.after, "3f0ac9d1" + "0" * 56)
    assert "By mail instead:" in text and "<code>packet 3f0ac9d1</code> in the first line" in text
    assert "<code>packet 3f0ac9d1</code>" in text.partition("</header>")[0]


def test_a_light_says_what_is_open_of_it(wren: SimpleNamespace) -> None:
    light = Light("height", "machine", "unknown", "it stays", ("tell me how much higher",))
    plan = replace(wren.plan, lights=(light,))
    text = render_page(plan, wren.before, wren.after, "3f0ac9d1" + "0" * 56)
    assert "; open: tell me how much higher" in text


def test_questions_say_how_they_are_answered_also_with_no_and_what_comes_after(wren: SimpleNamespace) -> None:
    place = Doubt(Place("feed.conf", 3, 1), "pull = 5", "this is strange", "name it in cfgmigrate.yaml")
    other = Doubt(Place("feed.conf", 4, 1), "push = 5", "this is strange", "look at it")
    named, unnamed = (replace(wren.plan, doubts=(doubt,)) for doubt in (place, other))
    for plan, by_name in ((named, True), (unnamed, False)):
        for text in (
            render_page(plan, wren.before, wren.after, wren.packet_hash),
            render_markdown(plan, wren.before, wren.after, wren.packet_hash),
        ):
            said = words_of(text)
            assert "prepare again" in said and ("the same name with ignore" in said) is by_name


def test_what_hands_set_is_in_the_way_back_and_what_they_only_looked_at_is_not(wren: SimpleNamespace) -> None:
    one = wren.plan.by_hand[0]
    old = (f"{WITH_THE_OLD}0.83 V, by the sheet.",)
    steps = (
        replace(one, rule="protected.end_stop_z", what="Move the switch.", when="power off"),
        replace(one, rule="motor.reference_voltage", what="Turn it.", when="before it moves", steps=old),
        replace(one, rule="protected.first_homing", what="Trip them.", when="power on"),
        replace(one, rule="work.grip", what="Look at the marks.", when="first loading"),
        replace(one, rule="axis.z.unread", what="Change the highest z.", when="after install"),
    )
    cards = cards_of(replace(wren.plan, by_hand=steps))
    number = {card.rule: card.number for card in cards.by_hand}
    assert _at_the_machine(wren.plan, cards, "").endswith(
        f"The way back: the old parts go on again, {number['protected.end_stop_z']} undone if done (hands), the files "
        f"go back in one step, {number['axis.z.unread']} by hand (files); only then power, then "
        f"{number['motor.reference_voltage']} back to 0.83 V (hands)."
    )


@pytest.mark.parametrize("login", ["root", "Root ", "administrator", ""])
def test_nobody_is_sent_to_ask_a_user_of_a_computer_who_is_no_person(
    wren: SimpleNamespace, login: str
) -> None:
    page = words_of(render_page(wren.plan, wren.before, wren.after, wren.packet_hash, login))
    assert "ask whoever prepared this packet" in page and "You are asked, as the second person" in page
    assert "ask A. Rooth" in words_of(
        render_page(wren.plan, wren.before, wren.after, wren.packet_hash, "A. Rooth")
    )


def test_who_has_the_page_alone_is_told_whom_to_ask_and_how_it_goes_back(wren: SimpleNamespace) -> None:
    cards = cards_of(wren.plan)
    said = _at_the_machine(wren.plan, cards, "A. Heron")
    assert "switch off, and ask A. Heron." in said and "the files go back in one step" in said
    assert "the old parts go on again (hands)" in said
    assert "ask whoever prepared this packet." in _at_the_machine(wren.plan, cards, "")
    assert "the old parts" not in _at_the_machine(replace(wren.plan, kind="tune"), cards, "")
