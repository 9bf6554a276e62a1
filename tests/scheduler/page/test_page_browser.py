"""A summer with the page, played in real headless Chromium: plan, read, lose a tier, plan again.

Needs Chromium with its driver and the test extra; skipped without them, except where CI=true.
"""

from __future__ import annotations

import json
import os
import shutil
import threading
import urllib.request
from datetime import timedelta
from importlib import resources

import page_case
import pytest

pytest.importorskip("flask")
pytest.importorskip("waitress")

from scheduler.log.model import read_log_file
from scheduler.page.serve import Serving
from scheduler.plans.folder import LOG_FILE, read_plan, read_plan_dir
from scheduler.plans.model import FAILED, GROWING, PLANNED, SOWN
from scheduler.solvers.cp_sat import Settings
from scheduler.verify import verify

WAIT = 5  # seconds for something to be there
HAVE = bool(shutil.which("chromium") and shutil.which("chromedriver"))
pytestmark = pytest.mark.skipif(not HAVE and os.environ.get("CI") != "true", reason="no Chromium")


@pytest.fixture(scope="module")
def browser():
    webdriver = pytest.importorskip("selenium.webdriver")
    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium")
    for flag in (
        "headless=new",
        "no-sandbox",
        "disable-gpu",
        "disable-quic",
        "no-first-run",
        "disable-background-networking",
        "disable-component-update",
        "disable-sync",
        "hide-scrollbars",
        "lang=en-US",
    ):
        options.add_argument(f"--{flag}")
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    service = webdriver.ChromeService(executable_path=shutil.which("chromedriver"))
    driver = webdriver.Chrome(options=options, service=service)
    driver.implicitly_wait(WAIT)
    yield driver
    driver.quit()


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    return page_case.planned(tmp_path_factory.mktemp("season") / "plan")


@pytest.fixture
def served(planned, tmp_path):
    """The page of a fresh copy, its folder and a clock to turn on."""
    folder = page_case.copy(planned, tmp_path / "plan")
    clock = page_case.Clock(read_plan(folder).start)
    serving = Serving(folder, today=clock, settings=Settings(time_limit=3.0, workers=1))
    thread = threading.Thread(target=serving.run, daemon=True)
    thread.start()
    yield serving.address, folder, clock
    serving.close()


class Hands:
    """What a grower does with the page."""

    def __init__(self, driver, address):
        self.d, self.address = driver, address
        self.d.get_log("browser"), self.d.get_log("performance")
        width(driver, 360)

    def follow(self, by, what):
        """Click what leads to another page, and wait until that is there."""
        ui = pytest.importorskip("selenium.webdriver.support.ui")
        there = pytest.importorskip("selenium.webdriver.support.expected_conditions")
        old = self.d.find_element("css selector", "html")
        self.d.find_element(by, what).click()
        # While a page goes the driver may answer with another error than "stale": ask it again.
        passing = pytest.importorskip("selenium.common.exceptions").WebDriverException
        ui.WebDriverWait(self.d, 20, ignored_exceptions=[passing]).until(there.staleness_of(old))

    def go(self, name):
        """Follow a link of the page's head."""
        self.follow("link text", name)

    def press(self, name):
        where = f"//button[normalize-space()='{name}']"
        button = self.d.find_element(
            "xpath", where
        )  # waits for the page, where what follows does not
        for around in self.now("xpath", f"{where}/ancestor::details[not(@open)]"):
            around.find_element("css selector", "summary").click()
        assert button.is_displayed()
        self.follow("xpath", where)

    def now(self, by, what):
        """What is on the page, often nothing: without the wait for what may still come."""
        self.d.implicitly_wait(0)
        try:
            return self.d.find_elements(by, what)
        finally:
            self.d.implicitly_wait(WAIT)

    def wait_for(self, title):
        ui = pytest.importorskip("selenium.webdriver.support.ui")
        ui.WebDriverWait(self.d, 30).until(lambda d: title in d.title)

    def says(self):
        return self.d.find_element("css selector", "main").text

    def blank(self, tag):
        """The blank beside a tier's tag."""
        return self.d.find_element(
            "xpath",
            f"//li[.//span[@class='tag'][normalize-space()='{tag}']]//input[@name='amount']",
        )


def width(driver, wide, high=800):
    driver.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": wide, "height": high, "deviceScaleFactor": 1, "mobile": wide < 700},
    )


@pytest.mark.slow
def test_a_summer(browser, served):
    address, folder, clock = served
    plan = read_plan(folder)
    garden, _ = read_plan_dir(folder)
    first = min(plan.batches, key=lambda b: (b.transplant, b.tier))
    label = f"{first.column} {first.tier}"
    hands = Hands(browser, address)

    # Spring: the day's sowing stands on the page and is written down with one press.
    clock.day = first.sow
    browser.get(address)
    assert "sow" in hands.says()
    hands.press("Sown")
    assert "1 line written into the log." in hands.says()
    assert "in the log: 4 cells" in hands.says()
    clock.day = first.transplant
    browser.get(address)
    hands.press("Transplanted")

    # Three readings, a few days apart, each a little lower than expected: it is thirsty.
    levels = {v.date: v.depth_cm for v in first.levels}
    for days in (10, 14, 18):
        clock.day = first.transplant + timedelta(days=days)
        browser.get(address)
        hands.go("Levels")
        lower = levels[first.transplant] - 1.1 * (levels[first.transplant] - levels[clock.day])
        eighths = round(lower / 2.54 * 8)
        hands.blank(label).send_keys(f"{eighths // 8} {eighths % 8}/8")
        hands.press("Write down the levels")
        assert "1 line written into the log." in hands.says()

    # A reading above the fill is refused, with the reason, and comes back as it was typed.
    clock.day += timedelta(days=1)
    browser.get(address)
    hands.go("Levels")
    hands.blank(label).send_keys("11")
    hands.press("Write down the levels")
    assert "at most the fill" in hands.says()
    amount = browser.find_element("id", "amount1")
    assert amount.get_attribute("value") == "11"
    amount.clear()
    amount.send_keys(f"{levels[clock.day] / 2.54:.2f}")
    hands.press("Write down")
    assert "1 line written into the log." in hands.says()
    log = read_log_file(folder / LOG_FILE, garden)
    assert [e.what for e in log.entries] == ["sown", "transplanted", *["level"] * 4]
    assert not log.faults

    # A tier fails; the page asks to plan again.
    lost = next(b for b in plan.batches if b.id != first.id and b.transplant <= clock.day < b.clear)
    hands.go("Failed")
    select = pytest.importorskip("selenium.webdriver.support.select").Select
    choice = select(browser.find_element("id", "place"))
    choice.select_by_visible_text(
        next(o.text for o in choice.options if o.text.startswith(f"{lost.column} {lost.tier}:"))
    )
    browser.find_element("css selector", "[value='leak']").click()
    hands.press("Write down the failure")
    assert "Something failed: plan again" in hands.says()

    # Plan again, see what changes, accept.
    before = (folder / "plan.json").read_bytes()
    hands.follow("css selector", ".notice .button")
    assert "leak" in hands.says()
    hands.press("Plan again")
    hands.wait_for("What would change")
    assert "Lost" in hands.says()
    assert "drinks" in hands.says()  # what the readings told
    assert browser.execute_script("return document.documentElement.scrollWidth") <= 360
    assert len(browser.find_elements("css selector", ".sides svg.season")) == 2
    assert (folder / "plan.json").read_bytes() == before
    hands.press("Accept the new plan")
    assert "The new plan counts from now on." in hands.says()
    new = {b.id: b for b in read_plan(folder).batches}
    assert new[lost.id].state == FAILED
    assert new[first.id].state == GROWING
    assert new[first.id].demand_factor > 1.02
    assert {b.state for b in new.values()} <= {FAILED, GROWING, PLANNED, SOWN, "cleared"}
    assert verify(*read_plan_dir(folder)).ok
    assert (folder / "earlier" / f"before-{clock.day}" / "plan.json").read_bytes() == before

    # Look at the calendar, come back, print.
    hands.go("Calendar")
    assert browser.find_element("id", "weeks-h").text == "Week by week"
    hands.follow("partial link text", "Back to the work")
    hands.go("Print")
    link = browser.find_element("partial link text", "The whole season").get_attribute("href")
    with urllib.request.urlopen(link) as answer:
        made = answer.read()
    assert made.startswith(b"%PDF-")
    assert answer.headers["Content-Type"] == "application/pdf"

    # Nothing went anywhere else, nothing was complained about.
    urls = [
        m["params"]["request"]["url"]
        for m in (json.loads(e["message"])["message"] for e in browser.get_log("performance"))
        if m["method"] == "Network.requestWillBeSent"
    ]
    assert urls
    assert all(u.startswith((address, "data:")) for u in urls)
    severe = [e["message"] for e in browser.get_log("browser") if e["level"] == "SEVERE"]
    # The refusal was answered with 422, which the browser notes as a failed request.
    assert [m for m in severe if "422" not in m] == []


@pytest.mark.slow
def test_it_all_works_without_script(browser, served):
    address, folder, clock = served
    clock.day = read_plan(folder).batches[0].sow
    hands = Hands(browser, address)
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        browser.get(address)
        hands.press("Sown")
        assert "1 line written into the log." in hands.says()
        hands.go("Plan again")
        hands.press("Plan again")
        hands.wait_for("What would change")
        hands.press("Discard it")
        assert "discarded" in hands.says()
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


@pytest.mark.slow
def test_another_site_cannot_write(browser, served, tmp_path):
    """A foreign page that posts a form to this machine, in the same browser, gets nowhere."""
    address, folder, clock = served
    clock.day = read_plan(folder).batches[0].sow
    evil = tmp_path / "elsewhere.html"
    evil.write_text(
        f'<form method="post" action="{address}write"><input name="what" value="failed">'
        '<input name="place" value="0-1"><input name="date" value="2027-05-01">'
        "<button>Win a pumpkin</button></form>"
    )
    browser.get(evil.as_uri())
    Hands(browser, address).follow("css selector", "button")
    assert "Another site" in browser.find_element("css selector", "main").text
    assert not (folder / LOG_FILE).exists()


VIEWS = ["", "levels", "failed", "log", "again", "print", "cautions", "change", "try"]


@pytest.fixture
def busy(browser, served):
    """The page on a day with work, something in the log, and a refusal of it to look at."""
    address, folder, clock = served
    batch = read_plan(folder).batches[0]
    clock.day = batch.picks[0].date
    browser.get(address)
    return address


@pytest.mark.slow
@pytest.mark.parametrize("view", VIEWS)
def test_views_fit_are_accessible_and_large_enough_to_touch(browser, busy, view):
    axe = resources.files(pytest.importorskip("axe_core_python")) / "axe.min.js"
    for wide in (360, 1440):
        width(browser, wide)
        browser.get(busy + view)
        browser.execute_script("document.querySelectorAll('details').forEach(d => d.open = true)")
        assert browser.execute_script("return document.documentElement.scrollWidth") <= wide
        out = browser.execute_script(
            "return [...document.querySelectorAll('body *')].filter(e => !e.closest('.wide, .skip')"
            " && e.getBoundingClientRect().right > innerWidth + 1)"
            ".map(e => e.outerHTML.slice(0, 100))"
        )
        assert out == []
        # 44 px: WCAG 2.1, success criterion 2.5.5, target size.
        small = browser.execute_script(
            "return [...document.querySelectorAll('button, .button, nav a, select,"
            " input:not([type=hidden]):not([type=radio]):not([type=checkbox]), summary,"
            " fieldset label, .brief label')]"
            ".filter(e => e.getBoundingClientRect().height < 44).map(e => e.outerHTML.slice(0, 100))"
        )
        assert small == []
        # The policy forbids script, so the checker is run from outside the page.
        browser.execute_script(axe.read_text())
        found = browser.execute_async_script(
            "axe.run(document, {runOnly: arguments[0]}).then(arguments[1],"
            " e => arguments[1]({error: String(e)}))",
            ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"],
        )
        assert "error" not in found
        assert [(v["id"], v["nodes"][0]["html"][:150]) for v in found["violations"]] == []
        assert any(p["id"] == "color-contrast" for p in found["passes"])
