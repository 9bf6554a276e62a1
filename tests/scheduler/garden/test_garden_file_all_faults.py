"""No fault of a garden waits until another one is mended, and none is told twice."""

from __future__ import annotations

import shutil
from itertools import permutations
from pathlib import Path

import pytest

from scheduler.base.faults import BadInput, Fault
from scheduler.garden.file import load_garden
from tests.scheduler.malformed.cases import CASES

HERE = Path(__file__).parents[1] / "malformed"
BASE = (HERE / "base.yaml").read_text()

# One of each phase of reading: shape, name, range, crops, what must fit together, other files.
TOGETHER = [
    "unknown key",
    "negative light",
    "column with two blanks",
    "numbered column that differs by a capital",
    "override with a wrong unit",
    "unknown crop",
    "title with an escape",
    "group twice",
    "wish for an unknown crop",
    "unknown family",
    "climate file missing",
    "half a day",
    "crop in two wishes",
    "nearly a weekday",
]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in ("climate.csv", "tatsoi.yaml"):
        shutil.copy(HERE / name, tmp_path)
    return tmp_path


def faults(folder: Path, text: str) -> tuple[Fault, ...]:
    (folder / "garden.yaml").write_text(text)
    with pytest.raises(BadInput) as caught:
        load_garden(folder / "garden.yaml")
    return caught.value.faults


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (a, b)
        for a, b in permutations(TOGETHER, 2)
        if BASE.replace(*CASES[b][:2]).count(CASES[a][0]) == 1
    ],
)
def test_a_fault_is_told_beside_any_other(folder: Path, one: str, other: str) -> None:
    text = BASE.replace(*CASES[other][:2]).replace(*CASES[one][:2])
    assert CASES[one][2] in [f.path for f in faults(folder, text)]


@pytest.mark.parametrize(
    "name",
    ["unprintable name", "formula as a name", "column with two blanks", "column with an escape"],
)
def test_a_faulty_name_is_told_once(folder: Path, name: str) -> None:
    """It was told once more as a column that has neither name nor names."""
    text = BASE.replace(*CASES[name][:2])
    (fault,) = faults(folder, text)
    assert fault.path == CASES[name][2]


def test_faults_of_the_climate_table_beside_those_of_the_site(folder: Path) -> None:
    table = (folder / "climate.csv").read_text()
    (folder / "climate.csv").write_text(table.replace("7,16.0", "7,36.0"))
    text = BASE.replace("latitude: 44.1 degree", "latitude: far north")
    assert {(Path(f.file).name, f.path) for f in faults(folder, text)} == {
        ("garden.yaml", "site.latitude"),
        ("climate.csv", "tmin"),
    }


def test_a_mention_of_a_faulty_crop_is_no_fault(folder: Path) -> None:
    """Neither of one with a faulty override, nor of one whose file cannot be read."""
    for name in ("override with a wrong unit", "crop file missing"):
        text = BASE.replace(*CASES[name][:2])
        assert [f.path for f in faults(folder, text)] == [CASES[name][2]]


@pytest.mark.parametrize("season", ["start: 2027-04-12\n  end: 2027-13-10", "end: soon", "end: "])
def test_a_faulty_end_of_the_season_hides_no_fault_of_days(folder: Path, season: str) -> None:
    """What begins before the season's start, or ends before it begins, is wrong whatever the end."""
    text = BASE.replace("start: 2027-04-12\n  end: 2027-10-10", season)
    known = "start: 2027-04-12" in season
    text = text.replace("per_week: 2 lb, from: 2027-05-31", "per_week: 2 lb, from: 2027-01-31")
    text = text.replace("from: 2027-05-31, to: 2027-10-10", "from: 2027-05-31, to: 2027-05-01")
    text = text.replace(
        "{from: 2027-08-06, to: 2027-08-15}",
        "{from: 2027-08-06, to: 2027-08-01}\n    - {from: 2027-01-06, to: 2027-01-08}\n"
        "    - {from: tomorrow, to: 2027-01-08}",
    )
    text = text.replace("from: 2027-05-01, to: 2027-09-01", "from: 2027-01-01, to: 2027-02-01")
    found = faults(folder, text)
    assert len(set(found)) == len(found)
    told = {f.path: f.expected for f in found}
    always = {"season.end", "demand[0].to", "season.away[0].to", "season.away[2].from"}
    only = {"demand[1].from", "season.away[1].from", "columns[0].tiers[1].available[0].from"}
    assert set(told) == always | (only if known else {"season.start"})
    if known:
        assert told["demand[1].from"] == "a day of the season, from 2027-04-12 on"
        assert told["season.away[1].from"] == "days that touch the season, from 2027-04-12 on"


def test_a_faulty_start_of_the_season_hides_no_fault_of_days(folder: Path) -> None:
    text = BASE.replace("start: 2027-04-12", "start: spring")
    text = text.replace("per_week: 2 lb, from: 2027-05-31", "per_week: 2 lb, from: 2027-11-30")
    found = {f.path: f.expected for f in faults(folder, text)}
    # The wish has no end of its own: it ends with the season, before it begins.
    assert set(found) == {"season.start", "demand[1].from", "demand[1].to"}
    assert found["demand[1].from"] == "a day of the season, up to 2027-10-10"


def test_a_faulty_tier_hides_no_fault_of_its_column(folder: Path) -> None:
    """Neither its own vessel, spans and rests, nor those of the tiers beside it."""
    spans = "available: [{from: 2027-05-01, to: 2027-04-01}, {from: soon, to: 2027-05-01}]"
    tiers = (
        "{vessel: pot, light: 175 %, plants: 3, rests: {family: Mossaceae, until: 2027-05-01}}",
        f"{{vessel: pail, light: 60 %, plants: 3, {spans}}}",
    )
    first = BASE.index("      - {vessel: pail")
    last = BASE.index("  - name: C")
    rows = "".join(f"      - {tier}\n" for tier in tiers)
    text = BASE[:first] + rows + BASE[last:]
    text = text.replace("lift: 16 kg", "lift: heavy").replace("turnaround: 1 ", "turnaround: 1.5 ")
    tier = "columns[0].tiers"
    assert {f.path for f in faults(folder, text)} == {
        f"{tier}[0].vessel",
        f"{tier}[0].light",
        f"{tier}[0].rests[0].family",
        f"{tier}[1].available[0].to",
        f"{tier}[1].available[1].from",
        "limits.lift",
        "limits.turnaround",
    }


DAILY = "date,tmin,tmax\n" + "".join(f"2027-05-{day:02},5,15\n" for day in range(1, 31))


@pytest.mark.parametrize(
    ("season", "missing"),
    [
        # The rows end on 30 May, the season begins on 12 April and ends on 10 October.
        ("start: spring\n  end: 2027-10-10", "rows for 2027-10-10"),
        ("start: spring\n  end: 2027-05-31", "rows for 2027-05-31"),
        ("start: spring\n  end: 2027-05-30", None),
        ("start: 2027-05-01\n  end: soon", None),
        ("start: 2027-04-30\n  end: soon", "rows for 2027-04-30"),
        ("start: spring\n  end: soon", None),
    ],
)
def test_a_faulty_season_hides_no_missing_day_of_the_climate(
    folder: Path, season: str, missing: str | None
) -> None:
    (folder / "daily.csv").write_text(DAILY)
    text = BASE.replace("start: 2027-04-12\n  end: 2027-10-10", season)
    text = text.replace("climate: climate.csv", "climate: daily.csv")
    found = {f.path: f.expected for f in faults(folder, text)}
    assert found.get("site.climate") == missing


def test_all_missing_months_are_told(folder: Path) -> None:
    table = folder / "climate.csv"
    lines = [x for x in table.read_text().splitlines() if not x.startswith(("7,", "8,", "12,"))]
    table.write_text("\n".join(lines) + "\n")
    assert [f.value for f in faults(folder, BASE)] == ["months 7, 8, 12 missing"]


def test_a_season_that_ends_before_it_starts_hides_no_fault_of_days(folder: Path) -> None:
    text = BASE.replace("end: 2027-10-10\n  work", "end: 2027-03-10\n  work")
    text = text.replace("from: 2027-05-31, to: 2027-10-10", "from: 2027-05-31, to: 2027-05-01")
    text = text.replace("from: 2027-08-06, to: 2027-08-15", "from: 2027-08-06, to: 2027-08-01")
    assert {f.path for f in faults(folder, text)} == {
        "season.end",
        "demand[0].to",
        "season.away[0].to",
    }


def test_a_faulty_mass_hides_no_fault_of_a_wish(folder: Path) -> None:
    wish = "{group: greens, per_week: 2 lb, from: 2027-05-31}"
    text = BASE.replace(wish, "{group: grens, per_week: 2 inches, from: 2027-01-31}")
    assert {f.path for f in faults(folder, text)} == {
        "demand[1].group",
        "demand[1].per_week",
        "demand[1].from",
    }


def test_a_list_of_crops_that_cannot_be_read_is_told_once(folder: Path) -> None:
    """It was told once more as a group that no crop is of."""
    text = BASE.replace("crops: [basil, tatsoi]", "crops: {basil: yes}")
    assert [f.path for f in faults(folder, text)] == ["demand[2].crops"]


PAIL = "    bottom: 26 cm\n    top: 29 cm\n    height: 37 cm\n    fill: 18 L\n    keep: 2 cm\n"


@pytest.mark.parametrize(
    ("pail", "paths"),
    [
        # A missing, faulty or needless size, beside a fill above the rim, too much, or under keep.
        ("    top: 29 cm\n    height: 37 cm\n    fill: 38 cm\n", {"bottom", "fill"}),
        ("    top: 29 cm\n    height: 37 cm\n    fill: 37 cm\n", {"bottom"}),
        ("    top: 29 cm\n    height: 37 cm\n    fill: 9 cm\n    keep: 9 cm\n", {"bottom", "keep"}),
        ("    top: 29 cm\n    height: 37 cm\n    fill: 9 cm\n    keep: 8 cm\n", {"bottom"}),
        ("    top: 29 cm\n    height: 37 cm\n    fill: 9 L\n    keep: 37 cm\n", {"bottom", "keep"}),
        ("    bottom: 26 cm\n    top: 29 cm\n    fill: 9 cm\n    keep: 9 cm\n", {"height", "keep"}),
        (PAIL.replace("26 cm", "26 kg").replace("18 L", "38 cm"), {"bottom", "fill"}),
        (PAIL.replace("18 L", "99 L") + "    width: 20 cm\n", {"width", "fill"}),
        # A fill that cannot be read hides neither sizes nor the keep level.
        ("    top: 29 cm\n    height: 37 cm\n    fill: full\n", {"bottom", "fill"}),
        (PAIL.replace("18 L", "full").replace("2 cm", "37 cm"), {"fill", "keep"}),
        (PAIL.replace("    fill: 18 L\n", ""), {"fill"}),
        (PAIL.replace("18 L", "38 cm").replace("37 cm", "37 kg"), {"height"}),
    ],
)
def test_a_fault_of_a_vessel_hides_no_other_of_it(folder: Path, pail: str, paths: set[str]) -> None:
    found = faults(folder, BASE.replace(PAIL, pail))
    assert sorted(f.path for f in found) == sorted(f"vessels.pail.{p}" for p in paths)


def test_a_shape_that_cannot_be_read_hides_no_fault_of_depths(folder: Path) -> None:
    text = BASE.replace(PAIL, PAIL.replace("18 L", "38 cm")).replace("shape: round", "shape: oval")
    assert {f.path for f in faults(folder, text)} == {"vessels.pail.shape", "vessels.pail.fill"}
