"""Long names of columns and groups, in any letters: never cut, and no line longer than a terminal.

A name is whole where its last letters stand as often as its first, for a table may carry it on in
a line below.
"""

import json

import pytest
from cut_off import lay
from rich.cells import cell_len
from season_case import season_files
from test_us_units import odd_log, said

from scheduler.plans import folder as plan_dir

NAMES = {
    # column, group, their first and last letters
    "words": (
        "Übersee hinter dem Gewächshaus am Zaun",
        "Kräuter und Grünes für die Küche",
        "Übersee",
        "Zaun",
        "Kräuter",
        "Küche",
    ),
    "wide": ("温室のうしろの長い棚の二段目の端", "台所のための葉もの野菜", "温", "端", "台", "菜"),
    "one word": ("Ŵ" + "w" * 37 + "ŷ", "Ẑ" + "w" * 37 + "ẑ", "Ŵ", "ŷ", "Ẑ", "ẑ"),
}


@pytest.fixture(params=NAMES, scope="module")
def renamed(request, tmp_path_factory):
    column, group, *ends = NAMES[request.param]
    files = season_files()
    garden = files["garden.yaml"].decode()
    garden = garden.replace("- name: balcony", f"- name: {column}")
    garden = garden.replace("group: lettuce", f"group: {group}, crops: [leaf_lettuce]")
    body = json.loads(files["plan.json"])
    for b in body["batches"]:
        b["column"] = column
    for u in body["unmet"]:
        u["group"] = group if u["group"] == "lettuce" else u["group"]
    place = tmp_path_factory.mktemp("names") / "season"
    lay(place, {**files, "garden.yaml": garden.encode(), "plan.json": json.dumps(body).encode()})
    (place / "log.csv").unlink(missing_ok=True)
    return place, column, group, ends


def check(text, group_too, renamed):
    place, _column, _group, (first, last, group_first, group_last) = renamed
    text = text.replace(str(place), "DIR")
    assert text.count(first) == text.count(last) > 0, text
    assert text.count(group_first) == text.count(group_last), text
    assert not group_too or text.count(group_first)
    assert [line for line in text.splitlines() if cell_len(line) > 80] == []


def test_sheets_and_reports(capsys, renamed):
    place = renamed[0]
    plan = plan_dir.read_plan(place)
    day = plan.batches[0].transplant
    for arguments, group_too in (
        (("calendar", place), True),
        (("calendar", place, "--language", "de"), True),
        (("calendar", place, "--language", "en_US"), True),
        (("risk", place, "--years", "20"), True),
        (("mix", place, "--date", day), False),
        (("windows", place / "garden.yaml"), False),
    ):
        text = said(capsys, *arguments)
        if arguments[0] == "windows":  # one column: its name need not be said
            assert [t for t in text.splitlines() if cell_len(t) > 80] == []
            continue
        check(text, group_too, renamed)


@pytest.mark.deep
def test_what_would_help(capsys, renamed):
    text = said(capsys, "shortfall", renamed[0], "--time-limit", "3")
    assert [t for t in text.splitlines() if cell_len(t) > 80] == []
    assert text.count(renamed[3][2]) == text.count(renamed[3][3]) > 0


def test_through_the_season(capsys, renamed, tmp_path):
    place = renamed[0]
    plan = plan_dir.read_plan(place)
    text, on = odd_log(plan)
    log = tmp_path / "log.csv"
    # A tier is lost, so that there is something to tell, whatever the plan.
    lost = next(b for b in plan.batches if b.transplant < on < b.picks[0].date)
    log.write_text(f"{text}{on},failed,{lost.column},{lost.tier},,,,leak\n")
    told = said(
        capsys,
        "rebalance",
        place,
        "--log",
        log,
        "--on",
        on,
        "--out",
        tmp_path / "again",
        "--time-limit",
        "1",
        "--workers",
        "1",
    )
    check(told.split("\nWritten to")[0], False, renamed)
    rows = [text.splitlines()[0]]
    for b in plan.batches:
        rows += [
            f"{b.transplant},transplanted,{b.column},{b.tier},{b.crop},,,",
            f"{b.picks[-1].date},picked,{b.column},{b.tier},,300,g,",
            f"{b.clear},cleared,{b.column},{b.tier},,,,",
        ]
    (place / "log.csv").write_text("\n".join(rows) + "\n")
    check(said(capsys, "review", place, "--dry-run"), False, renamed)
    (place / "log.csv").unlink()
