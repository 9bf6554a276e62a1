"""YAML with the line of every value, read with care: no aliases, no doubled keys, no surprises."""

from __future__ import annotations

from typing import Any, NamedTuple

import yaml

_Loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
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


def shorten(value: object, width: int = 40) -> str:
    """A value as one short line for a message."""
    text = " ".join(str(value).split())
    text = "".join(c if c.isprintable() else "?" for c in text)
    return text if len(text) <= width else text[: width - 1] + "…"


def join(path: str, key: object) -> str:
    """Path of a member: ``water`` and ``peak_demand`` give ``water.peak_demand``."""
    return f"{path}.{key}" if path else str(key)


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
        node = yaml.compose(text, Loader=_Loader)
    except (yaml.YAMLError, RecursionError, ValueError) as error:
        mark = getattr(error, "problem_mark", None)
        problem = getattr(error, "problem", None) or "no text that can be read"
        line = None if mark is None else mark.line + 1
        here = [] if line is None else text.split("\n")[line - 1 : line]
        tab = any("\t" in part for part in here)
        expected = "YAML, set in with spaces and not with tabs" if tab else "YAML"
        raise CropFaults([CropFault("", shorten(problem, 70), expected, line)]) from error
    walk = _Walk()
    data = walk.value(node, "", 0) if node is not None else None
    if walk.faults:
        raise CropFaults(walk.faults)
    return data, walk.lines


class _Walk:
    """From nodes to plain data, noting lines and faults."""

    def __init__(self) -> None:
        self.lines: dict[str, int] = {}
        self.faults: list[CropFault] = []
        self._seen: set[int] = set()
        self._scalars = yaml.constructor.SafeConstructor()

    def value(self, node: yaml.Node, path: str, depth: int) -> Any:
        line = node.start_mark.line + 1
        self.lines.setdefault(path, line)
        if id(node) in self._seen:  # an alias gives the very node of its anchor
            self.faults.append(CropFault(path, "an alias", "the value written out", line))
            return None
        self._seen.add(id(node))
        if depth > _MAX_DEPTH:
            self.faults.append(CropFault(path, "deep nesting", "a crop file's few levels", line))
            return None
        if isinstance(node, yaml.MappingNode):
            return self._mapping(node, path, depth)
        if isinstance(node, yaml.SequenceNode):
            return [self.value(n, f"{path}[{i}]", depth + 1) for i, n in enumerate(node.value)]
        try:
            return self._scalars.construct_object(node)
        except (yaml.YAMLError, ValueError, OverflowError):
            return node.value  # such as a date that does not exist: kept as text, judged later

    def _mapping(self, node: yaml.MappingNode, path: str, depth: int) -> dict[str, Any]:
        out: dict[str, Any] = {}
        for key, member in node.value:
            line = key.start_mark.line + 1
            if not isinstance(key, yaml.ScalarNode):
                self.faults.append(CropFault(path, "a key that is no text", "a plain key", line))
                continue
            place = join(path, key.value)
            self.lines[place] = line
            if key.value in out:
                self.faults.append(CropFault(place, "given twice", "each key once", line))
            out[key.value] = self.value(member, place, depth + 1)
        return out
