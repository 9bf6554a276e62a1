"""Crops as text at 80 columns and as plain data, in metric or US units."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

from crops.crop import Crop, Parameter
from crops.crop_keys import KEYS, SECTIONS, Key
from crops.units import quantity
from scheduler.outputs import crop_weights

WIDTH = 80
_US = {"degC": "degF", "g": "oz", "mL/day": "fluid_ounce/day", "mm/day": "in/day"}
_PRINTED = {
    "degC": "°C",
    "degF": "°F",
    "fluid_ounce/day": "fl oz/day",
    "mol/m^2/day": "mol/m²/day",
}


def unit_of(key: Key, units: str) -> str:
    """The unit a key is shown in."""
    return _US.get(key.unit, key.unit) if units == "us" else key.unit


def _convert(value: float, unit: str, to: str) -> float:
    return value if unit == to else quantity(f"{value!r} {unit}", to)


def _short(value: float, unit: str) -> str:
    """A number as short as its worth: three figures once converted, else as it stands."""
    if unit in ("degF", "oz", "fluid_ounce/day"):
        return f"{value:.1f}".removesuffix(".0")
    return f"{value:.2f}" if unit == "in/day" else f"{value:g}"


def value_text(key: Key, value: Any, units: str = "metric") -> str:
    """One number of a crop as text with its unit."""
    unit = unit_of(key, units)
    if value is None:
        return "none"
    if key.kind == "text":
        return str(value)
    if key.kind == "flag":
        return "yes" if value else "no"
    if key.kind == "shares":
        return ", ".join(f"{100 * share:g} %" for share in value)
    if key.kind == "emergence":
        to = "degF" if units == "us" else "degC"
        pairs = (f"{days:g} d at {_short(_convert(t, 'degC', to), to)}" for t, days in value)
        return ", ".join(pairs) + f" {_PRINTED[to]}"
    if not unit:
        return f"{100 * value:g} %" if is_share(key) else f"{value:g}"
    number = _short(_convert(value, key.unit, unit), unit)
    plural = "s" if unit == "day" and number != "1" else ""
    return f"{number} {_PRINTED.get(unit, unit)}{plural}"


def is_share(key: Key) -> bool:
    """Whether the number is a share of something, printed in percent."""
    return key.kind == "quantity" and not key.unit and key.high == 1


def sheet(crop: Crop, units: str = "metric") -> str:
    """One crop: each number with what it means and where it comes from."""
    name = f" ({crop.name})" if crop.name != crop.title else ""
    lines = [f"{crop.title}{name}: {crop.group}, {crop.family}", ""]
    weighed = False
    for section in SECTIONS[1:]:
        lines.append(section.upper())
        before = ""
        for key in (k for k in KEYS.values() if k.section == section):
            if key.name not in crop.parameters and key.default == getattr(crop, key.name):
                continue  # left out of the file: does not apply to this crop
            written = crop.parameters.get(key.name)
            source = written.source if written else "no source given"
            lines += _entry(key, value_text(key, getattr(crop, key.name), units))
            found = crop_weights.of(crop.name, key.name, getattr(crop, key.name))
            if found:
                weighed = True
                lines += _source(_weight(found, units))
            # A long citation is not printed twice running.
            lines += _source("the same source" if source == before and len(source) > 40 else source)
            before = source
        lines.append("")
    for kind, differs in crop.kinds.items():
        lines.append(f"KIND {kind}: differs in")
        for name, value in differs.values.items():
            lines += _entry(KEYS[name], value_text(KEYS[name], value, units))
            lines += _source(differs.written[name].source)
        lines += ["", *_source(f"in garden.yaml: {_TAKEN % (crop.name, kind)}"), ""]
    lines.append("A plant is what stands in one hole: a head, or a plug of several seedlings.")
    if weighed:
        lines += ["", *textwrap.wrap(_HOW.format(crop_weights.weights()), WIDTH)]
    return "\n".join(lines)


_HOW = (
    "Points: by how much of its wish the most that could be met in the {0.garden}, an invented "
    "garden, moves when this one number is another; in your garden it may be more or less. It is "
    "the bound of a linear relaxation over 20 weather years, not a plan. A number that is no "
    "bottleneck there weighs nothing, as other crops can take the place. Measured {0.date}, "
    "program {0.commit}. What has no points was not measured, or has changed since."
)


def _weight(found: crop_weights.Weight, units: str) -> str:
    """Such as: 20 % less moves the courtyard by -8.1 points, 20 % more by +3."""
    change = found.change.replace("%", " %").replace("degC", "°C")
    if units == "us":
        change = change.replace("1 °C", "1.8 °F")
    garden = crop_weights.weights().garden
    sides = [
        (f"{change} {word}", f"by {points:+.3g} points".replace("+0 ", "0 "))
        for word, points in (("less", found.down), ("more", found.up))
        if points is not None
    ]
    told = [f"{side} moves the {garden} {by}" if not i else f"{side} {by}" for i, (side, by) in
            enumerate(sides)]  # fmt: skip
    return ", ".join(told)


_TAKEN = "crops: {overrides: {%s: {kind: %s}}}"
_VALUE, _MEANING = 25, 43  # columns where value and meaning begin


def _entry(key: Key, value: str) -> list[str]:
    meaning = textwrap.wrap(key.meaning, WIDTH - _MEANING)
    name = f"  {key.name}".ljust(_VALUE)
    if len(value) < _MEANING - _VALUE:
        first = name + value.ljust(_MEANING - _VALUE) + meaning[0]
        return [first, *(" " * _MEANING + part for part in meaning[1:])]
    # A list breaks after its commas only: blanks inside an item are hidden from the wrapping.
    items = value.replace(" ", "\0").replace(",\0", ", ")
    long = [part.replace("\0", " ") for part in textwrap.wrap(items, WIDTH - _VALUE)]
    return [name + key.meaning, *(" " * _VALUE + part for part in long)]


def _source(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=" " * 6, subsequent_indent=" " * 6)


def listing(crops: Sequence[Crop], units: str = "metric") -> str:
    """The catalogue as a table of at most 80 columns."""
    us = units == "us"
    mass, drink, warm = ("oz", "fl oz/d", "°F") if us else ("g", "mL/day", "°C")
    rows = [
        ("crop", "group", "family", "days", "mass", "drinks", "DLI", "hold", "keeps"),
        ("", "", "", "", mass, drink, "mol", "d", f"d at {warm}"),
    ]
    for c in crops:
        grams, peak, store = (
            _convert(getattr(c, k), KEYS[k].unit, unit_of(KEYS[k], units))
            for k in ("fresh_mass", "peak_demand", "storage_temperature")
        )
        figure = ".1f" if us else ".0f"
        rows.append(
            (
                c.name,
                c.group,
                c.family,
                f"{c.nursery_days:.0f}+{c.days_to_harvest:.0f}",
                f"{grams:{figure}}",
                f"{peak:{figure}}",
                f"{c.dli_min:g}/{c.dli_target:g}",
                f"{c.hold:g}",
                f"{c.storage_life:g} at {store:>2.0f}",
            )
        )
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    lines = []
    for row in rows:
        left = [cell.ljust(w) for cell, w in zip(row[:3], widths[:3], strict=True)]
        right = [cell.rjust(w) for cell, w in zip(row[3:], widths[3:], strict=True)]
        lines.append(" ".join(left) + "  " + "  ".join(right))
    note = (
        "days: nursery + tier, at each crop's reference temperature. mass, drinks: of one hole, "
        "over all cuts and at full size in open summer air. DLI: least / target, mol a day and m². "
        "hold: stays good in place. `dryline crops NAME` shows every number with its source."
    )
    return "\n".join([*(line.rstrip() for line in lines), "", *textwrap.wrap(note, WIDTH)])


def as_data(crop: Crop, units: str = "metric") -> dict[str, Any]:
    """A crop as plain data: number, unit, source and the text as written; so its kinds."""
    numbers = {
        key.name: {
            **_number(key, getattr(crop, key.name), crop.parameters.get(key.name), units),
            "weight": _weight_data(crop, key),
        }
        for key in KEYS.values()
        if key.kind != "text"
    }
    kinds = {
        name: {k: _number(KEYS[k], v, kind.written[k], units) for k, v in kind.values.items()}
        for name, kind in crop.kinds.items()
    }
    who = {k: getattr(crop, k) for k in ("name", "title", "group", "family")}
    return {**who, "numbers": numbers, "kinds": kinds}


def _weight_data(crop: Crop, key: Key) -> dict[str, Any] | None:
    """Points that the number moves the example garden by, and when that was measured."""
    found = crop_weights.of(crop.name, key.name, getattr(crop, key.name))
    if found is None:
        return None
    table = crop_weights.weights()
    told = {"change": found.change, "down": found.down, "up": found.up}
    return {**told, "garden": table.garden, "commit": table.commit, "date": table.date}


def _number(key: Key, value: Any, written: Parameter | None, units: str) -> dict[str, Any]:
    unit = unit_of(key, units)
    if key.kind == "quantity" and value is not None and key.unit:
        value = round(_convert(value, key.unit, unit), 6)
    elif key.kind == "emergence":
        to = "degF" if units == "us" else "degC"
        value = [
            {"temperature": round(_convert(t, "degC", to), 6), "unit": to, "days": days}
            for t, days in value
        ]
    return {
        "value": value,
        "unit": unit,
        "meaning": key.meaning,
        "written": written.text if written else None,
        "source": written.source if written else None,
    }
