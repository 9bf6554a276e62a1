"""From a vessel as written in garden.yaml to the vessel the program reckons with."""

from __future__ import annotations

from dataclasses import replace

from crops.vessel import LEAST_DIP_CM, LEAST_GAP_CM, LID, Plugs, Vessel
from scheduler.base.yaml_lines import Place
from scheduler.garden.schema import PlugsModel, VesselModel
from scheduler.garden.shape import Sections
from scheduler.words.units import Units

# Keys each shape needs.
NEEDS = {
    "round": ("bottom", "top", "height"),
    "straight": ("diameter", "height"),
    "rectangular": ("length", "width", "height"),
    "table": ("table",),
}
_SIZES = ("bottom", "top", "diameter", "length", "width", "height", "table")


def make_vessel(place: Place, name: str, model: VesselModel, sections: Sections) -> Vessel | None:
    """The vessel written at a place, or None with its faults added to those of ``sections``.

    What cannot be read of it is told already; the rest is judged as far as it can be.
    """
    show = Units(sections.units)
    unread = sections.unread.get(place, frozenset())
    needed = NEEDS[model.shape]
    before = len(sections.faults)
    plugs = None if model.plugs is None else _plugs((*place, "plugs"), model.plugs, sections)
    if "shape" not in unread:
        for key in _SIZES:
            given = getattr(model, key) is not None
            if key in needed and not given and key not in unread:
                sections.fault((*place, key), "missing", f"{key}, as the shape is {model.shape}")
            if given and key not in needed:
                expected = f"only {', '.join(needed)} for {model.shape}"
                sections.fault((*place, key), "too much", expected)
    whole = "shape" not in unread and all(getattr(model, k) is not None for k in needed)
    empty = _empty(name, model) if whole else None
    height = empty.height_cm if empty is not None else model.height
    unit, amount = ("", 0.0) if "fill" in unread else model.fill
    if height is not None and unit == "cm" and amount > height * (1 + 1e-9):
        expected = f"a depth up to the inside height, {show.depth_text(height)}"
        sections.fault((*place, "fill"), show.depth_text(amount), expected)
        return None
    if empty is None or not unit:
        most, which = (amount, "depth at filling") if unit == "cm" else (height, "inside height")
        if most is not None and model.keep >= most:
            expected = f"below the {which}, {show.depth_text(most)}"
            sections.fault((*place, "keep"), show.depth_text(model.keep), expected)
        return None
    fill = amount if unit == "litre" else empty.volume_at(min(amount, empty.height_cm))
    if fill > empty.capacity_l * (1 + 1e-9):
        expected = f"at most {show.volume_text(empty.capacity_l)}, the vessel's volume"
        sections.fault((*place, "fill"), show.volume_text(fill), expected)
        return None
    depth = empty.depth_at(fill)
    if model.keep >= depth:
        expected = f"below the depth at filling, {show.depth_text(depth)}"
        sections.fault((*place, "keep"), show.depth_text(model.keep), expected)
    if plugs is not None:
        _reached(place, replace(empty, plugs=plugs), depth, sections, show)
    if len(sections.faults) > before:
        return None
    return replace(
        empty,
        fill_l=min(fill, empty.capacity_l),
        keep_cm=model.keep,
        plugs=plugs,
        rain=model.rain,
        wall=model.wall,
    )


def _plugs(place: Place, model: PlugsModel, sections: Sections) -> Plugs | None:
    """The plugs written at a place, or None with their faults told."""
    if model.place == LID:
        for key in ("hole", "angle"):
            if getattr(model, key) is not None:
                sections.fault((*place, key), "too much", f"no {key} for plugs in the lid")
        return Plugs(LID, model.depth, holes=model.holes)
    for key in ("hole", "angle"):
        if getattr(model, key) is None:
            sections.fault((*place, key), "missing", f"{key}, as the plugs sit in the side")
    if model.hole is None or model.angle is None:
        return None
    return Plugs(model.place, model.depth, model.hole, model.angle, model.holes)


def _reached(place: Place, vessel: Vessel, depth: float, sections: Sections, show: Units) -> None:
    """Whether a fill of some depth wets the plugs' tips and leaves air above; plugs that fit."""
    top, tip = vessel.plug_top_cm, vessel.tip_cm
    assert vessel.plugs is not None
    assert top is not None
    assert tip is not None
    if vessel.plugs.place != LID and top >= vessel.height_cm:
        expected = f"below the inside height, {show.depth_text(vessel.height_cm)}"
        sections.fault((*place, "plugs", "hole"), show.depth_text(top), expected)
        return
    low, high = tip + LEAST_DIP_CM, top - LEAST_GAP_CM
    if tip <= 0:
        expected = (
            f"plugs that end above the bottom: less than {show.depth_text(top)} from top to tip"
        )
        sections.fault((*place, "plugs", "depth"), show.depth_text(vessel.plugs.depth_cm), expected)
    elif low > high + 1e-9:
        expected = (
            f"plugs that reach down {show.depth_text(LEAST_DIP_CM + LEAST_GAP_CM)} or more: "
            "their tips stand in the solution, with air above it"
        )
        sections.fault((*place, "plugs", "depth"), show.depth_text(vessel.plugs.depth_cm), expected)
    elif not low - 1e-9 <= depth <= high + 1e-9:
        where = "lid" if vessel.plugs.place == LID else "holes"
        expected = (
            f"{show.depth_text(low)} to {show.depth_text(high)} deep, "
            f"{show.volume_text(vessel.volume_at(low))} to "
            f"{show.volume_text(vessel.volume_at(high))}: the plugs' tips reach down to "
            f"{show.depth_text(tip)} above the bottom and stand {show.depth_text(LEAST_DIP_CM)} "
            f"deep or more, and as much air stays below the {where}"
        )
        sections.fault((*place, "fill"), f"{show.depth_text(depth)} deep", expected)


def _empty(name: str, model: VesselModel) -> Vessel:
    """The vessel with a drop in it: its geometry, before the fill is known."""
    height = model.height or 0.0
    table: tuple[float, ...] = ()
    if model.shape == "table":
        assert model.table is not None
        size, table = zip(*model.table, strict=True)
        height = size[-1]
    elif model.shape == "rectangular":
        size = (model.length or 0.0, model.width or 0.0)
    elif model.shape == "straight":
        size = (model.diameter or 0.0,) * 2
    else:
        size = (model.bottom or 0.0, model.top or 0.0)
    shape = "round" if model.shape == "straight" else model.shape
    return Vessel(name, shape, tuple(size), height, 1e-9, 0.0, model.mass, table)
