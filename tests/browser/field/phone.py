"""A telephone: a real browser with the field sheet, that loses its network and its battery."""

import json
import os
import re
import shutil
import signal
import subprocess
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Page, Playwright

CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium") or "chromium"
WIDTH, HEIGHT = 360, 740
PATIENCE = 120_000  # ms: a loaded machine takes its time to compile the interpreter

SIGN_IN = """async (token) => {
  const { keep } = await import("/static/field/store.js");
  const { call } = await import("/static/field/api.js");
  await keep("token", token);
  const { document } = await call("GET", "/me");
  await keep("me", { ...document.user, organization: document.organization.name });
}"""
TAKE = """async (sites) => {
  const { takeOne } = await import("/static/field/home.js");
  for (const site of sites) await takeOne(site);
  await navigator.serviceWorker.ready;
}"""
ROWS = """async (store) => {
  const { all } = await import("/static/field/store.js");
  return (await all(store)).map(({ blob, ...row }) => row);
}"""


class Phone:
    """One device with its own storage; it can be killed and started again."""

    def __init__(self, playwright: Playwright, service: str, storage: Path, *words: str) -> None:
        self.playwright, self.service, self.storage = playwright, service, storage
        self.words = words
        self.errors: list[str] = []
        self.start()

    def start(self) -> None:
        """Switch it on."""
        told = self.storage / "DevToolsActivePort"
        told.unlink(missing_ok=True)  # of the last time
        words = [
            CHROMIUM, "--headless=new", "--no-sandbox", "--disable-background-networking",
            "--disable-gpu", "--no-first-run", f"--user-data-dir={self.storage}",
            "--remote-debugging-port=0", *self.words, "about:blank",
        ]  # fmt: skip
        self.process = subprocess.Popen(
            words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
        )
        self.browser = self._connected(told)
        self.context: BrowserContext = self.browser.contexts[0]
        self.context.set_default_timeout(PATIENCE)
        self.page: Page = self.context.pages[0]
        self.page.set_viewport_size({"width": WIDTH, "height": HEIGHT})
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))

    def _connected(self, told: Path) -> Any:
        """By the port that it has taken, which it tells in a file."""
        until = time.monotonic() + PATIENCE / 1000
        while time.monotonic() < until:
            with suppress(Exception):
                address = f"http://127.0.0.1:{told.read_text().split()[0]}"
                return self.playwright.chromium.connect_over_cdp(address)
            time.sleep(0.2)
        raise AssertionError("the browser did not start")

    def kill(self) -> None:
        """The battery is empty: nothing is written any more."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait(30)
        with suppress(Exception):
            self.browser.close()

    def open(self, place: str = "/") -> None:
        """Open the sheet at one of its screens."""
        self.page.goto("about:blank")
        self.page.goto(f"{self.service}/field/#{place}")
        self.page.wait_for_selector("main h1")

    def come_in(self, secret: str) -> None:
        """With a token, as one that a code has brought."""
        self.open()
        self.page.evaluate(SIGN_IN, secret)

    def take_along(self, *stations: str) -> None:
        """Take stations, and the rules, along."""
        self.open("/stations")
        for name in stations:
            self.page.locator(".pick", has_text=name).locator("input").check()
        self.page.get_by_role("button", name="Take along what is ticked").click()
        self.page.get_by_text("All of it is on this device").wait_for()

    def take_packs(self, *sites: str) -> None:
        """Take stations along without the rules, which take long to come: nothing is judged."""
        self.page.evaluate(TAKE, list(sites))

    def offline(self, cut: bool = True) -> None:
        """Cut the network, or bring it back."""
        self.context.set_offline(cut)

    def begin(self, site: str, pump_set: str) -> str:
        """Begin a visit; its id."""
        self.open(f"/begin/{site}")
        self.page.select_option("#which", pump_set)
        self.page.get_by_role("button", name="Begin the visit").click()
        self.page.wait_for_selector(".verdict")
        return self.page.url.rsplit("/visits/", 1)[1].split("/")[0]

    def section(self, name: str) -> None:
        """Turn to a section of the visit."""
        self.page.select_option("#section", name)
        title = self.page.locator(f'#section option[value="{name}"]').inner_text()
        self.page.locator("h2", has_text=re.compile(f"^{re.escape(title)}$")).wait_for()

    def entry(self, label: str) -> Any:
        """The entry of this label."""
        exact = re.compile(f"^{re.escape(label)}(needed)?$")
        found = self.page.locator(".entry", has=self.page.locator("label", has_text=exact))
        return found.first

    def enter(self, label: str, value: str, unit: str | None = None) -> None:
        """Type a value, with the unit as it stands on the instrument."""
        entry = self.entry(label)
        entry.wait_for(state="attached")
        for fold in entry.locator("xpath=ancestor::details[not(@open)]").all():
            fold.locator("summary").first.click()
        if unit:
            entry.locator("select.unit").select_option(unit)
        entry.locator("input, textarea").first.fill(value)

    def wait_for_verdict(self) -> str:
        """What the line says once the rules have been asked."""
        line = self.page.locator(".verdict", has_text="on this device")
        line.wait_for()
        return str(line.inner_text())

    def hand_over(self) -> None:
        """Hand the visit over."""
        self.section("rest")
        self.page.get_by_role("button", name="Hand over to the office").click()
        self.page.locator(".handed", has_text=re.compile("^Handed over")).wait_for()

    def send(self) -> None:
        """Try to send now, and wait for what becomes of it."""
        self.open("/not-sent")
        self.page.get_by_role("button", name="Send now").click()
        self.page.get_by_text(re.compile("All of it is sent|Not all of it")).wait_for()

    def wait_until_kept(self, value: str) -> None:
        """Wait until what was typed lies on the device; the line may speak of what came before."""
        until = time.monotonic() + PATIENCE / 1000
        while json.dumps(value) not in json.dumps(self.rows("visits")):
            assert time.monotonic() < until, f"{value} is not kept"
            self.page.wait_for_timeout(50)

    def rows(self, store: str) -> list[dict[str, Any]]:
        """What lies on the device."""
        found: list[dict[str, Any]] = self.page.evaluate(ROWS, store)
        return found
