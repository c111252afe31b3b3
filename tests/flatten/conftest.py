"""The flagship laid flat, once for all tests that look at it."""

import pytest


@pytest.fixture(scope="session")
def flagship(stages_of):
    return stages_of("pocket-submarine").patterns
