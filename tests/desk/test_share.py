"""Another device fills in the sheet, and nothing else."""

from __future__ import annotations

import asyncio
import shutil
from pathlib import Path

import pytest
from deskbench import SAMPLES, Browser, browser_of, desk_at
from starlette.requests import Request

from cfgmigrate.desk.session import Desk, stamp
from cfgmigrate.desk.share import MOST_WRONG_CODES, SharedSheet, new_share, share_app
from cfgmigrate.desk.web import sent_whole
from cfgmigrate.sheet.reader import read_sheet

HOST = "192.0.2.7:8123"


@pytest.fixture
def shared() -> SharedSheet:
    return new_share(HOST)


@pytest.fixture
def phone(tmp_path: Path, shared: SharedSheet) -> Browser:
    shutil.copytree(SAMPLES / "wren", tmp_path / "wren")

    def defect(error: Exception) -> str:
        raise error

    return Browser(share_app(Desk(tmp_path / "wren", tmp_path), shared, defect), shared.entry)


def enter(phone: Browser, code: str) -> int:
    found = phone.ask("POST", "/enter", f"code={code}".encode(), {"origin": phone.entry.origin})
    return found.status


def test_the_page_asks_for_the_code_and_shows_nothing_else(phone: Browser) -> None:
    page = phone.ask("GET", "/")
    assert page.status == 200 and "code" in page.main and phone.entry.place not in page.text
    for path in ("swap", "machine", "packet"):
        assert phone.get(path).status == 403


def test_who_has_no_code_keeps_the_desk_from_no_end(phone: Browser, shared: SharedSheet) -> None:
    shared.entry.used = 5.0
    for path in ("/", "/static/desk.css", "/enter"):
        phone.ask("GET", path)
    assert enter(phone, "WRONG") == 403
    assert shared.entry.used == 5.0
    assert enter(phone, shared.code) == 303
    assert shared.entry.used != 5.0


def test_with_the_code_in_any_writing_the_sheet_is_filled_in(
    phone: Browser, shared: SharedSheet, tmp_path: Path
) -> None:
    assert enter(phone, shared.code.lower().replace("-", " ")) == 303
    page = phone.get("swap")
    assert page.status == 200 and "The packet" not in page.text and "End the desk" not in page.text
    said = {
        "path": "new.tube.length",
        "answer": "38",
        "do": "keep",
        "stamp": page.stamp_of("new.tube.length"),
    }
    assert phone.post("swap/answer", said).status == 200
    assert read_sheet(tmp_path / "swap.yaml").entries["new.tube.length"].value == 38


@pytest.mark.parametrize(
    "path", ["machine", "understood", "packet", "status", "history", "after", "record", "enter", ""]
)
def test_nothing_but_the_sheet_is_there(phone: Browser, shared: SharedSheet, path: str) -> None:
    enter(phone, shared.code)
    assert phone.get(path).status == 404


@pytest.mark.parametrize(
    "path", ["packet", "machine/all", "understood/meaning", "after/tune", "status/done", "end"]
)
def test_nothing_but_the_sheet_is_changed(
    phone: Browser, shared: SharedSheet, path: str, tmp_path: Path
) -> None:
    enter(phone, shared.code)
    before = sorted(tmp_path.rglob("*"))
    assert phone.post(path, {"name": "packet", "stamp": ""}).status == 404
    assert sorted(tmp_path.rglob("*")) == before


def test_after_too_many_wrong_codes_nobody_comes_in(phone: Browser, shared: SharedSheet) -> None:
    for _ in range(MOST_WRONG_CODES):
        assert enter(phone, "AAAA-AAAA") == 403
    assert enter(phone, shared.code) == 403
    assert (
        "start the desk again" in phone.ask("POST", "/enter", b"code=x", {"origin": phone.entry.origin}).main
    )


def test_the_code_comes_from_the_pages_own_form(phone: Browser, shared: SharedSheet) -> None:
    for origin in ("", "null", "http://else.example"):
        found = phone.ask("POST", "/enter", f"code={shared.code}".encode(), {"origin": origin})
        assert found.status == 403
    assert phone.ask("GET", "/", headers={"host": "rebound.example"}).status == 421


def test_the_desk_s_own_browser_is_not_the_phones(
    phone: Browser, shared: SharedSheet, tmp_path: Path
) -> None:
    desk = desk_at(tmp_path)
    phone.cookie = desk.cookie
    assert phone.get("swap").status == 403
    enter(phone, shared.code)
    desk.cookie = phone.cookie
    assert desk.get("machine").status == 403


@pytest.mark.parametrize(
    "path",
    [
        "swap/../packet",
        "../machine",
        "%2e%2e/machine",
        "swap%2f..%2fpacket",
        "static/../packet",
        "static/..%2f..%2fswap.yaml",
        "/packet",
        "swap/answer/../../status/done",
        "swap/",
        "SWAP/../packet",
    ],
)
def test_no_path_leads_out_of_the_sheet(
    phone: Browser, shared: SharedSheet, tmp_path: Path, path: str
) -> None:
    enter(phone, shared.code)
    before = sorted(tmp_path.rglob("*"))
    assert phone.get(path).status in (307, 404)
    assert phone.post(path, {"name": "packet", "do": "keep"}).status in (307, 404, 405)
    assert sorted(tmp_path.rglob("*")) == before


def test_a_strange_page_in_the_phone_s_browser_writes_nothing(
    phone: Browser, shared: SharedSheet, tmp_path: Path
) -> None:
    enter(phone, shared.code)
    said = {
        "path": "new.tube.length",
        "answer": "38",
        "do": "keep",
        "stamp": phone.get("swap").stamp_of("new.tube.length"),
    }
    for strange in (
        {"origin": "http://else.example"},
        {"origin": "null"},
        {"origin": f"http://127.0.0.1:{HOST.rpartition(':')[2]}"},
        {"sec_fetch_site": "cross-site"},
        {"host": "rebound.example:8123"},
        {"content_type": "text/plain"},
    ):
        assert phone.post("swap/answer", said, **strange).status in (403, 415, 421), strange
    assert phone.post("swap/answer", {**said, "token": "forged"}).status == 403
    assert not (tmp_path / "swap.yaml").exists()
    assert phone.post("swap/answer", said).status == 200


@pytest.mark.parametrize(
    "name",
    ["0:new.tube.length", "2:carriage.new_mass", "²:new.tube.length", "1:", "machine:x", "../x", "a\nb"],
)
@pytest.mark.parametrize("do", ["keep", "later", "not known", "take back"])
def test_a_field_that_there_is_not_is_not_kept(
    phone: Browser, shared: SharedSheet, tmp_path: Path, name: str, do: str
) -> None:
    enter(phone, shared.code)
    said = {"path": name, "answer": "38", "do": do, "stamp": stamp(name, "open", "")}
    assert phone.post("swap/answer", said).status in (409, 422)
    assert not (tmp_path / "swap.yaml").exists()


def test_of_phone_and_desk_the_second_is_shown_what_the_first_said(
    tmp_path: Path, shared: SharedSheet
) -> None:
    shutil.copytree(SAMPLES / "wren", tmp_path / "wren")
    both = Desk(tmp_path / "wren", tmp_path)
    phone, desk = Browser(share_app(both, shared, str), shared.entry), browser_of(both)
    enter(phone, shared.code)
    said = {"path": "new.tube.length", "do": "keep", "stamp": desk.get("swap").stamp_of("new.tube.length")}
    assert phone.post("swap/answer", {**said, "answer": "38"}).status == 200
    late = desk.post("swap/answer", {**said, "answer": "45"})
    assert late.status == 409 and "38 mm" in late.main
    assert read_sheet(tmp_path / "swap.yaml").entries["new.tube.length"].value == 38


def test_another_code_s_cookie_and_a_forged_one_let_nobody_in(phone: Browser, shared: SharedSheet) -> None:
    for cookie in ("desk=forged", "desk=", new_share(HOST).entry.cookie().partition(";")[0]):
        phone.cookie = cookie
        assert phone.get("swap").status == 403
    assert shared.code not in phone.ask("GET", "/").text


@pytest.mark.parametrize(
    ("messages", "sent"), [(("to", "ken"), b"token"), (("token=", None), None), (("x" * 9,), None)]
)
def test_a_form_that_is_not_sent_to_its_end_or_is_too_long_is_none(
    messages: tuple[str | None, ...], sent: bytes | None
) -> None:
    """A phone goes out of reach in the midst of it."""
    left = list(messages)

    async def receive() -> dict[str, object]:
        text = left.pop(0)
        if text is None:
            return {"type": "http.disconnect"}
        return {"type": "http.request", "body": text.encode(), "more_body": bool(left)}

    request = Request({"type": "http", "method": "POST", "headers": []}, receive)
    assert asyncio.run(sent_whole(request, 8)) == sent
