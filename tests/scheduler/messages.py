"""Every message of the outputs and the page, as found in their source.

Run as a program it writes each catalogue's .mo from its .po, and tells what is missing:
``python tests/scheduler/messages.py``.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

from jinja2 import Environment, nodes

SCHEDULER = Path(__file__).parents[2] / "scheduler"
LOCALE = SCHEDULER / "words" / "locale"
SOURCES = (
    "words",
    "beginning",
    "outputs",
    "page",
    "pictures",
    "watch",
    "plans",
    "shortfall",
    "risk",
    "search",
    "solvers",
    "mix",
    "replanning",
    "years",
    "log",
    "usecases",
    "commands",
)

Message = tuple[str, ...]  # one text, or singular and plural


def found() -> dict[Message, str]:
    """Messages with the place each was first found."""
    out: dict[Message, str] = {}
    for name in SOURCES:
        root = SCHEDULER / name
        for file in sorted([root] if root.is_file() else root.rglob("*")):
            if file.suffix == ".py":
                for line, message in in_python(file.read_text()):
                    out.setdefault(message, f"{file.relative_to(SCHEDULER.parent)}:{line}")
            elif file.suffix == ".html":
                for line, message in in_template(file.read_text()):
                    out.setdefault(message, f"{file.relative_to(SCHEDULER.parent)}:{line}")
    for message in of_the_catalogue():
        out.setdefault(message, "crops")
    return out


def in_python(source: str) -> Iterator[tuple[int, Message]]:
    """Texts given to ``_``, ``N_`` and ``plural``; a name given to them is marked elsewhere."""
    for node in ast.walk(ast.parse(source)):
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name)):
            continue
        count = {"_": 1, "N_": 1, "plural": 2}.get(node.func.id, 0)
        texts = [a.value for a in node.args[:count] if isinstance(a, ast.Constant)]
        if count and len(texts) == count:
            yield node.lineno, tuple(str(t) for t in texts)


def in_template(source: str) -> Iterator[tuple[int, Message]]:
    """The same in a template."""
    env = Environment()
    for call in env.parse(source).find_all(nodes.Call):
        if not isinstance(call.node, nodes.Name):
            continue
        count = {"_": 1, "plural": 2}.get(call.node.name, 0)
        texts = [a.value for a in call.args[:count] if isinstance(a, nodes.Const)]
        if count and len(texts) == count:
            yield call.lineno, tuple(texts)


def of_the_catalogue() -> Iterator[Message]:
    """Names that come from data: crops and fertilizers."""
    from crops.catalogue import catalogue
    from crops.solution.acid import ACIDS
    from crops.solution.cautions import ACID, CITRIC, NITRIC, SALTS, STRONG_ACID
    from crops.solution.limits import LIMITS
    from crops.solution.salts import WAYS

    for crop in catalogue().values():
        yield (crop.title,)
        yield (crop.group,)
    for limit in LIMITS.values():
        yield (limit.name,)
    for text in (*SALTS, *ACID, STRONG_ACID, NITRIC, CITRIC):
        yield (text,)
    for acid in ACIDS:
        yield (f"{acid} acid",)
    for way in WAYS.values():
        for salt in way.salts:
            yield (salt.name,)


def compiled(po: Path) -> bytes:
    """The .mo of a .po."""
    import io

    from babel.messages import mofile, pofile

    with po.open("rb") as handle:
        catalogue = pofile.read_po(handle)
    out = io.BytesIO()
    mofile.write_mo(out, catalogue)
    return out.getvalue()


if __name__ == "__main__":
    import gettext
    import sys

    sys.path.insert(0, str(SCHEDULER.parent))
    for po in sorted(LOCALE.glob("*/LC_MESSAGES/dryline.po")):
        po.with_suffix(".mo").write_bytes(compiled(po))
        with po.with_suffix(".mo").open("rb") as handle:
            known = gettext.GNUTranslations(handle)._catalog  # type: ignore[attr-defined]
        language = po.parent.parent.name
        lacking = [m for m in found() if m[0] not in known and (m[0], 0) not in known]
        print(language, "complete" if not lacking else f"lacks {len(lacking)}")
        for message in lacking if language == "de" else ():
            print("  ", message)
