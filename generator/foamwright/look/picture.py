"""The first look as one sheet: the prop from before and from behind, what shares space in red, names and sizes."""

from __future__ import annotations

import struct
import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from foamwright.drawing.metrics import text_width
from foamwright.drawing.primitives import Drawing, Path, Primitive, Shading, Text
from foamwright.drawing.typesetting import wrap
from foamwright.look import labels
from foamwright.look.records import Copy, Look, corner_normals
from foamwright.look.report import report, sentences
from foamwright.look.scan import Scan, View, scan, view_from
from foamwright.model.colours import rgb
from foamwright.parts.placing import move
from foamwright.parts.records import FlatBody, PanelBody

if TYPE_CHECKING:
    from foamwright.beside import Beside

WIDTH = 297.0  # mm of the sheet
_MARGIN, _BETWEEN = 8.0, 5.0
_COLUMNS, _ROWS, _BORDER = 1200, 980, 70  # cells of one view, and how many are left free around the prop
_VIEWS = ((1.0, 0.75, 0.6), (-1.0, -0.75, 0.6))  # to the eye: before to port, behind to starboard
_STRAIGHT = (1.0, 0.0, 0.0)  # to the eye: from the front, which shows upright what is drawn there
_LIGHT = np.array([-0.35, 0.55, 0.76]) / np.linalg.norm([-0.35, 0.55, 0.76])  # in the view: right, up, to the eye
_DARKEST, _CREASE = 0.55, 0.88
_INK, _RED = np.array([30, 30, 35]), "#d0201a"
FIGURE = "#d9cfc2"  # pale: it is no part
_TYPE, _SMALL, _TITLE = 3.0, 2.4, 4.6
_NAMED = 40  # pairs and failures that are written out on the sheet
_TALL, _RAISED = 1.2, 0.15  # heights of a letter: of the ground it stands on, and how far that lies above its place
_ROUND = np.column_stack([f(np.linspace(0.0, 2.0 * np.pi, 12, endpoint=False)) for f in (np.cos, np.sin)])
_AROUND = 0.35  # of the height of a letter, left clear on each side of it
_DOT = 0.5  # mm, radius of the end of a line to a part
_CLEAR = 4.0  # mm that a line on a face may seem to lie below it and still be seen
_AXES = ("x", "y", "z")
_FORWARD = "x forward, y left, z up"


@dataclass(frozen=True, eq=False)
class _Scene:
    points: np.ndarray
    triangles: np.ndarray
    owner: np.ndarray  # (m,) the copy that each triangle is of; one more for the figure
    normals: np.ndarray  # (m, 3, 3) at the corners of each


def sheet(look: Look, beside: Beside | None = None) -> tuple[Drawing, float, float]:
    """The drawing, its width and its height in mm. One view is drawn here, the others in the process `beside` this one, if there
    is one."""
    wide = (WIDTH - 2 * _MARGIN - _BETWEEN) / 2.0
    tall = wide * _ROWS / _COLUMNS
    words = _words(look)
    height = 2 * _MARGIN + 2.2 * _TITLE + tall + 1.6 * _TYPE * (len(words) + 1)
    top = height - _MARGIN - _TITLE
    box = look.box
    size = ", ".join(f"{axis} {x:.0f}" for axis, x in zip(_AXES, box[1] - box[0]))
    design = look.design
    items: list[Primitive] = [
        Text((_MARGIN, top), f"{design.name} {design.version}, size {design.size}", _TITLE, bold=True),
        Text((WIDTH - _MARGIN, top), f"{size} mm ({_FORWARD})", _TYPE, anchor="end"),
    ]
    if look.copies:
        scene = _scene(look)
        points = np.vstack([scene.points, _ground(box)])

        bottom = top - 1.2 * _TITLE - tall
        first, *others = (
            (look, scene, view, (left, bottom), wide / _COLUMNS) for view, left in _views(points, wide / _COLUMNS)
        )
        coming = [None if beside is None else beside.start(_one_view, *given) for given in others]
        items += _one_view(*first)
        for given, drawn in zip(others, coming):
            items += (None if drawn is None or drawn.cancel() else drawn.result()) or _one_view(*given)
    y = top - 1.2 * _TITLE - tall - 2.0 * _TYPE
    for words_, layer in words:
        items.append(Text((_MARGIN, y), words_, _TYPE, layer=layer))
        y -= 1.6 * _TYPE
    return Drawing(tuple(items)), WIDTH, height


def _views(points: np.ndarray, cell: float) -> list[tuple[View, float]]:
    """The views of points (n, 3), each with its left side in mm on the sheet: two, and the one straight from the front where
    the prop is so narrow that there is room for it at the full height."""
    directions: tuple[tuple[float, float, float], ...] = (*_VIEWS, _STRAIGHT)
    needed = [_columns(direction, points) for direction in directions]
    room = WIDTH - 2 * _MARGIN - _BETWEEN * (len(directions) - 1)
    if cell * sum(needed) > room:
        directions, needed = _VIEWS, [_COLUMNS] * len(_VIEWS)
        room = WIDTH - 2 * _MARGIN - _BETWEEN * (len(directions) - 1)
    more = (room / cell - sum(needed)) / len(needed)
    views, left = [], _MARGIN
    for direction, columns in zip(directions, needed):
        view = view_from(direction, points, int(columns + more), _ROWS, _BORDER)
        views.append((view, left))
        left += cell * view.columns + _BETWEEN
    return views


def _columns(direction: tuple[float, float, float], points: np.ndarray) -> int:
    """How many columns a view of points (n, 3) fills if it is as high as there is room."""
    high = view_from(direction, points, 1 << 20, _ROWS, _BORDER)
    return int(np.ptp(high.cells(points)[:, 0])) + 2 * _BORDER + 1


def _words(look: Look) -> list[tuple[str, str]]:
    """What is written below the views, line by line, each with its layer."""
    _, *lines = sentences(report(look, ""))
    declared = [pair.declared for pair in look.overlaps]
    layers = ["note" if meant else "fault" for meant in declared]
    layers += ["fault"] * (len(look.loose) + len(look.untrue) + bool(look.figure and look.figure.reaches))
    layers += ["note"] * bool(look.things) + ["fault"] * len(look.failures) + ["note"] * len(look.remarks)
    told = list(zip(lines, layers))
    if len(told) > _NAMED:
        told = [*told[:_NAMED], (f"and {len(told) - _NAMED} more", "fault")]
    if not told:
        told = [("no parts share space, and each comes near to another", "note")]
    if look.overlaps or look.loose:
        told.append(("a number in brackets stands where other parts are before what it tells of", "note"))
    room = WIDTH - 2 * _MARGIN
    return [(line, layer) for words, layer in told for line in wrap(words, room, _TYPE)]


def _scene(look: Look) -> _Scene:
    """All copies, and last the figure."""
    shown = [(c.mesh, c.smooth) for c in look.copies]
    if look.figure is not None:
        shown.append((look.figure.mesh, np.full(len(look.figure.mesh.triangles), -1)))
    starts = np.cumsum([0, *(len(mesh.points) for mesh, _ in shown)])
    triangles = np.vstack([mesh.triangles + s for (mesh, _), s in zip(shown, starts)])
    owner = np.repeat(np.arange(len(shown)), [len(mesh.triangles) for mesh, _ in shown])
    normals = np.vstack([corner_normals(*each) for each in shown])
    return _Scene(np.vstack([mesh.points for mesh, _ in shown]), triangles, owner, normals)


def _one_view(look: Look, scene: _Scene, view: View, at: tuple[float, float], cell: float) -> list[Primitive]:
    seen = scan(scene.points, scene.triangles, view)
    colours = _shaded(look, scene, seen, view)
    taken: list[tuple[float, float, float, float]] = []

    def page(cells: np.ndarray) -> np.ndarray:
        return cells[:, :2] * cell + at

    lines: list[Primitive] = []
    names: list[Primitive] = []
    owner = np.where(seen.face >= 0, scene.owner[seen.face], -1)
    where = {id(copy): number for number, copy in enumerate(look.copies)}
    for number, pair in enumerate(look.overlaps, 1):
        shared = scan(pair.mesh.points, pair.mesh.triangles, view)
        if not pair.declared:
            _redden(colours, shared)
        within = _CLEAR + 2.0 * max(copy.piece.thickness for copy in (pair.a, pair.b))
        met = np.isin(owner, [where[id(copy)] for copy in (pair.a, pair.b)]) & (shared.face >= 0)
        met[met] = shared.depth[met] < seen.depth[met] + within
        middle = view.cells(np.array([pair.at]))[0]
        names += _numbered(number, met, middle, page, taken, "note" if pair.declared else "fault")
    for reach in look.figure.reaches if look.figure else ():
        _redden(colours, scan(reach.mesh.points, reach.mesh.triangles, view))
    for number, alone in enumerate(look.loose, len(look.overlaps) + 1):
        middle = view.cells(alone.near.mesh.points.mean(axis=0)[None])[0]
        names += _numbered(number, owner == where[id(alone.near)], middle, page, taken, "fault")
    drawn = np.zeros(owner.shape, bool)
    for number, copy in enumerate(look.copies):
        for run in _engraved(copy, view, owner == number if _is_engraved(copy) else None):
            lines.append(Path(page(run), "page"))
            column, row = np.rint(run[:, :2]).astype(int).T
            drawn[row, column] = True
    axes, room_of_axes = _axes(look.box, view, page)
    titles = [*(copy.piece.label for copy in look.copies), *([look.figure.name] if look.figure else [])]
    halves = [_half(title, cell) for title in titles]
    told = [*taken, *room_of_axes]
    standing = [tuple((np.array(box) - np.tile(at, 2)) / cell) for box in told]
    for label in labels.placed(owner, drawn, titles, halves, standing):
        x, y = page(np.array([label.at]))[0].tolist()
        if label.on is not None:
            end = page(np.array([label.on]))[0]
            lines += [Path(np.array([[x, y], end]), "ground"), Path(np.array([[x, y], end]), "page")]
            lines.append(Path(end + _DOT * _ROUND, "page", True, "#ffffff"))
        names += _written(titles[label.copy], (x, y - _RAISED * _TYPE), taken, "note", _TYPE, True)
    named: set[tuple[str, str]] = set()
    for copy in look.copies:
        if isinstance(copy.piece.body, PanelBody):
            for edge in copy.piece.body.edges:
                runs = _visible(move(edge.outer, copy.matrix), view, seen)
                lines += [Path(page(run), "cut-name") for run in runs]
                if runs and (copy.piece.body.form, edge.id) not in named:
                    longest = max(runs, key=len)
                    spots = [
                        page(longest[[int(share * (len(longest) - 1))]])[0] for share in (0.5, 0.3, 0.7, 0.15, 0.85)
                    ]
                    for x, y in spots:
                        words = _written(edge.id, (x + 0.8, y + 0.6), taken, "mark", _SMALL, False)
                        if words:
                            named.add((copy.piece.body.form, edge.id))
                            names += words
                            break
    picture = Shading(at, cell * view.columns, cell * view.rows, _png(_halved(colours[::-1])))
    return [picture, *axes, *lines, *names]


def _shaded(look: Look, scene: _Scene, seen: Scan, view: View) -> np.ndarray:
    """Colours (rows, columns, 3), rows upwards, with the edges of parts and their creases in ink."""
    hit = seen.face >= 0
    faces = seen.face[hit]
    rows, columns = np.nonzero(hit)
    cells = view.cells(scene.points)
    first, second, third = (cells[scene.triangles[:, k], :2] for k in range(3))
    a, b, p = (second - first)[faces], (third - first)[faces], np.column_stack([columns, rows]) - first[faces]
    area = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    s = (p[:, 0] * b[:, 1] - p[:, 1] * b[:, 0]) / area
    r = (a[:, 0] * p[:, 1] - a[:, 1] * p[:, 0]) / area
    corners = scene.normals[faces]
    normal = (1.0 - s - r)[:, None] * corners[:, 0] + s[:, None] * corners[:, 1] + r[:, None] * corners[:, 2]
    normal = normal @ view.frame.T
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-12)
    tone = _DARKEST + (1.0 - _DARKEST) * np.clip(normal @ _LIGHT, 0.0, 1.0)
    base = 255.0 * np.array([rgb(colour) for colour in (*(c.piece.stock.colour for c in look.copies), FIGURE)])
    colours = np.full((view.rows, view.columns, 3), 255, np.uint8)
    owners = scene.owner[faces]
    colours[hit] = np.clip(np.round(base[owners] * tone[:, None]), 0, 255)
    # the cells that are hit are looked at alone: the number of each among them, and the one to its right or above it
    number = np.full(hit.shape, -1)
    number[hit] = np.arange(len(faces))
    ink = np.zeros(hit.shape, bool)
    for one, two in (
        ((slice(None, -1), slice(None)), (slice(1, None), slice(None))),
        ((slice(None), slice(None, -1)), (slice(None), slice(1, None))),
    ):
        ink[one] |= hit[one] != hit[two]
        both = hit[one] & hit[two]
        i, j = number[one][both], number[two][both]
        ink[one][both] |= (owners[i] != owners[j]) | (np.einsum("nk,nk->n", normal[i], normal[j]) < _CREASE)
    colours[ink] = _INK
    return colours


def _redden(colours: np.ndarray, seen: Scan) -> None:
    """What shares space shows through whatever hides it."""
    hit = seen.face >= 0
    colours[hit] = np.round(0.15 * colours[hit] + 0.85 * 255.0 * np.array(rgb(_RED))).astype(np.uint8)


def _visible(points: np.ndarray, view: View, seen: Scan) -> list[np.ndarray]:
    """The stretches (N, 3), in cells, of a line in space that nothing hides."""
    cells = view.cells(points)
    column, row = np.round(cells[:, :2]).astype(int).T
    clear = np.zeros(len(cells), bool)
    for dx, dy in ((0, 0), (1, 0), (-1, 0), (0, 1), (0, -1)):  # an edge against the ground has nothing right behind it
        c, r = np.clip(column + dx, 0, view.columns - 1), np.clip(row + dy, 0, view.rows - 1)
        depth = seen.depth[r, c]
        clear |= np.isfinite(depth) & (cells[:, 2] < depth + _CLEAR)
    parts = np.split(np.arange(len(cells)), np.flatnonzero(np.diff(clear)) + 1)
    return [cells[part] for part in parts if clear[part[0]] and len(part) > 4]


def _numbered(number: int, met: np.ndarray, middle: np.ndarray, page, taken, layer: str) -> list[Primitive]:
    """The number of what is told below, where it is seen: as near to its `middle`, in cells, as any of the cells `met` (rows,
    columns); in brackets at its middle, where other parts are before it."""
    rows, columns = np.nonzero(met)
    value = f"{number}" if len(rows) else f"({number})"
    if len(rows):
        nearest = int((np.square(columns - middle[0]) + np.square(rows - middle[1])).argmin())
        middle = np.array([columns[nearest], rows[nearest], 0.0])
    x, y = page(middle[None])[0].tolist()
    return _written(value, (x, y), taken, layer, _TYPE, True)


def _is_engraved(copy: Copy) -> bool:
    return isinstance(copy.piece.body, FlatBody) and bool(copy.piece.body.engraving)


def _engraved(copy: Copy, view: View, own: np.ndarray | None) -> list[np.ndarray]:
    """The stretches (N, 3), in cells, of the lines on the outside of a flat copy that are seen where its `own` cells
    (rows, columns) are; none where it has no lines."""
    body = copy.piece.body
    if own is None or not own.any() or not isinstance(body, FlatBody):
        return []
    found = []
    high = copy.piece.thickness
    outside = np.append(body.frame.to_space(np.array([[0.0, 0.0, 1.0], [0.0, 0.0, 0.0]])), [[1.0], [1.0]], axis=1)
    way = (outside[0] - outside[1])[:3] @ copy.matrix[:3, :3].T
    if way @ view.frame[2] <= 0.0:
        return []
    for line in body.engraving:
        closed = np.vstack([line, line[:1]])
        length = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
        every = np.linspace(0.0, length[-1], int(length[-1] / view.step) + 2)
        flat = np.column_stack([*(np.interp(every, length, closed[:, k]) for k in (0, 1)), np.full(len(every), high)])
        cells = view.cells(move(body.frame.to_space(flat), copy.matrix))
        column, row = np.rint(cells[:, :2]).astype(int).T
        clear = own[row, column]
        parts = np.split(np.arange(len(cells)), np.flatnonzero(np.diff(clear)) + 1)
        found += [cells[part] for part in parts if clear[part[0]] and len(part) > 1]
    return found


def _half(value: str, cell: float) -> tuple[float, float]:
    """Half the width and the height in cells of a label with the room around it."""
    x0, y0, x1, y1 = _box_of(value, (0.0, 0.0), _TYPE, True)
    return ((x1 - x0) / 2.0 + _AROUND * _TYPE) / cell, ((y1 - y0) / 2.0 + _AROUND * _TYPE) / cell


def _written(value: str, at: tuple[float, float], taken, layer: str, height: float, bold: bool) -> list[Primitive]:
    """A word on a white ground, whole on the sheet, unless another stands there."""
    at = (_on_sheet(at[0], text_width(value, height, bold) / 2.0 + 0.5), at[1])
    box = _box_of(value, at, height, bold)
    if any(box[0] < b[2] and b[0] < box[2] and box[1] < b[3] and b[1] < box[3] for b in taken):
        return []
    taken.append(box)
    x0, y0, x1, y1 = box
    ground = Path(np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]), "ground", True, "#ffffff")
    return [ground, Text((at[0], at[1] - 0.2 * height), value, height, layer, "middle", bold=bold)]


def _on_sheet(x: float, half: float) -> float:
    """The middle of words that are `half` as wide to either side, moved so that they stand on the sheet."""
    return float(np.clip(x, half + 1.0, WIDTH - half - 1.0))


def _box_of(value: str, at: tuple[float, float], height: float, bold: bool) -> tuple[float, float, float, float]:
    """The white ground of a word."""
    width = text_width(value, height, bold)
    return (
        at[0] - width / 2 - 0.5,
        at[1] - (_TALL / 2 - _RAISED) * height,
        at[0] + width / 2 + 0.5,
        at[1] + (_TALL / 2 + _RAISED) * height,
    )


def _ground(box: np.ndarray) -> np.ndarray:
    """(4, 3) corners of the box that the prop stands in, at its foot."""
    return np.array([[box[i, 0], box[j, 1], box[0, 2]] for i in (0, 1) for j in (0, 1)])


def _axes(box: np.ndarray, view: View, page) -> tuple[list[Primitive], list[tuple[float, float, float, float]]]:
    """x, y and z along the box around the prop, with its sizes: from its nearest corner, and z from the left one; and the
    boxes that the sizes stand in."""
    ground = _ground(box)
    cells = view.cells(ground)
    centre = page(view.cells(np.vstack([ground, ground + [0.0, 0.0, np.ptp(box[:, 2])]]))).mean(axis=0)
    items: list[Primitive] = []
    room = []
    for axis, corner in ((0, cells[:, 1].argmin()), (1, cells[:, 1].argmin()), (2, cells[:, 0].argmin())):
        low = ground[int(corner)].copy()
        high = low.copy()
        low[axis], high[axis] = box[0, axis], box[1, axis]
        tail, tip = page(view.cells(np.stack([low, high])))
        arrow = tip - tail
        length = float(np.linalg.norm(arrow))
        if length < 1e-6:
            continue
        arrow /= length
        side = np.array([-arrow[1], arrow[0]])
        head = np.stack([tip - 2.0 * arrow + 0.8 * side, tip, tip - 2.0 * arrow - 0.8 * side])
        items += [Path(np.stack([tail, tip]), "page"), Path(head, "page")]
        words = f"{_AXES[axis]} {box[1, axis] - box[0, axis]:.0f} mm"
        away = side * np.sign(side @ ((tail + tip) / 2.0 - centre) or 1.0) * 0.7 * _TYPE
        x, y = ((tail + tip) / 2.0 + away).tolist()
        width = text_width(words, _SMALL)
        x += (-width if away[0] < 0.0 else width) / 2.0  # beside the line, so that a steep one is clear of it
        x = _on_sheet(x, width / 2.0) - width / 2.0
        y -= _SMALL if away[1] < 0.0 else 0.0
        items.append(Text((x, y), words, _SMALL))
        room.append((x, y - 0.2 * _SMALL, x + width, y + _SMALL))
    return items, room


def _halved(colours: np.ndarray) -> np.ndarray:
    """Every two by two cells made one, so that edges are smooth."""
    rows, columns = (n // 2 * 2 for n in colours.shape[:2])
    cells = colours[:rows, :columns].astype(np.uint16)
    level = cells[::2] + cells[1::2]
    return ((level[:, ::2] + level[:, 1::2] + 2) >> 2).astype(np.uint8)


def _png(colours: np.ndarray) -> bytes:
    """A PNG file (ISO/IEC 15948) of colours (rows, columns, 3), rows downwards, packed quickly rather than small."""
    rows, columns = colours.shape[:2]
    lines = np.concatenate([np.zeros((rows, 1), np.uint8), colours.reshape(rows, -1)], axis=1)

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", columns, rows, 8, 2, 0, 0, 0)
    data = zlib.compress(lines.tobytes(), 1)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", data) + chunk(b"IEND", b"")
