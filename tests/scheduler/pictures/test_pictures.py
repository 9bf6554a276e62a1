"""Pictures: they show what the plan says, in words that can be read, and without colour."""

from __future__ import annotations

import importlib.util
import json
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import date
from pathlib import Path

import calendar_case
import numpy as np
import pytest

from scheduler.cli import main
from scheduler.garden.file import garden_sources, load_garden
from scheduler.garden.model import Column, Tier
from scheduler.outputs.shopping import nursery_load
from scheduler.pictures import SUBJECTS, NoPlots, draw, save
from scheduler.plans.folder import write_plan_dir
from scheduler.plans.model import FAILED, Plan
from scheduler.words.words import Units

pytest.importorskip("matplotlib")
BALCONY = Path(__file__).parents[3] / "examples" / "balcony" / "garden.yaml"
PNG = b"\x89PNG\r\n\x1a\n"


@pytest.fixture(scope="module")
def case():
    g = calendar_case.garden()
    return g, calendar_case.plan(g)


def words(figure) -> list[str]:
    """Every text of the picture as SVG, in order."""
    root = ET.fromstring(save(figure, "svg"))
    return ["".join(t.itertext()).strip() for t in root.iter("{http://www.w3.org/2000/svg}text")]


@pytest.mark.slow
@pytest.mark.parametrize("what", SUBJECTS)
def test_png_and_svg(case, what):
    (figure,) = draw(what, *case)
    png, svg = save(figure, "png"), save(figure, "svg")
    assert png.startswith(PNG)
    assert ET.fromstring(svg).tag.endswith("svg")
    assert b"http://www.w3.org/2000/svg" in svg
    assert b"<image" not in svg  # all lines and words
    assert any("Yard of the test kitchen" in w for w in words(figure))
    assert any("An invented garden" in w for w in words(figure))
    assert save(draw(what, *case)[0], "svg") == svg  # the same plan, the same file


@pytest.mark.slow
def test_season_names_tiers_crops_and_families(case):
    g, p = case
    shown = words(draw("season", g, p)[0])
    for place in ("A 1", "A 2", "A 3", "B 1", "B 2", "B 3"):
        assert place in shown
    assert shown.count("pak choi") == 2  # two batches
    assert sum(w.startswith("butter") for w in shown) == 2
    for family in ("Asteraceae", "Brassicaceae", "Amaranthaceae"):
        assert family in shown
    assert "Lamiaceae" not in shown  # basil is in the garden, not in the plan
    assert "away" in shown
    assert "17" in shown  # ISO week of 26 April 2027


def test_bars_stand_where_the_plan_says(case):
    """The bar of b001 runs from transplanting to the end of the day it is cleared."""
    from matplotlib.patches import Rectangle

    g, p = case
    ax = draw("season", g, p)[0].axes[0]
    bars = [b for b in ax.patches if isinstance(b, Rectangle) and b.get_height() == 0.74]
    spans = {(b.get_x(), b.get_width()) for b in bars}
    assert len(bars) == len(p.batches)
    for batch in p.batches:
        assert (
            (batch.transplant - p.start).days,
            (batch.clear - batch.transplant).days + 1,
        ) in spans


def test_lost_batch_says_so(case):
    g, p = case
    made = replace(p, batches=(replace(p.batches[0], state=FAILED), *p.batches[1:]))
    assert any(w.endswith(", lost") for w in words(draw("season", g, made)[0]))


def test_levels_show_keep_level_dry_date_and_margin(case):
    g, p = case
    figure = draw("levels", g, p, Units("us"))[0]
    shown = words(figure)
    assert "keep level" in shown
    assert any(w.startswith("dry date") for w in shown)
    assert any("Depth of solution [in]" in w for w in shown)
    for batch in p.batches:
        if batch.margin_days is not None:
            assert f"{batch.margin_days} d" in shown
    # The curve of A 2 starts at the fill depth, on the day of transplanting.
    (ax,) = [a for a in figure.axes if a.get_title(loc="left") == "A 2"]
    (batch,) = [b for b in p.batches if (b.column, b.tier) == ("A", 2)]
    curve = next(line for line in ax.lines if len(line.get_xdata()) > 10)
    assert curve.get_xdata()[0] == (batch.transplant - p.start).days
    assert curve.get_ydata()[0] == pytest.approx(batch.levels[0].depth_cm / 2.54)


def test_nursery_adds_up_to_the_load(case):
    """By family it is the sum that the shopping list counts without families."""
    from scheduler.pictures.nursery import cells_by_family

    g, p = case
    total = sum(cells_by_family(g, p).values())
    assert np.array_equal(total, [n for _, n in nursery_load(p)])
    assert "24 cells in all" in words(draw("nursery", g, p)[0])


@pytest.mark.slow
def test_produce_has_a_panel_a_group_and_names_what_is_short(case):
    g, p = case
    shown = words(draw("produce", g, p)[0])
    assert "lettuce" in shown
    assert "greens" in shown
    short = {u.grams for u in p.unmet}
    assert short
    assert all(f"\u2212{grams}" in shown for grams in short)


def test_windows_name_reasons(case):
    g, p = case
    shown = words(draw("windows", g, p)[0])
    assert "sow" in shown
    assert "E: season ends first" in shown
    assert "E" in shown
    assert "pak choi" in shown


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2."""
    from matplotlib.colors import to_rgb

    rgb = np.array(to_rgb(colour))
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def test_everything_is_told_apart_without_colour():
    """Strokes or letters differ; what works is 3:1 darker than anything refused (WCAG 1.4.11)."""
    from scheduler.batches.window_reasons import BEFORE_SEASON, CODES, NO_SOW_DAY, WORKS
    from scheduler.pictures.look import INK, STYLES
    from scheduler.pictures.windows import MARKS

    assert len({strokes for _, strokes in STYLES}) == len(STYLES)
    assert len({m.letter for m in MARKS.values()}) == len(MARKS)
    # Every answer a sow date can have; these two are answers for transplanting days only.
    assert set(MARKS) == set(CODES) - {BEFORE_SEASON, NO_SOW_DAY}
    works = luminance(MARKS[WORKS].fill) + 0.05
    for code, mark in MARKS.items():
        if code != WORKS:
            assert (luminance(mark.fill) + 0.05) / works >= 3
    # Names stand on every fill: 4.5:1 (WCAG 1.4.3).
    for fill, _ in STYLES:
        assert (luminance(fill) + 0.05) / (luminance(INK) + 0.05) >= 4.5


@pytest.mark.slow
def test_hostile_names_and_empty_plans():
    """Names with mark-up, formulas, other scripts, and none of the room; a plan without work."""
    g = calendar_case.garden()
    tiers = (Tier(1, "pail", 1.0, 3),)
    columns = tuple(Column(n, tiers) for n in ("$x^2$", "<b>&", "列", "a" * 60))
    g = replace(g, columns=columns, name="$\\frac$ <script>" + "n" * 80)
    p = Plan("best_found", (), g.season.start, g.season.end, (), ())
    for what in SUBJECTS:
        for figure in draw(what, g, p):
            assert save(figure, "png").startswith(PNG)
            ET.fromstring(save(figure, "svg"))
    assert "$x^2$ 1" in words(draw("season", g, p)[0])


@pytest.mark.deep
def test_large_gardens_take_several_sheets():
    g = calendar_case.garden()
    tiers = g.columns[0].tiers
    g = replace(g, columns=tuple(Column(f"c{i:03d}", tiers) for i in range(23)))
    p = Plan("best_found", (), g.season.start, g.season.end, (), ())
    sheets = draw("season", g, p)  # 69 tiers, 60 a sheet, columns whole
    assert len(sheets) == 2
    shown = [w for sheet in sheets for w in words(sheet)]
    assert all(f"c{i:03d} {k}" in shown for i in range(23) for k in (1, 2, 3))
    assert len(draw("levels", g, p)) == 6  # 23 columns, four a sheet
    (one,) = draw("levels", g, p, columns=["c007"])
    assert "c007 3" in words(one)


def test_unknown_picture_and_format(case):
    with pytest.raises(ValueError, match="season"):
        draw("moon", *case)
    with pytest.raises(ValueError, match="png"):
        save(draw("nursery", *case)[0], "gif")


@pytest.mark.slow
def test_drawing_leaves_the_callers_settings_alone(case):
    import matplotlib

    before = dict(matplotlib.rcParams)
    save(draw("season", *case)[0], "png")
    assert dict(matplotlib.rcParams) == before


def test_without_matplotlib_the_line_to_install_is_told(case, monkeypatch):
    real = importlib.util.find_spec
    monkeypatch.setattr(
        importlib.util,
        "find_spec",
        lambda name, *a: None if name == "matplotlib" else real(name, *a),
    )
    with pytest.raises(NoPlots, match=r"pip install 'dryline\[plots\]'"):
        draw("season", *case)


@pytest.fixture
def folder(tmp_path) -> Path:
    g = load_garden(BALCONY)
    batch = calendar_case.batch(g, "b1", "pak_choi", "balcony", 1, date(2027, 4, 17))
    p = Plan("best_found", (), g.season.start, g.season.end, (batch,), (), garden=g.name)
    write_plan_dir(tmp_path / "plan", p, garden_sources(BALCONY))
    return tmp_path / "plan"


def command(*arguments: object) -> int:
    with pytest.raises(SystemExit) as end:
        main(["pictures", *map(str, arguments)])
    return int(end.value.code or 0)


def test_command_writes_every_picture(folder, capsys):
    assert command(folder) == 0
    assert capsys.readouterr().out.count("wrote ") == 6
    for what in SUBJECTS:
        assert (folder / f"{what}.png").read_bytes().startswith(PNG)


def test_command_writes_what_is_asked_for(folder, tmp_path, capsys):
    out = tmp_path / "new" / "pictures"
    code = command(
        folder, "--what", "season", "--what", "levels", "--format", "svg", "--out", out, "--json"
    )
    assert code == 0
    files = json.loads(capsys.readouterr().out)["files"]
    assert files == [str(out / "season.svg"), str(out / "levels.svg")]
    assert sorted(p.name for p in out.iterdir()) == ["levels.svg", "season.svg"]
    assert "pak choi" in (out / "season.svg").read_text()


def test_command_refuses_what_is_not_there(folder, tmp_path, capsys):
    assert command(folder, "--column", "roof") == 2
    assert "balcony" in capsys.readouterr().err
    assert command(tmp_path / "none") == 2
    assert command(folder, "--what", "moon") == 2
    (tmp_path / "file").write_text("x")
    assert command(folder, "--out", tmp_path / "file") == 2
    assert "Traceback" not in capsys.readouterr().err
