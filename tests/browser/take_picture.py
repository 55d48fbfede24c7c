"""Take the README's picture: the page of a vehicle of the demo that fails again and again.

Start the register with its demo (deploy/run), then, from the top of the project:

    .venv/bin/python -m tests.browser.take_picture http://127.0.0.1:8000
"""

import shutil
import sys
from pathlib import Path

from playwright.sync_api import expect, sync_playwright

PICTURE = Path("docs/pictures/vehicle.png")
WIDTH, HEIGHT = 1120, 1250
USER_NAME, PASSWORD = "demo", "soot-and-ash"
NOT_DRAWN = "[data-chart]:not([data-drawn])"


def take_picture(base: str, target: Path) -> None:
    """Sign in, open a flagged vehicle, and keep what a desk screen shows of it."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox"]
        )
        page = browser.new_page(viewport={"width": WIDTH, "height": HEIGHT})
        page.goto(f"{base}/sign-in/")
        page.get_by_label("User name").fill(USER_NAME)
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        page.goto(f"{base}/early-failures/")
        # A vehicle whose shares are not all one, for these show more.
        entries = page.locator("ol.entries > li").filter(has_not_text="over 99")
        entries.first.locator("a").first.click()
        page.wait_for_url("**/vehicles/**")
        expect(page.locator(NOT_DRAWN)).to_have_count(0)
        target.parent.mkdir(parents=True, exist_ok=True)
        page.screenshot(path=target)
        browser.close()


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("Say where the register is: python -m tests.browser.take_picture http://HOST:PORT")
    take_picture(sys.argv[1].rstrip("/"), PICTURE)
