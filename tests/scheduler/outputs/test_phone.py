"""The file for a phone, in real headless Chromium without a network: numbers, keeping, handing on.

Needs Chromium with its driver and the test extra; skipped without them, except where CI=true.
"""

from __future__ import annotations

import math
import os
import re
import shutil
from datetime import date
from importlib import resources
from random import Random

import phone_case
import pytest
import verify_case as case
from not_empty import some

from scheduler.levels import estimate, events
from scheduler.log import state
from scheduler.log.merge import merge
from scheduler.log.model import read_log_file
from scheduler.log.typed import rows_of
from scheduler.outputs import phone
from scheduler.replanning.in_case import in_case
from scheduler.watch import explain, judge
from scheduler.watch.judge import watched
from scheduler.watch.text import said
from scheduler.words.words import use_language

HAVE = bool(shutil.which("chromium") and shutil.which("chromedriver"))
needs_browser = pytest.mark.skipif(
    not HAVE and os.environ.get("CI") != "true", reason="no Chromium"
)
EPOCH = date(1970, 1, 1)


@pytest.fixture(scope="module")
def browser():
    webdriver = pytest.importorskip("selenium.webdriver")
    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium")
    for flag in ("headless=new", "no-sandbox", "disable-gpu", "no-first-run", "hide-scrollbars"):
        options.add_argument(f"--{flag}")
    options.add_argument("--window-size=360,740")
    service = webdriver.ChromeService(executable_path=shutil.which("chromedriver"))
    driver = webdriver.Chrome(options=options, service=service)
    driver.execute_cdp_cmd("Network.enable", {})
    offline = {"offline": True, "latency": 0, "downloadThroughput": 0, "uploadThroughput": 0}
    driver.execute_cdp_cmd("Network.emulateNetworkConditions", offline)
    metrics = {"width": 360, "height": 740, "deviceScaleFactor": 2, "mobile": True}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    yield driver
    driver.quit()


def page_of(folder, shape="rectangular", units="metric", lines=(), on=None, cases=None):
    """A file for a phone on disk, and what it was made of."""
    g, plan, table, items = phone_case.made(shape, units)
    log = phone_case.log_of(list(lines), g)
    body = phone.page(g, plan, items, phone_case.units(g), table, log, on or plan.start, cases)
    file = folder / f"phone-{shape}-{units}-{len(lines)}.html"
    file.write_text(body, encoding="utf-8")
    return file, g, plan, table


def number(day: date) -> int:
    return (day - EPOCH).days


def as_entry(g, e):
    """An entry as the script makes it of what is written on it."""
    made = {"day": number(e.date), "what": e.what, "unit": e.unit, "n": e.amount}
    if e.what == "level":
        made["litres"] = e.amount
    return {"column": e.column, "tier": e.tier, **made}


JUDGE = """
const [cases] = arguments, d = window.dryline, out = [];
for (const [on, entries] of cases) {
  const tiers = {};
  for (const b of d.data.batches) {
    const mine = entries.filter(e => e.column === b.column && e.tier === b.tier);
    const f = d.Watch.follow(b, d.data.crops[b.crop], on, mine);
    const w = f && d.Watch.judge(d.data, b, f, on);
    if (w) tiers[b.id] = w;
  }
  out.push(tiers);
}
return out;
"""
DAYS = ("dry", "dry_from", "dry_to", "ready", "last", "pick")


def same(told, w) -> None:
    """What the script tells of a tier is what `judge.Watched` tells."""
    for name in DAYS:
        day = getattr(w, name)
        assert told[name] == (None if day is None else number(day)), name
    assert (told["verdict"], told["ripe"], told["heads"]) == (w.verdict, w.ripe, w.heads)
    assert math.isclose(told["chance"], w.chance, abs_tol=1e-6)
    assert math.isclose(told["litres"], w.litres, abs_tol=1e-6)
    assert abs(told["grams"] - w.grams) <= 1  # of a half gram
    assert told["readings"] == [number(d) for d in w.readings]
    assert told["left_out"] == [number(d) for d in w.left_out]
    assert told["odds"] == pytest.approx(dict(w.odds), abs=1e-6)


@pytest.mark.slow
@needs_browser
@pytest.mark.parametrize("shape", phone_case.VESSELS)
def test_the_script_judges_as_the_log_does(browser, tmp_path, shape):
    """Sixty logs a vessel: levels of thirsty and of modest tiers, misread ones, picks off their day."""
    random = Random(shape)
    file, g, plan, table = page_of(tmp_path, shape)
    browser.get(file.as_uri())
    cases, expected = [], []
    for _ in range(60):
        last = random.randrange(12, 56)
        log = phone_case.log_of(phone_case.random_log(random, plan, last), g)
        assert log.faults == ()
        on = case.day(last)
        cases.append([number(on), [as_entry(g, e) for e in log.entries]])
        expected.append({w.batch: w for w in watched(g, plan, log, table, on)})
    told = browser.execute_script(JUDGE, cases)
    verdicts = set()
    for mine, theirs in zip(told, expected, strict=True):
        assert mine.keys() == theirs.keys()
        for name, w in theirs.items():
            same(mine[name], w)
            verdicts.add(w.verdict)
    assert verdicts == {"dry", "alarm", "close", "calm"}
    assert sum(bool(w.left_out) for e in expected for w in e.values()) > 3


@pytest.mark.slow
@needs_browser
def test_what_was_in_the_log_already_counts(browser, tmp_path):
    """A log cut in two: what is known when the file is made, and what is written on the phone."""
    random = Random(7)
    for n in range(6):
        g, plan, table, _items = phone_case.made()
        last = random.randrange(26, 45)
        half = case.day(last - random.randrange(3, 9))
        lines = phone_case.random_log(random, plan, last)
        lines = [t for t in lines if "picked" not in t]
        lines += [f"{case.day(last - 9)},topped,B,1,,0.5,L,"] if n % 2 else []
        early = [t for t in lines if t[:10] <= half.isoformat()]
        file, g, plan, table = page_of(tmp_path, lines=early, on=half)
        browser.get(file.as_uri())
        late = phone_case.log_of([t for t in lines if t not in early], g)
        on = case.day(last)
        (told,) = browser.execute_script(
            JUDGE, [[number(on), [as_entry(g, e) for e in late.entries]]]
        )
        whole = phone_case.log_of(sorted(lines), g)
        theirs = {w.batch: w for w in watched(g, plan, whole, table, on)}
        assert told.keys() == theirs.keys()
        for name, w in some(theirs.items(), 1):
            same(told[name], w)


def test_the_script_has_the_numbers_of_the_log():
    """A limit that no case above lies close to is the same all the same."""
    script = (resources.files("scheduler") / "outputs" / "templates" / "watch.js").read_text()
    numbers = dict(re.findall(r"([A-Z][A-Z_]+) = (-?[0-9.]+)", script))
    for module, names in (
        (judge, "ALARMING SURELY WORTH_TELLING TIME_LEFT MOST_SHIFTED EARLY"),
        (events, "RULER_CM IN_SHADE"),
        (explain, "FAR_OFF"),
    ):
        for name in names.split():
            assert float(numbers[name]) == getattr(module, name), name
    assert float(numbers["SAME_PICK"]) == state.SAME_PICK.days
    for what, spread in events.SHIFTS.items():
        assert f"{what}: {spread:.2f}" in script
    for what, (mean, spread) in explain.FLOWS.items():
        assert f"{what}: [{mean:.2f}, {spread:.2f}]" in script
    for what, share in explain.ODDS.items():
        assert f"{what}: {share:g}" in script
    own = f"[{estimate.LEVEL_SPREAD:.2f}, {estimate.SLOPE_SPREAD:.2f}, 0.0]"
    assert own in script


def press(browser, *names):
    for name in names:
        keys = browser.find_elements("css selector", "#keys button")
        next(k for k in keys if name in (k.text, k.get_attribute("aria-label"))).click()


def by_id(browser, name):
    return browser.find_element("id", name)


def show(browser, day):
    browser.execute_script("window.dryline.show(arguments[0])", number(day))


def choose(browser, select, value):
    from selenium.webdriver.support.ui import Select

    Select(by_id(browser, select)).select_by_value(value)


REFUSE = """
Object.defineProperty(window, 'localStorage', {get() { throw new DOMException('', 'SecurityError'); }});
"""


@pytest.mark.slow
@needs_browser
@pytest.mark.parametrize("kept", [True, False])
def test_a_day_on_the_phone(browser, tmp_path, kept):
    """Tick, read a level, weigh a pick, note; leave and come back; hand the text on, twice."""
    added = None
    if not kept:
        added = browser.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": REFUSE})
    file, g, plan, table = page_of(tmp_path)
    browser.get(file.as_uri())
    assert ("keeps what you write" in by_id(browser, "kept").text) is kept
    day = case.day(40)  # lettuce in B 1 is picked
    show(browser, day)
    choose(browser, "tier", "B 1")
    press(browser, "1", "1", ".5")
    assert by_id(browser, "shown").text == "11.5 cm"
    by_id(browser, "write").click()
    # 11.5 cm of a box of 20 by 20 cm are 4.6 L.
    log = phone_case.log_of([f"{day},level,B,1,,11.5,cm,"], g)
    (w,) = watched(g, plan, log, table, day, {("B", 1)})
    assert by_id(browser, "answer").text == said(g, w, phone_case.units(g))
    browser.find_element("css selector", "#todo input").click()
    by_id(browser, "note").send_keys("it's windy, #2")
    by_id(browser, "noted").click()
    text = by_id(browser, "out").get_attribute("value")
    assert f"{day} level B 1 11.5 cm\n" in text
    # Killed and opened again: by its address, where the browser keeps nothing.
    address = browser.current_url
    assert ("#" in address) is not kept
    browser.get("about:blank")
    browser.get(address)
    show(browser, day)
    assert by_id(browser, "out").get_attribute("value") == text
    rows, places = rows_of(g, text, "phone.txt", day)
    file = tmp_path / "log.csv"
    first = merge(file, g, plan, rows, places, day)
    assert first.refused == []
    assert (len(first.written), first.known) == (len(text.splitlines()), 0)
    again = merge(file, g, plan, rows, places, day)
    assert (again.written, again.known, again.refused) == ([], len(rows), [])
    entries = read_log_file(file, g).entries
    assert "it's windy, #2" in {e.note for e in entries}
    # Struck out, nothing is left of it.
    while buttons := browser.find_elements("css selector", "#log button"):
        buttons[0].click()
    assert by_id(browser, "out").get_attribute("value") == ""
    if added:
        browser.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", added)


@pytest.mark.slow
@needs_browser
def test_eighths_of_an_inch_and_the_width_of_a_phone(browser, tmp_path):
    file, *_ = page_of(tmp_path, units="us")
    browser.get(file.as_uri())
    show(browser, case.day(38))
    choose(browser, "tier", "B 1")
    press(browser, "4", "5/8")
    assert by_id(browser, "shown").text == "4 5/8 in"
    by_id(browser, "write").click()
    assert "level B 1 4 5/8 in" in by_id(browser, "out").get_attribute("value")
    wide = "return [document.documentElement.scrollWidth, window.innerWidth]"
    assert browser.execute_script(wide) == [360, 360]
    small = [
        b.text
        for b in browser.find_elements("css selector", "button")
        if b.is_displayed() and min(b.size.values()) < 48
    ]
    assert small == []
    browser.execute_script("localStorage.clear()")


@pytest.mark.slow
@needs_browser
def test_axe_finds_nothing(browser, tmp_path):
    """The rules of axe-core for WCAG 2.1 A and AA, contrast among them: no violation."""
    axe = resources.files(pytest.importorskip("axe_core_python")) / "axe.min.js"
    browser.execute_cdp_cmd("Page.setBypassCSP", {"enabled": True})
    g, plan, _table, _items = phone_case.made()
    found = in_case(g, plan, phone_case.log_of([], g), case.day(30), seconds=0.5)
    file, *_ = page_of(tmp_path, on=case.day(30), cases=found)
    browser.get(file.as_uri())
    show(browser, case.day(40))
    browser.execute_script("for (const d of document.querySelectorAll('details')) d.open = true")
    browser.execute_script(axe.read_text())
    rules = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]
    found = browser.execute_async_script(
        "axe.run(document, {runOnly: arguments[0]}).then(arguments[1])", rules
    )
    browser.execute_cdp_cmd("Page.setBypassCSP", {"enabled": False})
    assert len(found["passes"]) > 10
    assert [v["id"] for v in found["violations"]] == []


@pytest.mark.slow
@needs_browser
def test_what_to_do_if_is_read_without_a_network(browser, tmp_path):
    """Opened with a key, each case tells what it costs; nothing is wider than the phone."""
    from selenium.webdriver.common.keys import Keys

    g, plan, _table, _items = phone_case.made()
    on = case.day(30)
    found = in_case(g, plan, phone_case.log_of([], g), on)
    file, *_ = page_of(tmp_path, on=on, cases=found)
    browser.get(file.as_uri())
    heads = browser.find_elements("css selector", "details > summary")
    assert len(heads) == len(found.cases)
    assert heads[0].text.startswith("A week away, ")
    lost = next(h for h in heads if " is lost: " in h.text)
    lost.send_keys(Keys.ENTER)
    body = lost.find_element("xpath", "..").text
    assert "Not picked: " in body
    assert "Clear it on " in body
    browser.execute_script("for (const d of document.querySelectorAll('details')) d.open = true")
    wide = "return [document.documentElement.scrollWidth, window.innerWidth]"
    assert browser.execute_script(wide) == [360, 360]


@pytest.mark.slow
@needs_browser
def test_by_keyboard_alone(browser, tmp_path):
    from selenium.webdriver.common.keys import Keys

    file, *_ = page_of(tmp_path)
    browser.get(file.as_uri())
    show(browser, case.day(40))
    key = next(b for b in browser.find_elements("css selector", "#keys button") if b.text == "9")
    browser.execute_script("arguments[0].focus()", key)
    browser.switch_to.active_element.send_keys(Keys.ENTER)
    assert by_id(browser, "shown").text == "9.0 cm"
    box = browser.find_element("css selector", "#todo input")
    before = box.is_selected()
    box.send_keys(Keys.SPACE)
    assert browser.find_element("css selector", "#todo input").is_selected() is not before
    browser.execute_script("localStorage.clear()")


def test_two_phones_lose_nothing_and_double_nothing(tmp_path):
    """The same level on both is one; another value of it is refused and named; all else is written."""
    g, plan = phone_case.garden(), case.good_plan()
    day = case.day(40)
    one = f"{day} level B 1 11.5 cm\n{day} picked B 1 4 plants\n"
    two = f"{day} level B 1 11.5 cm\n{day} level B 2 20.0 cm\n{day} note --note 'two, of two'\n"
    file = tmp_path / "log.csv"
    for text, written, known in ((one, 2, 0), (two, 2, 1)):
        rows, places = rows_of(g, text, "phone.txt", day)
        done = merge(file, g, plan, rows, places, day)
        assert (len(done.written), done.known, done.refused) == (written, known, [])
    rows, places = rows_of(g, f"{day} level B 1 9.0 cm\n{day} ph B 1 6.1\n", "late.txt", day)
    done = merge(file, g, plan, rows, places, day)
    assert [e.what for e in done.written] == ["ph"]
    assert [(f.file, f.line) for f in done.refused] == [("late.txt", 1)]
    assert len(read_log_file(file, g).entries) == 5


def test_no_name_ends_the_script(tmp_path):
    g, plan, table, items = phone_case.made()
    from dataclasses import replace

    log = phone_case.log_of([], g)
    odd = replace(g, name="</script><b>bed & box")
    body = phone.page(odd, plan, items, phone_case.units(g), table, log, plan.start)
    assert body.count("</script>") == 3
    assert "<b>bed" not in body


def test_in_german():
    g, plan, table, items = phone_case.made()
    use_language("de")
    try:
        log = phone_case.log_of([], g)
        body = phone.page(g, plan, items, phone_case.units(g), table, log, plan.start)
    finally:
        use_language(None)
    assert '<html lang="de">' in body
    for word in ("Write down", "Nothing yet", "has enough", "Strike out"):
        assert word not in body


def test_the_day_shown_has_its_work_and_what_ticking_it_writes():
    g, plan, table, items = phone_case.made()
    made = phone.as_data(
        g, plan, items, phone_case.units(g), table, phone_case.log_of([], g), plan.start
    )
    told = [i for d in made["days"].values() for line in d["lines"] for i in line["items"]]
    assert sorted(i[0] for i in told) == sorted(
        ["sown"] * 5
        + ["transplanted"] * 5
        + ["cleared"] * 5
        + ["picked"] * sum(len(b.picks) for b in plan.batches)
    )
    first = plan.batches[0].transplant
    assert number(first) in made["days"]
