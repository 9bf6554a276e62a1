"""What a sound garden file gives: values, units, defaults, examples."""

import math
import shutil
from dataclasses import fields, replace
from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from crops.catalogue import catalogue
from crops.names import same_crop
from scheduler.garden.fields import measure
from scheduler.garden.file import garden_sources, load_garden, write_sources
from scheduler.garden.model import Demand, Limits, Nursery, Rest, Span, Tier
from scheduler.garden.weekly import wish

HERE = Path(__file__).parents[1] / "malformed"
EXAMPLES = Path(__file__).parents[3] / "examples"


def same(a, b):
    """Equality of gardens; frames do not compare to one truth value."""
    pd.testing.assert_frame_equal(a.site.weather, b.site.weather)
    site = replace(a.site, weather=None)
    assert site == replace(b.site, weather=None)
    assert replace(a, site=site) == replace(b, site=site)


@pytest.fixture
def garden():
    return load_garden(HERE / "base.yaml")


def edited(tmp_path, *changes):
    text = (HERE / "base.yaml").read_text()
    for old, new in changes:
        assert text.count(old) == 1
        text = text.replace(old, new)
    for name in ("climate.csv", "tatsoi.yaml"):
        shutil.copy(HERE / name, tmp_path)
    (tmp_path / "garden.yaml").write_text(text)
    return load_garden(tmp_path / "garden.yaml")


def test_every_section_arrives(garden):
    assert (garden.name, garden.units, garden.invented) == ("base", "metric", True)
    assert (garden.site.latitude, garden.site.elevation) == (44.1, 180)
    season = garden.season
    assert (season.start, season.end) == (date(2027, 4, 12), date(2027, 10, 10))
    assert season.work_days == {0, 2, 4}
    assert season.away == (Span(date(2027, 8, 6), date(2027, 8, 15)),)
    assert garden.nursery == Nursery(48, 20)
    assert garden.limits == Limits(16, 4, 6, 2, 1)


def test_columns_and_tiers(garden):
    assert [c.name for c in garden.columns] == ["A", "B", "C1", "C2"]
    first, last = garden.columns[0], garden.columns[3]
    assert garden.columns[1].tiers == first.tiers
    assert first.tiers[0] == Tier(1, "pail", 1.0, 4)
    assert first.tiers[1] == Tier(2, "jar", 0.6, 3, (Span(date(2027, 5, 1), date(2027, 9, 1)),))
    assert last.tiers[0].rests == (Rest("Brassicaceae", date(2027, 6, 1)),)


def test_vessels(garden):
    """Sizes in metric whatever they were written in; 1 in is 2.54 cm, 1 lb 0.45359237 kg exactly
    (NIST Handbook 44, appendix C)."""
    pail, box, jar = (garden.vessels[n] for n in ("pail", "box", "jar"))
    assert (pail.fill_l, pail.keep_cm, pail.mass_kg) == (18, 2, 1.6)
    # Frustum, pi h / 3 (r1^2 + r1 r2 + r2^2): pi * 37 / 3 * (13^2 + 13 * 14.5 + 14.5^2) / 1000 L.
    assert pail.capacity_l == pytest.approx(math.pi * 37 / 3 * 567.75 / 1000)
    assert box.fill_l == pytest.approx(60 * 40 * 6 * 2.54 / 1000)  # filled to a depth of 6 in
    assert box.mass_kg == pytest.approx(3 * 0.45359237)
    assert float(jar.depth(12)) == pytest.approx(10 + (12 - 6.1) / (12.5 - 6.1) * 10)


def test_a_straight_vessel_is_a_cylinder(tmp_path):
    got = edited(
        tmp_path,
        ("shape: round\n    bottom: 26 cm\n    top: 29 cm", "shape: straight\n    diameter: 30 cm"),
    )
    assert got.vessels["pail"].capacity_l == pytest.approx(math.pi * 15**2 * 37 / 1000)


def test_a_round_pail_of_the_trade(tmp_path):
    """A round pail with 7.5 in of solution holds 10.9 L: common practice, no source. A pail of
    3.5 US gal is about 10.25 in wide at the bottom and 11.25 in at the top (from memory)."""
    got = edited(
        tmp_path,
        (
            "    bottom: 26 cm\n    top: 29 cm\n    height: 37 cm\n    fill: 18 L",
            "    bottom: 10.25 in\n    top: 11.25 in\n    height: 11 in\n    fill: 7.5 in",
        ),
    )
    assert got.vessels["pail"].fill_l == pytest.approx(10.9, rel=0.05)


def test_wishes(garden):
    lettuce, greens, sauce = garden.demands
    assert lettuce == Demand(
        "lettuce", ("leaf_lettuce", "romaine"), 1500, date(2027, 5, 31), date(2027, 10, 10)
    )
    # Left out: the season's last day. tatsoi and basil are listed elsewhere.
    assert (greens.crops, greens.end) == (("pak_choi", "kale"), date(2027, 10, 10))
    assert greens.grams_per_week == pytest.approx(2 * 453.59237)
    assert (sauce.crops, sauce.start) == (("basil", "tatsoi"), date(2027, 4, 12))
    assert len({group for group, _ in wish(garden)}) == 3


def test_crops_with_overrides_and_a_file(garden):
    assert list(garden.crops) == ["leaf_lettuce", "romaine", "pak_choi", "kale", "basil", "tatsoi"]
    pak_choi = garden.crops["pak_choi"]
    assert pak_choi.days_to_harvest == 32 != catalogue()["pak_choi"].days_to_harvest
    assert pak_choi.parameters["days_to_harvest"].source == "the grower"
    assert garden.crops["kale"] is catalogue()["kale"]
    assert garden.crops["tatsoi"].days_to_harvest == 28


def test_weather_runs_120_days_past_the_season(garden):
    index = garden.site.weather.index
    assert index[0] == pd.Timestamp("2027-04-12")
    assert index[-1] == pd.Timestamp("2028-02-07")  # 10 October and 120 days
    assert not garden.site.weather.isna().any().any()


def test_what_may_be_left_out(tmp_path):
    text = (HERE / "base.yaml").read_text()
    limits = text[text.index("limits:") : text.index("crops:\n")]
    crops = text[text.index("crops:\n") :]
    got = edited(
        tmp_path,
        (limits, ""),
        (crops, ""),
        ("  - {group: sauce, per_week: 150 g, crops: [basil, tatsoi]}\n", ""),
        ("  temperature: 20 degC\n", ""),
        ("  work_days: [mon, wed, fri]\n", ""),
        ("name: base\n", ""),
        ("  away:\n    - {from: 2027-08-06, to: 2027-08-15}\n", "  away:\n"),
        ("units: metric\n", ""),
        ("  coastal: false\n", ""),
    )
    assert got.limits == Limits(None, None, None, 2, 1)
    assert got.nursery.temperature is None
    assert set(got.crops) == set(catalogue())
    assert got.season.work_days == set(range(7))
    assert got.season.away == ()
    assert got.notes  # herbs grow for nobody
    assert "basil" in got.notes[0]


def test_short_forms_of_crops(tmp_path):
    text = (HERE / "base.yaml").read_text()
    crops, sauce = text[text.index("crops:\n") :], "crops: [basil, tatsoi]"
    shorts = {"crops: all\n": len(catalogue()), "crops: [kale, romaine, basil]\n": 3}
    for short, count in shorts.items():
        got = edited(tmp_path, (crops, short), (sauce, "crops: [basil]"))
        assert len(got.crops) == count


def test_anchors_and_merge_keys_keep_files_short(tmp_path):
    got = edited(
        tmp_path,
        (
            "      - {vessel: pail, light: 1.0, plants: 4}\n",
            "      - &top {vessel: pail, light: 1.0, plants: 4}\n      - {<<: *top, light: 70 %}\n",
        ),
        ("    tiers:\n      - vessel: box", "    tiers:\n      - *top\n      - vessel: box"),
    )
    assert got.columns[0].tiers[1] == Tier(2, "pail", 0.7, 4)
    assert got.columns[2].tiers[0] == Tier(1, "pail", 1.0, 4)


def test_the_southern_hemisphere_across_new_year(tmp_path):
    got = edited(
        tmp_path,
        ("44.1 degree", "-37.8 degree"),
        ("start: 2027-04-12", "start: 2027-10-04"),
        ("  end: 2027-10-10", "  end: 2028-04-02"),
        ("2027-08-06, to: 2027-08-15", "2027-12-24, to: 2028-01-02"),
        (", available: {from: 2027-05-01, to: 2027-09-01}", ""),
        (", from: 2027-05-31, to: 2027-10-10", ""),
        (", from: 2027-05-31", ""),
    )
    weather = got.site.weather
    assert weather.loc["2027-12-21", "daylength"] > 14 > weather.loc["2028-03-31", "daylength"]
    assert got.season.is_work_day(date(2027, 12, 22))
    assert not got.season.is_work_day(date(2027, 12, 29))


def test_a_climate_table_in_other_clothes(tmp_path):
    """Semicolons with decimal commas, and degrees Fahrenheit, give the same weather."""
    plain = edited(tmp_path).site.weather
    text = (HERE / "climate.csv").read_text()
    (tmp_path / "climate.csv").write_text(text.replace(",", ";").replace(".", ","))
    pd.testing.assert_frame_equal(load_garden(tmp_path / "garden.yaml").site.weather, plain)
    lines = ["month,TMAX (degF),tmin [°F],rs"]
    for row in text.splitlines()[2:]:
        month, low, high, rs = row.split(",")
        lines.append(f"{month},{float(high) * 1.8 + 32},{float(low) * 1.8 + 32},{rs}")
    (tmp_path / "climate.csv").write_text("\n".join(lines))
    pd.testing.assert_frame_equal(load_garden(tmp_path / "garden.yaml").site.weather, plain)


def test_notes(tmp_path):
    got = edited(
        tmp_path,
        ("lift: 16 kg", "lift: 1 kg"),
        ("light: 60 %", "light: 100 %"),
        ("- vessel: box", "- vessel: jar"),
    )
    text = "\n".join(got.notes)
    assert "pail is heavier empty than the lift limit" in text
    assert "vessel box stands in no column" in text
    assert "more light" not in text


@pytest.mark.parametrize(
    ("added", "remark"),
    [
        ("wind", "wind is not used"),
        ("rh", "humidity is not used"),
        ("rhmin", "humidity"),
        ("wind,rhmin", "wind is not used"),
        ("wind,rh", None),
        ("wind,rhmin,rhmax", None),
    ],
)
def test_climate_columns_that_cannot_be_used_are_remarked_upon(tmp_path, added, remark):
    plain = edited(tmp_path).site.weather["et0"]
    values = {"wind": "2", "rh": "70", "rhmin": "50", "rhmax": "90"}
    extra = ",".join(values[name] for name in added.split(","))
    lines = (HERE / "climate.csv").read_text().splitlines()
    lines = [lines[0], f"{lines[1]},{added}", *(f"{row},{extra}" for row in lines[2:])]
    (tmp_path / "climate.csv").write_text("\n".join(lines))
    got = load_garden(tmp_path / "garden.yaml")
    assert [n for n in got.notes if "is not used" in n] == list(got.notes)
    assert bool(got.notes) == bool(remark)
    assert remark is None or remark in got.notes[0]
    # Penman-Monteith where humidity and wind are both there, Hargreaves as before elsewhere.
    assert (abs(got.site.weather["et0"] - plain).max() > 0.1) == (remark is None)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("68 F", "degC", 20),
        ("68 degF", "degC", 20),
        ("20 C", "degC", 20),
        ("20°C", "degC", 20),
        ("5 gal", "litre", 18.92705892),
        ("5 US gal", "litre", 18.92705892),  # 3.785411784 L each
        ("64 fl oz", "litre", 1.89270589),
        ("7.5in", "cm", 19.05),
        ("44.1°", "degree", 44.1),
        ("12 oz", "g", 340.194277),
        ("2 weeks", "day", 14),
        ("2 wk", "day", 14),
        ("18 litres", "litre", 18),
        ("7 7/8 in", "cm", 20.0025),
        ("1,5 kg", "g", 1500),
        ("1,500 kg", "g", None),
        ("18", "litre", None),
        ("18 kg", "litre", None),
        ("", "litre", None),
        ("2 ** 9 L", "litre", None),
        (18, "litre", None),
        (True, "litre", None),
        (None, "cm", None),
        ("1e400 L", "litre", None),
        ("inf L", "litre", None),
    ],
)
def test_quantities_as_people_write_them(text, unit, value):
    assert measure(text, unit) == (value if value is None else pytest.approx(value, rel=1e-8))


@pytest.mark.parametrize("name", ["courtyard", "balcony"])
def test_examples_are_invented_and_sound(name):
    got = load_garden(EXAMPLES / name / "garden.yaml")
    assert got.invented
    assert got.notes == ()
    assert "nvented" in (EXAMPLES / name / "README.md").read_text()


def test_the_courtyard_is_the_garden_it_should_be():
    got = load_garden(EXAMPLES / "courtyard" / "garden.yaml")
    assert [len(c.tiers) for c in got.columns] == [4] * 6
    assert len({t.vessel for c in got.columns for t in c.tiers}) == 2
    assert (len(got.crops), len(got.demands), got.nursery.cells) == (12, 3, 48)
    away = got.season.away[0]
    assert (got.season.days, (away.end - away.start).days + 1) == (26 * 7, 10)
    assert got.limits == Limits(16, 4, 6, 2, 1)
    # The lift limit bites: a full pail of columns A to D is heavier, one of E and F is not.
    assert got.vessels["pail_18"].full_kg > 16 > got.vessels["pail_11"].full_kg


def test_names_are_kept_with_their_letters_composed(tmp_path):
    """Decomposed (NFD), as some systems write them, and composed (NFC) are one name: UAX #15."""
    got = edited(
        tmp_path,
        ("names: [A, B]", "names: [Tu\u0308r, B]"),
        ("  box:", "  Ka\u0308sten:"),
        ("- vessel: box", "- vessel: K\u00e4sten"),
    )
    assert got.columns[0].name == "T\u00fcr"
    assert got.columns[2].tiers[0].vessel == "K\u00e4sten"
    assert "K\u00e4sten" in got.vessels


@pytest.mark.parametrize(
    "days",
    [
        "[mon, wed, fri]",
        "[Monday, Wednesday, Friday]",
        "[MON, Wednes, fri]",
    ],
)
def test_work_days_by_any_beginning_of_their_name(tmp_path, days):
    assert edited(tmp_path, ("[mon, wed, fri]", days)).season.work_days == {0, 2, 4}


def test_the_catalogue_has_no_two_crops_of_one_name():
    names = [{same_crop(c.name), same_crop(c.title)} for c in catalogue().values()]
    assert sum(map(len, names)) == len(set().union(*names))


def test_sources_lie_in_a_folder_of_their_own(tmp_path, garden):
    sources = garden_sources(HERE / "base.yaml")
    assert sorted(sources) == ["garden.yaml", "inputs/climate.csv", "inputs/tatsoi.yaml"]
    text = (HERE / "base.yaml").read_text()
    text = text.replace("climate: climate.csv", "climate: 'inputs/climate.csv'")
    assert sources["garden.yaml"].decode() == text.replace("[tatsoi", "['inputs/tatsoi").replace(
        "tatsoi.yaml]", "tatsoi.yaml']"
    )  # nothing else is rewritten
    write_sources(tmp_path, sources)
    same(load_garden(tmp_path / "garden.yaml"), garden)


def test_sources_from_other_folders_are_renamed_and_remarks_stay(tmp_path):
    for folder in ("weather", "crops", "more", "here"):
        (tmp_path / folder).mkdir()
    shutil.copy(HERE / "climate.csv", tmp_path / "weather" / "one.yaml")
    shutil.copy(HERE / "tatsoi.yaml", tmp_path / "crops" / "one.yaml")
    (tmp_path / "more" / "one.yaml").write_text("{}\n")
    text = (HERE / "base.yaml").read_text()
    text = text.replace("climate: climate.csv", "climate: ../weather/one.yaml  # the station's")
    text = text.replace(
        "[tatsoi.yaml]", f'["{tmp_path}/crops/one.yaml"]  # ours, "é"\n  learned: ../more/one.yaml'
    )
    path = tmp_path / "here" / "my.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    sources = garden_sources(path)
    assert sorted(sources) == [
        "garden.yaml",
        "inputs/one-2.yaml",
        "inputs/one-3.yaml",
        "inputs/one.yaml",
    ]
    copied = sources["garden.yaml"].decode()
    names = {b"{}\n": "learned", (HERE / "tatsoi.yaml").read_bytes(): "crop"}
    found = {names.get(d, "climate"): n for n, d in sources.items() if n != "garden.yaml"}
    assert f"'{found['climate']}'  # the station's" in copied
    assert f"['{found['crop']}']  # ours, \"é\"" in copied
    assert f"learned: '{found['learned']}'" in copied
    out = tmp_path / "out"
    out.mkdir()
    write_sources(out, sources)
    same(load_garden(out / "garden.yaml"), load_garden(path))
    assert garden_sources(out / "garden.yaml") == sources  # a copy of a copy changes nothing


def test_no_field_is_forgotten(garden):
    """Every field of Garden is set from the file; a new one must be read here too."""
    assert {f.name for f in fields(garden)} == {
        "name",
        "site",
        "season",
        "vessels",
        "columns",
        "nursery",
        "demands",
        "limits",
        "crops",
        "units",
        "invented",
        "notes",
        "solution",
        "standing",
        "seedlings",
        "events",
        "today",
        "may_stand",
        "rooms",
        "fixed",
    }
