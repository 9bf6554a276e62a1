"""A plan's folder keeps the crops it was made with: it stays true when the catalogue moves on."""

from dataclasses import replace
from pathlib import Path

import pytest

from scheduler.base.faults import BadInput
from scheduler.garden.file import garden_sources, load_garden
from scheduler.plans import folder as plan_dir
from scheduler.plans.model import PROVEN, Plan, Stage

BALCONY = Path(__file__).parents[3] / "examples" / "balcony" / "garden.yaml"


def empty_plan(garden):
    stage = Stage("produce", PROVEN, 0.0, 0.0, 0.0)
    return Plan(PROVEN, (stage,), garden.season.start, garden.season.end, (), ())


def test_crops_come_from_the_folder_not_from_the_catalogue(tmp_path):
    garden = load_garden(BALCONY)
    name = next(iter(garden.crops))
    heavier = replace(garden.crops[name], fresh_mass=garden.crops[name].fresh_mass + 7)
    changed = replace(garden, crops={**garden.crops, name: heavier})
    sources = {**garden_sources(BALCONY), plan_dir.CROPS_FILE: plan_dir.crops_source(changed)}
    plan_dir.write_plan_dir(tmp_path / "plan", empty_plan(garden), sources)
    back, _ = plan_dir.read_plan_dir(tmp_path / "plan")
    assert dict(back.crops) == dict(changed.crops)
    # A folder without the file (an older plan) falls back on garden.yaml and the catalogue.
    (tmp_path / "plan" / plan_dir.CROPS_FILE).unlink()
    back, _ = plan_dir.read_plan_dir(tmp_path / "plan")
    assert dict(back.crops) == dict(garden.crops)


def test_a_spoilt_crop_is_named_with_its_line(tmp_path):
    garden = load_garden(BALCONY)
    good = plan_dir.crops_source(garden).decode()
    lines = good.splitlines()
    # The second crop's germination, so that the line must be counted past the first crop.
    at = [i for i, text in enumerate(lines) if text.strip() == "germination:"][1]
    assert "value" in lines[at + 1]
    lines[at + 1] = "    value: 3 litre"
    sources = {**garden_sources(BALCONY), plan_dir.CROPS_FILE: "\n".join(lines).encode()}
    good_sources = {**sources, plan_dir.CROPS_FILE: good.encode()}
    plan_dir.write_plan_dir(tmp_path / "plan", empty_plan(garden), good_sources)
    (tmp_path / "plan" / plan_dir.CROPS_FILE).write_text("\n".join(lines))
    with pytest.raises(BadInput) as caught:
        plan_dir.read_plan_dir(tmp_path / "plan")
    assert [f.line for f in caught.value.faults] == [at + 2]
