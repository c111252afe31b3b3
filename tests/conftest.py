"""Which tests are slow (`-m "not slow"` leaves them out), and which share one process when tests run side by side.

Grouping is by the scheduler's own hook: the marks that pytest-xdist has for it are not heeded beside pytest 9.2.
"""

from __future__ import annotations

import os
from pathlib import Path

import hypothesis
import pytest

# A machine that is busy with other things makes an example slow; that is no fault of what is tested.
hypothesis.settings.register_profile("foamwright", deadline=None)
hypothesis.settings.load_profile("foamwright")

# No test finds what another has left: a store in a folder that cannot be keeps nothing.
os.environ["XDG_CACHE_HOME"] = os.path.join(os.devnull, "none")

TESTS = Path(__file__).parent
# Folders and files that build whole packs, and files that take more than 20 s of processor time.
SLOW = (
    "whole/",
    "testpieces/",
    "booklet/test_real_orders.py",
    "booklet/test_step_pictures.py",
    "booklet/test_working_figures.py",
    "flatten/test_creases.py",
    "flatten/test_panels_curvature.py",
    "flatten/test_panels_darts.py",
    "flatten/test_panels_refinement.py",
    "flatten/test_panels_seams.py",
    "flatten/test_split.py",
    "layout/test_layout_pages.py",
    "layout/test_real_pages.py",
    "nesting/",
    "outputs/test_only.py",
)


def together(test: str) -> str:
    """Tests of one file share what its fixtures made, and those of whole packs share the packs: what they share a
    process by, of the id of a test."""
    path = test.partition("::")[0]
    return "tests/whole" if path.startswith("tests/whole/") else path


@pytest.hookimpl(optionalhook=True)  # there is no such hook without pytest-xdist
def pytest_xdist_make_scheduler(config: pytest.Config, log: object) -> object:
    from xdist.scheduler import LoadScopeScheduling

    class ByFile(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            return together(nodeid)

    return ByFile(config, log)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if item.path.relative_to(TESTS).as_posix().startswith(SLOW):
            item.add_marker(pytest.mark.slow)
