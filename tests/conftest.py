"""Which tests are slow (`-m "not slow"` leaves them out), and which share one process when tests run side by side."""

from __future__ import annotations

from pathlib import Path

import hypothesis
import pytest

# A machine that is busy with other things makes an example slow; that is no fault of what is tested.
hypothesis.settings.register_profile("foamwright", deadline=None)
hypothesis.settings.load_profile("foamwright")

TESTS = Path(__file__).parent
# Folders and files that build whole packs, and files that take more than 20 s of processor time.
SLOW = (
    "whole/",
    "testpieces/",
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


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        path = item.path.relative_to(TESTS).as_posix()
        if path.startswith(SLOW):
            item.add_marker(pytest.mark.slow)
        # tests of one file share what its fixtures made, and those of whole packs share the packs
        item.add_marker(pytest.mark.xdist_group("whole" if path.startswith("whole/") else path))
