"""Every part's template: the cut line, what is marked on the foam, and everything the maker must know."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely

from foamwright.contacts.copies import has_numbers
from foamwright.contacts.joins import met
from foamwright.contacts.records import Contacts
from foamwright.drawing.primitives import Drawing, Hatch, Path, Primitive
from foamwright.drawing.shapes import bounds, ink, room
from foamwright.flatten.records import Pattern, Patterns
from foamwright.flatten.segments import pieces_of_foam
from foamwright.language import language, units
from foamwright.parts.outlines import circle
from foamwright.parts.records import BandBody, FlatBody
from foamwright.store import Store
from foamwright.templates import edges, heading, wording
from foamwright.templates.bends import bend_marks
from foamwright.templates.bevels import bevel_words, bevelled, draw_cross_sections, flares, other_face_lines
from foamwright.templates.fittings import engraved_words, fitting_lines, hole_labels, slot_labels
from foamwright.templates.folds import fold_labels, fold_lines
from foamwright.templates.heights import Height, dimension, heights
from foamwright.templates.joints import joint_labels, joint_lines
from foamwright.templates.labels import dart_label, mark_labels, trim_label
from foamwright.templates.laid import NONE, Laid, Meet, laid
from foamwright.templates.marks import Mark, marks, marks_within
from foamwright.templates.place import Field, Ground
from foamwright.templates.placement_lines import PlacementLines, placement_lines
from foamwright.templates.records import LAID, Template
from foamwright.templates.touching import Partly, butted, copies_sewn, partly

CROSS = 5.0  # half length of a centre cross
_SMALLER = 6.0  # height of a letter that leaves room for more words
_HAIR = 0.01  # by which a line on the very outline may stand out from it
RELIEF = 2.0  # of the hole punched at the tip of a dart, so that it does not tear; common practice, no source


def draw(patterns: Patterns, contacts: Contacts | None = None) -> tuple[Template, ...]:
    """One template for each piece of foam that is cut from sheet, a part or a segment of one, in their order.

    Each is in the coordinates of its part's pattern, in mm. `contacts` tell what is glued on each copy.
    """
    return Lettering(patterns, contacts).drawn()


class Lettering:
    """Sets the words of templates, as drawn and for pages on which they lie turned; keeps what is the same in any turn.

    What lies turned is kept in the store: few turns are those of one paper alone.
    """

    def __init__(self, patterns: Patterns, contacts: Contacts | None = None, store: Store | None = None):
        self._patterns = patterns
        self._contacts = None if contacts is None else met(patterns.prop, contacts)
        self._store = store or Store(None)
        self._lined: dict[str, _Lined] = {}
        self._set: dict[tuple[str, float], Template] = {}
        self._marks: dict[str, tuple[Mark, ...]] = {}
        self._laid: dict[str, Laid] = {}

    def __reduce__(self) -> tuple[type[Lettering], tuple[Patterns, Contacts | None, Store]]:
        return Lettering, (
            self._patterns,
            self._contacts,
            self._store,
        )  # in another process what is kept is worked out anew

    def drawn(self) -> tuple[Template, ...]:
        """One template for each piece of foam that is cut from sheet, as `draw` has them."""
        drawn = (p for p in self._patterns.patterns if not p.piece.listed_only)
        pieces = (own for whole in drawn for own in pieces_of_foam(whole))
        return tuple(_worded(self._patterns, self._lines(own), 0.0) for own in pieces)

    def __call__(self, template: Template, turn: float, joins: tuple[shapely.Geometry, ...] = ()) -> Template:
        """`template`, one of those drawn of the patterns, with words that read once it is turned.

        `turn` is in degrees, counter-clockwise. On the page words are level where they can be, and never
        upside down. The drawing is still in the coordinates of the pattern. One without words is left as it is.
        No word stands on the `joins`, lines in those coordinates along which it is parted on paper.
        """
        label = template.pattern.piece.label
        if not (turn or joins) or not template.drawing.labels:
            return template
        if joins:
            return self._found(template, turn, joins)
        if (label, turn) not in self._set:
            self._set[label, turn] = self._found(template, turn, joins)
        return self._set[label, turn]

    def _found(self, template: Template, turn: float, joins: tuple[shapely.Geometry, ...]) -> Template:
        def set_anew() -> tuple[Drawing, tuple[float, float, float, float]]:
            worded = _worded(self._patterns, self._lines(template.pattern), turn, joins)
            return worded.drawing, worded.bounds

        told = (template.pattern.piece.label, turn, joins, language(), units())
        drawing, covered = self._of_these.kept("words", told, set_anew)
        return replace(template, drawing=drawing, bounds=covered)

    @cached_property
    def _of_these(self) -> Store:
        return self._store.under((self._patterns, self._contacts))

    def placement_lines(self) -> PlacementLines:
        """How the lines look that are drawn on each part for others."""
        drawn = [p for p in self._patterns.patterns if not p.piece.listed_only]
        with_v = {mark for pattern in drawn for _, mark, _ in self._laid_of(pattern).others}
        return placement_lines(((pattern, self._marks_on(pattern)) for pattern in drawn), with_v)

    def _lines(self, pattern: Pattern) -> _Lined:
        label = pattern.piece.label
        if label not in self._lined:
            whole = self._patterns.pattern(pattern.piece.id)
            drawn = self._marks_on(whole)
            own = self._laid_of(whole).own
            met = {mark.upper.id: self._laid_of(self._patterns.pattern(mark.upper.id)).others for mark in drawn}
            lain = [
                (meet, LAID[mark.on_inside])
                for others in met.values()
                for name, mark, meet in others
                if name == pattern.piece.id
            ]
            lines = [*((meet, "tick") for meet in own), *lain]
            self._lined[label] = _lined(self._patterns, whole, pattern, self._contacts, drawn, lines)
        return self._lined[label]

    def _marks_on(self, pattern: Pattern) -> tuple[Mark, ...]:
        part = pattern.piece.id
        if part not in self._marks:
            self._marks[part] = marks(self._patterns, pattern, self._contacts)
        return self._marks[part]

    def _laid_of(self, pattern: Pattern) -> Laid:
        part = pattern.piece.id
        if part not in self._laid:
            contacts = self._contacts
            self._laid[part] = NONE if contacts is None else laid(self._patterns, pattern, contacts, self._marks_on)
        return self._laid[part]


def outlines_only(pattern: Pattern) -> tuple[Template, ...]:
    """The templates of a part that is listed and not drawn: cut lines alone, for the sheet it is cut from."""
    drawn = []
    for own in pieces_of_foam(pattern):
        low, high = own.outline.min(axis=0), own.outline.max(axis=0)
        cut = Path(own.outline, "cut", closed=True)
        drawn.append(Template(own, Drawing((cut,)), (*low.tolist(), *high.tolist()), own.outline))
    return tuple(drawn)


@dataclass(frozen=True, eq=False)
class _Lined:
    """The lines of a template, and what its words are about."""

    whole: Pattern  # that of the part
    pattern: Pattern  # the same, or that of a segment, which has what of the whole lies on it
    laps: tuple[Mark, ...]
    walks: tuple[edges.Walk, ...]  # along each edge of the pattern
    tick: float
    zones: list[tuple[float, np.ndarray, np.ndarray]]
    sewn: Mapping[str, wording.Copies]  # by edge, which copies meet what at its seams
    heights: tuple[Height, ...]
    partly: Mapping[str, tuple[Partly, ...]]  # by edge, what it touches along a part of it only
    told: wording.Told
    lines: tuple[Primitive, ...]

    @cached_property
    def ground(self) -> Ground:
        """The room for words, which is the same in any turn."""
        return self.ground_with(())

    def ground_with(self, joins: tuple[shapely.Geometry, ...]) -> Ground:
        """The room that the `joins` of pages leave."""
        foam = shapely.Polygon(self.pattern.outline, self.pattern.holes)
        return Ground(foam, [*map(room, self.lines), *joins])


def _lined(
    patterns: Patterns,
    whole: Pattern,
    pattern: Pattern,
    contacts: Contacts | None,
    drawn: Sequence[Mark],
    notches: Sequence[tuple[Meet, str]],
) -> _Lined:
    """With what is `drawn` of others on the whole part, and the Vs, each with its layer, that tell how it lies on others and
    they on it."""
    material = shapely.Polygon(pattern.outline, pattern.holes)
    laps = marks_within(drawn, pattern)
    walks = tuple(edges.walk(edge, material) for edge in pattern.edges)
    radius = shapely.maximum_inscribed_circle(material, 0.5).length
    tick = float(np.clip(0.6 * radius, 1.0, edges.TICK))

    lines: list[Primitive] = [*other_face_lines(pattern)]
    lines += [Path(line, mark.layer) for mark in laps for line in mark.lines]
    lines.append(Path(pattern.outline, "cut", closed=True))  # over what runs along it, or the knife would follow dashes
    lines += [Path(hole, "cut-inner", closed=True) for hole in pattern.holes]
    lines += [Path(circle(RELIEF / 2, dart.leg_a[-1]), "cut-inner", closed=True) for dart in pattern.darts]
    lines += _within([*fitting_lines(whole), *_centre_cross(whole, radius)], pattern)
    lines += joint_lines(pattern)
    for edge, path in zip(pattern.edges, walks):
        lines += edges.strokes(edge, path, tick)
    lines += edges.seam_ends(pattern, walks, tick)
    sewn = {} if contacts is None else copies_sewn(pattern, contacts)
    met = {} if contacts is None else partly(patterns.prop, pattern, contacts)
    ends = {} if contacts is None else butted(patterns.prop, pattern, contacts)
    for edge, path in zip(pattern.edges, walks):
        lines += edges.brackets(met.get(edge.id, ()), path, tick)
        lines += edges.centre_marks(ends.get(edge.id, ()), path, tick)
    on_foam = shapely.buffer(material, _HAIR)
    for meet, layer in notches:
        if on_foam.covers(shapely.Point(meet.at)):
            lines.append(edges.notch(meet.at, meet.along, meet.tip, tick, layer))
    lines += fold_lines(pattern)
    lines += _within(bend_marks(whole), pattern)
    told = wording.Told(whole.piece, contacts is not None and has_numbers(patterns.prop, whole.piece, contacts))
    zones = _trim_zones(whole, material)
    for _, zone, line in zones:
        lines += [Hatch(zone, 2.5, 45.0, "trim"), Path(line, "trim")]
    return _Lined(
        whole, pattern, laps, walks, tick, zones, sewn, heights(pattern, laps, walks, material), met, told, tuple(lines)
    )


def _worded(patterns: Patterns, lined: _Lined, turn: float, joins: tuple[shapely.Geometry, ...] = ()) -> Template:
    """With words for a page on which the template lies turned by `turn` degrees, none of them on the `joins`; its letter smaller
    where more of what stands beside the part finds room on it then: what lies outside is cut away with the paper."""
    template, left = _with_words(patterns, lined, turn, joins, heading.LARGE[0][0])
    if left and _letter(template) > _SMALLER:
        smaller, fewer = _with_words(patterns, lined, turn, joins, _SMALLER)
        template = smaller if fewer < left else template
    return template


def _letter(template: Template) -> float:
    """How high the letter of the part is."""
    texts = (text for label in template.drawing.labels for text in label.texts)
    return max((text.height for text in texts if text.role == "label"), default=0.0)


def _with_words(
    patterns: Patterns, lined: _Lined, turn: float, joins: tuple[shapely.Geometry, ...], largest: float
) -> tuple[Template, int]:
    """The template with its letter no higher than `largest`, and how many notes and sections stand beside the part."""
    pattern, walks = lined.pattern, lined.walks
    field = Field(lined.ground_with(joins) if joins else lined.ground, turn)
    field.draw(*(shapely.Polygon(zone) for _, zone, _ in lined.zones), *engraved_words(pattern))
    items = list(lined.lines)
    for edge, path in zip(pattern.edges, walks):
        items += edges.tick_numbers(edge, path, lined.tick, field)
    items += slot_labels(patterns, lined.whole, field)
    items += joint_labels(pattern, field)
    items += fold_labels(pattern, field)
    named, notes = heading.heading(patterns, pattern, lined.laps, field, largest)
    items += named
    items += mark_labels(lined.laps, field, lined.told)
    items += heading.directions(pattern, lined.laps, field)
    for height in lined.heights:
        items += dimension(height, field)
    foam = pattern.piece.thickness
    mixed = isinstance(pattern.piece.body, FlatBody) and bevelled(pattern)
    for edge, path in zip(pattern.edges, walks):
        items += edges.bevel_values(flares(pattern, edge), foam, path, field)
        if mixed and edge.seam is None and bevel_words(flares(pattern, edge), foam) is None:
            items += edges.square_value(path, field)
    texts = [
        wording.edge_text(
            patterns,
            pattern,
            edge,
            {one.other for one in lined.partly.get(edge.id, ())},
            lined.sewn.get(edge.id, {}),
        )
        for edge in pattern.edges
    ]
    for text, edge, path in zip(edges.once(texts, walks), pattern.edges, walks):
        met = lined.partly.get(edge.id, ())
        if text is not None:
            items += edges.edge_label(text, path, field)
        for one in met:
            items += edges.partly_label(wording.partly_text(patterns, one, lined.told), one, path, field)
    if isinstance(pattern.piece.body, FlatBody):
        items += hole_labels(pattern, field)
    for dart in pattern.darts:
        items += dart_label(dart, field)
    for length, _, line in lined.zones:
        items += trim_label(length, line, field)
    if notes is not None:  # they name the part: an arrow to its rim would read as being about the edge there
        items += field.aside(notes, field.level)
    sections, beside = draw_cross_sections(pattern, shapely.union_all([mark.region for mark in lined.laps]), field)
    items += sections
    template = Template(pattern, Drawing(tuple(items)), bounds(tuple(items)), pattern.outline, lined.laps)
    return template, beside + (notes is not None)


def _within(paths: Iterable[Path], pattern: Pattern) -> list[Path]:
    """What of the paths lies within the outline: on a segment, less than on the whole."""
    foam = shapely.Polygon(pattern.outline).buffer(_HAIR)
    shapely.prepare(foam)
    kept = []
    for path in paths:
        line = ink(path)
        if foam.covers(line):
            kept.append(path)
        else:
            parts = shapely.get_parts(shapely.line_merge(line & foam))
            kept += [Path(shapely.get_coordinates(part), path.layer) for part in parts if part.length > 0]
    return kept


def _centre_cross(pattern: Pattern, radius: float) -> tuple[Path, ...]:
    """The centre of a round part."""
    circle = pattern.fittings.round
    if circle is None:
        return ()
    half = min(CROSS, 0.5 * circle.radius)
    x, y = circle.centre
    across = np.array([[x - half, y], [x + half, y]])
    up = np.array([[x, y - half], [x, y + half]])
    return (Path(across, "fold"), Path(up, "fold"))


def _trim_zones(whole: Pattern, material: shapely.Polygon) -> list[tuple[float, np.ndarray, np.ndarray]]:
    """Each end left long on purpose: its length, its area (N, 2) and the line (2, 2) to cut it off along.

    Only the ends that are on `material`, the part or a segment of it.
    """
    body = whole.piece.body
    if not isinstance(body, BandBody):
        return []
    (x0, y0), (x1, y1) = whole.outline.min(axis=0), whole.outline.max(axis=0)
    zones = []
    for length, end, line in (
        (body.trim_start, x1, x1 - body.trim_start),  # the start is at the right: seen from the inside
        (body.trim_end, x0, x0 + body.trim_end),
    ):
        zone = material & shapely.box(min(end, line), y0, max(end, line), y1)
        cut = material & shapely.LineString([(line, y0 - 1), (line, y1 + 1)])
        if length <= 0 or cut.is_empty:
            continue
        zones.append((length, shapely.get_coordinates(zone)[:-1], shapely.get_coordinates(cut)))
    return zones
