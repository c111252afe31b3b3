"""A second look at the steps of a design, which shares nothing with the search that found them: the graph of what waits
for what by networkx, and solids moved along their ways in small steps and intersected by manifold3d. Lengths in mm."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import networkx as nx
import numpy as np
from manifold3d import Manifold, Mesh64

from foamwright.assembly.bodies import Bodies
from foamwright.assembly.records import Step
from foamwright.assembly.ways_in import Way, Ways, finer, roll
from foamwright.contacts.joins import glued
from foamwright.contacts.records import Contacts
from foamwright.parts.records import Prop


def solid(points, triangles):
    made = Manifold(Mesh64(np.asarray(points, float), np.asarray(triangles, np.uint64)))
    assert made.status().name == "NoError"
    return made


def depth(found: Bodies, copies, way, standing, samples=60, solids=None):
    """How deep (mm, twice volume over surface) the moving copies cut into standing ones at places along the way, and into
    which of them most."""
    points, triangles = found.mesh(copies)
    if isinstance(way, Way):
        if way.bend:
            own = found.mesh(copies[:1])[0]
            fine, triangles = finer(points, triangles, 8.0)
            points = roll(fine, own, way.bend)
        way = [(leg.towards, leg.travel) for leg in way.legs]
    solids = {} if solids is None else solids
    others = [i for i in standing if i not in copies]
    boxes = np.array([(m.min(axis=0), m.max(axis=0)) for m in (found.mesh((i,))[0] for i in others)]).reshape(-1, 2, 3)
    size = float(np.ptp(found.points, axis=0).max())
    low, high = points.min(axis=0), points.max(axis=0)
    mover = solid(points, triangles)
    worst, into, here = 0.0, None, np.zeros(3)
    for towards, travel in way:
        far = min(travel, 2.5 * size)
        # close together at first, where parts lie side by side, then wider apart
        for share in np.linspace(0.0, 1.0, samples)[1:] ** 1.5:
            shift = here + share * far * np.array(towards)
            near = ((boxes[:, 0] < high + shift) & (boxes[:, 1] > low + shift)).all(axis=1)
            for i in np.array(others, int)[near].tolist():
                if i not in solids:
                    solids[i] = solid(*found.mesh((i,)))
                for shared in (mover.translate(shift) ^ solids[i]).decompose():
                    deep = 2.0 * shared.volume() / max(shared.surface_area(), 1e-9)
                    if deep > worst:
                        worst, into = deep, i
        here = here + far * np.array(towards)
    return worst, into


@dataclass(frozen=True)
class Entry:
    """How one group of copies went in: `sort` is "straight", "cornered", "bent" or "laid"; `depth` as in `depth`."""

    step: int
    copies: tuple[int, ...]
    sort: str
    depth: float
    into: int | None


def entries(found: Bodies, steps: tuple[Step, ...], ways: Ways, samples=100) -> list[Entry]:
    """Every group of copies moved along its way, past what stands and is built together with it."""
    together = built_together(found)
    standing: list[int] = []
    made, solids = [], {}
    for step in steps:
        if step.bench:
            continue  # beside the prop, on an open table
        for move in step.moves:
            own = [i for i in standing if together[i] == together[move.copies[0]]]
            way, sort = list(move.outwards), "straight" if len(move.outwards) == 1 else "cornered"
            if move.rolled:
                way, sort = ways.free(move.copies, sum(1 << i for i in own)), "bent"
            sort = "laid" if move.laid else sort
            deep, into = (0.0, None) if move.laid else depth(found, move.copies, way, own, samples, solids)
            made.append(Entry(step.number, move.copies, sort, deep, into))
            standing += move.copies
    return made


def built_together(found: Bodies) -> dict[int, int]:
    """For each copy the number of the thing that it is built into: what touches, and what must go in after it."""
    graph = nx.Graph()
    graph.add_nodes_from(range(len(found)))
    for a, b in found.touches:
        one, two = found.pieces[a], found.pieces[b]
        if two.id not in one.rests_on and one.id not in two.rests_on:
            graph.add_edge(a, b)
    for copy, piece in enumerate(found.pieces):
        if piece.glue != "none":
            graph.add_edges_from((copy, i) for part in (*piece.after, *piece.lies_on) for i in found.of(part))
        graph.add_edges_from((copy, i) for i in found.of(piece.id))
    return {copy: number for number, group in enumerate(nx.connected_components(graph)) for copy in group}


def graph_of(steps: tuple[Step, ...]) -> nx.DiGraph:
    graph = nx.DiGraph()
    graph.add_nodes_from(step.number for step in steps)
    graph.add_edges_from((earlier, step.number) for step in steps for earlier in step.waits_for)
    return graph


def faults_of_order(prop: Prop, contacts: Contacts, found: Bodies, steps: tuple[Step, ...]) -> list[str]:
    """What is wrong with the order by its graph: circles, copies left out or put in twice, glue that meets what does not
    stand yet, and copies that nothing holds although what they are glued to stands later."""
    graph = graph_of(steps)
    if not nx.is_directed_acyclic_graph(graph):
        return ["the steps wait for each other"]
    faults = []
    placed = {}
    sequence = []
    for step in steps:
        for move in () if step.bench else step.moves:
            for copy in move.copies:
                if copy in placed:
                    faults.append(f"copy {copy} goes in twice")
                placed[copy] = step.number
                sequence.append(copy)
    faults += [f"{found.pieces[i].id} is never put in" for i in range(len(found)) if i not in placed]
    before = {n: nx.ancestors(graph, n) | {n} for n in graph}
    number: dict[tuple[str, int], int] = {}
    count: dict[str, int] = {}
    for i, piece in enumerate(found.pieces):
        count[piece.id] = count.get(piece.id, 0) + 1
        number[piece.id, count[piece.id]] = i
    for contact in contacts.found:
        a, b = (number[end.part, end.copy] for end in (contact.a, contact.b))
        if not glued(prop, contact) or a not in placed or b not in placed or contact.area < 12.0:
            continue
        first, last = sorted((placed[a], placed[b]))
        if first not in before[last]:
            faults.append(f"{contact.a.part} and {contact.b.part} are glued, yet step {last} does not wait for {first}")
    return faults


def heated_after_glue(steps: Sequence[Step]) -> list[int]:
    """The steps that use heat although glue or paint is on some part by then: too much heat weakens a glued joint and spoils
    paint (common practice, no source). What only says that no heat is used is none."""
    found, glued = [], False
    for step in steps:
        words = re.sub("without heat|no heat|[Hh]eat no|heat weakens", "", " ".join(step.instructions))
        if glued and ("heat" in step.uses or re.search(r"\b([Ww]arm(ed)?|heat)\b", words)):
            found.append(step.number)
        glued |= bool(step.glue) or "primer" in step.uses
    return found
