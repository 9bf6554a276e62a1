"""For all tests: which of them run, and each begins in English."""

import os

import pytest

from scheduler.words.words import use_language


def pytest_addoption(parser):
    parser.addoption(
        "--slow",
        action="store_true",
        default=bool(os.environ.get("CI")),
        help="slow tests too, as in CI",
    )
    parser.addoption(
        "--deep",
        action="store_true",
        help="tests of a minute or more each too: by hand",
    )
    parser.addoption(
        "--clock",
        action="store_true",
        help="tests that hold a stopwatch too: by hand, on a quiet machine",
    )


def pytest_xdist_auto_num_workers(config):
    """One process a core for all tests; none beside this one where files or tests are named."""
    named = config.args_source is config.ArgsSource.ARGS
    return 0 if named and any(".py" in name for name in config.args) else None


def pytest_collection_modifyitems(config, items):
    """Slow tests run in CI, deep ones and those with a stopwatch by hand, all when asked for or named."""
    if any("::" in name for name in config.args):
        return
    without = [name for name in ("slow", "deep", "clock") if not config.getoption(name)]
    left = {item for item in items if any(item.get_closest_marker(name) for name in without)}
    if left:
        config.hook.pytest_deselected(items=list(left))
        items[:] = [item for item in items if item not in left]


@pytest.fixture(autouse=True)
def _english():
    use_language(None)
    yield
    use_language(None)
