"""The files that a grower's answers make: the garden, its weather, a log to write into."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from scheduler.base.faults import BadInput, Fault
from scheduler.base.files import write_atomic
from scheduler.beginning import weather
from scheduler.beginning.answers import Answers
from scheduler.beginning.garden_text import garden_yaml
from scheduler.beginning.light import BALCONY, CEILING, TALL, height_of
from scheduler.log.model import HEADER
from scheduler.words.units import Units
from scheduler.words.words import _

SEASON = "season"  # folder of the first plan, beside the garden
GARDEN_FILE = "garden.yaml"
NAMES = (GARDEN_FILE, "climate.csv", "log.csv")


def refuse_what_is_there(folder: Path) -> None:
    """Raise BadInput where one of the files is there already, or the folder is a file."""
    faults = [
        Fault(str(folder / name), None, "", "there already", "a folder without it; nothing written")
        for name in NAMES
        if (folder / name).exists() or (folder / name).is_symlink()
    ]
    if folder.exists() and not folder.is_dir():
        faults = [Fault(str(folder), None, "", "a file", "a folder, there already or not")]
    if faults:
        raise BadInput(faults)


def write_files(folder: Path, files: Mapping[str, str]) -> None:
    """Write them; the folder need not be there."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        write_atomic(folder / name, text)


def files_of(a: Answers) -> tuple[dict[str, str], list[str]]:
    """Name to text of what is written, and what is to be known about it."""
    remarks: list[str] = []
    past = ""
    if isinstance(a.climate, Path):
        from scheduler.garden.climate_import import import_climate
        from scheduler.garden.climate_table import table

        got = import_climate(a.climate)
        climate = table(got.monthly, got.kind)
        if got.daily is not None and len(got.daily) >= 365:
            past = table(got.daily, got.kind)
        remarks += got.hints
        if got.latitude is not None and abs(got.latitude - a.place.latitude) > 2:
            remarks.append(
                _(
                    "The weather file is of latitude {there:.1f}, the garden's is {here:.1f}: is "
                    "it the right one?"
                ).format(there=got.latitude, here=a.place.latitude)
            )
    else:
        climate = weather.table(a.climate, a.place.latitude < 0, a.units)
        remarks.append(
            _(
                "INVENTED WEATHER ({kind}): good to try things out, not to plant by. {published}"
            ).format(kind=_(weather.MEANING[a.climate]), published=_(weather.PUBLISHED))
        )
    remarks.append(
        _(
            "Light in each tier is from a simple geometry, sizes of vessels are common ones: "
            "measure both, and weigh what you lift."
        )
    )
    tall = height_of(a.stack.tiers, a.vessel.depth / 100)
    if tall > TALL or (a.stand == BALCONY and tall > CEILING):
        high = Units(a.units).depth_text(100 * tall)
        remarks.append(
            _(
                "A column of {tiers} stands about {high} tall: tie it to something that holds, "
                "keep heavy vessels low, no ladder on wet ground; ask what floor or balcony may "
                "carry. Local rules come first."
            ).format(tiers=a.stack.tiers, high=high)
        )
    files = {
        "garden.yaml": garden_yaml(a, not isinstance(a.climate, Path), bool(past)),
        "climate.csv": climate,
        "log.csv": f"{HEADER}\n",
    }
    return files | ({"past.csv": past} if past else {}), remarks
