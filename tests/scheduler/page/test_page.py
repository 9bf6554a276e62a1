"""The page to work with: who may talk to it, what it writes down, what it refuses and why."""

from __future__ import annotations

import json
import re
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

pytest.importorskip("flask")

import page_case
from page_case import HOME, PORT, Visitor

from scheduler.base.faults import BadInput, DrylineError
from scheduler.log.model import read_log_file
from scheduler.log.strike import strike
from scheduler.plans.folder import LOG_FILE, read_plan, read_plan_dir
from scheduler.words.words import tier_label


@pytest.fixture(scope="module")
def season(tmp_path_factory):
    return page_case.planned(tmp_path_factory.mktemp("season") / "plan")


@pytest.fixture
def folder(season, tmp_path):
    return page_case.copy(season, tmp_path / "plan")


@pytest.fixture
def batch(folder):
    """The first batch of the plan: it grows from its transplanting to its first pick."""
    return read_plan(folder).batches[0]


@pytest.fixture
def visitor(folder, batch):
    return Visitor(folder, batch.transplant + timedelta(days=10))


def place(folder, batch):
    garden, _ = read_plan_dir(folder)
    return f"{[c.name for c in garden.columns].index(batch.column)}-{batch.tier}"


def logged(folder):
    file = folder / LOG_FILE
    return read_log_file(file, read_plan_dir(folder)[0]).entries if file.exists() else ()


PAGES = [
    "/",
    "/levels",
    "/failed",
    "/log",
    "/again",
    "/print",
    "/calendar",
    "/calendar.pdf",
    "/style.css",
]
FORMS = ["/write", "/strike", "/again", "/again/enough", "/again/discard", "/again/accept"]


# Who may talk to it.


@pytest.mark.parametrize("path", PAGES)
def test_only_this_machine_is_answered(visitor, path):
    for host in (f"127.0.0.1:{PORT}", f"localhost:{PORT}"):
        visitor.get(path, Host=host)
    for host in (
        "garden.example",
        f"garden.example:{PORT}",
        "127.0.0.1",
        f"127.0.0.1:{PORT + 1}",
        f"127.0.0.1.garden.example:{PORT}",
        f"0.0.0.0:{PORT}",
    ):
        visitor.get(path, 403, Host=host)


@pytest.mark.parametrize("path", PAGES)
def test_no_other_site_may_ask(visitor, path):
    visitor.get(path, Origin=HOME)
    for origin in (
        "http://garden.example",
        "null",
        f"https://127.0.0.1:{PORT}",
        f"http://127.0.0.1:{PORT + 1}",
    ):
        visitor.get(path, 403, Origin=origin)
    visitor.get(path, **{"Sec-Fetch-Site": "same-origin"})
    for site in ("cross-site", "same-site"):
        visitor.get(path, 403, **{"Sec-Fetch-Site": site})


@pytest.mark.parametrize("path", FORMS)
def test_no_form_without_its_token(visitor, folder, path):
    before = {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file()}
    for token in ({}, {"token": ""}, {"token": visitor.token[:-1]}, {"token": "ä"}):
        answer = visitor.client.post(path, data=token, base_url=HOME)
        assert answer.status_code == 403
    answer = visitor.client.post(
        path,
        data={"token": visitor.token},
        base_url=HOME,
        headers={"Origin": "http://garden.example"},
    )
    assert answer.status_code == 403
    assert {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file()} == before


def test_each_start_has_its_own_token(visitor, folder):
    assert Visitor(folder, visitor.clock.day).token != visitor.token


@pytest.mark.parametrize("path", FORMS)
def test_forms_are_not_addresses(visitor, path):
    if path != "/again":
        visitor.get(path, 405)


def test_pages_say_what_a_browser_must_not_do(visitor):
    for path in PAGES:
        answer = visitor.client.get(path, base_url=HOME)
        policy = answer.headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy
        assert "frame-ancestors 'none'" in policy
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        if path != "/calendar":  # that page is whole by itself, script and all
            assert "unsafe" not in policy
            assert "script-src" not in policy
            assert b"<script" not in answer.get_data()


def test_nothing_names_another_site(visitor):
    for path in PAGES[:7]:
        links = re.findall(r'(?:href|src|action)="([^"]*)"', visitor.get(path))
        assert links
        assert all(link.startswith(("/", "#", "data:,")) for link in links)
        assert not any(link.startswith("//") for link in links)


def test_a_form_too_large_is_refused(visitor):
    answer = visitor.client.post(
        "/write",
        data={"token": visitor.token, "note": "x" * 300_000},
        base_url=HOME,
        headers={"Origin": HOME},
    )
    assert answer.status_code == 413


# What it writes down.


def test_levels_go_into_the_log(visitor, folder, batch):
    level = next(v for v in batch.levels if v.date == visitor.clock.day)
    assert "expect" in visitor.get("/levels")
    inches = level.depth_cm / 2.54
    visitor.post(
        "/write",
        date=visitor.clock.day,
        what="level",
        place=place(folder, batch),
        amount=f"{inches:.2f}",
        unit="in",
        need="1",
        back="levels",
    )
    (entry,) = logged(folder)
    assert (entry.what, entry.column, entry.tier, entry.unit) == (
        "level",
        batch.column,
        batch.tier,
        "cm",
    )
    assert entry.amount == pytest.approx(level.depth_cm, abs=0.02)
    assert "1 line written" in visitor.get("/levels?wrote=1")
    assert "written:" in visitor.get("/levels")


def test_blanks_of_a_round_are_not_entries(visitor, folder, batch):
    where, day = place(folder, batch), str(visitor.clock.day)
    both = {
        "date": [day, day],
        "what": ["level"] * 2,
        "place": [where] * 2,
        "unit": ["in"] * 2,
        "need": ["1"] * 2,
    }
    visitor.post("/write", **both, amount=["", "9 3/8"])
    (entry,) = logged(folder)
    assert entry.amount == pytest.approx(9.375 * 2.54, abs=0.01)
    assert "blank" in visitor.post("/write", 422, **both, amount=["", ""]).text
    assert len(logged(folder)) == 1


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"amount": "99", "unit": "in"}, "at most the fill"),
        ({"amount": "nine"}, "a volume or depth in"),
        ({"date": "2027-02-30"}, "a day of the calendar"),
        ({"date": "tomorrow"}, "a day written as 2027-06-03"),
        ({"place": "0-9"}, "the tiers of"),
        ({"place": "7-1"}, "a tier of the garden"),
        ({"place": "../1"}, "a tier of the garden"),
        ({"what": "watered"}, "one of sown"),
        ({"what": "ph", "amount": "15", "unit": ""}, "a number from 0 to 14"),
        ({"what": "ec", "amount": "90", "unit": "mS/cm"}, "a strength up to 20 mS/cm"),
    ],
)
def test_refusals_show_their_reason_and_what_was_typed(visitor, folder, batch, change, reason):
    fields = {
        "date": str(visitor.clock.day),
        "what": "level",
        "place": place(folder, batch),
        "amount": "9.5",
        "unit": "in",
        "note": 'a "quoted" <b>note</b>',
        **change,
    }
    answer = visitor.post("/write", 422, **fields).get_data(as_text=True)
    assert reason in answer
    assert 'value="a &#34;quoted&#34; &lt;b&gt;note&lt;/b&gt;"' in answer
    if fields["what"] == "level":
        assert f'value="{fields["amount"]}"' in answer
    assert not (folder / LOG_FILE).exists() or not logged(folder)


def test_a_day_to_come_is_refused(visitor, folder, batch):
    ahead = visitor.clock.day + timedelta(days=1)
    answer = visitor.post(
        "/write", 422, date=ahead, what="level", place=place(folder, batch), amount="9", unit="in"
    )
    assert "a day up to today" in answer.text
    assert "disabled" in visitor.get(f"/levels?day={ahead}")


def test_the_same_thing_twice_is_refused(visitor, folder, batch):
    fields = {
        "date": visitor.clock.day,
        "what": "level",
        "place": place(folder, batch),
        "amount": "9",
        "unit": "in",
    }
    visitor.post("/write", **fields)
    assert "each event once" in visitor.post("/write", 422, **fields).text
    assert len(logged(folder)) == 1


def test_of_a_round_the_good_are_kept_and_the_bad_come_back(visitor, folder, batch):
    where, day = place(folder, batch), str(visitor.clock.day)
    answer = visitor.post(
        "/write",
        422,
        date=[day, day],
        what=["level", "ph"],
        place=[where] * 2,
        amount=["9", "77"],
        unit=["in", ""],
    )
    assert "1 line written" in answer.text
    assert 'value="77"' in answer.text
    assert [e.what for e in logged(folder)] == ["level"]


def test_a_pick_is_counted_and_weighed(folder, batch):
    pick = batch.picks[0]
    visitor = Visitor(folder, pick.date)
    day, where = str(pick.date), place(folder, batch)
    assert "Picked" in visitor.get("/")
    visitor.post(
        "/write",
        date=[day, day],
        what=["picked"] * 2,
        place=[where] * 2,
        amount=[str(pick.plants), "11"],
        unit=["plants", "oz"],
        need=["1", "1"],
    )
    assert [(e.amount, e.unit) for e in logged(folder)] == [
        (pick.plants, "plants"),
        (pytest.approx(311.845, abs=0.01), "g"),
    ]
    assert "in the log:" in visitor.get("/")


def test_work_of_each_kind_can_be_written_down(folder, batch):
    _garden, _plan = read_plan_dir(folder)
    where = place(folder, batch)
    visitor = Visitor(folder, batch.sow)
    assert "Sown" in visitor.get("/")
    visitor.post(
        "/write",
        date=batch.sow,
        what="sown",
        place=where,
        crop=batch.crop,
        amount=batch.cells,
        unit="cells",
    )
    visitor.clock.day = batch.transplant
    assert "Transplanted" in visitor.get("/")
    visitor.post(
        "/write",
        date=batch.transplant,
        what="transplanted",
        place=where,
        crop=batch.crop,
        amount=batch.plants,
        unit="plants",
    )
    visitor.post(
        "/write",
        date=[str(batch.transplant)] * 2,
        what=["ec", "ph"],
        place=[where] * 2,
        amount=["1.5", "6,1"],
        unit=["mS/cm", ""],
        need=["1", "1"],
    )
    visitor.clock.day = batch.clear
    assert "Cleared" in visitor.get("/")
    visitor.post("/write", date=batch.clear, what="cleared", place=where)
    assert [e.what for e in logged(folder)] == ["sown", "transplanted", "ec", "ph", "cleared"]
    assert logged(folder)[3].amount == 6.1


def test_a_failure_asks_to_plan_again(visitor, folder, batch):
    answer = visitor.post(
        "/write",
        date=visitor.clock.day,
        what="failed",
        place=place(folder, batch),
        reason="root disease",
        note="brown",
    )
    assert "failed=1" in answer.headers["Location"]
    assert logged(folder)[0].note == "root disease, brown"
    assert "plan again" in visitor.get(answer.headers["Location"])


def test_a_line_struck_out_stays_legible(visitor, folder, batch):
    visitor.post(
        "/write",
        date=visitor.clock.day,
        what="level",
        place=place(folder, batch),
        amount="9",
        unit="in",
        note="wrong, tier",
    )
    line, seen = re.search(
        r'name="line" value="(\d+)"><input type="hidden" name="seen" '
        r'value="([^"]*)"',
        visitor.get("/log"),
    ).groups()
    seen = seen.replace("&#34;", '"')
    visitor.post("/strike", 409, line=line, seen=seen + "x")
    assert len(logged(folder)) == 1
    visitor.post("/strike", line=line, seen=seen)
    assert logged(folder) == ()
    assert "wrong, tier" in (folder / LOG_FILE).read_text()
    visitor.post("/strike", 409, line=line, seen=seen)  # once is enough


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_striking_keeps_every_other_byte(tmp_path, end):
    file = tmp_path / "log.csv"
    lines = ["# kept by hand", "date,what", "2027-06-01,level", '2027-06-02,"two', 'lines"', ""]
    file.write_bytes(end.join(lines).encode())
    with pytest.raises(BadInput, match="several lines"):
        strike(file, 4, lines[3])
    for number in (0, 1, 2, 9):
        with pytest.raises(BadInput):
            strike(file, number, lines[number] if number < 4 else "")
    strike(file, 3, lines[2])
    lines[2] = "# struck out: " + lines[2]
    assert file.read_bytes() == end.join(lines).encode()


def test_a_faulty_line_is_shown_with_its_reason(visitor, folder):
    (folder / LOG_FILE).write_text(
        "date,what,column,tier,amount\n2027-05-01,level,Nowhere,1,9 in\n"
    )
    page = visitor.get("/log")
    assert "Lines to mend" in page
    assert "Nowhere" in page
    assert "mended first" in visitor.get("/again")


def test_bytes_that_are_no_text_are_told_and_not_tripped_over(visitor, folder):
    """A log or a crop saved in another encoding ended in an answer 500."""
    from scheduler.log.model import HEADER

    file = folder / LOG_FILE
    file.write_bytes(f"{HEADER}\n2027-04-20,level,A,1,,4,L,p\xe4le\n".encode("latin-1"))
    assert "text saved as UTF-8" in visitor.get("/log")
    visitor.get("/")
    page = visitor.post("/strike", 409, line=2, seen="").text
    assert "text saved as UTF-8" in page
    crops = folder / "crops-as-planned.yaml"
    crops.write_bytes(crops.read_bytes() + b"\xe4\n")
    for path in ("/", "/log", "/calendar"):
        assert "crops-as-planned.yaml" in visitor.get(path, 409)


# Planning again.


def wait(visitor, seconds=30):
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        answer = visitor.client.get("/again", base_url=HOME)
        text = answer.get_data(as_text=True)
        if 'http-equiv="refresh"' not in text:
            return text
        time.sleep(0.1)
    raise AssertionError("the search does not end")


def lose(visitor, folder, batch, seconds=3):
    visitor.post(
        "/write", date=visitor.clock.day, what="failed", place=place(folder, batch), reason="leak"
    )
    visitor.post("/again", on=visitor.clock.day, freeze="0", grams="25", seconds=str(seconds))
    return wait(visitor)


@pytest.mark.slow
def test_a_new_plan_counts_once_accepted(visitor, folder, batch):
    before = (folder / "plan.json").read_bytes()
    page = lose(visitor, folder, batch)
    assert "Lost" in page
    assert "leak" in page
    assert (folder / "plan.json").read_bytes() == before
    answer = visitor.post("/again/accept")
    assert "The new plan counts" in visitor.get(answer.headers["Location"])
    new = {b.id: b for b in read_plan(folder).batches}
    assert new[batch.id].state == "failed"
    aside = folder / "earlier" / f"before-{visitor.clock.day}"
    assert (aside / "plan.json").read_bytes() == before
    assert read_plan_dir(aside)[0].name == "balcony"
    assert "failed: " + batch.id in (folder / "changes.txt").read_text()
    from scheduler.verify import verify

    assert verify(*read_plan_dir(folder)).ok
    visitor.post("/again/accept", 409)  # there is nothing left to accept


def test_the_old_plan_may_stay_without_what_died(visitor, folder, batch, monkeypatch):
    from scheduler.replanning import rebalance

    real = rebalance.best_way
    monkeypatch.setattr(rebalance, "best_way", lambda *given: (real(*given)[0], True))
    page = " ".join(lose(visitor, folder, batch, 1).split())
    tier, crop = tier_label(batch.column, batch.tier), read_plan_dir(folder)[0].crops[batch.crop]
    assert f"Going on with the plan you have, without {crop.title} ({tier}) and" in page
    assert f"Empty and clean {tier}, and log it as cleared" in page


@pytest.mark.slow
def test_a_new_plan_can_be_discarded(visitor, folder, batch):
    before = {p.name: p.read_bytes() for p in folder.iterdir() if p.name == "plan.json"}
    lose(visitor, folder, batch)
    visitor.post("/again/discard")
    assert {"plan.json": (folder / "plan.json").read_bytes()} == before
    assert "Plan from the morning of" in visitor.get("/again")


@pytest.mark.slow
def test_what_came_in_between_is_not_run_over(visitor, folder, batch):
    lose(visitor, folder, batch)
    visitor.post(
        "/write",
        date=visitor.clock.day - timedelta(days=3),
        what="level",
        place=place(folder, batch),
        amount="9",
        unit="in",
    )
    assert "the log has changed since" in visitor.post("/again/accept", 409).text
    assert {b.state for b in read_plan(folder).batches} == {"planned"}


@pytest.mark.slow
def test_another_plan_in_the_folder_is_not_run_over(visitor, folder, batch):
    lose(visitor, folder, batch)
    plan = read_plan(folder)
    (folder / "plan.json").write_text(replace(plan, seed=plan.seed + 1).to_json())
    assert "another one now" in visitor.post("/again/accept", 409).text


def test_as_planned_says_so(visitor):
    visitor.post("/again", on=visitor.clock.day, freeze="0", grams="25", seconds="3")
    assert "Everything can go on as planned." in wait(visitor)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("on", "soon"),
        ("freeze", "-1"),
        ("freeze", "400"),
        ("grams", "many"),
        ("seconds", "1e9"),
        ("seconds", "nan"),
    ],
)
def test_wishes_out_of_bounds_are_refused(visitor, field, value):
    answer = visitor.post("/again", 409, **{field: value})
    assert f"{field}:" in answer.text
    assert value in answer.text


def test_a_day_outside_the_season_is_told(visitor):
    visitor.post("/again", on="2026-01-01")
    assert "the season is before it begins" in wait(visitor)
    visitor.post("/again/discard")


# Odd folders, odd addresses.


def test_odd_addresses(visitor):
    visitor.get("/?day=yesterday", 409)
    visitor.get("/?day=2027-02-30", 409)
    visitor.get("/levels?page=-9")
    visitor.get("/levels?page=99")
    visitor.get("/levels?page=x")
    visitor.get("/?day=1900-01-01")
    visitor.get("/?day=2200-12-31")
    visitor.get("/?day=9999-12-31", 409)
    visitor.get("/?day=0001-01-01", 409)
    visitor.get("/calendar.pdf?paper=vellum", 409)
    visitor.get("/calendar.pdf?from=2027-06-01&to=2027-05-01")
    visitor.get("/nowhere", 404)


def test_a_folder_that_breaks_while_open_is_told(visitor, folder):
    good = (folder / "garden.yaml").read_text()
    (folder / "garden.yaml").write_text(good.replace("37.2 degree", "97.2 degree"))
    assert "latitude" in visitor.get("/", 409)
    (folder / "garden.yaml").write_text(good)
    visitor.get("/")


def test_no_plan_no_page(tmp_path):
    with pytest.raises(BadInput, match="a plan, as dryline plan writes"):
        Visitor(tmp_path, date(2027, 5, 1))


def test_served_on_this_machine_only(folder):
    pytest.importorskip("waitress")
    from scheduler.page.serve import Serving

    serving = Serving(folder)
    try:
        assert serving.address == f"http://127.0.0.1:{serving.port}/"
        sockets = [s for s in serving._server._map.values() if getattr(s, "sockinfo", None)]
        assert [s.socket.getsockname()[0] for s in sockets] == ["127.0.0.1"]
        with pytest.raises(DrylineError, match="--port"):
            Serving(folder, serving.port)
    finally:
        serving.close()


def test_german_page(folder, batch):
    page = Visitor(folder, batch.picks[0].date, language="de").get("/")
    assert '<html lang="de">' in page
    assert "Geerntet" in page


@pytest.mark.slow
def test_the_command_serves_until_it_is_interrupted(folder):
    pytest.importorskip("waitress")
    run = subprocess.Popen(
        [
            sys.executable,
            "-m",
            "scheduler",
            "open",
            str(folder),
            "--port",
            "0",
            "--json",
            "--today",
            "2027-05-01",
        ],
        stdout=subprocess.PIPE,
        text=True,
        cwd=Path(__file__).parents[3],
        # Tests that run in the background of a shell are told to ignore it.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    try:
        assert run.stdout is not None
        address = json.loads(run.stdout.readline())["address"]
        assert re.fullmatch(r"http://127\.0\.0\.1:\d+/", address)
        with urllib.request.urlopen(address, timeout=20) as answer:
            assert "1 May 2027" in answer.read().decode()
        foreign = urllib.request.Request(address, headers={"Host": "garden.example"})
        with pytest.raises(urllib.error.HTTPError, match="403"):
            urllib.request.urlopen(foreign, timeout=20)
        run.send_signal(signal.SIGINT)
        assert run.wait(20) == 0
    finally:
        run.kill()


@pytest.mark.parametrize(
    ("options", "says"),
    [(["--language", "xx"], "expected one of en, de"), (["--today", "soon"], "2027-06-03")],
)
def test_the_command_refuses_what_it_does_not_know(folder, options, says):
    from scheduler.commands.open import command

    with pytest.raises(DrylineError, match=says):
        command.main([str(folder), "--no-browser", *options], standalone_mode=False)
