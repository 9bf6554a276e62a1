"""The page: what is in it, and how it behaves in a real browser.

The browser tests need Chromium with its driver and the test extra; without them they are skipped,
but for CI=true, where they fail.
"""

import json
import os
import re
import shutil
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser
from importlib import resources
from pathlib import Path

import calendar_case
import pytest
from not_empty import some

from scheduler.garden.model import Column
from scheduler.outputs import html, work
from scheduler.outputs.work import work_items
from scheduler.words.words import Units

METRIC, US = Units("metric"), Units("us")


@pytest.fixture(scope="module")
def case():
    garden = calendar_case.garden()
    plan = calendar_case.plan(garden)
    return garden, plan, work_items(garden, plan)


@pytest.fixture(scope="module")
def page(case):
    return html.page(*case, METRIC)


class Reader(HTMLParser):
    """Counts items of work, and keeps every address the page names."""

    def __init__(self):
        super().__init__()
        self.kinds, self.links, self.ids, self.open = [], [], [], []

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        if "data-k" in found:
            self.kinds.append(found["data-k"])
        self.links += [found[k] for k in ("href", "src", "action") if k in found]
        self.ids += [found["id"]] if "id" in found else []


def test_every_item_of_work_is_there_once(case, page):
    reader = Reader()
    reader.feed(page)
    assert sorted(reader.kinds) == sorted(w.kind for w in case[2])
    assert len(reader.ids) == len(set(reader.ids))


def test_nothing_is_loaded_from_elsewhere(page):
    reader = Reader()
    reader.feed(page)
    assert all(link.startswith("#") or link == "data:," for link in reader.links)
    assert "http" not in page.replace("http-equiv", "")
    assert not re.search(r"url\((?!#)", page)
    assert "@import" not in page
    assert "default-src 'none'" in page


def test_names_cannot_break_out_of_the_page(case):
    garden, plan, _ = case
    name = "<script>alert(1)</script>\"'&"
    columns = (Column(name, garden.columns[0].tiers), garden.columns[1])
    batches = tuple(replace(b, column=name if b.column == "A" else b.column) for b in plan.batches)
    garden = replace(garden, columns=columns, name=name)
    plan = replace(plan, batches=batches)
    made = html.page(garden, plan, work_items(garden, plan), METRIC)
    assert made.count("<script>") == 1  # the page's own
    assert "&lt;script&gt;alert(1)" in made


def test_some_days_only(case):
    reader = Reader()
    day = case[1].batches[0].transplant
    reader.feed(html.page(*case, METRIC, day, day))
    assert sorted(reader.kinds) == sorted(w.kind for w in case[2] if w.date == day)


def test_us_units(case):
    made = html.page(*case, US)
    body = made[made.index("<main") : made.index("</main>")]
    assert not re.search(r"\d (cm|L|kg|g)\b", body)
    assert "4.76 gal" in body


def test_too_many_tiers_are_not_drawn_one_by_one(case):
    garden, plan, items = case
    columns = tuple(Column(f"N{i}", garden.columns[0].tiers) for i in range(50))
    many = tuple(
        replace(plan.batches[0], id=f"{c.name}{n}", column=c.name, tier=n)
        for c in columns
        for n in (1, 2, 3)
    )
    big = replace(garden, columns=columns)
    made = html.page(big, replace(plan, batches=many), items[:1], METRIC)
    assert "Too many tiers to draw" in made


# In a browser.

HAVE = bool(shutil.which("chromium") and shutil.which("chromedriver"))
needs_browser = pytest.mark.skipif(
    not HAVE and os.environ.get("CI") != "true", reason="no Chromium"
)


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
    ):
        options.add_argument(f"--{flag}")
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    service = webdriver.ChromeService(executable_path=shutil.which("chromedriver"))
    driver = webdriver.Chrome(options=options, service=service)
    yield driver
    driver.quit()


@pytest.fixture
def opened(browser, page, tmp_path):
    """The page, opened as a file on a summer's day, 11 June 2027."""
    file = tmp_path / "calendar.html"
    file.write_text(page)
    browser.set_window_size(1440, 1000)
    fixed = """
        const Real = Date, shift = new Real(2027, 5, 11, 9).getTime() - Real.now();
        window.Date = class extends Real { constructor(...a) { a.length ? super(...a)
            : super(Real.now() + shift); } };
    """
    script = browser.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": fixed})
    browser.get_log("browser"), browser.get_log("performance")
    browser.get(file.as_uri())
    yield browser
    browser.execute_script("localStorage.clear()")
    browser.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", script)


def visible(driver, css):
    return [e for e in driver.find_elements("css selector", css) if e.is_displayed()]


@pytest.mark.slow
@needs_browser
def test_todays_work_is_found(opened, case):
    today = [w for w in case[2] if w.date == date(2027, 6, 11)]
    assert today
    shown = visible(opened, "#today-work [data-k]")
    assert [e.get_attribute("data-k") for e in shown] == [w.kind for w in today]
    assert "To do today" in opened.find_element("id", "today-says").text
    # A day without work leads to the next with some; a day after the season says so.
    for day, says in (("2027-06-13", "The next work"), ("2027-12-01", "No more work")):
        opened.execute_script(
            "const w = document.getElementById('when'); w.value = arguments[0];"
            "w.dispatchEvent(new Event('change', {bubbles: true}))",
            day,
        )
        assert says in opened.find_element("id", "today-says").text


@pytest.mark.slow
@needs_browser
def test_filters_and_weeks(opened, case):
    select = pytest.importorskip("selenium.webdriver.support.select").Select
    week = [w for w in case[2] if w.date.isocalendar()[:2] == (2027, 23)]
    assert len(visible(opened, "#weeks [data-k]")) == len(week)
    assert opened.find_element("id", "count").text == f"{len(week)} items of work shown"
    for kind in work.KINDS:
        box = opened.find_elements("css selector", f"[name=kind][value={kind}]")
        if box and kind != work.PICK:
            box[0].click()
    picks = visible(opened, "#weeks [data-k]")
    assert len(picks) == sum(w.kind == work.PICK for w in week)
    # Only the caution that belongs to picking is left.
    cares = {e.text.split(":")[0] for e in visible(opened, "#weeks [data-care]")}
    assert cares == {"Clean produce"}
    select(opened.find_element("id", "pick-column")).select_by_visible_text("B")
    assert len(visible(opened, "#weeks [data-k]")) == sum(
        w.kind == work.PICK and w.column == "B" for w in week
    )
    select(opened.find_element("id", "pick-week")).select_by_value("all")
    assert len(visible(opened, "#weeks [data-k]")) == sum(
        w.kind == work.PICK and w.column == "B" for w in case[2]
    )
    select(opened.find_element("id", "pick-week")).select_by_value("2027-W23")
    opened.find_element("id", "on").click()
    assert "Week 24" in visible(opened, ".wk h3")[0].text


@needs_browser
def test_ticks_stay(opened):
    box = opened.find_element("css selector", "#today-work [data-t]")
    key = box.get_attribute("data-t")
    box.click()
    opened.refresh()
    twins = opened.find_elements("css selector", f'[data-t="{key}"]')
    assert len(twins) == 2  # in today's list and in its week
    assert all(b.is_selected() for b in twins)


@needs_browser
@pytest.mark.parametrize("width", [360, 768, 1440])
def test_nothing_overflows(opened, width):
    opened.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": width < 700},
    )
    try:
        opened.execute_script("document.querySelectorAll('details').forEach(d => d.open = true)")
        inner, outer = opened.execute_script(
            "return [window.innerWidth, document.documentElement.scrollWidth]"
        )
        assert inner == width
        assert outer <= width
        # Nothing sticks out but what lies in a region that scrolls by itself.
        out = opened.execute_script(
            "return [...document.querySelectorAll('body *')].filter(e => !e.closest('.wide, nav ul,"
            " .skip, .defs') && e.getBoundingClientRect().right > innerWidth + 1)"
            ".map(e => e.tagName + '.' + e.getAttribute('class'))"
        )
        assert out == []
    finally:
        opened.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


@needs_browser
def test_no_error_and_no_request_leaves_the_page(opened):
    opened.execute_script("window.scrollTo(0, document.body.scrollHeight)")
    assert [e for e in opened.get_log("browser") if e["level"] == "SEVERE"] == []
    sent = [json.loads(e["message"])["message"] for e in opened.get_log("performance")]
    urls = [
        m["params"]["request"]["url"] for m in sent if m["method"] == "Network.requestWillBeSent"
    ]
    assert urls
    assert all(u.startswith(("file:", "data:")) for u in urls)


@pytest.mark.slow
@needs_browser
@pytest.mark.parametrize("width", [360, 1440])
def test_accessibility(opened, width):
    """The rules of axe-core for WCAG 2.1 A and AA, contrast among them: no violation."""
    axe = resources.files(pytest.importorskip("axe_core_python")) / "axe.min.js"
    opened.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False},
    )
    try:
        opened.execute_script("document.querySelectorAll('details').forEach(d => d.open = true)")
        opened.execute_script(axe.read_text())
        found = opened.execute_async_script(
            "axe.run(document, {runOnly: arguments[0]}).then(arguments[1],"
            " e => arguments[1]({error: String(e)}))",
            ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"],
        )
        assert "error" not in found
        assert [(v["id"], v["nodes"][0]["html"][:120]) for v in found["violations"]] == []
        assert any(p["id"] == "color-contrast" for p in found["passes"])  # it did run
    finally:
        opened.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


@pytest.mark.deep
@needs_browser
def test_keyboard_alone_reaches_the_work(opened):
    keys = pytest.importorskip("selenium.webdriver.common.keys").Keys
    chain = pytest.importorskip("selenium.webdriver").ActionChains
    chain(opened).send_keys(keys.TAB).perform()
    assert opened.switch_to.active_element.text == "Skip to the work"
    seen = set()
    for _ in range(60):
        chain(opened).send_keys(keys.TAB).perform()
        active = opened.switch_to.active_element
        seen.add(active.get_attribute("id") or active.get_attribute("name") or "")
        if active.get_attribute("data-t"):
            was = active.is_selected()
            chain(opened).send_keys(keys.SPACE).perform()
            assert active.is_selected() != was
    assert {"when", "back", "pick-week", "on", "pick-column", "kind"} <= seen


@pytest.mark.slow
@needs_browser
def test_print_shows_all_weeks_and_no_controls(opened, case):
    opened.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        assert not visible(opened, "nav, .bar-tools, fieldset, #today, .count, .skip")
        assert len(visible(opened, "#weeks [data-k]")) == len(case[2])
    finally:
        opened.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


def test_no_style_cuts_a_name():
    """A long label goes on in a line below; on paper nobody can scroll or hover."""
    for place in ("outputs", "page"):
        folder = Path(html.__file__).parents[1] / place / "templates"
        styles = "".join(file.read_text() for file in folder.glob("*.css"))
        for rule in some(re.findall(r"[^{}]*\.tag\b[^{}]*\{[^}]*\}", styles)):
            assert "ellipsis" not in rule
            assert "nowrap" not in rule
            assert "overflow:hidden" not in rule
