"""The desk in a real browser, with a real server: the whole way on every sample, a reload in the middle, the server
killed once, and not a byte on disk that is not the commands'.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from browserbench import CHROMIUM, FLAGS

import cfgmigrate
from cfgmigrate.files.site_reading import site_at
from cfgmigrate.sheet.reader import read_sheet
from cfgmigrate.sheet.schema import sheet_schema

pytestmark = [pytest.mark.browser, pytest.mark.exhaustive]

ROOT = Path(cfgmigrate.__file__).parents[1]
SAMPLES = ROOT / "sample_configs"
#: those that go neither the long way nor the way by the keyboard
NAMES = sorted({path.stem for path in (SAMPLES / "sheets").iterdir()} - {"wren", "siskin"})
ENV = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"}
PHONE, DESK = (390, 844), (1200, 900)
SLOW = 60_000
#: all pages that one gets to, and one that isn't there
PAGES = (
    "machine",
    "understood",
    "swap",
    "packet",
    "packet/packet",
    "packet/packet/install",
    "after?seen=irregular%20wall",
    "status",
    "packet/none",
    "packet/packet/revert",
    "packet/packet/verify",
    "history",
    "more",
    "more/rule/retraction.length",
)
#: so many of them are looked at in every colour
ROOMS_ALONE = 9
#: whether the browser would send the form that prepares a packet
SENT = """document.querySelector("form[action$='/packet']").dispatchEvent(
  new Event("submit", {bubbles: true, cancelable: true}))"""
#: what has the focus without a sign of it; at the end of a page nothing has it
FOCUS_UNSEEN = """((each) => each === document.body || getComputedStyle(each).outlineStyle !== "none" ? "" : each.outerHTML)
  (document.activeElement)"""
#: what is drawn in the colour of what it is drawn on
LINES_LIKE_THE_PAPER = """[...document.querySelectorAll("main svg [class*=stroke-]")].filter((each) =>
  getComputedStyle(each).stroke === getComputedStyle(document.body).backgroundColor).map((each) => each.outerHTML)"""


@dataclass
class Serving:
    """A desk that runs in a process of its own."""

    work: Path
    config: str
    more: tuple[str, ...] = ()
    process: subprocess.Popen[str] | None = None
    lines: list[str] = field(default_factory=list)

    def begin(self) -> str:
        """The address that it shows."""
        command = [sys.executable, "-m", "cfgmigrate", "desk", self.config, "--no-browser", *self.more]
        self.process = subprocess.Popen(command, cwd=self.work, env=ENV, stdout=subprocess.PIPE, text=True)
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.lines.append(line.strip())
            if "/enter?key=" in line:
                return line.strip()
        raise AssertionError("the desk did not begin")

    def end(self, how: int = signal.SIGINT) -> int:
        assert self.process is not None
        if self.process.poll() is None:
            self.process.send_signal(how)
        return self.process.wait(timeout=60)


Serve = Callable[..., Serving]


@pytest.fixture
def serve() -> Iterator[Serve]:
    begun: list[Serving] = []

    def make(work: Path, config: str, *more: str) -> Serving:
        begun.append(Serving(work, config, more))
        return begun[-1]

    yield make
    for each in begun:
        if each.process is not None:
            each.end(signal.SIGKILL)


@pytest.fixture(scope="module")
def chromium(driver: Any) -> Iterator[Any]:
    found = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
    yield found
    found.close()


@pytest.fixture
def page(chromium: Any) -> Iterator[Any]:
    """A page in a browser without a past; nothing may complain, but for refused requests that a test asks for."""
    context = chromium.new_context(viewport={"width": DESK[0], "height": DESK[1]})
    context.set_default_timeout(SLOW)
    made = context.new_page()
    made.complaints = []
    made.on("console", lambda message: made.complaints.append(message.text))
    made.on("pageerror", lambda error: made.complaints.append(str(error)))
    yield made
    context.close()


def files_in(place: Path) -> dict[str, bytes]:
    own = (path for path in place.rglob("*") if path.is_file() and ".cfgmigrate" not in path.parts)
    return {path.relative_to(place).as_posix(): path.read_bytes() for path in own}


def command(work: Path, *arguments: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "cfgmigrate", *arguments],
        cwd=work,
        env=ENV,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def room(page: Any, name: str) -> None:
    page.get_by_role("navigation", name="Rooms").get_by_role("link", name=name).click()
    page.get_by_role("heading", level=1, name=name).wait_for()
    page.wait_for_load_state()  # the heading is there before the page's script listens


def button(page: Any, name: str) -> None:
    page.get_by_role("button", name=name).first.click()


def answer(page: Any, path: str, said: str) -> None:
    """Give one answer by the keyboard, and wait until it is kept."""
    page.locator("#more").wait_for()
    box = page.locator(f'[id="in-{path}"]')
    if not box.count():
        page.get_by_label("Something else that the sheet can say").select_option(path)
        button(page, "Show its field")
        box.wait_for()
    if box.evaluate("(it) => it.tagName") == "SELECT":
        box.select_option(said)
    else:
        box.fill(said)
    page.locator(f'[id="field-{path}"] button[value=keep]').focus()
    page.keyboard.press("Enter")
    page.locator(f'[id="field-{path}"].said').wait_for()
    assert page.evaluate("document.activeElement.id") == f"field-{path}"


def prepare(page: Any) -> None:
    room(page, "The packet")
    button(page, "Work it out and write the packet")
    page.get_by_role("heading", level=1, name="Packet packet").wait_for()


def install(page: Any, name: str) -> None:
    page.get_by_role("link", name="Install: see first what would change").click()
    page.get_by_role("heading", name="What would be written").wait_for()
    if page.get_by_label("type the machine's name").count():
        page.get_by_label("type the machine's name").fill(name)
    page.get_by_role("button", name=re.compile(r"^Write \d+ values into")).click()
    page.get_by_text("It is in force").wait_for()


def revert(page: Any) -> None:
    page.get_by_role("link", name="Revert: see first what would change").click()
    button(page, "Put the old values back")
    page.get_by_role("link", name="Install: see first what would change").wait_for()


def laid(work: Path, sample: str, sheet: bool = True) -> Path:
    shutil.copytree(SAMPLES / sample, work / sample)
    if sheet:
        shutil.copy(SAMPLES / "sheets" / f"{sample}.yaml", work / "swap.yaml")
    return work / sample


def test_the_whole_way_with_a_reload_and_a_killed_server(tmp_path: Path, serve: Serve, page: Any) -> None:
    """From an empty work folder to an installed and reverted packet, every answer given in the browser."""
    config = laid(tmp_path, "wren", sheet=False)
    original = files_in(config)
    wanted = read_sheet(SAMPLES / "sheets" / "wren.yaml").entries
    texts = {
        each: wanted[each].text for each in sheet_schema().fields if each in wanted and each != "machine"
    }
    half = len(texts) // 2
    desk = serve(tmp_path, "wren")
    page.goto(desk.begin())
    page.get_by_role("link", name="Next: what is understood").click()
    page.get_by_role("link", name="Next: the swap").click()
    for path in list(texts)[:half]:
        answer(page, path, texts[path])
    page.reload()
    assert page.locator(".field.said").count() >= half
    assert page.complaints == []
    assert desk.end(signal.SIGKILL) != 0
    page.locator(".field button[value=keep]").first.click()
    page.get_by_text("it has ended").wait_for()
    # how a connection ends with a killed server (refused, reset, empty) is chance
    assert all("net::ERR_" in each for each in page.complaints)
    page.complaints.clear()
    assert len(read_sheet(tmp_path / "swap.yaml").entries) >= half
    page.goto(desk.begin())
    room(page, "The swap")
    assert page.locator(".field.said").count() >= half
    for path in list(texts)[half:]:
        answer(page, path, texts[path])
    kept = read_sheet(tmp_path / "swap.yaml").entries
    assert {path: (kept[path].value, kept[path].word) for path in texts} == {
        path: (wanted[path].value, wanted[path].word) for path in texts
    }
    prepare(page)
    by_desk = files_in(tmp_path / "packet")
    install(page, "wren")
    installed = files_in(config)
    revert(page)
    assert files_in(config) == original != installed
    assert page.complaints == []
    assert desk.end() == 0
    shutil.rmtree(tmp_path / "packet")
    shutil.rmtree(config)
    laid(tmp_path, "wren", sheet=False)
    command(tmp_path, "prepare", "wren", "--sheet", "swap.yaml", "-o", "packet")
    assert files_in(tmp_path / "packet") == by_desk
    command(tmp_path, "install", "packet")
    assert files_in(config) == installed


@pytest.mark.parametrize("sample", NAMES)
def test_prepared_installed_and_reverted_as_by_the_commands(
    tmp_path: Path, serve: Serve, page: Any, sample: str
) -> None:
    config = laid(tmp_path, sample)
    original = files_in(config)
    desk = serve(tmp_path, sample)
    page.goto(desk.begin())
    prepare(page)
    by_desk = files_in(tmp_path / "packet")
    install(page, _name(by_desk, sample))
    installed = files_in(config)
    revert(page)
    assert files_in(config) == original != installed
    assert page.complaints == []
    shutil.rmtree(tmp_path / "packet")
    shutil.rmtree(config)
    laid(tmp_path, sample)
    command(tmp_path, "prepare", sample, "--sheet", "swap.yaml", "-o", "packet")
    assert files_in(tmp_path / "packet") == by_desk


def test_the_whole_way_with_the_keyboard_alone(tmp_path: Path, serve: Serve, page: Any) -> None:
    config = laid(tmp_path, "siskin")
    original = files_in(config)
    key = page.keyboard.press

    def go(what: str, most: int = 60) -> None:
        """On with the Tab key to what is called so, and press Enter there."""
        for _ in range(most):
            key("Tab")
            told = page.evaluate("document.activeElement.innerText ?? ''")
            assert page.evaluate(FOCUS_UNSEEN) == ""
            if told.startswith(what):
                key("Enter")
                page.wait_for_load_state()
                return
        raise AssertionError(f"{what} can't be reached with the Tab key")

    page.goto(serve(tmp_path, "siskin").begin())
    go("To the content", 1)
    page.locator("main:focus").wait_for()
    go("Next: what is understood")
    page.get_by_role("heading", level=1, name="What is understood").wait_for()
    go("The swap")
    page.locator("#ahead form, #ahead strong").first.wait_for()
    page.locator(".field.said").first.wait_for()
    go("The packet")
    page.get_by_role("heading", level=1, name="The packet").wait_for()
    go("Work it out and write the packet")
    page.get_by_role("heading", level=1, name="Packet packet").wait_for()
    go("Install: see first what would change")
    page.get_by_role("heading", name="What would be written").wait_for()
    if page.get_by_label("type the machine's name").count():
        page.get_by_label("type the machine's name").focus()
        page.keyboard.type(_name(files_in(tmp_path / "packet"), "siskin"))
    go("Write ")
    page.get_by_text("It is in force").wait_for()
    assert files_in(config) != original
    go("Revert: see first what would change")
    page.get_by_role("heading", level=1, name="Revert packet packet").wait_for()
    go("Put the old values back")
    page.get_by_role("link", name="Install: see first what would change").wait_for()
    assert files_in(config) == original
    assert page.complaints == []


def _name(packet: dict[str, bytes], sample: str) -> str:
    import json

    return str(json.loads(packet["changes.json"]).get("machine") or sample)


def test_a_messy_folder_goes_the_whole_way(tmp_path: Path, serve: Serve, page: Any) -> None:
    """From the questions about the files to an installed and reverted packet, with the server killed in between."""
    config = shed(tmp_path)
    original = files_in(config)
    desk = serve(tmp_path, "shed")
    page.goto(desk.begin())
    page.get_by_role("link", name="The swap").click()
    page.get_by_role("link", name="Say which files are the machine").click()
    page.get_by_label("none of them").check()
    page.get_by_role("radio", name=re.compile(r"^frame\.conf")).check()
    button(page, "Keep what I chose")
    page.get_by_text("Kept in cfgmigrate.yaml").wait_for()
    said = site_at(config)
    assert said.there
    page.goto("about:blank")  # so that the server's death breaks off nothing
    desk.end(signal.SIGKILL)
    page.complaints.clear()  # the refusal before it was said which files are the machine
    page.goto(desk.begin())
    room(page, "The swap")
    page.get_by_role("heading", name="Lights").wait_for()
    prepare(page)
    by_desk = files_in(tmp_path / "packet")
    install(page, _name(by_desk, "shed"))
    installed = files_in(config)
    changed = {path for path, data in installed.items() if original.get(path) != data} - {"cfgmigrate.yaml"}
    assert changed and all("/" not in path and "(2)" not in path and "old" not in path for path in changed)
    revert(page)
    room(page, "The packet")
    page.get_by_role("link", name="History").click()
    page.get_by_text("2. revert").wait_for()
    assert {path: data for path, data in files_in(config).items() if path in original} == original
    assert page.complaints == []
    site = (config / "cfgmigrate.yaml").read_bytes()
    shutil.rmtree(config)
    shutil.rmtree(tmp_path / "packet")
    shed(tmp_path)
    (config / "cfgmigrate.yaml").write_bytes(site)
    command(tmp_path, "prepare", "shed", "--sheet", "swap.yaml", "-o", "packet")
    assert files_in(tmp_path / "packet") == by_desk


def shed(work: Path) -> Path:
    """Wren's files among what gathers in a folder over the years: copies, a picture, a log, and another machine in a folder
    of its own."""
    config = laid(work, "wren").rename(work / "shed")
    for name, like in (
        ("frame (2).conf", "frame.conf"),
        ("feed.conf.old", "feed.conf"),
        ("old/feed.conf", "feed.conf"),
    ):
        (config / name).parent.mkdir(exist_ok=True)
        (config / name).write_bytes((config / like).read_bytes().replace(b"1", b"2", 2))
    (config / "from the left.png").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(range(256)))
    (config / "print log.txt").write_text("4 May: three gulls, the wing of the second one came off\n" * 9)
    (config / "to do.txt").write_text("oil the rods\nask about the tube: 365 mm or longer?\n")
    shutil.copytree(SAMPLES / "siskin", config / "siskin")
    return config


def test_a_click_on_a_line_says_what_it_is(tmp_path: Path, serve: Serve, page: Any) -> None:
    config = laid(tmp_path, "wren")
    feed = config / "feed.conf"
    feed.write_text(feed.read_text() + "\n[feeder]\nmm at a stretch = 512\n")
    page.goto(serve(tmp_path, "wren").begin())
    room(page, "What is understood")
    line = page.locator("li", has_text="mm at a stretch = 512").last
    line.locator("summary").click()
    line.get_by_label("mm at a stretch").select_option("feeder.load_length")
    button_there = line.get_by_role("button", name="Keep it in cfgmigrate.yaml")
    button_there.click()
    page.get_by_text("The files were read again").wait_for()
    assert page.locator("li", has_text="mm at a stretch = 512").last.locator("mark.known").count() == 1


def test_verdicts_of_the_review_page_are_kept_in_the_packet(tmp_path: Path, serve: Serve, page: Any) -> None:
    laid(tmp_path, "wren")
    page.goto(serve(tmp_path, "wren").begin())
    room(page, "The packet")
    assert page.evaluate(SENT), "the form is sent"
    page.get_by_text("At work").wait_for()
    assert not page.evaluate(SENT), "and not a second time while the program is at it"
    prepare(page)
    page.get_by_role("link", name="Read the review page").click()
    page.get_by_label("Your name").fill("B. Heron")
    rows = page.locator("[data-item]")
    rows.first.locator("input[value=held]").check()
    rows.nth(1).locator("input[value=accepted]").check()
    page.go_back()
    page.get_by_text("2 verdicts from the review page are filled in").wait_for()
    button(page, "Keep these verdicts in the packet")
    page.get_by_text("2 verdicts of B. Heron").wait_for()
    assert "1 held" in page.locator("main").inner_text()
    assert page.complaints == []


def test_of_two_windows_the_second_is_shown_what_the_first_said(
    tmp_path: Path, serve: Serve, page: Any
) -> None:
    laid(tmp_path, "wren", sheet=False)
    address = serve(tmp_path, "wren").begin()
    page.goto(address)
    room(page, "The swap")
    other = page.context.new_page()
    other.goto(page.url)
    answer(page, "new.drive", "on the carriage")
    answer(page, "new.tube.length", "38 mm")
    assert page.locator("#live .moved").count() > 0
    other.locator('[id="in-new.tube.length"]').fill("45 mm")
    other.locator('[id="in-new.tube.length"]').press("Enter")
    other.get_by_text("45 mm").first.wait_for()
    assert "38 mm" in other.locator("main").inner_text()
    assert read_sheet(tmp_path / "swap.yaml").entries["new.tube.length"].value == 38


def test_a_foreign_page_can_send_nothing_and_a_rebound_name_sees_nothing(
    tmp_path: Path, serve: Serve, chromium: Any, page: Any
) -> None:
    laid(tmp_path, "wren")
    address = serve(tmp_path, "wren").begin()
    page.goto(address)
    place = page.url.rpartition("/")[0]
    page.goto(
        "data:text/html,<form method=post action='" + place + "/machine/all'><button>go</button></form>"
    )
    page.get_by_role("button").click()
    page.get_by_text("refused").wait_for()
    assert not (tmp_path / "wren" / "cfgmigrate.yaml").exists()
    framed = page.context.new_page()
    framed.goto(f"data:text/html,<iframe src='{place}/machine'></iframe>")
    assert all("Which machine" not in frame.content() for frame in framed.frames)
    strange = chromium.new_context().new_page()
    assert strange.goto(f"{place}/machine").status == 403
    assert strange.goto(f"{place}/machine".replace("127.0.0.1", "localhost")).status == 421


@pytest.fixture(scope="module")
def standing(tmp_path_factory: pytest.TempPathFactory, chromium: Any) -> Iterator[tuple[str, Any]]:
    """Where the pages of a desk with a packet lie, for tests that only look, and what the browser that is in there keeps:
    its address lets in no second one."""
    work = tmp_path_factory.mktemp("standing")
    laid(work, "wren")
    command(work, "prepare", "wren", "--sheet", "swap.yaml", "-o", "packet")
    desk = Serving(work, "wren")
    context = chromium.new_context()
    page = context.new_page()
    page.goto(desk.begin(), timeout=SLOW)
    yield page.url.rpartition("/")[0], context.storage_state()
    context.close()
    desk.end(signal.SIGKILL)


def each_room(page: Any, place: str, pages: tuple[str, ...] = PAGES) -> Iterator[str]:
    """Goes from page to page, with all that can be unfolded open."""
    for name in pages:
        page.goto(f"{place}/{name}", timeout=SLOW)
        if name == "swap":
            page.locator("#ahead form, #ahead strong").first.wait_for(timeout=SLOW)
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        yield name


@pytest.mark.parametrize(("scheme", "size"), [("light", DESK), ("dark", PHONE)])
def test_axe_finds_no_barrier_in_any_room_and_nothing_is_cut_off(
    standing: tuple[str, Any], chromium: Any, axe: str, scheme: str, size: tuple[int, int]
) -> None:
    place, kept = standing
    context = chromium.new_context(
        viewport={"width": size[0], "height": size[1]}, color_scheme=scheme, storage_state=kept
    )
    page = context.new_page()
    for name in each_room(page, place, PAGES if scheme == "light" else PAGES[:ROOMS_ALONE]):
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0], name
        page.evaluate(axe)
        result = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
        shown = [
            (rule["id"], [node["html"][:160] for node in rule["nodes"][:3]]) for rule in result["violations"]
        ]
        assert shown == [], name
    context.close()


def test_zoomed_and_in_forced_colours_nothing_is_cut_off_or_lost(
    standing: tuple[str, Any], chromium: Any
) -> None:
    """WCAG 2.2, 1.4.10: at 400 % a window of 1280 is 320 CSS pixels wide, at 200 % it is 640."""
    place, kept = standing
    context = chromium.new_context(color_scheme="dark", forced_colors="active", storage_state=kept)
    page = context.new_page()
    for name in each_room(page, place):
        for width in (640, 320):
            page.set_viewport_size({"width": width, "height": 700})
            assert page.evaluate("document.documentElement.scrollWidth") <= width, name
        assert page.evaluate(LINES_LIKE_THE_PAPER) == [], name
        for _ in range(12):
            page.keyboard.press("Tab")
            assert page.evaluate(FOCUS_UNSEEN) == "", name
    context.close()


def test_a_phone_fills_in_the_sheet_with_the_code_and_nothing_else(
    tmp_path: Path, serve: Serve, chromium: Any, axe: str
) -> None:
    from cfgmigrate.desk.share import network_address
    from cfgmigrate.ground.findings import Refused

    try:
        network_address()
    except Refused:
        pytest.skip("this computer is in no network")
    laid(tmp_path, "wren", sheet=False)
    desk = serve(tmp_path, "wren", "--share")
    desk.begin()
    address = next(line for line in desk.lines if line.startswith("http") and "enter" not in line)
    code = next(line for line in desk.lines if line.startswith("with the code"))[14:23]
    context = chromium.new_context(viewport={"width": PHONE[0], "height": PHONE[1]})
    page = context.new_page()
    page.goto(address)
    page.evaluate(axe)
    assert page.evaluate("axe.run(document)")["violations"] == []
    page.get_by_label("The code").fill("AAAA-AAAA")
    button(page, "Come in")
    page.get_by_text("That is not the code").wait_for()
    page.get_by_label("The code").fill(code)
    button(page, "Come in")
    answer(page, "new.tube.length", "38 mm")
    assert read_sheet(tmp_path / "swap.yaml").entries["new.tube.length"].value == 38
    place = page.url.split("/swap")[0]
    assert page.goto(f"{place}/packet").status == 404
    context.close()


def test_without_script_answers_are_kept_too(tmp_path: Path, serve: Serve, chromium: Any) -> None:
    laid(tmp_path, "wren", sheet=False)
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(serve(tmp_path, "wren").begin())
    page.get_by_role("link", name="The swap").click()
    page.locator('[id="in-new.tube.length"]').fill("38")
    page.locator('[id="field-new.tube.length"] button[value=keep]').click()
    page.get_by_text("Kept: new tube length").wait_for()
    page.get_by_role("link", name="Show the next question").click()
    assert page.locator("#ahead form").count() == 1
    context.close()


def test_it_ends_from_the_browser_and_when_nobody_uses_it(tmp_path: Path, serve: Serve, page: Any) -> None:
    laid(tmp_path, "wren")
    desk = serve(tmp_path, "wren")
    page.goto(desk.begin())
    button(page, "End the desk now")
    page.get_by_role("heading", name="The desk has ended").wait_for()
    assert desk.process is not None and desk.process.wait(timeout=60) == 0
    unused = serve(tmp_path, "wren", "--idle", "0.01")
    unused.begin()
    assert unused.process is not None and unused.process.wait(timeout=60) == 0
