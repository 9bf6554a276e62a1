"""Every sheet of a plan says which plan it is of: its number and the day it was made."""

import io
import re
import shutil
import subprocess
from dataclasses import replace
from datetime import UTC, date, datetime

import calendar_case
import page_case
import pytest
from not_empty import some
from solver_case import EXAMPLES

from scheduler.cli import main
from scheduler.garden.file import garden_sources, load_garden
from scheduler.mix.fills import with_solution
from scheduler.outputs import calendar_files, html, ics, pdf, text
from scheduler.outputs.work import work_items
from scheduler.pictures import SUBJECTS, draw, save
from scheduler.plans.folder import CROPS_FILE, crops_source, write_plan_dir
from scheduler.words.words import Units, plan_mark, use_language

MADE = date(2026, 11, 27)
ENGLISH, GERMAN = "Plan 3, made 27 November 2026", "Plan 3 vom 27. November 2026"
SAID = {None: ENGLISH, "de": GERMAN, "en_US": "Plan 3, made November 27, 2026"}
METRIC = Units("metric")


@pytest.fixture(autouse=True)
def english_again():
    yield
    use_language(None)


def case(number, made):
    garden = calendar_case.garden()
    plan = replace(with_solution(garden, calendar_case.plan(garden)), number=number, made=made)
    return garden, plan, work_items(garden, plan)


def feed(garden, plan, items):
    stamp = datetime(2027, 1, 1, tzinfo=UTC)
    return ics.feed(garden, plan, items, METRIC, stamp).decode().replace("\r\n ", "")


def test_names_in_the_head_of_a_feed_are_escaped():
    """RFC 5545, 3.3.11: a comma, a semicolon and a backslash in a text stand behind a backslash."""
    garden, plan, items = case(3, MADE)
    made = feed(replace(garden, name="Yard, north; shed"), plan, items)
    assert "\r\nX-WR-CALNAME:Yard\\, north\\; shed\r\n" in made


def flat(page):
    """What a page of a PDF says, whatever its line ends."""
    return " ".join(page.extract_text().split())


def test_what_is_said_of_a_plan():
    """Nothing without a number; nothing of a day that is not known."""
    plan = calendar_case.plan()
    assert plan_mark(plan) == plan_mark(replace(plan, made=MADE)) == ""
    assert plan_mark(replace(plan, number=1)) == "Plan 1"
    for language, said in SAID.items():
        use_language(language)
        assert plan_mark(replace(plan, number=3, made=MADE)) == said


@pytest.mark.parametrize("language", SAID)
def test_every_sheet_carries_number_and_day(language):
    use_language(language)
    said = SAID[language]
    garden, plan, items = case(3, MADE)
    head = text.calendar(garden, plan, items, METRIC).split("=" * 80)[0]
    assert said in head.splitlines()
    page = html.page(garden, plan, items, METRIC)
    assert f"<p>{said}</p>" in page.partition("<main")[0]
    made = feed(garden, plan, items)
    escaped = said.replace(",", "\\,")  # RFC 5545, 3.3.11
    assert f"\r\nX-WR-CALDESC:{escaped}\r\n" in made
    assert f"\r\nDESCRIPTION:{escaped}\r\n" in made.partition("BEGIN:VEVENT")[0]
    events = made.split("BEGIN:VEVENT")[1:]
    assert len(events) > 20
    assert all(f"\\n{escaped}\r\n" in event for event in events)


def test_a_calendar_s_head_keeps_to_its_columns():
    garden, plan, items = case(3, MADE)
    for line in some(text.calendar(garden, plan, items, METRIC).splitlines(), 20):
        assert len(line) <= 80


@pytest.mark.slow
@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("language", SAID)
def test_every_page_of_the_print_and_every_card_carries_it(language, paper):
    pypdf = pytest.importorskip("pypdf")
    use_language(language)
    said = SAID[language]
    garden, plan, items = case(3, MADE)
    made = pdf.document(garden, plan, items, METRIC, paper)
    pages = [flat(p) for p in pypdf.PdfReader(io.BytesIO(made)).pages]
    assert len(pages) >= 8
    assert all(said in page for page in pages)
    # The foot once a page, and each card once more: they are cut apart. One card a tier here.
    assert sum(page.count(said) - 1 for page in pages) == len(
        {(b.column, b.tier) for b in plan.batches}
    )


@pytest.mark.deep
def test_every_printed_page_of_the_html_carries_it(tmp_path):
    """By a browser's own print: margin boxes, as a reader of another house finds them."""
    garden, plan, items = case(3, MADE)
    pages = chromium_print(tmp_path, html.page(garden, plan, items, METRIC))
    assert len(pages) > 10
    assert all(ENGLISH in page for page in pages)
    old = chromium_print(tmp_path, html.page(*case(0, None), METRIC))
    assert not any("made" in page for page in old)


def chromium_print(folder, page):
    pypdf = pytest.importorskip("pypdf")
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("no chromium")
    (folder / "page.html").write_text(page)
    subprocess.run(
        [
            chromium,
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--no-pdf-header-footer",
            f"--user-data-dir={folder / 'profile'}",
            f"--print-to-pdf={folder / 'page.pdf'}",
            str(folder / "page.html"),
        ],
        check=True,
        capture_output=True,
        timeout=120,
    )
    return [flat(p) for p in pypdf.PdfReader(folder / "page.pdf").pages]


@pytest.mark.parametrize("what", SUBJECTS)
def test_every_picture_carries_it(what):
    pytest.importorskip("matplotlib")
    garden, plan, _items = case(3, MADE)
    for figure in some(draw(what, garden, plan)):
        drawn = save(figure, "svg").decode()
        assert ENGLISH in " ".join(re.findall(r">([^<>]+)</", drawn))
        assert_inside(figure)
    for figure in some(draw(what, *case(0, None)[:2])):
        assert not re.search(r"Plan \d", save(figure, "svg").decode())


def assert_inside(figure):
    """No word of the line below the title leaves the sheet."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    wide = figure.bbox.width
    for said in figure.texts:
        assert said.get_window_extent(canvas.get_renderer()).x1 <= wide


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """The balcony, planned by hand as the third plan."""
    file = EXAMPLES / "balcony" / "garden.yaml"
    garden = load_garden(file)
    plan = with_solution(garden, calendar_case.full_plan(garden))
    plan = replace(plan, number=3, made=MADE, garden=garden.name)
    sources = {**garden_sources(file), CROPS_FILE: crops_source(garden)}
    target = tmp_path_factory.mktemp("mark") / "season"
    write_plan_dir(target, plan, sources, calendar_files(garden, plan))
    return target, plan


def run(args):
    with pytest.raises(SystemExit) as ended:
        main(args)
    assert ended.value.code == 0


def test_what_is_weighed_for_a_plan_carries_it(folder, capsys):
    target, plan = folder
    for args in (["--batch", plan.batches[0].id], ["--date", str(plan.batches[0].transplant)]):
        run(["mix", str(target), *args])
        assert capsys.readouterr().out.splitlines()[0] == ENGLISH
    # A fill that is none of the plan's is not said to be of it.
    run(["mix", str(target), "--litres", "10 L", "--ec", "1.6"])
    assert "Plan 3" not in capsys.readouterr().out


def test_calendar_commands_carry_it(folder, tmp_path):
    target, _plan = folder
    assert ENGLISH in (target / "calendar.txt").read_text().splitlines()
    for form in ("text", "html", "ics"):
        file = tmp_path / f"calendar.{form}"
        run(["calendar", str(target), "--format", form, "--out", str(file)])
        assert ENGLISH in file.read_text().replace("\\,", ",").replace("\n ", "")


def test_every_local_page_carries_it(folder):
    target, plan = folder
    visitor = page_case.Visitor(target, plan.batches[0].transplant)
    for path in ("/", "/levels", "/failed", "/log", "/again", "/calendar", "/print"):
        assert ENGLISH in visitor.get(path), path


@pytest.mark.slow
@pytest.mark.parametrize(("number", "made"), [(0, None), (0, MADE)])
def test_a_plan_without_a_number_prints_as_before(number, made):
    """Feeds, pages and prints of earlier versions' plans: no mark, no empty line, no empty rule."""
    garden, plan, items = case(number, made)
    lines = text.calendar(garden, plan, items, METRIC).splitlines()
    assert lines[1:4] == ["22 March to 14 August 2027", "", lines[3]]
    assert lines[3].startswith("A 2 is column A")
    page = html.page(garden, plan, items, METRIC)
    assert "@page" not in page
    assert "<p></p>" not in page
    sent = feed(garden, plan, items)
    assert "CALDESC" not in sent
    assert "\nDESCRIPTION" not in sent.partition("BEGIN:VEVENT")[0]
    assert "\\n\r\n" not in sent
    pypdf = pytest.importorskip("pypdf")
    made_ = pdf.document(garden, plan, items, METRIC)
    for printed in pypdf.PdfReader(io.BytesIO(made_)).pages:
        assert f"{garden.name} (an invented garden) · local rules" in flat(printed)


def test_the_same_plan_gives_the_same_bytes():
    """The day is the plan's own, not that of printing."""
    one, two = (case(3, MADE) for _ in range(2))
    assert pdf.document(*one, METRIC) == pdf.document(*two, METRIC)
    assert html.page(*one, METRIC) == html.page(*two, METRIC)
    assert "26" in text.calendar(*one, METRIC).splitlines()[2]
    assert text.calendar(*one, METRIC) == text.calendar(*two, METRIC)
