"""The shape of the repository: rooms, direction of imports, sizes."""

import ast
import re
import subprocess
import tomllib
from pathlib import Path

from not_empty import some

ROOT = Path(__file__).parents[1]


def tracked():
    """Files under version control, or the files there are where there is none."""
    try:
        out = subprocess.run(
            ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
        )
        return [ROOT / name for name in out.stdout.splitlines() if (ROOT / name).is_file()]
    except (OSError, subprocess.CalledProcessError):
        return [p for p in ROOT.rglob("*") if p.is_file() and ".venv" not in p.parts]


def test_top_level():
    top = {p.relative_to(ROOT).parts[0] for p in tracked()}
    assert {name for name in top if not name.startswith(".")} == {
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "pyproject.toml",
        "scheduler",
        "crops",
        "tests",
        "examples",
    }


def test_crops_never_import_scheduler():
    for path in some((ROOT / "crops").rglob("*.py"), 20):
        assert not re.search(r"^\s*(from|import) scheduler", path.read_text("utf-8"), re.M), path


def test_modules_are_read_in_one_sitting():
    long = {
        str(p.relative_to(ROOT)): n
        for room in ("crops", "scheduler")
        for p in (ROOT / room).rglob("*.py")
        if (n := len(p.read_text("utf-8").splitlines())) > 480
    }
    assert not long


def test_the_packages_are_not_hidden_by_their_tests():
    assert not (ROOT / "tests" / "crops" / "__init__.py").exists()
    assert not (ROOT / "tests" / "scheduler" / "__init__.py").exists()


def test_each_dependency_states_the_lowest_version_that_is_tried():
    """`.ci/versions` installs exactly these, so that what is stated is what is tried."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    extras = project["optional-dependencies"]
    wanted = [
        *project["dependencies"],
        *(r for name in extras if name != "lint" for r in extras[name]),
    ]
    others = [r for r in dict.fromkeys(wanted) if not r.startswith("dryline[")]
    assert all(re.fullmatch(r"[a-z][a-z0-9-]*>=[0-9]+(\.[0-9]+)*", r) for r in others), others
    pins = subprocess.run(
        [ROOT / ".ci" / "versions", "pins"], capture_output=True, text=True, check=True
    )
    assert pins.stdout.split() == [r.replace(">=", "==") for r in others]


def _clocks(node):
    """Whether a piece of a test reads a clock."""
    names = {"monotonic", "perf_counter", "process_time", "time"}
    return any(
        isinstance(n, ast.Call) and getattr(n.func, "attr", "") in names and not n.args
        for n in ast.walk(node)
    )


def stopwatches(source):
    """Tests that assert that something takes less than some time."""
    for test in ast.walk(ast.parse(source)):
        if not (isinstance(test, ast.FunctionDef) and test.name.startswith("test")):
            continue
        read = [n for n in ast.walk(test) if isinstance(n, ast.Assign) and _clocks(n.value)]
        names = {t.id for n in read for t in n.targets if isinstance(t, ast.Name)}
        for check in (n.test for n in ast.walk(test) if isinstance(n, ast.Assert)):
            told = {n.id for n in ast.walk(check) if isinstance(n, ast.Name)}
            less = any(isinstance(n, (ast.Lt, ast.LtE)) for n in ast.walk(check))
            if less and (_clocks(check) or told & names):
                yield test
                break


def test_who_holds_a_stopwatch_says_so():
    """Seconds are another machine's: such tests are left out of the default run and of CI."""
    held = {
        (path.name, test.name): "pytest.mark.clock" in [ast.unparse(d) for d in test.decorator_list]
        for path in (ROOT / "tests").rglob("test_*.py")
        for test in stopwatches(path.read_text("utf-8"))
    }
    assert len(held) >= 5
    assert [name for name, marked in held.items() if not marked] == []
