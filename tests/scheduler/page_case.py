"""A folder with the small garden of the calendar tests, to open as a page."""

from __future__ import annotations

import re
import shutil
from datetime import date
from pathlib import Path

from scheduler.page.app import create_app
from scheduler.solvers.cp_sat import Settings

PORT = 8417
HOME = f"http://127.0.0.1:{PORT}"
BALCONY = Path(__file__).parents[2] / "examples" / "balcony"


class Clock:
    """A day that a test may turn on."""

    def __init__(self, day: date) -> None:
        self.day = day

    def __call__(self) -> date:
        return self.day


def planned(folder: Path) -> Path:
    """The balcony's season, planned in a few seconds."""
    from scheduler.garden.file import garden_sources, load_garden
    from scheduler.plans.folder import CROPS_FILE, crops_source, write_plan_dir
    from scheduler.search.solve import solve

    garden = load_garden(BALCONY / "garden.yaml")
    plan = solve(garden, Settings(time_limit=5.0, workers=1, deterministic=2.0)).plan
    sources = {**garden_sources(BALCONY / "garden.yaml"), CROPS_FILE: crops_source(garden)}
    write_plan_dir(folder, plan, sources)
    return folder


def copy(planned_: Path, to: Path) -> Path:
    shutil.copytree(planned_, to)
    return to


class Visitor:
    """A browser without script: follows redirects, keeps the page's token."""

    def __init__(self, folder: Path, day: date, **options: object) -> None:
        self.clock = Clock(day)
        options.setdefault("settings", Settings(time_limit=3.0, workers=1))
        self.app = create_app(folder, PORT, today=self.clock, **options)  # type: ignore[arg-type]
        self.client = self.app.test_client()
        self.token = self.found(r'name="token" value="([^"]+)"', self.get("/log"))

    def get(self, path: str, status: int = 200, **headers: str) -> str:
        answer = self.client.get(path, base_url=HOME, headers=headers)
        assert answer.status_code == status, (path, answer.status_code)
        return answer.get_data().decode(errors="replace")

    def post(self, path: str, status: int = 303, **fields: object):
        data = {"token": self.token, **fields}
        answer = self.client.post(path, data=data, base_url=HOME, headers={"Origin": HOME})
        assert answer.status_code == status, (path, answer.status_code, answer.text[:2000])
        return answer

    @staticmethod
    def found(pattern: str, text: str) -> str:
        match = re.search(pattern, text)
        assert match, pattern
        return match[1]
