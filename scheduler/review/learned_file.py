"""The file of learned numbers that ``crops: learned:`` of garden.yaml names."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import yaml

from crops import learning
from crops.catalogue import CropFaults, with_overrides
from crops.crop_keys import KEYS as CROP_KEYS
from scheduler.base.faults import BadInput, Fault
from scheduler.base.files import write_atomic
from scheduler.review.estimates import KEYS, CropReview

MARK = "# Learned from finished crops by dryline review."
HOW = "# Name it in garden.yaml under crops, as  learned: FILE . The catalogue stays as it is."


def overrides(reviews: Sequence[CropReview]) -> dict[str, dict[str, dict[str, str]]]:
    """Crop to key to ``{value, source}``, for what at least one finished crop speaks of.

    Numbers are kept inside the range a crop file may have.
    """
    out: dict[str, dict[str, dict[str, str]]] = {}
    for crop in reviews:
        base = crop.catalogue
        changes: dict[str, dict[str, str]] = {}
        for prior in learning.PRIORS:
            e = crop.estimates[prior.name]
            if not e.n:
                continue
            source = (
                f"{learning.LEARNED} {e.n} finished crop{'s' if e.n > 1 else ''}: {e.factor:.2f} "
                f"times the catalogue, 90 % {e.low:.2f} to {e.high:.2f}"
            )
            for name in KEYS[prior.name]:
                key = CROP_KEYS[name]
                value = min(max(getattr(base, name) * e.factor, key.low), key.high)
                changes[name] = {"value": f"{value:.4g} {key.unit}", "source": source}
        try:
            with_overrides(base, changes)
        except CropFaults:  # numbers that do not fit each other are not worth a broken garden
            continue
        if changes:
            out[base.name] = changes
    return out


def text(reviews: Sequence[CropReview]) -> str:
    """The file's text."""
    data: dict[str, Any] = overrides(reviews)
    body = yaml.safe_dump(data, sort_keys=False, allow_unicode=True, width=98) if data else "{}\n"
    return f"{MARK}\n{HOW}\n{body}"


def write(file: Path, reviews: Sequence[CropReview]) -> None:
    """Write it, over an earlier one but over nothing else.

    Raises
    ------
    BadInput
        Another file stands there.
    """
    if file.is_dir():
        raise BadInput([Fault(str(file), None, "", "a folder", "a file to write to")])
    if file.exists():
        with open(file, "rb") as handle:
            known = handle.read(len(MARK)) == MARK.encode()
        if not known:
            raise BadInput(
                [
                    Fault(
                        str(file),
                        1,
                        "",
                        "not written by dryline review",
                        "another name for the learned numbers",
                    )
                ]
            )
    write_atomic(file, text(reviews))
