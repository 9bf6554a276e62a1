"""From a vessel as written in garden.yaml to the vessel the program reckons with."""

from __future__ import annotations

from dataclasses import replace

from crops.vessel import Vessel
from scheduler.base.yaml_lines import Place
from scheduler.garden.schema import VesselModel
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


def make_vessel(name: str, model: VesselModel, sections: Sections) -> Vessel | None:
    """The vessel, or None with its faults added to ``parts``."""
    place: Place = ("vessels", name)
    show = Units(sections.units)
    needed = NEEDS[model.shape]
    before = len(sections.faults)
    for key in _SIZES:
        given = getattr(model, key) is not None
        if key in needed and not given:
            sections.fault((*place, key), "missing", f"{key}, as the shape is {model.shape}")
        if given and key not in needed:
            sections.fault((*place, key), "too much", f"only {', '.join(needed)} for {model.shape}")
    if len(sections.faults) > before:
        return None
    empty = _empty(name, model)
    unit, amount = model.fill
    fill = amount if unit == "litre" else float(empty.volume(min(amount, empty.height_cm)))
    if unit == "cm" and amount > empty.height_cm * (1 + 1e-9):
        expected = f"a depth up to the inside height, {show.depth_text(empty.height_cm)}"
        sections.fault((*place, "fill"), show.depth_text(amount), expected)
        return None
    if fill > empty.capacity_l * (1 + 1e-9):
        expected = f"at most {show.volume_text(empty.capacity_l)}, the vessel's volume"
        sections.fault((*place, "fill"), show.volume_text(fill), expected)
        return None
    depth = float(empty.depth(fill))
    if model.keep >= depth:
        expected = f"below the depth at filling, {show.depth_text(depth)}"
        sections.fault((*place, "keep"), show.depth_text(model.keep), expected)
        return None
    return replace(empty, fill_l=min(fill, empty.capacity_l), keep_cm=model.keep)


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
