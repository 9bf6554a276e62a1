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


def pytest_xdist_auto_num_workers(config):
    """One process a core for all tests; none beside this one where files or tests are named."""
    named = config.args_source is config.ArgsSource.ARGS
    return 0 if named and any(".py" in name for name in config.args) else None


def pytest_collection_modifyitems(config, items):
    """Slow tests run in CI, when asked for, or when one is named."""
    if config.option.slow or any("::" in name for name in config.args):
        return
    slow = [item for item in items if item.get_closest_marker("slow")]
    if slow:
        config.hook.pytest_deselected(items=slow)
        items[:] = [item for item in items if not item.get_closest_marker("slow")]


@pytest.fixture(autouse=True)
def _english():
    use_language(None)
    yield
    use_language(None)
