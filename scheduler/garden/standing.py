"""What stands on the first day to be planned: checked, and dated where its date is not told."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from crops.crop import Crop
from crops.names import same_name
from crops.place import Place as Stead
from crops.vessel import Vessel
from scheduler.base.yaml_lines import Place
from scheduler.garden import climate_file
from scheduler.garden.checks import column_names
from scheduler.garden.may_stand import first_stays
from scheduler.garden.model import ONE_DAY, Seedlings, StandingCrop
from scheduler.garden.place_schema import StayModel
from scheduler.garden.placed import placed_frame
from scheduler.garden.places import stays_of
from scheduler.garden.reader import CLIMATE, Reader, read_climate_of
from scheduler.garden.schema import TierModel
from scheduler.garden.shape import Sections, near_names
from scheduler.garden.standing_schema import SeedlingsModel, StandingModel

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd

# How far back something may have been planted or sown: a slip of the year is longer. Common
# practice, no source; the slowest crop of the catalogue stands half as long.
MOST_BACK = timedelta(days=300)
RULER_CM = 0.16  # a ruler of a full vessel may show so much more: half of 1/8 in


class StandingReader:
    """Checks and dates what stands; ``standing`` and ``seedlings`` are those without a fault.

    ``crops``: the garden's; None where they are not known. ``places`` : those without a fault.
    """

    def __init__(
        self, reader: Reader, crops: Mapping[str, Crop] | None, places: dict[str, Stead]
    ) -> None:
        self.reader, self.sections, self.crops = reader, reader.sections, crops
        self.places = places
        self.today = self.sections.season_days[0]
        self.standing: dict[int, StandingCrop] = {}
        self.seedlings: dict[int, Seedlings] = {}
        self._rows: pd.DataFrame | bool | None = False  # of the days before; False: not read
        if not (self.sections.standing or self.sections.seedlings) or self.today is None:
            return
        taken: dict[tuple[str, int], int] = {}
        for i, model in self.sections.standing.items():
            self._stands(i, model, taken)
        for i, raised in self.sections.seedlings.items():
            self._raised(i, raised)
        self._faulty()
        self._cells()

    @property
    def first(self) -> date | None:
        """Day on which the first of them was sown; None where nothing stands."""
        days = [s.sown_on for s in self.standing.values()]
        return min([*days, *(s.sown_on for s in self.seedlings.values())], default=None)

    def levels(self, vessels: Mapping[str, Vessel]) -> None:
        """Take in what is left in each vessel; a level above its fill is a fault."""
        for i, one in list(self.standing.items()):
            told = self.sections.standing[i].level
            tier = tier_named(self.sections, one.column, one.tier)
            vessel = vessels.get(tier.vessel) if isinstance(tier, TierModel) else None
            if told is None or vessel is None:
                continue
            unit, value = told
            full = vessel.depth_at(vessel.fill_l)
            most = min(full + RULER_CM, vessel.height_cm)
            limit = most if unit == "cm" else float(vessel.volume_at(most))
            if value > limit + 1e-9:
                expected = f"at most the fill of {one.column} {one.tier}: "
                expected += f"{vessel.fill_l:.3g} L, {full:.3g} cm deep"
                shown = f"{value:.3g} {'cm' if unit == 'cm' else 'L'}"
                self.sections.fault(("standing", i, "level"), shown, expected)
                continue
            litres = float(vessel.volume_at(min(value, full))) if unit == "cm" else value
            litres = min(litres, vessel.fill_l)
            self.standing[i] = StandingCrop(**{**vars(one), "level": litres})

    def _crop(self, place: Place, name: str) -> Crop | None:
        if self.crops is None:
            return None
        if name not in self.crops:
            expected = f"a crop of the garden: {near_names(name, sorted(self.crops))}"
            self.sections.fault((*place, "crop"), name, expected)
        return self.crops.get(name)

    def _stands(self, i: int, model: StandingModel, taken: dict[tuple[str, int], int]) -> None:
        place: Place = ("standing", i)
        before = len(self.sections.faults)
        crop = self._crop(place, model.crop)
        tier = tier_named(self.sections, model.column, model.tier)
        if isinstance(tier, str):
            if tier:
                key, _, expected = tier.partition("|")
                self.sections.fault((*place, key), getattr(model, key), expected)
        else:
            if model.plants is not None and model.plants > tier.plants:
                where = f"{model.column} {model.tier}"
                expected = f"at most {tier.plants}, the holes of {where}"
                self.sections.fault((*place, "plants"), model.plants, expected)
            spot = (same_name(model.column), model.tier)
            if spot in taken:
                line = self.sections.doc.line(("standing", taken[spot]))
                expected = f"one crop in each tier; also on line {line}"
                self.sections.fault((*place, "tier"), model.tier, expected)
            taken.setdefault(spot, i)
        unread = self.sections.unread.get(place, frozenset())
        if (model.planted_on is None) == (model.size is None):
            if not unread & {"planted_on", "size"}:
                both = "both" if model.size is not None else "neither"
                self.sections.fault(place, both, "either planted_on or size")
            return
        planted = model.planted_on
        if planted is not None:
            self._past((*place, "planted_on"), planted)
        elif crop is not None and isinstance(tier, TierModel):
            assert model.size is not None
            planted = self._planted(place, crop, tier.light, model.column, model.size)
        if len(self.sections.faults) > before or crop is None or planted is None:
            return
        if not isinstance(tier, TierModel):
            return
        sown = planted - timedelta(days=max(round(crop.nursery_days), 1))
        line = self.sections.doc.line(place)
        holes = model.plants or tier.plants
        name = column_as_written(self.sections, model.column)
        self.standing[i] = StandingCrop(
            model.crop, name, model.tier, sown, planted, holes, None, line
        )

    def _raised(self, i: int, model: SeedlingsModel) -> None:
        place: Place = ("seedlings", i)
        before = len(self.sections.faults)
        crop = self._crop(place, model.crop)
        unread = self.sections.unread.get(place, frozenset())
        if (model.sown_on is None) == (model.bought_on is None):
            if not unread & {"sown_on", "bought_on"}:
                both = "both" if model.sown_on is not None else "neither"
                self.sections.fault(place, both, "either sown_on or bought_on")
            return
        sown = model.sown_on
        if sown is not None:
            self._past((*place, "sown_on"), sown)
        elif model.bought_on is not None:
            self._past((*place, "bought_on"), model.bought_on, same_day=True)
            if len(self.sections.faults) == before and crop is not None:
                sown = self._as_sown(place, crop, model.bought_on)
        if len(self.sections.faults) == before and sown is not None and crop is not None:
            line = self.sections.doc.line(place)
            self.seedlings[i] = Seedlings(model.crop, sown, model.cells, line)

    def _faulty(self) -> None:
        """What can be judged of entries of which something else cannot be read."""
        for place, model in list(self.sections.parts.items()):
            if not isinstance(model, StandingModel | SeedlingsModel):
                continue
            unread = self.sections.unread.get(place, frozenset())
            if not unread or place[1] in getattr(self.sections, str(place[0])):
                continue
            if "crop" not in unread:
                self._crop(place, model.crop)
            for key in ("planted_on", "sown_on", "bought_on"):
                day = getattr(model, key, None)
                if day is not None:
                    self._past((*place, key), day, same_day=key == "bought_on")

    def _past(self, place: Place, day: date, same_day: bool = False) -> None:
        assert self.today is not None
        last = self.today if same_day else self.today - ONE_DAY
        if not self.today - MOST_BACK <= day <= last:
            expected = f"a day from {self.today - MOST_BACK} to {last}, as the season's first "
            self.sections.fault(place, day, f"{expected}day is {self.today}")

    def _cells(self) -> None:
        nursery = self.sections.nursery
        used = sum(m.cells for m in self.sections.seedlings.values())
        if nursery is not None and used > nursery.cells:
            expected = f"at most {nursery.cells}, the cells of the nursery"
            self.sections.fault(("seedlings",), f"{used} cells", expected)

    # Dates worked out.

    def _planted(
        self, place: Place, crop: Crop, light: float, column: str, size: float
    ) -> date | None:
        """The latest day from which a plant has that share of its mass by now, where it stands."""
        from crops import development

        def rates(rows: pd.DataFrame) -> np.ndarray:
            site, first, last = self.sections.site, rows.index[0].date(), rows.index[-1].date()
            stays = [s for s in self._stays(column) if s.place in self.places]
            there = stays_of(stays, self.places, first, last)
            high = 0.0 if site is None else site.elevation
            return development.daily_rate(crop, placed_frame(rows, there, high), light)

        assert self.today is not None
        found = self._back(rates, self.today, min(development.progress_at(size), 1 - 1e-9))
        if found is None:
            expected = f"planted_on: from the climate table it cannot be told when {crop.title} "
            self.sections.fault((*place, "size"), f"{size:.0%}", f"{expected}was planted")
        return found

    def _stays(self, column: str) -> list[StayModel]:
        """Where a column stands, as long as no plan has chosen."""
        wanted = same_name(column)
        models = self.sections.columns.values()
        mine = (m for m in models if wanted in map(same_name, column_names(m)))
        return next((first_stays(m) for m in mine), [])

    def _as_sown(self, place: Place, crop: Crop, bought: date) -> date | None:
        """The latest sowing here that would be fit on the day of buying."""
        from crops import development

        nursery = self.sections.nursery
        if nursery is None:
            return None

        def rates(rows: pd.DataFrame) -> np.ndarray:
            if nursery.temperature is None:
                return development.nursery_rate(crop, rows["tmin"], rows["tmax"])
            warm = [nursery.temperature] * len(rows)
            return development.nursery_rate(crop, warm, warm)

        found = self._back(rates, bought, 1.0)
        if found is None:
            expected = "sown_on: from the climate table it cannot be told how old they are"
            self.sections.fault((*place, "bought_on"), bought, expected)
        return found

    def _back(self, rates: Any, day: date, progress: float) -> date | None:
        """The latest day from which the rates up to before ``day`` come to ``progress``."""
        rows = self._before()
        if rows is None:
            return None
        rows = rows.loc[: str(day - ONE_DAY)]
        grown = 0.0
        for k, rate in enumerate(reversed(rates(rows).tolist()), 1):
            grown += rate
            if grown >= progress - 1e-9:
                return day - k * ONE_DAY
        return None

    def _before(self) -> pd.DataFrame | None:
        """Weather of the days before, as far back as counts and the table goes."""
        if isinstance(self._rows, bool):
            self._rows = self._read_before()
        return self._rows

    def _read_before(self) -> pd.DataFrame | None:
        from crops.climate import weather

        site, assumed = self.sections.site, self.today
        raw = self.reader.used.get(CLIMATE)
        frame = None
        if site is not None and raw is None:
            self.reader.file(CLIMATE, site.climate, climate_file.MAX_BYTES)
            raw = self.reader.used.get(CLIMATE)
        if site is not None and raw is not None:
            frame = read_climate_of(self.reader, raw[1], site.climate)
        if frame is None or site is None or assumed is None:
            return None
        start, end = assumed - MOST_BACK, assumed
        if "month" not in frame:
            start = max(start, frame.index[0].date())
            end = min(end, frame.index[-1].date())
        if start >= end:
            return None
        rows, _ = climate_file.daily_rows(frame, start, end)
        return None if rows is None else weather(rows, site.latitude, site.elevation, site.coastal)


def column_as_written(sections: Sections, name: str) -> str:
    """A column's name as its own entry writes it."""
    wanted = same_name(name)
    names = (n for model in sections.columns.values() for n in column_names(model))
    return next(n for n in names if same_name(n) == wanted)


def tier_named(sections: Sections, column: str, number: int) -> TierModel | str:
    """The tier; or ``key|what was expected``; empty where the columns have faults of their own."""
    wanted = same_name(column)
    known = []
    for model in sections.columns.values():
        for name in column_names(model):
            known.append(name)
            if same_name(name) == wanted:
                if number <= len(model.tiers):
                    return model.tiers[number - 1]
                return f"tier|a tier of column {name}: 1 to {len(model.tiers)}"
    data: Any = sections.doc.data
    raw = data.get("columns") if isinstance(data, dict) else None
    if len(sections.columns) < (len(raw) if isinstance(raw, list) else 1):
        return ""
    return f"column|a column: {near_names(column, sorted(known))}"
