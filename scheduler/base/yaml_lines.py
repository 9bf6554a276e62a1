"""YAML read with care: plain data, and the line of every value.

Scalars follow YAML 1.2's core schema, not 1.1: ``no`` and ``on`` are texts, dates stay texts and
are judged where a date is wanted. Aliases and merge keys (``<<``) are followed, within a cap.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import yaml

from crops.yaml_tree import LOADER, Tree, nesting
from crops.yaml_tree import Place as Place
from scheduler.base.faults import BadInput, Fault
from scheduler.base.texts import MAX_BYTES as MAX_BYTES
from scheduler.base.texts import decode as decode
from scheduler.base.texts import shorten as shorten

MAX_NODES = 200_000  # after aliases are followed: a thousand columns written out need 40,000
MAX_DEPTH = 20
MOST_FAULTS = 100  # of one file; more help nobody

_INT = re.compile(r"[-+]?(0|[1-9][0-9]{0,15})")
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]{1,4})?")


def path_text(place: Place) -> str:
    """A place as ``columns[0].tiers[2].vessel``."""
    out = ""
    for part in place:
        if isinstance(part, int):
            out += f"[{part}]"
        else:
            out += ("." if out else "") + shorten(part)
    return out


class Document(Tree):
    """One YAML file: ``data`` (dict, list, str, int, float, bool, None) and where it stands.

    Attributes
    ----------
    file : name for messages; text : the file's text; data : its content.
    nodes : place to the scalar node there, for rewriting a value in the text.
    """

    def __init__(self, file: str, text: str, root: yaml.Node | None) -> None:
        super().__init__()
        self.file = file
        self.text = text
        self.faults: list[Fault] = []
        self.nodes: dict[Place, yaml.Node] = {}
        self.lines[()] = 1
        self._count = 0
        self.data = self.value(root, (), ()) if root is not None else None

    def line(self, place: Place) -> int:
        """Line of a place, or of the nearest part of it that is in the file."""
        while place not in self.lines:
            place = place[:-1]
        return self.lines[place]

    def has(self, place: Place) -> bool:
        """Whether a place is in the file."""
        return place in self.lines

    def fault(self, place: Place, value: object, expected: str) -> Fault:
        """A fault at a place of this file."""
        return Fault(self.file, self.line(place), path_text(place), shorten(value), expected)

    def blame(self, place: Place, line: int, value: str, expected: str) -> None:
        if len(self.faults) < MOST_FAULTS:
            self.faults.append(Fault(self.file, line, path_text(place), value, expected))

    def admit(self, node: yaml.Node, place: Place, above: tuple[yaml.Node, ...]) -> bool:
        self._count += 1
        if self._count > MAX_NODES:
            expected = f"at most {MAX_NODES:,} values once anchors are followed"
            raise BadInput([self.fault(place, "too many values", expected)])
        if any(node is outer for outer in above):
            self.blame(place, self.line(place), "an alias of itself", "a value written out")
            return False
        if len(above) > MAX_DEPTH:
            raise BadInput([self.fault(place, "deep nesting", f"at most {MAX_DEPTH} levels")])
        return True

    def scalar(self, node: yaml.ScalarNode, place: Place) -> Any:
        self.nodes[place] = node
        return str(node.value) if node.style else _plain(node.value)  # a quoted value is a text

    def members(self, node: yaml.MappingNode) -> Iterator[tuple[yaml.Node, yaml.Node]]:
        return ((key, member) for key, member in node.value if not _is_merge(key))

    def mapping(
        self, node: yaml.MappingNode, place: Place, above: tuple[yaml.Node, ...]
    ) -> dict[str, Any]:
        merged: dict[str, Any] = {}
        for key, member in node.value:  # first, so that the mapping's own lines stand in the end
            if _is_merge(key):
                for source in self._merge_sources(member, place):
                    for name, value in self._merged(source, place, above).items():
                        merged.setdefault(name, value)
        return {**merged, **super().mapping(node, place, above)}

    def _merge_sources(self, node: yaml.Node, place: Place) -> Iterator[yaml.MappingNode]:
        nodes = node.value if isinstance(node, yaml.SequenceNode) else [node]
        for source in nodes:
            if isinstance(source, yaml.MappingNode):
                yield source
            else:
                line = node.start_mark.line + 1
                self.blame((*place, "<<"), line, "", "an alias of a mapping")

    def _merged(
        self, node: yaml.MappingNode, place: Place, above: tuple[yaml.Node, ...]
    ) -> dict[str, Any]:
        if any(node is outer for outer in above):
            line = self.line(place)
            self.blame(place, line, "merged into itself", "an alias of another value")
            return {}
        self._count += 1
        return self.mapping(node, place, (*above, node))


def _is_merge(key: yaml.Node) -> bool:
    return isinstance(key, yaml.ScalarNode) and key.value == "<<" and not key.style


def _plain(text: str) -> Any:
    if text in ("", "~", "null", "Null", "NULL"):
        return None
    if text in ("true", "True", "TRUE"):
        return True
    if text in ("false", "False", "FALSE"):
        return False
    if _INT.fullmatch(text):
        return int(text)
    if _FLOAT.fullmatch(text):
        return float(text)
    return text


def read_document(raw: bytes, file: str) -> Document:
    """The content of a YAML file.

    Returns
    -------
    A `Document`; its own ``faults`` (doubled keys and the like) are left to the caller to report.

    Raises
    ------
    BadInput
        Too large, not UTF-8, not YAML, too deep, or too many values.
    """
    text = decode(raw, file)
    try:
        _check_size(text, file)
        root = yaml.compose(text, Loader=LOADER)
    except yaml.YAMLError as error:
        raise BadInput([_yaml_fault(error, text, file)]) from None
    except (RecursionError, ValueError):
        raise BadInput([Fault(file, None, "", "text that cannot be read", "YAML")]) from None
    return Document(file, text, root)


def _check_size(text: str, file: str) -> None:
    """Refuse deep nesting and floods of values before anything recursive sees them."""
    for count, (depth, line) in enumerate(nesting(text)):
        if count > MAX_NODES:
            raise BadInput([Fault(file, None, "", "too many values", f"at most {MAX_NODES:,}")])
        if depth > MAX_DEPTH:
            raise BadInput([Fault(file, line, "", "deep nesting", f"at most {MAX_DEPTH} levels")])


def _yaml_fault(error: yaml.YAMLError, text: str, file: str) -> Fault:
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    problem = str(getattr(error, "problem", None) or getattr(error, "reason", None) or error)
    line = mark.line + 1 if mark is not None else None
    expected = "YAML"
    odd = _CONTROL.search(text)
    if line is None and odd is not None:
        line, problem = text.count("\n", 0, odd.start()) + 1, "a control character"
        expected = "printable text"
    lines = text.split("\n")
    if line is not None and line <= len(lines) and "\t" in lines[line - 1]:
        problem, expected = "a tab", "spaces; YAML does not indent with tabs"
    return Fault(file, line, "", shorten(problem, 60), expected)
