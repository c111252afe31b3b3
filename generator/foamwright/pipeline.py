"""The whole way from a design to the files of its pack. Each step takes the records of the one before it.

This is the Python interface as well: `build_pack(load("designs/lamp.yaml"))` gives every file as bytes, and
`write_pack` puts them in a folder.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from foamwright.design.records import Design

Progress = Callable[[str], None]


def _silent(stage: str) -> None:
    pass


def build_pack(
    design: Design,
    paper_name: str = "A4",
    progress: Progress = _silent,
    on_hand: Mapping[str, Sequence[tuple[float, float]]] = {},
    nest_effort: float = 1.0,
) -> Mapping[str, bytes]:
    """Every file of the pack of one design at its size, by its path in the pack; the archive comes last.

    `progress` is told the name of each stage as it begins. `on_hand` gives the sizes of the sheets on the shelf
    by stock, and `nest_effort` multiplies how long a better layout on the sheets is looked for. Raises
    BuildError, or DesignError for an unknown paper.
    """
    # each step is imported when it is reached, so that a mistake found early costs nothing that comes later
    from foamwright.layout.paper import leaf
    from foamwright.layout.paper import paper as paper_named

    paper = paper_named(paper_name)
    design = replace(design, digest=_digest(design.digest, paper_name, on_hand, nest_effort))

    progress("building the parts in place")
    from foamwright.parts import build_prop

    prop = build_prop(design)

    progress("flattening")
    from foamwright.flatten.build import flatten

    patterns = flatten(prop)

    progress("modelling the solids")
    from foamwright.model.assembly import assemble
    from foamwright.model.gltf import gltf_bytes
    from foamwright.model.step import step_bytes

    assembly = assemble(prop)

    progress("looking for parts that occupy the same space")
    from foamwright.model.figure import clearance, figure_of
    from foamwright.model.interference import interferences
    from foamwright.model.stability import balance

    found = interferences(assembly)
    _refuse_overlaps(design, found)
    figure = figure_of(design)
    fit = clearance(assembly, figure) if figure else None
    weight = balance(assembly, figure)

    progress("drawing the templates")
    from foamwright.layout.pages import lay_out
    from foamwright.layout.records import PackInfo
    from foamwright.layout.strain import strain_sheets
    from foamwright.templates.draw import Lettering, draw, outlines_only

    info = PackInfo(design.name, design.version, design.size, design.licence, design.size_note, design.author)
    templates, letter = draw(patterns), Lettering(patterns)
    listed = [p for p in patterns.patterns if p.piece.listed_only]
    bare = [template for pattern in listed for template in outlines_only(pattern)]
    template_pages = lay_out(templates, paper, info, listed, letter)
    strain_pages = strain_sheets(patterns.patterns, leaf(paper), info)

    progress("laying the pieces on sheets")
    from foamwright.layout.sheet_plans import sheet_plans
    from foamwright.layout.sheets import lay_on_sheets

    sheets = lay_on_sheets(patterns, on_hand, nest_effort)
    plan_pages = sheet_plans(sheets, patterns, leaf(paper), info)

    progress("drawing the steps")
    from foamwright.booklet.order import order
    from foamwright.booklet.pages import booklet
    from foamwright.model.fit_pictures import fit_pictures
    from foamwright.model.pictures import draw_pictures

    steps = order(prop, patterns)
    pictures = draw_pictures(assembly, steps)
    if figure:
        pictures = replace(pictures, fit=fit_pictures(assembly, figure))
    booklet_pages = booklet(prop, patterns, steps, pictures, leaf(paper), info, fit, found, weight, sheets)

    progress("writing the pack")
    from foamwright.booklet.materials import shopping
    from foamwright.booklet.portrait import portrait_svg
    from foamwright.drawing.dxf import dxf_bytes
    from foamwright.drawing.pdf import pdf_bytes
    from foamwright.drawing.png import png_bytes
    from foamwright.drawing.svg import svg_bytes
    from foamwright.pack.cutlist import cut_list, shopping_list
    from foamwright.pack.files import zip_bytes
    from foamwright.pack.machine import machine_files
    from foamwright.pack.record import pack_record, record_bytes
    from foamwright.pack.sheet_files import sheet_files

    files: dict[str, bytes] = {
        "templates.pdf": pdf_bytes(template_pages),
        "booklet.pdf": pdf_bytes(booklet_pages),
    }
    for template in templates:
        x0, y0, x1, y1 = template.bounds
        piece = template.pattern.piece
        stem = f"templates/{piece.label}-{piece.id.replace('_', '-')}"
        title = f"{piece.label} {piece.name}, {design.name} {design.version}, size {design.size}"
        files[f"{stem}.svg"] = svg_bytes(template.drawing, x1 - x0, y1 - y0, (x0, y0), title)
        files[f"{stem}.dxf"] = dxf_bytes(template.drawing)
    files |= machine_files(patterns)
    files["sheets.pdf"] = pdf_bytes(plan_pages)
    files |= sheet_files(sheets, (*templates, *bare), info, letter)
    files["picture.svg"] = portrait_svg(pictures.finished[0], f"{design.name}, size {design.size}")
    files["picture.png"] = png_bytes(files["picture.svg"], 1200)
    files["model/prop.step"] = step_bytes(assembly)
    files["model/prop.glb"] = gltf_bytes(assembly)
    files["cut-list.csv"] = cut_list(patterns)
    files["shopping-list.csv"] = shopping_list(shopping(prop, patterns, sheets))
    pages = {"templates.pdf": template_pages, "booklet.pdf": booklet_pages, "sheets.pdf": plan_pages}
    if strain_pages is not None:
        pages["strain.pdf"] = strain_pages
        files["strain.pdf"] = pdf_bytes(strain_pages)
    record = pack_record(prop, patterns, pages, steps, fit, found, files, balance=weight, sheets=sheets)
    files["pack.json"] = record_bytes(record)
    name = f"{design.id}-{design.size}"
    files[f"{name}.zip"] = zip_bytes(files, name)
    return files


def _digest(design: str, paper: str, on_hand: Mapping[str, Any], effort: float) -> str:
    """Hash of every input of a pack: the design's own, and what the call adds to it."""
    added = [
        paper.lower(),
        sorted((stock, list(map(list, sizes))) for stock, sizes in on_hand.items()),
        effort,
    ]
    return hashlib.sha256(f"{design} {json.dumps(added)}".encode()).hexdigest()


def _refuse_overlaps(design: Design, found: Any) -> None:
    """Parts may share space only where the design says so."""
    from foamwright.errors import BuildError

    declared = {frozenset(pair) for pair in design.expected_overlaps}
    surprising = [i for i in found if frozenset((i.part_a, i.part_b)) not in declared]
    if surprising:
        worst = max(surprising, key=lambda i: i.volume)
        at = ", ".join(f"{x:.0f}" for x in worst.at)
        more = f" (and {len(surprising) - 1} more)" if len(surprising) > 1 else ""
        raise BuildError(
            f"{worst.part_a} and {worst.part_b} occupy the same space: {worst.volume:.0f} mm3, about "
            f"{worst.depth:.1f} mm deep, near ({at}){more}; move one, add a clearance, or declare it under overlaps"
        )
