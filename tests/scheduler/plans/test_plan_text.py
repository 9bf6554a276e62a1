"""plan.json is written batch by batch; the text is that of the whole tree at once."""

import json
from dataclasses import asdict, replace
from datetime import date

import pytest

from scheduler.plans.model import SCHEMA
from scheduler.plans.reading import parse_plan
from tests.scheduler.verify_case import good_plan


def at_once(plan):
    """The whole plan as one tree, by the json module alone."""
    body = {
        "schema": SCHEMA,
        "garden": plan.garden,
        "status": plan.status,
        "season": {"start": plan.start, "end": plan.end},
        "stages": [asdict(s) for s in plan.stages],
        "batches": [asdict(b) for b in plan.batches],
        "unmet": [asdict(u) for u in plan.unmet],
        "by_hand": dict(plan.by_hand),
        "gap": plan.gap,
        "versions": dict(plan.versions),
        "seed": plan.seed,
        "as_of": plan.as_of,
        "risk": None,
        "number": plan.number,
        "made": plan.made,
        "lifted": None,
    }
    return json.dumps(body, indent=1, default=date.isoformat, ensure_ascii=False) + "\n"


def variants():
    plan = good_plan()
    first, *rest = plan.batches
    mark = '"levels": [] "batches": []\n'
    return {
        "as it is": plan,
        "no batches": replace(plan, batches=()),
        "no levels, no picks": replace(plan, batches=(replace(first, levels=(), picks=()), *rest)),
        "names like the marks": replace(
            plan, garden=mark, versions={mark: mark}, batches=(replace(first, id=mark), *rest)
        ),
        "levels shared": replace(plan, batches=(first, replace(first, id="twin", column="Größe"))),
    }


@pytest.mark.parametrize("name", variants())
def test_the_text_is_that_of_the_whole(name):
    plan = variants()[name]
    assert plan.to_json() == at_once(plan)
    assert parse_plan(plan.to_json()) == plan
