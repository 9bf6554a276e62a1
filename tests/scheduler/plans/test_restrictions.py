"""What every proof is about: one list, named by each text that tells of a proof."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from click.testing import CliRunner
from solver_case import tiny
from verify_case import CHARD, LETTUCE, day

from scheduler.cli import cli
from scheduler.commands.summary import summary
from scheduler.garden.model import Demand, Garden
from scheduler.outputs.html import page
from scheduler.outputs.work import work_items
from scheduler.plans.model import Plan
from scheduler.plans.restrictions import (
    CUTS,
    GROWING,
    HEADS,
    LONG,
    RESTRICTIONS,
    RISK,
    among,
    that_bind,
)
from scheduler.search.solve import Settings, solve
from scheduler.shortfall.answer import MustGive
from scheduler.shortfall.text import lines
from scheduler.words.words import Units

README = Path(__file__).parents[3] / "README.md"


def both() -> Garden:
    """Lettuce and chard, of which more is wished than can grow."""
    g = tiny(45)
    wishes = tuple(
        Demand(group, (crop,), 70_000.0, day(0), day(44))
        for group, crop in (("lettuce", "lettuce"), ("greens", "chard"))
    )
    return replace(g, demands=wishes, crops={"lettuce": LETTUCE, "chard": CHARD})


def proven(g: Garden) -> Plan:
    return solve(g, Settings(time_limit=30, gap=0.0, workers=1)).plan


def test_readme_and_help_name_all_of_them() -> None:
    told = " ".join(CliRunner().invoke(cli, ["plan", "--help"]).output.split())
    readme = " ".join(README.read_text().split())
    for r in RESTRICTIONS:
        assert r.text in told
        assert r.text in readme


def test_those_that_bind() -> None:
    heads, mixed = tiny(45), both()
    assert list(that_bind(heads)) == [HEADS, LONG]
    assert list(that_bind(mixed)) == [HEADS, CUTS, LONG]
    chard = replace(mixed, demands=mixed.demands[1:])
    assert list(that_bind(chard, True, True)) == [CUTS, LONG, GROWING, RISK]
    assert among([LONG]) == ""
    assert among(that_bind(mixed)) == (
        "among plans with heads picked on one day or two and each cut as soon as it has grown back"
    )


def test_plan_and_page_name_what_a_proof_is_about() -> None:
    g = both()
    plan = proven(g)
    assert plan.status == "proven"
    text = "\n".join(summary(g, plan))
    assert max(map(len, text.splitlines())) <= 79
    assert among(that_bind(g)) in " ".join(text.split())
    shown = page(g, plan, work_items(g, plan), Units(g.units))
    assert "among plans with: heads picked on one day or two, each cut as soon as" in shown
    assert "No better plan exists" not in shown


def test_where_all_is_met_nothing_is_left_out() -> None:
    """400 g are wished in the week of day 30, one batch gives them: no plan of any kind has more."""
    g = replace(tiny(45), demands=(Demand("lettuce", ("lettuce",), 400.0, day(28), day(34)),))
    plan = proven(g)
    assert plan.stages[0].value == 400
    assert "among plans" not in "\n".join(summary(g, plan))
    assert "among plans" not in page(g, plan, work_items(g, plan), Units(g.units))


def test_shortfall_names_it_with_each_bound() -> None:
    g = both()
    plan = proven(g)
    value = plan.stages[0].value
    for bound in (value, value + 100):
        told = lines(MustGive(g, plan, value, 2 * value, value, bound, ()))
        assert max(map(len, told)) <= 79
        assert f"proven, {among(that_bind(g))}" in " ".join(" ".join(told).split())
