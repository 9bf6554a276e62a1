"""Places that a garden lists for a column: read, planned in each, the best kept and written down."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
import yaml
from click.testing import CliRunner
from verify_case import day, garden

from crops.place import KINDS, OPEN, Place
from scheduler.base.faults import BadInput
from scheduler.batches.windows import sow_windows
from scheduler.cli import cli
from scheduler.garden.file import load_garden
from scheduler.garden.may_stand import Way, settled, written
from scheduler.garden.model import Choice, Garden, Stay
from scheduler.garden.placed import place_on
from scheduler.plans.folder import read_plan_dir
from scheduler.shortfall import window_text
from scheduler.solvers.cp_sat import Settings
from scheduler.usecases import standing_where
from scheduler.usecases.planning import plan_season
from scheduler.usecases.standing_where import stand_well
from scheduler.usecases.stood import Look
from scheduler.verify import verify
from scheduler.words.words import Units

BALCONY = Path(__file__).parents[2] / "examples" / "balcony"
PLACES = {"box": {"kind": "frame"}, "pit": {"kind": "eaves", "light": "3 %"}}
ROOM = replace(KINDS["indoors"], name="room", temperature=20.0, light=0.3)
QUICK = Settings(time_limit=600, workers=1, deterministic=0.02)


def seen(worth: Callable[[Way], float | None]) -> Callable[..., Look]:
    """A look whose worth is set."""
    return lambda _self, way: Look(way, worth(way), worth(way))


def write(tmp_path: Path, **column: object) -> Path:
    """The balcony with places, its column with more keys."""
    text = (BALCONY / "garden.yaml").read_text()
    more = "".join(f"    {key}: {json.dumps(value)}\n" for key, value in column.items())
    name = "  - name: balcony\n"
    assert name in text
    text = text.replace(name, name + more) + f"\nplaces: {json.dumps(PLACES)}\n"
    (tmp_path / "garden.yaml").write_text(text)
    (tmp_path / "climate.csv").write_bytes((BALCONY / "climate.csv").read_bytes())
    return tmp_path / "garden.yaml"


def test_windows_say_for_which_place_their_dates_are(tmp_path: Path) -> None:
    garden = load_garden(write(tmp_path, may_stand=["box", "open"]))
    found = sow_windows(garden, (next(iter(garden.crops)),))
    first = garden.may_stand[0].places[0].name
    whole = " ".join(window_text.text(garden, found, Units("metric")).split())
    assert f"dates are for {first}, until a plan has chosen." in whole
    told = window_text.data(garden, found, Units("metric"))["place_not_chosen"]
    assert [one["dates_are_for"] for one in told] == [c.places[0].name for c in garden.may_stand]
    settled_on = replace(garden, may_stand=())
    assert "until a plan has chosen" not in window_text.text(settled_on, found, Units("metric"))


def test_until_there_is_a_plan_a_column_stands_in_the_first(tmp_path: Path) -> None:
    there = load_garden(write(tmp_path, may_stand=["box", "open"]))
    assert place_on(there.columns[0].tiers[2], there.season.end).name == "box"
    assert [p.name for p in there.may_stand[0].places] == ["box", "open"]
    assert there.may_stand[0].columns == ("balcony",)
    assert load_garden(BALCONY / "garden.yaml").may_stand == ()


@pytest.mark.parametrize(
    ("column", "path", "expected"),
    [
        ({"may_stand": ["box", "opn"]}, "columns[0].may_stand[1]", "a place: open"),
        ({"may_stand": ["box", "pit", "box"]}, "columns[0].may_stand[2]", "each place once"),
        ({"may_stand": ["box"]}, "columns[0].may_stand", "at least 2"),
        ({"may_stand": ["box", "pit"], "place": "box"}, "columns[0].may_stand", "either place"),
    ],
)
def test_faults_of_a_choice(tmp_path: Path, column: object, path: str, expected: str) -> None:
    with pytest.raises(BadInput) as error:
        load_garden(write(tmp_path, **column))  # type: ignore[arg-type]
    (fault,) = error.value.faults
    assert fault.path == path
    assert expected in fault.expected
    assert fault.line


TEXTS = {
    "lines": "columns:\n- name: A\n  may_stand:\n  - open   # by the door\n  - box\n  # no more\n  tiers: x\n",
    "one line": "columns:\n- {name: A, 'may_stand': [open, box], tiers: x}\n",
    "two lines": "columns:\n- name: A\n  may_stand: [open,   # by the door\n    box\n  ]\n  tiers: x\n",
}


@pytest.mark.parametrize("form", TEXTS)
def test_what_is_chosen_is_written_in_place_of_the_choice(form: str) -> None:
    box = Place("box", "frame")
    choices = (Choice(0, ("A",), (OPEN, box)),)
    whole = written(TEXTS[form].encode(), choices, ((Stay(day(0), day(90), box),),)).decode()
    assert yaml.safe_load(whole)["columns"] == [{"name": "A", "place": "box", "tiers": "x"}]
    assert "may_stand" not in whole
    assert ("# no more" in whole) == (form == "lines")
    way = ((Stay(day(0), day(20), box), Stay(day(21), day(90), OPEN)),)
    moved = yaml.safe_load(written(TEXTS[form].encode(), choices, way))["columns"][0]["place"]
    assert moved == [{"in": "box", "to": day(20)}, {"in": "open", "from": day(21)}]


def test_entries_that_share_their_list_each_get_their_own() -> None:
    raw = b"columns:\n- {name: A, may_stand: &p [open, box]}\n- {name: B, may_stand: *p}\n"
    box = Place("box", "frame")
    choices = tuple(Choice(n, (name,), (OPEN, box)) for n, name in enumerate("AB"))
    way = ((Stay(day(0), day(90), box),), (Stay(day(0), day(90), OPEN),))
    told = yaml.safe_load(written(raw, choices, way))["columns"]
    assert told == [{"name": "A", "place": "box"}, {"name": "B", "place": "open"}]


def choosing_garden(entries: int, places: tuple[Place, ...], columns: int = 1) -> Garden:
    """The garden of `verify_case`, its first column as often as asked for, each choosing."""
    g = garden()
    first = g.columns[0]
    names = [f"C{n}" for n in range(entries * columns)]
    choices = tuple(
        Choice(n, tuple(names[n * columns : (n + 1) * columns]), places) for n in range(entries)
    )
    return replace(g, columns=tuple(replace(first, name=name) for name in names), may_stand=choices)


@pytest.mark.parametrize("columns", [1, 3])
def test_the_place_that_brings_most_is_kept_wherever_it_is_listed(
    monkeypatch: pytest.MonkeyPatch, columns: int
) -> None:
    """Each way's worth is set: the second of three is kept, for all columns of the entry."""
    g = choosing_garden(1, (OPEN, KINDS["frame"], KINDS["shade"]), columns)
    worth = {"open": 0.5, "frame": 0.7, "shade": None}
    monkeypatch.setattr(
        standing_where._Looks, "_look", seen(lambda way: worth[way[0][0].place.kind])
    )
    monkeypatch.setattr(standing_where, "_changes", lambda *_: iter(()))
    found = stand_well(g, 0, QUICK)
    assert [look.share for look in found.looks] == [0.5, 0.7, None]
    there = settled(g, found.way)
    assert not there.may_stand
    assert {place_on(c.tiers[0], day(5)).kind for c in there.columns} == {"frame"}
    told = "\n".join(found.lines())
    assert "3 of 3 ways" in told
    assert "none" in told
    assert [row["kept"] for row in found.data()] == [False, True, False]


@pytest.mark.parametrize(("entries", "ways", "tried"), [(1, 2, 2), (2, 4, 4), (3, 8, 4)])
def test_few_ways_are_all_planned_of_many_one_entry_after_another(
    monkeypatch: pytest.MonkeyPatch, entries: int, ways: int, tried: int
) -> None:
    """Of three entries of two places, 8 ways, the first and one other place of each: 1 + 3."""
    g = choosing_garden(entries, (OPEN, KINDS["frame"]))
    monkeypatch.setattr(
        standing_where._Looks,
        "_look",
        seen(lambda way: sum(stays[0].place.kind == "frame" for stays in way) / 10),
    )
    monkeypatch.setattr(standing_where, "_changes", lambda *_: iter(()))
    found = stand_well(g, 0, QUICK)
    assert (found.ways, len(found.looks)) == (ways, tried)
    assert {stays[0].place.kind for stays in found.way} == {"frame"}


@pytest.mark.parametrize(("seconds", "looks"), [(7.9, 0), (8.0, 2), (12.0, 3)])
def test_no_more_is_looked_at_than_there_is_time_for(
    monkeypatch: pytest.MonkeyPatch, seconds: float, looks: int
) -> None:
    """Half the time, 2 s a look: below 8 s there is not room for two."""
    g = choosing_garden(1, (OPEN, KINDS["frame"], KINDS["shade"]))
    monkeypatch.setattr(standing_where._Looks, "_look", seen(lambda _way: 0.5))
    found = stand_well(g, 0, replace(QUICK, time_limit=seconds))
    assert len(found.looks) == looks
    assert found.way[0][0].place == OPEN
    assert found.spent <= seconds / 2 + 1e-9


def frosty(g: Garden, until: int) -> Garden:
    """Nights of -10 degC on the first days, 20 degC from then on."""
    weather = g.site.weather.copy()
    weather.iloc[:until, weather.columns.get_loc("tmin")] = -10.0
    return replace(g, site=replace(g.site, weather=weather))


def test_a_change_is_looked_at_for_the_first_work_day_after_the_frost() -> None:
    """40 nights of frost, then 20 degC and 20 mol; the room has 6 mol of the 10 asked for.

    Pace in the room 0.6 of that outdoors in the warm part, for each crop alike: 40 x 0.6 + 51 x 1
    against 91 x 0.6, so that to move on day 40 is best.
    """
    g = frosty(choosing_garden(1, (ROOM, OPEN)), 40)
    inside = ((Stay(day(0), day(400), ROOM),),)
    (way,) = standing_where._changes(g, inside)
    assert [(s.place, s.start) for s in way[0]] == [(ROOM, day(0)), (OPEN, day(40))]
    # Worked on the weekday of day 43 only, it is carried then.
    only = replace(g, season=replace(g.season, work_days=frozenset({day(43).weekday()})))
    (way,) = standing_where._changes(only, inside)
    assert way[0][1].start == day(43)
    # From the open to the room the best day is the first that may be: no better than the room alone.
    outside = ((Stay(day(0), day(400), OPEN),),)
    assert [w[0][0].place for w in standing_where._changes(g, outside)] == [ROOM]
    # Without frost nothing speaks for the room.
    assert not list(
        standing_where._changes(
            choosing_garden(1, (ROOM, OPEN)), ((Stay(day(0), day(400), OPEN),),)
        )
    )


@pytest.mark.parametrize(("kg", "tried"), [(2.0, 1), (1.9, 0)])
def test_no_change_of_what_is_too_heavy_to_be_carried(kg: float, tried: int) -> None:
    """An empty vessel has 2 kg."""
    g = frosty(choosing_garden(1, (ROOM, OPEN)), 40)
    g = replace(g, limits=replace(g.limits, lift_kg=kg))
    assert len(list(standing_where._changes(g, ((Stay(day(0), day(400), ROOM),),)))) == tried


@pytest.mark.parametrize(("gain", "kept"), [(0.011, True), (0.009, False)])
def test_a_change_is_kept_if_it_brings_a_hundredth_of_the_wish(
    monkeypatch: pytest.MonkeyPatch, gain: float, kept: bool
) -> None:
    g = frosty(choosing_garden(1, (ROOM, OPEN)), 40)
    monkeypatch.setattr(
        standing_where._Looks,
        "_look",
        seen(lambda way: 0.5 + gain * (len(way[0]) > 1) - 0.1 * (way[0][0].place == OPEN)),
    )
    found = stand_well(g, 0, QUICK)
    assert len(found.looks) == 3
    assert (len(found.way[0]) == 2) is kept
    told = " ".join(" ".join(found.lines()).split())
    assert "1 way with a change of place was planned" in told
    assert f"room until {day(39).day} {day(39):%B}, then open" in told


@pytest.mark.slow
def test_a_plan_in_the_place_it_chose_is_written_and_verifies(tmp_path: Path) -> None:
    """In a pit with 3 % of the light nothing grows, though it is listed first."""
    path = write(tmp_path, may_stand=["pit", "open"])
    options = ["--time-limit", "8", "--workers", "1", "--years", "4"]
    run = CliRunner().invoke(cli, ["plan", str(path), "--out", str(tmp_path / "p"), *options])
    assert run.exit_code == 0, run.output
    assert "2 of 2 ways for the whole season were planned" in " ".join(run.output.split())
    assert "none  balcony: pit" in run.output
    g, plan = read_plan_dir(tmp_path / "p")
    assert place_on(g.columns[0].tiers[0], date(2027, 5, 1)).name == "open"
    assert not g.may_stand
    assert verify(g, plan).ok
    assert "may_stand" in path.read_text()
    done = CliRunner().invoke(cli, ["verify", str(tmp_path / "p"), "--json"])
    assert done.exit_code == 0
    assert json.loads(done.output)["ok"] is True


@pytest.mark.slow
def test_a_plan_moves_to_where_more_grows() -> None:
    """The same as by hand above, planned: the change from the room to the open is kept."""
    g = frosty(choosing_garden(1, (ROOM, OPEN)), 40)
    made = plan_season(g, replace(QUICK, deterministic=0.02))
    assert made.stood is not None
    shares = {len(look.way[0]): look.share for look in made.stood.looks if look.share is not None}
    assert shares[2] > max(look.share or 0.0 for look in made.stood.looks if len(look.way[0]) == 1)
    assert len(made.garden.columns[0].tiers[0].stays) == 1
    assert np.all([place_on(t, day(40)) == OPEN for t in made.garden.columns[0].tiers])
    assert verify(made.garden, made.plan).ok


def test_what_is_worth_most_is_kept_though_another_brings_more(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """As with plans in other ways: chosen by worth, told in plain grams, and said."""
    g = choosing_garden(1, (OPEN, KINDS["frame"]))
    looks = {"open": (0.6, 0.5), "frame": (0.5, 0.6)}
    monkeypatch.setattr(
        standing_where._Looks, "_look", lambda _self, way: Look(way, *looks[way[0][0].place.kind])
    )
    monkeypatch.setattr(standing_where, "_changes", lambda *_: iter(()))
    found = stand_well(g, 0, QUICK)
    assert found.way[0][0].place.kind == "frame"
    assert any("worth most" in line for line in found.lines())


def test_where_something_stands_no_place_is_chosen() -> None:
    """The column stands where it is: in the first that is listed."""
    g = replace(choosing_garden(1, (ROOM, OPEN)), today=day(7))
    found = stand_well(g, 4, QUICK)
    assert found.under_way
    assert found.looks == ()
    assert settled(g, found.way).columns[0].tiers[0].stays[0].place == ROOM
    assert "Something stands today" in found.lines()[0]
    assert found.data() == []
