"""For all tests: each begins in English, whatever language the one before printed in."""

import pytest

from scheduler.outputs.words import use_language


@pytest.fixture(autouse=True)
def _english():
    use_language(None)
    yield
    use_language(None)
