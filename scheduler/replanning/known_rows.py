"""Rows of the candidate table for what is begun or planned already, behind the free candidates."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from scheduler.batches.candidates import Candidates, candidate_rows, wide
from scheduler.batches.courses import NEVER, course
from scheduler.plans.model import Batch
from scheduler.replanning.commitments import Commitments, Option
from scheduler.replanning.ways_on import Row, Variant, row_of


class KnownRows:
    """Collects own rows behind the free candidates."""

    def __init__(self, out: Commitments) -> None:
        self.out = out
        self.kind_of = {p: k for k, kind in enumerate(out.cand.kinds) for p in kind.places}
        self.rows: list[Row] = []
        self.frames: list[tuple[pd.DataFrame, np.ndarray, np.ndarray, np.ndarray]] = []
        self.count = out.free

    def add(self, variant: Variant) -> Option:
        b = variant.batch
        place = (b.column, b.tier)
        crop = self.out.cand.crop_names.index(b.crop)
        row = row_of(self.out.garden, variant, crop, self.kind_of[place], self.out.on)
        self.frames.append(as_frame(row, self.out.cand))
        self.out.variants[self.count] = variant
        self.count += 1
        return Option(place, self.count - 1)

    def seedlings(self, batch: Batch, kind: int, first: int, last: int) -> list[Option]:
        """Rows of seedlings in hand for one kind of tier; the same rows serve all its tiers."""
        garden = self.out.garden
        tier = self.out.cand.kinds[kind].tier
        starts = np.flatnonzero(garden.season.work_mask)
        starts = starts[(starts >= first) & (starts <= last)]
        if not len(starts):
            return []
        this = course(garden, garden.crops[batch.crop], tier, starts)
        sow = np.full(len(starts), garden.season.index(batch.sow))
        crop = self.out.cand.crop_names.index(batch.crop)
        _, found = candidate_rows(this, sow, crop, kind)
        options: list[Option] = []
        for frame, days, plants, grams in found:
            # What was sown this very morning is in hand as well: before the first day planned.
            frame = frame.assign(cells=batch.cells, sow=np.minimum(sow[0], self.out.today - 1))
            self.frames.append((frame, days, plants, grams))
            for i in range(len(frame)):
                self.out.seedling_of[self.count + i] = batch
                places = self.out.cand.kinds[kind].places
                options += [Option(p, self.count + i) for p in places]
            self.count += len(frame)
        return options

    def close(self) -> None:
        """Put the rows behind the candidates."""
        if not self.frames:
            return
        old = self.out.cand
        table = pd.concat([old.table, *(f[0] for f in self.frames)], ignore_index=True)
        table = table.astype(int)
        day, plants, grams = (
            np.concatenate([a, *(f[i] for f in self.frames)])
            for i, a in ((1, old.pick_day), (2, old.pick_plants), (3, old.pick_grams))
        )
        self.out.cand = replace(
            old, table=table, pick_day=day, pick_plants=plants, pick_grams=grams
        )


def as_frame(row: Row, cand: Candidates) -> tuple[pd.DataFrame, np.ndarray, np.ndarray, np.ndarray]:
    frame = pd.DataFrame([row.values])[list(cand.table.columns)]
    parts = [np.array([x], dtype=int).reshape(1, -1) for x in (row.days, row.plants, row.grams)]
    return (frame, wide(parts[0], NEVER), wide(parts[1], 0), wide(parts[2], 0))
