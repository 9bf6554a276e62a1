"""How long crops take in each weather year, and what is told of it."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from not_empty import some
from verify_case import day, garden

from scheduler.batches.courses import course
from scheduler.batches.ready_years import days_to_ready, planted_between, ready_years, spell
from scheduler.cli import main
from scheduler.garden.file import load_garden
from scheduler.garden.kinds import tier_kinds
from scheduler.outputs.ready_years import data, text
from scheduler.years.generator import generated_years
from scheduler.years.spread import SeasonSpread

BALCONY = Path(__file__).parents[3] / "examples" / "balcony" / "garden.yaml"


def mean_day(g, count: int = 1):
    return generated_years(g, count, SeasonSpread().scaled(0.0))


def test_on_the_mean_day_it_is_the_course_that_plans_stand_on() -> None:
    g = load_garden(BALCONY)
    kind = tier_kinds(g)[1]
    starts = np.flatnonzero(g.season.work_mask)
    for crop in some(g.crops.values(), 3):
        wanted = course(g, crop, kind.tier, starts).ready - starts
        assert days_to_ready(crop, kind.tier.light, mean_day(g), starts)[0].tolist() == (
            wanted.tolist()
        )


def test_a_year_five_degrees_cooler_takes_by_the_line_longer() -> None:
    # The case's crops: base 4, optimum and reference 20 degC, ready in 20 days. At 15 degC the
    # response is 11/16, so 20 * 16 / 11 = 29.1: ready on the morning of the 30th day; at 4 never.
    g = garden()
    years = mean_day(g, 3)
    low = years.tmin.copy()
    low[1] = 15.0
    low[2] = 4.0
    years = replace(years, tmin=low, tmax=low.copy())
    crop = next(iter(g.crops.values()))
    found = days_to_ready(crop, 1.0, years, np.array([0, 50, 190, 191]))
    # There are 211 days of weather, the last is day 210: what is ready after it is not told.
    assert found[0].tolist() == [20.0, 20.0, 20.0, np.inf]
    assert found[1].tolist() == [30.0, 30.0, np.inf, np.inf]
    assert found[2].tolist() == [np.inf] * 4


def test_three_of_five_years_lie_between_and_half_before() -> None:
    nine = np.array([[40.0], [31], [32], [33], [34], [35], [36], [37], [38]])
    found = spell(nine)  # sorted: 31 32 33 34 35 36 37 38 40; the 2nd, 5th and 8th of nine
    assert (found.early[0], found.usual[0], found.late[0]) == (32.0, 35.0, 38.0)


def case(past_years: int):
    g = garden()
    kind = tier_kinds(g)[0]
    past = replace(generated_years(g, 9, seed=1), names=tuple(str(2001 + k) for k in range(9)))
    if past_years < 9:
        from scheduler.years.purposes import some

        past = some(past, range(past_years))
    return g, ready_years(g, kind, past if past_years else None, generated_years(g, 20, seed=2))


def test_too_few_past_years_tell_no_spread() -> None:
    for past_years, told in ((0, False), (3, False), (4, True)):
        g, found = case(past_years)
        assert (found[0].of_past is not None) == told
        said = text(g, found, ["a note"])
        assert ("past years  between" in said) == told
        assert ("So few past years" in said) == (past_years == 3)
        assert said.rstrip().endswith("a note")


def test_the_text_fits_and_its_rows_are_those_of_the_arrays() -> None:
    g, found = case(9)
    said = text(g, found, []).splitlines()
    assert max(map(len, said)) <= 80
    one = found[0]
    assert one.planted[0] == day(0)
    row = next(line for line in said if line.strip().startswith("5 Apr"))
    usual = day(0) + timedelta(days=round(one.of_past.usual[0]))
    assert f"{usual.day} {usual:%b}" in row
    climate = day(0) + timedelta(days=20)
    assert row.endswith(f"{climate.day} {climate:%b}")
    # A row for each fortnight, as long as half of the years are ready within the season.
    rows = [line for line in said[:20] if line[:6].strip()[:1].isdigit()]
    assert len(rows) >= 4


def test_only_days_asked_for_are_told() -> None:
    _, found = case(9)
    some = planted_between(found[0], day(10), day(20))
    assert some.planted == tuple(d for d in found[0].planted if day(10) <= d <= day(20))
    assert some.past.shape == (9, len(some.planted))
    assert planted_between(found[0], day(500), None).planted == ()


def test_data_have_a_figure_for_each_past_year_and_none_for_never() -> None:
    g, found = case(4)
    body = data(g, found, ["a note"])
    rows = body["crops"][0]["planting_days"]
    assert body["past_years"] == ["2001", "2002", "2003", "2004"]
    assert rows[0]["climate"] == 20.0
    assert [len(row["past_years"]) for row in rows] == [4] * len(rows)
    json.dumps(body, allow_nan=False)


@pytest.mark.slow
def test_the_picture_draws_past_and_generated_years_apart() -> None:
    pytest.importorskip("matplotlib")
    from scheduler.pictures import ready_years_picture, save

    g, found = case(9)
    figure = ready_years_picture(g, found)
    assert len(figure.axes) == len(found)
    for axes, one in zip(figure.axes, found, strict=True):
        assert len(axes.lines) >= 9 + 2  # each past year, the usual generated one, the climate
        assert len(axes.collections) == 1  # three of five generated years
        thin = [line for line in axes.lines if line.get_linewidth() == 0.5]
        shown = len(thin[0].get_xdata())
        assert [line.get_ydata().tolist() for line in thin] == [
            year[:shown].tolist() for year in one.past
        ]
    svg = save(figure, "svg").decode()
    assert "past years, 2001 to 2009" in svg
    assert "three of five generated years" in svg
    _, found = case(0)
    assert "past years" not in save(ready_years_picture(g, found), "svg").decode()


def test_a_crop_that_is_never_ready_in_time_is_told_so() -> None:
    pytest.importorskip("matplotlib")
    from scheduler.pictures import ready_years_picture, save

    g, found = case(0)
    slow = replace(found[0], made=np.full_like(found[0].made, np.inf))
    assert "not ready before the season ends" in text(g, [slow], [])
    assert "not ready before" in save(ready_years_picture(g, [slow]), "svg").decode()


def run(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as ended:
        main([str(a) for a in arguments])
    out, err = capsys.readouterr()
    return int(ended.value.code or 0), out, err


def past_csv(path: Path) -> Path:
    lines = ["date,tmin,tmax"]
    first = date(2015, 1, 1)
    for k in range(6 * 365 + 2):
        warm = 18 - 12 * np.cos(2 * np.pi * k / 365.25) + (k // 365)
        lines.append(f"{first + timedelta(days=k)},{warm - 5:.1f},{warm + 5:.1f}")
    path.write_text("\n".join(lines) + "\n")
    return path


@pytest.mark.slow
def test_the_command_takes_past_weather_and_a_tier(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    past = past_csv(tmp_path / "past.csv")
    code, out, _ = run(
        capsys,
        "windows",
        BALCONY,
        "--years",
        "--past",
        past,
        "--tier",
        "Balcony 2",
        "--crop",
        "mizuna",
    )
    assert code == 0
    assert "balcony tier 2" in out
    assert "6 past years" in out
    assert "PAK CHOI" not in out
    assert max(map(len, out.splitlines())) <= 80
    file = tmp_path / "years.svg"
    code, out, _ = run(capsys, "windows", BALCONY, "--years", "--format", "svg", "--out", file)
    assert code == 0
    assert b"<svg" in file.read_bytes()
    code, out, _ = run(capsys, "windows", BALCONY, "--years", "--json")
    assert json.loads(out)["generated_years"] == 200


def test_what_cannot_be_asked_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    short = tmp_path / "short.csv"
    short.write_text("date,tmin,tmax\n2020-01-01,1,2\n")
    for arguments, said in (
        (["--years", "--tier", "roof 1"], "no tier 'roof 1'"),
        (["--years", "--tier", "balcony 9"], "no tier 'balcony 9'"),
        (["--years", "--tier", "balcony"], "no tier 'balcony'"),
        (["--years", "--past", short], "365 days or more"),
        (["--tier", "balcony 1"], "--years"),
    ):
        code, out, err = run(capsys, "windows", BALCONY, *arguments)
        assert code == 2, arguments
        assert said in out + err, arguments
        assert "Traceback" not in out + err
