"""What the record tells the maker of a design beside what was computed: what stands off, comes loose or tips, and so on."""

from __future__ import annotations

from foamwright.contacts.checks import apart_told, loosened_told
from foamwright.contacts.gaps import gaps_told
from foamwright.contacts.glued_down import by_the_way_told
from foamwright.contacts.joins import clearance_of, glued_groups
from foamwright.contacts.near_ends import Standing, near_ends_told
from foamwright.contacts.near_misses import near_misses_told
from foamwright.contacts.records import Contacts
from foamwright.contacts.tipping import tipping_told
from foamwright.contacts.weak_joints import weak_joints_told
from foamwright.contacts.wedges import wedges_told
from foamwright.design.silent import silent_told
from foamwright.model import way_out
from foamwright.model.figure import Figure
from foamwright.model.placed import placed_copies
from foamwright.model.records import Model
from foamwright.model.stability import centroid
from foamwright.parts.records import Prop


def notes(prop: Prop, model: Model, contacts: Contacts, figure: Figure | None) -> tuple[str, ...]:
    """One sentence for each."""
    groups = glued_groups(prop, contacts)
    middles = {(c.part, c.number): (c.mass, centroid(c.mesh.points, c.mesh.triangles)[1]) for c in placed_copies(model)}
    tipping = tipping_told(prop, contacts, groups, middles)
    corners = {(c.part, c.number): c.mesh.points for c in placed_copies(model)}
    weak = weak_joints_told(prop, contacts, groups, middles, corners)
    shut_in = way_out.told(groups, placed_copies(model), figure) if figure is not None else []
    loosened, apart = loosened_told(prop, contacts, groups), apart_told(prop, contacts)
    standing = [
        Standing(c.piece, c.piece.placements[c.number - 1].matrix, there.mesh)
        for c, there in zip(model.copies, placed_copies(model))
    ]
    near = [*near_ends_told(standing, clearance_of(prop.design)), *near_misses_told(prop, standing)]
    told = [
        *wedges_told(prop, contacts),
        *near,
        *loosened,
        *by_the_way_told(prop, contacts),
        *gaps_told(prop, contacts),
        *apart,
        *tipping,
        *weak,
        *shut_in,
    ]
    return (*silent_told(prop.design), *prop.notes, *model.notes, *told)
