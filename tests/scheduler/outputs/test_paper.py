"""Every word of every printed sheet stays on the paper and off every other word.

The drawing library's canvas is replaced by one that only writes down where each text is put. Widths
are those of the letters' own tables (Adobe font metrics, as the library carries them); that places
and widths are those of the file is checked once with a PDF reader that shares no code with it.
"""

import io
from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache

import calendar_case
import pytest
from pypdf import PdfReader
from solver_case import EXAMPLES

from scheduler.garden.file import load_garden
from scheduler.garden.model import Column
from scheduler.mix.fills import with_solution
from scheduler.outputs import pdf
from scheduler.outputs.paper import sheet
from scheduler.outputs.work import CLEAR, FILL, PICK, work_items
from scheduler.words.words import Units, use_language

MARGIN = 30.0  # [pt] printers reach to about 6 mm (17 pt) of the edge; common practice, no source
SPANS = {"all": None, "week": (70, 76)}  # days of the season


@dataclass(frozen=True)
class Word:
    """A text on a page: left, right, baseline, letter size [pt]; size of its page."""

    page: int
    left: float
    right: float
    y: float
    size: float
    text: str
    paper: tuple[float, float]


def recorder(words):
    """A canvas that draws nothing and writes down its texts."""
    from reportlab.pdfbase.pdfmetrics import stringWidth
    from reportlab.pdfgen.canvas import Canvas

    class Recorder(Canvas):
        def drawString(self, x, y, text, *args, **kwargs):
            wide = stringWidth(text, self._fontname, self._fontsize)
            words.append(
                Word(self.getPageNumber(), x, x + wide, y, self._fontsize, text, self._pagesize)
            )

        def rect(self, *args, **kwargs):
            pass

        line = circle = drawPath = clipPath = save = rect

    return Recorder


@lru_cache
def example(name):
    garden = load_garden(EXAMPLES / name / "garden.yaml")
    plan = with_solution(garden, calendar_case.full_plan(garden))
    plan = replace(plan, number=12, made=date(2026, 11, 27))  # printed in each foot, on each card
    return garden, plan, work_items(garden, plan)


def printed(monkeypatch, case, units, paper, days=None):
    words = []
    monkeypatch.setattr(sheet, "library", lambda: recorder(words))
    garden, plan, items = case
    span = [plan.start + timedelta(n) for n in days] if days else ()
    pdf.document(garden, plan, items, Units(units), paper, *span)
    return words


def off_paper(words):
    return [
        w
        for w in words
        if w.left < MARGIN
        or w.right > w.paper[0] - MARGIN
        or w.y < MARGIN
        or w.y + w.size > w.paper[1] - MARGIN
    ]


def over_each_other(words):
    """Pairs whose letters meet: from the foot of the small letters to the head of the capitals."""
    found, pages = [], defaultdict(list)
    for w in words:
        if w.text.strip():
            pages[w.page].append(w)
    for page in pages.values():
        page.sort(key=lambda w: w.y)
        for i, a in enumerate(page):
            for b in page[i + 1 :]:
                if b.y > a.y + 0.68 * a.size:
                    break
                if min(a.right, b.right) - max(a.left, b.left) > 0.5:
                    found.append((a.page, a.text, b.text))
    return found


# Each language meets each of the units, each paper meets both: half of all ways.
WAYS = [
    (None, "metric", "a4"),
    (None, "us", "letter"),
    ("de", "metric", "letter"),
    ("de", "us", "a4"),
]


@pytest.mark.parametrize(("language", "units", "paper"), WAYS)
@pytest.mark.parametrize("name", ["courtyard", "balcony"])
def test_no_word_leaves_the_paper_or_lies_on_another(monkeypatch, name, language, units, paper):
    use_language(language)
    for span in SPANS.values():
        words = printed(monkeypatch, example(name), units, paper, span)
        assert len({w.page for w in words}) >= 5
        assert off_paper(words) == []
        assert over_each_other(words) == []


NAMES = ["W" * 39, "Übersee hinter dem Gewächshaus am Zaun", "Огород за сараем у старого забора 12"]


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("name", NAMES)
def test_long_names_are_printed_whole(monkeypatch, name, paper):
    """Columns, groups, vessels and crops: no letter is cut off, and none lies on another."""
    garden = calendar_case.garden()
    plan = calendar_case.plan(garden)
    chard = replace(garden.crops["swiss_chard"], title=name)
    garden = replace(
        garden,
        name=name,
        columns=(Column(name, garden.columns[0].tiers), garden.columns[1]),
        demands=(replace(garden.demands[0], group=name), garden.demands[1]),
        crops={**garden.crops, "swiss_chard": chard},
    )
    batches = tuple(replace(b, column=name if b.column == "A" else b.column) for b in plan.batches)
    plan = replace(plan, batches=batches, number=12, made=date(2026, 9, 27))
    plan = with_solution(garden, plan)
    words = printed(monkeypatch, (garden, plan, work_items(garden, plan)), "metric", paper)
    assert off_paper(words) == []
    assert over_each_other(words) == []
    whole = name.replace(" ", "")
    for page in range(1, 1 + max(w.page for w in words)):
        mine = [w.text for w in words if w.page == page]
        joined = "".join(mine).replace(" ", "")
        # A name that is begun on a page is ended there, with its tier's number where it has one.
        assert joined.count(whole[:3]) == joined.count(whole) * max(whole.count(whole[:3]), 1)


def test_the_recorder_tells_what_the_file_holds(monkeypatch):
    case = example("balcony")
    garden, plan, items = case
    found = defaultdict(list)

    def visit(text, _cm, tm, _font, _size):
        found[text.strip()].append((tm[4], tm[5]))

    raw = pdf.document(garden, plan, items, Units("us"), "letter")
    for page in PdfReader(io.BytesIO(raw)).pages:
        page.extract_text(visitor_text=visit)
    drawn = [w for w in printed(monkeypatch, case, "us", "letter") if w.text.strip()]
    for w in drawn:
        at = found[w.text.strip()]
        assert any(abs(x - w.left) < 0.1 and abs(y - w.y) < 0.1 for x, y in at), w
    assert len(drawn) > 400


def test_what_is_measured_at_clearing_stands_in_one_line_a_tier(monkeypatch):
    """The more work, the smaller the letters, and the more blanks fit a line: three, four, five."""
    garden, plan, items = example("courtyard")
    first = next(w for w in items if w.kind == CLEAR)
    n = (first.date - plan.start).days
    sizes = set()
    for count in (10, 30, 45):
        work = [replace(first, tier=k + 1) for k in range(count)]
        words = printed(monkeypatch, (garden, plan, work), "metric", "a4", (n, n))
        at = {" ".join(w.text.split()): w for w in words}
        for w in work:
            tier = f"{w.column} {w.tier}"
            assert at[f"{tier} depth"].y == at[f"{tier} EC"].y == at[f"{tier} pH"].y
            sizes.add(at[f"{tier} depth"].size)
    assert len(sizes) == 3


def test_the_sheet_of_a_day_says_what_its_words_mean(monkeypatch):
    garden, plan, items = example("courtyard")
    pick = next(w for w in items if w.kind == PICK)
    fill = next(w for w in items if w.kind == FILL)
    wide = replace(pick, first=pick.date, last=pick.date + timedelta(4))
    narrow = replace(pick, first=pick.date, last=pick.date)
    acid = replace(fill, weigh=(*fill.weigh, ("nitric acid", 2.0, "mL")))
    for given, says, told in (
        (wide, "PICK: from the first", True),
        (narrow, "PICK: from the first", False),
        (fill, "acid as your water needs", True),
        (acid, "acid as your water needs", False),
        (pick, "is column A, tier 2 from the top", True),
    ):
        n = (given.date - plan.start).days
        words = printed(monkeypatch, (garden, plan, (given,)), "metric", "a4", (n, n))
        assert (says in " ".join(w.text for w in words)) is told
