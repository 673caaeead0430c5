"""The picture of the page that the README shows, taken anew.

    python tests/bench/screenshot.py

Prepares the demo's Wren, opens the page in Debian's chromium and keeps its top and one card, as a PNG of
few colours, in `tests/reports/page.png`.
"""

from __future__ import annotations

import io
import shutil
import tempfile
from contextlib import chdir
from pathlib import Path

ROOT = Path(__file__).parents[2]
PICTURE = ROOT / "tests" / "reports" / "page.png"
WIDTH, HEIGHT, CARD = 1040, 1240, 760


def main() -> None:
    from PIL import Image
    from playwright.sync_api import sync_playwright

    from cfgmigrate import api

    with tempfile.TemporaryDirectory() as place, sync_playwright() as found:
        packet = Path(place) / "packet"
        with chdir(ROOT / "sample_configs"):  # so that places are short ones
            api.prepare(["wren"], "sheets/wren.yaml", out=packet, preparer="A. Heron")
        browser = found.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": WIDTH, "height": HEIGHT}, color_scheme="light")
        page.goto((packet / "changes.html").as_uri())
        shots = [page.screenshot()]
        card = page.locator("article", has=page.get_by_role("heading", name="Retraction length"))
        card.locator("summary").first.click()
        card.scroll_into_view_if_needed()
        shots.append(card.screenshot(timeout=120_000))
        browser.close()
    parts = [Image.open(io.BytesIO(shot)).convert("RGB") for shot in shots]
    card = parts[1].crop((0, 0, min(WIDTH, parts[1].width), min(CARD, parts[1].height)))
    whole = Image.new("RGB", (WIDTH, HEIGHT + 24 + card.height), "white")
    whole.paste(parts[0], (0, 0))
    whole.paste(card, ((WIDTH - card.width) // 2, HEIGHT + 24))
    whole.quantize(32).save(PICTURE, optimize=True)


if __name__ == "__main__":
    main()
