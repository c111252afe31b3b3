"""The first look as one sheet: the prop from before and from behind, what shares space in red, names and sizes."""

from __future__ import annotations

import struct
import zlib
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from foamwright.drawing.metrics import text_width
from foamwright.drawing.primitives import Drawing, Path, Primitive, Shading, Text
from foamwright.drawing.typesetting import wrap
from foamwright.look.records import Look, corner_normals
from foamwright.look.report import report, sentences
from foamwright.look.scan import Scan, View, scan, view_from
from foamwright.model.colours import rgb
from foamwright.parts.placing import move
from foamwright.parts.records import PanelBody

WIDTH = 297.0  # mm of the sheet
_MARGIN, _BETWEEN = 8.0, 5.0
_COLUMNS, _ROWS, _BORDER = 1200, 980, 70  # cells of one view, and how many are left free around the prop
_VIEWS = ((1.0, 0.75, 0.6), (-1.0, -0.75, 0.6))  # to the eye: before to port, behind to starboard
_LIGHT = np.array([-0.35, 0.55, 0.76]) / np.linalg.norm([-0.35, 0.55, 0.76])  # in the view: right, up, to the eye
_DARKEST, _CREASE = 0.55, 0.88
_INK, _RED = np.array([30, 30, 35]), "#d0201a"
_TYPE, _SMALL, _TITLE = 3.0, 2.4, 4.6
_NAMED = 40  # pairs and failures that are written out on the sheet
_ENOUGH_CELLS = 1200  # of a copy, for its letters
_CLEAR = 4.0  # mm that a line on a face may seem to lie below it and still be seen
_AXES = ("x", "y", "z")
_FORWARD = "x forward, y left, z up"


@dataclass(frozen=True, eq=False)
class _Scene:
    points: np.ndarray
    triangles: np.ndarray
    owner: np.ndarray  # (m,) the copy that each triangle is of
    normals: np.ndarray  # (m, 3, 3) at the corners of each


def sheet(look: Look) -> tuple[Drawing, float, float]:
    """The drawing, its width and its height in mm."""
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

        def one_view(number: int) -> list[Primitive]:
            at = (_MARGIN + number * (wide + _BETWEEN), top - 1.2 * _TITLE - tall)
            view = view_from(_VIEWS[number], points, _COLUMNS, _ROWS, _BORDER)
            return _one_view(look, scene, view, at, wide / _COLUMNS)

        with ThreadPoolExecutor(len(_VIEWS)) as pool:  # arrays are worked on side by side
            items += [item for view in pool.map(one_view, range(len(_VIEWS))) for item in view]
    y = top - 1.2 * _TITLE - tall - 2.0 * _TYPE
    for words_, layer in words:
        items.append(Text((_MARGIN, y), words_, _TYPE, layer=layer))
        y -= 1.6 * _TYPE
    return Drawing(tuple(items)), WIDTH, height


def _words(look: Look) -> list[tuple[str, str]]:
    """What is written below the views, line by line, each with its layer."""
    _, *lines = sentences(report(look, ""))
    declared = [pair.declared for pair in look.overlaps]
    layers = ["note" if meant else "fault" for meant in declared]
    layers += ["fault"] * (len(look.loose) + len(look.untrue) + len(look.failures))
    told = list(zip(lines, layers))
    if len(told) > _NAMED:
        told = [*told[:_NAMED], (f"and {len(told) - _NAMED} more", "fault")]
    if not told:
        told = [("no parts share space, and each comes near to another", "note")]
    room = WIDTH - 2 * _MARGIN
    return [(line, layer) for words, layer in told for line in wrap(words, room, _TYPE)]


def _scene(look: Look) -> _Scene:
    starts = np.cumsum([0, *(len(c.mesh.points) for c in look.copies)])
    triangles = np.vstack([c.mesh.triangles + s for c, s in zip(look.copies, starts)])
    owner = np.repeat(np.arange(len(look.copies)), [len(c.mesh.triangles) for c in look.copies])
    normals = np.vstack([corner_normals(c.mesh, c.smooth) for c in look.copies])
    return _Scene(np.vstack([c.mesh.points for c in look.copies]), triangles, owner, normals)


def _one_view(look: Look, scene: _Scene, view: View, at: tuple[float, float], cell: float) -> list[Primitive]:
    seen = scan(scene.points, scene.triangles, view)
    colours = _shaded(look, scene, seen, view)
    taken: list[tuple[float, float, float, float]] = []

    def page(cells: np.ndarray) -> np.ndarray:
        return cells[:, :2] * cell + at

    lines: list[Primitive] = []
    names: list[Primitive] = []
    for number, pair in enumerate(look.overlaps, 1):
        if not pair.declared:
            _redden(colours, scan(pair.mesh.points, pair.mesh.triangles, view))
        x, y = page(view.cells(np.array([pair.at])))[0].tolist()
        names += _written(f"{number}", (x, y), taken, "note" if pair.declared else "fault", _TYPE, True)
    for number, alone in enumerate(look.loose, len(look.overlaps) + 1):
        x, y = page(view.cells(alone.near.mesh.points.mean(axis=0)[None]))[0].tolist()
        names += _written(f"{number}", (x, y), taken, "fault", _TYPE, True)
    for index, cell_ in _middles(scene, seen):
        x, y = page(cell_)[0].tolist()
        names += _written(look.copies[index].piece.label, (x, y), taken, "note", _TYPE, True)
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
    return [picture, *_axes(look.box, view, page), *lines, *names]


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
    base = np.array([255.0 * np.array(rgb(c.piece.stock.colour)) for c in look.copies])
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


def _middles(scene: _Scene, seen: Scan) -> list[tuple[int, np.ndarray]]:
    """The copies of which enough is seen to write on, each with the cell (1, 2) in the middle of it."""
    rows, columns = np.nonzero(seen.face >= 0)
    owner = scene.owner[seen.face[rows, columns]]
    order = np.argsort(owner, kind="stable")
    starts = np.flatnonzero(np.r_[True, np.diff(owner[order]) > 0]) if len(order) else np.zeros(0, int)
    middles = []
    for own in np.split(order, starts[1:]):
        if len(own) >= _ENOUGH_CELLS:
            r, c = rows[own], columns[own]
            k = int(np.argmin((r - r.mean()) ** 2 + (c - c.mean()) ** 2))
            middles.append((int(owner[own[0]]), np.array([[c[k], r[k]]])))
    return middles


def _written(value: str, at: tuple[float, float], taken, layer: str, height: float, bold: bool) -> list[Primitive]:
    """A word on a white ground, unless another stands there."""
    width = text_width(value, height, bold)
    box = (at[0] - width / 2 - 0.5, at[1] - 0.45 * height, at[0] + width / 2 + 0.5, at[1] + 0.75 * height)
    if any(box[0] < b[2] and b[0] < box[2] and box[1] < b[3] and b[1] < box[3] for b in taken):
        return []
    taken.append(box)
    x0, y0, x1, y1 = box
    ground = Path(np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]), "ground", True, "#ffffff")
    return [ground, Text((at[0], at[1] - 0.2 * height), value, height, layer, "middle", bold=bold)]


def _ground(box: np.ndarray) -> np.ndarray:
    """(4, 3) corners of the box that the prop stands in, at its foot."""
    return np.array([[box[i, 0], box[j, 1], box[0, 2]] for i in (0, 1) for j in (0, 1)])


def _axes(box: np.ndarray, view: View, page) -> list[Primitive]:
    """x, y and z along the box around the prop, with its sizes: from its nearest corner, and z from the left one."""
    cells = view.cells(_ground(box))
    items: list[Primitive] = []
    for axis, corner in ((0, cells[:, 1].argmin()), (1, cells[:, 1].argmin()), (2, cells[:, 0].argmin())):
        low = _ground(box)[int(corner)]
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
        away = np.array([-1.4 * _TYPE, 0.0]) if axis == 2 else np.array([0.0, -1.2 * _TYPE])
        middle = (tail + tip) / 2.0 + away
        words = f"{_AXES[axis]} {box[1, axis] - box[0, axis]:.0f} mm"
        anchor = "end" if axis == 2 else "middle"
        items.append(Text((float(middle[0]), float(middle[1])), words, _SMALL, anchor=anchor))
    return items


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
