"""Only the browser that was given the address may speak to the desk, and only from the desk's own pages."""

from __future__ import annotations

from pathlib import Path

import pytest
from deskbench import Browser, desk_at

from cfgmigrate.desk.doorway import way_in

WRITTEN = ("swap.yaml", "wren/cfgmigrate.yaml")


@pytest.fixture
def browser(tmp_path: Path) -> Browser:
    return desk_at(tmp_path)


def test_the_address_with_its_secret_lets_a_browser_in(browser: Browser) -> None:
    assert browser.get("machine").status == 200


def test_the_cookie_goes_to_no_script_no_other_site_and_no_other_port(tmp_path: Path) -> None:
    browser = desk_at(tmp_path)
    found = browser.ask("GET", browser.entry.address.removeprefix(browser.entry.origin)).headers["set-cookie"]
    assert "HttpOnly" in found and "SameSite=Strict" in found and f"Path={browser.entry.place}/" in found


def way(browser: Browser) -> str:
    return browser.entry.address.removeprefix(browser.entry.origin)


def test_the_address_lets_one_browser_in_and_no_second_one(browser: Browser) -> None:
    other = Browser(browser.app, browser.entry)
    found = other.ask("GET", way(browser))
    assert found.status == 403 and "one is in already" in found.text and not other.cookie
    assert browser.ask("GET", way(browser)).status == 303
    assert browser.get("machine").status == 200


def test_who_only_asks_what_is_there_does_not_use_the_address_up(tmp_path: Path) -> None:
    browser = desk_at(tmp_path, entered=False)
    assert browser.ask("HEAD", way(browser)).status == 403
    assert browser.ask("GET", way(browser)).status == 303


def test_a_browser_that_comes_from_a_file_is_led_on_by_a_page_of_the_desk(tmp_path: Path) -> None:
    browser = desk_at(tmp_path, entered=False)
    found = browser.ask("GET", way(browser), headers={"sec-fetch-site": "cross-site"})
    assert found.status == 200 and f'url={browser.entry.place}/"' in found.text
    assert browser.get("machine").status == 200


def test_who_only_knocks_keeps_the_desk_from_no_end(browser: Browser) -> None:
    browser.entry.used = 5.0
    for path in ("/", f"{browser.entry.place}/enter", way(browser)):
        Browser(browser.app, browser.entry).ask("GET", path)
    assert browser.entry.used == 5.0
    browser.get("machine")
    assert browser.entry.used != 5.0


def test_the_browser_is_called_with_a_file_that_only_its_owner_reads(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Path, "home", lambda: tmp_path / "home")
    (tmp_path / "home").mkdir()
    (tmp_path / "desk").mkdir()
    browser = desk_at(tmp_path / "desk", entered=False)
    called = way_in(browser.entry)
    (file,) = (tmp_path / "home").iterdir()
    assert called == file.as_uri() and browser.entry.key not in called
    assert file.stat().st_mode & 0o077 == 0 and browser.entry.address in file.read_text()
    assert browser.ask("GET", f"{browser.entry.place}/enter?key=x").status == 403 and file.exists()
    browser.enter()
    assert not file.exists()


def test_where_no_file_can_be_written_the_address_has_to_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Path, "home", lambda: tmp_path / "nowhere")
    browser = desk_at(tmp_path, entered=False)
    assert way_in(browser.entry) == browser.entry.address


@pytest.mark.parametrize("key", ["", "x", "é"])
def test_a_forged_key_is_refused(browser: Browser, key: str) -> None:
    assert browser.ask("GET", f"{browser.entry.place}/enter?key={key}").status == 403


def test_whoever_found_only_the_port_sees_nothing(browser: Browser) -> None:
    browser.cookie = ""
    for path in ("/", "/machine", f"{browser.entry.place}/machine", f"{browser.entry.place}/static/desk.css"):
        assert browser.ask("GET", path).status in (403, 404)


@pytest.mark.parametrize("cookie", ["desk=", "desk=forged", "desk=é", "other=1", ";;;"])
def test_a_forged_cookie_is_refused(browser: Browser, cookie: str) -> None:
    browser.cookie = cookie
    assert browser.get("machine").status == 403


@pytest.mark.parametrize(
    "host", ["", "rebound.example:7777", "127.0.0.1", "127.0.0.1:80", "localhost:7777", "0.0.0.0:7777"]
)
def test_a_name_that_was_made_to_lead_here_is_refused(browser: Browser, host: str) -> None:
    assert browser.ask("GET", f"{browser.entry.place}/machine", headers={"host": host}).status == 421


@pytest.mark.parametrize(
    "origin", ["", "null", "https://else.example", "http://127.0.0.1:7778", "http://localhost:7777"]
)
def test_a_form_from_elsewhere_is_refused_and_writes_nothing(
    browser: Browser, tmp_path: Path, origin: str
) -> None:
    stamp = browser.get("machine").stamps()[0]
    assert browser.post("machine/all", {"stamp": stamp}, origin=origin).status == 403
    assert not any((tmp_path / name).exists() for name in WRITTEN)


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_what_another_site_asks_for_is_refused(browser: Browser, site: str) -> None:
    assert browser.get("machine", sec_fetch_site=site).status == 403


@pytest.mark.parametrize("token", ["", "forged", "é"])
def test_a_form_without_its_pages_token_is_refused_and_writes_nothing(
    browser: Browser, tmp_path: Path, token: str
) -> None:
    stamp = browser.get("machine").stamps()[0]
    assert browser.post("machine/all", {"stamp": stamp, "token": token}).status == 403
    assert not any((tmp_path / name).exists() for name in WRITTEN)


@pytest.mark.parametrize("kind", ["", "text/plain", "application/json", "multipart/form-data; boundary=x"])
def test_only_forms_are_taken(browser: Browser, kind: str) -> None:
    assert browser.post("machine/all", content_type=kind).status == 415


@pytest.mark.parametrize(
    "body", [b"a" * (1 << 21), b"&".join(b"a" for _ in range(6000)), b"token=%ff", b"\xff"]
)
def test_a_form_that_is_too_much_or_no_text_is_refused(browser: Browser, body: bytes) -> None:
    headers = {"origin": browser.entry.origin}
    found = browser.ask("POST", f"{browser.entry.place}/machine/all", body, headers)
    assert found.status in (400, 403, 413)


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "TRACE", "PATCH"])
def test_nothing_else_is_answered(browser: Browser, method: str) -> None:
    assert browser.ask(method, f"{browser.entry.place}/machine").status in (403, 405)


@pytest.mark.parametrize(
    "name", ["../swap.yaml", "..%2f..%2fetc%2fpasswd", "%2e%2e", ".", "wren", "page.css/../desk.css", "x\0y"]
)
@pytest.mark.parametrize("below", ["static/", "packet/", "after/trial/"])
def test_no_path_leads_out_of_the_desk(browser: Browser, tmp_path: Path, name: str, below: str) -> None:
    (tmp_path / "swap.yaml").write_text("machine: secret\n")
    found = browser.get(below + name)
    assert found.status in (404, 422) and "secret" not in found.text and "root:" not in found.text


@pytest.mark.parametrize(
    "name", ["../out", "a/b", "/tmp/out", "", ".hidden", "a\\b", "a\nb", "x" * 99, "con."]
)
def test_nothing_is_written_under_a_name_that_leads_elsewhere(tmp_path: Path, name: str) -> None:
    browser = desk_at(tmp_path / "inner", sheet=True) if (tmp_path / "inner").mkdir() is None else None
    assert browser is not None
    stamp = browser.get("packet").stamps()[0]
    before = sorted(tmp_path.rglob("*"))
    assert browser.post("packet", {"stamp": stamp, "name": name}).status == 422
    assert sorted(tmp_path.rglob("*")) == before


def test_every_answer_forbids_what_is_not_the_desks_own(browser: Browser) -> None:
    for path in ("machine", "understood", "packet", "static/desk.js", "nowhere"):
        headers = browser.get(path).headers
        policy = headers["content-security-policy"]
        assert (
            "default-src 'none'" in policy and "frame-ancestors 'none'" in policy and "unsafe" not in policy
        )
        assert headers["x-content-type-options"] == "nosniff" and headers["cache-control"] == "no-store"
