"""Frames for pandas users."""

from dataclasses import replace

import calendar_case
import pandas as pd
import pytest

from scheduler.outputs.frames import levels_to_frame, produce_to_frame, work_to_frame


@pytest.fixture(scope="module")
def case():
    garden = calendar_case.garden()
    return garden, calendar_case.plan(garden)


def test_work(case):
    garden, plan = case
    frame = work_to_frame(garden, plan)
    assert frame["date"].is_monotonic_increasing
    assert frame["date"].dtype.kind == "M"
    by_kind = frame.groupby("kind")
    assert by_kind["solution_l"].sum()["fill"] == pytest.approx(18.0 * len(plan.batches))
    assert by_kind["mass_g"].sum()["pick"] == sum(b.grams for b in plan.batches)
    assert by_kind["seeds"].sum()["sow"] == sum(b.seeds for b in plan.batches)
    fill = frame[(frame["kind"] == "fill") & (frame["batch"] == "b001")].iloc[0]
    crop = garden.crops["leaf_lettuce"]
    assert crop.ec_low <= fill["ec"] <= crop.ec_high
    assert (fill["ph_low"], fill["ph_high"]) == (crop.ph_low, crop.ph_high)
    assert frame.loc[frame["kind"] == "shelter", "tier"].isna().all()
    assert frame.loc[frame["kind"] != "shelter", "tier"].notna().all()


def test_levels_join_the_batches(case):
    _, plan = case
    levels = levels_to_frame(plan)
    assert len(levels) == sum(len(b.levels) for b in plan.batches)
    joined = levels.merge(plan.to_frame(), left_on="batch", right_on="id", validate="many_to_one")
    assert (joined["date"] >= joined["transplant"]).all()
    first = levels.groupby("batch")["solution_l"].first()
    assert (first == 18.0).all()


def test_produce(case):
    garden, plan = case
    frame = produce_to_frame(garden, plan)
    assert (frame["served_g"] + frame["short_g"] == frame["wish_g"]).all()
    assert frame["short_g"].sum() == sum(u.grams for u in plan.unmet)
    assert (frame["monday"].dt.dayofweek == 0).all()


def test_an_empty_plan_keeps_its_columns(case):
    garden, plan = case
    nothing = replace(plan, batches=())
    for full, empty in (
        (work_to_frame(garden, plan), work_to_frame(garden, nothing)),
        (levels_to_frame(plan), levels_to_frame(nothing)),
    ):
        assert empty.empty
        pd.testing.assert_index_equal(full.columns, empty.columns)
        assert empty["date"].dtype.kind == "M"
