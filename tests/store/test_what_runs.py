"""What is worked out anew for each kind of change, counted; and the bytes, which the store must not change."""

from __future__ import annotations

import pytest

from foamwright.design import load
from foamwright.look.files import files
from foamwright.making import Request, Stages
from foamwright.parts.build import build_prop
from foamwright.store import Store

DESIGN = """
format: 1
name: Can
version: 1.0.0
licence: CC-BY-4.0
parameters:
  scale: {value: 1, min: 0.5, max: 2}
  clearance: {value: 1 mm}
  wide: {value: 80 mm}
sizes: {one: {note: as it is}}
stock:
  foam: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1200 mm]}
  thin: {name: EVA foam 2 mm, thickness: 2 mm, sheet: [300 mm, 300 mm]}
forms:
  can:
    kind: revolution
    axis: z
    smooth: false
    profile: [[0, 100 * scale], [120, 100 * scale]]
    cuts: {front: {plane: {normal: y, at: 0}}, low: {plane: {normal: z, at: 10}}, high: {plane: {normal: z, at: 110}}}
parts:
  wall:
    kind: panel
    stock: foam
    form: can
    where: {front: beyond, low: beyond, high: before}
    mirror: y
    note: "The wall."
  badge:
    kind: plate
    stock: thin
    outline: {rectangle: {width: wide, height: 20}}
    at: {origin: [0, 0, 10], normal: z, up: y}
    lies_on: [floor]
  floor:
    kind: plate
    stock: foam
    outline: {rectangle: {width: 260, height: 260}}
    at: {origin: [0, 0, 0], normal: z, up: y}
"""
ONLY = ("templates", "sheets", "cut_list")
LITTLE = 0.01  # of the usual search for a layout, which is counted here and not looked at


@pytest.fixture(scope="module")
def store_folder(tmp_path_factory):
    return tmp_path_factory.mktemp("store")


@pytest.fixture(scope="module")
def first(store_folder, tmp_path_factory):
    return made(store_folder, tmp_path_factory.mktemp("first"))


def loaded(tmp_path, changes, parameters):
    """The design with texts of it changed, and with other values."""
    text = DESIGN
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "can.yaml"
    path.write_text(text, "utf-8")
    return load(path, None, parameters)


def made(folder, tmp_path, changes=(), paper="A4", **parameters):
    """How often words are set for parts that lie turned is counted in one test alone."""
    store, files, stages = made_with_words(folder, tmp_path, changes, paper, **parameters)
    del store.made["words"], store.found["words"]
    return store, files, stages


def made_with_words(folder, tmp_path, changes=(), paper="A4", **parameters):
    store, stages = Store(folder), []
    request = Request(loaded(tmp_path, changes, parameters), paper, nest_effort=LITTLE)
    pack = Stages(request, stages.append, store).pack(ONLY)
    return store, dict(pack.files), stages


def test_the_first_time_everything_is_made(first):
    store, _, _ = first
    assert not store.found
    assert store.made == {
        "pack": 1,
        "placed": 3,
        "solid": 3,
        "contacts": 1,
        "flattening": 1,
        "panel": 1,
        "touched": 1,
        "templates": 1,
        "template_files": 1,
        "template_pages": 1,
        "nesting": 2,
        "sheet_files": 1,
        "proof": 1,
    }


def test_an_unchanged_pack_runs_no_stage(first, store_folder, tmp_path):
    store, files, stages = made(store_folder, tmp_path)
    assert store.found == {"pack": 1} and not store.made and stages == []
    assert files == first[1]


def test_a_note_models_and_flattens_nothing_searches_no_contacts_and_lays_no_sheet(first, store_folder, tmp_path):
    note = [("The wall.", "The wall, which goes all round.")]
    store, files, _ = made(store_folder, tmp_path, note)
    assert store.found == {
        "placed": 3,
        "solid": 3,
        "contacts": 1,
        "flattening": 1,
        "nesting": 2,
        "proof": 1,  # the note is on no template
    }
    assert store.made == {
        "pack": 1,
        "touched": 1,
        "templates": 1,
        "template_files": 1,
        "template_pages": 1,
        "sheet_files": 1,
    }
    cold = made(None, tmp_path, note)[1]
    assert files == cold != first[1]


def test_lines_more_in_the_file_change_nothing_but_the_hash_of_the_pack(first, store_folder, tmp_path):
    store, _, _ = made(store_folder, tmp_path, [("\nparts:\n", "\n# a remark\n\nparts:\n")])
    assert store.made == {"pack": 1}


def test_a_flat_part_moves_no_panel_and_only_the_sheet_of_its_own_foam(first, store_folder, tmp_path):
    store, files, _ = made(store_folder, tmp_path, wide="90 mm")
    assert store.found == {"placed": 2, "solid": 2, "flattening": 1, "nesting": 1}
    assert store.made == {
        "pack": 1,
        "placed": 1,
        "solid": 1,
        "contacts": 1,
        "touched": 1,
        "templates": 1,
        "template_files": 1,
        "template_pages": 1,
        "nesting": 1,
        "sheet_files": 1,
        "proof": 1,
    }
    assert files == made(None, tmp_path, wide="90 mm")[1]


def test_another_paper_lays_pages_alone(first, store_folder, tmp_path):
    store, _, _ = made(store_folder, tmp_path, paper="letter")
    assert store.made == {"pack": 1, "template_pages": 1}
    assert store.found == {
        "placed": 3,
        "solid": 3,
        "contacts": 1,
        "flattening": 1,
        "touched": 1,
        "templates": 1,
        "template_files": 1,
        "nesting": 2,
        "sheet_files": 1,
        "proof": 1,
    }


def test_another_paper_sets_no_words_that_were_set_for_the_same_turn_but_those_in_another_language(tmp_path):
    folder = tmp_path / "store"
    cold = made_with_words(folder, tmp_path)[0]
    store, files, _ = made_with_words(folder, tmp_path, paper="A3")
    assert store.found["words"] == cold.made["words"] > 0
    assert files == made(None, tmp_path, paper="A3")[1]
    german = made_with_words(folder, tmp_path, [("version: 1.0.0", "version: 1.0.0\nlanguage: de")])[0]
    assert german.made["words"] and not german.found["words"]


def test_the_figure_is_drawn_once(tmp_path):
    """It is told by what its picture shows: the distances that it is made of are functions, which no key holds."""
    figure = "figure: {name: ball, solids: [{ellipsoid: {centre: [0, 0, 60], radii: [30, 30, 30]}}]}\n"
    with_figure = [("\nparts:\n", f"\n{figure}parts:\n")]
    stores = [Store(tmp_path / "store") for _ in range(2)]
    for store in stores:
        Stages(Request(loaded(tmp_path, with_figure, {})), store=store).record("fit_pictures")
    assert stores[0].made["fit_pictures"] == 1 == stores[1].found["fit_pictures"]


def test_another_paper_writes_the_same_solids(tmp_path):
    """Those that are read from the store are those of a cold pack to the last bit."""

    def model(store, paper):
        return Stages(Request(loaded(tmp_path, (), {}), paper), store=store).pack(["model"])

    store = Store(tmp_path / "store")
    first, cold = model(store, "A4"), model(None, "letter")
    assert store.made == {"pack": 1, "placed": 3, "solid": 3, "contacts": 1, "step_text": 1, "step_file": 1}
    warm = model(Store(tmp_path / "store"), "letter")
    assert first.files["model/prop.step"] == warm.files["model/prop.step"] == cold.files["model/prop.step"]
    assert warm.files == cold.files


def test_another_form_flattens_again(first, store_folder, tmp_path):
    store, _, _ = made(store_folder, tmp_path, scale="1.1")
    assert store.made["flattening"] == 1 and store.found == {"placed": 2, "solid": 2, "nesting": 1}


CUP = [
    ("  wide: {value: 80 mm}", "  wide: {value: 80 mm}\n  cup: {value: 60 mm}"),
    (
        "forms:\n",
        "forms:\n  cup:\n    kind: revolution\n    axis: z\n    smooth: false\n    profile: [[0, cup], [90, cup]]\n"
        "    cuts: {middle: {plane: {normal: y, at: 0}}, foot: {plane: {normal: z, at: 10}}, "
        "rim: {plane: {normal: z, at: 80}}}\n",
    ),
    (
        "\nparts:\n",
        "\nparts:\n  cup_wall:\n    kind: panel\n    stock: foam\n    form: cup\n"
        "    where: {middle: beyond, foot: beyond, rim: before}\n    mirror: y\n",
    ),
]


def test_a_panel_of_another_form_moves_no_other_panel(tmp_path):
    folder = tmp_path / "store"
    both = made(folder, tmp_path, CUP)[0]
    assert both.made["panel"] == 2
    store, files, _ = made(folder, tmp_path, CUP, cup="62 mm")
    assert store.made["flattening"] == 1
    assert (store.made["panel"], store.found["panel"]) == (1, 1)
    assert files == made(None, tmp_path, CUP, cup="62 mm")[1]


def seen(folder, tmp_path, changes=(), **parameters):
    """The store and the files of a first look."""
    store = Store(folder)
    return store, files(Stages(Request(loaded(tmp_path, changes, parameters)), store=store).look)


def test_a_second_look_places_only_what_has_changed(tmp_path):
    folder = tmp_path / "store"
    assert seen(folder, tmp_path)[0].made == {"placed": 3, "shape": 3, "overlap": 2, "panel": 1, "refused alone": 1}
    assert not seen(folder, tmp_path, [("The wall.", "Round it goes.")])[0].made
    store, wide = seen(folder, tmp_path, wide="90 mm")
    assert store.made == {"placed": 1, "shape": 1, "overlap": 2}  # it lies beside both of the others
    assert store.found == {"placed": 2, "shape": 2, "refused alone": 1}
    assert wide == seen(None, tmp_path, wide="90 mm")[1] != seen(None, tmp_path)[1]


def test_parts_are_placed_again_when_what_they_ask_of_others_changes(tmp_path):
    """A wall's edge is cut square where another part of its form goes on beyond it, and a skin follows what it covers."""
    folder = tmp_path / "store"
    skin = "\nparts:\n  skin:\n    kind: panel\n    stock: thin\n    form: can\n    over: [wall]\n" + (
        "    where: {front: beyond, low: beyond, high: before}\n"
    )
    with_skin = [("\nparts:\n", skin)]
    seen(folder, tmp_path, with_skin)
    thicker = [*with_skin, ("10 mm, thickness: 10 mm", "10 mm, thickness: 12 mm")]
    store, drawn = seen(folder, tmp_path, thicker)
    assert store.made["placed"] == 3 and store.found == {"placed": 1, "shape": 1}  # the badge alone
    assert drawn == seen(None, tmp_path, thicker)[1]
    lower = [*with_skin, ("high: {plane: {normal: z, at: 110}}", "high: {plane: {normal: z, at: 100}}")]
    store, drawn = seen(folder, tmp_path, lower)
    assert store.made["placed"] == 2 and drawn == seen(None, tmp_path, lower)[1]


def test_what_is_read_from_files_is_placed_each_time(tmp_path):
    (tmp_path / "badge.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="20mm" viewBox="0 0 80 20">'
        '<path d="M 0 0 L 80 0 L 80 20 L 0 20 Z"/></svg>'
    )
    drawn = [("{rectangle: {width: wide, height: 20}}", "{svg: {file: badge.svg}}")]
    folder = tmp_path / "store"
    first = seen(folder, tmp_path, drawn)[1]
    (tmp_path / "badge.svg").write_text((tmp_path / "badge.svg").read_text().replace("80 20", "70 20"))
    store, second = seen(folder, tmp_path, drawn)
    assert store.found["placed"] == 2 and second != first


SLEEVE = """
  wall:
    kind: panel
    stock: foam
    form: can
    where: {front: beyond, low: beyond, middle: before}
    mirror: y
  collar:
    kind: panel
    stock: foam
    form: can
    where: {front: beyond, middle: beyond, high: before}
    mirror: y
"""


def test_a_cut_that_moves_places_the_panels_anew_that_it_bounds(tmp_path):
    old = DESIGN[DESIGN.index("  wall:") : DESIGN.index("  badge:")]
    more = [
        (old, SLEEVE.lstrip("\n")),
        ("z, at: 110}", "z, at: top}"),
        ("wide: {value: 80 mm}", "wide: {value: 80 mm}\n  top: {value: 110 mm}"),
    ]
    more.append(("{plane: {normal: z, at: 10}}", "{plane: {normal: z, at: 10}}, middle: {plane: {normal: z, at: 60}}"))
    store = Store(tmp_path / "store")
    build_prop(loaded(tmp_path, more, {}), store=store)
    assert store.made["placed"] == 4
    changed = loaded(tmp_path, more, {"top": "112 mm"})
    kept = build_prop(changed, store=store)
    assert (store.made["placed"], store.found["placed"]) == (5, 3)  # the collar alone
    cold = build_prop(changed)
    for panel in ("wall", "collar"):
        lines = [[edge.points.tobytes() for edge in prop.piece(panel).body.edges] for prop in (kept, cold)]
        assert lines[0] == lines[1]
