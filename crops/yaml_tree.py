"""From the nodes of a YAML file to plain data, and the line of every value.

What files of crops and of gardens have in common. What a scalar means and which aliases may be
followed is said by `crops.marked_yaml` and by `scheduler.base.yaml_lines`, each for its own files.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator
from typing import Any

import yaml

Place = tuple[str | int, ...]

LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


def nesting(text: str) -> Iterator[tuple[int, int | None]]:
    """How deep lists and mappings lie in each other at each event of a text, and its line.

    What is nested without end overflows the reader itself, in some versions without a word: so this
    is looked at before.
    """
    depth = 0
    for event in yaml.parse(text, Loader=LOADER):
        depth += isinstance(event, yaml.CollectionStartEvent)
        depth -= isinstance(event, yaml.CollectionEndEvent)
        yield depth, event.start_mark.line + 1 if event.start_mark else None


class Tree(ABC):
    """A walk through nodes: keys are texts, each is given once; other files add their own rules.

    Attributes
    ----------
    lines : place to its line, counted from 1; a member of a mapping has the line of its key.
    odd_key : what is said of a key that is no text, and what is expected.
    """

    odd_key = ("a list or mapping as key", "a text")

    def __init__(self) -> None:
        self.lines: dict[Place, int] = {}

    @abstractmethod
    def blame(self, place: Place, line: int, value: str, expected: str) -> None:
        """Something is wrong at a place."""

    @abstractmethod
    def admit(self, node: yaml.Node, place: Place, above: tuple[yaml.Node, ...]) -> bool:
        """Whether a node is taken; ``above`` are the nodes that it lies in."""

    @abstractmethod
    def scalar(self, node: yaml.ScalarNode, place: Place) -> Any:
        """What a scalar means."""

    def members(self, node: yaml.MappingNode) -> Iterator[tuple[yaml.Node, yaml.Node]]:
        """Keys and values of a mapping."""
        yield from node.value

    def value(self, node: yaml.Node, place: Place, above: tuple[yaml.Node, ...]) -> Any:
        """A node as dict, list or scalar; None if it is not admitted."""
        self.lines.setdefault(place, node.start_mark.line + 1)
        if not self.admit(node, place, above):
            return None
        if isinstance(node, yaml.ScalarNode):
            return self.scalar(node, place)
        above = (*above, node)
        if isinstance(node, yaml.SequenceNode):
            return [self.value(n, (*place, i), above) for i, n in enumerate(node.value)]
        assert isinstance(node, yaml.MappingNode)
        return self.mapping(node, place, above)

    def mapping(
        self, node: yaml.MappingNode, place: Place, above: tuple[yaml.Node, ...]
    ) -> dict[str, Any]:
        """A mapping as a dict; of a key given twice the last counts."""
        out: dict[str, Any] = {}
        for key, member in self.members(node):
            line = key.start_mark.line + 1
            if not isinstance(key, yaml.ScalarNode):
                self.blame(place, line, *self.odd_key)
                continue
            inner = (*place, key.value)
            self.lines[inner] = line
            if key.value in out:
                self.blame(inner, line, "given twice", "each key once")
            out[key.value] = self.value(member, inner, above)
        return out
