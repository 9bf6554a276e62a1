"""The page of a folder without a plan: the questions of `start`, asked again, then the plan."""

from __future__ import annotations

import re
import time
from datetime import date
from pathlib import Path

import pytest

pytest.importorskip("waitress")

from page_case import HOME, PORT

from scheduler.beginning.questions import questions
from scheduler.garden.file import load_garden
from scheduler.page import serve
from scheduler.page.first import create_first
from scheduler.plans.folder import read_plan_dir
from scheduler.solvers.cp_sat import Settings

TODAY = date(2027, 3, 1)


class Guest:
    def __init__(self, folder: Path, **options: object) -> None:
        self.done: list[Path] = []
        self.app = create_first(
            folder,
            PORT,
            self.done.append,
            today=lambda: TODAY,
            settings=Settings(time_limit=2.0, workers=1),
            **options,  # type: ignore[arg-type]
        )
        self.client = self.app.test_client()

    def get(self) -> str:
        return self.client.get("/", base_url=HOME).text

    def post(self, to: str = "/", **typed: str) -> tuple[int, str]:
        page = self.get()
        token = re.search(r'name="token" value="([^"]+)"', page)
        data = {"token": token[1] if token else "", **typed}
        answer = self.client.post(to, data=data, base_url=HOME, headers={"Origin": HOME})
        return answer.status_code, answer.text


def keys(page: str) -> list[str]:
    return re.findall(r'<input id="([a-z_]+)" name', page)


def test_the_same_questions_as_on_a_terminal(tmp_path: Path) -> None:
    page = Guest(tmp_path / "yard", units="metric").get()
    list_ = questions(TODAY, "metric")
    assert keys(page) == [q.key for q in list_]
    assert len(list_) <= 14
    assert 'placeholder="1 x 3 x 3"' in page
    assert not (tmp_path / "yard").exists()


def test_what_cannot_be_read_is_asked_again_and_nothing_typed_is_lost(tmp_path: Path) -> None:
    guest = Guest(tmp_path, units="metric")
    status, page = guest.post(place="99 N", wish="3 heads", stack="two", grows="<b>")
    assert status == 409
    assert page.count('aria-invalid="true"') == 3
    assert 'value="99 N"' in page
    assert 'value="3 heads"' in page
    assert "a latitude from 66 S to 66 N" in page
    assert "&lt;b&gt;" in page
    assert "<b>&" not in page
    assert list(tmp_path.iterdir()) == []


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    guest = Guest(tmp_path, units="metric")
    (tmp_path / "log.csv").write_text("mine")
    status, page = guest.post()
    assert status == 409
    assert "there already" in page
    assert (tmp_path / "log.csv").read_text() == "mine"
    assert not (tmp_path / "garden.yaml").exists()


@pytest.mark.slow
def test_answers_make_a_garden_and_a_plan(tmp_path: Path) -> None:
    guest = Guest(tmp_path / "yard", units="metric")
    status, _page = guest.post(stack="1 x 2 x 3", wish="2 heads", season="2027-04-12 to 2027-07-04")
    assert status == 303
    page = guest.get()
    assert 'http-equiv="refresh"' in page
    assert "INVENTED WEATHER" in page
    until = time.monotonic() + 120
    while not guest.done and time.monotonic() < until:
        time.sleep(0.2)
    assert guest.done == [tmp_path / "yard" / "season"]
    garden, plan = read_plan_dir(guest.done[0])
    assert garden.demands[0].said == "2 heads" or garden.demands[0].grams_per_week > 0
    assert len(garden.columns[0].tiers) == 2
    assert plan.promise is not None
    assert load_garden(tmp_path / "yard" / "garden.yaml").invented
    assert serve.plan_in(tmp_path / "yard") == tmp_path / "yard" / "season"


def test_a_garden_without_a_plan_is_offered_to_be_planned(tmp_path: Path) -> None:
    (tmp_path / "garden.yaml").write_text("name: yard\n")
    guest = Guest(tmp_path)
    page = guest.get()
    assert "No plan yet" in page
    assert not keys(page)
    assert guest.post("/plan")[0] == 303
    until = time.monotonic() + 30
    while "garden.yaml" not in (page := guest.get()) or "refresh" in page:
        if time.monotonic() > until:
            pytest.fail(f"no answer in half a minute, only {page}")
        time.sleep(0.1)
    assert "expected" in page  # every fault of the garden is told
    assert not guest.done


def test_a_token_is_asked_for(tmp_path: Path) -> None:
    guest = Guest(tmp_path, units="metric")
    answer = guest.client.post("/", data={}, base_url=HOME, headers={"Origin": HOME})
    assert answer.status_code == 403
    assert not (tmp_path / "garden.yaml").exists()


def test_served_until_there_is_a_plan(tmp_path: Path) -> None:
    made = serve.Serving(tmp_path / "yard", units="metric")
    try:
        client = made.app.test_client()
        page = client.get("/", base_url=made.address.rstrip("/")).text
        assert "A garden to begin with" in page
    finally:
        made.close()
