"""One plan, every output: the same share of the wish, and no weighted grams told as produce.

Of `verify_case.good_plan`, whose greens count twice, 2,380 of 2,571 weighted grams are met: 92.6 %.
Unweighted it would be 1,840 of 1,971 g, 93.4 %.
"""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import replace

import pytest
from not_empty import some
from verify_case import garden, good_plan

from scheduler.commands import running
from scheduler.commands import summary as plan_summary
from scheduler.garden.model import Garden
from scheduler.many.gardens import Result
from scheduler.many.text import line, table
from scheduler.outputs import html, text
from scheduler.outputs.sentences import met_text
from scheduler.outputs.work import work_items
from scheduler.page import changes as page_changes
from scheduler.plans.model import Plan
from scheduler.replanning.diff import diff
from scheduler.replanning.text import report_lines
from scheduler.risk.replay import replay
from scheduler.risk.text import data, lines
from scheduler.schedule import assemble
from scheduler.shortfall.answer import MustGive
from scheduler.shortfall.text import lines as shortfall_lines
from scheduler.solvers.cp_sat import Progress
from scheduler.verify import text as verify_command
from scheduler.verify import verify
from scheduler.words import units as show
from scheduler.words.words import Units, use_language
from scheduler.years.weather_years import Spread, spread_years

SHARE, UNWEIGHTED = "92.6 %", "93.4 %"
# 2,380 weighted grams and 2,571 wished, as masses.
NEVER = (
    "2.38 kg",
    "2380 g",
    "2,380 g",
    "2.57 kg",
    "2571 g",
    "2,571",
    "5.25 lb",
    "5.2 lb",
    "5.67 lb",
    "5.7 lb",
)


def told(g: Garden, made: Plan) -> Iterator[tuple[str, str]]:
    """Each output that tells how much of the wish is met, by name."""
    units = Units(g.units)
    yield "plan", "\n".join(plan_summary.summary(g, made))
    first = Progress("first plan", 1.0, 2380.0, assemble.wish_total(g))
    yield "progress", running.progress_line(first, first.bound)
    yield "verify", "\n".join(verify_command.lines(verify(g, made), g.units))
    years = spread_years(g, 3, Spread().scaled(0.0), 0)
    yield "risk", " ".join(lines(g, made, replay(g, made, years)))
    yield "html", html.page(g, made, work_items(g, made), units)
    found = diff(g, made, made)
    yield "rebalance", "\n".join(report_lines_of(g, made))
    yield "page", page_changes._met(found)
    met = assemble.wish_met(g, made)
    many = Result("a", "a", made.status, batches=5, met=met, most=0.95)
    yield "many", "\n".join([*table([many]), line(many, 1, 1)])
    m = MustGive(g, made, 2380.0, assemble.wish_total(g), None, 2450.0, ())
    yield "shortfall", " ".join(shortfall_lines(m))
    yield "calendar", text.calendar(g, made, work_items(g, made), units)


def report_lines_of(g: Garden, made: Plan) -> list[str]:
    from types import SimpleNamespace

    found = SimpleNamespace(
        remarks=(),
        searched=True,
        stay=False,
        plan=made,
        diff=diff(g, made, made),
        state=SimpleNamespace(on=made.start),
        commitments=SimpleNamespace(garden=g),
    )
    return report_lines(found, g.units)  # type: ignore[arg-type]


@pytest.mark.parametrize("units", ["metric", "us"])
def test_every_output_tells_the_same_share(units: str) -> None:
    g, made = replace(garden(), units=units), good_plan()
    # Its bound of 2,400 g would read as the unweighted share.
    made = replace(made, stages=(replace(made.stages[0], bound=2450.0), *made.stages[1:]))
    for name, said in some(told(g, made), 8):
        if name != "calendar":  # tells each group for itself, week by week
            assert SHARE in said, (name, said)
        assert UNWEIGHTED not in said, name
        for weighted in NEVER:
            assert weighted not in said, (name, weighted)
        if name not in ("progress", "many", "calendar"):
            assert "by the garden's weights" in " ".join(said.split()).replace("&#39;", "'"), name


def test_pictures_tell_the_same_share() -> None:
    pytest.importorskip("matplotlib")
    from scheduler.pictures import save
    from scheduler.pictures.produce import produce

    g = garden()
    root = ET.fromstring(save(produce(g, good_plan(), Units("metric")), "svg"))
    said = " ".join("".join(t.itertext()) for t in root.iter("{http://www.w3.org/2000/svg}text"))
    assert SHARE in said
    assert UNWEIGHTED not in said


def test_machines_are_told_the_same_share() -> None:
    g, made = garden(), good_plan()
    share = pytest.approx(2380 / 2571)
    assert plan_summary.outcome(g, made, "x")["wish_met"] == share
    assert verify(g, made).as_dict()["wish_met"] == share
    assert diff(g, made, made).as_dict()["wish_met"] == {"before": share, "now": share}
    years = spread_years(g, 3, Spread().scaled(0.0), 0)
    body = data(g, made, replay(g, made, years), 0)
    assert body["wish_met"] == {"planned": share, "p5": share, "p50": share, "p95": share}
    assert "2380" not in json.dumps(body)


def test_with_one_weight_the_masses_are_told_beside_it() -> None:
    """A weight of 2 for every group alters no share: 1,840 of 1,971 g."""
    g = garden()
    g = replace(g, demands=tuple(replace(d, weight=2.0) for d in g.demands))
    said = met_text(g, good_plan(), Units("metric"))
    assert said == "93.4 % of the wish met, 1.84 kg of 1.97 kg"
    use_language("de")
    assert met_text(g, good_plan(), Units("metric")) == (
        "93,4 % des Wunsches erfüllt, 1,84 kg von 1,97 kg"
    )
    use_language("en")
    assert met_text(replace(g, demands=()), good_plan(), Units("metric")) == ""


@pytest.mark.parametrize(
    ("part", "up", "text"),
    [
        (0.0, False, "0.0 %"),
        (0.0001, False, "0.1 %"),
        (0.6134, False, "61.3 %"),
        (0.9999, False, "99.9 %"),
        (1.0, False, "100.0 %"),
        (1 - 1e-12, False, "100.0 %"),
        # What cannot be exceeded is never rounded down.
        (0.6134, True, "61.4 %"),
        (0.614, True, "61.4 %"),
        (0.9999, True, "100.0 %"),
    ],
)
def test_shares_are_rounded_against_flattery(part: float, up: bool, text: str) -> None:
    assert show.share(part, up) == text


def test_no_weighted_grams_in_a_search_s_progress() -> None:
    p = Progress("produce", 3.0, 2380.0, 2450.0)
    assert re.search(r"92\.6 % of the wish, at most 95\.3 %", running.progress_line(p, 2571.0))
    assert "2,380" not in running.progress_line(p)  # a rebalance does not know the wish
