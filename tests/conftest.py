"""Which tests are slow (`-m "not slow"` leaves them out), and which share one process when tests run side by side.

Grouping is by the scheduler's own hook: the marks that pytest-xdist has for it are not heeded beside pytest 9.2.
"""

from __future__ import annotations

import os
from functools import cache
from pathlib import Path

import hypothesis
import pytest

import foamwright  # before numpy, which it tells to reckon in one thread

# A machine that is busy with other things makes an example slow; that is no fault of what is tested. The suite tries
# the same examples each time, so that it fails for a change and not for a throw of the dice; new ones are looked for by
# hand, with `--hypothesis-profile searching`.
hypothesis.settings.register_profile("searching", deadline=None)
hypothesis.settings.register_profile("foamwright", deadline=None, derandomize=True)
hypothesis.settings.load_profile("foamwright")

# No test finds what another has left: a store in a folder that cannot be keeps nothing.
os.environ["XDG_CACHE_HOME"] = os.path.join(os.devnull, "none")

TESTS = Path(__file__).parent
DESIGNS = TESTS.parent / "designs"
SHIPPED = tuple(sorted(path.stem for path in DESIGNS.glob("*.yaml")))
# Folders and files that build whole packs, and files that take more than about 5 s of processor time, but for those
# that throw any input at the readers.
SLOW = (
    "whole/",
    "booklet/test_all_orders.py",
    "booklet/test_begun_right.py",
    "booklet/test_bent_over_what.py",
    "booklet/test_cut_out.py",
    "booklet/test_domed.py",
    "booklet/test_every_copy.py",
    "booklet/test_flat_on_curved.py",
    "booklet/test_flat_panels.py",
    "booklet/test_folded_up.py",
    "booklet/test_free_bands.py",
    "booklet/test_gauges.py",
    "booklet/test_laid_round.py",
    "booklet/test_linings.py",
    "booklet/test_no_red_on_loose_parts.py",
    "booklet/test_on_one_axle.py",
    "booklet/test_real_orders.py",
    "booklet/test_shown_insides.py",
    "booklet/test_single_cones.py",
    "booklet/test_step_pictures.py",
    "booklet/test_supplies_of_designs.py",
    "booklet/test_threading.py",
    "booklet/test_visible_shares.py",
    "booklet/test_where_a_rule_reaches.py",
    "booklet/test_working_figures.py",
    "classes/test_curved_props.py",
    "classes/test_flat_props.py",
    "commands/test_compare_command.py",
    "contacts/test_contacts_found.py",
    "fitting/test_made_to_measure.py",
    "flatten/test_arrows_of_panels.py",
    "flatten/test_bend_gauges.py",
    "flatten/test_closed_edges.py",
    "flatten/test_creases.py",
    "flatten/test_darts_round_a_disc.py",
    "flatten/test_hollow_outlines.py",
    "flatten/test_lofts_with_corners.py",
    "flatten/test_panels_curvature.py",
    "flatten/test_panels_darts.py",
    "flatten/test_panels_developable.py",
    "flatten/test_panels_refinement.py",
    "flatten/test_panels_seams.py",
    "flatten/test_seams_of_two_forms.py",
    "flatten/test_told_at_once.py",
    "forms/test_beside_creases.py",
    "gallery/test_gallery_in_a_browser.py",
    "hostile/test_sample.py",
    "kinds/test_packs_with_own_solids.py",
    "kinds/test_registry.py",
    "layout/test_layout_pages.py",
    "layout/test_real_pages.py",
    "look/test_look.py",
    "look/test_untrue_in_a_look.py",
    "many/test_many.py",
    "model/test_assembly_files.py",
    "model/test_hints.py",
    "model/test_way_out.py",
    "nesting/",
    "outputs/test_only.py",
    "parts/test_bands_and_covers.py",
    "parts/test_bands_with_corners.py",
    "parts/test_bulkheads_at_walls.py",
    "parts/test_edge_names.py",
    "parts/test_edges_that_touch.py",
    "parts/test_seams_round_a_tip.py",
    "parts/test_imported_panels.py",
    "parts/test_mitred_pipes.py",
    "parts/test_opened_panels.py",
    "parts/test_outlines_that_lie.py",
    "parts/test_seam_glue.py",
    "parts/test_sections_of_forms.py",
    "parts/test_windows_of_panels.py",
    "proof/test_across.py",
    "proof/test_arrows.py",
    "proof/test_compare_printed.py",
    "proof/test_foam_of_a_pack.py",
    "proof/test_folded.py",
    "proof/test_in_place.py",
    "proof/test_laid_over_darts.py",
    "proof/test_sabotage.py",
    "proof/test_sound_props.py",
    "proof/test_virtual_build.py",
    "section/test_sections_of_solids.py",
    "store/test_what_runs.py",
    "templates/test_marks.py",
    "test_compiled.py",
    "test_elsewhere.py",
    "testpieces/test_testpieces_command.py",
)

FLAGSHIP = "pocket-submarine"
# Beside what names a design in its id: tests of the flagship, which take it from the fixture `stages_of`.
OF_FLAGSHIP = (
    "tests/flatten/test_panels_curvature.py",
    "tests/flatten/test_panels_refinement.py",
    "tests/flatten/test_panels_seams.py",
    "tests/whole/",
)


@pytest.fixture(scope="session")
def stages_of():
    """The stages of a design that is shipped, at its first size, by its name: made once for all tests that ask."""
    import foamwright

    @cache
    def stages(name: str) -> foamwright.Stages:
        return foamwright.Stages(foamwright.Request(foamwright.load(DESIGNS / f"{name}.yaml")))

    return stages


@pytest.fixture(scope="module")
def little_search():
    """Whatever holds of any layout on the sheets need not be shown of a tight one."""
    from foamwright.nesting import nest

    with pytest.MonkeyPatch().context() as patch:
        patch.setattr(nest, "_PAIRS", 1000)
        patch.setattr(nest, "_PAIRS_PER_PIECE", 1000)
        yield


@pytest.fixture
def forked(monkeypatch):
    """Work that calls no modeller may be forked, though another test has loaded it into this process."""
    for module in ("contained", "many"):
        monkeypatch.setattr(f"foamwright.{module}.can_fork", lambda: True)


def together(test: str) -> str:
    """What tests share a process by, of the id of a test: the design that is built for it, else the file, so that
    nothing is built twice."""
    path, _, name = test.partition("::")
    for design in SHIPPED:
        if design in name:
            return design
    return FLAGSHIP if path.startswith(OF_FLAGSHIP) else path


@pytest.hookimpl(optionalhook=True)  # there is no such hook without pytest-xdist
def pytest_xdist_make_scheduler(config: pytest.Config, log: object) -> object:
    from xdist.scheduler import LoadScopeScheduling

    class ByDesign(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            return together(nodeid)

    config.option.loadscopereorder = False
    return ByDesign(config, log)


def is_slow(path: Path) -> bool:
    return path.is_relative_to(TESTS) and path.relative_to(TESTS).as_posix().startswith(SLOW)


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """What is left out need not be loaded, by none of the processes."""
    return True if config.option.markexpr == "not slow" and is_slow(collection_path) else None


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    for item in items:
        if is_slow(item.path):
            item.add_marker(pytest.mark.slow)
    if hasattr(config, "workerinput"):  # side by side: the longest first, so that none is left at the end
        items.sort(key=lambda item: not item.get_closest_marker("slow"))
