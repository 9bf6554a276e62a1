"""plan.json is written batch by batch; the text is that of the whole tree at once."""

import json
import re
from dataclasses import asdict, replace
from datetime import date

import pytest

from scheduler.base.faults import BadInput
from scheduler.plans.model import Chances, YearsTaken
from scheduler.plans.reading import parse_plan
from tests.scheduler.verify_case import good_plan


def at_once(plan):
    """The whole plan as one tree, by the json module alone."""
    with_years = plan.years is not None
    body = {
        "schema": "dryline-plan-2" if with_years else "dryline-plan-1",
        "garden": plan.garden,
        "status": plan.status,
        "season": {"start": plan.start, "end": plan.end},
        "stages": [asdict(s) for s in plan.stages],
        "batches": [
            (spans_told if with_years else spans_left_out)(asdict(b)) for b in plan.batches
        ],
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
        "years": asdict(plan.years) if with_years else None,
        "promise": None,
    }
    return json.dumps(body, indent=1, default=date.isoformat, ensure_ascii=False) + "\n"


def spans_left_out(batch):
    """A batch of schema 1, as it always was."""
    del batch["transplant_until"], batch["chances"]
    keys = ("date", "plants", "grams", "early", "young")
    levels = [{k: v[k] for k in ("date", "litres", "depth_cm")} for v in batch["levels"]]
    picks = [{k: p[k] for k in keys} for p in batch["picks"]]
    return {**batch, "picks": picks, "levels": levels}


def spans_told(batch):
    """A batch of schema 2; ``from`` can be no name in Python."""
    keys = ("date", "plants", "grams", "early", "young", "look_from", "from", "to", "share")
    picks = [{k: p["from_" if k == "from" else k] for k in keys} for p in batch["picks"]]
    return {**batch, "picks": picks}


def variants():
    plan = good_plan()
    first, *rest = plan.batches
    span = {"look_from": first.sow, "from_": first.transplant, "to": first.clear, "share": 0.75}
    lived = replace(
        first,
        picks=tuple(replace(p, **span) for p in first.picks),
        transplant_until=first.transplant,
        levels=tuple(replace(v, low=1.5, high=2.5) for v in first.levels),
        chances=Chances(0.125, 0.0, 1.0),
    )
    mark = '"levels": [] "batches": []\n'
    return {
        "as it is": plan,
        "with years": replace(
            plan, years=YearsTaken("made", 8, 200, 0, 1, 24), batches=(lived, *rest)
        ),
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


def test_a_plan_of_either_schema_is_read_and_a_fault_has_the_name_that_it_has_in_the_file():
    text = variants()["with years"].to_json()
    as_first = parse_plan(text.replace("dryline-plan-2", "dryline-plan-1"))
    assert as_first == parse_plan(text)
    for wrong in ('"from": "soon"', '"from": "1066-10-14"', '"from": 5'):
        with pytest.raises(BadInput) as caught:
            parse_plan(re.sub(r'"from": "[^"]*"', wrong, text, count=1))
        (fault,) = caught.value.faults
        assert fault.path == "batches[0].picks[0].from"
    with pytest.raises(BadInput, match="dryline-plan-1 or dryline-plan-2"):
        parse_plan(text.replace("dryline-plan-2", "dryline-plan-3"))


def _spoilt(*changes):
    """The text of a good plan with values changed: (path from the top, new value or ...)."""
    body = json.loads(good_plan().to_json())
    for path, value in changes:
        *above, last = path
        inner = body
        for part in above:
            inner = inner[part]
        if value is ...:
            del inner[last]
        else:
            inner[last] = value
    return json.dumps(body)


def test_values_out_of_range_are_told_beside_those_of_the_wrong_kind():
    """Shapes came first: a negative mass was told only once a missing field was mended."""
    shapes = [
        (("batches", 0, "crop"), ...),
        (("batches", 1, "tier"), "two"),
        (("status",), 7),
        (("season", "end"), "2027-02-30"),
    ]
    ranges = [
        (("batches", 0, "picks", 0, "grams"), -5),
        (("batches", 1, "fill_litres"), 1e13),
        (("batches", 1, "id"), "b\u202e2"),
        (("batches", 2, "sow"), "1066-10-14"),
        (("season", "start"), "3000-01-01"),
        (("garden",), "a\u0007b"),
    ]
    with pytest.raises(BadInput) as caught:
        parse_plan(_spoilt(*shapes, *ranges))
    assert {f.path for f in caught.value.faults} == {
        "batches[0].crop",
        "batches[1].tier",
        "status",
        "season.end",
        "batches[0].picks[0].grams",
        "batches[1].fill_litres",
        "batches[1].id",
        "batches[2].sow",
        "season.start",
        "garden",
    }
    assert len(caught.value.faults) == 10
    beside = {f.path: f for f in caught.value.faults}
    with pytest.raises(BadInput) as alone:
        parse_plan(_spoilt(*ranges))
    assert {f.path: f for f in alone.value.faults} == {
        f.path: f for f in alone.value.faults if beside[f.path] == f
    }
    assert len(alone.value.faults) == len(ranges)


def test_what_may_be_below_nought_is_no_fault_beside_others():
    """A margin, a bound and a seed may be; what a rule of thumb gave is its maker's own."""
    body = [
        (("batches", 0, "margin_days"), -3),
        (("stages", 0, "bound"), -1.5),
        (("by_hand",), {"value": -9, "dates": "1066-10-14"}),
        (("batches", 0, "crop"), ...),
    ]
    with pytest.raises(BadInput) as caught:
        parse_plan(_spoilt(*body))
    assert [f.path for f in caught.value.faults] == ["batches[0].crop"]
