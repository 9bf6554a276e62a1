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


def make_vessel(place: Place, name: str, model: VesselModel, sections: Sections) -> Vessel | None:
    """The vessel written at a place, or None with its faults added to those of ``sections``.

    What cannot be read of it is told already; the rest is judged as far as it can be.
    """
    show = Units(sections.units)
    unread = sections.unread.get(place, frozenset())
    needed = NEEDS[model.shape]
    before = len(sections.faults)
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
    if len(sections.faults) > before:
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
