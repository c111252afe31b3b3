"""Outlines from an SVG drawing, in mm.

Read of a drawing (SVG 1.1, second edition): `svg` with `width`, `height` and `viewBox`; `g` and `a`; the shapes
`path`, `rect`, `circle`, `ellipse`, `polygon` and `polyline`; `transform`; `fill-rule`; `display="none"`. Whatever is
drawn as a shape counts, however it is painted; a shape is closed and filled by its fill rule. Shapes that lie in each
other are holes by turns, as outlines are drawn; shapes that cross each other are refused. What is only for programs
and people (`defs`, `metadata`, `title`, `desc`, elements of other namespaces) is passed over, everything else is
refused: nothing of a drawing is left out in silence. Nothing outside of the file is read.
"""

from __future__ import annotations

import math
import re
import warnings
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from xml.parsers import expat

import numpy as np
import shapely
from shapely.geometry import Polygon

from foamwright.design.files import UnreadableError, regular_bytes
from foamwright.errors import BuildError
from foamwright.parts.curves import flattened
from foamwright.parts.fill import RULES, filled

_UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "px": 25.4 / 96, "": 25.4 / 96}
_SVG = "http://www.w3.org/2000/svg"
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_LENGTH = re.compile(rf"\s*({_NUMBER.pattern})\s*([a-zA-Z%]*)\s*")
# each number is taken whole or not at all: to try every way of parting its digits takes for ever
_PATH = re.compile(rf"(?>[MmZzLlHhVvCcSsQqTtAa]|{_NUMBER.pattern}|[\s,])*+")
_TRANSFORM = re.compile(r"\s*,?\s*(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^()]*)\)")
_SHAPES = frozenset({"path", "rect", "circle", "ellipse", "polygon", "polyline"})
_GROUPS = frozenset({"svg", "g", "a"})
_PASSED = frozenset({"defs", "metadata", "title", "desc"})
_MOST_BYTES, _MOST_ELEMENTS, _MOST_DEPTH, _MOST_SEGMENTS, _MOST_SHAPES = 4_000_000, 10_000, 64, 20_000, 1000
_FARTHEST = 20_000.0  # mm from the origin


@dataclass
class _Element:
    """An element of the drawing with the line that it begins in."""

    name: str
    attributes: Mapping[str, str]
    line: int
    children: list[_Element] = field(default_factory=list)
    text: str = ""

    def style(self, name: str) -> str | None:
        """A property as its style says, or else its attribute."""
        for declaration in self.attributes.get("style", "").split(";"):
            key, _, value = declaration.partition(":")
            if key.strip() == name:
                return value.strip()
        return self.attributes.get(name)


def svg_shape(path: Path, larger: float = 1.0) -> shapely.Geometry:
    """What the shapes of an SVG drawing enclose, `larger` times its stated size in millimetres, y turned up.

    Curves are kept to `SAGITTA`. Raises BuildError with the line of what is not supported.
    """
    root = _Reader(path).root()
    scale = larger * _scale(root, path)
    shapes: list[tuple[_Element, shapely.Geometry]] = []
    segments = 0
    for element, matrix, rule in _shapes(root, np.diag([scale, -scale, 1.0]), "nonzero", path):
        rings = []
        for loop in _subpaths(element, path):
            segments += len(loop)
            if segments > _MOST_SEGMENTS:
                raise _refused(path, element, f"more than {_MOST_SEGMENTS} segments in the drawing", "fewer")
            rings.append(_ring(loop, matrix))
        if any(not np.isfinite(ring).all() or np.abs(ring).max() > _FARTHEST for ring in rings):
            raise _refused(path, element, "it reaches too far", f"within {_FARTHEST / 1000:g} m of the origin")
        shape = filled(rings, rule)
        if shape.is_empty or shape.area < 1e-4:
            raise _refused(path, element, f"a {element.name} that encloses nothing", "a shape with an area")
        shapes.append((element, shape))
        if len(shapes) > _MOST_SHAPES:
            raise _refused(path, element, f"more than {_MOST_SHAPES} shapes in the drawing", "fewer")
    if not shapes:
        raise BuildError(f"{path}: no closed shape in the drawing; expected one of {', '.join(sorted(_SHAPES))}")
    _refuse_crossing(shapes, path)
    whole: shapely.Geometry = Polygon()
    for _, shape in shapes:
        whole = whole.symmetric_difference(shape)
    return whole


def _refuse_crossing(shapes: list[tuple[_Element, shapely.Geometry]], path: Path) -> None:
    lines = [shape.boundary for _, shape in shapes]
    later, earlier = shapely.STRtree(lines).query(lines, predicate="intersects")
    pairs = sorted((int(i), int(j)) for i, j in zip(later, earlier) if j < i)
    if pairs:
        i, j = pairs[0]
        x, y = shapely.get_coordinates(lines[i].intersection(lines[j]))[0]
        wrong = f"it crosses or touches the {shapes[j][0].name} of line {shapes[j][0].line} at [{x:.2f}, {y:.2f}] mm"
        raise _refused(path, shapes[i][0], wrong, "shapes beside or inside each other, or one path of both")


def _refused(path: Path, element: _Element, wrong: str, expected: str) -> BuildError:
    return BuildError(f"{path}:{element.line}: {wrong}; expected {expected}")


class _Reader:
    """The elements of an XML file, without a document type, entities or anything from outside."""

    def __init__(self, path: Path):
        self.path = path
        self.stack: list[_Element] = []
        self.count = 0
        self.top: _Element | None = None
        self.parser = expat.ParserCreate(namespace_separator=" ")
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._text
        self.parser.StartDoctypeDeclHandler = self._doctype
        self.parser.EntityDeclHandler = self._entity

    def root(self) -> _Element:
        try:
            data = regular_bytes(self.path, _MOST_BYTES)
        except UnreadableError as error:
            raise BuildError(f"{self.path}: not an SVG drawing: {error}") from error
        try:
            self.parser.Parse(data, True)
        except (expat.ExpatError, UnicodeError, ValueError, LookupError) as error:
            line = getattr(error, "lineno", 1)
            raise BuildError(f"{self.path}:{line}: not an SVG drawing: {error}") from error
        if self.top is None or self.top.name != "svg":
            raise BuildError(f"{self.path}: not an SVG drawing; expected svg as its outermost element")
        return self.top

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        self.count += 1
        if self.count > _MOST_ELEMENTS or len(self.stack) > _MOST_DEPTH:
            raise BuildError(
                f"{self.path}:{self.parser.CurrentLineNumber}: more than {_MOST_ELEMENTS} elements, or {_MOST_DEPTH} "
                "within each other; expected fewer"
            )
        space, _, local = name.rpartition(" ")
        element = _Element(
            local if space in (_SVG, "") else f"{space} {local}", attributes, self.parser.CurrentLineNumber
        )
        if self.stack:
            self.stack[-1].children.append(element)
        else:
            self.top = element
        self.stack.append(element)

    def _end(self, name: str) -> None:
        self.stack.pop()

    def _text(self, text: str) -> None:
        if self.stack and self.stack[-1].name == "style":
            self.stack[-1].text += text

    def _doctype(self, name: str, system: str | None, public: str | None, has_internal_subset: int) -> None:
        if has_internal_subset:
            self._entity()

    def _entity(self, *_: object) -> None:
        line = self.parser.CurrentLineNumber
        raise BuildError(f"{self.path}:{line}: a document type with declarations of its own; expected none")


def _shapes(element: _Element, matrix: np.ndarray, rule: str, path: Path) -> Iterator[tuple[_Element, np.ndarray, str]]:
    """The shapes of the drawing in their order, the (3, 3) matrix to mm of each, and its fill rule."""
    if " " in element.name or element.name in _PASSED or element.style("display") == "none":
        return
    if element.name == "style":
        for word in ("fill-rule", "display", "transform", "clip", "mask", "d:"):
            if word in element.text:
                raise _refused(path, element, f"a style sheet with {word}", "it as an attribute of the shape")
        return
    if element.name not in _SHAPES | _GROUPS or (element.name == "svg" and matrix.shape != (3, 3)):
        expected = f"shapes ({', '.join(sorted(_SHAPES))}) and groups"
        hint = " as a path" if element.name in ("text", "use", "line") else ""
        raise _refused(path, element, f"a {element.name} in the drawing", f"{expected}; convert it{hint} or delete it")
    for name in ("clip-path", "mask"):
        if element.style(name) not in (None, "none"):
            raise _refused(path, element, f"a {element.name} with {name}", f"no {name}: cut the shape itself")
    rule = element.style("fill-rule") or rule
    if rule not in RULES:
        raise _refused(path, element, f"fill-rule {rule!r}", " or ".join(RULES))
    if "transform" in element.attributes and element.name != "svg":
        matrix = matrix @ _transform(element, path)
    if element.name in _SHAPES:
        yield element, matrix, rule
        return
    for child in element.children:
        if child.name == "svg":
            raise _refused(path, child, "a drawing within the drawing", "one svg element; move its shapes into a g")
        yield from _shapes(child, matrix, rule, path)


def _transform(element: _Element, path: Path) -> np.ndarray:
    """The (3, 3) matrix of a `transform` (SVG 1.1, 7.6)."""
    value, at = element.attributes["transform"].strip(), 0
    whole = np.eye(3)
    while at < len(value):
        match = _TRANSFORM.match(value, at)
        numbers = _numbers(match[2]) if match else None
        matrix = _matrix(match[1], numbers) if match and numbers is not None else None
        if matrix is None:
            raise _refused(
                path, element, f"transform {value[:60]!r}", "matrix, translate, scale, rotate, skewX or skewY"
            )
        whole = whole @ matrix
        at = match.end() if match else len(value)
    if not np.isfinite(whole).all() or np.abs(whole).max() > _FARTHEST or abs(np.linalg.det(whole[:2, :2])) < 1e-9:
        raise _refused(path, element, f"transform {value[:60]!r} leaves no area", "one that can be undone")
    return whole


def _matrix(name: str, v: list[float]) -> np.ndarray | None:
    """The (3, 3) matrix of one transform; None for a wrong number of values."""
    if name == "matrix" and len(v) == 6:
        return np.array([[v[0], v[2], v[4]], [v[1], v[3], v[5]], [0, 0, 1]])
    if name == "translate" and len(v) in (1, 2):
        return np.array([[1, 0, v[0]], [0, 1, v[1] if len(v) == 2 else 0.0], [0, 0, 1]])
    if name == "scale" and len(v) in (1, 2):
        return np.diag([v[0], v[-1], 1.0])
    if name == "rotate" and len(v) in (1, 3):
        c, s = math.cos(math.radians(v[0])), math.sin(math.radians(v[0]))
        x, y = v[1:] if len(v) == 3 else (0.0, 0.0)
        return np.array([[c, -s, x - c * x + s * y], [s, c, y - s * x - c * y], [0, 0, 1]])
    if name in ("skewX", "skewY") and len(v) == 1:
        slope = math.tan(math.radians(v[0]))
        return np.array(
            [[1, slope, 0], [0, 1, 0], [0, 0, 1]] if name == "skewX" else [[1, 0, 0], [slope, 1, 0], [0, 0, 1]]
        )
    return None


def _numbers(text: str) -> list[float] | None:
    """The finite numbers of a list; None if there is anything else in it."""
    if _NUMBER.sub("", text).replace(",", " ").strip():
        return None
    numbers = [float(number) for number in _NUMBER.findall(text)]
    return numbers if all(math.isfinite(n) for n in numbers) else None


def _subpaths(element: _Element, path: Path) -> list[list]:
    """The segments of each subpath of a shape, in its own units."""
    data = _path_data(element, path)
    if not data.strip():
        raise _refused(path, element, f"a {element.name} without points", "a shape with an area")
    if not _PATH.fullmatch(data) or data.lstrip()[0] not in "Mm":
        raise _refused(path, element, f"path data {data[:40]!r}", "commands and numbers, beginning with M")
    from svgpathtools import parse_path

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # an arc without radius is a line (SVG 1.1, F.6.2)
            parsed = parse_path(data)
        loops = [list(loop) for loop in parsed.continuous_subpaths()] if len(parsed) else []
    except Exception as error:  # the parser fails in many ways on data that is cut short
        raise _refused(
            path, element, f"path data {data[:40]!r} that cannot be read", "commands with all their numbers"
        ) from error
    if not loops:
        raise _refused(path, element, f"a {element.name} that encloses nothing", "a shape with an area")
    return loops


def _path_data(element: _Element, path: Path) -> str:
    """The path data that draws a shape (SVG 1.1, 9)."""
    name = element.name
    if name == "path":
        return element.attributes.get("d", "")
    if name in ("polygon", "polyline"):
        numbers = _numbers(element.attributes.get("points", ""))
        if numbers is None or len(numbers) % 2 or len(numbers) < 6:
            raise _refused(path, element, f"the points of a {name}", "three or more pairs of numbers")
        return "M " + " L ".join(f"{x!r} {y!r}" for x, y in zip(numbers[::2], numbers[1::2])) + " Z"
    if name == "rect":
        x, y = (_value(element, key, path, 0.0) for key in ("x", "y"))
        width, height = (_extent(element, key, path) for key in ("width", "height"))
        given = [_value(element, key, path, -1.0) for key in ("rx", "ry")]
        rx, ry = (a if a >= 0 else max(b, 0.0) for a, b in (given, given[::-1]))
        rx, ry = min(rx, width / 2), min(ry, height / 2)
        if not rx or not ry:
            return f"M {x!r} {y!r} h {width!r} v {height!r} h {-width!r} Z"
        h, v = width - 2 * rx, height - 2 * ry
        turn = f"a {rx!r} {ry!r} 0 0 1"
        sides = [f"h {h!r}" if h > 0 else "", f"v {v!r}" if v > 0 else "", f"h {-h!r}" if h > 0 else ""]
        return (
            f"M {x + rx!r} {y!r} {sides[0]} {turn} {rx!r} {ry!r} {sides[1]} {turn} {-rx!r} {ry!r} "
            f"{sides[2]} {turn} {-rx!r} {-ry!r} {f'v {-v!r}' if v > 0 else ''} {turn} {rx!r} {-ry!r} Z"
        )
    x, y = (_value(element, key, path, 0.0) for key in ("cx", "cy"))
    rx, ry = (_extent(element, key, path) for key in (("r", "r") if name == "circle" else ("rx", "ry")))
    return f"M {x - rx!r} {y!r} a {rx!r} {ry!r} 0 0 1 {2 * rx!r} 0 a {rx!r} {ry!r} 0 0 1 {-2 * rx!r} 0 Z"


def _extent(element: _Element, key: str, path: Path) -> float:
    value = _value(element, key, path, 0.0)
    if value <= 0:
        raise _refused(path, element, f"a {element.name} without size ({key})", f"{key} more than 0")
    return value


def _value(element: _Element, key: str, path: Path, default: float) -> float:
    """A length of a shape in user units."""
    text = element.attributes.get(key)
    if text is None:
        return default
    match = _LENGTH.fullmatch(text)
    if not match or match[2] not in _UNITS or not math.isfinite(float(match[1])):
        raise _refused(path, element, f"{key} {text[:40]!r}", "a number, or a length in mm, cm, in, pt, pc or px")
    return float(match[1]) * (_UNITS[match[2]] / _UNITS["px"] if match[2] else 1.0)


def _ring(loop: list, matrix: np.ndarray) -> np.ndarray:
    """Points (N, 2) of a subpath in mm, first point not repeated."""

    def moved(segment):
        def at(t: np.ndarray) -> np.ndarray:
            with np.errstate(all="ignore"):  # what is not finite is refused with its line
                points = np.array([segment.point(float(s)) for s in t])
                return np.column_stack([points.real, points.imag]) @ matrix[:2, :2].T + matrix[:2, 2]

        return at

    legs = []
    for segment in loop:
        at = moved(segment)
        straight = type(segment).__name__ == "Line"
        legs.append(at(np.array([0.0, 1.0])) if straight else flattened(at))
        if not np.isfinite(legs[-1]).all() or np.abs(legs[-1]).max() > _FARTHEST:
            break
    ring = np.concatenate([leg[:-1] for leg in legs] + [legs[-1][-1:]])
    return ring[:-1] if np.hypot(*(ring[0] - ring[-1])) < 1e-9 else ring


def _scale(root: _Element, path: Path) -> float:
    """mm per user unit; CSS says 96 px to the inch where no millimetres are given (CSS Values 3, 5.2)."""
    box = root.attributes.get("viewBox")
    sizes: dict[str, float] = {}
    for key in ("width", "height"):
        text = root.attributes.get(key)
        if text is None:
            continue
        match = _LENGTH.fullmatch(text)
        if not match or match[2] not in _UNITS or not 0 < float(match[1]) < math.inf:
            wrong = f"{key} {text[:40]!r} of the drawing"
            raise _refused(path, root, wrong, "a length in mm, cm, in, pt, pc or px")
        sizes[key] = float(match[1]) * _UNITS[match[2]]
    if box is None:  # a user unit is a px, whatever the width is told in
        return _UNITS["px"]
    numbers = _numbers(box)
    if numbers is None or len(numbers) != 4 or min(numbers[2:]) <= 0:
        raise _refused(path, root, f"viewBox {box[:40]!r}", "four numbers, its width and height more than 0")
    scales = [sizes[key] / extent for key, extent in zip(("width", "height"), numbers[2:]) if key in sizes]
    if not scales:
        return _UNITS["px"]
    if max(scales) > 1.001 * min(scales) and root.attributes.get("preserveAspectRatio", "").strip() == "none":
        raise _refused(path, root, "width and height that stretch the viewBox", "one scale for both")
    if not 1e-6 < min(scales) < 1e6:
        raise _refused(path, root, f"a scale of {min(scales):g} mm for one unit", "a drawing of a size that foam has")
    return min(scales)  # a drawing is fitted into its size ("meet", SVG 1.1, 7.8)
