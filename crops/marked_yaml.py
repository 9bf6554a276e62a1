"""YAML with the line of every value, read with care: no aliases, no doubled keys, no surprises."""

from __future__ import annotations

from typing import Any, NamedTuple

import yaml

from crops.names import shorten
from crops.yaml_tree import LOADER, Place, Tree, nesting

MAX_BYTES = 1_000_000  # a crop file is a few kilobytes; more is no crop file
_MAX_DEPTH = 12


class CropFault(NamedTuple):
    """One fault of a crop file: its path, what stands there, what was expected, the line."""

    path: str
    value: str
    expected: str
    line: int | None = None


class CropFaults(ValueError):
    """A crop that cannot be used; carries every fault found.

    Attributes
    ----------
    faults : tuple of `CropFault`; file : name of the file, empty for text.
    """

    def __init__(self, faults: list[CropFault], file: str = "") -> None:
        self.faults = tuple(faults)
        self.file = file
        super().__init__("\n".join(_sentence(f, file) for f in faults))


def _sentence(fault: CropFault, file: str) -> str:
    place = (file or "crop") + (f":{fault.line}" if fault.line is not None else "")
    where = f" {fault.path}:" if fault.path else ""
    got = f" {fault.value};" if fault.value else ""
    return f"{place}:{where}{got} expected {fault.expected}"


def join(path: str, key: object) -> str:
    """Path of a member: ``water`` and ``peak_demand`` give ``water.peak_demand``."""
    return f"{path}.{key}" if path else str(key)


def _path(place: Place) -> str:
    """A place as ``water.peak_demand`` or ``stages[2]``."""
    out = ""
    for part in place:
        out = f"{out}[{part}]" if isinstance(part, int) else join(out, part)
    return out


def decode(raw: bytes) -> str:
    """Bytes of a file as text.

    Raises
    ------
    CropFaults
        Too large, or no UTF-8.
    """
    if len(raw) > MAX_BYTES:
        size = f"{len(raw) / 1e6:.1f} MB"
        raise CropFaults([CropFault("", size, f"at most {MAX_BYTES / 1e6:.0f} MB")])
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise CropFaults([CropFault("", "bytes that are no UTF-8", "UTF-8 text", line)]) from error


def read(text: str) -> tuple[Any, dict[str, int]]:
    """Plain data and the 1-based line of every path.

    Returns
    -------
    data : str, int, float, bool, None, list, dict (keys are text); lines : path to line.

    Raises
    ------
    CropFaults
        No YAML, an alias, a doubled key, or too deep a nesting.
    """
    if len(text) > MAX_BYTES:
        raise CropFaults([CropFault("", f"{len(text)} characters", f"at most {MAX_BYTES}")])
    try:
        deep = next((line for depth, line in nesting(text) if depth > _MAX_DEPTH), 0)  # 0: nowhere
        node = None if deep != 0 else yaml.compose(text, Loader=LOADER)
    except (yaml.YAMLError, RecursionError, ValueError) as error:
        mark = getattr(error, "problem_mark", None)
        problem = getattr(error, "problem", None) or "no text that can be read"
        line = None if mark is None else mark.line + 1
        here = [] if line is None else text.split("\n")[line - 1 : line]
        tab = any("\t" in part for part in here)
        expected = "YAML, set in with spaces and not with tabs" if tab else "YAML"
        raise CropFaults([CropFault("", shorten(problem, 70), expected, line)]) from error
    if deep != 0:
        raise CropFaults([CropFault("", "deep nesting", "a crop file's few levels", deep)])
    walk = _Walk()
    data = walk.value(node, (), ()) if node is not None else None
    if walk.faults:
        raise CropFaults(walk.faults)
    return data, {_path(place): line for place, line in walk.lines.items()}


class _Walk(Tree):
    """A crop file: no aliases, few levels; scalars as YAML 1.1 has them."""

    odd_key = ("a key that is no text", "a plain key")

    def __init__(self) -> None:
        super().__init__()
        self.faults: list[CropFault] = []
        self._seen: set[int] = set()
        self._scalars = yaml.constructor.SafeConstructor()

    def blame(self, place: Place, line: int, value: str, expected: str) -> None:
        self.faults.append(CropFault(_path(place), value, expected, line))

    def admit(self, node: yaml.Node, place: Place, above: tuple[yaml.Node, ...]) -> bool:
        line = node.start_mark.line + 1
        if id(node) in self._seen:  # an alias gives the very node of its anchor
            self.blame(place, line, "an alias", "the value written out")
            return False
        self._seen.add(id(node))
        return True

    def scalar(self, node: yaml.ScalarNode, place: Place) -> Any:
        try:
            return self._scalars.construct_object(node)
        except (yaml.YAMLError, ValueError, OverflowError):
            return node.value  # such as a date that does not exist: kept as text, judged later
