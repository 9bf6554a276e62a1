"""A grower's own numbers on top of the catalogue."""

from __future__ import annotations

from dataclasses import replace

import pytest

from crops.catalogue import CropFaults, catalogue, with_overrides

KALE = catalogue()["kale"]


def test_value_alone_is_the_growers():
    crop = with_overrides(KALE, {"peak_demand": "170 mL/day", "cuts": 1, "cut_shares": [1]})
    assert crop.peak_demand == 170
    assert crop.parameters["peak_demand"].text == "170 mL/day"
    assert crop.parameters["peak_demand"].source == "the grower"
    assert (crop.cuts, crop.cut_shares) == (1, (1.0,))


def test_value_with_source_and_sections():
    crop = with_overrides(
        KALE,
        {
            "fresh_mass": {"value": "6 oz", "source": "scales, summer 2026"},
            "storage": {"storage_life": "1 week"},
        },
        source="log of 2026",
    )
    assert crop.fresh_mass == pytest.approx(170.097)  # 6 x 28.3495 g
    assert crop.parameters["fresh_mass"].source == "scales, summer 2026"
    assert crop.storage_life == pytest.approx(7)
    assert crop.parameters["storage_life"].source == "log of 2026"


def test_the_rest_stays_and_the_catalogue_is_not_touched():
    before = KALE.peak_demand
    crop = with_overrides(KALE, {"peak_demand": "170 mL/day"})
    assert replace(crop, peak_demand=before) == KALE
    assert catalogue()["kale"].peak_demand == before
    assert catalogue()["kale"].parameters["peak_demand"].source != "the grower"
    assert crop.parameters["germination"] == KALE.parameters["germination"]


def test_nothing_to_change():
    assert with_overrides(KALE, {}) == KALE


def test_none_switches_off_where_it_may():
    crop = with_overrides(catalogue()["spinach"], {"bolt_daylength": "none"})
    assert crop.bolt_daylength is None
    assert crop.parameters["bolt_daylength"].text == "none"
    crop = with_overrides(catalogue()["spinach"], {"bolt_daylength": None, "support_mass": "40 g"})
    assert (crop.bolt_daylength, crop.support_mass) == (None, 40)


def test_texts_may_be_changed_but_not_the_name():
    crop = with_overrides(KALE, {"title": "curly kale", "group": "winter greens"})
    assert (crop.title, crop.group) == ("curly kale", "winter greens")
    with pytest.raises(CropFaults) as caught:
        with_overrides(KALE, {"name": "curly_kale"})
    assert caught.value.faults[0].path == "name"


def test_a_relation_with_a_number_of_the_catalogue_is_checked():
    with pytest.raises(CropFaults) as caught:
        with_overrides(KALE, {"water": {"stage_start": 0.9}, "t_base": "30 degC"})
    assert {f.path for f in caught.value.faults} >= {"water.stage_start", "t_base"}
    # one cut fewer without its shares: the shares of the catalogue no longer fit
    with pytest.raises(CropFaults) as caught:
        with_overrides(KALE, {"cuts": 2})
    assert [f.path for f in caught.value.faults] == ["cut_shares"]


def test_all_faults_at_once():
    with pytest.raises(CropFaults) as caught:
        with_overrides(
            KALE,
            {
                "peak_demand": "170",
                "fresh_mass": {"value": "6 oz", "sorce": "scales"},
                "peek_demand": "170 mL/day",
                "storage": 3,
                "hold": {"source": "scales, 2026"},
                "light": {"dli_min": "1 lux"},
            },
        )
    assert {f.path for f in caught.value.faults} == {
        "peak_demand",
        "fresh_mass.sorce",
        "peek_demand",
        "storage",
        "hold",
        "light.dli_min",
    }
    near = next(f for f in caught.value.faults if f.path == "peek_demand")
    assert "peak_demand" in near.expected


@pytest.mark.parametrize("junk", [None, 3, "text", [], [1]])
def test_overrides_that_are_no_mapping(junk):
    with pytest.raises(CropFaults):
        with_overrides(KALE, junk)


def test_emergence_is_replaced_whole():
    crop = with_overrides(KALE, {"emergence": {"50 degF": "14 day", "68 degF": "5 day"}})
    assert crop.emergence == ((pytest.approx(10), 14), (pytest.approx(20), 5))
