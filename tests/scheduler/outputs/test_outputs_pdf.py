"""The printed calendar, read back as text by a PDF reader that shares no code with the writer."""

import builtins
import io
import re
from dataclasses import replace
from datetime import date

import calendar_case
import pytest
from not_empty import some
from pypdf import PdfReader
from solver_case import EXAMPLES

from scheduler.base.faults import DrylineError
from scheduler.garden.file import load_garden
from scheduler.garden.model import Column
from scheduler.mix.fills import with_solution
from scheduler.outputs import pdf, work
from scheduler.outputs.cautions import CAUTIONS
from scheduler.outputs.in_brief import common, lines_in_brief
from scheduler.outputs.paper.month import MARKS
from scheduler.outputs.paper.month import marks as month_marks
from scheduler.outputs.shopping import nursery_load, shopping
from scheduler.outputs.together import HARD, day_lines, depth, level_cell
from scheduler.outputs.work import work_items
from scheduler.words.words import Units, habit, long_date, short_date, use_language

METRIC, US = Units("metric"), Units("us")


@pytest.fixture(scope="module")
def case():
    garden = calendar_case.garden()
    plan = calendar_case.plan(garden)
    return garden, plan, work_items(garden, plan)


@pytest.fixture(scope="module")
def pages(case):
    return texts(pdf.document(*case, METRIC))


def texts(raw):
    return [" ".join(p.extract_text().split()) for p in PdfReader(io.BytesIO(raw)).pages]


def test_paper_sizes(case):
    # ISO 216: A4 is 210 by 297 mm; US Letter is 8.5 by 11 in. Season and months lie on their side.
    for paper, wide, high in (("a4", 210 / 25.4, 297 / 25.4), ("letter", 8.5, 11)):
        made = PdfReader(io.BytesIO(pdf.document(*case, METRIC, paper))).pages
        sizes = [(float(p.mediabox.width) / 72, float(p.mediabox.height) / 72) for p in made]
        flat = [s == pytest.approx((high, wide), abs=0.01) for s in sizes]
        assert flat == sorted(flat, reverse=True)  # the season and the months come first
        assert 2 <= sum(flat) < len(flat)
        assert all(s == pytest.approx((wide, high), abs=0.01) for s in sizes[sum(flat) :])


def test_black_and_white_only(case):
    for page in some(PdfReader(io.BytesIO(pdf.document(*case, METRIC))).pages, 5):
        code = page.get_contents().get_data().decode("latin-1")
        # rg, RG set colours, k, K inks; only g and G (grey) may stand.
        assert not re.search(r"[\d.]+ (rg|RG|k|K)\n", code)


def test_the_weeks_have_all_the_work(case, pages):
    garden, _plan, items = case
    said = " ".join(pages)
    said = said[said.index("Week by week") : said.index("Sowing list")]
    weeks = dict(re.findall(r"Week (\d+) (.*?)(?=Week \d+ |$)", said))
    shared = common(items)
    for day in sorted({w.date for w in items}):
        week = weeks[str(day.isocalendar().week)]
        assert short_date(day) in week
        for line in lines_in_brief(garden, [w for w in items if w.date == day], METRIC, shared):
            if line.kind != work.LEVEL:
                assert line.text.replace(HARD, " ") in week
        for w in items:
            if w.date == day and w.kind == work.LEVEL:
                assert level_cell(w, METRIC).replace(HARD, " ") in week


@pytest.mark.parametrize("crowded", [False, True])
def test_one_day_is_one_page_with_blanks(case, crowded):
    """9 June has picks, clearings and a fill; crowded it has each of them six times over."""
    garden, plan, items = case
    day = date(2027, 6, 9)
    today = [w for w in items if w.date == day]
    if crowded:
        items = tuple(replace(w, column=c) for w in items for c in ("A", "B", "N1", "N2", "N3"))
        today = [w for w in items if w.date == day]
    (page,) = texts(pdf.document(garden, plan, items, METRIC, "a4", day, day))
    assert "Wednesday 9 June 2027" in page
    assert len(today) > 6
    for line in day_lines(garden, today, METRIC):
        if line.kind != work.LEVEL:
            assert line.text.replace(HARD, " ") in page
    for w in today:
        if w.kind == work.PICK:
            assert f"{w.column} {w.tier} {METRIC.mass_text(w.grams)} picked" in page
        if w.kind == work.FILL:
            assert f"{w.column} {w.tier} EC" in page
            assert f"{w.column} {w.tier} pH" in page
    assert page.count("! Lifting:") == page.count("! Salts and acid:") == 1


def test_a_day_without_work_is_a_page_too(case):
    (page,) = texts(pdf.document(*case, METRIC, "a4", date(2027, 6, 22), date(2027, 6, 22)))
    assert "No work on this day." in page


def test_a_month_has_a_letter_for_each_work(case):
    items = case[2]
    # What is planted is filled; the others are rules for the forecast of a span of days.
    untold = {work.TRANSPLANT, work.PROTECT, work.SHADE, work.HARDEN}
    assert MARKS.keys() | untold == set(work.KINDS)
    marks = month_marks(items)
    letter = {kind: text[-1] for kind, text in MARKS.items()}
    for w in items:
        if w.kind not in untold:
            assert letter[w.kind] in marks[w.column, w.tier or 1, w.date]
    assert sum(map(len, marks.values())) <= sum(w.kind in MARKS for w in items)
    for language in (None, "de"):
        use_language(language)
        assert len({habit(text) for text in MARKS.values()}) == len(MARKS)
    use_language(None)


@pytest.mark.slow
@pytest.mark.parametrize("language", [None, "de"])
@pytest.mark.parametrize(("name", "units", "most"), [("courtyard", METRIC, 30), ("balcony", US, 8)])
def test_a_season_has_so_many_pages_at_most(name, units, most, language):
    garden = load_garden(EXAMPLES / name / "garden.yaml")
    plan = with_solution(garden, calendar_case.full_plan(garden))
    use_language(language)
    try:
        made = texts(pdf.document(garden, plan, work_items(garden, plan), units))
    finally:
        use_language(None)
    assert len(made) <= most


def test_the_season_names_every_tier_and_crop(case, pages):
    garden, plan, _ = case
    for b in some(plan.batches, 3):
        assert f"{b.column} {b.tier}" in pages[0]
        assert garden.crops[b.crop].title in pages[0]


def test_sowing_list_and_shopping_list(case, pages):
    garden, plan, _ = case
    sowing = next(p for p in pages if "Sowing list" in p)
    for b in plan.batches:
        assert f"{garden.crops[b.crop].title} {b.seeds} {b.cells}" in sowing
    buying = next(p for p in pages if "Shopping list" in p)
    need = shopping(garden, plan)
    assert sum(s.seeds for s in need.seeds) == sum(b.seeds for b in plan.batches)
    assert sum(s.litres for s in need.solutions) == pytest.approx(18.0 * len(plan.batches))
    for s in need.seeds:
        assert f"{s.seeds} seeds" in buying
    for name, grams in need.salts:
        assert f"{name} {METRIC.mass_text(grams)}" in buying


def test_salts_for_the_season_come_out_near_the_common_rate(case):
    """0.6 + 0.3 + 0.6 g/L of the three salts make N 117, K 189, Ca 114 mg/L (ratio 2:1:2 from a
    secondary page, totals computed); that is about 15 meq/L of cations, EC about 1.5 mS/cm by the
    rule of USDA Handbook 60 (1954), sum of cations [meq/L] / 10. 18 L a fill."""
    need = shopping(*case[:2])
    grams = dict(need.salts)
    ec = sum(s.ec * s.litres for s in need.solutions)  # [mS/cm L]
    cations = 0.6 * 0.3155 / 39.1 + 0.6 * 0.19 / 40.08 * 2 + 0.3 * 0.0986 / 24.305 * 2  # [eq/L]
    per_ec = 1.5 / (cations * 1000 / 10)  # [g/L per mS/cm]
    assert sum(grams.values()) == pytest.approx(per_ec * ec, rel=0.15)
    # Weighed to a gram fill by fill.
    assert grams["calcium nitrate"] == pytest.approx(2 * grams["magnesium sulfate"], rel=0.05)


def test_cells_in_use(case):
    _, plan, _ = case
    load = dict(nursery_load(plan))
    for day in (date(2027, 4, 24), date(2027, 4, 25), plan.batches[0].sow):
        # A seedling is in the nursery from its sowing to the morning of its transplanting.
        by_hand = sum(b.cells for b in plan.batches if b.sow <= day < b.transplant)
        assert load[day] == by_hand
    assert shopping(*case[:2]).cells == max(load.values())


def test_every_planted_tier_has_a_card_with_every_reading(case, pages):
    garden, plan, items = case
    cards = " ".join(p for p in pages if "holes" in p)
    for b in some(plan.batches, 3):
        title = garden.crops[b.crop].title
        head = f"{title}: planted {short_date(b.transplant)}, last pick "
        assert head + short_date(b.picks[-1].date) in cards
        mine = [w for w in items if w.kind == work.LEVEL and w.batch == b.id]
        for w in some(mine):
            assert f"{short_date(w.date)} {depth(w.depth_cm, METRIC)}" in cards


def test_a_tier_with_many_batches_takes_more_cards_and_loses_no_reading(case):
    garden, plan, _ = case
    b = plan.batches[5]
    many = tuple(replace(b, id=f"m{n}", column="A", tier=1) for n in range(9))
    crowded = replace(plan, batches=many)
    items = work_items(garden, crowded)
    cards = " ".join(p for p in texts(pdf.document(garden, crowded, items, METRIC)) if "holes" in p)
    reading = next(w for w in items if w.kind == work.LEVEL)
    text = f"{short_date(reading.date)} {depth(reading.depth_cm, METRIC)}"
    assert cards.count(text) == 9
    assert cards.count("planted") == 9
    assert cards.count("holes") > 1


@pytest.mark.slow
def test_nothing_is_printed_off_the_page(case):
    """A crowded week, and a tier with many batches: every word lies above the foot line."""
    garden, plan, _ = case
    names = [("A", 1), ("A", 2), ("A", 3), ("B", 1), ("B", 2), ("B", 3)]
    many = tuple(
        replace(plan.batches[5], id=f"m{n}{c}{t}", column=c, tier=t)
        for n in range(9)
        for c, t in names
    )
    crowded = replace(plan, batches=many)
    raw = pdf.document(garden, crowded, work_items(garden, crowded), METRIC)
    low = []

    def visit(text, _cm, tm, _font, _size):
        if text.strip():
            low.append(tm[5])

    made = PdfReader(io.BytesIO(raw)).pages
    for page in made:
        page.extract_text(visitor_text=visit)
    assert len(made) > 9
    assert min(low) >= 30  # the foot line stands at 32 points


@pytest.mark.slow
def test_columns_are_kept_together_in_the_overview(case):
    garden, plan, items = case
    tiers = garden.columns[0].tiers
    columns = (*garden.columns, *(Column(f"N{i}", tiers) for i in range(20)))
    made = texts(pdf.document(replace(garden, columns=columns), plan, items, METRIC))
    seasons = [p for p in made if "The season" in p]
    assert len(seasons) > 1
    for c in columns:
        assert (
            len({i for i, p in enumerate(seasons) for t in (1, 2, 3) if f" {c.name} {t} " in p})
            == 1
        )


def test_the_cautions_stand_in_full_on_one_page(pages):
    full = [p for p in pages if "Before the season" in p]
    assert len(full) == 1
    for said in ("Pour acid into water, never water into acid", "After the season", "Unplug"):
        assert said in full[0]
    for c in CAUTIONS:
        assert f"{c.name}. {' '.join(c.full.split())}" in full[0]
        assert sum(" ".join(c.full.split()) in p for p in pages) == 1
    assert "Power:" in next(p for p in pages if "Sowing list" in p)
    assert "Salts and acid:" in next(p for p in pages if "Shopping list" in p)
    assert all("licensed practice come first" in p for p in pages)


def test_some_weeks_only(case):
    made = texts(pdf.document(*case, METRIC, "a4", date(2027, 5, 10), date(2027, 5, 12)))
    assert [m[0] for p in made if (m := re.search(r"Week \d+", p))] == ["Week 19"]


def test_us_units(case):
    # A month's letters stand behind numbers of tiers and days; L is one of them.
    made = texts(pdf.document(*case, US, "letter"))
    made = " ".join(p for p in made if "Letters: " not in p)
    assert not re.search(r"\d (cm|L|kg|g)\b", made)
    assert "4.76 gal" in made


def test_same_plan_same_bytes(case):
    assert pdf.document(*case, METRIC) == pdf.document(*case, METRIC)


@pytest.mark.parametrize("name", ["Übersee", "Огород", "W" * 39])
def test_names_of_any_letters_and_length_print(case, name):
    garden, plan, _ = case
    columns = (Column(name, garden.columns[0].tiers), garden.columns[1])
    batches = tuple(replace(b, column=name if b.column == "A" else b.column) for b in plan.batches)
    garden = replace(garden, columns=columns, name=name)
    plan = replace(plan, batches=batches)
    made = texts(pdf.document(garden, plan, work_items(garden, plan), METRIC))
    assert name[:6] in made[0]


@pytest.mark.slow
def test_a_thousand_tiers_fill_more_pages(case):
    garden, plan, items = case
    tiers = garden.columns[0].tiers
    columns = (*garden.columns, *(Column(f"N{i}", tiers) for i in range(40)))
    made = texts(pdf.document(replace(garden, columns=columns), plan, items, METRIC))
    seasons = [p for p in made if "The season" in p]
    assert len(seasons) > 1
    assert "N39 3" in seasons[-1]


def test_without_the_library_the_message_says_what_to_install(case, monkeypatch):
    real = builtins.__import__

    def missing(name, *args, **kwargs):
        if name.split(".")[0] == "reportlab":
            raise ImportError(name)
        return real(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", missing)
    with pytest.raises(DrylineError, match=r"pip install 'dryline\[pdf\]'"):
        pdf.document(*case, METRIC)


def test_dates_in_words():
    assert long_date(date(2028, 2, 29)) == "Tuesday 29 February 2028"
