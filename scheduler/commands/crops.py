"""``dryline crops``: the catalogue, and one crop with the source of every number."""

from __future__ import annotations

import json
from difflib import get_close_matches
from pathlib import Path
from typing import Any

import click

from crops.catalogue import CropFaults, catalogue, crop_text, load_crop
from crops.crop import Crop
from crops.names import shorten
from scheduler.base.faults import BadInput, DrylineError, Fault
from scheduler.outputs.crop_sheet import as_data, listing, sheet

GROUPS = ("lettuce", "greens", "herbs")  # the order of the list


@click.command()
@click.argument("name", required=False)
@click.option("--units", type=click.Choice(["metric", "us"]), default="metric", show_default=True)
@click.option("--json", "as_json", is_flag=True, help="for machines")
@click.option("--yaml", "as_yaml", is_flag=True, help="NAME as a crop file, to change and keep")
@click.option("--schema", is_flag=True, help="JSON Schema of a crop file, for an editor")
def command(name: str | None, units: str, as_json: bool, as_yaml: bool, schema: bool) -> int:
    """List the crops; with NAME show each number of one, with its source.

    NAME is a name from the list, or a crop file of your own (ending in .yaml), which is then
    checked.
    """
    if schema:
        from crops.crop_schema import schema as crop_schema

        click.echo(json.dumps(crop_schema(), indent=1, ensure_ascii=False))
        return 0
    if name is None:
        if as_yaml:
            raise DrylineError("--yaml needs the name of a crop: dryline crops NAME --yaml")
        crops = sorted(catalogue().values(), key=lambda c: (GROUPS.index(c.group), c.name))
        if as_json:
            _echo_json({"units": units, "crops": [as_data(c, units) for c in crops]})
        else:
            click.echo(listing(crops, units))
        return 0
    crop = _find(name)
    if as_yaml:
        click.echo(crop_text(crop), nl=False)
    elif as_json:
        _echo_json({"units": units, **as_data(crop, units)})
    else:
        click.echo(sheet(crop, units))
    return 0


def _echo_json(data: dict[str, Any]) -> None:
    click.echo(json.dumps(data, indent=1, ensure_ascii=False))


def _find(name: str) -> Crop:
    """A crop of the catalogue, or of a file.

    Raises
    ------
    BadInput
        The file is no crop file: every fault.
    DrylineError
        No such crop, with the near names.
    """
    if name.endswith((".yaml", ".yml")):
        try:
            return load_crop(Path(name))
        except CropFaults as error:
            raise BadInput(
                [Fault(name, f.line, f.path, f.value, f.expected) for f in error.faults]
            ) from None
    known = catalogue()
    asked = name.strip().lower().replace(" ", "_").replace("-", "_")
    if asked in known:
        return known[asked]
    near = near_names(asked, known)
    hint = f"did you mean {' or '.join(near)}?" if near else f"known are {', '.join(known)}"
    raise DrylineError(f"no crop {shorten(name)!r} in the catalogue; {hint}")


def near_names(asked: str, known: dict[str, Crop]) -> list[str]:
    """Names that look like what was asked for, hold it as a word, or belong to it as a group."""
    close = get_close_matches(asked, known, 3, 0.6)
    words = [
        n
        for n, crop in known.items()
        if asked and (asked in n.split("_") or n in asked or asked == crop.group)
    ]
    return list(dict.fromkeys([*close, *words]))
