"""What stands today, as garden.yaml tells it: dates worked out, limits, every fault at once."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest
from standing_case import GARDEN, standing, write

from crops import development
from scheduler.base.faults import BadInput, Fault
from scheduler.garden.file import garden_sources, load_garden, write_sources


def faults(folder: Path, more: str) -> tuple[Fault, ...]:
    with pytest.raises(BadInput) as caught:
        load_garden(write(folder, more))
    return caught.value.faults


def test_what_is_told_is_read_and_the_season_reaches_back(tmp_path: Path) -> None:
    """kale: 21 nursery days, leaf lettuce: 14 (crops/data); the wish begins where it did."""
    path = write(
        tmp_path,
        """standing:
  - {crop: leaf_lettuce, column: A, tier: 1, planted_on: 2027-05-20, plants: 2, level: 20 cm}
  - {crop: kale, column: b2, tier: 1, planted_on: 2027-05-10, level: 9 L}
seedlings:
  - {crop: kale, sown_on: 2027-05-30, cells: 3}
""",
    )
    garden = load_garden(path)
    lettuce, kale = garden.standing
    assert (lettuce.plants, kale.plants) == (2, 3)
    assert lettuce.level == pytest.approx(20 * 0.45239, abs=1e-3)
    assert (kale.column, kale.level) == ("B2", 9.0)
    assert garden.today == garden.first == date(2027, 6, 7)
    days = round(garden.crops["kale"].nursery_days)
    assert kale.sown_on == date(2027, 5, 10) - timedelta(days=days) == garden.season.start
    assert garden.site.weather.index[0].date() == garden.season.start
    assert garden.demands[0].start == garden.today
    assert [(s.crop, s.sown_on, s.cells) for s in garden.seedlings] == [
        ("kale", date(2027, 5, 30), 3)
    ]


def test_a_copy_is_the_same_and_without_standing_nothing_changes(tmp_path: Path) -> None:
    here, there = tmp_path / "a", tmp_path / "b"
    here.mkdir(), there.mkdir()
    more = standing("crop: kale, column: A, tier: 1, size: 50 %")
    path = write(here, more)
    write_sources(there, garden_sources(path))
    copied = load_garden(there / "garden.yaml")
    assert copied.standing == load_garden(path).standing
    assert copied.season == load_garden(path).season
    for nothing in ("", "standing: []\nseedlings:\n"):
        bare = load_garden(write(here, nothing))
        assert bare.today is None
        assert bare.first == bare.season.start == date(2027, 6, 7)


@pytest.mark.parametrize("size", [0.1, 0.5, 0.95])
def test_a_size_is_dated_by_growth_in_the_place(tmp_path: Path, size: float) -> None:
    """By a loop of its own: planted that day it has the size by now, a day later not yet."""
    more = standing(f"crop: leaf_lettuce, column: A, tier: 1, size: {size:.0%}")
    garden = load_garden(write(tmp_path, more))
    planted, crop = garden.standing[0].planted_on, garden.crops["leaf_lettuce"]
    rate = development.daily_rate(crop, garden.site.weather, 0.9)
    at = garden.season.index(planted)
    now = garden.season.index(date(2027, 6, 7))
    assert development.mass_share(sum(rate[at:now])) >= size - 1e-6
    assert development.mass_share(sum(rate[at + 1 : now])) < size


def test_bought_seedlings_are_fit_on_the_day_they_came(tmp_path: Path) -> None:
    more = "seedlings: [{crop: kale, bought_on: 2027-06-07, cells: 4}]\n"
    garden = load_garden(write(tmp_path, more))
    crop, sown = garden.crops["kale"], garden.seedlings[0].sown_on
    rate = float(development.nursery_rate(crop, [20.0], [20.0])[0])
    days = (date(2027, 6, 7) - sown).days
    assert (days - 1) * rate < 1 - 1e-9 <= days * rate + 1e-9


@pytest.mark.parametrize(
    ("more", "limit", "beyond"),
    [
        (standing("crop: kale, column: A, tier: 2, planted_on: 2027-05-20, plants: {}"), 1, 2),
        (standing("crop: kale, column: A, tier: 1, planted_on: 2027-05-20, plants: {}"), 3, 4),
        ("seedlings: [{{crop: kale, sown_on: 2027-05-30, cells: {}}}]\n", 4, 5),
        (standing("crop: kale, column: A, tier: {}, planted_on: 2027-05-20"), 2, 3),
        (standing("crop: kale, column: B1, tier: {}, planted_on: 2027-05-20"), 1, 2),
        (
            standing("crop: kale, column: A, tier: 1, planted_on: 2027-05-20, level: {} L"),
            "15",
            "15.2",
        ),
        # 33.16 cm and what a ruler may show more, 0.16 cm.
        (
            standing("crop: kale, column: A, tier: 1, planted_on: 2027-05-20, level: {} cm"),
            "33.3",
            "33.4",
        ),
        (
            standing("crop: kale, column: A, tier: 1, planted_on: {}"),
            "2027-06-06",
            "2027-06-07",
        ),
        ("seedlings: [{{crop: kale, sown_on: {}, cells: 1}}]\n", "2027-06-06", "2027-06-07"),
        ("seedlings: [{{crop: kale, bought_on: {}, cells: 1}}]\n", "2027-06-07", "2027-06-08"),
        # 300 days back.
        (
            standing("crop: kale, column: A, tier: 1, planted_on: {}"),
            "2026-08-11",
            "2026-08-10",
        ),
    ],
)
def test_each_limit_is_kept_exactly(
    tmp_path: Path, more: str, limit: object, beyond: object
) -> None:
    more = more.replace("{crop", "{{crop").replace("}\n", "}}\n") if "{{" not in more else more
    load_garden(write(tmp_path, more.format(limit)))
    found = faults(tmp_path, more.format(beyond))
    assert len(found) == 1
    assert found[0].line == GARDEN.count("\n") + (2 if "standing:" in more else 1)


def test_the_cells_of_all_sowings_count_together(tmp_path: Path) -> None:
    more = "seedlings:\n  - {crop: kale, sown_on: 2027-05-30, cells: 2}\n"
    more += "  - {crop: leaf_lettuce, sown_on: 2027-05-30, cells: "
    load_garden(write(tmp_path, more + "2}\n"))
    (fault,) = faults(tmp_path, more + "3}\n")
    assert (fault.path, fault.value) == ("seedlings", "5 cells")


def test_every_fault_is_told_at_once(tmp_path: Path) -> None:
    found = faults(
        tmp_path,
        """standing:
  - {crop: kail, column: A, tier: 1, planted_on: 2027-05-20}
  - {crop: kale, column: C, tier: 1, planted_on: 2027-05-20}
  - {crop: kale, column: A, tier: 2}
  - {crop: kale, column: B1, tier: 1, planted_on: 2027-05-20, size: 50 %}
  - {crop: kale, column: b1, tier: 1, planted_on: 2027-05-20}
  - {crop: kale, column: B2, tier: 1, size: half}
  - {crop: kale, tier: 1, planted_on: 2027-05-20, hight: 3}
seedlings:
  - {crop: kale, cells: 1}
  - {crop: kale, sown_on: 2028-05-20, cells: 0}
""",
    )
    told = {(f.path, (f.line or 0) - GARDEN.count("\n")) for f in found}
    assert told == {
        ("standing[0].crop", 2),
        ("standing[1].column", 3),
        ("standing[2]", 4),
        ("standing[3]", 5),
        ("standing[4].tier", 6),
        ("standing[5].size", 7),
        ("standing[6].column", 8),
        ("standing[6].hight", 8),
        ("seedlings[0]", 10),
        ("seedlings[1].cells", 11),
        ("seedlings[1].sown_on", 11),
    }


def test_a_daily_table_must_reach_back_to_what_stands(tmp_path: Path) -> None:
    """Sown 17 days before 20 May; and of a size nothing can be told without days before."""
    path = write(tmp_path, "")
    day, rows = date(2027, 5, 3), ["date,tmin,tmax"]
    while day <= date(2027, 10, 1):
        rows.append(f"{day},14,24")
        day += timedelta(days=1)
    kale = standing("crop: kale, column: A, tier: 1, planted_on: 2027-05-20")
    path.write_text(GARDEN + kale)
    (tmp_path / "climate.csv").write_text("\n".join(rows))
    assert load_garden(path).season.start == date(2027, 5, 3)
    (tmp_path / "climate.csv").write_text("\n".join([rows[0], *rows[2:]]))
    with pytest.raises(BadInput, match="when what stands was sown"):
        load_garden(path)
    (tmp_path / "climate.csv").write_text("\n".join([rows[0], *rows[40:]]))
    path.write_text(GARDEN + standing("crop: kale, column: A, tier: 1, size: 90 %"))
    with pytest.raises(BadInput, match=r"standing\[0\].size"):
        load_garden(path)
