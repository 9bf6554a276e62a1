"""Names: the words of the rules are one list, and no file is tied to one place or registry."""

import ast
import re
import subprocess
from pathlib import Path

import pytest

from scheduler.plans.rules import RULES

ROOT = Path(__file__).parents[1]
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
# Written in parts, so that this file does not find itself.
HOSTS = re.compile(
    r"\b(py" r"pi\.org|python" r"hosted\.org|npm" r"js\.(com|org)|deb" r"ian\.org)\b"
)
PLACES = re.compile(r"(?<![\w.])/(tmp|home|root|work|Users)" r"/\w")


def sources():
    """Text files of the repository, hidden ones of its own included."""
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    names = listed.stdout.splitlines() or [
        str(p.relative_to(ROOT))
        for room in ("crops", "scheduler", "tests", "examples", ".ci")
        for p in (ROOT / room).rglob("*")
        if p.is_file()
    ]
    binary = {".mo", ".png", ".pyc", ".pdf"}
    return [ROOT / n for n in names if Path(n).suffix not in binary and (ROOT / n).is_file()]


@pytest.mark.parametrize("pattern", [HOSTS, PLACES], ids=["registry host", "place of one machine"])
def test_no_file_names_a(pattern):
    files = sources()
    assert len(files) > 100
    texts = ((p, p.read_text("utf-8", errors="replace")) for p in files)
    assert [f"{p.relative_to(ROOT)}: {m[0]}" for p, t in texts for m in pattern.finditer(t)] == []


def test_the_patterns_find_what_they_look_for():
    assert HOSTS.search("https://" + "py" + "pi.org/simple")
    assert PLACES.search("open('" + "/tm" + "p/x')")
    assert not PLACES.search("a" + "/wor" + "k/b")


def test_every_rule_is_told_to_contributors():
    rules = (ROOT / "scheduler" / "verify" / "README.md").read_text(encoding="utf-8")
    cells = {
        c.strip()
        for line in rules.splitlines()
        if line.startswith("|")
        for c in re.split(r"[,;]", line.split("|")[1])
    }
    assert {r.name for r in RULES} - cells == set()


def test_every_room_is_on_the_map():
    """Each room is named in DEVELOPERS.md, each module says in its first line what it is."""
    said = set(re.findall(r"`([\w/]+)`", DEVELOPERS))
    rooms = {p.parent.name for p in (ROOT / "scheduler").glob("*/__init__.py")}
    assert len(rooms) > 15
    assert {f"{name}/" for name in rooms} - said == set()
    modules = [p for room in ("crops", "scheduler") for p in (ROOT / room).rglob("*.py")]
    unsaid = []
    for path in modules:
        text = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
        if path.stem not in ("__init__", "__main__") and not (text or "").splitlines()[:1]:
            unsaid.append(str(path.relative_to(ROOT)))
    assert unsaid == []


# Figures and words that check the program must not also be in it: each in two parts, as above.
CHECKS = re.compile(
    r"\b(7\.5"
    r" ?in|10\.5"
    r" ?in|0\.77"
    r" lb)\b|1\.92"
    r" mS/cm|measured"
    r" tiers"
    r"|heads"
    r" hang|Köpfe"
    r" hängen|three"
    r" plants of a summer"
)


def test_check_values_stand_in_tests_alone():
    """A check that the program has read is no check: its figures stand nowhere outside tests."""
    outside = [p for p in sources() if p.relative_to(ROOT).parts[0] not in ("tests", ".ci")]
    texts = ((p, p.read_text("utf-8", errors="replace")) for p in outside)
    assert [f"{p.relative_to(ROOT)}: {m[0]}" for p, t in texts for m in CHECKS.finditer(t)] == []
    assert CHECKS.search("to 7.5" + " in deep")
    assert CHECKS.search("before the heads" + " hang")
