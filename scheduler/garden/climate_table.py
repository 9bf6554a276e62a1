"""A climate table written as the garden reads it."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

UNITS = {
    "tmin": "degC",
    "tmax": "degC",
    "rs": "MJ/m^2/day",
    "rh": "%",
    "rhmin": "%",
    "rhmax": "%",
    "wind": "m/s",
}


def table(frame: pd.DataFrame, kind: str) -> str:
    """A climate table as the garden reads it, with units in its header."""
    import pandas as pd

    columns = [c for c in UNITS if c in frame]
    month = "month" in frame
    keys = frame["month"] if month else pd.DatetimeIndex(frame.index).strftime("%Y-%m-%d")
    lines = [
        f"# Made by dryline climate from {kind}.",
        ",".join(["month" if month else "date", *(f"{c} [{UNITS[c]}]" for c in columns)]),
    ]
    for key, row in zip(keys, frame[columns].itertuples(index=False), strict=True):
        lines.append(",".join([str(key), *("" if x != x else f"{x:.2f}" for x in row)]))
    return "\n".join(lines) + "\n"
