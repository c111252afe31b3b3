"""The whole way from a design to the files of its pack, as a graph of stages over frozen records.

Each function marked as a stage takes the records that its parameters name and returns its own; it runs only if
something that is asked for needs it (`foamwright.stages`). What a step needs is imported when it runs, so that a
mistake found early costs nothing that comes later.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from foamwright.language import spoken
from foamwright.stages import Stage
from foamwright.store import Store

if TYPE_CHECKING:
    import numpy as np

    from foamwright.assembly.bodies import Bodies
    from foamwright.assembly.records import Inset, Picture, Pictures, Step
    from foamwright.beside import Beside
    from foamwright.contacts.records import Contacts, Solid
    from foamwright.design.records import Design
    from foamwright.drawing.document import Document
    from foamwright.flatten.records import Pattern, Patterns
    from foamwright.layout.records import FoamSheet, PackInfo, Paper
    from foamwright.look.records import Look
    from foamwright.model.figure import Figure, Fit
    from foamwright.model.interference import Interference
    from foamwright.model.records import Model
    from foamwright.model.stability import Balance
    from foamwright.model.step_text import StepText
    from foamwright.outputs.records import Files
    from foamwright.parts.attempt import Attempt
    from foamwright.parts.records import Prop
    from foamwright.proof.bench.records import Proof
    from foamwright.templates.draw import Lettering
    from foamwright.templates.placement_lines import PlacementLines
    from foamwright.templates.records import Template
    from foamwright.templates.touched import Touched

OnHand = Mapping[str, Sequence[tuple[float, float]]]  # sizes of the sheets on the shelf, by stock

STAGES: dict[str, Stage] = {}


def stage(title: str, told_by: tuple[str, ...] = ()) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Put the function into the graph under its own name; `title` is what a maker reads while it runs, and what
    it makes is kept if `told_by` names the parameters that say all that it depends on."""

    def enter(function: Callable[..., Any]) -> Callable[..., Any]:
        STAGES[function.__name__] = Stage(function.__name__, title, function, told_by)
        return function

    return enter


# the prop and its model


@stage("building the parts in place")
def parts(design: Design, run_own_code: bool, store: Store, beside: Beside | None) -> Prop:
    """The prop before it is known what its edges meet."""
    from foamwright.parts import build_prop

    return build_prop(design, run_own_code, store, beside)


@stage("modelling the solids")
def shapes(parts: Prop, store: Store) -> Model:
    """The model before it is known what its edges meet."""
    from foamwright.model.build import build_model

    return build_model(parts, store)


@stage("naming the faces of the solids")
def solids(shapes: Model) -> tuple[Solid, ...]:
    from foamwright.contacts.solids import solids

    return solids(shapes)


@stage("finding what touches")
def contacts(parts: Prop, solids: Sequence[Solid], store: Store, beside: Beside | None) -> Contacts:
    from foamwright.contacts.find import find_contacts
    from foamwright.contacts.joins import clearance_of
    from foamwright.parts.records import noteless

    clearance = clearance_of(parts.design)
    # the solids follow from the pieces, whatever is noted of them
    return store.kept("contacts", (noteless(parts.pieces), clearance), lambda: find_contacts(solids, clearance, beside))


@stage("holding what is declared against what touches")
def held(prop: Prop, solids: Sequence[Solid], contacts: Contacts) -> bool:
    """BuildError: a declared contact is none, or nothing holds a part."""
    from foamwright.contacts.checks import refuse_untrue

    refuse_untrue(prop, solids, contacts)
    return True


@stage("joining what touches")
def model(shapes: Model, contacts: Contacts) -> Model:
    from foamwright.contacts.joins import with_joins

    return with_joins(shapes, contacts)


@stage("writing the solids", ("prop",))
def step_text(model: Model, prop: Prop) -> StepText:
    from foamwright.model.step import step_text

    return step_text(model)


@stage("numbering what was written of the solids", ("step_text",))
def step_file(step_text: StepText) -> bytes:
    from foamwright.model.step_text import step_file

    return step_file(step_text)


@stage("listing the parts")
def prop(model: Model) -> Prop:
    return model.prop


@stage("looking for parts that occupy the same space")
def interferences(shapes: Model) -> tuple[Interference, ...]:
    """Parts that share space because the design says so; BuildError for any other. Looked for before what touches, as
    faces within each other are many and touch nothing."""
    from foamwright.model.interference import interferences, refuse_undeclared

    overlaps = interferences(shapes)
    refuse_undeclared(overlaps, shapes)
    return overlaps


@stage("placing the figure")
def figure(design: Design) -> Figure | None:
    from foamwright.model.figure import figure_of

    return figure_of(design)


@stage("trying on the figure")
def fit(model: Model, contacts: Contacts, figure: Figure | None) -> Fit | None:
    from foamwright.contacts.joins import hinges, stiff_groups
    from foamwright.model.figure import clearance
    from foamwright.model.placed import placed_copies

    if figure is None:
        return None
    groups, opening = stiff_groups(model.prop, contacts), hinges(model.prop, contacts)
    return clearance(placed_copies(model), figure, groups, opening)


@stage("weighing the prop")
def balance(model: Model, figure: Figure | None) -> Balance | None:
    from foamwright.model.placed import placed_copies
    from foamwright.model.stability import balance

    return balance(placed_copies(model), model.prop.design.stands, figure)


# the first look, which needs no solids


@stage("placing what can be placed")
def attempt(design: Design, run_own_code: bool, store: Store, beside: Beside | None) -> Attempt:
    """All parts that can be placed, whatever fails beside them. BuildError: a form cannot be made."""
    from foamwright.parts.attempt import attempt

    return attempt(design, run_own_code, store, beside)


@stage("looking")
def look(attempt: Attempt, store: Store) -> Look:
    """Copies in place as plain meshes, what shares space and what failed."""
    from foamwright.look.build import first_look

    return first_look(attempt, store)


# flat patterns, templates, pages and sheets


@stage("flattening the panels")
def panels(prop: Prop, store: Store) -> Mapping[str, Pattern]:
    """The patterns of curved panels, by id."""
    from foamwright.flatten.build import flatten

    return flatten(prop, store=store)


@stage("taking sections")
def patterns(model: Model, panels: Mapping[str, Pattern], on_hand: OnHand) -> Patterns:
    """BuildError: a part's lines do not come out, or no sheet holds it."""
    from foamwright.flatten.split import refuse_too_large
    from foamwright.section.build import sections

    found = sections(model, panels)
    refuse_too_large(found.patterns, on_hand)
    return found


@stage("setting words")
@spoken
def lettering(patterns: Patterns, contacts: Contacts, store: Store) -> Lettering:
    from foamwright.templates.draw import Lettering

    return Lettering(patterns, contacts, store)


@stage("drawing the templates", ("patterns", "contacts", "reader"))
@spoken
def templates(patterns: Patterns, contacts: Contacts, lettering: Lettering) -> tuple[Template, ...]:
    return lettering.drawn()


@stage("looking at the placement lines", ("patterns", "contacts"))
def placement_lines(patterns: Patterns, contacts: Contacts, lettering: Lettering) -> PlacementLines:
    return lettering.placement_lines()


@stage("drawing the parts that are only listed")
@spoken
def bare_templates(patterns: Patterns) -> tuple[Template, ...]:
    from foamwright.templates.draw import outlines_only

    return tuple(drawn for p in patterns.patterns if p.piece.listed_only for drawn in outlines_only(p))


@stage("writing the templates", ("design", "templates"))
def template_files(design: Design, templates: Sequence[Template]) -> Files:
    from foamwright.outputs.template_files import files

    return files(design, templates)


@stage("finding what is touched on the patterns", ("patterns", "contacts"))
def touched(patterns: Patterns, contacts: Contacts) -> tuple[Touched, ...]:
    from foamwright.templates.touched import touched_faces

    return touched_faces(patterns, contacts)


@stage("looking for what the maker should know")
def notes(prop: Prop, model: Model, contacts: Contacts, figure: Figure | None) -> tuple[str, ...]:
    from foamwright.pack.notes import notes

    return notes(prop, model, contacts, figure)


@stage("naming the pack")
def info(design: Design) -> PackInfo:
    from foamwright.layout.records import PackInfo

    return PackInfo(design.name, design.version, design.size, design.licence, design.size_note, design.author)


@stage("choosing the paper to read from")
def leaf(paper: Paper) -> Paper:
    from foamwright.layout.paper import leaf

    return leaf(paper)


@stage("laying the templates on pages", ("templates", "paper", "info", "patterns", "reader"))
@spoken
def template_pages(
    templates: Sequence[Template], paper: Paper, info: PackInfo, patterns: Patterns, lettering: Lettering
) -> Document:
    from foamwright.layout.pages import lay_out

    listed = [p for p in patterns.patterns if p.piece.listed_only]
    return lay_out(templates, paper, info, listed, lettering)


@stage("drawing the strain", ("patterns", "leaf", "info", "reader"))
@spoken
def strain_pages(patterns: Patterns, leaf: Paper, info: PackInfo) -> Document | None:
    from foamwright.layout.strain import strain_sheets

    return strain_sheets(patterns.patterns, leaf, info)


@stage("drawing the bend gauges", ("patterns", "leaf", "info", "reader"))
@spoken
def gauge_pages(patterns: Patterns, leaf: Paper, info: PackInfo) -> Document | None:
    from foamwright.booklet.pages.gauge_pages import gauge_sheets

    return gauge_sheets(patterns.patterns, leaf, info)


@stage("laying the pieces on sheets")
def sheets(patterns: Patterns, on_hand: OnHand, nest_effort: float, store: Store) -> tuple[FoamSheet, ...]:
    from foamwright.layout.sheets import lay_on_sheets

    return lay_on_sheets(patterns, on_hand, nest_effort, store)


@stage("writing the sheets", ("sheets", "templates", "bare_templates", "info", "reader"))
@spoken
def sheet_files(
    sheets: Sequence[FoamSheet],
    templates: Sequence[Template],
    bare_templates: Sequence[Template],
    info: PackInfo,
    lettering: Lettering,
) -> Files:
    from foamwright.outputs.sheets import sheet_files

    return sheet_files(sheets, (*templates, *bare_templates), info, lettering)


@stage("drawing the sheets")
@spoken
def sheet_pages(sheets: Sequence[FoamSheet], patterns: Patterns, leaf: Paper, info: PackInfo) -> Document:
    from foamwright.layout.sheet_plans import sheet_plans

    return sheet_plans(sheets, patterns, leaf, info)


# the booklet


@stage("looking for ways in")
def bodies(model: Model, contacts: Contacts) -> Bodies:
    from foamwright.assembly.bodies import bodies_of

    return bodies_of(model, contacts)


@stage("putting the steps in order", ("prop", "patterns", "bodies", "placement_lines", "fit", "figure_mesh", "reader"))
@spoken
def steps(
    prop: Prop,
    patterns: Patterns,
    bodies: Bodies,
    placement_lines: PlacementLines,
    fit: Fit | None,
    figure_mesh: tuple[np.ndarray, np.ndarray] | None,
) -> tuple[Step, ...]:
    from foamwright.assembly.ways_in import Ways
    from foamwright.booklet.words.order import order

    ways = Ways(replace(bodies, lines=placement_lines), prop.design.expected_overlaps)
    return order(prop, patterns, ways, fit, figure_mesh)


@stage("drawing the figure in its place", ("bodies", "figure_mesh", "way_in"))
def fit_pictures(
    model: Model, bodies: Bodies, figure_mesh: tuple[np.ndarray, np.ndarray] | None, way_in: np.ndarray | None
) -> tuple[Picture, ...]:
    from foamwright.booklet.pictures.fit_pictures import fit_pictures
    from foamwright.booklet.pictures.together import Together

    if figure_mesh is None:
        return ()
    return fit_pictures(model, Together(bodies).at_figure(figure_mesh[0])[0], figure_mesh, way_in)


@stage("meshing the figure")
def figure_mesh(figure: Figure | None) -> tuple[np.ndarray, np.ndarray] | None:
    return None if figure is None else figure.mesh


@stage("asking how the figure goes in")
def way_in(figure: Figure | None) -> np.ndarray | None:
    return None if figure is None else figure.way_in


@stage("drawing the steps", ("bodies", "steps", "patterns", "reader"))
@spoken
def step_pictures(bodies: Bodies, steps: Sequence[Step], patterns: Patterns) -> Mapping[int, Picture]:
    from foamwright.booklet.pictures.step_pictures import step_pictures

    return step_pictures(bodies, steps, tuple(patterns.prop.design.supplies.values()))


@stage("drawing the whole prop", ("bodies", "steps", "figure_mesh", "reader"))
@spoken
def prop_pictures(bodies: Bodies, steps: Sequence[Step], figure_mesh: tuple[np.ndarray, np.ndarray] | None) -> Pictures:
    from foamwright.booklet.pictures.prop_pictures import pictures_of

    return pictures_of(bodies, steps, figure_mesh)


@stage("drawing what is done in the steps", ("steps", "patterns", "bodies", "reader"))
@spoken
def insets(steps: Sequence[Step], patterns: Patterns, bodies: Bodies) -> Mapping[int, tuple[Inset, ...]]:
    from foamwright.booklet.pictures.insets import insets

    return insets(steps, patterns, bodies)


@stage("gathering the pictures")
def pictures(
    prop_pictures: Pictures,
    step_pictures: Mapping[int, Picture],
    insets: Mapping[int, tuple[Inset, ...]],
    fit_pictures: Sequence[Picture],
) -> Pictures:
    from foamwright.booklet.pictures.prop_pictures import with_steps

    return with_steps(prop_pictures, step_pictures, insets, fit_pictures)


@stage("drawing the finished prop", ("bodies",))
def portrait(bodies: Bodies) -> Picture:
    from foamwright.booklet.pictures.looks import FRONT
    from foamwright.booklet.pictures.prop_pictures import PORTRAIT, finished

    return finished(bodies, FRONT, cells=PORTRAIT)


@stage("setting the booklet")
@spoken
def booklet_pages(
    prop: Prop,
    patterns: Patterns,
    steps: Sequence[Step],
    pictures: Pictures,
    leaf: Paper,
    info: PackInfo,
    fit: Fit | None,
    interferences: Sequence[Interference],
    balance: Balance | None,
    sheets: Sequence[FoamSheet],
    template_pages: Document,
) -> Document:
    from foamwright.booklet.pages.pages import booklet

    return booklet(prop, patterns, steps, pictures, leaf, info, fit, interferences, balance, sheets, template_pages)


# the virtual build


@stage("building the prop from its templates")
def proof(
    prove: bool,
    template_files: Files,
    prop: Prop,
    patterns: Patterns,
    templates: Sequence[Template],
    contacts: Contacts,
    solids: Sequence[Solid],
    touched: Sequence[Touched],
    interferences: Sequence[Interference],
    store: Store,
) -> Proof | None:
    """What comes of it; None where the request leaves it out. BuildError: it does not come out."""
    if not prove:
        return None
    from foamwright.pack.plain import record_bytes
    from foamwright.pack.record import pack_record
    from foamwright.parts.records import noteless
    from foamwright.proof.bench.build import virtual_build

    known = {"prop": prop, "patterns": patterns, "templates": templates, "contacts": contacts, "touched": touched}
    told = record_bytes(pack_record(known))
    sharing = sorted({copy for i in interferences for copy in ((i.part_a, i.copy_a), (i.part_b, i.copy_b))})

    def proven() -> Proof:
        outcome = virtual_build(template_files, json.loads(told), solids, sharing)
        outcome.refuse()
        return outcome

    # the solids follow from the pieces, whatever is noted of them
    return store.kept("proof", (template_files, told, noteless(prop.pieces), sharing), proven)


@stage("drawing the virtual build")
@spoken
def proof_pages(proof: Proof | None, patterns: Patterns, leaf: Paper, info: PackInfo) -> Document | None:
    from foamwright.proof.bench.page import proof_sheet

    return None if proof is None else proof_sheet(proof, patterns, leaf, info)


# What is made in a process beside this one while it goes on, each line in one go there and one line after the other, once what
# it needs is here. Pictures of many cells come early: that process holds less in memory. The virtual build, which nobody can help
# with, comes before what whichever process is free makes, the dearest first. The pages of templates and files of sheets stay
# here, where their words were set before; the booklet, which waits for most of all, is left to that process as long as these
# files and others are to be written.
BESIDE = (
    ("panels",),
    ("portrait",),
    ("sheets",),
    ("strain_pages", "gauge_pages"),
    ("steps",),
    ("prop_pictures",),
    ("proof", "proof_pages"),
    ("step_pictures",),
    ("insets",),
    ("step_file",),
    ("booklet_pages",),
)
LATEST = "booklet_pages"

# What the record alone tells, made where all that it needs is made anyway.
TOLD = ("touched", "notes")

# No file is given away of a prop that breaks a rule, whatever was asked for.
RULES = ("interferences", "held")
PROOF = "proof"
PROVEN = "templates"  # whoever is given these to cut by is given them proven
GIVEN = ("design", "paper", "on_hand", "nest_effort", "libraries", "run_own_code", "reader", "store", "prove", "beside")
