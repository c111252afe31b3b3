"""A curved panel: the region of a form between its cuts, with exact edges on both faces and in between."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from scipy.spatial import cKDTree

from foamwright.design.records import PartSpec, Stock
from foamwright.errors import BuildError
from foamwright.forms.axes import direction
from foamwright.forms.parametric import Revolution
from foamwright.forms.surface import Surface
from foamwright.geometry import Mesh
from foamwright.geometry.bevel import least_bevel
from foamwright.parts import region as regions
from foamwright.parts.cover import BesideLine, BesideLineOverCreases
from foamwright.parts.edge_names import numbered
from foamwright.parts.far_off import far_off, without
from foamwright.parts.guides import lines_across
from foamwright.parts.levels import SIGN, Level, PlaneLevel, PrismLevel
from foamwright.parts.panel_edges import edge_of, runs_of
from foamwright.parts.panel_walls import Wall, wall_corners, with_legs
from foamwright.parts.past_ends import past_ends
from foamwright.parts.records import Chart, DartRequest, DartRules, PanelBody, PanelEdge
from foamwright.parts.rough_map import rough_map
from foamwright.parts.sheets import ON, own_sheet
from foamwright.parts.slit import FIRST_BIT, SECOND_BIT, HalfPlane, slit

_ENOUGH_FACES = 500
_FINER = (1, 2, 4, 6)  # by which sides of the form's triangles are divided in turn, until enough of them are left
_OF_NARROWEST = 0.4  # of a narrow opening: how long the sides of triangles beside it may be
_STRAY = 0.01  # of all places: so many may be nearest to what is no piece of the form
_LYING = 0.01  # of a panel's area: less of it in the plane of a cut is where the form only touches that
_PARALLEL = np.cos(np.radians(1.0))
_HOLE = -np.pi  # the turn of a loop that is the edge of a hole rather than the end of a tube


def panel_body(
    spec: PartSpec,
    stock: Stock,
    surface: Surface,
    levels: Mapping[str, Level],
    square_cuts: frozenset[str],
    inner_offset: float,
    opened: HalfPlane | None = None,
) -> PanelBody:
    """Builds the panel of `spec`.

    `levels` holds the cuts of its form, `square_cuts` those that are seams; along `opened` it is parted from
    itself. Cloth, and what leans too little for a blade to follow, is cut square where its middle meets the cut; not so
    the edges that are flush. Raises BuildError if nothing is
    left of the form between the cuts, if it falls apart, or if it closes on itself.
    """
    where = spec.values["where"]
    neutral = inner_offset + stock.k * stock.thickness
    farthest = max(abs(inner_offset), abs(inner_offset + stock.thickness))
    for cut in where:
        if cut not in square_cuts and isinstance(level := levels[cut], PlaneLevel):
            surface = past_ends(surface, level, farthest)
    flush = set(spec.values["flush"]) - square_cuts  # in the plane itself, whatever the form does there
    try:
        sheet = own_sheet(surface, {cut: (levels[cut], SIGN[where[cut]]) for cut in where}, farthest)
    except BuildError as error:
        raise BuildError(f"{spec.where}: panel {spec.id}: {error}") from None
    surface = sheet.surface
    bounds = {cut: end for cut in where if (end := sheet.ending.get(cut, levels[cut])) is not None}
    mitres = {cut: mitre for cut, mitre in sheet.mitres.items() if cut not in flush}
    if isinstance(surface, Revolution):
        surface = surface.tipped(neutral)
    walls = [
        Wall(
            cut,
            cut in square_cuts and cut not in mitres,
            surface,
            _on_creases(level, surface),
            mitre=mitres.get(cut),
            upright_at=neutral if stock.is_cloth and (cut not in square_cuts or cut in mitres) else None,
        )
        for cut, level in bounds.items()
    ]
    keep = [-1 if w.mitre else SIGN[where[w.cut]] for w in walls]
    region, corners = _cut_out(spec, surface, walls, keep, neutral, opened, sheet.places)
    bits = dict(enumerate(walls))
    bits[regions.START_BIT] = Wall("start", True, surface, None, 0.0)
    bits[regions.END_BIT] = Wall("end", True, surface, None, 1.0)
    if opened is not None:
        bits[FIRST_BIT] = bits[SECOND_BIT] = Wall("opened", True, surface, opened.plane)
    space = surface.offset(region.coords, neutral)
    flat = rough_map(space, region.faces)
    loops = sorted(
        regions.boundary_loops(region.faces), key=lambda loop: -_perimeter(flat[loop])
    )  # the outer loop is the longest
    offsets = inner_offset, neutral, inner_offset + stock.thickness

    def traced(bits: Mapping[int, Wall]) -> list[PanelEdge]:
        return [
            edge_of(region, run, number, flat, offsets)
            for number, loop in enumerate(loops)
            for run in runs_of(region, bits, loop, neutral, corners)
        ]

    made = traced(bits)
    if upright := _hardly_leaning(made, stock.thickness) - flush:
        made = traced({bit: replace(w, upright_at=neutral) if w.cut in upright else w for bit, w in bits.items()})
    edges = numbered(made)
    bounding = {edge.cut for edge in edges}
    for cut in spec.values["flush"]:
        if cut in where and cut not in bounding:
            raise BuildError(
                f"{spec.where}: panel {spec.id}: no edge of it lies in {cut}, so none is flush with it; move the plane"
                " into the form, or leave it out"
            )
    stated, automatic = _darts(spec.values["darts"])
    return PanelBody(
        form=spec.values["form"],
        surface=surface,
        chart=Chart(flat, region.coords, region.faces),
        edges=tuple(edges),
        inner_offset=inner_offset,
        darts=stated,
        automatic=automatic,
        forward=direction("x"),
        up=direction("z"),
        guides=tuple(
            line
            for cut in (automatic.along if automatic else ())
            for line in lines_across(flat, region.faces, levels[cut](surface.point(region.coords)))
        ),
    )


def _hardly_leaning(edges: Sequence[PanelEdge], thickness: float) -> set[str]:
    """The trims that lean somewhere, and nowhere by what a blade can follow."""
    lean = least_bevel(thickness)
    trims = {edge.cut for edge in edges if edge.kind == "trim" and edge.slope.any()}
    return trims - {edge.cut for edge in edges if np.abs(edge.slope).max() >= lean}


def _on_creases(level: Level, surface: Surface) -> Level | BesideLineOverCreases:
    """The level as it is met on a surface, which for the edges of a cover depends on the creases between them."""
    return BesideLineOverCreases(level, surface) if isinstance(level, BesideLine) and surface.creases() else level


def _darts(given) -> tuple[tuple[DartRequest, ...], DartRules | None]:
    if given == "auto":
        return (), DartRules()
    if isinstance(given, Mapping):
        rules = DartRules(
            tuple(given["edges"]),
            tuple(given["avoid"]),
            int(given.get("count", 0)),
            tuple(given["at"]),
            tuple(given["along"]),
        )
        return (), rules
    return tuple(DartRequest(d["edge"], d["at"], d["depth"]) for d in given), None


def _cut_out(spec, surface, walls, keep, neutral, opened, places_of_form) -> tuple[regions.Region, np.ndarray]:
    """The panel's region at its neutral surface, and the corners (C, 3) of the single cuts there."""
    coarse = regions.whole_form(surface)
    for finer in _FINER:
        region = coarse
        if finer > 1:
            region = without(regions.whole_form(surface, finer), coarse, far_off(coarse, walls, keep, neutral))
        for wall in walls:
            if isinstance(wall.level, PrismLevel) and wall.mitre is None:
                region = regions.finer_along(region, wall.at(neutral), _OF_NARROWEST * wall.level.narrowest)
        corners = [corner for wall in walls for corner in wall_corners(region, wall, neutral)]
        places = [corner.coords for corner in corners]
        region = regions.with_vertices(region, places)
        for corner in corners:
            region = with_legs(region, corner, neutral)
        for bit, (wall, sign) in enumerate(zip(walls, keep)):
            region = regions.clip(region, wall.at(neutral), bit, sign)
            if not len(region.faces):
                break
        if len(region.faces) >= _ENOUGH_FACES:
            break
    who = f"{spec.where}: panel {spec.id}"
    if not len(region.faces):
        raise BuildError(f"{who}: nothing of the form lies on the stated sides of its cuts")
    for wall in walls:
        if isinstance(wall.level, PlaneLevel) and (area := _lying_in(region, wall, wall.level)):
            raise BuildError(
                f"{who}: the form lies in the plane of its cut {wall.cut}, over {area:.0f} mm2, so that the cut does not tell "
                f"where the panel ends; move the cut by {2 * ON:g} mm or more"
            )
    pieces = _of_the_form(regions.components(region), places_of_form)
    crumbs = [p for p in pieces[1:] if len(p.faces) > 0.01 * len(pieces[0].faces)]
    if crumbs:
        raise BuildError(f"{who}: it falls into {len(crumbs) + 1} pieces; add a cut that keeps one of them")
    region = pieces[0]
    if opened is not None:
        _refuse_beside_axis(who, region, opened, neutral)
        region = slit(region, surface, opened, neutral)
    region = regions.unwrap(region)
    loops = regions.boundary_loops(region.faces)
    if not loops:
        raise BuildError(f"{who}: the form is closed and uncut; add cuts that open it")
    euler = len(region.coords) - len(regions._edges(region.faces)[0]) + len(region.faces)
    if euler != 2 - len(loops):
        raise BuildError(f"{who}: it is not a sheet with holes (Euler number {euler}, {len(loops)} edges)")
    space = surface.offset(region.coords, neutral)
    holes = sorted(loops, key=lambda loop: -_perimeter(space[loop]))[1:]
    if any(regions.turning(space, region.faces, loop) > _HOLE for loop in holes):
        raise BuildError(
            f"{who}: it closes on itself like a tube; add `opened`, or a plane through the axis that cuts it open"
        )
    return region, surface.offset(np.array(places), neutral) if places else np.zeros((0, 3))


def _refuse_beside_axis(who: str, region: regions.Region, opened: HalfPlane, neutral: float) -> None:
    """Raises BuildError for a panel with an end that the axis about which it is opened does not go through, as a loft's may
    whose sections lie beside it: no line from the axis parts it there, at whatever angle."""
    space = region.surface.offset(region.coords, neutral)
    for loop in regions.boundary_loops(region.faces):
        if regions.turning(space, region.faces, loop) > _HOLE and not opened.encircled_by(space[loop]):
            x, y, z = (round(at) for at in space[loop].mean(axis=0).tolist())
            raise BuildError(
                f"{who}: its end around ({x}, {y}, {z}) lies beside the axis of its form, and `opened` parts only what goes "
                "around that; move the form onto its axis, or leave `opened` out and divide it with a plane"
            )


def _lying_in(region: regions.Region, wall: Wall, plane: PlaneLevel) -> float:
    """How many mm2 of a region lie in the plane of a wall; 0 where it only comes near to that along its edge. Where the plane
    runs along a sharp edge that tells where the panel ends, however little the form rises from it beside that."""
    points = region.surface.point(region.coords)
    mesh = Mesh(points, region.faces)
    lying = (np.abs(plane(points)) < ON)[region.faces].all(axis=1)
    if wall.mitre is not None:
        lying &= np.abs(mesh.face_normals @ plane.normal) > _PARALLEL
    area = float(mesh.areas[lying].sum())
    return area if area > _LYING * mesh.areas.sum() else 0.0


def _of_the_form(pieces: list[regions.Region], places: np.ndarray) -> list[regions.Region]:
    """The pieces that some of the `places` (P, 3) of the form are in. A sheet that bends is carried on past its creases round to
    the panel's own side of a cut, and what the cut leaves there is nothing of the form."""
    if len(pieces) < 2 or not len(places):
        return pieces
    points = [piece.surface.point(piece.coords) for piece in pieces]
    number = np.repeat(np.arange(len(pieces)), [len(own) for own in points])
    _, nearest = cKDTree(np.vstack(points)).query(places)
    votes = np.bincount(number[nearest], minlength=len(pieces))
    return [piece for piece, count in zip(pieces, votes) if count > _STRAY * len(places)] or pieces


def _perimeter(points: np.ndarray) -> float:
    return float(np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1).sum())
