"""A desk without a server: a browser's part played by a few lines that speak to the application itself."""

from __future__ import annotations

import asyncio
import html
import re
import shutil
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any
from urllib.parse import urlencode, urlsplit

import pytest

from cfgmigrate.desk.guard import App, Pass
from cfgmigrate.desk.pages import desk_app
from cfgmigrate.desk.session import Desk
from cfgmigrate.desk.web import House
from cfgmigrate.plan import asking_order
from cfgmigrate.plan.unlocking import Workings
from cfgmigrate.sheet.model import Sheet

SAMPLES = Path(__file__).parents[1] / "sample_configs"
HOST = "127.0.0.1:7777"


@dataclass(frozen=True)
class Answer:
    """What came back: status, headers, text, and the path it came from in the end."""

    status: int
    headers: Mapping[str, str]
    text: str
    path: str

    @property
    def said(self) -> str:
        """The note on top of the page, as words."""
        found = re.search(r'id="said" role="status">(.*?)</div></div>', self.text, re.DOTALL)
        return words(found[1]) if found else ""

    @property
    def main(self) -> str:
        return words(self.text[self.text.find("<main") :])

    def stamps(self) -> list[str]:
        return re.findall(r'name="stamp" value="(\w+)"', self.text)

    def stamp_of(self, path: str) -> str:
        """The stamp of a field's form."""
        found = re.search(
            rf'name="path" value="{re.escape(path)}">\s*<input type="hidden" name="stamp" value="(\w+)"',
            self.text,
        )
        assert found, f"there is no form for {path}"
        return found[1]


def words(text: str) -> str:
    return html.unescape(re.sub(r"<[^>]*>", "", text.replace("<wbr>", ""))).strip()


@dataclass
class Browser:
    """One browser with its cookies, that names itself as browsers do."""

    app: App
    entry: Pass
    cookie: str = ""
    more: dict[str, str] = field(default_factory=dict)

    def enter(self) -> Answer:
        return self.get(self.entry.address.removeprefix(self.entry.origin), "")

    def get(self, path: str, base: str | None = None, **headers: str) -> Answer:
        return self._follow("GET", (self.entry.place + "/" if base is None else base) + path, b"", headers)

    def post(
        self, path: str, said: Mapping[str, Any] | Iterable[tuple[str, str]] = (), **headers: str
    ) -> Answer:
        given = {"origin": self.entry.origin, "sec-fetch-site": "same-origin"} | headers
        fields = {"token": self.entry.token, **dict(said)}
        return self._follow(
            "POST", f"{self.entry.place}/{path}", urlencode(fields, doseq=True).encode(), given
        )

    def _follow(self, method: str, path: str, body: bytes, headers: Mapping[str, str]) -> Answer:
        found = self.ask(method, path, body, headers)
        if found.status == 303:
            return self._follow("GET", found.headers["location"].partition("#")[0], b"", {})
        return found

    def ask(
        self, method: str, path: str, body: bytes = b"", headers: Mapping[str, str] | None = None
    ) -> Answer:
        """One request as it is, followed nowhere."""
        given = {"host": self.entry.host, "content-type": "application/x-www-form-urlencoded"}
        if self.cookie:
            given["cookie"] = self.cookie
        given |= {name.replace("_", "-"): value for name, value in {**self.more, **(headers or {})}.items()}
        parts = urlsplit(path)
        scope = {
            "type": "http",
            "asgi": {"version": "3.0"},
            "http_version": "1.1",
            "method": method,
            "scheme": "http",
            "path": parts.path,
            "raw_path": parts.path.encode(),
            "query_string": parts.query.encode(),
            "root_path": "",
            "headers": [(name.encode(), value.encode("latin-1")) for name, value in given.items() if value],
            "server": ("127.0.0.1", 7777),
            "client": ("127.0.0.1", 50000),
        }
        status, found, text = asyncio.run(_spoken(self.app, scope, body))
        if "set-cookie" in found:
            self.cookie = found["set-cookie"].partition(";")[0]
        return Answer(status, found, text, path)


async def _spoken(app: App, scope: dict[str, Any], body: bytes) -> tuple[int, dict[str, str], str]:
    told: list[Any] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: Any) -> None:
        told.append(message)

    await app(scope, receive, send)
    headers = {name.decode().lower(): value.decode("latin-1") for name, value in told[0]["headers"]}
    content = b"".join(message.get("body", b"") for message in told[1:])
    return told[0]["status"], headers, content.decode("utf-8", "replace")


def desk_at(work: Path, sample: str = "wren", sheet: bool = False, entered: bool = True) -> Browser:
    """A browser that has come in, or has not, at a desk for a copy of a sample; with `sheet` its swap sheet is there too."""
    config = work / sample
    if not config.exists():
        shutil.copytree(SAMPLES / sample, config)
    if sheet:
        shutil.copy(SAMPLES / "sheets" / f"{sample}.yaml", work / "swap.yaml")
    return browser_of(Desk(config, work), entered)


@lru_cache(maxsize=32)
def _needed(
    files: tuple[tuple[str, bytes], ...], readings: tuple[tuple[str, str], ...]
) -> list[tuple[str, ...]]:
    return []


@contextmanager
def needed_once() -> Iterator[None]:
    """Which fields a swap needs follows from what is read in the files alone and takes a second; here it is worked out once for the same
    files."""
    made = asking_order.needed_fields

    def known(bench: Workings, sheet: Sheet) -> tuple[str, ...]:
        machine = bench.machine
        files = tuple((each.path, each.data) for each in machine.documents)
        found = _needed(files, tuple((each.quantity, str(each.place)) for each in machine.readings))
        if not found:
            found.append(made(bench, sheet))
        return found[0]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(asking_order, "needed_fields", known)
        yield


def browser_of(desk: Desk, entered: bool = True) -> Browser:
    entry = Pass(HOST)

    def defect(error: Exception) -> str:
        raise error

    found = Browser(desk_app(House(desk, entry, idle=3600, defect=defect)), entry)
    if entered:
        found.enter()
    return found
