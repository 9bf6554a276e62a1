"""A garden in US units: no command prints a metric quantity, but for what the trade counts so."""

import json
import re
from datetime import date, timedelta

import pytest
from cut_off import lay
from season_case import BALCONY, season_files

from scheduler import cli
from scheduler.log.model import HEADER
from scheduler.plans import folder as plan_dir

# What may stand in a US garden's texts, and why.
ALLOWED = {
    r"\d[\d.]* ?mL\b(?! per)": "acid is measured with a syringe, which shows mL wherever it is sold",
    r"\d[\d.]* ?mg/L": "concentrations in water analyses and on labels",
    r"mg/L": "the same as a heading",
    r"(\d[\d.]* ?)?mS/cm": "meters show it",
    r"taken up per litre drunk": "goes with mg/L",
    r"\d[\d.]* ?mol/m²/day": "light sums have no other unit",
    r"meq(/L| )": "alkalinity and acid of laboratories",
    r"A litre of solution weighs a kilogram": "a caution's rule of thumb; loads are told in lb",
    r"°C or \d+ °F": "said in both",
    r"\d+ g or \d": "said in both",
    r"cm \(\d": "said in both",
}
METRIC = re.compile(
    r"(?<![\w.-])\d[\d.,]* ?(?:g|kg|mg|L|l|mL|cm|mm|m|°C|degC)(?![\w°/])"
    r"|\b(?:grams?|litres?|millilitres?|kilograms?|centimetres?|degC|mL|cm)\b|°C"
)


def metric_in(text):
    """Every line with a metric quantity in it, without what is allowed."""
    for pattern in ALLOWED:
        text = re.sub(pattern, "", text)
    return [line for line in text.splitlines() if METRIC.search(line)]


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("123 g of greens", 1),
        ("11.4 L left", 1),
        ("1,197 g", 1),
        ("24.9 cm", 1),
        ("by 5.4 degC", 1),
        ("wish  now   grams", 1),
        ("EC 1.8 mS/cm", 0),
        ("12.5 mL", 0),
        ("4.8 oz, 3.00 gal", 0),
        ("uptake of K, mg/L", 0),
        ("10.0 mL per litre", 1),
        ("3 g/L", 0),
        ("4-18-38", 0),
    ],
)
def test_what_counts_as_metric(line, found):
    assert len(metric_in(line)) == found


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    place = tmp_path_factory.mktemp("us") / "season"
    lay(place, season_files())
    return place


def said(capsys, *arguments):
    """Everything a command prints, errors as well."""
    try:
        cli.main([str(a) for a in arguments])
    except SystemExit:
        pass
    got = capsys.readouterr()
    return got.out + got.err


def the_plan(folder):
    return plan_dir.read_plan(folder)


def odd_log(plan):
    """Levels that show thirst, a top-up and a leak, a rise, a weighed pick, a failure."""
    rows, last = [HEADER], date.min
    for n, b in enumerate(plan.batches):
        days = len(b.levels)
        if days < 12:
            continue
        put = {days // 4: 0.8, days // 2: 1.6, days // 2 + 1: 0.1, days // 2 + 2: 0.95}
        for k, share in put.items():
            level, fill = b.levels[k], b.fill_litres
            litres = max(fill - (fill - level.litres) * share, 0.2) if n else 0.3 * share * fill
            rows.append(f"{level.date},level,{b.column},{b.tier},,{litres:.2f},L,")
        last = max(last, b.levels[days // 2 + 2].date)
        if n == 1:
            break
    return "\n".join(rows) + "\n", last + timedelta(days=1)


@pytest.mark.slow
def test_before_the_season(capsys, tmp_path):
    for arguments in (
        ("plan", BALCONY, "--out", tmp_path / "plan", "--time-limit", "1", "--years", "3"),
        ("windows", BALCONY),
        ("crops", "--units", "us"),
        ("crops", "pak_choi", "--units", "us"),
        ("start", tmp_path / "new", "--units", "us"),
    ):
        text = said(capsys, *arguments)
        assert len(text.splitlines()) > 3
        # The sources of a crop's numbers are quoted as they were published.
        if arguments[0] == "crops" and "pak_choi" in arguments:
            text = "\n".join(t for t in text.splitlines() if not t.startswith("      "))
        assert metric_in(text) == []


def test_the_plan_and_its_sheets(capsys, folder, tmp_path):
    day = the_plan(folder).batches[0].transplant
    for arguments in (
        ("verify", folder),
        ("calendar", folder),
        ("calendar", folder, "--format", "csv"),
        ("risk", folder, "--years", "20"),
        ("mix", folder, "--date", day),
        ("mix", folder, "--date", day, "--stock", "100"),
    ):
        text = said(capsys, *arguments)
        assert len(text.splitlines()) > 5, text
        assert metric_in(text) == []
    for form in ("ics", "html"):
        said(capsys, "calendar", folder, "--format", form, "--out", tmp_path / "sheet")
        text = (tmp_path / "sheet").read_text().replace("\n ", "")
        text = re.sub(r"<style.*?</style>|<script.*?</script>|<[^>]*>", " ", text, flags=re.S)
        assert metric_in(text) == []


@pytest.mark.deep
def test_what_would_help(capsys, folder):
    text = said(capsys, "shortfall", folder, "--time-limit", "3")
    assert len(text.splitlines()) > 5
    assert metric_in(text) == []


def test_through_the_season(capsys, folder, tmp_path):
    plan = the_plan(folder)
    text, on = odd_log(plan)
    (folder / "log.csv").write_text(text)
    told = said(
        capsys,
        "rebalance",
        folder,
        "--on",
        on,
        "--out",
        tmp_path / "again",
        "--time-limit",
        "1",
        "--workers",
        "1",
    )
    assert "not used" in told
    assert "gal" in told
    assert metric_in(told) == []
    assert metric_in((tmp_path / "again" / "changes.txt").read_text()) == []
    b = next(b for b in plan.batches if len(b.levels) >= 12)
    (folder / "log.csv").unlink()
    day = b.picks[-1].date
    for amount in ("7 1/2 in", "2 gal", "999"):
        told = said(
            capsys,
            "log",
            folder,
            b.levels[5].date,
            "level",
            b.column,
            b.tier,
            amount,
            "--today",
            day,
        )
        assert "log.csv" in told
        assert metric_in(told) == []
        (folder / "log.csv").unlink(missing_ok=True)
    for what, amount in (("level", "1 gal"), ("picked", "1 lb"), ("ec", "2.1"), ("ph", "6")):
        told = said(capsys, "log", folder, day, what, b.column, b.tier, amount, "--today", day)
        assert metric_in(told) == []
    said(capsys, "log", folder, b.clear, "cleared", b.column, b.tier, "--today", b.clear)
    told = said(capsys, "review", folder, "--dry-run")
    assert "oz/plant" in told
    assert metric_in(told) == []


def test_a_vessel_that_cannot_be(capsys, folder, tmp_path):
    files = season_files()
    for old, new, word in (
        ("fill: 3 gal", "fill: 30 gal", "30.00 gal"),
        ("fill: 3 gal", "fill: 11 1/4 in", "11 1/4 in"),
        ("keep: 0.75 in", "keep: 10 in", "10 in"),
    ):
        garden = files["garden.yaml"].decode()
        assert old in garden
        lay(tmp_path / "bad", {**files, "garden.yaml": garden.replace(old, new).encode()})
        told = said(capsys, "windows", tmp_path / "bad" / "garden.yaml")
        assert word in told
        assert metric_in(told) == []


def test_a_broken_plan(capsys, folder, tmp_path):
    """Every message of the verifier with an amount in it."""
    files = season_files()
    body = json.loads(files["plan.json"])
    b = body["batches"][0]
    b["fill_litres"] += 1
    b["picks"][0]["grams"] += 50
    b["levels"][3]["litres"] += 1
    b["levels"][3]["depth_cm"] += 1
    body["unmet"].append({"group": "lettuce", "week": "2027-W21", "grams": 1000})
    garden = files["garden.yaml"].replace(b"lift: 30 lb", b"lift: 5 lb")
    lay(
        tmp_path / "broken",
        {**files, "plan.json": json.dumps(body).encode(), "garden.yaml": garden},
    )
    told = said(capsys, "verify", tmp_path / "broken")
    for word in ("lift limit by", "claims by", "picked on", "filled with", "level of", "unmet"):
        assert word in told
    assert metric_in(told) == []
